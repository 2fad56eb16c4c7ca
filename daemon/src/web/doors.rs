//! Who may come in: Host names, Origin of posts, response headers.
//!
//! The Host list stops pages elsewhere from reaching this one under a name of their own (DNS rebinding). The Origin check stops
//! them from posting forms into it (cross-site request forgery). The content policy stops a name from the bus that slipped through the
//! escaping from becoming a program.

use super::site::Site;
use axum::extract::{Request, State};
use axum::http::header::{
    CACHE_CONTROL, CONTENT_SECURITY_POLICY, COOKIE, HOST, ORIGIN, REFERER, REFERRER_POLICY,
    X_CONTENT_TYPE_OPTIONS, X_FRAME_OPTIONS,
};
use axum::http::uri::Authority;
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;

/// Both ends of the connection that a request came by.
#[derive(Clone, Copy, Debug)]
pub(super) struct Peer {
    pub remote: SocketAddr,
    pub local: SocketAddr,
}

/// What the doors found out about a request.
#[derive(Clone, Debug)]
pub(super) struct Access {
    /// Token that forms of this visitor carry.
    pub token: String,
    /// Signed in with the password.
    pub signed_in: bool,
    /// May see the pages: signed in, or no password is needed.
    pub open: bool,
}

const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; connect-src 'self'; form-action 'self'; \
                      frame-ancestors 'none'; base-uri 'none'";

/// Names under which the page may be asked for.
pub(super) struct HostList {
    listen: SocketAddr,
    /// Name and, if the settings name one, port.
    names: Vec<(String, Option<u16>)>,
}

impl HostList {
    /// `listen`: where the server listens. `names`: from the settings, with or without port.
    pub fn new(listen: SocketAddr, names: &[String]) -> Self {
        let names = names.iter().filter_map(|name| {
            let authority: Authority = name.trim().parse().ok()?;
            Some((bare(authority.host()), authority.port_u16()))
        });
        Self { listen, names: names.collect() }
    }

    /// Is this the page's own name? `local` is our end of the connection: asking by the address that the connection came to is always
    /// right, since no name is involved.
    pub fn allows(&self, asked: &Authority, local: Option<SocketAddr>) -> bool {
        let host = bare(asked.host());
        let port_is_ours = asked.port_u16().unwrap_or(80) == self.listen.port();
        let ip: Option<IpAddr> = host.parse().ok();
        let ours = match ip {
            Some(ip) => {
                let canonical = ip.to_canonical();
                canonical == self.listen.ip().to_canonical()
                    || (canonical.is_loopback()
                        && (self.listen.ip().is_loopback() || self.listen.ip().is_unspecified()))
                    || local.is_some_and(|local| local.ip().to_canonical() == canonical)
            }
            None => host == "localhost",
        };
        // A proxy in front may listen on a port of its own, so a configured name without port is good for any.
        (ours && port_is_ours && !ip.is_some_and(|ip| ip.is_unspecified()))
            || self
                .names
                .iter()
                .any(|(name, port)| *name == host && port.is_none_or(|port| asked.port_u16() == Some(port)))
    }
}

/// Lower case, without brackets and without a dot at the end.
fn bare(host: &str) -> String {
    host.trim_start_matches('[').trim_end_matches(']').trim_end_matches('.').to_ascii_lowercase()
}

/// Does the request say by Origin, or for old browsers by Referer, that it comes from a page of this very host?
fn is_from_own_page(headers: &HeaderMap, host: &Authority) -> bool {
    let from = headers.get(ORIGIN).or_else(|| headers.get(REFERER)).and_then(|value| value.to_str().ok());
    let Some(from) = from else { return false };
    let Some(rest) = from.strip_prefix("http://").or_else(|| from.strip_prefix("https://")) else {
        return false;
    };
    let authority = rest.split(['/', '?', '#']).next().unwrap_or("");
    authority.eq_ignore_ascii_case(host.as_str())
}

/// The one middleware: every request passes it, every response is hardened by it.
pub(super) async fn guard(State(site): State<Arc<Site>>, request: Request, next: Next) -> Response {
    let mut response = match admit(&site, request) {
        Ok(request) => next.run(request).await,
        Err(refusal) => *refusal,
    };
    harden(response.headers_mut());
    response
}

fn admit(site: &Site, mut request: Request) -> Result<Request, Box<Response>> {
    let host = asked_host(&request)
        .ok_or_else(|| refuse(StatusCode::BAD_REQUEST, "The request names no host, or several."))?;
    let local = request.extensions().get::<Peer>().map(|peer| peer.local);
    if !site.hosts.allows(&host, local) {
        let text = "This page is not served under this name. Ask by its address, or add the name to `hosts` in the `[page]` part of the settings.";
        return Err(refuse(StatusCode::MISDIRECTED_REQUEST, text));
    }
    let only_reads = matches!(*request.method(), Method::GET | Method::HEAD);
    if !only_reads && !is_from_own_page(request.headers(), &host) {
        return Err(refuse(
            StatusCode::FORBIDDEN,
            "This form did not come from this page, so nothing was done.",
        ));
    }
    let access = access(site, request.headers());
    let public = matches!(request.uri().path(), "/login" | "/style.css" | "/live.js" | "/favicon.ico");
    if !access.open && !public {
        return Err(Box::new(ask_to_sign_in(&request)));
    }
    request.extensions_mut().insert(access);
    Ok(request)
}

fn refuse(status: StatusCode, text: &'static str) -> Box<Response> {
    Box::new((status, text).into_response())
}

/// The host that the request asks for: the one Host header, and in an absolute address the same once more.
fn asked_host(request: &Request) -> Option<Authority> {
    let mut headers = request.headers().get_all(HOST).iter();
    let header: Authority = headers.next()?.to_str().ok()?.parse().ok()?;
    let one = headers.next().is_none();
    let same = request
        .uri()
        .authority()
        .is_none_or(|authority| authority.as_str().eq_ignore_ascii_case(header.as_str()));
    (one && same && !header.as_str().contains('@')).then_some(header)
}

fn access(site: &Site, headers: &HeaderMap) -> Access {
    let Some(sessions) = &site.sessions else {
        return Access { token: site.token.clone(), signed_in: false, open: true };
    };
    let cookies = headers.get_all(COOKIE).iter().filter_map(|value| value.to_str().ok());
    match cookies.flat_map(|value| value.split(';')).find_map(|cookie| sessions.token_of(cookie.trim())) {
        Some(token) => Access { token, signed_in: true, open: true },
        None => Access { token: site.token.clone(), signed_in: false, open: false },
    }
}

fn ask_to_sign_in(request: &Request) -> Response {
    let path = request.uri().path();
    let for_programs = path.starts_with("/api/") || path.starts_with("/part/") || path == "/metrics";
    if for_programs || request.method() != Method::GET {
        return (StatusCode::UNAUTHORIZED, "Sign in at /login first.").into_response();
    }
    Redirect::to("/login").into_response()
}

fn harden(headers: &mut HeaderMap) {
    headers.insert(CONTENT_SECURITY_POLICY, HeaderValue::from_static(POLICY));
    headers.insert(X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff"));
    // Old browsers do not know frame-ancestors.
    headers.insert(X_FRAME_OPTIONS, HeaderValue::from_static("DENY"));
    // Our own pages get a Referer from browsers that send no Origin with a form; others get none.
    headers.insert(REFERRER_POLICY, HeaderValue::from_static("same-origin"));
    headers.entry(CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
}
