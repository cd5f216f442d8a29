//! The body in motion: where each bone and each strapped sensor is at any moment, in closed form.
//!
//! Earth frame: x where the feet point, y to the person's left side of the couch, z up. Bone frame: x along
//! the bone to the foot, z to the front, y to the left. A leg hangs on a hip centre that is carried by the
//! pelvis; the shin hangs on the knee. Nothing here is taken from the analysis, so that the analysis can be wrong.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use super::course::Course;
use super::random::{Random, Wander};
use super::scenario::{Body, Posture};
use super::vector::{Turn, Vector};
use crate::{Placement, Side};

/// Where a thing is and how it is turned.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pose {
    pub(super) position_m: Vector,
    pub(super) earth_from_it: Turn,
}

/// The courses of one leg, rad, besides the swing of its raises.
#[derive(Clone, Debug, Default)]
pub(super) struct Leg {
    /// Slope of the shin without the swing.
    pub(super) slope: Course,
    /// How much higher the thigh slopes than the shin.
    pub(super) knee: Course,
    pub(super) heading: Course,
    pub(super) roll: Course,
    pub(super) unrest: Wander,
}

/// One raise as it is carried out.
#[derive(Clone, Debug)]
pub(super) struct Swing {
    pub(super) side: Side,
    pub(super) begin_s: f64,
    pub(super) down_s: f64,
    pub(super) end_s: f64,
    /// Swing of the shin, rad.
    pub(super) course: Course,
    pub(super) tremor: Wander,
    /// How much of the tremor and of the flesh's wobble there is: one at the top, nought at rest.
    pub(super) gate: Course,
    /// Axis of the swing, in the frame whose x is the resting leg's heading.
    pub(super) axis: Vector,
}

impl Swing {
    fn rad(&self, t_s: f64) -> f64 {
        self.course.at(t_s) + self.tremor.at(t_s) * self.gate.at(t_s)
    }
}

/// A sensor on its strap.
#[derive(Clone, Debug)]
pub(super) struct Strap {
    pub(super) placement: Placement,
    pub(super) bone_from_sensor: Turn,
    /// The strap's slip: when it begins, and its rotation in the bone's frame.
    pub(super) slip: Option<(f64, Vector)>,
    /// Turning with the sine and with the versed sine of the segment's elevation, rad.
    flesh: [Vector; 2],
    wobble: [Wander; 3],
}

impl Strap {
    pub(super) fn new(
        placement: Placement,
        bone_from_sensor: Turn,
        body: &Body,
        random: &mut Random,
    ) -> Self {
        // Two thirds of the variance hang on gravity's direction, the rest wobbles.
        let flesh_sd = body.flesh_deg.to_radians() * 0.8;
        let wobble_sd = body.flesh_deg.to_radians() * 0.6;
        let mut with_sine = random.normal_vector(flesh_sd);
        let versed = random.normal_vector(flesh_sd * 0.6);
        if matches!(placement, Placement::ThighLeft | Placement::ThighRight) {
            with_sine = with_sine + Vector::RIGHT * body.thigh_drift_deg.to_radians();
        }
        let mut wobble = || Wander::drawn(random, wobble_sd, 0.3, 2.0);
        let wobble = [wobble(), wobble(), wobble()];
        Self {
            placement,
            bone_from_sensor,
            slip: None,
            flesh: [with_sine, versed],
            wobble,
        }
    }

    /// The sensor seen from the bone, the segment being `elevation_rad` above its rest.
    fn bone_from_sensor(&self, t_s: f64, elevation_rad: f64, gate: f64) -> Turn {
        let [x, y, z] = &self.wobble;
        let wobble = Vector::new(x.at(t_s), y.at(t_s), z.at(t_s)) * gate;
        let hanging =
            self.flesh[0] * elevation_rad.sin() + self.flesh[1] * (1.0 - elevation_rad.cos());
        let mut turn = Turn::by(hanging + wobble);
        if let Some((at_s, rotation)) = self.slip {
            let mut course = Course::new(0.0);
            course.step(at_s, 0.3, 1.0);
            turn = turn * Turn::by(rotation * course.at(t_s));
        }
        turn * self.bone_from_sensor
    }
}

/// The whole body over the whole run.
#[derive(Clone, Debug)]
pub struct Motion {
    pub(super) posture: Posture,
    pub(super) body: Body,
    /// Left, right.
    pub(super) legs: [Leg; 2],
    pub(super) swings: Vec<Swing>,
    /// Pelvis tilt beyond what follows the raises, rad.
    pub(super) pelvis_extra: Course,
    pub(super) breath_phase: f64,
    pub(super) straps: Vec<Strap>,
    pub(super) duration_s: f64,
}

pub(super) const fn index(side: Side) -> usize {
    match side {
        Side::Left => 0,
        Side::Right => 1,
    }
}

impl Motion {
    /// Length of the run, s.
    pub fn duration_s(&self) -> f64 {
        self.duration_s
    }

    /// The true orientation of a sensor (unit quaternion w, x, y, z, sensor to earth), flesh, strap and slip
    /// in it. `None` where there is no sensor.
    pub fn earth_from_sensor_wxyz(&self, placement: Placement, t_s: f64) -> Option<[f64; 4]> {
        let strap = self.straps.iter().find(|s| s.placement == placement)?;
        Some(self.sensor(strap, t_s).earth_from_it.wxyz())
    }

    /// The true orientation of a bone (unit quaternion w, x, y, z; bone: x distal, y left, z anterior).
    pub fn earth_from_bone_wxyz(&self, placement: Placement, t_s: f64) -> [f64; 4] {
        self.bone(placement, t_s, true).earth_from_it.wxyz()
    }

    /// The swing in progress of one leg.
    fn swing(&self, side: Side, t_s: f64) -> Option<&Swing> {
        self.swings
            .iter()
            .find(|s| s.side == side && t_s > s.begin_s && t_s < s.end_s)
    }

    fn breath(&self, t_s: f64) -> f64 {
        self.body.breathing_deg.to_radians()
            * (TAU * self.body.breathing_hz * t_s + self.breath_phase).sin()
    }

    /// The pelvis follows softly: by a fraction at first, by its full share beyond ten degrees or so.
    fn pelvis_rad(&self, t_s: f64, alive: bool) -> Vector {
        let softness_rad = 0.08_f64;
        let mut tilt = self.pelvis_extra.at(t_s);
        let mut roll = 0.0;
        if self.posture == Posture::Supine {
            for swing in self
                .swings
                .iter()
                .filter(|s| t_s > s.begin_s && t_s < s.end_s)
            {
                let followed =
                    self.body.pelvis_share * (swing.rad(t_s).hypot(softness_rad) - softness_rad);
                tilt += followed;
                roll += 0.12 * followed * if swing.side == Side::Left { -1.0 } else { 1.0 };
            }
        }
        if alive {
            tilt += self.breath(t_s);
        }
        Vector::RIGHT * tilt + Vector::X * roll
    }

    fn pelvis(&self, t_s: f64, alive: bool) -> Pose {
        let turn_rad = self.pelvis_rad(t_s, alive);
        let tilt = turn_rad.dot(Vector::RIGHT);
        let travel_m = Vector::new(-1.0, 0.1, 0.4) * (self.body.hip_travel_m * tilt);
        let lying = if self.posture == Posture::Prone {
            Turn::about(Vector::X, PI)
        } else {
            Turn::NONE
        };
        Pose {
            position_m: travel_m,
            earth_from_it: Turn::by(turn_rad) * lying,
        }
    }

    /// Orientation of thigh and shin of one leg.
    fn leg(&self, side: Side, t_s: f64, alive: bool) -> [Turn; 2] {
        let leg = &self.legs[index(side)];
        let swung = self
            .swing(side, t_s)
            .map_or(Turn::NONE, |s| Turn::about(s.axis, s.rad(t_s)));
        let heading = Turn::about(Vector::Z, leg.heading.at(t_s));
        let mut slope = leg.slope.at(t_s);
        if alive {
            slope += leg.unrest.at(t_s) + 0.3 * self.breath(t_s);
        }
        let knee = leg.knee.at(t_s);
        let mut roll = leg.roll.at(t_s);
        let pitched = |pitch_rad: f64| Turn::about(Vector::RIGHT, pitch_rad);
        match self.posture {
            Posture::Seated => {
                let rolled = Turn::about(Vector::X, roll);
                let shin = heading * swung * pitched(slope - 0.95 * FRAC_PI_2) * rolled;
                [heading * pitched(knee) * rolled, shin]
            }
            Posture::Supine | Posture::Prone => {
                if self.posture == Posture::Prone {
                    roll += PI;
                }
                // The foot's roll is spread along the leg; the knee passes on most of it.
                let thigh_roll = Turn::about(Vector::X, roll - 0.3 * leg.roll.at(t_s));
                let shin_roll = Turn::about(Vector::X, roll);
                let raised = heading * swung;
                [
                    raised * pitched(slope + knee) * thigh_roll,
                    raised * pitched(slope) * shin_roll,
                ]
            }
        }
    }

    /// A bone: its upper joint and its orientation. Without life there is no breath and no stirring.
    pub(super) fn bone(&self, placement: Placement, t_s: f64, alive: bool) -> Pose {
        let pelvis = self.pelvis(t_s, alive);
        let Some(side) = placement.side() else {
            return pelvis;
        };
        let sideways_m = if side == Side::Left {
            self.body.hip_half_m
        } else {
            -self.body.hip_half_m
        };
        // Lying face down, what was left is right: the pelvis turns its hips over by itself.
        let hip_m = pelvis.position_m
            + pelvis
                .earth_from_it
                .rotate(Vector::new(0.0, sideways_m, 0.0));
        let [thigh, shin] = self.leg(side, t_s, alive);
        if placement == Placement::thigh(side) {
            return Pose {
                position_m: hip_m,
                earth_from_it: thigh,
            };
        }
        let knee_m = hip_m + thigh.rotate(Vector::X * self.body.thigh_m);
        Pose {
            position_m: knee_m,
            earth_from_it: shin,
        }
    }

    /// A sensor: its place in space and its orientation, flesh and strap in it.
    pub(super) fn sensor(&self, strap: &Strap, t_s: f64) -> Pose {
        let bone = self.bone(strap.placement, t_s, true);
        let swing = match strap.placement.side() {
            Some(side) => self.swing(side, t_s),
            None => self
                .swings
                .iter()
                .find(|s| t_s > s.begin_s && t_s < s.end_s),
        };
        let (elevation_rad, gate) = swing.map_or((0.0, 0.0), |s| (s.rad(t_s), s.gate.at(t_s)));
        let share = if strap.placement == Placement::Pelvis {
            self.body.pelvis_share
        } else {
            1.0
        };
        let offset = Vector::of_segment(match strap.placement {
            Placement::ShinLeft | Placement::ShinRight => self.body.shin_sensor_m,
            Placement::ThighLeft | Placement::ThighRight => self.body.thigh_sensor_m,
            Placement::Pelvis => self.body.pelvis_sensor_m,
        });
        Pose {
            position_m: bone.position_m + bone.earth_from_it.rotate(offset),
            earth_from_it: bone.earth_from_it
                * strap.bone_from_sensor(t_s, elevation_rad * share, gate * share),
        }
    }

    /// The raise angle at a moment, by its definition: with `h` the horizontal heading of the leg as it
    /// rested before the raise and `d` the direction fixed in the bone that lay along it, atan2(d·up, d·h).
    pub(super) fn raise_deg(&self, swing: &Swing, t_s: f64, part: Part<'_>) -> f64 {
        let placement = Placement::shin(swing.side);
        let rest = self.bone(placement, swing.begin_s, false).earth_from_it;
        let heading = Turn::about(
            Vector::Z,
            self.legs[index(swing.side)].heading.at(swing.begin_s),
        );
        let along = heading.rotate(Vector::X);
        let (now, fixed) = match part {
            Part::Bone => (
                self.bone(placement, t_s, true).earth_from_it,
                rest.back().rotate(along),
            ),
            Part::Strapped(strap) => {
                // At rest flesh adds nothing, so that the sensor's own rest is the bone's.
                let sensor_from_bone = strap.bone_from_sensor(swing.begin_s, 0.0, 0.0).back();
                let fixed = sensor_from_bone.rotate(rest.back().rotate(along));
                (self.sensor(strap, t_s).earth_from_it, fixed)
            }
            Part::NetAxis(axis) => {
                let square = Vector::Z.cross(axis).unit_or(along);
                let square = if square.dot(along) < 0.0 {
                    -square
                } else {
                    square
                };
                let now = self.bone(placement, t_s, true).earth_from_it;
                let d = now.rotate(rest.back().rotate(square));
                return d.dot(Vector::Z).atan2(d.dot(square)).to_degrees();
            }
        };
        let d = now.rotate(fixed);
        d.dot(Vector::Z).atan2(d.dot(along)).to_degrees()
    }
}

/// Of what a raise angle is told.
#[derive(Clone, Copy, Debug)]
pub(super) enum Part<'a> {
    Bone,
    Strapped(&'a Strap),
    /// Of the bone, but with `d` square to this axis (earth frame) instead of along the leg.
    NetAxis(Vector),
}
