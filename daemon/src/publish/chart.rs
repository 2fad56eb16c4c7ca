//! Pictures as SVG text: the headline as a strip, the last runs as a chart.
//!
//! Colours and line styles come from the style sheet by class, since the page's content policy forbids styles in the markup. Everything in the
//! picture is a number or a date made here; no text from outside gets in. What is unknown is a gap, never zero. Each picture
//! has the same content as text beside it.

use super::format;
use super::page::Runs;
use crate::engine::view::RunRow;
use barrico_model::Quantity;
use std::fmt::Write;

/// Marks along an axis, from zero or a round number below the lowest value to one above the highest.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Scale {
    pub(super) low: f64,
    pub(super) high: f64,
    step: f64,
}

impl Scale {
    /// More marks than this on one axis cannot be read on a phone.
    const MARKS_MAX: f64 = 5.0;

    pub(super) fn new(low: f64, high: f64) -> Option<Self> {
        if !low.is_finite() || !high.is_finite() || high <= 0.0 {
            return None;
        }
        // A short axis that hides the zero makes small changes look large; it is cut only where all values lie far from zero.
        let low = if low < 0.5 * high { 0.0 } else { low };
        let span = (high - low).max(0.1 * high);
        let step = round_step(span / Self::MARKS_MAX);
        let low = (low / step).floor() * step;
        Some(Self { low, high: (high / step).ceil().max(low / step + 1.0) * step, step })
    }

    pub(super) fn marks(&self) -> Vec<f64> {
        let count = ((self.high - self.low) / self.step).round() as usize;
        (0..=count.min(12)).map(|i| self.low + i as f64 * self.step).collect()
    }

    pub(super) fn digits(&self) -> usize {
        if 1.0 <= self.step { 0 } else { 1 }
    }

    /// Position between `from` (low end) and `to` (high end).
    pub(super) fn place(&self, value: f64, from: f64, to: f64) -> f64 {
        from + (value - self.low) / (self.high - self.low) * (to - from)
    }
}

/// The next of 1, 2, 5, 10, 20 ... at or above `at_least`.
fn round_step(at_least: f64) -> f64 {
    let mut decade = 0.1;
    for _ in 0..9 {
        for part in [1.0, 2.0, 5.0] {
            if at_least <= part * decade {
                return part * decade;
            }
        }
        decade *= 10.0;
    }
    decade
}

/// What is made, as a mark with its error, on the range that this sea allows. Each argument is value and standard deviation in L/h.
pub fn strip(made: (f64, f64), allowed: (f64, f64)) -> Option<String> {
    const LEFT: f64 = 8.0;
    const RIGHT: f64 = 332.0;
    let (low, high) = format::interval(allowed.0, allowed.1);
    let (made_low, made_high) = with_error(made.0, made.1);
    let scale = Scale::new(0.0, high.max(made_high))?;
    let x = |value: f64| scale.place(value.clamp(scale.low, scale.high), LEFT, RIGHT);
    let mut svg = String::from(
        "<svg class=\"strip\" viewBox=\"0 0 340 46\" role=\"img\" aria-label=\"The headline as a picture\">",
    );
    rect(&mut svg, "allowed", x(low), 6.0, x(high) - x(low), 18.0);
    line(&mut svg, "axis", LEFT, 24.0, RIGHT, 24.0);
    for mark in scale.marks() {
        line(&mut svg, "axis", x(mark), 24.0, x(mark), 28.0);
        let unit = if mark == scale.low { " L/h" } else { "" };
        let anchor = if mark == scale.low { "start" } else { "middle" };
        let at = if mark == scale.low { x(mark) - 4.0 } else { x(mark).min(RIGHT - 6.0) };
        label(&mut svg, anchor, at, 41.0, &format!("{}{unit}", format::number(mark, scale.digits())));
    }
    line(&mut svg, "whisker", x(made_low), 15.0, x(made_high), 15.0);
    line(&mut svg, "made", x(made.0), 2.0, x(made.0), 24.0);
    svg.push_str("</svg>");
    Some(svg)
}

const WIDTH: f64 = 360.0;
const LEFT: f64 = 36.0;
const RIGHT: f64 = 354.0;
const TOP: f64 = 22.0;
const BOTTOM: f64 = 172.0;

/// Product flow of each run with what its water allowed. `None` if no run has a flow or an expectation.
pub fn runs(rows: &[RunRow]) -> Option<String> {
    let shown: Vec<Point> = rows.iter().map(Point::new).collect();
    let lows = shown.iter().filter_map(|point| point.lowest()).fold(f64::INFINITY, f64::min);
    let highs = shown.iter().filter_map(|point| point.highest()).fold(f64::NEG_INFINITY, f64::max);
    let scale = Scale::new(lows, highs)?;
    let mut svg = format!(
        "<svg class=\"runs\" viewBox=\"0 0 {WIDTH:.0} 212\" role=\"img\" aria-label=\"Product flow of the last runs; the same stands in the table below\">"
    );
    grid(&mut svg, &scale);
    let step = (RIGHT - LEFT) / (shown.len().max(8)) as f64;
    for (at, point) in shown.iter().enumerate() {
        draw(&mut svg, point, &scale, LEFT + (at as f64 + 0.5) * step, step);
    }
    dates(&mut svg, rows, step);
    svg.push_str("</svg>");
    Some(svg)
}

/// One run on the chart.
struct Point {
    made: Option<(f64, f64)>,
    allowed: Option<(f64, f64)>,
}

impl Point {
    fn new(row: &RunRow) -> Self {
        let finite = |(value, sd): (f64, f64)| {
            value.is_finite().then_some((value, if sd.is_finite() { sd } else { 0.0 }))
        };
        let made = row.run.mean(Quantity::ProductFlow).map(|mean| (mean.value, super::page::mean_sd(mean)));
        Self { made: made.and_then(finite), allowed: row.expected_product_flow_l_h.and_then(finite) }
    }

    fn lowest(&self) -> Option<f64> {
        let made = self.made.map(|(value, sd)| with_error(value, sd).0);
        let allowed = self.allowed.map(|(value, sd)| format::interval(value, sd).0);
        [made, allowed].into_iter().flatten().reduce(f64::min)
    }

    fn highest(&self) -> Option<f64> {
        let made = self.made.map(|(value, sd)| with_error(value, sd).1);
        let allowed = self.allowed.map(|(value, sd)| format::interval(value, sd).1);
        [made, allowed].into_iter().flatten().reduce(f64::max)
    }

    fn is_below(&self) -> bool {
        match (self.made, self.allowed) {
            (Some((made, _)), Some((value, sd))) => made < format::interval(value, sd).0,
            _ => false,
        }
    }
}

fn draw(svg: &mut String, point: &Point, scale: &Scale, x: f64, step: f64) {
    let y = |value: f64| scale.place(value.clamp(scale.low, scale.high), BOTTOM, TOP);
    let width = (0.76 * step).min(16.0);
    if let Some((value, sd)) = point.allowed {
        let (low, high) = format::interval(value, sd);
        rect(svg, "allowed", x - width / 2.0, y(high), width, (y(low) - y(high)).max(1.0));
    }
    match point.made {
        Some((value, sd)) => {
            let (low, high) = with_error(value, sd);
            line(svg, "whisker", x, y(low), x, y(high));
            let class = if point.is_below() { "dot below" } else { "dot" };
            // Writing to a String cannot fail.
            let _ = write!(svg, "<circle class=\"{class}\" cx=\"{x:.1}\" cy=\"{:.1}\" r=\"3.4\"/>", y(value));
        }
        None => {
            line(svg, "gap", x - 3.0, BOTTOM - 9.0, x + 3.0, BOTTOM - 3.0);
            line(svg, "gap", x - 3.0, BOTTOM - 3.0, x + 3.0, BOTTOM - 9.0);
        }
    }
}

fn grid(svg: &mut String, scale: &Scale) {
    for mark in scale.marks() {
        let y = scale.place(mark, BOTTOM, TOP);
        line(svg, if mark == scale.low { "axis" } else { "grid" }, LEFT, y, RIGHT, y);
        label(svg, "end", LEFT - 4.0, y + 4.0, &format::number(mark, scale.digits()));
    }
    label(svg, "start", 0.0, 11.0, "L/h");
}

/// Dates under the runs, as many as fit side by side; a run without a date has its number.
fn dates(svg: &mut String, rows: &[RunRow], step: f64) {
    const ROOM: f64 = 62.0;
    let mut free_from = f64::NEG_INFINITY;
    let mut last = String::new();
    for (at, row) in rows.iter().enumerate() {
        let x = LEFT + (at as f64 + 0.5) * step;
        let text = match row.run.start.wall_ms {
            Some(wall) => format::day(wall),
            None => format!("run {}", row.run.id),
        };
        if x < free_from || text == last || RIGHT - 8.0 < x {
            continue;
        }
        line(svg, "axis", x, BOTTOM, x, BOTTOM + 5.0);
        label(svg, "middle", x.max(LEFT + 8.0), BOTTOM + 19.0, &text);
        free_from = x + ROOM;
        last = text;
    }
    label(svg, "end", RIGHT, BOTTOM + 34.0, "start of the run, UTC");
}

/// Ends of the 95 % interval of a measured flow.
fn with_error(value: f64, sd: f64) -> (f64, f64) {
    if sd.is_finite() { format::interval(value, sd) } else { (value, value) }
}

// Writing to a String cannot fail, so the results below are dropped.

fn line(svg: &mut String, class: &str, x1: f64, y1: f64, x2: f64, y2: f64) {
    let _ =
        write!(svg, "<line class=\"{class}\" x1=\"{x1:.1}\" y1=\"{y1:.1}\" x2=\"{x2:.1}\" y2=\"{y2:.1}\"/>");
}

fn rect(svg: &mut String, class: &str, x: f64, y: f64, width: f64, height: f64) {
    let _ = write!(
        svg,
        "<rect class=\"{class}\" x=\"{x:.1}\" y=\"{y:.1}\" width=\"{width:.1}\" height=\"{height:.1}\"/>"
    );
}

fn label(svg: &mut String, anchor: &str, x: f64, y: f64, text: &str) {
    let _ = write!(svg, "<text text-anchor=\"{anchor}\" x=\"{x:.1}\" y=\"{y:.1}\">{text}</text>");
}

const _: () = assert!(Runs::SHOWN_MAX <= 40, "more runs than the chart's width can show");

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_are_round_and_enclose_the_values() {
        let scale = Scale::new(40.0, 83.0).unwrap();
        assert_eq!((scale.low, scale.high, scale.step), (0.0, 100.0, 20.0));
        let far = Scale::new(61.0, 83.0).unwrap();
        assert_eq!((far.low, far.high, far.step), (60.0, 85.0, 5.0));
        assert_eq!(Scale::new(f64::INFINITY, f64::NEG_INFINITY), None);
        assert_eq!(Scale::new(0.0, 0.0), None);
        let flat = Scale::new(70.0, 70.0).unwrap();
        assert!(flat.low < flat.high && flat.marks().len() <= 7, "{flat:?}");
    }

    #[test]
    fn numbers_that_are_none_draw_nothing() {
        assert_eq!(strip((f64::NAN, 1.0), (f64::NAN, 1.0)), None);
        assert_eq!(runs(&[]), None);
        let svg = strip((72.0, f64::NAN), (74.0, 3.0)).unwrap();
        assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
    }
}
