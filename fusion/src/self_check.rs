//! Does a unit agree with itself? Looked at while it is being strapped on: lying still it must feel gravity, and from
//! one still moment to the next its gyroscope must carry gravity to where its accelerometer then feels it.
//!
//! Turned axes, a rate in other units or a broken chip show here, before anything is measured. What an accelerometer
//! that is inverted as a whole does not show: it makes no difference to a raise angle.

use std::collections::VecDeque;

use nalgebra::{UnitQuaternion, Vector3};
use sensor::Sample;

use crate::Angle;
use crate::imu::{Imu, turned};

/// A moment is still for so long, s.
const STILL_S: f64 = 0.4;
/// Samples of it that are kept: more than any unit sends.
const KEPT_MAX: usize = 1024;
/// Scatter of a still unit about its mean.
const STILL_RAD_S: f64 = 0.05;
const STILL_M_S2: f64 = 0.35;
/// A steady rate up to this may be a bias, or a leg that is held up and sinks a little.
const SLOW_RAD_S: f64 = 0.1;
/// Less of a turn says nothing.
const TURN: Angle = Angle::from_degrees(8.0);
/// Gravity, m/s², and how far a usable unit may be off it: twice what a plain one is allowed.
const GRAVITY_M_S2: f64 = 9.806_65;
const GRAVITY_OFF_M_S2: f64 = 0.4;
/// How far the two may disagree: at any turn, and a part of the turn.
const OFF: Angle = Angle::from_degrees(3.0);
const OFF_PART: f64 = 0.05;

/// What a unit has shown of itself so far.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Agreement {
    /// Specific force while still, m/s²; `None` before it lay still.
    pub still_m_s2: Option<f64>,
    /// The last turn between two still moments, and by how much the gyroscope led elsewhere than gravity was felt.
    pub turn: Option<(Angle, Angle)>,
}

impl Agreement {
    /// Whether gravity has its length; `None` before it lay still.
    pub fn feels_gravity(&self) -> Option<bool> {
        let off_m_s2 = (self.still_m_s2? - GRAVITY_M_S2).abs();
        Some(off_m_s2 < GRAVITY_OFF_M_S2)
    }

    /// Whether gyroscope and accelerometer tell of the same turn; `None` before it was turned.
    pub fn turns_alike(&self) -> Option<bool> {
        let (turn, off) = self.turn?;
        Some(off < OFF + turn * OFF_PART)
    }
}

/// Follows one unit.
#[derive(Clone, Debug, Default)]
pub struct SelfCheck {
    recent: VecDeque<Imu>,
    from: Option<Still>,
    /// Of the calmest moment so far: a leg that is held up sinks a little, and its rate is no bias.
    calmest: Option<Still>,
    /// From the last still moment on.
    carried: UnitQuaternion<f64>,
    shown: Agreement,
}

/// A still moment: means of what was felt.
#[derive(Clone, Copy, Debug)]
struct Still {
    accel_m_s2: Vector3<f64>,
    gyro_rad_s: Vector3<f64>,
    /// Scatter of the rate.
    scatter_rad_s: f64,
}

impl SelfCheck {
    /// Takes samples in order of time; one that isn't later than the one before is passed over.
    pub fn push(&mut self, samples: &[Sample]) {
        for imu in samples.iter().map(Imu::from) {
            self.one(imu);
        }
    }

    /// What was shown so far.
    pub const fn shown(&self) -> Agreement {
        self.shown
    }

    fn one(&mut self, imu: Imu) {
        if let Some(last) = self.recent.back() {
            let since_s = imu.t_s - last.t_s;
            if since_s <= 0.0 {
                return;
            }
            if STILL_S < since_s {
                // Nobody knows how it turned in a hole.
                self.recent.clear();
                self.from = None;
            } else if let Some(calmest) = self.calmest {
                let rate = imu.gyro_rad_s - calmest.gyro_rad_s;
                self.carried = turned(&self.carried, rate, since_s);
            }
        }
        self.recent.push_back(imu);
        while KEPT_MAX < self.recent.len() {
            self.recent.pop_front();
        }
        let Some(still) = self.still() else {
            return;
        };
        self.shown.still_m_s2 = Some(still.accel_m_s2.norm());
        if let Some(from) = self.from {
            let led = self.carried.inverse() * from.accel_m_s2;
            let [by_gyro, by_gravity, off] = [
                (from.accel_m_s2, led),
                (from.accel_m_s2, still.accel_m_s2),
                (led, still.accel_m_s2),
            ]
            .map(|(a, b)| Angle::from_radians(a.cross(&b).norm().atan2(a.dot(&b))));
            let turn = if by_gravity < by_gyro {
                by_gyro
            } else {
                by_gravity
            };
            if TURN < turn {
                self.shown.turn = Some((turn, off));
            }
        }
        self.from = Some(still);
        self.carried = UnitQuaternion::identity();
        let is_calmer = |known: Still| still.scatter_rad_s < known.scatter_rad_s;
        if self.calmest.is_none_or(is_calmer) {
            self.calmest = Some(still);
        }
        // The newest one is kept: the next is carried on from it.
        self.recent.drain(..self.recent.len() - 1);
    }

    /// The means, once the unit has been still for long enough. What has moved is dropped from the front.
    fn still(&mut self) -> Option<Still> {
        let newest_s = self.recent.back()?.t_s;
        if newest_s - self.recent.front()?.t_s < STILL_S {
            return None;
        }
        let count = self.recent.len() as f64;
        let sum = |of: fn(&Imu) -> Vector3<f64>| self.recent.iter().map(of).sum::<Vector3<f64>>();
        let accel_m_s2 = sum(|imu| imu.accel_m_s2) / count;
        let gyro_rad_s = sum(|imu| imu.gyro_rad_s) / count;
        let scatter = |of: fn(&Imu) -> Vector3<f64>, mean: Vector3<f64>| {
            let squares = self
                .recent
                .iter()
                .map(|imu| (of(imu) - mean).norm_squared());
            (squares.sum::<f64>() / count).sqrt()
        };
        let scatter_rad_s = scatter(|imu| imu.gyro_rad_s, gyro_rad_s);
        let is_still = scatter_rad_s < STILL_RAD_S
            && scatter(|imu| imu.accel_m_s2, accel_m_s2) < STILL_M_S2
            && gyro_rad_s.norm() < SLOW_RAD_S;
        if is_still {
            return Some(Still {
                accel_m_s2,
                gyro_rad_s,
                scatter_rad_s,
            });
        }
        self.recent.pop_front();
        None
    }
}

#[cfg(test)]
mod tests {
    use sensor::Placement;
    use sensor::synthetic::{Scenario, simulate};

    use super::*;

    /// The raised shin's samples of slow raises.
    fn raised(seed: u64) -> Vec<Sample> {
        let scenario = Scenario::slow(seed);
        let run = simulate(&scenario).run;
        let track = run.track(Placement::shin(scenario.side)).unwrap();
        track.samples.clone()
    }

    /// What a unit that was changed like this has shown after slow raises.
    fn shown(change: impl Fn(&mut Sample)) -> Agreement {
        let mut samples = raised(2);
        samples.iter_mut().for_each(change);
        let mut check = SelfCheck::default();
        for packet in samples.chunks(7) {
            check.push(packet);
        }
        check.shown()
    }

    #[test]
    fn good_units_agree_with_themselves() {
        for seed in 0..40 {
            let mut check = SelfCheck::default();
            check.push(&raised(seed));
            let shown = check.shown();
            assert_eq!(shown.feels_gravity(), Some(true), "{seed}: {shown:?}");
            assert_eq!(shown.turns_alike(), Some(true), "{seed}: {shown:?}");
        }
    }

    #[test]
    fn turned_axes_other_units_and_a_wrong_scale_show() {
        let turned = shown(|s| s.gyro_rad_s.swap(0, 1));
        let mirrored = shown(|s| s.gyro_rad_s = s.gyro_rad_s.map(|v| -v));
        let degrees = shown(|s| s.gyro_rad_s = s.gyro_rad_s.map(f32::to_radians));
        for shown in [turned, mirrored, degrees] {
            assert_eq!(shown.turns_alike(), Some(false), "{shown:?}");
        }
        let in_g = shown(|s| s.accel_m_s2 = s.accel_m_s2.map(|v| v / 9.81));
        assert_eq!(in_g.feels_gravity(), Some(false), "{in_g:?}");
    }

    #[test]
    fn nothing_is_said_before_it_was_still_or_turned() {
        let shown = SelfCheck::default().shown();
        assert_eq!((shown.feels_gravity(), shown.turns_alike()), (None, None));
        let mut check = SelfCheck::default();
        check.push(&raised(2)[..100]);
        assert_eq!(check.shown().turns_alike(), None);
    }
}
