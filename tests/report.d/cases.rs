//! Scores the judgement of every case in tests/cases/, and of the same cases told otherwise.
//!
//! The answers are those of `barrico diagnose --case`. Cases that were worked out with the program's own kind of model are counted apart: they test wording and
//! ranking, not physics. One line a case goes to standard error.

#![expect(clippy::print_stdout, reason = "printing is what a report does")]

#[path = "case_bank/bank.rs"]
mod bank;
#[path = "case_bank/claims.rs"]
mod claims;
#[path = "case_bank/score.rs"]
mod score;
#[path = "case_bank/variants.rs"]
mod variants;

use bank::Banked;
use barrico::case::{Expectations, Tier};
use claims::Said;
use score::{MOST, Score, score};
use serde_json::Value;
use std::collections::BTreeMap;
use std::process::ExitCode;
use variants::Chance;

/// Draws of instrument noise for each case.
const DRAWS: usize = 10;

/// Points of some cases.
#[derive(Default)]
struct Sum {
    points: i32,
    possible: i32,
    negative: usize,
}

impl Sum {
    fn add(&mut self, score: &Score) {
        self.points += score.points;
        self.possible += MOST;
        self.negative += usize::from(score.points < 0);
    }

    fn print(&self, name: &str) {
        println!("{name}_points = {} points", self.points);
        println!("{name}_possible = {} points", self.possible);
        println!("{name}_share = {:.1} %", share(self.points, self.possible));
        println!("{name}_negative_cases = {} cases", self.negative);
    }
}

fn share(points: i32, possible: i32) -> f64 {
    100.0 * f64::from(points) / f64::from(possible.max(1))
}

/// Everything that is counted.
#[derive(Default)]
struct Count {
    bank: Sum,
    computed: Sum,
    tiers: BTreeMap<Tier, Sum>,
    halves: [Sum; 2],
    constant: Sum,
    noisy: Sum,
    other_units: Sum,
    other_units_changed: usize,
    removed: usize,
    surer: usize,
}

fn main() -> ExitCode {
    let (draws, seed) = match options() {
        Ok(options) => options,
        Err(why) => {
            eprintln!("{why}");
            return ExitCode::FAILURE;
        }
    };
    let result = bank::all().and_then(|bank| {
        let mut count = Count::default();
        for (at, banked) in bank.iter().enumerate() {
            let chance = Chance(seed.wrapping_mul(1_000_003).wrapping_add(at as u64));
            judge(banked, draws, chance, &mut count).map_err(|why| format!("{}: {why}", banked.name))?;
        }
        Ok((bank.len(), count))
    });
    match result {
        Ok((cases, count)) => {
            print(cases, draws, &count);
            ExitCode::SUCCESS
        }
        Err(why) => {
            eprintln!("{why}");
            ExitCode::FAILURE
        }
    }
}

/// Draws of noise, and the seed.
fn options() -> Result<(usize, u64), String> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let of = |name: &str| {
        arguments
            .iter()
            .position(|known| known == name)
            .and_then(|at| arguments.get(at + 1))
            .map(String::as_str)
    };
    let draws = match of("--share").unwrap_or("full") {
        "full" => DRAWS,
        "tenth" => DRAWS / 10,
        other => return Err(format!("--share is full or tenth, not {other}")),
    };
    let seed = of("--seed").unwrap_or("1").parse().map_err(|_| "--seed takes a whole number".to_string())?;
    Ok((draws, seed))
}

fn judge(banked: &Banked, draws: usize, mut chance: Chance, count: &mut Count) -> Result<(), String> {
    let expected = banked.expectations()?;
    let said = bank::said(bank::read(&banked.json)?)?;
    let plain = score(&expected, &said);
    let computed = expected.tier == Some(Tier::Computed);
    if computed { &mut count.computed } else { &mut count.bank }.add(&plain);
    if let Some(tier) = expected.tier {
        count.tiers.entry(tier).or_default().add(&plain);
    }
    if !computed {
        count.halves[half(&banked.name)].add(&plain);
    }
    eprintln!("{}", line(banked, &expected, &said, &plain));
    if !computed {
        count.constant.add(&score(&expected, &score::constant()));
    }
    for _ in 0..draws {
        let mut case = bank::read(&banked.json)?;
        variants::noisy(&mut case, &mut chance);
        let noisy = score(&expected, &bank::said(case)?);
        if noisy.points < 0 {
            eprintln!("    with noise: FORBIDDEN {}", noisy.said_forbidden.join(", "));
        }
        if !computed {
            count.noisy.add(&noisy);
        }
    }
    let mut other = banked.json.clone();
    variants::in_other_units(&mut other);
    let other = score(&expected, &bank::said(bank::read(&other)?)?);
    count.other_units_changed += usize::from(other != plain);
    if !computed {
        count.other_units.add(&other);
    }
    without_one(banked, &expected, &said, count)
}

/// The bank in two halves by name, so that tables that were made with one eye on the first can be told from tables that hold for both (FNV-1a, Fowler, Noll & Vo).
fn half(name: &str) -> usize {
    let hash =
        name.bytes().fold(0x811c_9dc5_u32, |hash, byte| (hash ^ u32::from(byte)).wrapping_mul(0x0100_0193));
    (hash & 1) as usize
}

/// Each deciding reading left out in turn.
fn without_one(
    banked: &Banked,
    expected: &Expectations,
    said: &Said,
    count: &mut Count,
) -> Result<(), String> {
    let sure = |said: &Said| {
        (said.verdict.decided, said.verdict.causes.first().map_or(0.0, |first| first.probability))
    };
    for deciding in &expected.deciding {
        let mut less = banked.json.clone();
        // A case of which nothing is left is no case; the rest has that reading in the baseline only, or was never given it.
        if !variants::without(&mut less, *deciding) || is_empty(&less) {
            continue;
        }
        count.removed += 1;
        if variants::is_surer(sure(said), sure(&bank::said(bank::read(&less)?)?)) {
            count.surer += 1;
            eprintln!("    surer without {}", deciding.name());
        }
    }
    Ok(())
}

fn is_empty(json: &Value) -> bool {
    let empty = |key: &str| json.get(key).and_then(Value::as_array).is_none_or(Vec::is_empty);
    ["readings", "observations", "log"].into_iter().all(empty)
}

fn line(banked: &Banked, expected: &Expectations, said: &Said, score: &Score) -> String {
    let verdict = &said.verdict;
    let first = match verdict.causes.first() {
        Some(first) => format!("{} {:.0} %", first.code, 100.0 * first.probability),
        None => "nothing".to_string(),
    };
    let how = if verdict.decided { "says" } else { "cannot tell; first" };
    let ask: Vec<&str> = verdict.ask.iter().map(|one| one.name()).collect();
    let mut line = format!("{:+} {}: {how} {first}", score.points, banked.name);
    if score.points < MOST {
        let decidable = if expected.decidable == Some(true) { "" } else { "doubt and a question; " };
        line.push_str(&format!("; wanted {decidable}{}", expected.causes.join(" or ")));
    }
    if !ask.is_empty() {
        line.push_str(&format!("; asks {}", ask.join(", ")));
    }
    if !score.said_forbidden.is_empty() {
        line.push_str(&format!("; FORBIDDEN {}", score.said_forbidden.join(", ")));
    }
    line
}

fn print(cases: usize, draws: usize, count: &Count) {
    println!("bank_cases = {cases} cases");
    count.bank.print("bank");
    println!("constant_answer_points = {} points", count.constant.points);
    println!("constant_answer_share = {:.1} %", share(count.constant.points, count.constant.possible));
    count.computed.print("computed");
    for (word, tier) in Tier::ALL {
        if let Some(sum) = count.tiers.get(&tier) {
            println!("tier_{word}_share = {:.1} %", share(sum.points, sum.possible));
        }
    }
    for (at, sum) in count.halves.iter().enumerate() {
        println!("half_{}_share = {:.1} %", at + 1, share(sum.points, sum.possible));
    }
    println!("noisy_draws = {draws} draws");
    count.noisy.print("noisy");
    count.other_units.print("other_units");
    println!("other_units_changed_cases = {} cases", count.other_units_changed);
    println!("left_out_readings = {} readings", count.removed);
    println!("surer_without_reading = {} readings", count.surer);
    println!("claim_words = {} words", claims::CLAIMS.len());
    let silent = claims::CLAIMS.iter().filter(|(_, says)| says.is_empty()).count();
    println!("claim_words_without_output = {silent} words");
}
