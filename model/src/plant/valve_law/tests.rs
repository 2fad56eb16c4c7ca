use super::*;
use proptest::prelude::*;

/// A generator that needs nothing: Park and Miller 1988, Communications of the ACM 31; twelve of its numbers add up to a normal one.
struct Noise(u64);

impl Noise {
    fn normal(&mut self) -> f64 {
        (0..12)
            .map(|_| {
                self.0 = self.0 * 48_271 % 2_147_483_647;
                self.0 as f64 / 2_147_483_647.0
            })
            .sum::<f64>()
            - 6.0
    }
}

/// Windows along p = c Q^m, the flow swinging by `swing`, with relative errors of pressure and flow.
fn run(m: f64, c: f64, count: usize, swing: f64, sd: (f64, f64), noise: &mut Noise) -> Vec<Window> {
    (0..count)
        .map(|i| {
            let share = i as f64 / (count - 1) as f64;
            let flow = 250.0 * (1.0 + swing * (share - 0.5));
            let pressure = c * 55.0 * math::pow(flow / 250.0, m);
            Window {
                pressure_bar: Estimate::new(
                    pressure * (1.0 + sd.0 * noise.normal()),
                    sd.0.max(1e-6) * pressure,
                ),
                concentrate_flow_l_h: Estimate::new(
                    flow * (1.0 + sd.1 * noise.normal()),
                    sd.1.max(1e-6) * flow,
                ),
                density_kg_m3: 1000.0,
            }
        })
        .collect()
}

fn spells(windows: &[Window], usual: Estimate) -> SpellCollector {
    let mut collector = SpellCollector::default();
    windows.iter().for_each(|window| collector.add(window, usual));
    collector
}

const NEEDLE: Estimate = Estimate::new(2.0, 0.3);
const REGULATOR: Estimate = Estimate::new(0.1, 0.15);

#[test]
fn with_nothing_seen_the_usual_exponent_stands() {
    let learnt = learn(&[], NEEDLE);
    assert_eq!((learnt.exponent, learnt.windows), (NEEDLE, 0));
    // Two windows are a line through anything.
    let two = spells(&run(1.0, 1.0, 2, 0.1, (1e-4, 1e-4), &mut Noise(5)), NEEDLE);
    assert_eq!(learn(two.spells(), NEEDLE).windows, 0);
}

/// p = p0 (Q/Q0)^m is the definition; the exponent comes back from a warm-up that moves the flow by 8 %.
#[test]
fn the_exponent_of_a_run_comes_back() {
    for (m, usual) in [(1.7, NEEDLE), (2.0, NEEDLE), (0.3, REGULATOR), (0.0, REGULATOR)] {
        let mut noise = Noise(17);
        let found = spells(&run(m, 1.0, 60, 0.08, (0.001, 0.001), &mut noise), usual);
        assert_eq!(found.turns, 0);
        let learnt = learn(found.spells(), usual);
        assert_close!(learnt.exponent.value, m, absolute = 0.06, "{learnt:?}");
        assert!((learnt.exponent.value - m).abs() < 3.0 * learnt.exponent.deviation, "{learnt:?}");
        assert!(0.8 < learnt.own_share && learnt.exponent.deviation < 0.06, "{learnt:?}");
    }
}

/// Least squares of y on x pulls the slope towards zero by the share of noise in x (attenuation; Fuller 1987, Measurement Error Models, 1.1);
/// the structural line does not.
#[test]
fn noise_of_the_flow_does_not_flatten_the_slope() {
    let mut noise = Noise(99);
    let wide = Estimate::new(2.0, 5.0);
    let all: Vec<Spell> = (0..60)
        .flat_map(|_| spells(&run(1.6, 1.0, 40, 0.06, (0.002, 0.01), &mut noise), wide).spells().to_vec())
        .collect();
    let sums = all.iter().fold((0.0, 0.0), |sum, spell| (sum.0 + spell.xy, sum.1 + spell.xx));
    let flattened = sums.0 / sums.1;
    assert!(flattened < 1.35, "least squares: {flattened}");
    let learnt = learn(&all, wide);
    assert_close!(learnt.exponent.value, 1.6, absolute = 0.08, "{learnt:?}");
}

/// A hand at the valve moves pressure and flow against each other; no exponent does.
#[test]
fn a_turn_of_the_valve_is_a_step_and_does_not_bend_the_line() {
    let mut noise = Noise(3);
    let mut windows = run(1.8, 1.0, 40, 0.06, (0.001, 0.001), &mut noise);
    windows.extend(run(1.8, 0.9, 40, 0.06, (0.001, 0.001), &mut noise));
    let found = spells(&windows, NEEDLE);
    assert_eq!((found.turns, found.spells().len()), (1, 2));
    assert_close!(learn(found.spells(), NEEDLE).exponent.value, 1.8, absolute = 0.06);
    let [before, after] = [found.spells()[0], found.spells()[1]];
    let exponent = learn(found.spells(), NEEDLE).exponent;
    assert!(moved(&before, &after, exponent));
    assert!(!moved(&before, &before, exponent));
    // The same windows as one spell would have bent it.
    let mut all = Spell::default();
    windows.iter().filter_map(Point::of).for_each(|point| all.add(&point));
    assert!(0.2 < (learn(&[all], Estimate::new(1.8, 5.0)).exponent.value - 1.8).abs());
}

/// A drop of the pump's speed moves along the line and is no turn, however large.
#[test]
fn a_pump_that_slows_down_is_no_turn() {
    let mut noise = Noise(8);
    let mut windows = run(1.8, 1.0, 20, 0.0, (0.001, 0.001), &mut noise);
    windows.extend(run(1.8, 1.0, 20, 0.0, (0.001, 0.001), &mut noise).into_iter().map(|window| {
        let (p, q) = (window.pressure_bar, window.concentrate_flow_l_h);
        Window {
            pressure_bar: Estimate::new(p.value * math::pow(0.9, 1.8), p.deviation),
            concentrate_flow_l_h: Estimate::new(q.value * 0.9, q.deviation),
            ..window
        }
    }));
    assert_eq!(spells(&windows, NEEDLE).turns, 0);
}

#[test]
fn spells_are_bounded() {
    let mut collector = SpellCollector::default();
    for i in 0..1000 {
        let bar = if i % 2 == 0 { 40.0 } else { 60.0 };
        let window = Window {
            pressure_bar: Estimate::new(bar, 0.01),
            concentrate_flow_l_h: Estimate::new(250.0, 0.1),
            density_kg_m3: 1040.0,
        };
        collector.add(&window, NEEDLE);
    }
    assert_eq!((collector.spells().len(), collector.turns), (SPELLS_MAX, 999));
}

#[test]
fn the_setting_lies_on_its_own_line() {
    let found = spells(&run(2.0, 1.0, 30, 0.05, (0.0, 0.0), &mut Noise(1)), NEEDLE);
    let valve = found.spells()[0].setting(2.0);
    assert_close!(valve.pressure_bar_at(250.0, 1000.0), 55.0, relative = 1e-3);
    // Quarter more density: p goes with rho^(m/2).
    assert_close!(valve.pressure_bar_at(250.0, 1250.0), 68.75, relative = 1e-3);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    /// Whatever is fed in, the result is a number, within the range, and never less certain than what is usual.
    #[test]
    fn the_answer_is_bounded(
        p in proptest::collection::vec((1.0..100.0_f64, 1.0..2000.0_f64), 0..60), usual in 0.0..2.0_f64, sd in 0.05..1.0_f64,
    ) {
        let prior = Estimate::new(usual, sd);
        let windows: Vec<Window> = p
            .iter()
            .map(|&(bar, flow)| Window {
                pressure_bar: Estimate::new(bar, 0.01),
                concentrate_flow_l_h: Estimate::new(flow, 0.5),
                density_kg_m3: 1030.0,
            })
            .collect();
        let learnt = learn(spells(&windows, prior).spells(), prior);
        prop_assert!((EXPONENT_RANGE.0..=EXPONENT_RANGE.1).contains(&learnt.exponent.value));
        prop_assert!(0.0 < learnt.exponent.deviation && learnt.exponent.deviation <= sd * (1.0 + 1e-9));
        prop_assert!((0.0..=1.0).contains(&learnt.own_share));
    }
}
