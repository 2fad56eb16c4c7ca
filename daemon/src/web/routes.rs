//! Every address of the page and what answers there.

use super::doors::{Access, Peer, guard};
use super::hand_log::{self, LogForm};
use super::limits::{BODY_BYTES_MAX, LOG_ENTRIES_MAX, PASSWORD_CHARS_MAX};
use super::notices::Seen;
use super::posted::{Fields, Posted};
use super::render::{html, main_page, part};
use super::session::SignIn;
use super::site::Site;
use super::templates::{
    ExplainTemplate, Frame, LogLine, LogTemplate, LoginTemplate, MessageTemplate, UnitLog,
};
use super::{assets, events};
use crate::engine::{Command, Reply};
use crate::publish::{format, json, metrics, words};
use axum::extract::{DefaultBodyLimit, Path, Query, State};
use axum::http::StatusCode;
use axum::http::header::{CONTENT_TYPE, SET_COOKIE};
use axum::response::{Html, IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use axum::{Extension, Json, Router, middleware};
use barrico_model::findings::registry;
use barrico_model::records::{LogBody, LogEntry};
use barrico_model::{Quantity, WallMs};
use std::collections::BTreeMap;
use std::net::{IpAddr, Ipv4Addr};
use std::sync::Arc;

type Shared = State<Arc<Site>>;

/// All routes behind the doors. Only `post` routes change anything.
pub(super) fn router(site: Arc<Site>) -> Router {
    Router::new()
        .route("/", get(index))
        .route("/part/{*name}", get(page_part))
        .route("/log", get(log).post(write_log))
        .route("/acknowledge", post(acknowledge))
        .route("/explain/{code}", get(explain))
        .route("/api/state.json", get(state_json))
        .route("/api/events", get(events::events))
        .route("/metrics", get(metrics_text))
        .route("/login", get(login).post(sign_in))
        .route("/logout", post(sign_out))
        .route("/style.css", get(assets::style))
        .route("/live.js", get(assets::script))
        .route("/favicon.ico", get(async || StatusCode::NO_CONTENT))
        .fallback(nothing_here)
        .layer(DefaultBodyLimit::max(BODY_BYTES_MAX))
        .layer(middleware::from_fn_with_state(Arc::clone(&site), guard))
        .with_state(site)
}

async fn index(
    State(site): Shared,
    Extension(access): Extension<Access>,
    Query(query): Query<BTreeMap<String, String>>,
) -> Response {
    let notices = query.get("notice").map_or_else(Vec::new, |name| site.notices.texts(name));
    html(StatusCode::OK, &main_page(&site, &access, notices, Vec::new()))
}

async fn page_part(
    State(site): Shared,
    Extension(access): Extension<Access>,
    Path(name): Path<String>,
) -> Response {
    match part(&site.view(), &name, &access) {
        Some(text) => Html(text).into_response(),
        None => (StatusCode::NOT_FOUND, "There is no such part of the page.").into_response(),
    }
}

async fn state_json(State(site): Shared) -> Response {
    Json(json::state(&site.view())).into_response()
}

async fn metrics_text(State(site): Shared) -> Response {
    ([(CONTENT_TYPE, metrics::CONTENT_TYPE)], metrics::text(&site.view())).into_response()
}

async fn nothing_here(State(site): Shared, Extension(access): Extension<Access>) -> Response {
    message(&site, &access, StatusCode::NOT_FOUND, "Nothing here", "There is no page at this address.")
}

fn message(site: &Site, access: &Access, status: StatusCode, title: &str, text: &str) -> Response {
    let frame = Frame::new(&site.view().boat, access);
    html(status, &MessageTemplate { frame, title: title.to_string(), text: text.to_string() })
}

const RESTARTED: &str = "This page was from before barrico's last start, or from before you signed in, so nothing was done. Please send it once more.";

async fn write_log(State(site): Shared, Extension(access): Extension<Access>, posted: Posted) -> Response {
    let again =
        |status: StatusCode, form: LogForm| html(status, &main_page(&site, &access, Vec::new(), vec![form]));
    let fields = match posted {
        Posted::Genuine(fields) => fields,
        Posted::WrongToken(fields) => {
            let mut form = LogForm::filled(&site.settings, fields.get("unit"), &fields);
            form.errors.push(RESTARTED.to_string());
            return again(StatusCode::FORBIDDEN, form);
        }
    };
    let unit = fields.get("unit").to_string();
    let view = site.view();
    if !view.units.iter().any(|known| known.id == unit) {
        return message(
            &site,
            &access,
            StatusCode::NOT_FOUND,
            "No such unit",
            "The form is for a unit that is not aboard.",
        );
    }
    let command = match hand_log::read(&unit, &fields, &site.settings, view.wall_ms) {
        Ok(command) => command,
        Err(form) => return again(StatusCode::UNPROCESSABLE_ENTITY, *form),
    };
    let number = match site.notices.take(&fields.0) {
        Seen::New(number) => number,
        Seen::Answered(notice) => return Redirect::to(&format!("/?notice={notice}#made")).into_response(),
        Seen::Pending => {
            let notice = "This form is already being written. Look at the log in a moment.";
            return Redirect::to(&format!(
                "/?notice={}#made",
                site.notices.keep(vec![notice.to_string()], None)
            ))
            .into_response();
        }
    };
    match site.commands.send(command).await {
        Reply::Written { entries, remarks, .. } => {
            let notice = site.notices.keep(written(&entries, &remarks), Some(number));
            Redirect::to(&format!("/?notice={notice}#made")).into_response()
        }
        other => {
            site.notices.forget(number);
            let mut form = LogForm::filled(&site.settings, &unit, &fields);
            form.errors.push(refusal(other));
            again(StatusCode::CONFLICT, form)
        }
    }
}

fn written(entries: &[u64], remarks: &[String]) -> Vec<String> {
    let numbers: Vec<String> = entries.iter().map(u64::to_string).collect();
    let plural = if entries.len() == 1 { "entry" } else { "entries" };
    let mut texts = vec![format!("Written down as log {plural} {}.", numbers.join(", "))];
    texts.extend(remarks.iter().map(|remark| words::with_stop(&words::sentence(remark))));
    texts
}

fn refusal(reply: Reply) -> String {
    match reply {
        Reply::Refused(why) => words::with_stop(&words::sentence(&why)),
        _ => "barrico gave an answer that does not fit. Look at the log before you try again.".to_string(),
    }
}

async fn acknowledge(State(site): Shared, Extension(access): Extension<Access>, posted: Posted) -> Response {
    let fields = match posted {
        Posted::Genuine(fields) => fields,
        Posted::WrongToken(_) => {
            return message(&site, &access, StatusCode::FORBIDDEN, "Not done", RESTARTED);
        }
    };
    let Some(command) = acknowledgement(&site, &fields, &access) else {
        let text = "This finding is not there any more, so there is nothing to acknowledge.";
        return message(&site, &access, StatusCode::NOT_FOUND, "Not done", text);
    };
    match site.commands.send(command).await {
        Reply::Refused(why) => {
            let text = words::with_stop(&words::sentence(&why));
            message(&site, &access, StatusCode::CONFLICT, "Not done", &text)
        }
        _ => {
            let notice = site.notices.keep(vec!["Noted that you have seen it.".to_string()], None);
            Redirect::to(&format!("/?notice={notice}#made")).into_response()
        }
    }
}

fn acknowledgement(site: &Site, fields: &Fields, access: &Access) -> Option<Command> {
    let view = site.view();
    let unit = view.units.iter().find(|unit| unit.id == fields.get("unit"))?;
    let number: u8 = fields.get("code").parse().ok()?;
    let about = match fields.get("about") {
        "" => None,
        name => Some(Quantity::from_name(name)?),
    };
    let occurrence = fields.get("occurrence").parse().ok()?;
    let alert =
        unit.findings.iter().map(|(alert, _)| alert).find(|a| a.code as u8 == number && a.about == about)?;
    let by = if access.signed_in { "somebody signed in at the page" } else { "somebody at the page" };
    Some(Command::Acknowledge {
        unit: unit.id.clone(),
        code: alert.code,
        about,
        occurrence,
        by: by.to_string(),
    })
}

async fn explain(
    State(site): Shared,
    Extension(access): Extension<Access>,
    Path(name): Path<String>,
) -> Response {
    match registry::by_name(&name) {
        Some(text) => {
            html(StatusCode::OK, &ExplainTemplate { frame: Frame::new(&site.view().boat, &access), text })
        }
        None => {
            message(&site, &access, StatusCode::NOT_FOUND, "No such finding", "No finding has this name.")
        }
    }
}

async fn log(State(site): Shared, Extension(access): Extension<Access>) -> Response {
    let view = site.view();
    let mut units = Vec::new();
    for unit in &view.units {
        let reply =
            site.commands.send(Command::ListLog { unit: unit.id.clone(), last: LOG_ENTRIES_MAX }).await;
        let (entries, problem) = match reply {
            Reply::Log(entries) => {
                (entries.iter().rev().map(|entry| log_line(entry, view.wall_ms)).collect(), None)
            }
            Reply::Refused(why) => (Vec::new(), Some(words::with_stop(&words::sentence(&why)))),
            _ => (Vec::new(), Some("The log could not be read. Load the page again.".to_string())),
        };
        let name = if unit.name.is_empty() { unit.id.clone() } else { unit.name.clone() };
        units.push(UnitLog { name, problem, shown_max: LOG_ENTRIES_MAX, entries });
    }
    html(StatusCode::OK, &LogTemplate { frame: Frame::new(&view.boat, &access), units })
}

fn log_line(entry: &LogEntry, now: Option<WallMs>) -> LogLine {
    let text = match &entry.body {
        LogBody::Event(kind) => words::sentence(&words::event_with_elements(*kind, &entry.elements)),
        LogBody::Readings(readings) => {
            let each: Vec<String> =
                readings.iter().map(|r| format!("{} {}", r.quantity.label(), r.typed)).collect();
            words::sentence(&each.join("; "))
        }
    };
    let at = match entry.at.wall_ms {
        Some(at) if entry.time_invented => format!("{} (invented)", format::date_time(at, now)),
        Some(at) => format::date_time(at, now),
        None => "date unknown".to_string(),
    };
    LogLine {
        id: entry.id,
        revision: entry.revision,
        at,
        by: entry.by.clone(),
        text,
        note: entry.note.clone(),
        reason: entry.reason.clone(),
        voided: entry.voided,
    }
}

async fn login(State(site): Shared, Extension(access): Extension<Access>) -> Response {
    if access.open {
        return Redirect::to("/").into_response();
    }
    // The boat's name is for those who are in.
    let _ = site;
    html(StatusCode::OK, &LoginTemplate { frame: Frame::new("", &access), problem: None })
}

async fn sign_in(
    State(site): Shared,
    Extension(access): Extension<Access>,
    peer: Option<Extension<Peer>>,
    posted: Posted,
) -> Response {
    let again = |status: StatusCode, problem: &'static str| {
        html(status, &LoginTemplate { frame: Frame::new("", &access), problem: Some(problem) })
    };
    let Some(sessions) = &site.sessions else { return Redirect::to("/").into_response() };
    let Posted::Genuine(fields) = posted else {
        return again(StatusCode::FORBIDDEN, "This page was too old. Please try once more.");
    };
    let password =
        fields.0.iter().find(|(name, _)| name == "password").map_or("", |(_, value)| value.as_str());
    if PASSWORD_CHARS_MAX < password.chars().count() {
        return again(StatusCode::FORBIDDEN, "This is not the password.");
    }
    let from = peer.map_or(IpAddr::V4(Ipv4Addr::UNSPECIFIED), |Extension(peer)| peer.remote.ip());
    match sessions.sign_in(password.to_string(), from).await {
        SignIn::Welcome(cookie) => ([(SET_COOKIE, cookie)], Redirect::to("/")).into_response(),
        SignIn::Wrong => again(StatusCode::FORBIDDEN, "This is not the password."),
        SignIn::Wait => again(StatusCode::TOO_MANY_REQUESTS, "Too many tries. Wait a minute."),
        SignIn::Failed => again(
            StatusCode::INTERNAL_SERVER_ERROR,
            "The boat computer has no random numbers; nobody can sign in.",
        ),
    }
}

async fn sign_out(State(site): Shared, Extension(access): Extension<Access>, posted: Posted) -> Response {
    match (posted, &site.sessions) {
        (Posted::Genuine(_), Some(sessions)) => {
            ([(SET_COOKIE, sessions.sign_out(&access.token))], Redirect::to("/login")).into_response()
        }
        _ => message(&site, &access, StatusCode::FORBIDDEN, "Not done", RESTARTED),
    }
}
