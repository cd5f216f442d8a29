//! One reading of one sensor, and the words for where the sensor sits.

use std::fmt;
use std::str::FromStr;

use crate::{DeviceTicks, HostTime, RunTime};

/// Which leg.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Side {
    /// The person's left.
    Left,
    /// The person's right.
    Right,
}

impl Side {
    /// Both, left first.
    pub const ALL: [Self; 2] = [Self::Left, Self::Right];

    /// The other leg.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
        }
    }

    /// The word used in files.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
        }
    }
}

impl fmt::Display for Side {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.as_str())
    }
}

impl FromStr for Side {
    type Err = ();
    /// Reads `left`, `right`, `l`, `r` in any case.
    fn from_str(s: &str) -> Result<Self, ()> {
        match s.trim().to_ascii_lowercase().as_str() {
            "left" | "l" => Ok(Self::Left),
            "right" | "r" => Ok(Self::Right),
            _ => Err(()),
        }
    }
}

/// Where a sensor is strapped. Its text form is the `tracksys` label of the files.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Placement {
    /// Left shin, above the ankle.
    ShinLeft,
    /// Right shin, above the ankle.
    ShinRight,
    /// Left thigh, above the knee.
    ThighLeft,
    /// Right thigh, above the knee.
    ThighRight,
    /// Between the hip bones.
    Pelvis,
}

impl Placement {
    /// All, in the order of the files.
    pub const ALL: [Self; 5] = [
        Self::ShinLeft,
        Self::ShinRight,
        Self::ThighLeft,
        Self::ThighRight,
        Self::Pelvis,
    ];

    /// The shin of one side.
    pub const fn shin(side: Side) -> Self {
        match side {
            Side::Left => Self::ShinLeft,
            Side::Right => Self::ShinRight,
        }
    }

    /// The thigh of one side.
    pub const fn thigh(side: Side) -> Self {
        match side {
            Side::Left => Self::ThighLeft,
            Side::Right => Self::ThighRight,
        }
    }

    /// The side, or `None` for the pelvis.
    pub const fn side(self) -> Option<Side> {
        match self {
            Self::ShinLeft | Self::ThighLeft => Some(Side::Left),
            Self::ShinRight | Self::ThighRight => Some(Side::Right),
            Self::Pelvis => None,
        }
    }

    /// The `tracksys` label.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::ShinLeft => "shinleft",
            Self::ShinRight => "shinright",
            Self::ThighLeft => "thighleft",
            Self::ThighRight => "thighright",
            Self::Pelvis => "pelvis",
        }
    }
}

impl fmt::Display for Placement {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.as_str())
    }
}

impl FromStr for Placement {
    type Err = ();
    /// Reads the label in any case, with or without separators, side first or last (`Left_Shin`).
    fn from_str(s: &str) -> Result<Self, ()> {
        let plain: String = s
            .chars()
            .filter(char::is_ascii_alphanumeric)
            .collect::<String>()
            .to_ascii_lowercase();
        Self::ALL
            .into_iter()
            .find(|p| {
                p.as_str() == plain
                    || p.side().is_some_and(|side| {
                        let segment = &p.as_str()[..p.as_str().len() - side.as_str().len()];
                        plain == format!("{side}{segment}")
                    })
            })
            .ok_or(())
    }
}

/// One reading of one sensor, in the sensor's own axes. Always finite.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// When, on the run's clock.
    pub at: RunTime,
    /// Specific force, m/s²: +9.8 on the axis that points up at rest.
    pub accel_m_s2: [f32; 3],
    /// Angular rate, rad/s, right-handed, bias not removed.
    pub gyro_rad_s: [f32; 3],
}

impl Sample {
    /// No sensor measures more than this on one axis, m/s² (about 500 g).
    pub const ACCEL_M_S2_MAX: f32 = 5000.0;
    /// No sensor measures more than this on one axis, rad/s (about 29 000 °/s).
    pub const GYRO_RAD_S_MAX: f32 = 500.0;

    /// Whether a sensor can have felt this.
    pub fn is_possible(&self) -> bool {
        let within = |values: [f32; 3], most: f32| values.iter().all(|v| v.abs() <= most);
        within(self.accel_m_s2, Self::ACCEL_M_S2_MAX)
            && within(self.gyro_rad_s, Self::GYRO_RAD_S_MAX)
    }
}

/// What came with a sample besides its numbers; kept as it came.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct RawStamp {
    /// The sensor's sample counter, unwrapped.
    pub sequence: Option<u64>,
    /// The sensor's own clock.
    pub device: Option<DeviceTicks>,
    /// Arrival at this computer.
    pub arrival: Option<HostTime>,
}

/// A stretch without samples: from the last before it to the first after it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gap {
    /// Last sample before.
    pub from: RunTime,
    /// First sample after.
    pub to: RunTime,
}
