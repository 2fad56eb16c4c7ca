//! Measures the live path over a socket pair in place of the CAN socket: processor time beside a plain loop, and how fast an alert is out.
//!
//! ```text
//! report_bus measure RECORDING full|tenth SEED    prints the figures
//! report_bus live FOLDER UNITS                    what `barrico run` does, on the socket that is its standard input; its store is slow
//! report_bus plain                                reads and writes frames in a bare loop, as a small C program would
//! ```
//!
//! The measuring process starts itself in the other two roles. Traffic is the recording of boat A paced to 1,900 frames a second, frame by frame; the
//! seed chooses where it begins. Processor time is what the kernel's scheduler counts for all threads of the process (/proc/PID/task/*/schedstat).

#![expect(clippy::print_stdout, reason = "printing is what a report does")]
#![expect(clippy::disallowed_methods, reason = "it measures time")]
#![expect(clippy::unwrap_used, reason = "a report that cannot measure has failed")]

use barrico::engine::wall_clock::ClockMode;
use barrico::engine::{Engine, Input, Options};
use barrico::service::clock::Clock;
use barrico::service::engine_thread::EngineThread;
use barrico::service::mailbox::{Letter, mailbox};
use barrico::settings;
use barrico::sources::can_bus::{CanBus, Wire};
use barrico::store::{Store, StoreThread};
use barrico::web;
use barrico_n2k::candump::{Kind, lines, parse_line};
use barrico_n2k::pgn::{self, Content, OperatingState, WatermakerStatus};
use barrico_n2k::{Assembler, CanId, Frame, split};
use std::collections::BTreeMap;
use std::io::{BufRead, BufReader};
use std::os::fd::{AsFd, OwnedFd};
use std::os::unix::net::UnixDatagram;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, mpsc};
use std::time::{Duration, Instant};

/// Frames a second on a full 250 kbit/s bus: 131 bit times for an 8-byte frame without stuffing.
const RATE: f64 = 1_900.0;
/// The store sleeps so long before each commit.
const SLOW_COMMIT: Duration = Duration::from_millis(500);
/// The units' own senders have the addresses from here on.
const FIRST_SENDER: u8 = 10;
const UNITS: usize = 16;
const STATUS_EVERY: Duration = Duration::from_millis(2_500);
/// The plain loop writes a frame for so many that it reads: what a unit's own status message is on this bus.
const READ_PER_WRITE: u64 = 1_187;

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    match arguments.iter().map(String::as_str).collect::<Vec<_>>()[..] {
        ["measure", recording, share, seed] => measure(recording, share == "tenth", seed.parse().unwrap()),
        ["live", folder, units] => live(Path::new(folder), units.parse().unwrap()),
        ["plain"] => plain(),
        _ => panic!("see the first lines of this program"),
    }
}

fn standard_input() -> OwnedFd {
    std::io::stdin().as_fd().try_clone_to_owned().unwrap()
}

fn plain() {
    let socket = UnixDatagram::from(standard_input());
    let mut bytes = [0; 16];
    let mut read = 0;
    println!("ready");
    while socket.recv(&mut bytes).is_ok_and(|length| length == 16) {
        read += 1;
        if read % READ_PER_WRITE == 0 {
            socket.send(&bytes).unwrap();
        }
    }
}

/// Invented units, round figures.
fn settings_text(folder: &Path, units: usize) -> String {
    let mut text = format!(
        "[boat]\nid = \"trial\"\n[folders]\nstate = \"{0}/state\"\nruntime = \"{0}/run\"\n",
        folder.display()
    );
    for unit in 0..units {
        text += &format!(
            "[units.u{unit}]\npressure_control = \"regulated\"\nset_pressure = \"55 bar\"\n\
             [units.u{unit}.pump]\nkind = \"plunger\"\nflow = \"6 L/min\"\nrated_pressure = \"60 bar\"\n\
             [units.u{unit}.drive]\nkind = \"hydraulic\"\n\
             [[units.u{unit}.elements]]\nsize = \"2540\"\narea = \"2.8 m2\"\nnominal_flow = \"2.6 m3/d\"\nnominal_rejection = \"99.4 %\"\n\
             [units.u{unit}.limits]\nfeed_pressure = \"65 bar\"\n"
        );
        for quantity in ["operating_state", "feed_pressure", "product_flow", "product_salinity"] {
            text += &format!(
                "[[units.u{unit}.readings]]\nquantity = \"{quantity}\"\nfrom = \"nmea2000\"\npgn = 130567\nsender = \"address:{}\"\n",
                usize::from(FIRST_SENDER) + unit
            );
        }
    }
    text
}

fn live(folder: &Path, units: usize) {
    let text = settings_text(folder, units);
    let settings = Arc::new(settings::parse(&text, "report").unwrap_or_else(|problems| panic!("{problems}")));
    let names: Vec<String> = settings.units.iter().map(|unit| unit.id.clone()).collect();
    let store = Store::open(&settings.state_folder, &names).unwrap();
    let restored = store.restore(1).unwrap();
    let (mailbox, letters) = mailbox().unwrap();
    let report = mailbox.clone();
    let store = StoreThread::spawn(store, move |input| {
        report.send(Letter::Input(input));
    })
    .unwrap();
    // What is to be kept reaches the store only after a pause, so that confirmations are always late.
    let (slow, batches) = mpsc::channel::<Vec<_>>();
    std::thread::spawn(move || {
        for batch in batches {
            std::thread::sleep(SLOW_COMMIT);
            store.submit_all(batch);
        }
    });
    let clock = Clock::start();
    let options = Options { clock: ClockMode::Live, find_units: false, transmit: true };
    let mut engine = Engine::new(settings.clone(), options);
    let mut out = Vec::new();
    engine.handle(clock.now(), Input::Restored(Box::new(restored)), &mut out);
    let (view_sender, view) = tokio::sync::watch::channel(Arc::new(engine.view(clock.now())));
    let bus = CanBus::new(Wire::Pair(standard_input()), false);
    std::thread::spawn(move || {
        let keep = |records| {
            slow.send(records).unwrap();
            None
        };
        EngineThread {
            engine,
            clock,
            letters,
            keep,
            view: view_sender,
            frames: None,
            bus: Some(bus),
            trust_system_date: true,
        }
        .run(out);
    });
    // Before its address is claimed a unit says nothing.
    while view.borrow().units.iter().any(|unit| unit.bus_address.is_none()) {
        std::thread::sleep(Duration::from_millis(20));
    }
    let listener = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let commands = web::Commands::new(move |command, answer| {
        mailbox.command(command, move |reply| {
            // Nobody asks here.
            let _ = answer.send(reply);
        })
    });
    let app = web::App { view, commands, settings, secrets: web::Secrets::random().unwrap() };
    println!("ready");
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    runtime.block_on(web::serve(listener, app, std::future::pending())).unwrap();
}

/// A process in another role, with our end of the pair.
struct Peer {
    child: Child,
    socket: UnixDatagram,
    folder: std::path::PathBuf,
}

impl Peer {
    fn start(role: &[&str]) -> Self {
        let (ours, theirs) = UnixDatagram::pair().unwrap();
        let folder = std::env::temp_dir().join(format!("barrico-bus-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&folder);
        std::fs::create_dir_all(&folder).unwrap();
        let place = folder.to_str().unwrap();
        let arguments = role.iter().map(|word| if *word == "FOLDER" { place } else { *word });
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(arguments)
            .stdin(Stdio::from(OwnedFd::from(theirs)))
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
        assert_eq!(line, "ready\n");
        Self { child, socket: ours, folder }
    }

    /// Processor time of all threads so far, s.
    fn cpu_s(&self) -> f64 {
        let tasks = std::fs::read_dir(format!("/proc/{}/task", self.child.id())).unwrap();
        let of_task = |task: std::io::Result<std::fs::DirEntry>| {
            let text = std::fs::read_to_string(task.unwrap().path().join("schedstat")).unwrap();
            text.split(' ').next().unwrap().parse::<f64>().unwrap()
        };
        tasks.map(of_task).sum::<f64>() / 1e9
    }
}

impl Drop for Peer {
    fn drop(&mut self) {
        // It may have ended by itself.
        let _ = self.child.kill();
        let _ = self.child.wait();
        let _ = std::fs::remove_dir_all(&self.folder);
    }
}

/// `struct can_frame` of linux/can.h.
fn raw(frame: &Frame) -> [u8; 16] {
    let mut raw = [0; 16];
    raw[..4].copy_from_slice(&(frame.id | 0x8000_0000).to_ne_bytes());
    raw[4] = frame.len;
    raw[8..].copy_from_slice(&frame.data);
    raw
}

fn status(sender: u8, pressure_bar: f64, sequence: u8) -> Vec<[u8; 16]> {
    let status = WatermakerStatus {
        operating_state: Some(OperatingState::Running),
        system_high_pressure_pa: Some(pressure_bar * 1e5),
        product_water_flow_l_h: Some(80.0),
        ..WatermakerStatus::default()
    };
    let mut payload = Vec::new();
    status.encode(&mut payload);
    let id = CanId { priority: 6, pgn: 130_567, source: sender, destination: 255 };
    split(id, &payload, sequence).unwrap().map(|frame| raw(&frame)).collect()
}

/// Sends the recording at the rate of a full bus until told to stop; a unit's status goes along.
fn pace(socket: &UnixDatagram, traffic: &[[u8; 16]], first: usize, stop: &AtomicBool) -> u64 {
    let begun = Instant::now();
    let (mut sent, mut next_status, mut sequence) = (0_u64, Duration::ZERO, 0);
    while !stop.load(Ordering::Relaxed) {
        let due = Duration::from_secs_f64(sent as f64 / RATE);
        if let Some(early) = due.checked_sub(begun.elapsed()) {
            std::thread::sleep(early);
        }
        if next_status <= due {
            next_status += STATUS_EVERY;
            sequence = (sequence + 1) & 7;
            for frame in status(FIRST_SENDER, 55.0, sequence) {
                socket.send(&frame).unwrap();
            }
        }
        socket.send(&traffic[(first + sent as usize) % traffic.len()]).unwrap();
        sent += 1;
    }
    sent
}

/// Processor time per second that a role needs for the traffic of a full bus.
fn load(role: &[&str], traffic: &[[u8; 16]], first: usize, seconds: u64) -> f64 {
    let peer = Peer::start(role);
    let stop = AtomicBool::new(false);
    std::thread::scope(|scope| {
        scope.spawn(|| pace(&peer.socket, traffic, first, &stop));
        scope.spawn(|| read_away(&peer.socket, &stop));
        std::thread::sleep(Duration::from_secs(3));
        let (begun, before) = (Instant::now(), peer.cpu_s());
        std::thread::sleep(Duration::from_secs(seconds));
        let used = (peer.cpu_s() - before) / begun.elapsed().as_secs_f64();
        stop.store(true, Ordering::Relaxed);
        used
    })
}

fn read_away(socket: &UnixDatagram, stop: &AtomicBool) {
    socket.set_read_timeout(Some(Duration::from_millis(100))).unwrap();
    while !stop.load(Ordering::Relaxed) {
        // Nothing may come for a while.
        let _ = socket.recv(&mut [0; 16]);
    }
}

/// From the write of a triggering frame to the read of the alert's last frame, for each unit of one run.
fn latencies(traffic: &[[u8; 16]], first: usize) -> Vec<Duration> {
    let peer = Peer::start(&["live", "FOLDER", &UNITS.to_string()]);
    let stop = AtomicBool::new(false);
    let written: Mutex<BTreeMap<u16, Instant>> = Mutex::default();
    std::thread::scope(|scope| {
        scope.spawn(|| pace(&peer.socket, traffic, first, &stop));
        let reader = scope.spawn(|| read_alerts(&peer.socket, &written));
        std::thread::sleep(Duration::from_millis(300));
        // The unit with the number 0 is the one that runs at rest.
        for unit in 1..UNITS as u8 {
            let frames = status(FIRST_SENDER + unit, 70.0, 0);
            let (last, others) = frames.split_last().unwrap();
            for frame in others {
                peer.socket.send(frame).unwrap();
            }
            written.lock().unwrap().insert(unit.into(), Instant::now());
            peer.socket.send(last).unwrap();
            std::thread::sleep(Duration::from_millis(37));
        }
        let latencies = reader.join();
        // Before anything can fail: the scope waits for the pacing thread.
        stop.store(true, Ordering::Relaxed);
        latencies.unwrap()
    })
}

fn read_alerts(socket: &UnixDatagram, written: &Mutex<BTreeMap<u16, Instant>>) -> Vec<Duration> {
    socket.set_read_timeout(Some(Duration::from_secs(5))).unwrap();
    let (mut assembler, mut found, mut bytes) = (Assembler::new(), BTreeMap::new(), [0; 16]);
    let begun = Instant::now();
    while found.len() < UNITS - 1 {
        socket.recv(&mut bytes).expect("an alert");
        let now = Instant::now();
        assert!(now - begun < Duration::from_secs(60), "alerts of units {:?} only", found.keys());
        let id = CanId::from_u32(u32::from_ne_bytes([bytes[0], bytes[1], bytes[2], bytes[3]]) & 0x1FFF_FFFF);
        let Some(message) = assembler.push(0, id, &bytes[8..]) else { continue };
        let Some(Content::Alert(alert)) = pgn::decode(message.pgn, message.payload) else { continue };
        // The four low bits of an alert's number are the unit.
        let unit = alert.head.alert_id.unwrap() & 15;
        if let Some(begun) = written.lock().unwrap().get(&unit) {
            found.entry(unit).or_insert(now - *begun);
        }
    }
    found.into_values().collect()
}

fn measure(recording: &str, tenth: bool, seed: usize) {
    let text = std::fs::read(recording).unwrap();
    let frame = |line| match parse_line(line).ok()?.kind {
        Kind::Data(frame) => Some(raw(&frame)),
        _ => None,
    };
    let traffic: Vec<[u8; 16]> = lines(&text).filter_map(frame).collect();
    let (seconds, alerts) = if tenth { (6, 200) } else { (60, 2_000) };
    let first = seed.wrapping_mul(7_919) % traffic.len();
    eprintln!("processor time of a plain loop, then of the live path, {seconds} s each");
    let plain = load(&["plain"], &traffic, first, seconds);
    let live = load(&["live", "FOLDER", "1"], &traffic, first, seconds);
    println!("plain_cpu_percent = {:.2} %", 100.0 * plain);
    println!("live_cpu_percent = {:.2} %", 100.0 * live);
    println!("cpu_ratio_to_reader = {:.2} ratio", live / plain);
    eprintln!("{alerts} alerts");
    let mut all = Vec::new();
    while all.len() < alerts {
        all.extend(latencies(&traffic, (first + all.len() * 997) % traffic.len()));
    }
    all.sort();
    let ms = |share: usize| all[(all.len() * share / 100).min(all.len() - 1)].as_secs_f64() * 1e3;
    println!("alerts = {} alerts", all.len());
    println!("alert_latency_median_ms = {:.2} ms", ms(50));
    println!("alert_latency_p99_ms = {:.2} ms", ms(99));
    println!("alert_latency_longest_ms = {:.2} ms", ms(100));
}
