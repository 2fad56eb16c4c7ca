//! Relations that must hold whatever the numbers, tried at random: 0 to 40 °C, 0 to 50 g/kg, 0 to 80 bar, 1 to 8 elements.
//!
//! A property gets a case and answers how far it is from holding, as a share of what is allowed: above 1 it is broken. What is outside a property's range
//! (a train that runs dry, for instance) is left out and counted.

use super::common::{bar, element, l_h, sea};
use super::random::Random;
use barrico_model::membrane::{Element, Form, Train, TrainAt, TrainError, TrainOutput};
use barrico_model::performance::standardised::log_mean_salinity_g_kg;
use barrico_model::performance::{Inversion, Measured, Readings, invert};
use barrico_model::quantity::{
    PracticalSalinity, Salinity, SaltPermeability, Temperature, WaterPermeability,
};
use barrico_model::seawater::osmotic_pressure::OsmoticPressureAt;
use barrico_model::seawater::practical_salinity::to_conductivity;
use barrico_model::seawater::salinity_scales::mass_concentration;
use barrico_model::seawater::sodium_chloride::SodiumChlorideAt;
use barrico_model::seawater::viscosity::ViscosityAt;

/// One random unit in one random sea.
#[derive(Clone, Copy, Debug)]
pub struct Case {
    pub t: f64,
    pub s: f64,
    pub p: f64,
    pub feed: f64,
    pub count: usize,
    /// L/(m2 h bar) and L/(m2 h).
    pub a: f64,
    pub b: f64,
    pub leak: f64,
    pub slices: usize,
}

impl Case {
    fn draw(random: &mut Random) -> Self {
        Self {
            t: random.between(0.0, 40.0),
            s: random.between(0.0, 50.0),
            p: random.between(0.0, 80.0),
            feed: random.between_ln(100.0, 3000.0),
            count: 1 + random.below(8),
            a: random.between_ln(0.3, 3.0),
            b: random.between_ln(0.02, 2.0),
            // Half of them have none.
            leak: random.between(-0.005, 0.005).max(0.0),
            slices: 10,
        }
    }

    fn element(&self) -> Element {
        Element {
            a25: WaterPermeability::from_l_m2_h_bar(self.a).expect("finite"),
            b25: SaltPermeability::from_l_m2_h(self.b).expect("finite"),
            leak: self.leak,
            ..element(4e-12, 5e-8)
        }
    }

    pub fn train(&self) -> TrainAt {
        let form = Form { slices: self.slices, ..Form::default() };
        Train::of_equal(self.element(), self.count).at(&sea(self.t, self.s), &form).expect("in range")
    }

    /// The pressure is held at the concentrate outlet.
    pub fn solve(&self) -> Result<TrainOutput, TrainError> {
        self.train().with_outlet_pressure(l_h(self.feed), bar(self.p), bar(0.0))
    }

    /// The same with the pressure held at the inlet, where no search for it adds its tolerance.
    fn solve_from_inlet(&self) -> Result<TrainOutput, TrainError> {
        self.train().with_inlet_pressure(l_h(self.feed), bar(self.p), bar(0.0))
    }
}

/// What became of a property.
#[derive(Clone, Debug, Default)]
pub struct Tried {
    pub name: &'static str,
    pub cases: usize,
    /// Cases outside the property's range.
    pub left_out: usize,
    /// Largest share of what is allowed, and where.
    pub worst: f64,
    pub at: String,
    pub broken: usize,
}

type Property = fn(&Case) -> Option<f64>;

const PROPERTIES: [(&str, Property); 14] = [
    ("numbers_or_a_name", numbers_or_a_name),
    ("water_balance", water_balance),
    ("salt_balance", salt_balance),
    ("rises_with_pressure", rises_with_pressure),
    ("rises_with_temperature", rises_with_temperature),
    ("rises_with_permeability", rises_with_permeability),
    ("rises_with_feed", rises_with_feed),
    ("falls_with_salt", falls_with_salt),
    ("product_fresher_than_feed", product_fresher),
    ("second_order", second_order),
    ("small_change_changes_little", small_change),
    ("branches_meet", branches_meet),
    ("formulas_meet", formulas_meet),
    ("inversion_is_the_inverse", inversion),
];

/// What the property says, for a reader.
pub fn told(name: &str) -> &'static str {
    match name {
        "numbers_or_a_name" => "ends in numbers, or in a reason by name, within a bounded number of steps",
        "water_balance" => "water balance closes: to 1e-11 without salt, to 0.1 % by volumes that mix",
        "salt_balance" => "salt balance closes to 1e-11",
        "rises_with_pressure" => "product rises with pressure",
        "rises_with_temperature" => {
            "product rises with temperature, where the membrane and not osmosis limits it"
        }
        "rises_with_permeability" => "product rises with permeability",
        "rises_with_feed" => "product rises with feed flow",
        "falls_with_salt" => "product falls with salinity",
        "product_fresher_than_feed" => "product is never saltier than the feed",
        "second_order" => "slices converge with second order",
        "small_change_changes_little" => "a change of 1e-7 changes the product by less than 1e-5",
        "branches_meet" => "no step in the product at 25 °C, 10 g/kg, no salt, no pressure",
        "formulas_meet" => "no step in the formulas where they change their form",
        _ => "inversion of the forward model is the identity within 2e-5",
    }
}

/// Tries every property on so many cases; the inversion, which costs many times as much, on a fifth.
pub fn run(cases: usize, seed: u64) -> Vec<Tried> {
    PROPERTIES
        .iter()
        .enumerate()
        .map(|(i, &(name, property))| {
            let mut random = Random::new(seed.wrapping_mul(1_000_003).wrapping_add(i as u64));
            let mut tried = Tried { name, ..Tried::default() };
            let count = if name == "inversion_is_the_inverse" { cases.div_ceil(5) } else { cases };
            for _ in 0..count {
                let case = Case::draw(&mut random);
                match property(&case) {
                    None => tried.left_out += 1,
                    Some(share) => {
                        tried.cases += 1;
                        let share = if share.is_nan() { f64::INFINITY } else { share };
                        tried.broken += usize::from(1.0 < share);
                        if tried.worst < share {
                            (tried.worst, tried.at) = (share, format!("{case:?}"));
                        }
                    }
                }
            }
            tried
        })
        .collect()
}

/// A result or a named reason, never another number or a search that did not end.
fn numbers_or_a_name(case: &Case) -> Option<f64> {
    let holds = match case.solve() {
        Err(error) => error == TrainError::FeedUsedUp,
        Ok(output) => {
            let whole = [
                output.product_m3_s,
                output.product_g_kg,
                output.concentrate_m3_s,
                output.concentrate_g_kg,
                output.inlet_pa,
                output.outlet_pa,
            ];
            let parts = output.elements.iter().flat_map(|e| [e.product_m3_s, e.product_g_kg, e.polarisation]);
            whole.into_iter().chain(parts).all(|number| number.is_finite() && 0.0 <= number)
                && (output.outlet_pa / 1e5 - case.p).abs() < 1e-4
        }
    };
    Some(if holds { 0.0 } else { 2.0 })
}

/// Rounding of sums over eighty slices.
const BALANCE: f64 = 1e-11;

/// Water without salt has one density, so volumes must add up. With salt the model adds volumes of product of unequal salinity, whose mean salinity
/// has not quite their mean density: 0.1 % of the feed at most.
fn water_balance(case: &Case) -> Option<f64> {
    let fresh = Case { s: 0.0, ..*case }.solve();
    let volumes = |o: &TrainOutput| (o.product_m3_s + o.concentrate_m3_s - o.feed_m3_s).abs() / o.feed_m3_s;
    let (train, output) = (case.train(), case.solve().ok()?);
    let mass = |flow: f64, g_kg: f64| flow * train.density_kg_m3(g_kg);
    let feed = mass(output.feed_m3_s, case.s);
    let out = mass(output.product_m3_s, output.product_g_kg)
        + mass(output.concentrate_m3_s, output.concentrate_g_kg);
    Some(((out - feed).abs() / feed / 1e-3).max(fresh.map_or(0.0, |fresh| volumes(&fresh) / BALANCE)))
}

/// Salt in the feed against salt in product and concentrate, the product's mass being what the stream has lost: closes only if water does too.
fn salt_balance(case: &Case) -> Option<f64> {
    if case.s < 0.01 {
        return None;
    }
    let (train, output) = (case.train(), case.solve().ok()?);
    let mut feed_g_kg = case.s;
    let (mut water, mut salt) = (0.0, 0.0);
    for element in &output.elements {
        let kg_s = element.feed_m3_s * train.density_kg_m3(feed_g_kg)
            - element.concentrate_m3_s * train.density_kg_m3(element.concentrate_g_kg);
        water += kg_s;
        salt += kg_s * element.product_g_kg;
        feed_g_kg = element.concentrate_g_kg;
    }
    let feed = output.feed_m3_s * train.density_kg_m3(case.s) * case.s;
    let concentrate =
        output.concentrate_m3_s * train.density_kg_m3(output.concentrate_g_kg) * output.concentrate_g_kg;
    let mixed = (salt - water * output.product_g_kg).abs() / feed / BALANCE;
    Some(((salt + concentrate - feed).abs() / feed / BALANCE).max(mixed))
}

/// Noise of two solutions: the search for the inlet pressure ends within a tenth of a pascal (above 10 bar; below, within 1e-7 of it), the flux within 3e-9.
const NOISE: f64 = 1e-8;

/// How far `more` lies below `less`, as a share of the noise.
fn below(less: f64, more: f64) -> f64 {
    (less - more) / less.max(1e-12) / NOISE
}

/// Recovery above which one of ten slices takes so much of what is left that the error of the slices exceeds the effect that is looked for (found at random:
/// 1.6e-3 with ten slices and 98 % recovery, where the permeability brings 7e-5), and the slices used there.
const NEARLY_ALL: f64 = 0.9;
const FINE_SLICES: usize = 80;

/// How far the product of `more` lies below that of `less`, both with the same slices.
fn rises(less: &Case, more: &Case) -> Option<f64> {
    let (low, high) = (less.solve().ok()?, more.solve().ok()?);
    if NEARLY_ALL < low.recovery().max(high.recovery()) {
        let fine = |case: &Case| Case { slices: FINE_SLICES, ..*case }.solve().ok();
        return Some(below(fine(less)?.product_m3_s, fine(more)?.product_m3_s));
    }
    Some(below(low.product_m3_s, high.product_m3_s))
}

fn rises_with_pressure(case: &Case) -> Option<f64> {
    rises(case, &Case { p: case.p + 0.5, ..*case })
}

/// Where osmosis, not the membrane, limits the product (little pressure over the concentrate's osmotic pressure, or nearly all the water taken), warmth
/// costs product, because the osmotic pressure rises with it: outside the range of this relation.
fn rises_with_temperature(case: &Case) -> Option<f64> {
    let here = case.solve().ok()?;
    if 0.5 < here.recovery() || case.p < 0.8 * here.concentrate_g_kg + 8.0 {
        return None;
    }
    rises(case, &Case { t: case.t + 0.5, ..*case })
}

fn rises_with_permeability(case: &Case) -> Option<f64> {
    rises(case, &Case { a: 1.01 * case.a, ..*case })
}

fn rises_with_feed(case: &Case) -> Option<f64> {
    rises(case, &Case { feed: 1.02 * case.feed, ..*case })
}

fn falls_with_salt(case: &Case) -> Option<f64> {
    rises(&Case { s: case.s + 0.2, ..*case }, case)
}

fn product_fresher(case: &Case) -> Option<f64> {
    let output = case.solve().ok()?;
    Some(if output.product_g_kg <= case.s * (1.0 + 1e-9) { 0.0 } else { 2.0 })
}

/// Four times less error with twice the slices is second order, two times is first. Parts of second and third order may cancel at one number of slices,
/// so the error with 80 is held against those with 10, 20 and 40: from one of them it must have fallen at least threefold with each doubling.
fn second_order(case: &Case) -> Option<f64> {
    let product = |slices| Case { slices, ..*case }.solve_from_inlet().ok();
    let limit = product(320)?;
    // Where nearly everything is taken the flux falls to a trickle within one slice, and no order can be seen.
    // The same where the pressure runs out on the way.
    if 0.6 < limit.recovery() || limit.product_m3_s < 1e-9 || limit.outlet_pa <= 0.0 {
        return None;
    }
    let error =
        |slices| product(slices).map(|o| (o.product_m3_s - limit.product_m3_s).abs() / limit.product_m3_s);
    let errors = [error(10)?, error(20)?, error(40)?, error(80)?];
    // Below this the limit's own error and the noise of the flux show.
    if errors[3] < 1e-8 {
        return None;
    }
    let allowed = (errors[0] / 36.0).max(errors[1] / 9.0).max(errors[2] / 3.0);
    Some(errors[3] / allowed)
}

fn step(here: &TrainOutput, there: &TrainOutput) -> f64 {
    (here.product_m3_s - there.product_m3_s).abs() / here.product_m3_s.max(1e-9)
}

/// A change of 1e-7 in everything changes the product by less than 1e-5 of it.
fn small_change(case: &Case) -> Option<f64> {
    let near = Case { t: case.t + 1e-7, s: case.s + 1e-7, p: case.p + 1e-7, feed: case.feed + 1e-6, ..*case };
    Some(step(&case.solve().ok()?, &near.solve().ok()?) / 1e-5)
}

/// The places where a formula changes its form: 25 °C (temperature law of water), 10 g/kg (osmotic coefficient; met by feed, product and face
/// alike), no salt, no pressure. Just on both sides the product must be the same.
fn branches_meet(case: &Case) -> Option<f64> {
    let nothing = 1e-9;
    let sides = [
        (Case { t: 25.0 - 1e-7, ..*case }, Case { t: 25.0 + 1e-7, ..*case }),
        (Case { s: 10.0 - 1e-7, ..*case }, Case { s: 10.0 + 1e-7, ..*case }),
        (Case { s: 0.0, ..*case }, Case { s: nothing, ..*case }),
    ];
    let mut worst = f64::NAN;
    for (low, high) in sides {
        if let (Ok(low), Ok(high)) = (low.solve(), high.solve()) {
            worst = worst.max(step(&low, &high) / 1e-5);
        }
    }
    // Towards no pressure the product vanishes and is as salty as the feed.
    let (none, little) =
        (Case { p: 0.0, ..*case }.solve_from_inlet(), Case { p: nothing, ..*case }.solve_from_inlet());
    if let (Ok(none), Ok(little)) = (none, little) {
        worst = worst.max((none.product_m3_s - little.product_m3_s).abs() / none.feed_m3_s / 1e-6);
        worst = worst.max((none.product_g_kg - little.product_g_kg).abs() / case.s.max(1.0) / 1e-3);
    }
    (!worst.is_nan()).then_some(worst)
}

/// The same for the formulas alone: practical salinity at 2, osmotic pressure at 10 and 120 g/kg with its slope, sodium chloride at 120 g/kg, the
/// log-mean salinity at a recovery of 0.001, viscosity at the end of its range.
fn formulas_meet(case: &Case) -> Option<f64> {
    let temperature = Temperature::from_celsius(case.t).ok()?;
    let (sea, nacl) = (OsmoticPressureAt::new(temperature), SodiumChlorideAt::new(temperature));
    let conductivity = |practical: f64| {
        let practical = PracticalSalinity::from_number(practical).ok()?;
        to_conductivity(practical, temperature).ok().map(|found| found.as_ms_cm())
    };
    let viscosity =
        |celsius: f64| Temperature::from_celsius(celsius).map(|t| ViscosityAt::new(t).pa_s(case.s)).ok();
    // Value just below and just above, and what a share of either may lie between.
    let pairs = [
        (conductivity(2.0 - 1e-8)?, conductivity(2.0 + 1e-8)?, 1e-7),
        (sea.pa(10.0 - 1e-8), sea.pa(10.0 + 1e-8), 1e-7),
        (sea.pa_and_slope(10.0 - 1e-8).1, sea.pa_and_slope(10.0 + 1e-8).1, 1e-6),
        (sea.pa(120.0 - 1e-8), sea.pa(120.0 + 1e-8), 1e-7),
        (sea.pa_and_slope(120.0 - 1e-8).1, sea.pa_and_slope(120.0 + 1e-8).1, 1e-6),
        (nacl.pa_and_slope(120.0 - 1e-8).0, nacl.pa_and_slope(120.0 + 1e-8).0, 1e-7),
        (nacl.pa_and_slope(120.0 - 1e-8).1, nacl.pa_and_slope(120.0 + 1e-8).1, 1e-6),
        (
            log_mean_salinity_g_kg(35.0, 1e-3 - 1e-12).ok()?,
            log_mean_salinity_g_kg(35.0, 1e-3 + 1e-12).ok()?,
            1e-8,
        ),
        (viscosity(-5.0 - 1e-8)?, viscosity(-5.0 + 1e-8)?, 1e-7),
        (viscosity(180.0 - 1e-8)?, viscosity(180.0 + 1e-8)?, 1e-7),
    ];
    Some(pairs.iter().map(|(low, high, allowed)| (high / low - 1.0).abs() / allowed).fold(0.0, f64::max))
}

/// Readings made by the forward model give its permeabilities back, or a reason by name. Where osmosis sets the product, A hardly shows in it and
/// cannot be had back; there the range ends.
fn inversion(case: &Case) -> Option<f64> {
    // A leak is not told apart here.
    let case = &Case { leak: 0.0, ..*case };
    let output = case.solve().ok()?;
    let driven = case.p > 0.8 * output.concentrate_g_kg + 8.0 && output.recovery() < 0.5;
    if !driven || case.s < 0.5 {
        return None;
    }
    let exact = |value| Some(Measured::alone(value, 0.0));
    let g_kg = Salinity::from_g_kg(output.product_g_kg).ok()?;
    let tds = mass_concentration(g_kg, Temperature::from_celsius(25.0).ok()?).ok()?;
    let readings = Readings {
        product_flow_l_h: exact(output.product_m3_s * 3.6e6),
        product_tds_mg_l: exact(tds.as_mg_l()),
        feed_flow_l_h: exact(case.feed),
        feed_temperature_c: exact(case.t),
        feed_salinity_g_kg: exact(case.s),
        concentrate_pressure_bar: exact(case.p),
        ..Readings::default()
    };
    let guess = Train::of_equal(element(4e-12, 5e-8), case.count);
    let state = match invert(&guess, &Form::default(), [0.0; 3], &readings, None) {
        Ok(Inversion::Membrane(state)) => state,
        // A flow was measured and a membrane exists: any other answer is wrong.
        Ok(Inversion::Joint(_)) | Err(_) => return Some(2.0),
    };
    let a = (state.a25.as_l_m2_h_bar() / case.a - 1.0).abs();
    let b = (state.b25.as_l_m2_h() / case.b - 1.0).abs();
    Some(a.max(b) / 2e-5)
}
