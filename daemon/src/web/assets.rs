//! Style sheet and script, compiled in.

use axum::http::HeaderValue;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::LazyLock;

const STYLE: &str = include_str!("../../../dashboards/style.css");
const SCRIPT: &str = include_str!("../../../dashboards/live.js");

/// Changes with the content, so that a browser may keep both for a year and still sees a new program's at once.
pub(super) static VERSION: LazyLock<String> = LazyLock::new(|| short_hash(&(STYLE, SCRIPT)));

/// A short text that changes when the value does.
pub(super) fn short_hash(value: &impl Hash) -> String {
    let mut hasher = DefaultHasher::new();
    value.hash(&mut hasher);
    format!("{:016x}", hasher.finish()).chars().take(10).collect()
}

pub(super) async fn style() -> Response {
    asset(STYLE, "text/css; charset=utf-8")
}

pub(super) async fn script() -> Response {
    asset(SCRIPT, "text/javascript; charset=utf-8")
}

fn asset(text: &'static str, kind: &'static str) -> Response {
    let mut response = text.into_response();
    response.headers_mut().insert(CONTENT_TYPE, HeaderValue::from_static(kind));
    response
        .headers_mut()
        .insert(CACHE_CONTROL, HeaderValue::from_static("public, max-age=31536000, immutable"));
    response
}
