//! Bars for each water and candidate as SVG text, each with the interval that holds it in 95 of 100 cases.
//!
//! Names that people typed are escaped here, since a picture goes into the page as it is. What is unknown is a gap with a cross, never zero.

use crate::compare::Compared;
use crate::compare::rows::Row;
use crate::publish::chart::Scale;
use crate::publish::format;
use barrico_model::sizing::Variant;
use std::fmt::Write;

const WIDTH: f64 = 360.0;
const LEFT: f64 = 30.0;
const RIGHT: f64 = 356.0;
const TOP: f64 = 14.0;
const BOTTOM: f64 = 62.0;
/// Longest name under a group of bars, in characters.
const NAME_CHARS: usize = 16;

/// One group of bars for each water, one bar for each candidate. None if nothing is known.
pub(super) fn bars(compared: &Compared, row: &Row, unit: &str) -> Option<String> {
    let (waters, candidates) = (compared.comparison.waters.len(), compared.comparison.candidates.len());
    let figure = |candidate, water| compared.figure(candidate, Variant::AsListed, water, row).ok();
    let highest = (0..waters)
        .flat_map(|water| (0..candidates).map(move |candidate| (candidate, water)))
        .filter_map(|(candidate, water)| figure(candidate, water))
        .map(|figure| format::interval(row.factor * figure.value, row.factor * figure.deviation).1)
        .fold(f64::NEG_INFINITY, f64::max);
    let scale = Scale::new(0.0, highest)?;
    let y = |value: f64| scale.place(value.clamp(scale.low, scale.high), BOTTOM, TOP);
    let label = escape(&format!("{}, {unit}, in each water; the same stands in the table", row.words));
    let mut svg = format!("<svg viewBox=\"0 0 {WIDTH:.0} 76\" role=\"img\" aria-label=\"{label}\">");
    // Writing to a String cannot fail.
    for mark in scale.marks() {
        let _ = write!(
            svg,
            "<line class=\"grid\" x1=\"{LEFT:.1}\" y1=\"{0:.1}\" x2=\"{RIGHT:.1}\" y2=\"{0:.1}\"/>",
            y(mark)
        );
        let text = format::number(mark, scale.digits());
        let _ = write!(
            svg,
            "<text text-anchor=\"end\" x=\"{:.1}\" y=\"{:.1}\">{text}</text>",
            LEFT - 4.0,
            y(mark) + 3.0
        );
    }
    let _ = write!(svg, "<text x=\"0\" y=\"8\">{}</text>", escape(unit));
    let group = (RIGHT - LEFT) / waters.max(1) as f64;
    let bar = 0.78 * group / candidates.max(1) as f64;
    for (water, named) in compared.comparison.waters.iter().enumerate() {
        let start = LEFT + group * (water as f64 + 0.11);
        for candidate in 0..candidates {
            let x = start + bar * candidate as f64;
            match figure(candidate, water) {
                Some(figure) => {
                    let (value, sd) = (row.factor * figure.value, row.factor * figure.deviation);
                    let (low, high) = format::interval(value, sd);
                    let middle = x + 0.45 * bar;
                    let _ = write!(
                        svg,
                        "<rect class=\"c{}\" x=\"{x:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{:.1}\"/>\
                         <line class=\"whisker\" x1=\"{middle:.1}\" y1=\"{:.1}\" x2=\"{middle:.1}\" y2=\"{:.1}\"/>",
                        candidate + 1,
                        y(value),
                        0.9 * bar,
                        BOTTOM - y(value),
                        y(low),
                        y(high)
                    );
                }
                None => {
                    let _ = write!(
                        svg,
                        "<text text-anchor=\"middle\" x=\"{:.1}\" y=\"{:.1}\">×</text>",
                        x + 0.45 * bar,
                        BOTTOM - 3.0
                    );
                }
            }
        }
        let name: String = named.name.chars().take(NAME_CHARS).collect();
        let _ = write!(
            svg,
            "<text text-anchor=\"middle\" x=\"{:.1}\" y=\"{:.1}\">{}</text>",
            LEFT + group * (water as f64 + 0.5),
            BOTTOM + 11.5,
            escape(&name)
        );
    }
    let _ = write!(
        svg,
        "<line class=\"axis\" x1=\"{LEFT:.1}\" y1=\"{BOTTOM:.1}\" x2=\"{RIGHT:.1}\" y2=\"{BOTTOM:.1}\"/></svg>"
    );
    Some(svg)
}

/// Text that may stand in markup and in an attribute's quotes.
pub(super) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c => out.push(c),
        }
    }
    out
}
