//! From page model to HTML: whole pages and the parts that the script replaces.

use super::assets::short_hash;
use super::doors::Access;
use super::hand_log::LogForm;
use super::site::Site;
use super::templates::{
    BoatPart, FindingsPart, Frame, NowPart, PageTemplate, ReadingsPart, RunsPart, UnitParts,
};
use crate::engine::view::View;
use crate::publish::page;
use askama::Template;
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Response};
use std::collections::BTreeMap;

/// Parts of a unit that change on their own.
const UNIT_PARTS: [&str; 4] = ["now", "findings", "readings", "runs"];

/// Renders a template; a template that fails is a plain 500.
pub(super) fn html(status: StatusCode, template: &impl Template) -> Response {
    match template.render() {
        Ok(text) => (status, Html(text)).into_response(),
        Err(why) => {
            tracing::error!(%why, "page not rendered");
            (StatusCode::INTERNAL_SERVER_ERROR, "The page could not be made.").into_response()
        }
    }
}

fn text(template: &impl Template) -> String {
    template.render().unwrap_or_else(|why| {
        tracing::error!(%why, "part of the page not rendered");
        "<p class=\"trouble\">This part of the page could not be made.</p>".to_string()
    })
}

/// The main page. `forms`: those with something typed; the other units get empty ones.
pub(super) fn main_page(
    site: &Site,
    access: &Access,
    notices: Vec<String>,
    forms: Vec<LogForm>,
) -> PageTemplate {
    let view = site.view();
    let boat = page::Boat::new(&view);
    let mut forms = forms;
    let units = boat.units.iter().map(|unit| {
        let typed = forms.iter().position(|form| form.unit == unit.id).map(|at| forms.swap_remove(at));
        let part = |name: &str| {
            wrapped(
                site,
                &format!("{}/{name}", unit.id),
                unit_part(unit, name, &access.token),
                &unit_part(unit, name, ""),
            )
        };
        UnitParts {
            name: unit.name.clone(),
            now: part("now"),
            findings: part("findings"),
            readings: part("readings"),
            runs: part("runs"),
            form: typed.unwrap_or_else(|| LogForm::empty(&site.settings, &unit.id)),
        }
    });
    let units = units.collect();
    let boat_text = text(&BoatPart { trouble: &boat.trouble });
    PageTemplate {
        boat_part: wrapped(site, "boat", boat_text.clone(), &boat_text),
        frame: Frame::new(&boat.name, access),
        made: boat.made,
        notices,
        units,
    }
}

/// A part in the element that the script knows it by. `bare` is the part without anybody's token.
fn wrapped(site: &Site, name: &str, html: String, bare: &str) -> String {
    format!("<div data-part=\"{name}\" data-version=\"{}\">{html}</div>", version(site, bare))
}

/// Changes with the content, and with every start of the program, after which tokens are others.
fn version(site: &Site, bare: &str) -> String {
    short_hash(&(bare, &site.token))
}

fn unit_part(unit: &page::Unit, name: &str, token: &str) -> String {
    with_units_kept(&match name {
        "now" => text(&NowPart { unit }),
        "findings" => text(&FindingsPart { unit, token }),
        "readings" => text(&ReadingsPart { unit }),
        _ => text(&RunsPart { unit }),
    })
}

/// No line breaks between a number and its unit.
fn with_units_kept(html: &str) -> String {
    const UNITS: [&str; 8] = ["L/h", "µS/cm", "bar", "°C", "g/kg", "%", "UTC", "±"];
    let mut kept = String::with_capacity(html.len() + 256);
    let mut after_digit = false;
    for (at, c) in html.char_indices() {
        if c == ' ' && after_digit && UNITS.iter().any(|unit| html[at + 1..].starts_with(unit)) {
            kept.push_str("&nbsp;");
        } else {
            kept.push(c);
        }
        after_digit = c.is_ascii_digit();
    }
    kept
}

/// One part for the script; `None` if there is no such part.
pub(super) fn part(view: &View, name: &str, access: &Access) -> Option<String> {
    let boat = page::Boat::new(view);
    if name == "boat" {
        return Some(text(&BoatPart { trouble: &boat.trouble }));
    }
    let (unit, part) = name.split_once('/')?;
    let unit = boat.units.iter().find(|known| known.id == unit)?;
    UNIT_PARTS.contains(&part).then(|| unit_part(unit, part, &access.token))
}

/// Version of every part.
pub(super) fn versions(site: &Site, view: &View) -> BTreeMap<String, String> {
    let boat = page::Boat::new(view);
    let mut versions = BTreeMap::new();
    versions.insert("boat".to_string(), version(site, &text(&BoatPart { trouble: &boat.trouble })));
    for unit in &boat.units {
        for name in UNIT_PARTS {
            versions.insert(format!("{}/{name}", unit.id), version(site, &unit_part(unit, name, "")));
        }
    }
    versions
}
