//! The causal half: samples in as they come, provisional readings out. Results are made by
//! [`crate::analyse_run`] alone, from the whole run.

use nalgebra::{Matrix3, SymmetricEigen, UnitQuaternion, Vector3};
use sensor::{Placement, Sample, Side, UnitLimits};

use crate::Angle;
use crate::analysis::Flag;
use crate::imu::Imu;
use crate::settings::Settings;
use crate::tilt::{TiltCoeffs, TiltOutput, TiltState, step};
use crate::uncertainty::{Budget, Source};

/// What a leg is doing, as far as is known now.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum RaiseState {
    /// Not yet known well enough to say.
    Settling,
    /// Lying.
    Resting,
    /// On its way up.
    Rising,
    /// Up, and hardly moving.
    Top,
    /// On its way down.
    Lowering,
}

impl RaiseState {
    /// Its word.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Settling => "settling",
            Self::Resting => "resting",
            Self::Rising => "rising",
            Self::Top => "top",
            Self::Lowering => "lowering",
        }
    }
}

/// What can be said of a leg now. Provisional: the final analysis also knows what comes after.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Seconds on the run's clock: the newest sample of the packet.
    pub t_s: f64,
    /// Which leg.
    pub side: Side,
    /// Raise angle against the last rest.
    pub angle: Angle,
    /// Its expanded uncertainty, 95 % coverage.
    pub expanded: Angle,
    /// What the leg is doing.
    pub state: RaiseState,
    /// What to beware of.
    pub flags: Vec<Flag>,
}

/// Below this rate a leg is not moving, rad/s.
const MOVING_RAD_S: f64 = 0.07;
/// The rate is that of the last tenths of a second, s.
const RATE_S: f64 = 0.15;
/// A resting leg's zero follows it over this long, s.
const ZERO_S: f64 = 0.5;
/// Part of the angle by which an axis that isn't learned yet may falsify it, and one that is.
const AXIS_UNKNOWN: f64 = 0.03;
const AXIS_LEARNED: f64 = 0.01;
/// A leg must have turned this far before its axis is believed, rad.
const LEARNED_RAD: f64 = 0.35;

/// A run as it happens.
#[derive(Clone, Debug)]
pub struct Trial {
    legs: Vec<Leg>,
    settings: Settings,
}

/// One shin as it is followed.
#[derive(Clone, Debug)]
struct Leg {
    side: Side,
    coeffs: TiltCoeffs,
    limits: UnitLimits,
    state: Option<TiltState>,
    zero: Option<Zero>,
    /// How gravity has turned in the sensor so far: its principal axis is the raise's.
    turning: Matrix3<f64>,
    turned_rad: f64,
    last_up: Vector3<f64>,
    /// Angle a moment ago and when, for the rate.
    before: Option<(f64, f64)>,
    rate_rad_s: f64,
    now: Option<Reading>,
}

/// Where the leg last lay.
#[derive(Clone, Copy, Debug)]
struct Zero {
    up: Vector3<f64>,
    earth_from_sensor: UnitQuaternion<f64>,
}

impl Trial {
    /// For sensors with their nominal rates, Hz, and limits. Other placements than shins are taken and not read.
    pub fn new(sensors: &[(Placement, f64, Option<UnitLimits>)], settings: &Settings) -> Self {
        let legs = Side::ALL
            .into_iter()
            .filter_map(|side| {
                let (_, rate_hz, limits) = sensors
                    .iter()
                    .find(|(placement, _, _)| *placement == Placement::shin(side))?;
                Some(Leg::new(
                    side,
                    settings.tilt.coeffs(*rate_hz),
                    limits.unwrap_or(UnitLimits::PLAIN),
                ))
            })
            .collect();
        Self {
            legs,
            settings: settings.clone(),
        }
    }

    /// Takes one packet's samples. A reading for each packet of the leg that is up; while none is, of each leg.
    /// Samples that are not later than the one before are passed over.
    pub fn push(&mut self, placement: Placement, samples: &[Sample]) -> Option<Reading> {
        let index = self
            .legs
            .iter()
            .position(|leg| Placement::shin(leg.side) == placement)?;
        for sample in samples {
            self.legs[index].take(&Imu::from(sample));
        }
        let mut reading = self.legs[index].read(&self.settings)?;
        let other = self
            .legs
            .iter()
            .find(|leg| leg.side != reading.side)
            .and_then(|leg| leg.now.as_ref());
        if let Some(other) = other {
            if other.angle > reading.angle && other.angle >= self.settings.raise_min {
                self.legs[index].now = Some(reading);
                return None;
            }
            if reading.angle >= self.settings.raise_min
                && other.angle.abs() >= self.settings.opposite_confirm
            {
                reading.flags.push(Flag::OtherLegMoves);
            }
        }
        self.legs[index].now = Some(reading.clone());
        Some(reading)
    }
}

impl Leg {
    fn new(side: Side, coeffs: TiltCoeffs, limits: UnitLimits) -> Self {
        Self {
            side,
            coeffs,
            limits,
            state: None,
            zero: None,
            turning: Matrix3::zeros(),
            turned_rad: 0.0,
            last_up: Vector3::zeros(),
            before: None,
            rate_rad_s: 0.0,
            now: None,
        }
    }

    fn take(&mut self, imu: &Imu) {
        let Some(state) = &mut self.state else {
            let state = TiltState::new(&self.coeffs, imu);
            self.last_up = state.output(&self.coeffs).earth_from_sensor.inverse() * Vector3::z();
            self.state = Some(state);
            return;
        };
        if imu.t_s <= state.t_s() {
            return;
        }
        let dt_s = imu.t_s - state.t_s();
        let tilt = step(&self.coeffs, state, imu);
        let up = tilt.earth_from_sensor.inverse() * Vector3::z();
        let turn = up.cross(&self.last_up);
        self.turning += turn * turn.transpose() / dt_s;
        self.turned_rad += turn.norm();
        self.last_up = up;
        self.follow_zero(&tilt, up, dt_s);
    }

    /// While the leg lies still, the zero follows it; a leg held up in the air is not lying.
    fn follow_zero(&mut self, tilt: &TiltOutput, up: Vector3<f64>, dt_s: f64) {
        let lies = self.now.as_ref().is_none_or(|now| now.angle < LYING);
        if !tilt.trust.at_rest || !lies {
            return;
        }
        let zero = self.zero.get_or_insert(Zero {
            up,
            earth_from_sensor: tilt.earth_from_sensor,
        });
        let share = (dt_s / ZERO_S).min(1.0);
        zero.up = (zero.up + (up - zero.up) * share).normalize();
        zero.earth_from_sensor = tilt.earth_from_sensor;
    }

    fn read(&mut self, settings: &Settings) -> Option<Reading> {
        let state = self.state.as_ref()?;
        let tilt = state.output(&self.coeffs);
        let t_s = state.t_s();
        let learned = self.turned_rad > LEARNED_RAD;
        let angle_rad = self
            .zero
            .map_or(0.0, |zero| self.angle_rad(zero, &tilt, learned));
        match self.before {
            Some((before_rad, before_s)) if t_s - before_s >= RATE_S => {
                self.rate_rad_s = (angle_rad - before_rad) / (t_s - before_s);
                self.before = Some((angle_rad, t_s));
            }
            None => self.before = Some((angle_rad, t_s)),
            Some(_) => {}
        }
        let angle = Angle::from_radians(angle_rad);
        let axis = if learned { AXIS_LEARNED } else { AXIS_UNKNOWN };
        let scale = self.limits.gyro_scale / 3.0_f64.sqrt();
        let budget = Budget::default()
            .with(
                Source::Sensor,
                Angle::from_radians(tilt.tilt_sd_rad.hypot(scale * angle_rad)),
            )
            .with(Source::Alignment, angle * axis)
            .with(Source::Flesh, settings.flesh * std::f64::consts::SQRT_2);
        let mut flags = Vec::new();
        if tilt.trust.after_gap {
            flags.push(Flag::GapNearPeak);
        }
        Some(Reading {
            t_s,
            side: self.side,
            angle,
            expanded: budget.expanded(),
            state: self.doing(&tilt, angle),
            flags,
        })
    }

    /// The raise angle with what is known of its axis: see the final one in `raise::trace`.
    fn angle_rad(&self, zero: Zero, tilt: &TiltOutput, learned: bool) -> f64 {
        let up = tilt.earth_from_sensor.inverse() * Vector3::z();
        let plain = zero.up.cross(&up).norm().atan2(zero.up.dot(&up));
        let eigen = SymmetricEigen::new(self.turning);
        let axis: Vector3<f64> = eigen.eigenvectors.column(eigen.eigenvalues.imax()).into();
        let level = axis - zero.up * axis.dot(&zero.up);
        let Some(axis) = level.try_normalize(0.3).filter(|_| learned) else {
            return plain;
        };
        let distal = zero.up.cross(&axis);
        let forward = zero.earth_from_sensor * distal;
        let foot = tilt.earth_from_sensor * distal;
        // Which way along the leg the foot is isn't known of an axis; but a lying leg can only rise.
        foot.z.atan2(foot.dot(&forward)).abs()
    }

    fn doing(&self, tilt: &TiltOutput, angle: Angle) -> RaiseState {
        if self.zero.is_none() || tilt.trust.settling {
            RaiseState::Settling
        } else if angle < LYING && self.rate_rad_s.abs() < MOVING_RAD_S {
            RaiseState::Resting
        } else if self.rate_rad_s > MOVING_RAD_S {
            RaiseState::Rising
        } else if self.rate_rad_s < -MOVING_RAD_S {
            RaiseState::Lowering
        } else {
            RaiseState::Top
        }
    }
}

/// A leg below this angle may be lying.
const LYING: Angle = Angle::from_degrees(5.0);
