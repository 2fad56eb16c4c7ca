//! The link on virtual time. What the kernel returns when is as seen on Linux 6.1 with vcan, slcan and an emulated PCI card.

use super::*;

const UP: Look = Look { index: Some(3), up: true, carrier: Some(true) };
const DOWN: Look = Look { index: Some(3), up: false, carrier: None };
const GONE: Look = Look { index: None, up: false, carrier: None };

struct Bench {
    link: Link,
    now: Monotonic,
}

impl Bench {
    fn new() -> Self {
        Self { link: Link::new("can0", false), now: Monotonic(1_000) }
    }

    fn due(&mut self) -> Option<Action> {
        self.link.due(self.now)
    }

    fn see(&mut self, seen: Seen) {
        self.link.handle(self.now, seen);
    }

    fn pass(&mut self, ms: u64) {
        self.now = self.now.plus_ms(ms);
    }

    /// The next look, with what it finds.
    fn look(&mut self, look: Look) {
        assert_eq!(self.due(), Some(Action::Look));
        self.see(Seen::Looked(look));
    }

    fn open(&mut self) {
        assert_eq!(self.due(), Some(Action::Open));
        self.see(Seen::Opened(3));
        self.look(UP);
        assert_eq!(self.link.state(), State::Active);
    }

    fn tell(&mut self) -> Option<SourceState> {
        self.link.tell(self.now)
    }

    fn told(&mut self, part: &str) {
        let text = match self.tell() {
            Some(SourceState::Open(text) | SourceState::Impaired(text) | SourceState::Failed(text)) => text,
            other => panic!("{other:?} instead of `{part}`"),
        };
        assert!(text.contains(part), "{text}");
        assert_eq!(self.tell(), None, "told once");
    }
}

#[test]
fn an_interface_that_is_absent_is_tried_again_and_told_once() {
    let mut bench = Bench::new();
    assert_eq!(bench.tell(), None);
    assert_eq!(bench.due(), Some(Action::Open));
    bench.see(Seen::OpenFailed(errno::ENODEV));
    bench.told("no CAN interface can0");
    assert_eq!(bench.due(), None);
    for _ in 0..100 {
        bench.pass(RETRY_MS);
        assert_eq!(bench.due(), Some(Action::Open));
        bench.see(Seen::OpenFailed(errno::ENODEV));
        assert_eq!(bench.tell(), None);
    }
    bench.pass(RETRY_MS);
    bench.open();
    assert!(matches!(bench.tell(), Some(SourceState::Open(_))));
}

#[test]
fn each_reason_not_to_open_has_its_own_words_and_remedy() {
    for (error, state, words) in [
        (errno::EAFNOSUPPORT, State::NoCan, "kernel"),
        (errno::EPERM, State::NotAllowed, "RestrictAddressFamilies"),
        (errno::EACCES, State::NotAllowed, "RestrictAddressFamilies"),
        (errno::ENODEV, State::Absent, "ip link"),
        (24, State::CannotOpen(24), "tried again"),
    ] {
        let mut bench = Bench::new();
        assert_eq!(bench.due(), Some(Action::Open));
        bench.see(Seen::OpenFailed(error));
        assert_eq!(bench.link.state(), state);
        bench.told(words);
        assert!(!bench.link.may_write());
    }
}

#[test]
fn opened_while_down_waits_with_the_command_that_helps() {
    let mut bench = Bench::new();
    assert_eq!(bench.due(), Some(Action::Open));
    bench.see(Seen::Opened(3));
    bench.look(DOWN);
    bench.told("ip link set can0 up type can bitrate 250000");
    // The error that waits on such a socket changes nothing; the interface is looked at again.
    bench.see(Seen::Failed(errno::ENETDOWN));
    bench.look(DOWN);
    assert_eq!(bench.tell(), None);
    bench.pass(LOOK_MS);
    bench.look(UP);
    bench.told("can0 is up");
    assert!(bench.link.may_write());
}

#[test]
fn down_and_up_keeps_the_socket_and_voids_the_claims() {
    let mut bench = Bench::new();
    bench.open();
    bench.told("is up");
    let epoch = bench.link.epoch();
    bench.see(Seen::Failed(errno::ENETDOWN));
    bench.look(DOWN);
    bench.told("is down");
    assert_ne!(bench.link.epoch(), epoch);
    bench.pass(LOOK_MS);
    bench.look(UP);
    bench.told("is up");
    assert_ne!(bench.due(), Some(Action::Open));
}

#[test]
fn a_moment_of_down_between_two_looks_is_told_again() {
    let mut bench = Bench::new();
    bench.open();
    bench.told("is up");
    let epoch = bench.link.epoch();
    bench.see(Seen::Failed(errno::ENETDOWN));
    bench.look(UP);
    bench.told("is up");
    assert_ne!(bench.link.epoch(), epoch, "addresses must be claimed anew");
}

#[test]
fn a_removed_interface_means_a_new_socket() {
    for error in [errno::ENODEV, errno::ENXIO] {
        let mut bench = Bench::new();
        bench.open();
        bench.told("is up");
        bench.see(Seen::Failed(error));
        assert_eq!(bench.due(), Some(Action::Close));
        bench.told("no CAN interface");
        assert_eq!(bench.due(), Some(Action::Open));
        bench.see(Seen::OpenFailed(errno::ENODEV));
        bench.pass(RETRY_MS);
        assert_eq!(bench.due(), Some(Action::Open));
        bench.see(Seen::Opened(7));
        bench.look(Look { index: Some(7), ..UP });
        bench.told("is up");
    }
}

/// The writer can take the one ENODEV, and then the socket is silent for ever: only the index tells.
#[test]
fn another_index_under_the_same_name_means_a_new_socket() {
    for look in [Look { index: Some(4), ..UP }, GONE] {
        let mut bench = Bench::new();
        bench.open();
        let epoch = bench.link.epoch();
        bench.pass(LOOK_MS);
        bench.look(look);
        assert_eq!(bench.due(), Some(Action::Close));
        assert_eq!(bench.due(), Some(Action::Open));
        assert_ne!(bench.link.epoch(), epoch);
    }
}

fn standing(class: u32, detail: u8) -> Seen {
    Seen::Error(BusError::new(class, [0, detail, 0, 0, 0, 0, 0, 0]))
}

#[test]
fn passive_is_told_and_ends_when_the_driver_says_so() {
    let mut bench = Bench::new();
    bench.open();
    bench.told("is up");
    bench.see(standing(0x04, 0x10));
    bench.told("error-passive");
    assert!(bench.link.may_write(), "a passive node may still send");
    bench.pass(LOOK_MS);
    bench.look(UP);
    assert_eq!(bench.tell(), None, "a look does not end it");
    bench.see(standing(0x04, 0x40));
    bench.told("is up");
}

#[test]
fn passive_ends_by_itself_after_a_minute_of_frames_without_errors() {
    let mut bench = Bench::new();
    bench.open();
    bench.told("is up");
    bench.see(standing(0x04, 0x20));
    bench.told("error-passive");
    bench.pass(PASSIVE_MS - 1);
    bench.see(Seen::Frames);
    assert_eq!(bench.link.state(), State::Passive);
    bench.see(standing(0x08, 0));
    bench.pass(PASSIVE_MS - 1);
    bench.see(Seen::Frames);
    assert_eq!(bench.link.state(), State::Passive, "another error came meanwhile");
    bench.pass(1);
    bench.see(Seen::Frames);
    assert_eq!(bench.link.state(), State::Active);
}

#[test]
fn bus_off_stops_writing_until_the_carrier_or_the_driver_is_back() {
    for by_driver in [false, true] {
        let mut bench = Bench::new();
        bench.open();
        bench.told("is up");
        let epoch = bench.link.epoch();
        bench.see(standing(0x40, 0));
        bench.told("bus-off");
        assert!(!bench.link.may_write(), "the kernel would take frames and nothing would reach the bus");
        assert_ne!(bench.link.epoch(), epoch);
        bench.look(Look { carrier: Some(false), ..UP });
        bench.see(Seen::Frames);
        assert_eq!(bench.tell(), None, "frames of other programs are looped back: no sign of the bus");
        bench.pass(LOOK_MS);
        if by_driver {
            bench.see(standing(0x100, 0));
        } else {
            bench.look(UP);
        }
        bench.told("is up");
    }
}

#[test]
fn bus_off_without_a_carrier_to_watch_ends_with_down_and_up() {
    let mut bench = Bench::new();
    bench.open();
    bench.told("is up");
    bench.see(standing(0x40, 0));
    bench.look(UP);
    bench.told("bus-off");
    bench.pass(LOOK_MS);
    bench.look(DOWN);
    bench.told("is down");
    bench.pass(LOOK_MS);
    bench.look(UP);
    bench.told("is up");
}

#[test]
fn bus_off_that_was_there_before_is_seen_by_the_carrier() {
    let mut bench = Bench::new();
    assert_eq!(bench.due(), Some(Action::Open));
    bench.see(Seen::Opened(3));
    bench.look(Look { carrier: Some(false), ..UP });
    assert_eq!(bench.tell(), None, "once is no proof");
    bench.pass(LOOK_MS);
    bench.look(Look { carrier: Some(false), ..UP });
    bench.told("bus-off");
}

#[test]
fn losses_are_told_for_a_minute() {
    for (seen, words) in [
        (Seen::Lost(5), "too busy"),
        (Seen::GivenUp(1), "given up"),
        (standing(0x04, 0x01), "adapter"),
        (standing(0x20, 0), "nobody"),
    ] {
        let mut bench = Bench::new();
        bench.open();
        bench.told("is up");
        bench.see(seen);
        bench.told(words);
        bench.pass(TROUBLE_MS - 1);
        assert_eq!(bench.tell(), None);
        bench.pass(1);
        bench.told("is up");
        bench.see(seen);
        let again = !matches!(seen, Seen::Lost(_) | Seen::GivenUp(_));
        assert_eq!(bench.tell().is_some(), again, "the same count is no new loss");
    }
}

#[test]
fn an_unknown_error_of_the_socket_opens_a_new_one_after_a_pause() {
    let mut bench = Bench::new();
    bench.open();
    bench.see(Seen::Failed(5));
    assert_eq!(bench.due(), Some(Action::Close));
    bench.told("tried again");
    assert_eq!(bench.due(), None);
    bench.pass(RETRY_MS);
    assert_eq!(bench.due(), Some(Action::Open));
}
