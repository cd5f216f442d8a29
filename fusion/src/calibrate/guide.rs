//! While a unit is laid on its faces: whether it lies still, on which face, and which are done.

use std::collections::VecDeque;

use nalgebra::Vector3;
use sensor::{Face, Sample};

use super::{FACE_SHARE, mean, still};
use crate::Angle;
use crate::imu::Imu;

/// A face is done when the unit has lain on it still for so long, s: three times what the fit asks.
pub const FACE_HOLD_S: f64 = 3.0;
/// Stillness is judged over the last half second.
const WINDOW_S: f64 = 0.5;
/// No window holds more samples.
const WINDOW_MAX: usize = 2048;

/// How many faces are asked for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum FacesWanted {
    /// Two opposite ones.
    Pair,
    /// All six.
    #[default]
    Six,
}

/// Follows one unit from face to face.
#[derive(Clone, Debug, Default)]
pub struct Guide {
    wanted: FacesWanted,
    window: VecDeque<Imu>,
    /// The face it lies on still, and since when, s.
    lying: Option<(Face, f64)>,
    now: GuideNow,
}

/// How far it is.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct GuideNow {
    /// Whether the unit lies still.
    pub is_still: bool,
    /// The face that points up, if one clearly does.
    pub face: Option<Face>,
    /// How far that face leans from level.
    pub lean: Angle,
    /// For how long it has lain still on this face, s.
    pub still_s: f64,
    /// Mean length of the specific force over the last half second, m/s²: gravity, if the unit lies still and
    /// its numbers are read right.
    pub force_m_s2: f64,
    /// Faces that are done, in the order they were.
    pub done: Vec<Face>,
}

impl Guide {
    /// A guide that has seen nothing yet.
    pub fn new(wanted: FacesWanted) -> Self {
        Self {
            wanted,
            ..Self::default()
        }
    }

    /// Whether all that is asked for is done.
    pub fn is_enough(&self) -> bool {
        let done = &self.now.done;
        match self.wanted {
            FacesWanted::Pair => done.iter().any(|face| done.contains(&face.opposite())),
            FacesWanted::Six => done.len() == Face::ALL.len(),
        }
    }

    /// How far it is.
    pub fn now(&self) -> GuideNow {
        self.now.clone()
    }

    /// Takes samples in order of time. A face that has been done with them is returned once.
    pub fn push(&mut self, samples: &[Sample]) -> Option<Face> {
        let newest_s = samples.last()?.at.s();
        for sample in samples {
            if self.window.len() == WINDOW_MAX {
                self.window.pop_front();
            }
            self.window.push_back(Imu::from(sample));
        }
        while self
            .window
            .front()
            .is_some_and(|i| i.t_s < newest_s - WINDOW_S)
        {
            self.window.pop_front();
        }
        let imus = self.window.make_contiguous();
        let spans = imus
            .first()
            .is_some_and(|i| WINDOW_S * 0.8 <= newest_s - i.t_s);
        let up = mean(imus, |i| i.accel_m_s2);
        self.now.is_still = spans && still(imus);
        self.now.force_m_s2 = up.norm();
        self.now.face = face_up(up);
        let of_face = |face: Face| Vector3::from(face.up());
        let lean_rad = |face| {
            of_face(face)
                .cross(&up)
                .norm()
                .atan2(of_face(face).dot(&up))
        };
        self.now.lean = Angle::from_radians(self.now.face.map_or(0.0, lean_rad));
        let Some(face) = self.now.face.filter(|_| self.now.is_still) else {
            self.lying = None;
            self.now.still_s = 0.0;
            return None;
        };
        let since_s = match self.lying {
            Some((before, since_s)) if before == face => since_s,
            _ => newest_s - WINDOW_S,
        };
        self.lying = Some((face, since_s));
        self.now.still_s = newest_s - since_s;
        let is_done = FACE_HOLD_S <= self.now.still_s && !self.now.done.contains(&face);
        is_done.then(|| {
            self.now.done.push(face);
            face
        })
    }
}

/// The face that points up, if that axis feels nearly all of gravity.
fn face_up(force: Vector3<f64>) -> Option<Face> {
    Face::ALL
        .into_iter()
        .find(|face| FACE_SHARE * force.norm() < Vector3::from(face.up()).dot(&force))
}

#[cfg(test)]
mod tests {
    use sensor::synthetic::{FlatPlan, Scenario, simulate_flat};

    use super::*;

    #[test]
    fn every_face_is_done_once_and_in_order() {
        for seed in 1..=5 {
            let scenario = Scenario::slow(seed);
            let run = simulate_flat(&scenario, &FlatPlan::of(Face::ALL.to_vec()));
            let mut guide = Guide::default();
            let mut done = Vec::new();
            for packet in run.tracks[0].samples.chunks(7) {
                done.extend(guide.push(packet));
                let now = guide.now();
                assert!(
                    !now.is_still || (now.force_m_s2 - 9.81).abs() < 0.4,
                    "{now:?}"
                );
            }
            assert_eq!(done, Face::ALL, "seed {seed}");
            assert_eq!(guide.now().done, done);
            assert!(guide.is_enough());
        }
    }

    #[test]
    fn a_hand_that_holds_it_is_no_table() {
        let run = sensor::synthetic::simulate(&Scenario::brisk(2)).run;
        let mut guide = Guide::default();
        assert!(guide.push(&[]).is_none());
        let track = &run.tracks[0].samples;
        // Up in the air and moving there is no face.
        for packet in track.chunks(7) {
            guide.push(packet);
            let now = guide.now();
            assert!(now.is_still || now.still_s.abs() < 1e-12);
        }
    }
}
