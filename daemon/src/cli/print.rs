//! Text on the terminal: wrapped paragraphs, lists, tables of plain columns.
//!
//! A reader that closes the pipe early (`| head`) ends the command quietly; any other failure is an error.

use std::io::{ErrorKind, Write};

/// Columns of a line: readable on any terminal, and on a phone held sideways.
pub(super) const WIDTH: usize = 88;

/// Writes the whole text to standard output.
pub(super) fn print(text: &str) -> anyhow::Result<()> {
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() == ErrorKind::BrokenPipe => Ok(()),
        result => Ok(result?),
    }
}

/// Writes JSON, indented, with a line break at its end.
pub(super) fn print_json(value: &serde_json::Value) -> anyhow::Result<()> {
    print(&format!("{}\n", serde_json::to_string_pretty(value)?))
}

/// Writes a document of `publish::sheet` to a file, in place of what is there.
pub(super) fn write_document(
    file: &std::path::Path,
    document: &impl crate::publish::sheet::Document,
) -> anyhow::Result<()> {
    use anyhow::Context as _;
    std::fs::write(file, document.html()?).with_context(|| format!("cannot write {}", file.display()))
}

/// A paragraph; the first line begins with `first`, the others with as many spaces.
pub(super) fn paragraph(first: &str, text: &str) -> String {
    let indent = " ".repeat(first.chars().count());
    let mut out = String::new();
    let mut line = first.to_string();
    let mut empty = true;
    for word in text.split_whitespace() {
        let length = line.chars().count() + usize::from(!empty) + word.chars().count();
        if !empty && WIDTH < length {
            out.push_str(line.trim_end());
            out.push('\n');
            line.clone_from(&indent);
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(word);
        empty = false;
    }
    out.push_str(line.trim_end());
    out.push('\n');
    out
}

/// One paragraph for each text, marked with a hyphen.
pub(super) fn list(texts: &[&str]) -> String {
    texts.iter().map(|text| paragraph("  - ", text)).collect()
}

/// Rows of cells with the columns aligned: the first to the left, the others to the right.
pub(super) fn table(rows: &[Vec<String>]) -> String {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width = |column: usize| {
        rows.iter().filter_map(|row| row.get(column)).map(|cell| cell.chars().count()).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..columns).map(width).collect();
    let mut out = String::new();
    for row in rows {
        let cells: Vec<String> = row
            .iter()
            .zip(&widths)
            .enumerate()
            .map(|(column, (cell, width))| {
                let pad = " ".repeat(width - cell.chars().count());
                if column == 0 { format!("{cell}{pad}") } else { format!("{pad}{cell}") }
            })
            .collect();
        out.push_str("  ");
        out.push_str(cells.join("  ").trim_end());
        out.push('\n');
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_between_words_at_the_width_and_not_before() {
        let text = format!("{} b", "a".repeat(WIDTH - 2));
        assert_eq!(paragraph("", &text).lines().count(), 1);
        let text = format!("{} b", "a".repeat(WIDTH - 1));
        assert_eq!(paragraph("", &text).lines().count(), 2);
        assert_eq!(paragraph("  - ", "one"), "  - one\n");
        assert!(paragraph("- ", &"word ".repeat(60)).lines().skip(1).all(|line| line.starts_with("  word")));
    }

    #[test]
    fn columns_are_aligned_also_with_signs_of_two_bytes() {
        let rows = vec![vec!["°C".to_string(), "1".to_string()], vec!["abc".to_string(), "22".to_string()]];
        assert_eq!(table(&rows), "  °C    1\n  abc  22\n");
    }
}
