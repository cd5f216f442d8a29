//! What every live source sends: the raw events of a run, on this computer's clock.
//!
//! Events are journalled as they are. Their samples have no run time yet: that is given by the clock map
//! ([`ClockMap`](crate::ClockMap) at once, [`fit`](crate::fit) at the end), so that a better clock can
//! still be had from what was kept.

use std::fmt;
use std::str::FromStr;

use thiserror::Error;

use crate::{DeviceTicks, HostTime, MarkKind, Placement, Side};

/// No packet may hold more samples.
pub const PACKET_SAMPLES_MAX: usize = 512;
/// No text of a mark may be longer, bytes.
pub const TEXT_BYTES_MAX: usize = 4096;
/// No run may be longer, s: four hours.
pub const RUN_S_MAX: f64 = 14_400.0;

/// One reading as the sensor sent it, in SI and in the sensor's axes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RawSample {
    /// The sensor's counter as it came, wrapped; on every sample, or on the packet's first alone.
    pub sequence: Option<u64>,
    /// The sensor's clock as it came, wrapped; on every sample, or on one of the packet.
    pub device: Option<DeviceTicks>,
    /// Specific force, m/s².
    pub accel_m_s2: [f32; 3],
    /// Angular rate, rad/s.
    pub gyro_rad_s: [f32; 3],
}

/// What arrived at once: one notification, frame or message. Samples lie in the order they were taken.
#[derive(Clone, Debug, PartialEq)]
pub struct Packet {
    /// When its last byte came; the arrival of all its samples.
    pub arrival: HostTime,
    /// 1 to [`PACKET_SAMPLES_MAX`].
    pub samples: Vec<RawSample>,
}

/// One thing that happened.
#[derive(Clone, Debug, PartialEq)]
pub enum Event {
    /// A sensor sent samples.
    Samples {
        /// Whose.
        placement: Placement,
        /// What came.
        packet: Packet,
    },
    /// A source knows that something is missing.
    Gap {
        /// Whose.
        placement: Placement,
        /// Last arrival before.
        from: HostTime,
        /// When it was noticed, or went on.
        to: HostTime,
        /// Where it was lost.
        cause: Loss,
    },
    /// A person pressed a button.
    Mark {
        /// When it was pressed, no reaction time taken off.
        at: HostTime,
        /// What it says.
        kind: MarkKind,
        /// For which leg, if said.
        side: Option<Side>,
        /// A remark or a face; at most [`TEXT_BYTES_MAX`] bytes.
        value: String,
    },
    /// News of a sensor.
    Status {
        /// Which.
        placement: Placement,
        /// When it was heard.
        at: HostTime,
        /// What.
        status: Status,
    },
    /// A source has ended and sends no more.
    Ended {
        /// Which.
        placement: Placement,
        /// When.
        at: HostTime,
        /// Why.
        reason: Stop,
    },
}

/// News of a sensor; what is absent hasn't changed or isn't known.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Status {
    /// Charge, percent.
    pub battery_percent: Option<u8>,
    /// Rate the sensor says it uses, Hz.
    pub rate_hz: Option<f64>,
    /// Strength of the signal, dBm.
    pub signal_dbm: Option<i16>,
    /// Share of the samples that didn't come, of late; 0 to 1.
    pub lost_fraction: Option<f64>,
    /// State of the link.
    pub link: Option<Link>,
    /// A question about the sensor's clock and its answer.
    pub echo: Option<Echo>,
}

/// The sensor read its clock at some moment between these two.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Echo {
    /// When it was asked.
    pub asked: HostTime,
    /// When the answer came.
    pub answered: HostTime,
    /// What it read.
    pub device: DeviceTicks,
}

/// A closed list of words, each with its text form.
macro_rules! words {
    ($(#[$about:meta])* $name:ident { $($(#[$what:meta])* $variant:ident = $word:literal,)+ }) => {
        $(#[$about])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $($(#[$what])* $variant,)+ }

        impl $name {
            /// All, in the order of their numbers in journals: new ones go to the end.
            pub const ALL: &[Self] = &[$(Self::$variant,)+];

            /// Its word.
            pub const fn as_str(self) -> &'static str {
                match self { $(Self::$variant => $word,)+ }
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(self.as_str())
            }
        }

        impl FromStr for $name {
            type Err = ();
            fn from_str(s: &str) -> Result<Self, ()> {
                Self::ALL.iter().copied().find(|w| w.as_str() == s).ok_or(())
            }
        }
    };
}

words! {
    /// Where samples were lost.
    Loss {
        /// The connection was down.
        Link = "link",
        /// The sensor says that it started anew.
        Restart = "restart",
        /// The sensor says that it dropped some itself.
        Sensor = "sensor",
        /// A queue of this computer was full.
        Queue = "queue",
        /// Nothing came, and nothing says why.
        Silence = "silence",
        /// A part of the run's journal couldn't be read.
        Journal = "journal",
    }
}

words! {
    /// State of a link.
    Link {
        /// Being set up, again or for the first time.
        Connecting = "connecting",
        /// Samples come.
        Streaming = "streaming",
        /// Connected, but no samples come.
        Silent = "silent",
        /// Not connected.
        Lost = "lost",
    }
}

words! {
    /// Why a source has ended.
    Stop {
        /// Somebody stopped the run.
        Asked = "asked",
        /// A recording or a simulation was at its end.
        Finished = "finished",
        /// The connection was lost and didn't come back.
        Lost = "lost",
        /// Connected, but it sent nothing any more.
        Silent = "silent",
        /// The sensor's battery is empty.
        Battery = "battery",
        /// The sensor reports a fault of its own.
        Fault = "fault",
        /// The run or its journal reached its limit.
        Limit = "limit",
    }
}

impl Loss {
    /// Whether the sensor's clock and counter may have begun anew.
    pub const fn breaks_clock(self) -> bool {
        matches!(self, Self::Link | Self::Restart)
    }
}

/// An event beyond its limits.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum EventFault {
    /// Too few or too many samples.
    #[error("a packet of {count} samples, expected 1 to {PACKET_SAMPLES_MAX}")]
    Samples {
        /// How many.
        count: usize,
    },
    /// Too long a text.
    #[error("a remark of {bytes} bytes, expected at most {TEXT_BYTES_MAX}")]
    Text {
        /// How long.
        bytes: usize,
    },
    /// After the longest run, or long before its start.
    #[error("an event at {at_s} s, expected at most {RUN_S_MAX}")]
    Time {
        /// When.
        at_s: f64,
    },
}

impl EventFault {
    /// What to do about it.
    pub fn mend(&self) -> String {
        match self {
            Self::Samples { .. } => "send several packets",
            Self::Text { .. } => "shorten the remark",
            Self::Time { .. } => "stop the run and start another",
        }
        .to_owned()
    }
}

impl Event {
    /// When it came or was pressed.
    pub const fn at(&self) -> HostTime {
        match self {
            Self::Samples { packet, .. } => packet.arrival,
            Self::Gap { to: at, .. }
            | Self::Mark { at, .. }
            | Self::Status { at, .. }
            | Self::Ended { at, .. } => *at,
        }
    }

    /// Whose it is; a mark is nobody's.
    pub const fn placement(&self) -> Option<Placement> {
        match self {
            Self::Samples { placement, .. }
            | Self::Gap { placement, .. }
            | Self::Status { placement, .. }
            | Self::Ended { placement, .. } => Some(*placement),
            Self::Mark { .. } => None,
        }
    }

    /// Whether it keeps within the limits.
    pub fn check(&self) -> Result<(), EventFault> {
        let at_s = self.at().s();
        if at_s.abs() > RUN_S_MAX {
            return Err(EventFault::Time { at_s });
        }
        match self {
            Self::Samples { packet, .. }
                if !(1..=PACKET_SAMPLES_MAX).contains(&packet.samples.len()) =>
            {
                Err(EventFault::Samples {
                    count: packet.samples.len(),
                })
            }
            Self::Mark { value, .. } if value.len() > TEXT_BYTES_MAX => {
                Err(EventFault::Text { bytes: value.len() })
            }
            _ => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_is_read_back() {
        for word in Loss::ALL {
            assert_eq!(word.as_str().parse(), Ok(*word));
        }
        for word in Link::ALL {
            assert_eq!(word.as_str().parse(), Ok(*word));
        }
        for word in Stop::ALL {
            assert_eq!(word.as_str().parse(), Ok(*word));
        }
        assert_eq!("gone".parse::<Stop>(), Err(()));
    }

    #[test]
    fn limits_hold_on_both_sides() {
        let sample = RawSample {
            sequence: None,
            device: None,
            accel_m_s2: [0.0; 3],
            gyro_rad_s: [0.0; 3],
        };
        let samples = |count| Event::Samples {
            placement: Placement::Pelvis,
            packet: Packet {
                arrival: HostTime(0),
                samples: vec![sample; count],
            },
        };
        let mark = |at, bytes| Event::Mark {
            at: HostTime(at),
            kind: MarkKind::Note,
            side: None,
            value: "x".repeat(bytes),
        };
        assert!(samples(1).check().is_ok() && samples(PACKET_SAMPLES_MAX).check().is_ok());
        assert!(mark(14_400_000_000_000, TEXT_BYTES_MAX).check().is_ok());
        let bad = [
            samples(0),
            samples(PACKET_SAMPLES_MAX + 1),
            mark(14_400_000_000_001, 0),
            mark(0, TEXT_BYTES_MAX + 1),
        ];
        for event in bad {
            let fault = event.check().expect_err("beyond a limit");
            assert!(!fault.mend().is_empty());
        }
    }
}
