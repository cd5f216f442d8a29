//! Which direction of the sensor points along the leg to the foot, learned from all raises of a run.
//!
//! At rest that direction is level; only its heading within the level plane is unknown. A wrong heading shows in every
//! raise: the direction swings aside on its way up, and the leg seems to turn about itself. People really do a little
//! of both, so the heading is the one that asks for least of them, each weighed by how much people do. High raises
//! tell it by the swing (near 90° only the true direction stays in its plane), low ones by the turning. Where the foot
//! was rolled in and out, the axis it rolled about says more than any of this.

use nalgebra::{UnitQuaternion, Vector3};

use crate::imu::rotation;

use super::rolled::Shown;

/// Standard deviation of the real swing aside at the top, rad.
const SWING_SD_RAD: f64 = 0.04;
/// Standard deviation of the real turning about the leg's own axis at the top, rad.
const TURN_SD_RAD: f64 = 0.07;
/// What else moves the direction aside (the gyroscope's heading, flesh), rad.
const ASIDE_SD_RAD: f64 = 0.035;
/// People repeat themselves: this part of the variance is common to all raises of a run.
const COMMON_SHARE: f64 = 0.2;
/// The principal axis of turning is not wronger than this, rad.
const HEADING_MAX_RAD: f64 = 0.35;
/// Least bend of the cost of all raises that is taken for one.
const CURVATURE_MIN: f64 = 1.0;
/// An axis further than this from the one the raises make likely, as a cosine, is not the leg's.
const SHOWN_ALONG_MIN: f64 = 0.85;

/// One raise as the alignment sees it.
#[derive(Clone, Debug)]
pub(crate) struct Lift {
    /// Up at rest, sensor axes.
    pub(crate) up_at_rest: Vector3<f64>,
    /// Orientation at rest.
    pub(crate) earth_from_rest: UnitQuaternion<f64>,
    /// Orientations near the top.
    pub(crate) earth_from_top: Vec<UnitQuaternion<f64>>,
}

/// The direction to the foot and how well its heading is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Alignment {
    /// Sensor axes, unit length.
    distal: Vector3<f64>,
    /// Standard deviation of its heading in the level plane, rad.
    pub(crate) heading_sd_rad: f64,
}

impl Alignment {
    /// The direction at a rest: level there. `None` if the leg stands upright at that "rest".
    pub(crate) fn distal_at(&self, up_at_rest: Vector3<f64>) -> Option<Vector3<f64>> {
        level(self.distal, up_at_rest)
    }
}

fn level(v: Vector3<f64>, up: Vector3<f64>) -> Option<Vector3<f64>> {
    (v - up * v.dot(&up)).try_normalize(0.1)
}

/// Learns the direction from the raises; `axis` is the axis about which turning raises the foot, sensor axes; `shown` is
/// the bone's, where the foot was rolled. `None` without a raise.
pub(crate) fn learn(lifts: &[Lift], axis: Vector3<f64>, shown: Option<Shown>) -> Option<Alignment> {
    let across = lifts
        .iter()
        .filter_map(|lift| level(lift.up_at_rest.cross(&axis), lift.up_at_rest))
        .sum::<Vector3<f64>>()
        .try_normalize(0.1)?;
    let up = lifts
        .iter()
        .map(|lift| lift.up_at_rest)
        .sum::<Vector3<f64>>()
        .try_normalize(0.1)?;
    // An axis has no sign; raises have.
    let rolled = shown.and_then(|shown| {
        let along = level(shown.axis * shown.axis.dot(&across).signum(), up)?;
        (along.dot(&across) >= SHOWN_ALONG_MIN).then_some((along, shown.sd_rad))
    });
    let (start, weight) = rolled.map_or((across, 0.0), |(along, sd_rad)| (along, sd_rad.powi(-2)));
    let turned = |heading_rad: f64| rotation(up * heading_rad) * start;
    // People repeat themselves, so raises together say less than as many strangers would.
    let count = lifts.len() as f64;
    let alike = COMMON_SHARE * count + 1.0 - COMMON_SHARE;
    let cost = |heading_rad: f64| {
        let strange: f64 = lifts
            .iter()
            .map(|lift| strangeness(lift, turned(heading_rad)))
            .sum();
        strange / alike + weight * heading_rad.powi(2)
    };
    // A parabola through three points, moved to its lowest, until it stays there.
    let (mut heading_rad, mut curvature) = (0.0, 0.0);
    let width = 0.03;
    for _ in 0..6 {
        let (left, here, right) = (
            cost(heading_rad - width),
            cost(heading_rad),
            cost(heading_rad + width),
        );
        curvature = ((left - 2.0 * here + right) / width.powi(2)).max(CURVATURE_MIN / alike);
        let step = 0.5 * (left - right) / width / curvature;
        heading_rad =
            (heading_rad + step.clamp(-0.1, 0.1)).clamp(-HEADING_MAX_RAD, HEADING_MAX_RAD);
        if step.abs() < 1e-4 {
            break;
        }
    }
    Some(Alignment {
        distal: turned(heading_rad),
        heading_sd_rad: (2.0 / curvature).sqrt().min(0.2),
    })
}

/// How much swing and turning a raise would have had if `distal` were the direction to the foot, in variances.
fn strangeness(lift: &Lift, distal: Vector3<f64>) -> f64 {
    let Some(distal) = level(distal, lift.up_at_rest) else {
        return 0.0;
    };
    let forward = lift.earth_from_rest * distal;
    let aside = Vector3::z().cross(&forward);
    let one = |top: &UnitQuaternion<f64>| {
        let raised = top * distal;
        let swing_sd = (SWING_SD_RAD * raised.dot(&forward)).hypot(ASIDE_SD_RAD);
        let turn = lift.earth_from_rest.inverse() * top;
        // Swing and twist: the part of the whole turn that is about the direction itself.
        let twist = 2.0 * turn.imag().dot(&distal).atan2(turn.w);
        let twist = twist - std::f64::consts::TAU * (twist / std::f64::consts::TAU).round();
        (raised.dot(&aside) / swing_sd).powi(2) + (twist / TURN_SD_RAD).powi(2)
    };
    lift.earth_from_top.iter().map(one).sum::<f64>() / lift.earth_from_top.len().max(1) as f64
}
