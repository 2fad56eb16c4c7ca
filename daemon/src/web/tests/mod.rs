//! The page through its routes, without and with a socket.

mod doors;
mod forms;
mod pages;
mod sockets;

use super::commands::Commands;
use super::doors::HostList;
use super::routes::router;
use super::session::Sessions;
use super::site::{App, Secrets, Site};
use crate::engine::view::View;
use crate::engine::{Command, Reply};
use crate::settings::{Boat, Page, Settings};
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{Request, Response, StatusCode};
use std::path::PathBuf;
use std::sync::{Arc, Mutex};
use tokio::sync::watch;
use tower::ServiceExt;

/// The page with a view and an engine that answers as told.
struct Bench {
    router: Router,
    commands: Arc<Mutex<Vec<Command>>>,
    /// Keeps the channel open.
    _view: watch::Sender<Arc<View>>,
    _stop: watch::Sender<bool>,
}

/// What came back.
struct Answer {
    status: StatusCode,
    response: Response<()>,
    text: String,
}

impl Answer {
    fn header(&self, name: &str) -> &str {
        self.response.headers().get(name).map_or("", |value| value.to_str().unwrap())
    }

    /// The token in the first form.
    fn token(&self) -> String {
        let from = self.text.find("name=\"token\" value=\"").expect("a form") + 20;
        self.text[from..].split('"').next().unwrap().to_string()
    }
}

fn page_settings(bind: &str, password_file: Option<PathBuf>) -> Page {
    Page { bind: bind.parse().unwrap(), hosts: vec!["boat.example".to_string()], password_file }
}

fn settings(page: Page) -> Settings {
    Settings {
        boat: Boat { id: "halcyon".to_string(), name: "Halcyon Days".to_string() },
        units: Vec::new(),
        instruments: Vec::new(),
        page,
        bus: None,
        state_folder: PathBuf::new(),
        runtime_folder: PathBuf::new(),
        text: String::new(),
    }
}

fn app(
    view: watch::Receiver<Arc<View>>,
    page: Page,
    commands: &Arc<Mutex<Vec<Command>>>,
    reply: Reply,
) -> App {
    let seen = Arc::clone(commands);
    let commands = Commands::new(move |command, reply_to| {
        seen.lock().unwrap().push(command);
        reply_to.send(reply.clone()).is_ok()
    });
    App { view, commands, settings: Arc::new(settings(page)), secrets: Secrets { form_token: [7; 32] } }
}

impl Bench {
    fn new(view: View) -> Self {
        Self::with(view, page_settings("127.0.0.1:8080", None), Reply::Done)
    }

    fn with(view: View, page: Page, reply: Reply) -> Self {
        let commands = Arc::default();
        let (view_sender, view) = watch::channel(Arc::new(view));
        let (stop, stopping) = watch::channel(false);
        let sessions = Sessions::for_page(&page, page.bind.ip()).unwrap();
        let hosts = HostList::new(page.bind, &page.hosts);
        let site = Site::new(app(view, page, &commands, reply), hosts, sessions, stopping);
        Self { router: router(Arc::new(site)), commands, _view: view_sender, _stop: stop }
    }

    async fn ask(&self, request: Request<Body>) -> Answer {
        let response = self.router.clone().oneshot(request).await.unwrap();
        let (parts, body) = response.into_parts();
        let bytes = to_bytes(body, 1 << 20).await.unwrap();
        let text = String::from_utf8(bytes.to_vec()).unwrap();
        Answer { status: parts.status, response: Response::from_parts(parts, ()), text }
    }

    async fn get(&self, path: &str) -> Answer {
        self.ask(get(path).body(Body::empty()).unwrap()).await
    }

    /// A form from our own page with the right token.
    async fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let token = super::site::hex(&[7; 32]);
        let mut all = vec![("token", token.as_str())];
        all.extend_from_slice(fields);
        self.ask(form(path, &all).header("origin", "http://127.0.0.1:8080").body(body(&all)).unwrap()).await
    }

    fn commands(&self) -> Vec<Command> {
        self.commands.lock().unwrap().clone()
    }
}

fn get(path: &str) -> axum::http::request::Builder {
    Request::get(path).header("host", "127.0.0.1:8080")
}

fn form(path: &str, _fields: &[(&str, &str)]) -> axum::http::request::Builder {
    Request::post(path)
        .header("host", "127.0.0.1:8080")
        .header("content-type", "application/x-www-form-urlencoded")
}

/// Fields as a browser sends them.
fn body(fields: &[(&str, &str)]) -> Body {
    let escape = |text: &str| text.bytes().map(|byte| format!("%{byte:02X}")).collect::<String>();
    let pairs: Vec<String> =
        fields.iter().map(|(name, value)| format!("{}={}", escape(name), escape(value))).collect();
    Body::from(pairs.join("&"))
}
