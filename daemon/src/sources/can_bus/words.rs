//! The states of the link in words for the owner, each with its remedy.

use super::link::{State, Trouble};

const BIT_RATE: &str = "250000";

pub(super) fn active(name: &str, listen_only: bool) -> String {
    let how = if listen_only { ", listening only" } else { "" };
    format!("{name} is up{how}")
}

pub(super) fn broken(name: &str, state: State) -> String {
    match state {
        State::Absent => format!(
            "there is no CAN interface {name}; plug the adapter in or load its driver, `ip link` lists what there is, and `interface` under \
             [bus] in the settings names it; it is taken as soon as it appears"
        ),
        State::NoCan => {
            "the kernel of this computer has no CAN; install one that has SocketCAN (the module can-raw)"
                .to_owned()
        }
        State::NotAllowed => format!(
            "{name} may not be opened by this program; the service needs AF_CAN in RestrictAddressFamilies, as in the systemd unit that comes with it"
        ),
        State::CannotOpen(error) => {
            format!("{name} cannot be used: {}; it is tried again", std::io::Error::from_raw_os_error(error))
        }
        State::Down => {
            format!("{name} is down; bring it up: `ip link set {name} up type can bitrate {BIT_RATE}`")
        }
        State::BusOff => format!(
            "{name} left the bus after too many errors (bus-off); look at plugs, the two terminators and the bit rate ({BIT_RATE}), then: \
             `ip link set {name} down` and `ip link set {name} up type can bitrate {BIT_RATE} restart-ms 1000`"
        ),
        State::Starting | State::Active | State::Passive => String::new(),
    }
}

pub(super) fn passive(name: &str) -> String {
    format!(
        "{name} counts many errors on the wire (error-passive); look at plugs, the two terminators and the bit rate ({BIT_RATE})"
    )
}

pub(super) fn trouble(name: &str, trouble: Trouble) -> String {
    match trouble {
        Trouble::Lost => {
            format!("frames from {name} were lost because this computer was too busy to take them")
        }
        Trouble::Overflow => {
            format!(
                "frames were lost in the CAN adapter {name}: it, or its connection to this computer, is too slow"
            )
        }
        Trouble::GivenUp => format!(
            "messages to {name} were given up: the bus or the adapter takes nothing; look at plugs and terminators"
        ),
        Trouble::Unheard => {
            format!(
                "nobody on {name} hears what is sent: no other device is switched on, or the cable is off"
            )
        }
    }
}
