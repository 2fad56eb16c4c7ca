//! A comparison as text for a terminal: a table for each candidate, then what tells them apart, then the year.

use super::super::print::{list, paragraph};
use crate::compare::rows::{self, Row};
use crate::compare::{Compared, words};
use crate::publish::format;
use crate::publish::words::sentence;
use barrico_model::plant::note::{USUAL_ELEMENT_RECOVERY, USUAL_TRAIN_RECOVERY};
use barrico_model::sizing::{Figure, Unknown, Variant};

/// Columns of a table's line.
const WIDTH: usize = 100;
/// Columns of a figure, and of a line of the name over it.
const HEAD: usize = 14;
/// Lines of a name over a column. Names have 80 characters at most; what these lines do not hold is cut.
const HEAD_LINES: usize = 3;
/// Room for the words of a row.
const WORDS: usize = 32;

/// The whole text.
pub(super) fn of(compared: &Compared) -> String {
    let mut out = format!("{}\n\n", compared.comparison.title);
    for note in &compared.comparison.notes {
        out.push_str(&paragraph("", note));
    }
    out.push_str(&paragraph("Need:   ", &words::need(compared)));
    out.push_str(&paragraph("Tank:   ", &words::filling(compared)));
    for (at, water) in compared.comparison.waters.iter().enumerate() {
        let head = if at == 0 { "Waters: " } else { "        " };
        out.push_str(&paragraph(head, &self::water(water)));
    }
    out.push('\n');
    out.push_str(&paragraph("", words::PLUS_MINUS));
    out.push_str(&paragraph(
        "",
        "A star marks the water in which a figure is at its worst; ! a recovery above the usual one.",
    ));
    out.push_str(&paragraph("", words::USUAL));
    for candidate in 0..compared.comparison.candidates.len() {
        out.push_str(&self::candidate(compared, candidate));
    }
    if 1 < compared.comparison.candidates.len() {
        out.push_str(&against_first(compared));
    }
    out.push_str(&paragraph("  ", words::FUEL));
    out.push_str(&paragraph("  ", words::WORN));
    out.push_str(&year(compared));
    out.push_str("\nWhat the numbers are\n");
    out.push_str(&list(&words::origins(compared).iter().map(String::as_str).collect::<Vec<_>>()));
    out.push_str("\nCaution\n");
    out.push_str(&list(&words::CAUTIONS));
    out
}

fn water(water: &crate::settings::comparison::NamedWater) -> String {
    let share =
        water.water.share.map_or(String::new(), |share| format!(", {:.0} % of the days", 100.0 * share));
    let sun = water
        .water
        .solar_wh_day
        .map_or(String::new(), |wh| format!(", {:.1} kWh a day from the sun", wh / 1e3));
    format!(
        "{}: {:.0} °C, {:.1} g/kg{share}{sun}",
        water.name, water.water.temperature_c, water.water.salinity_g_kg
    )
}

fn candidate(compared: &Compared, candidate: usize) -> String {
    let Some(named) = compared.comparison.candidates.get(candidate) else { return String::new() };
    let mut out = format!("\n{}. {} ({})\n", candidate + 1, named.name, named.supply);
    let mut lines = Vec::new();
    for row in rows::ALL {
        let row = &row;
        let figures = (0..compared.comparison.waters.len())
            .map(|w| compared.figure(candidate, Variant::AsListed, w, row));
        lines.extend(line(
            row,
            &figures.collect::<Vec<_>>(),
            compared.worst_water(candidate, Variant::AsListed, row),
        ));
        if row.key == rows::RECOVERY.key {
            lines.extend(elements(compared, candidate));
        }
    }
    out.push_str(&columns(&water_names(compared), &lines));
    for variant in [Variant::OneElementOut, Variant::PumpWorn] {
        out.push_str(&format!("  With {}\n", words::variant(variant)));
        out.push_str(&faulty(compared, candidate, variant));
    }
    let mut remarks = words::remarks(compared, candidate, Variant::AsListed);
    remarks.extend(words::remarks_when_faulty(compared, candidate));
    let mut texts: Vec<&str> = remarks.iter().map(|one| one.text.as_str()).collect();
    let reasons = not_known(compared, candidate);
    texts.extend(reasons.iter().map(String::as_str));
    out.push_str("  Limits and notices\n");
    out.push_str(&list(if texts.is_empty() { &["All that was entered is kept."] } else { &texts }));
    out
}

/// Why figures are not known, each once.
fn not_known(compared: &Compared, candidate: usize) -> Vec<String> {
    let mut texts = Vec::new();
    for row in rows::ALL {
        for water in 0..compared.comparison.waters.len() {
            let Err(why) = compared.figure(candidate, Variant::AsListed, water, &row) else { continue };
            let text = format!("Not known, {}: {}.", row.words.trim(), words::reason(&why));
            if !matches!(why, Unknown::NoMeaning(_)) && !texts.contains(&text) {
                texts.push(text);
            }
        }
    }
    texts
}

fn water_names(compared: &Compared) -> Vec<String> {
    compared.comparison.waters.iter().map(|water| water.name.clone()).collect()
}

/// A row of words and cells; none if the figure has no meaning anywhere.
fn line(row: &Row, figures: &[Figure], worst: Option<usize>) -> Option<Vec<String>> {
    if figures.iter().all(|figure| matches!(figure, Err(Unknown::NoMeaning(_)))) {
        return None;
    }
    let words = if row.words.starts_with(' ') { row.words.to_string() } else { sentence(row.words) };
    let mut cells = vec![format!("{words}, {}", row.unit)];
    for (at, figure) in figures.iter().enumerate() {
        let star = if worst == Some(at) { " *" } else { "  " };
        cells.push(match figure {
            Ok(figure) => format!(
                "{}{star}",
                format::with_half(row.factor * figure.value, row.factor * figure.deviation)
            ),
            Err(_) => "not known  ".to_string(),
        });
    }
    Some(cells)
}

/// Recovery and flux of each element, with a mark above the usual recovery.
fn elements(compared: &Compared, candidate: usize) -> Vec<Vec<String>> {
    let count =
        compared.comparison.candidates.get(candidate).map_or(0, |one| one.candidate.parts.elements.len());
    let of = |water: usize| {
        compared
            .cases(candidate, Variant::AsListed)
            .find(|(w, _)| *w == water)
            .map(|(_, case)| &case.expected.output)
    };
    let mut lines = Vec::new();
    for element in 0..count {
        let mut cells = vec![format!("  element {}: recovery, L/(m2 h)", element + 1)];
        for water in 0..compared.comparison.waters.len() {
            cells.push(match of(water).and_then(|output| output.elements.get(element)) {
                Some(figures) => {
                    let mark = if USUAL_ELEMENT_RECOVERY < figures.recovery { "!" } else { " " };
                    format!("{:.0} %{mark} {:.0}  ", 100.0 * figures.recovery, figures.flux_l_m2_h)
                }
                None => "not known  ".to_string(),
            });
        }
        lines.push(cells);
    }
    let above = |water: usize| of(water).is_some_and(|output| USUAL_TRAIN_RECOVERY < output.recovery);
    if (0..compared.comparison.waters.len()).any(above) {
        let marks = (0..compared.comparison.waters.len())
            .map(|water| if above(water) { "above usual!  " } else { "" });
        lines.push(std::iter::once("  whole train".to_string()).chain(marks.map(str::to_string)).collect());
    }
    lines
}

fn faulty(compared: &Compared, candidate: usize, variant: Variant) -> String {
    let waters = 0..compared.comparison.waters.len();
    let why = compared.outcome(candidate, variant).and_then(|outcome| {
        let reasons: Option<Vec<&Unknown>> = outcome.waters.iter().map(|case| case.as_ref().err()).collect();
        reasons.and_then(|reasons| reasons.first().map(|why| words::reason(why)))
    });
    if let Some(why) = why {
        return paragraph("    ", &sentence(&format!("{why}.")));
    }
    let mut lines = Vec::new();
    for row in rows::WHEN_FAULTY {
        let figures: Vec<Figure> =
            waters.clone().map(|w| compared.figure(candidate, variant, w, &row)).collect();
        lines.extend(line(&row, &figures, compared.worst_water(candidate, variant, &row)));
    }
    columns(&[], &lines)
}

fn against_first(compared: &Compared) -> String {
    let first = compared.comparison.candidates.first().map_or("", |one| one.name.as_str());
    let mut out = format!("\nWhat the others add to {first}\n");
    out.push_str(&paragraph("  ", "Differences in the same water. Most of the error is common to all candidates, so they are better known than the figures."));
    for (candidate, named) in compared.comparison.candidates.iter().enumerate().skip(1) {
        let mut lines = Vec::new();
        for row in rows::DIFFERENCES {
            let mut cells = vec![format!("{}, {}", sentence(row.words), row.unit)];
            for water in 0..compared.comparison.waters.len() {
                cells.push(match compared.against_first(candidate, water, &row) {
                    Ok((difference, share)) => signed(row.factor * difference, share),
                    Err(_) => "not known".to_string(),
                });
            }
            lines.push(cells);
        }
        out.push_str(&format!("  {}. {}\n", candidate + 1, named.name));
        out.push_str(&columns(&water_names(compared), &lines));
    }
    out
}

/// "+41.2 (+62 %)".
fn signed(difference: f64, share: Option<f64>) -> String {
    let digits = if 9.95 <= difference.abs() { 0 } else { 1 };
    let share = share.map_or(String::new(), |share| format!(" ({:+.0} %)", 100.0 * share));
    format!("{difference:+.digits$}{share}")
}

/// Cost and consumables, one column for each candidate.
fn year(compared: &Compared) -> String {
    let candidates = &compared.comparison.candidates;
    let names: Vec<String> = candidates.iter().map(|one| one.name.clone()).collect();
    let currency = &compared.comparison.currency;
    let mut out = "\nPurchase and year\n".to_string();
    let lines: Vec<Vec<String>> = rows_of_year(compared)
        .into_iter()
        .map(|(words, figures)| {
            let cells = figures.iter().map(|figure| match figure {
                Ok(text) => text.clone(),
                Err(why) if why.is_empty() => "–".to_string(),
                Err(_) => "not known".to_string(),
            });
            std::iter::once(words).chain(cells).collect()
        })
        .collect();
    out.push_str(&columns(&names, &lines));
    let mut reasons: Vec<String> = Vec::new();
    for (words, figures) in rows_of_year(compared) {
        for why in figures.iter().filter_map(|figure| figure.as_ref().err()) {
            let text = format!("{words}: {why}.");
            if !why.is_empty() && !reasons.contains(&text) {
                reasons.push(text);
            }
        }
    }
    out.push_str(&list(&reasons.iter().map(String::as_str).collect::<Vec<_>>()));
    if !currency.is_empty() {
        out.push_str(&paragraph(
            "  ",
            &format!("Prices in {currency}, as entered. Purchase is not spread over the years."),
        ));
    }
    out
}

/// Words and one text or reason for each candidate.
fn rows_of_year(compared: &Compared) -> Vec<(String, Vec<Result<String, String>>)> {
    let has_meaning = |figures: &[Result<String, String>]| {
        figures.iter().any(|figure| figure.as_ref().err().is_none_or(|why| !why.is_empty()))
    };
    crate::compare::year::ROWS
        .iter()
        .map(|row| {
            let cells = (0..compared.comparison.candidates.len()).map(|candidate| {
                let figure = (row.of)(compared, candidate);
                figure
                    .map(|figure| {
                        let digits = row.digits;
                        match figure.deviation {
                            sd if 0.0 < sd => {
                                let half = format::HALF_95 * sd;
                                format!(
                                    "{} ± {}",
                                    format::number(figure.value, digits),
                                    format::number(half, digits)
                                )
                            }
                            _ => format::number(figure.value, digits),
                        }
                    })
                    .map_err(|why| match why {
                        Unknown::NoMeaning(_) => String::new(),
                        other => words::reason(&other),
                    })
            });
            (row.words.to_string(), cells.collect::<Vec<_>>())
        })
        .filter(|(_, figures)| has_meaning(figures))
        .collect()
}

/// A table with names over its columns, in blocks that fit the width. Names go over several lines; only what no line holds is cut.
fn columns(heads: &[String], lines: &[Vec<String>]) -> String {
    let count = lines.iter().map(Vec::len).max().unwrap_or(1).max(1) - 1;
    let width = |column: usize| {
        let cells = lines.iter().filter_map(|line| line.get(column + 1)).map(|cell| cell.chars().count());
        cells.max().unwrap_or(0).max(HEAD + 2)
    };
    let widths: Vec<usize> = (0..count).map(width).collect();
    let mut out = String::new();
    let mut from = 0;
    while from < count {
        let (mut to, mut used) = (from, 4 + WORDS);
        while to < count && (to == from || used + widths[to] <= WIDTH) {
            used += widths[to];
            to += 1;
        }
        let names: Vec<Vec<String>> = (from..to)
            .map(|column| head(heads.get(column).map_or("", String::as_str), widths[column] - 2))
            .collect();
        let height = names.iter().map(Vec::len).max().unwrap_or(0);
        for at in 0..height {
            let mut text = " ".repeat(4 + WORDS);
            for (name, width) in names.iter().zip(&widths[from..to]) {
                // Names stand on the figures: the last line of each is the lowest.
                let line = (at + name.len()).checked_sub(height).and_then(|at| name.get(at));
                text.push_str(&right(&format!("{}  ", line.map_or("", String::as_str)), *width));
            }
            out.push_str(text.trim_end());
            out.push('\n');
        }
        for line in lines {
            let words = line.first().map_or("", String::as_str);
            let mut text = format!("    {}", left(&cut(words, WORDS), WORDS));
            for (column, width) in widths.iter().enumerate().take(to).skip(from) {
                text.push_str(&right(line.get(column + 1).map_or("", String::as_str), *width));
            }
            out.push_str(text.trim_end());
            out.push('\n');
        }
        from = to;
    }
    out
}

/// A name in lines of so many characters, broken between words.
fn head(name: &str, most: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in name.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= most => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    if HEAD_LINES < lines.len() {
        let rest = lines.split_off(HEAD_LINES - 1).join(" ");
        lines.push(rest);
    }
    lines.iter().map(|line| cut(line, most)).collect()
}

fn cut(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_string();
    }
    let kept: String = text.chars().take(most.saturating_sub(1)).collect();
    format!("{}…", kept.trim_end())
}

fn left(text: &str, width: usize) -> String {
    format!("{text}{}", " ".repeat(width.saturating_sub(text.chars().count())))
}

fn right(text: &str, width: usize) -> String {
    format!("{}{text}", " ".repeat(width.saturating_sub(text.chars().count())))
}
