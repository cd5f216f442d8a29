//! The causal half: samples in as they come, provisional readings out. Results are made by
//! [`crate::analyse_run`] alone, from the whole run.

mod course;
mod unit;

use sensor::{MarkKind, Placement, Sample, Side, UnitLimits};

use crate::Angle;
use crate::analysis::{CompensationKind, Flag, Reason};
use crate::imu::Imu;
use crate::settings::Settings;
use crate::tilt::TiltOutput;
use crate::uncertainty::{Budget, Source};

use course::{Course, Point, Press};
use unit::{LYING, Unit};

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
    /// How high the other leg stands, where a sensor on its shin tells.
    pub other: Option<Angle>,
    /// How high the thigh of this leg stands, where a sensor tells.
    pub thigh: Option<Angle>,
    /// How far the pelvis has tilted from its rest, where a sensor tells.
    pub pelvis: Option<Angle>,
    /// End point of the raise, or of the last one, as soon as it is known.
    pub end: Option<LiveEnd>,
    /// What has given way in the raise, or in the last one.
    pub compensations: Vec<LiveCompensation>,
    /// What to beware of.
    pub flags: Vec<Flag>,
}

/// An end point as it is known during the raise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LiveEnd {
    /// Why.
    pub reason: Reason,
    /// When, s on the run's clock, reaction time taken off.
    pub t_s: f64,
    /// Raise angle then.
    pub angle: Angle,
    /// Whether it stands, as far as the past can tell. A hold may still be followed by more of the raise.
    pub is_settled: bool,
}

/// Another segment that has moved, as it is known during the raise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LiveCompensation {
    /// What gave way.
    pub kind: CompensationKind,
    /// When it had left its rest, s on the run's clock.
    pub onset_s: f64,
    /// The raise angle then.
    pub angle: Angle,
    /// Its own largest size so far.
    pub extent: Angle,
}

/// Below this rate a leg is not moving, rad/s.
const MOVING_RAD_S: f64 = 0.07;
/// The rate is that of the last tenths of a second, s.
const RATE_S: f64 = 0.15;
/// Part of the angle by which an axis that isn't learned yet may falsify it, and one that is.
const AXIS_UNKNOWN: f64 = 0.03;
const AXIS_LEARNED: f64 = 0.01;

/// A run as it happens.
#[derive(Clone, Debug)]
pub struct Trial {
    units: Vec<(Placement, Unit)>,
    legs: Vec<Leg>,
    settings: Settings,
}

/// One leg as it is followed.
#[derive(Clone, Debug)]
struct Leg {
    side: Side,
    /// Angle a moment ago and when, for the rate.
    before: Option<(f64, f64)>,
    rate_rad_s: f64,
    course: Course,
    now: Option<Reading>,
}

impl Trial {
    /// For sensors with their nominal rates, Hz, and limits.
    pub fn new(sensors: &[(Placement, f64, Option<UnitLimits>)], settings: &Settings) -> Self {
        let unit = |(placement, rate_hz, limits): &(Placement, f64, Option<UnitLimits>)| {
            let coeffs = settings.tilt.coeffs(*rate_hz);
            (
                *placement,
                Unit::new(coeffs, limits.unwrap_or(UnitLimits::PLAIN)),
            )
        };
        let has = |side: &Side| sensors.iter().any(|s| s.0 == Placement::shin(*side));
        Self {
            units: sensors.iter().map(unit).collect(),
            legs: Side::ALL.into_iter().filter(has).map(Leg::new).collect(),
            settings: settings.clone(),
        }
    }

    /// Takes one packet's samples. A reading for each packet of the leg that is up; while none is, of each leg.
    /// Samples that are not later than the one before are passed over.
    pub fn push(&mut self, placement: Placement, samples: &[Sample]) -> Option<Reading> {
        let (_, unit) = self.units.iter_mut().find(|(p, _)| *p == placement)?;
        unit.take(samples.iter().map(Imu::from));
        let index = self
            .legs
            .iter()
            .position(|leg| Placement::shin(leg.side) == placement)?;
        let reading = self.read(index)?;
        let mut others = self.legs.iter().filter(|leg| leg.side != reading.side);
        let other = others.find_map(|leg| leg.now.as_ref());
        let is_lower = other.is_some_and(|other| {
            other.angle > reading.angle && other.angle >= self.settings.raise_min
        });
        self.legs[index].now = Some(reading.clone());
        (!is_lower).then_some(reading)
    }

    /// Takes a mark, pressed at `t_s` of the run. One that isn't of a pull or a stop changes nothing.
    pub fn mark(&mut self, kind: MarkKind, side: Option<Side>, t_s: f64) {
        let reason = match kind {
            MarkKind::Pull => Reason::Pull,
            MarkKind::Stop => Reason::Stop,
            _ => return,
        };
        let angle = |leg: &Leg| leg.now.as_ref().map_or(0.0, |now| now.angle.radians());
        let of_side = self
            .legs
            .iter_mut()
            .filter(|leg| side.is_none_or(|side| side == leg.side));
        let highest = of_side.max_by(|a, b| angle(a).total_cmp(&angle(b)));
        if let Some(leg) = highest {
            leg.course.mark(Press { reason, t_s }, &self.settings);
        }
    }

    /// The last mark that ended a raise was none.
    pub fn withdraw(&mut self) {
        let marked_s = |leg: &Leg| leg.course.marked_s().unwrap_or(f64::NEG_INFINITY);
        let newest = self
            .legs
            .iter_mut()
            .max_by(|a, b| marked_s(a).total_cmp(&marked_s(b)));
        if let Some(leg) = newest.filter(|leg| leg.course.marked_s().is_some()) {
            leg.course.withdraw();
        }
    }

    fn unit(&self, placement: Placement) -> Option<&Unit> {
        let found = self.units.iter().find(|(p, _)| *p == placement);
        found.map(|(_, unit)| unit)
    }

    /// A unit that has lain still before.
    fn lain(&self, placement: Placement) -> Option<&Unit> {
        self.unit(placement).filter(|unit| unit.has_zero())
    }

    fn read(&mut self, index: usize) -> Option<Reading> {
        let side = self.legs[index].side;
        let unit = self.unit(Placement::shin(side))?;
        let (t_s, tilt) = unit.t_s().zip(unit.tilt())?;
        let angle_rad = unit.angle_rad();
        let angle = Angle::from_radians(angle_rad);
        let budget = budget(unit, &tilt, angle, &self.settings);
        let is_settling = !unit.has_zero() || tilt.trust.settling;
        let other = self.lain(Placement::shin(side.other()));
        let other_angle = other.map(|unit| Angle::from_radians(unit.angle_rad()));
        let thigh_rad = self.lain(Placement::thigh(side)).map(Unit::angle_rad);
        let pelvis = self.lain(Placement::Pelvis);
        let pelvis = pelvis.map(|unit| Angle::from_radians(unit.angle_rad()));
        let point = Point {
            t_s,
            angle_rad,
            other: other.map(Unit::turn),
            thigh_rad,
        };
        let leg = &mut self.legs[index];
        leg.turn(t_s, angle_rad);
        if !is_settling {
            leg.course.take(point, &self.settings);
        }
        let state = if is_settling {
            RaiseState::Settling
        } else {
            leg.doing(angle)
        };
        let is_after_gap = tilt.trust.after_gap;
        Some(Reading {
            t_s,
            side,
            angle,
            expanded: budget.expanded(),
            state,
            other: other_angle,
            thigh: thigh_rad.map(Angle::from_radians),
            pelvis,
            end: leg.course.end(),
            compensations: leg.course.compensations().to_vec(),
            flags: is_after_gap
                .then_some(Flag::GapNearPeak)
                .into_iter()
                .collect(),
        })
    }
}

/// What the angle may be off by.
fn budget(unit: &Unit, tilt: &TiltOutput, angle: Angle, settings: &Settings) -> Budget {
    let axis = if unit.has_axis() {
        AXIS_LEARNED
    } else {
        AXIS_UNKNOWN
    };
    let scale = unit.limits.gyro_scale / 3.0_f64.sqrt();
    Budget::default()
        .with(
            Source::Sensor,
            Angle::from_radians(tilt.tilt_sd_rad.hypot(scale * angle.radians())),
        )
        .with(Source::Alignment, angle * axis)
        .with(Source::Flesh, settings.flesh * std::f64::consts::SQRT_2)
}

impl Leg {
    fn new(side: Side) -> Self {
        Self {
            side,
            before: None,
            rate_rad_s: 0.0,
            course: Course::default(),
            now: None,
        }
    }

    /// Follows the rate.
    fn turn(&mut self, t_s: f64, angle_rad: f64) {
        match self.before {
            Some((_, before_s)) if t_s - before_s < RATE_S => return,
            Some((before_rad, before_s)) => {
                self.rate_rad_s = (angle_rad - before_rad) / (t_s - before_s);
            }
            None => {}
        }
        self.before = Some((angle_rad, t_s));
    }

    fn doing(&self, angle: Angle) -> RaiseState {
        if angle < LYING && self.rate_rad_s.abs() < MOVING_RAD_S {
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
