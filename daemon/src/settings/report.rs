//! The report of what is wrong with the settings: plain text, each problem with key, line, caret and remedy.
//!
//! Lines that hold a secret are blotted out before anything is drawn: the report ends up in logs and in messages to others.

use super::problem::{Problem, Problems};
use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use std::ops::Range;

pub(super) fn render(problems: &Problems) -> String {
    let mut text = String::new();
    for problem in &problems.list {
        text.push_str(&one(problem, problems));
        text.push_str("\n\n");
    }
    let count = problems.count();
    let noun = if count == 1 { "problem" } else { "problems" };
    text.push_str(&format!("{count} {noun} in {}\n", problems.file_name));
    text
}

fn one(problem: &Problem, problems: &Problems) -> String {
    let title = if problem.key.is_empty() {
        problem.message.clone()
    } else {
        format!("{}: {}", problem.key, problem.message)
    };
    let mut group = Group::with_title(Level::ERROR.primary_title(title));
    if let Some(span) = &problem.span {
        let mut snippet = Snippet::source(problems.source.as_str())
            .path(problems.file_name.as_str())
            .annotation(AnnotationKind::Primary.span(inside(span, &problems.source)));
        if let Some((also, why)) = &problem.also {
            let label = why.as_str();
            snippet =
                snippet.annotation(AnnotationKind::Context.span(inside(also, &problems.source)).label(label));
        }
        group = group.element(snippet);
    }
    let group = group.element(Level::HELP.message(problem.help.as_str()));
    Renderer::plain().render(&[group])
}

/// The span kept within the source and on the borders of characters: a damaged file must not stop the report.
fn inside(span: &Range<usize>, source: &str) -> Range<usize> {
    let start = floor(source, span.start.min(source.len()));
    let end = floor(source, span.end.min(source.len())).max(start);
    start..end
}

fn floor(source: &str, mut at: usize) -> usize {
    while !source.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// Does this key hold a secret itself? A key that names a file with one does not.
pub(super) fn is_secret_key(key: &str) -> bool {
    const WORDS: &[&str] = &["password", "passwd", "passphrase", "secret", "token", "api_key", "apikey"];
    let key = key.to_lowercase();
    WORDS.iter().any(|word| key.contains(word)) && !key.ends_with("_file")
}

/// The file with the values of secret keys blotted out, at the same length, so that positions stay.
///
/// Goes by lines, so that it works for a file that is no TOML; `spans` are values found by reading it as TOML, which may go over
/// several lines.
pub(super) fn blot_secrets(text: &str, spans: &[Range<usize>]) -> String {
    let mut bytes = text.as_bytes().to_vec();
    let mut blot = |range: Range<usize>| {
        for byte in bytes.iter_mut().take(range.end).skip(range.start) {
            if *byte != b'\n' && *byte != b'\r' {
                *byte = b'*';
            }
        }
    };
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        if let Some((key, _)) = line.split_once('=').filter(|(key, _)| is_secret_key(key.trim())) {
            blot(start + key.len() + 1..start + line.len());
        }
        start += line.len();
    }
    for span in spans {
        blot(span.clone());
    }
    // Whole lines and whole TOML values were replaced by ASCII, so this holds; if it did not, nothing is shown rather than a secret.
    String::from_utf8(bytes).unwrap_or_default()
}
