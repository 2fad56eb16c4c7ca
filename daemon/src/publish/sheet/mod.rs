//! Documents that a person prints, mails or pins up: one self-contained HTML file each.
//!
//! All extend `dashboards/sheet_base.html`, which puts `sheet.css` into the file: no script, no picture and no style from elsewhere, black on white, A4 and US
//! letter, readable on a phone. Each document is a struct with an `askama` template; everything in it is escaped. What is written in them is
//! made by the caller: nothing is computed or judged here, and rendering does not fail on any text.
//!
//! To add one: a struct with a field `frame: Frame` and `#[derive(Template)]`, a template `dashboards/sheet_NAME.html` that begins with
//! `{% extends "sheet_base.html" %}` and fills the blocks `main`, `foot` (remarks above the last line) and, if it must, `style`.

pub mod acceptance;
pub mod card;
pub mod handover;

use super::format;
use barrico_model::WallMs;

/// What stands around every document.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Frame {
    /// What it is, such as "What to expect".
    pub title: String,
    /// Whose: boat and unit, or the client.
    pub whose: String,
    /// One or two sentences under the title.
    pub about: String,
    /// When it was made.
    pub made: String,
    /// Version of the program.
    pub version: &'static str,
}

impl Frame {
    /// A frame, made at a date; `None`: the computer's date is not trusted.
    pub fn new(title: &str, whose: &str, about: &str, made: Option<WallMs>) -> Self {
        Self {
            title: title.to_owned(),
            whose: whose.to_owned(),
            about: about.to_owned(),
            made: made.map_or_else(
                || "at an unknown date".to_owned(),
                |at| format!("on {}", format::date_time(at, None)),
            ),
            version: env!("CARGO_PKG_VERSION"),
        }
    }
}

/// A document as the text of its file.
pub trait Document {
    /// The file.
    ///
    /// # Errors
    /// None of ours: what the library's formatting would report.
    fn html(&self) -> Result<String, std::fmt::Error>;
}

impl<T: askama::Template> Document for T {
    fn html(&self) -> Result<String, std::fmt::Error> {
        self.render().map_err(|_| std::fmt::Error)
    }
}

/// Boat and unit as one name, without saying the same word twice.
pub fn whose(boat: &str, unit: &str) -> String {
    match (boat, unit) {
        (boat, "") => boat.to_owned(),
        ("", unit) => unit.to_owned(),
        (boat, unit) if boat == unit => boat.to_owned(),
        (boat, unit) => format!("{boat}, {unit}"),
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use askama::Template;

    /// Fails if the document asks for anything outside itself, or holds a script.
    pub(crate) fn assert_self_contained(html: &str) {
        for outside in ["src=", "href=", "url(", "@import", "http:", "https:", "<script", "<link"] {
            assert!(!html.contains(outside), "`{outside}` in a document that must stand alone");
        }
        assert!(html.contains("<style>") && html.contains("@media print"), "the style is inside");
        assert!(html.contains("lang=\"en\"") && html.contains("name=\"viewport\""));
    }

    #[derive(Template)]
    #[template(
        source = r#"{% extends "sheet_base.html" %}{% block main %}<p>{{ text }}</p>{% endblock %}"#,
        ext = "html"
    )]
    struct Plain {
        frame: Frame,
        text: String,
    }

    #[test]
    fn a_document_stands_alone_and_escapes_every_name() {
        let frame = Frame::new("A <b>title", &whose("Calm & Co", "Main"), "About.", Some(1_772_546_712_000));
        let html = Plain { frame, text: "<script>alert(1)</script>".to_owned() }.render().expect("renders");
        assert_self_contained(&html);
        assert!(html.contains("Calm &#38; Co, Main") && html.contains("A &#60;b&#62;title"), "{html}");
        assert!(html.contains("Made on 3 Mar 2026 14:05 UTC by barrico"), "{html}");
    }

    #[test]
    fn a_name_is_not_said_twice() {
        assert_eq!(whose("Calm", "Calm"), "Calm");
        assert_eq!(whose("", "Main"), "Main");
        assert_eq!(whose("Calm", "Main"), "Calm, Main");
    }
}
