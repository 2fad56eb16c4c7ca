//! The validation report as Markdown: `daemon/docs/validation.md`. No clock, no machine, no random seed that is not written here.

use super::check::Group;
use super::naming;
use super::random::Random;
use super::truths::{self, Figure, Outcome, Simulator, Truth};
use super::{figures, libraries, open_data, pilot, practice, search, vectors};
use barrico_model::math;
use barrico_model::seawater::check_values;
use std::fmt::Write;

/// Marks around what needs the open data: the test of the committed report leaves them out where the data are absent.
pub const DATA_BEGINS: &str = "<!-- open data begin -->";
pub const DATA_ENDS: &str = "<!-- open data end -->";

/// The whole report.
pub fn document() -> String {
    let mut text = String::from(HEAD);
    check_value_table(&mut text);
    text.push_str(LIBRARIES);
    group_table(&mut text, &libraries::all());
    text.push_str(VECTORS);
    group_table(&mut text, &vectors::all());
    text.push_str(FIGURES);
    group_table(&mut text, &figures::all());
    default_factor(&mut text);
    let _ = write!(text, "\n{DATA_BEGINS}\n");
    open_data_section(&mut text);
    pilot_section(&mut text);
    let _ = write!(text, "\n{DATA_ENDS}\n");
    practice_section(&mut text);
    truth_section(&mut text);
    relation_section(&mut text);
    text.push_str(COST);
    text.push_str(WEAKER);
    text
}

const HEAD: &str = "\
# Validation of the model

Printed by `cargo run --release -p barrico-model --example validation`; a test holds this file to what the program prints. Do not edit here.

The model says what a unit with these elements and this pump should make in this water, and finds from readings what the membrane is worth. Here is how far it can be believed: each property of
water and each formula beside its published check values, beside general-purpose libraries that are not ours, an independent implementation, published worked figures, open data of real
elements, figures of common practice, and simulated faults whose truth is known. What is weaker stands at the end and should be read with the rest.

## Words

- **A25, B25**: how easily water and salt pass the membrane, at 25 °C. A dirty or compacted membrane has less A25, a damaged one more of both. **Leak**: share of the product that has not gone through the membrane.
- **Inversion**: A25 and B25 are sought with which the model, slice by slice along the elements, gives the readings. **Log-mean**: the standardised product flow in the form of ASTM D4516, the usual way,
  with one mean salinity for the whole train.
- **Deviation**: ours over the source's, less one; in percent, or as a plain share where it is below 0.01 % (5e-9 is five in a thousand million). **Scatter**, **noise**: one standard deviation. 95 of 100 readings
  lie within twice that.
- **Feed flow measured**: product and concentrate flow both read, by meter or by jug and watch. **Assumed**: taken from the pump's nameplate and a believed delivery.

## Published check values

| property | values | worst deviation | where | source |
| --- | --- | --- | --- | --- |
";

const LIBRARIES: &str = "
## General-purpose libraries

Tables in [tests/reference](../../tests/reference), made by `generate.py` there with the versions named here; grids of temperature from 0 to 40 °C. The tests fail beyond what
is allowed.

";

const VECTORS: &str = "
## An independent implementation of the same equations

A second program in another language, from the same equations. It finds slips in coefficients and signs; it cannot say whether the equations are right.

";

const FIGURES: &str = "
## Published worked figures

Arithmetic that stands printed in open text. A complete published example of a standardised flow with all its inputs was not found; these are parts of it.

";

const COST: &str = "
## What a calculation costs

Counted in instructions of the processor by valgrind, so that no machine's speed enters. `./tests/report model` prints the counts and fails above the budget.

| calculation | line of the report | budget, instructions |
| --- | --- | --- |
| forward: product of a two-element train, ten slices an element, pressure held at the outlet | `forward_instructions` | 60,000 |
| one set of readings standardised by log-mean | `snapshot_instructions` | 3,000 |
| inversion of one set of readings, with covariance | `inversion_instructions` | 3,000,000 |
";

const WEAKER: &str = "
## What is weaker

- **Where inversion is worse than log-mean.** It is noisier: with hand instruments and the feed flow measured about one and a half times with one element and twice with two. What it gains is freedom from bias, and it gains
  that only with a measured feed or concentrate flow. With an assumed flow it blames the membrane for a worn pump more than log-mean does; that is why the program then reports a joint region and no membrane figure.
- **Zeros under \"our own equations\" prove nothing.** There the truth is made with the same equations that judge it. The tables under \"other equations\" are the honest ones. In them a true -10 % of A25 is shown
  as -12 to -13 %, and a pump that delivers 25 % less as A25 +8 to +9 % (log-mean: -8 to -13 %); 10 % less shows as +3 %. A change of the sea by 10 K looks like a change of
  A25 by 14 to 27 %, **more than log-mean shows** and more than the error bars allow. So readings are best compared at the temperature and feed flow of the baseline until a unit has learnt its own laws. The open data do
  not decide between the forms.
- **The leak fit leans on the form of polarisation**: with another one it finds half of a leak of 0.2 %, and less than nothing where there is none.
- **A fouled membrane and a pressure gauge that reads high look the same** on every reading but a second gauge. Where a list of explanations stands in the tables, more cannot be had from those readings.
- **Figures from memory.** Robinson & Stokes' osmotic coefficients, the textbook cell, the salt-passage formula and the sodium chloride form of ASTM D4516 were not seen in print for this work.
- **Product of brackish feed.** In the pilot's experiment with a feed of 5 g/kg the inverted permeability is higher than in sea water by a quarter, which nothing in the model explains.
- **Salt permeability in the cold**, and the temperature law of water below 15 °C, rest on assumptions. Until a unit has learnt its own laws the error bars are widened for that, the more the further the water is from the baseline's.
- Not modelled: pH, boron, silica, seas with other salts than the ocean's (parts of the Baltic, the Caspian, the Dead Sea).
";

fn percent(ratio: f64) -> String {
    // No sign on a zero, and never minus nothing.
    let text = format!("{:+.1}", 100.0 * (ratio - 1.0));
    if text == "-0.0" || text == "+0.0" { "0.0".into() } else { text }
}

fn share(deviation: f64) -> String {
    if deviation == 0.0 {
        "none".into()
    } else if deviation.abs() < 1e-4 {
        format!("{deviation:+.0e}")
    } else {
        format!("{:+.3} %", 100.0 * deviation)
    }
}

fn check_value_table(text: &mut String) {
    for worst in check_values::worst_by_property() {
        let _ = writeln!(
            text,
            "| {} | {} | {} | {} | {} |",
            worst.property.replace('_', " "),
            worst.count,
            share(worst.worst.relative_error()),
            worst.worst.label,
            worst.worst.source
        );
    }
    let all = check_values::all();
    let outside = all.iter().filter(|value| !value.holds()).count();
    let _ = writeln!(text, "\n{} values, {outside} outside their tolerance.", all.len());
}

fn group_table(text: &mut String, groups: &[Group]) {
    text.push_str("| what | against | values | worst deviation | allowed | where |\n| --- | --- | --- | --- | --- | --- |\n");
    for group in groups {
        let worst = group.worst();
        let _ = writeln!(
            text,
            "| {} | {} | {} | {} | {} | {} |",
            group.title,
            group.source,
            group.checks.len(),
            share(worst.deviation()),
            share(worst.tolerance).trim_start_matches('+'),
            worst.what
        );
    }
    let outside: usize = groups.iter().map(|group| group.failures().len()).sum();
    let count: usize = groups.iter().map(|group| group.checks.len()).sum();
    let _ = writeln!(text, "\n{count} values, {outside} outside what is allowed.");
}

fn default_factor(text: &mut String) {
    text.push_str("\nOur own default factor of the water permeability is not the army table's. Ours over theirs, percent:");
    for (celsius, ratio) in figures::default_over_army_table() {
        let _ = write!(text, " {} at {celsius:.0} °C,", percent(ratio));
    }
    text.pop();
    text.push_str(
        ". In the cold ours is the lowest in use, so real cold water may give more than it says.\n",
    );
}

fn open_data_section(text: &mut String) {
    let Some(found) = open_data::summary() else { return };
    let _ = write!(
        text,
        "\n## Open data: one seawater element of the 2540 class\n\n\
         71 steady points of a test rig, before and after two campaigns of oscillating feed (\"Performance Data of a SWRO arising from Wave Powered Desalinisation\", Mendeley\n\
         Data, Queen's University Belfast). Area taken as 2.8 m2, feed as 35 g/kg. One pair of permeabilities, {:.3} L/(m2 h bar) and {:.4} L/(m2 h) at 25 °C, explains the {} points as new: product flow\n\
         within {:.2} % rms and {:.1} % at worst (the tests allow 2.5 and 6 %), product salinity within {:.1} % rms (9 %).\n\n\
         | series | points | log-mean flow | scatter | inverted A25 | scatter | inverted B25 | leak fitted | product salinity left unexplained with, without a leak |\n\
         | --- | --- | --- | --- | --- | --- | --- | --- | --- |\n",
        found.element.a25.as_l_m2_h_bar(),
        found.element.b25.as_l_m2_h(),
        found.series[0].points,
        100.0 * found.flow_rms,
        100.0 * found.flow_worst,
        100.0 * found.salt_rms
    );
    for series in &found.series {
        let _ = writeln!(
            text,
            "| {} | {} | {} % | {:.1} % | {} % | {:.1} % | x {:.2} | {:.3} % | {:.1} %, {:.1} % |",
            series.name,
            series.points,
            percent(series.log_mean_ratio),
            100.0 * series.log_mean_sd,
            percent(series.a_ratio),
            100.0 * series.a_sd,
            series.b_ratio,
            100.0 * series.leak.leak,
            100.0 * series.leak.residual,
            100.0 * series.leak.residual_without_leak
        );
    }
    let [new, _, second] = &found.series;
    let _ = write!(
        text,
        "\nFlow, A25 and B25 are changes from the mean as new. After the first campaign nothing had changed (the tests allow 1 % of A25); log-mean shows a change because the points lie at other recoveries.\n\
         After the second A25 is up (an independent implementation: +7.6 %; the tests allow 3 %), and the leak is {:.0} times what it was: this salt does not become less with more flux, as salt that diffuses does.\n",
        second.leak.leak / new.leak.leak
    );
}

fn pilot_section(text: &mut String) {
    let Some(found) = pilot::summary() else { return };
    text.push_str(
        "\n## Open data: a pilot under cycled pressure\n\n\
         Data object `reverse_osmosis` of the R package mowateR (MIT; pilot run with NREL). Hourly means at the high pressure of the cycle; feed salinity from the reject's balance, conductivity taken\n\
         as compensated to 25 °C (assumed). Scatter is from hour to hour.\n\n\
         | experiment | hours | feed g/kg | product L/h | log-mean flow L/h | scatter | drift a day | inverted A25 L/(m2 h bar) | scatter |\n\
         | --- | --- | --- | --- | --- | --- | --- | --- | --- |\n",
    );
    for one in &found {
        // A drift over less than two days is the hours' scatter.
        let drift = if 40 < one.hours { format!("{:+.2} %", 2400.0 * one.drift_per_h) } else { "".into() };
        let _ = writeln!(
            text,
            "| {} | {} | {:.1} | {:.1} | {:.1} | {:.1} % | {drift} | {:.3} | {:.1} % |",
            one.number,
            one.hours,
            one.feed_g_kg,
            one.product_l_h,
            one.standardised_l_h,
            100.0 * one.standardised_sd,
            one.a25_l_m2_h_bar,
            100.0 * one.a25_sd
        );
    }
    text.push_str("\nFrom 28.5 to 36 g/kg the product falls by a third, the inverted permeability by at most 3 %. The brackish experiment stands out, see the end.\n");
}

fn practice_section(text: &mut String) {
    text.push_str(
        "\n## Figures of common practice (no source)\n\n\
         20 °C, 33 g/kg, 800 psi, elements of 2.8 m2 with 700 gal/day and 99.4 % on the sheet, pumps of 1.6 and 2.3 US gal/min; everything else at the program's defaults.\n\
         Practice: 21 US gal/h with one element, 12 to 13 more with a second, slightly over 40 with two and the larger pump.\n\n\
         | pump delivery | one, US gal/h | two | two, larger pump | worst | A25 fitted to the 21 of one | then a second adds | then two, larger pump |\n\
         | --- | --- | --- | --- | --- | --- | --- | --- |\n",
    );
    for delivery in [0.85, 0.90, 0.95] {
        let found = practice::with_defaults(Some(delivery));
        let predicted = practice::predicted(Some(delivery));
        let [one, two, larger] = found.production_gal_h;
        let _ = writeln!(
            text,
            "| {delivery:.2} | {one:.1} | {two:.1} | {larger:.1} | {:+.1} % | x {:.3} | {:.1} | {:.1} |",
            found.worst_percent, predicted.a_factor, predicted.gain_gal_h, predicted.larger_pump_gal_h
        );
    }
    let currents = practice::currents();
    let _ = write!(
        text,
        "\nCurrents at 115 V with one set of efficiencies: {:.1} A ({:+.1} %) for the smaller pump's 9.3 A, {:.1} A ({:+.1} %) for the larger pump's 13.3 A. The figures themselves ask for\n\
         {:.3} and {:.3} overall, a spread of {:.1} %.\n",
        currents.ampere[0],
        currents.deviation_percent[0],
        currents.ampere[1],
        currents.deviation_percent[1],
        currents.overall[0],
        currents.overall[1],
        currents.spread_percent
    );
}

fn truth_section(text: &mut String) {
    text.push_str(
        "\n## Simulated faults: log-mean standardising beside inversion\n\n\
         A plunger pump that feeds 327 L/h, elements of 2.8 m2 and the 700 gal/day class, 20 °C, 33 g/kg, 55.2 bar at the concentrate outlet. Each cell: one element / two elements, in percent.\n\n\
         - **Bias** is what is shown less the true change of A25, from readings without error, over a baseline without error. With an assumed flow \"inversion\" is A25 if the pump delivered what is believed; the program\n  \
         itself then gives no such figure but the joint region of pump and membrane.\n\
         - **Noise**, behind the ±, is one standard deviation from one set of hand readings: jugs 2 %, pressure 1 bar, temperature 0.5 K, salinity 1 g/kg, product salinity 5 %; an assumed delivery is doubted by 10 %.\n\
         - **Named** is every explanation that the readings cannot exclude, with what to measure next. It counts with what is left of the errors in a ratio to a baseline with the same instruments (jugs 1 %, 0.3 bar,\n  \
         0.2 K, 0.2 g/kg, 2 %).\n",
    );
    for (simulator, title, what) in [
        (
            Simulator::Same,
            "The unit follows our own equations",
            "Zeros here prove only that the arithmetic is reversible.",
        ),
        (
            Simulator::Other,
            "The unit follows other equations",
            "Salt at the membrane's face by exp(0.7 Y) on each element's recovery Y in place of the film, A by 1.03^(T - 25), B by 2640 K, osmotic pressure 0.4 % lower. Judged with our own equations, as aboard.",
        ),
    ] {
        let _ = write!(text, "\n### {title}\n\n{what}\n\n");
        let found = truths::all().map(|truth| {
            let column = |measured| [1, 2].map(|count| truths::outcome(simulator, &truth, count, measured));
            (truth, [column(true), column(false)])
        });
        bias_table(text, &found);
        named_table(text, &found);
        drawn(text, simulator);
    }
}

/// A truth, and what is made of it with the feed flow measured and assumed, by one and by two elements.
type Judged = (Truth, [[Outcome; 2]; 2]);

fn both(outcomes: &[Outcome; 2], f: impl Fn(&Outcome) -> String) -> String {
    let [one, two] = outcomes.each_ref().map(f);
    if one == two { one } else { format!("{one} / {two}") }
}

fn inverted(outcome: &Outcome, at: usize, f: impl Fn(&Figure) -> String) -> String {
    outcome.inverted.as_ref().map_or_else(|_| "none".into(), |figures| f(&figures[at]))
}

fn bias_table(text: &mut String, judged: &[Judged]) {
    text.push_str(
        "| what really happened | feed flow measured: log-mean | feed flow measured: inversion | feed flow assumed: log-mean | feed flow assumed: inversion |\n\
         | --- | --- | --- | --- | --- |\n",
    );
    for (truth, columns) in judged {
        let bias = |figure: &Figure| {
            format!("{} ± {:.1}", percent(1.0 + math::exp(figure.ln) - truth.a), 100.0 * figure.noise)
        };
        let _ = write!(text, "| {} |", truth.name);
        for column in columns {
            let (log_mean, a25) =
                (both(column, |o| bias(&o.log_mean)), both(column, |o| inverted(o, 0, bias)));
            let _ = write!(text, " {log_mean} | {a25} |");
        }
        text.push('\n');
    }
}

fn named_table(text: &mut String, judged: &[Judged]) {
    text.push_str(
        "\nWhat the same readings show over the baseline, and what is named:\n\n\
         | what really happened | log-mean flow | A25 | B25 | feed flow measured: named | feed flow assumed: named |\n\
         | --- | --- | --- | --- | --- | --- |\n",
    );
    let shows = |figure: &Figure| percent(math::exp(figure.ln));
    for (truth, [measured, assumed]) in judged {
        let _ = writeln!(
            text,
            "| {} | {} | {} | {} | {} | {} |",
            truth.name,
            both(measured, |o| shows(&o.log_mean)),
            both(measured, |o| inverted(o, 0, shows)),
            both(measured, |o| inverted(o, 1, shows)),
            both(measured, |o| o.named.text()),
            both(assumed, |o| o.named.text()),
        );
    }
}

/// Random cases of each relation; `./tests/report model` tries hundreds of times as many.
const RELATION_CASES: usize = 400;

fn relation_section(text: &mut String) {
    let _ = write!(
        text,
        "\n## Relations at random\n\n\
         What must hold whatever the numbers: units drawn at random from 0 to 40 °C, 0 to 50 g/kg, 0 to 80 bar, 1 to 8 elements, feed 100 to 3000 L/h, A25 0.3 to 3 L/(m2 h bar), B25 0.02 to 2 L/(m2 h), leaks to 0.5 %.\n\
         Here {RELATION_CASES} of each, a fifth of that for the inversion; `./tests/report model` tries a hundred thousand with any seed. Left out is what lies outside the relation's range: trains that run dry, and where said. Where over nine tenths of the feed are taken, the product is compared with 80 slices an element, not ten.\n\n\
         | relation | cases | left out | broken |\n| --- | --- | --- | --- |\n",
    );
    for tried in search::run(RELATION_CASES, 1) {
        let _ = writeln!(
            text,
            "| {} | {} | {} | {} |",
            search::told(tried.name),
            tried.cases,
            tried.left_out,
            tried.broken
        );
    }
}

/// Readings drawn for the check of the propagated noise.
const DRAWS: usize = 300;

fn drawn(text: &mut String, simulator: Simulator) {
    let noise = [1, 2].map(|count| truths::drawn_noise(simulator, count, DRAWS, &mut Random::new(1)));
    let propagated = [1, 2].map(|count| {
        let truth = truths::BASELINE;
        truths::outcome(simulator, &truth, count, true).inverted.map_or(f64::NAN, |figures| figures[0].noise)
    });
    let _ = write!(
        text,
        "\nCheck of the noise of A25 at the baseline with the feed flow measured: {:.1} / {:.1} % from {DRAWS} sets of readings with errors drawn at random, {:.1} / {:.1} % as the program carries the errors through.\n",
        100.0 * noise[0].0,
        100.0 * noise[1].0,
        100.0 * propagated[0],
        100.0 * propagated[1]
    );
    let leaks = truths::all()
        .into_iter()
        .filter(|truth| [naming::SALT, naming::OXIDISED].map(Some).contains(&truth.right));
    for truth in leaks {
        let (leak, b) = truths::leak_from_pressures(simulator, &truth);
        let _ = writeln!(
            text,
            "\nLeak or diffusion, \"{}\": readings at 40, 45, 50 and 55.2 bar with one element give a leak of {leak:.2} % and B25 x {b:.2}.",
            truth.name
        );
    }
}
