//! The command `run`: the daemon.

use crate::control;
use crate::engine::view::View;
use crate::engine::wall_clock::ClockMode;
use crate::engine::{Command, Engine, Input, Options, Reply};
use crate::service::clock::{self, Clock};
use crate::service::engine_thread::EngineThread;
use crate::service::frame_log::FrameLog;
use crate::service::log;
use crate::service::mailbox::{Letter, Mailbox, mailbox};
use crate::settings::{self, Settings};
use crate::sources::can_bus::{CanBus, Wire};
use crate::sources::candump_pipe::{self, Pipe};
use crate::store::{Store, StoreThread};
use crate::web;
use anyhow::Context;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;
use tokio::sync::watch;

/// Options of the command.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// Read bus data as candump text from a pipe instead of the CAN interface of the settings; `-` is standard input: candump -L can0 | barrico run --candump -
    #[arg(long, value_name = "PIPE")]
    candump: Option<PathBuf>,
    /// Write the messages that barrico would put on the bus to a candump log
    #[arg(long, value_name = "FILE")]
    frames: Option<PathBuf>,
    /// Take the computer's date as right. Without this it counts only after it was set from the network; GNSS on the bus counts always
    #[arg(long)]
    trust_system_date: bool,
}

/// Runs it.
pub fn main(settings_file: &Path, arguments: &Arguments) -> anyhow::Result<ExitCode> {
    log::start();
    let settings = Arc::new(settings::load(settings_file)?);
    web::check_page(&settings.page)?;
    let units: Vec<String> = settings.units.iter().map(|unit| unit.id.clone()).collect();
    let mut store = Store::open(&settings.state_folder, &units)?;
    let restored = store.restore(clock::boot_number()?)?;
    for notice in store.take_notices() {
        tracing::warn!("{notice}");
    }
    let listener = std::net::TcpListener::bind(settings.page.bind).with_context(|| {
        format!("the page cannot listen on {}; is barrico running already?", settings.page.bind)
    })?;
    let page = listener.local_addr()?;
    let (mailbox, letters) = mailbox()?;
    let report = mailbox.clone();
    let store = StoreThread::spawn(store, move |input| {
        report.send(Letter::Input(input));
    })?;
    let clock = Clock::start();
    let mut engine =
        Engine::new(settings.clone(), Options { clock: ClockMode::Live, find_units: false, transmit: true });
    let mut out = Vec::new();
    engine.handle(clock.now(), Input::Restored(Box::new(restored)), &mut out);
    let (view_sender, view) = watch::channel(Arc::new(engine.view(clock.now())));
    let frames = arguments.frames.as_deref().map(FrameLog::create).transpose();
    let frames = frames.context("the file for frames cannot be made")?;
    let trust_system_date = arguments.trust_system_date;
    let bus = open_bus(arguments, &settings, &mailbox)?;
    let engine = std::thread::Builder::new().name("engine".to_owned()).spawn(move || {
        let keep = |records| store.submit_all(records);
        EngineThread { engine, clock, letters, keep, view: view_sender, frames, bus, trust_system_date }
            .run(out);
        store.finish()
    })?;
    let control = control::serve(&settings.runtime_folder, hand_over(&mailbox))?;
    tracing::info!("page on http://{page}/");
    serve_page(listener, view, &settings, &mailbox)?;
    tracing::info!("stopping");
    drop(control);
    mailbox.send(Letter::Input(Input::Stop));
    let finished = engine.join().map_err(|_| anyhow::anyhow!("the engine's thread ended by itself"))?;
    if 0 < finished.unwritten {
        tracing::error!(
            "{} records could not be written: {}",
            finished.unwritten,
            finished.trouble.unwrap_or_default()
        );
    }
    Ok(ExitCode::SUCCESS)
}

/// The source of bus data: the pipe of the command line, else the CAN interface of the settings, else none.
fn open_bus(arguments: &Arguments, settings: &Settings, mailbox: &Mailbox) -> anyhow::Result<Option<CanBus>> {
    if let Some(pipe) = &arguments.candump {
        let (pipe, mailbox) = (Pipe::new(pipe), mailbox.clone());
        std::thread::Builder::new()
            .name("candump".to_owned())
            .spawn(move || candump_pipe::read(&pipe, &mailbox))?;
        return Ok(None);
    }
    let Some(bus) = &settings.bus else {
        tracing::info!(
            "no bus is read: readings come by hand; [bus] in the settings names a CAN interface, `barrico run --help` tells of other ways"
        );
        return Ok(None);
    };
    let wire = Wire::Interface(bus.interface.clone());
    Ok(Some(CanBus::new(wire, bus.listen_only)))
}

/// The way from the control socket to the engine: waits for the answer.
fn hand_over(mailbox: &Mailbox) -> impl Fn(Command) -> Option<Reply> + Send + Sync + 'static + use<> {
    let mailbox = mailbox.clone();
    move |command| {
        let (sender, receiver) = std::sync::mpsc::channel();
        let taken = mailbox.command(command, move |reply| {
            // Who asked may have gone away meanwhile.
            let _ = sender.send(reply);
        });
        if taken { receiver.recv_timeout(control::ANSWER_WAIT).ok() } else { None }
    }
}

/// Serves the page until a signal asks to stop.
fn serve_page(
    listener: std::net::TcpListener,
    view: watch::Receiver<Arc<View>>,
    settings: &Arc<Settings>,
    mailbox: &Mailbox,
) -> anyhow::Result<()> {
    let mailbox = mailbox.clone();
    let commands = web::Commands::new(move |command, answer| {
        mailbox.command(command, move |reply| {
            // The browser may have gone away meanwhile.
            let _ = answer.send(reply);
        })
    });
    let app = web::App { view, commands, settings: settings.clone(), secrets: web::Secrets::random()? };
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    runtime.block_on(async {
        use tokio::signal::unix::{SignalKind, signal};
        let mut interrupt = signal(SignalKind::interrupt())?;
        let mut terminate = signal(SignalKind::terminate())?;
        let asked = async move {
            tokio::select! {
                _ = interrupt.recv() => {}
                _ = terminate.recv() => {}
            }
        };
        web::serve(listener, app, asked).await?;
        Ok(())
    })
}
