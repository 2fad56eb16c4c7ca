//! Error frames: what the driver of the CAN interface reports about the wire (linux/can/error.h).
//!
//! The class bits are in the identifier, details in the data. Drivers differ in what they report: every fact here is optional.

use socketcan::errors::{
    CAN_ERR_ACK, CAN_ERR_BUSOFF, CAN_ERR_CNT, CAN_ERR_CRTL, CAN_ERR_RESTARTED, CAN_ERR_TX_TIMEOUT,
};

// Second byte of a controller problem.
const RECEIVE_OVERFLOW: u8 = 0x01;
const PASSIVE: u8 = 0x10 | 0x20;
const WARNING: u8 = 0x04 | 0x08;
const ACTIVE: u8 = 0x40;
/// Error counter from which a controller is error-passive (ISO 11898-1; the same in linux/can/error.h).
const PASSIVE_COUNT: u8 = 128;

/// One error frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BusError {
    classes: u32,
    data: [u8; 8],
}

/// What it means for the controller's standing on the bus.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Takes part normally. A warning is no more than a raised counter.
    Active,
    /// Many errors: it may listen and send, but no longer mark errors of others.
    Passive,
    /// Too many errors: it has switched itself off the bus.
    Off,
}

impl BusError {
    /// From the class bits of the identifier and the data.
    pub fn new(classes: u32, data: [u8; 8]) -> Self {
        Self { classes, data }
    }

    /// The controller's standing, if this frame tells it.
    pub fn standing(&self) -> Option<Standing> {
        let has = |class: u32| self.classes & class != 0;
        let detail = self.data[1];
        if has(CAN_ERR_BUSOFF) {
            Some(Standing::Off)
        } else if has(CAN_ERR_RESTARTED) {
            Some(Standing::Active)
        } else if has(CAN_ERR_CRTL) && detail & PASSIVE != 0 {
            Some(Standing::Passive)
        } else if has(CAN_ERR_CRTL) && detail & (ACTIVE | WARNING) != 0 {
            Some(Standing::Active)
        } else if has(CAN_ERR_CNT) && PASSIVE_COUNT <= self.data[6].max(self.data[7]) {
            Some(Standing::Passive)
        } else {
            None
        }
    }

    /// The interface itself had no room for what it received: frames are lost before the kernel sees them.
    pub fn is_overflow(&self) -> bool {
        self.classes & CAN_ERR_CRTL != 0 && self.data[1] & RECEIVE_OVERFLOW != 0
    }

    /// Nobody took what was sent: no other device is awake, or the cable is off.
    pub fn is_unheard(&self) -> bool {
        self.classes & (CAN_ERR_ACK | CAN_ERR_TX_TIMEOUT) != 0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn standing(classes: u32, data: [u8; 8]) -> Option<Standing> {
        BusError::new(classes, data).standing()
    }

    /// As seen from the kernel's slcan driver (class bits 0x204 for a change of state, 0x40 for bus-off, 0x88 for a bus error); meaning of the bits:
    /// linux/can/error.h.
    #[test]
    fn standing_is_read_from_class_and_detail() {
        assert_eq!(standing(0x204, [0, 0x10, 0, 0, 0, 0, 128, 130]), Some(Standing::Passive));
        assert_eq!(standing(0x204, [0, 0x08, 0, 0, 0, 0, 96, 96]), Some(Standing::Active), "a warning");
        assert_eq!(standing(0x204, [0, 0x40, 0, 0, 0, 0, 0, 0]), Some(Standing::Active));
        assert_eq!(standing(0x40, [0; 8]), Some(Standing::Off));
        assert_eq!(standing(0x100, [0; 8]), Some(Standing::Active), "restarted");
        assert_eq!(standing(0x88, [0, 0, 4, 0, 0, 0, 0, 0]), None, "a stuff error says nothing about it");
        assert_eq!(standing(0x200, [0, 0, 0, 0, 0, 0, 127, 0]), None);
        assert_eq!(standing(0x200, [0, 0, 0, 0, 0, 0, 0, 128]), Some(Standing::Passive), "by its counter");
        assert!(BusError::new(0x04, [0, 1, 0, 0, 0, 0, 0, 0]).is_overflow());
        assert!(BusError::new(0x20, [0; 8]).is_unheard());
    }
}
