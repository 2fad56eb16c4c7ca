//! The running daemon, from outside: bus text on its standard input, commands through its control socket, the page over loopback.
#![expect(clippy::unwrap_used, reason = "a test whose own set-up fails has failed")]

use serde_json::Value;
use std::io::{Read, Write};
use std::net::{SocketAddr, TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, Output, Stdio};
use std::time::Duration;

/// Polls of something that is to come; each waits [`PAUSE`].
const TRIES: usize = 200;
const PAUSE: Duration = Duration::from_millis(100);

const SETTINGS: &str = r#"
[boat]
id = "trial"

[page]
bind = "PAGE"

[folders]
state = "FOLDER/state"
runtime = "FOLDER/run"

[units.main]
pressure_control = "regulated"
set_pressure = "55 bar"

[units.main.pump]
kind = "plunger"
flow = "6 L/min"
rated_pressure = "60 bar"

[units.main.drive]
kind = "hydraulic"

[[units.main.elements]]
size = "2540"
area = "2.8 m2"
nominal_flow = "2.6 m3/d"
nominal_rejection = "99.4 %"

[units.main.limits]
feed_pressure = "65 bar"
product_conductivity = "900 uS/cm"
"#;

struct Daemon {
    child: Child,
    bus: Option<ChildStdin>,
    folder: PathBuf,
    page: SocketAddr,
}

impl Drop for Daemon {
    fn drop(&mut self) {
        // It may have ended by itself.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn folder(name: &str) -> PathBuf {
    let folder = std::env::temp_dir().join(format!("barrico-run-{name}-{}", std::process::id()));
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    // A port that is free now; the settings must name one that stays the same over a restart.
    let page = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap();
    let text = SETTINGS.replace("PAGE", &page.to_string()).replace("FOLDER", folder.to_str().unwrap());
    std::fs::write(folder.join("barrico.toml"), text).unwrap();
    std::fs::write(folder.join("page"), page.to_string()).unwrap();
    folder
}

fn start(folder: &Path) -> Daemon {
    let mut child = Command::new(env!("CARGO_BIN_EXE_barrico"))
        .args(["run", "--candump", "-", "--trust-system-date", "--settings"])
        .arg(folder.join("barrico.toml"))
        .arg("--frames")
        .arg(folder.join("frames.log"))
        .stdin(Stdio::piped())
        .stderr(std::fs::File::create(folder.join("log")).unwrap())
        .spawn()
        .unwrap();
    let page = std::fs::read_to_string(folder.join("page")).unwrap().parse().unwrap();
    let bus = child.stdin.take();
    let daemon = Daemon { child, bus, folder: folder.to_owned(), page };
    wait_for("the page", || TcpStream::connect(daemon.page).ok());
    daemon
}

fn wait_for<T>(what: &str, mut look: impl FnMut() -> Option<T>) -> T {
    for _ in 0..TRIES {
        if let Some(found) = look() {
            return found;
        }
        std::thread::sleep(PAUSE);
    }
    panic!("{what} did not come within {:?}", PAUSE * TRIES as u32);
}

impl Daemon {
    fn get(&self, path: &str) -> String {
        let mut stream = TcpStream::connect(self.page).unwrap();
        write!(stream, "GET {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", self.page).unwrap();
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        assert!(answer.starts_with("HTTP/1.1 200"), "{answer}");
        answer.split_once("\r\n\r\n").unwrap().1.to_owned()
    }

    fn unit(&self) -> Value {
        let state: Value = serde_json::from_str(&self.get("/api/state.json")).unwrap();
        state["units"][0].clone()
    }

    fn command(&self, arguments: &[&str]) -> Output {
        command(&self.folder, arguments)
    }
}

fn command(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_barrico"))
        .args(arguments)
        .arg("--settings")
        .arg(folder.join("barrico.toml"))
        .output()
        .unwrap()
}

fn succeeded(output: &Output) -> String {
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8_lossy(&output.stdout).into_owned()
}

const SET: [&str; 10] = [
    "log",
    "add",
    "--reading",
    "feed_pressure=800 psi",
    "--reading",
    "product_flow=1.2 L/min",
    "--reading",
    "feed_temperature=20 C",
    "--by",
    "Robin",
];

#[test]
fn a_hand_reading_is_on_the_page_after_its_answer_and_survives_kill() {
    let folder = folder("hand");
    let mut daemon = start(&folder);
    succeeded(&daemon.command(&SET));
    // The answer comes after the commit; then the page has it at the next look.
    let runs = daemon.unit()["runs"].as_array().unwrap().len();
    assert_eq!(runs, 1, "{}", daemon.unit());
    assert!(daemon.get("/").contains("55.2"), "800 psi are 55.2 bar");
    daemon.child.kill().unwrap();
    daemon.child.wait().unwrap();
    drop(daemon);
    let again = start(&folder);
    let unit = again.unit();
    assert_eq!(unit["runs"].as_array().unwrap().len(), 1, "{unit}");
    let listed = succeeded(&again.command(&["log", "list"]));
    assert!(listed.contains("800 psi") && listed.contains("Robin"), "{listed}");
}

#[test]
fn commands_work_alone_and_beside_the_daemon() {
    let folder = folder("alone");
    succeeded(&command(&folder, &SET));
    let daemon = start(&folder);
    succeeded(&daemon.command(&["log", "add", "--event", "filter-changed", "--by", "Robin"]));
    let listed = succeeded(&daemon.command(&["log", "list"]));
    assert!(listed.contains("800 psi") && listed.contains("filter"), "{listed}");
    let taken = succeeded(&daemon.command(&["baseline", "take", "--by", "Robin"]));
    assert!(taken.contains("provisional"), "one reading set is no confirmed baseline: {taken}");
    drop(daemon);
    assert!(succeeded(&command(&folder, &["baseline", "show"])).contains("provisional"));
    let csv = succeeded(&command(&folder, &["export", "runs"]));
    assert!(csv.lines().count() == 2 && csv.contains("feed_pressure_bar_gauge"), "{csv}");
}

#[test]
fn an_over_pressure_on_the_bus_is_an_alarm_at_once_and_goes_out_as_126983() {
    use barrico_n2k::pgn::{OperatingState, WatermakerStatus};
    use barrico_n2k::{CanId, candump::write_line, split};
    let folder = folder("pressure");
    let file = folder.join("barrico.toml");
    let reading = |quantity: &str| {
        format!("[[units.main.readings]]\nquantity = \"{quantity}\"\nfrom = \"nmea2000\"\npgn = 130567\n")
    };
    let text =
        std::fs::read_to_string(&file).unwrap() + &reading("feed_pressure") + &reading("operating_state");
    std::fs::write(&file, text).unwrap();
    let mut daemon = start(&folder);
    let status = WatermakerStatus {
        operating_state: Some(OperatingState::Running),
        system_high_pressure_pa: Some(70e5),
        ..WatermakerStatus::default()
    };
    let mut payload = Vec::new();
    status.encode(&mut payload);
    let id = CanId { priority: 6, pgn: 130_567, source: 35, destination: 255 };
    let mut lines = b"this is no line of a log\n".to_vec();
    for frame in split(id, &payload, 0).unwrap() {
        write_line(&mut lines, 1_800_000_000_000_000, "can0", &frame);
    }
    daemon.bus.as_mut().unwrap().write_all(&lines).unwrap();
    daemon.bus.as_mut().unwrap().flush().unwrap();
    let alarm = wait_for("the alarm", || {
        daemon.unit()["findings"].as_array().unwrap().iter().find(|f| f["code"] == "over-pressure").cloned()
    });
    assert_eq!(alarm["severity"], "alarm");
    let frames = wait_for("126983", || {
        std::fs::read_to_string(folder.join("frames.log")).ok().filter(|text| text.contains(" 09F007"))
    });
    // The text of an alert goes out before the alert itself.
    assert!(frames.find(" 09F009").unwrap() < frames.find(" 09F007").unwrap(), "{frames}");
    let state: Value = serde_json::from_str(&daemon.get("/api/state.json")).unwrap();
    assert_eq!(state["damaged"], 1, "the damaged line is counted");
    drop(daemon.bus.take());
    let told = wait_for("the end of the pipe", || {
        let state: Value = serde_json::from_str(&daemon.get("/api/state.json")).unwrap();
        (state["source"]["working"] == false).then_some(state)
    });
    assert!(told["source"]["text"].as_str().unwrap().contains("ended"), "{told}");
}

#[test]
fn wrong_settings_end_with_78_and_all_problems() {
    let folder = folder("wrong");
    let text = SETTINGS.replace("55 bar", "55 g/kg").replace("6 L/min", "fast").replace("2.8 m2", "-2 m2");
    std::fs::write(folder.join("barrico.toml"), text).unwrap();
    let output = command(&folder, &["run"]);
    assert_eq!(output.status.code(), Some(78));
    let report = String::from_utf8_lossy(&output.stderr).into_owned();
    for part in ["set_pressure", "flow", "area", "^"] {
        assert!(report.contains(part), "`{part}` is missing in:\n{report}");
    }
}
