//! What is to happen in a simulated run: every number that can be chosen.

use crate::{Conditions, Placement, RecordingId, Side};

use super::faults::Fault;
use super::unit::Unit;

/// How the person lies or sits.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Posture {
    /// On the back, legs straight.
    #[default]
    Supine,
    /// On a high seat, shins hanging: the thigh stays, the shin goes from hanging towards level.
    Seated,
    /// Face down: the straight leg is lifted backwards.
    Prone,
}

/// What gives way during a raise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CompensationKind {
    /// The other knee bends: its shin slopes down to the foot.
    OppositeDown,
    /// The other leg is lifted, straight.
    OppositeUp,
    /// The raised knee bends: the thigh goes on above the shin.
    Knee,
    /// The pelvis tilts back beyond what it always does.
    Pelvis,
}

/// A compensation in one raise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CompensationPlan {
    /// What gives way.
    pub kind: CompensationKind,
    /// Raise angle at which it begins, degrees.
    pub at_deg: f64,
    /// How far it goes, degrees, if the raise lasts long enough.
    pub extent_deg: f64,
    /// Its speed, deg/s, reached within 0.2 s.
    pub rate_deg_s: f64,
}

/// The heel meeting the mat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Landing {
    /// Greatest specific force at the shin sensor, gravity in it, m/s².
    pub peak_m_s2: f64,
    /// How long the stop takes, s.
    pub stop_s: f64,
}

/// One raise. Angles are of the shin, above where it rested.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RaisePlan {
    /// The leg; the scenario's if `None`.
    pub side: Option<Side>,
    /// Lying still before it, s.
    pub rest_before_s: f64,
    /// Where the leg comes to hold, degrees.
    pub top_deg: f64,
    /// From leaving the rest to the greatest height, s; 10 to 90 % takes 0.47 of it.
    pub up_s: f64,
    /// At the top, s.
    pub hold_s: f64,
    /// From the top to the rest, s.
    pub down_s: f64,
    /// Beyond the top before it settles there, degrees.
    pub overshoot_deg: f64,
    /// Sinking during the hold, degrees.
    pub sag_deg: f64,
    /// Slow swaying while it is up, standard deviation, degrees; a little fast trembling comes with it.
    pub tremor_deg: f64,
    /// The leg turns about its own axis on the way up and back on the way down, degrees.
    pub axial_turn_deg: f64,
    /// The plane of the raise leans from the vertical, outwards positive, degrees.
    pub lean_deg: f64,
    /// Greatest counter-rotation of the other shin, foot end down, while the leg goes up, degrees.
    pub sway_deg: f64,
    /// How much higher the shin rests afterwards, degrees.
    pub rest_step_deg: f64,
    /// How far to the side it rests afterwards, degrees.
    pub rest_turn_deg: f64,
    /// How the heel lands; softly if `None`.
    pub landing: Option<Landing>,
    /// What gives way, if anything does.
    pub compensation: Option<CompensationPlan>,
    /// Raise angle at which a pull is felt, degrees.
    pub pull_at_deg: Option<f64>,
    /// Raise angle at which the client says stop, degrees.
    pub stop_at_deg: Option<f64>,
    /// From feeling to pressing, s.
    pub reaction_s: f64,
}

impl RaisePlan {
    /// A raise of a machine: up in 4 s, held 2 s, down in 3 s, nothing else.
    pub const fn smooth(top_deg: f64) -> Self {
        Self {
            side: None,
            rest_before_s: 2.0,
            top_deg,
            up_s: 4.0,
            hold_s: 2.0,
            down_s: 3.0,
            overshoot_deg: 0.0,
            sag_deg: 0.0,
            tremor_deg: 0.0,
            axial_turn_deg: 0.0,
            lean_deg: 0.0,
            sway_deg: 0.0,
            rest_step_deg: 0.0,
            rest_turn_deg: 0.0,
            landing: None,
            compensation: None,
            pull_at_deg: None,
            stop_at_deg: None,
            reaction_s: 0.25,
        }
    }
}

/// The person. Positions are (distal, anterior, rightward) from the joint above, pairs are left, right.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Body {
    /// Hip to knee, m.
    pub thigh_m: f64,
    /// Half the distance between the hips, m.
    pub hip_half_m: f64,
    /// Shin sensor from the knee, m.
    pub shin_sensor_m: [f64; 3],
    /// Thigh sensor from the hip, m.
    pub thigh_sensor_m: [f64; 3],
    /// Pelvis sensor from the middle between the hips, m.
    pub pelvis_sensor_m: [f64; 3],
    /// Slope of the resting shins, foot end up positive, degrees.
    pub shin_rest_deg: [f64; 2],
    /// How much higher the thighs slope than the shins at rest, degrees.
    pub knee_rest_deg: [f64; 2],
    /// Legs apart: direction of each seen from above, to the left positive, degrees.
    pub heading_deg: [f64; 2],
    /// Legs rolled about their own axis at rest, degrees.
    pub roll_deg: [f64; 2],
    /// Share of the raise that the pelvis follows.
    pub pelvis_share: f64,
    /// How far the hips travel for each radian of the pelvis, m.
    pub hip_travel_m: f64,
    /// What flesh adds to the turning of a strapped sensor during a raise, standard deviation, degrees.
    pub flesh_deg: f64,
    /// How far a thigh sensor drifts off the bone at 90°, degrees.
    pub thigh_drift_deg: f64,
    /// Rocking of pelvis and legs with the breath, degrees to either side.
    pub breathing_deg: f64,
    /// Breaths a second.
    pub breathing_hz: f64,
    /// Stirring of resting legs, standard deviation, degrees.
    pub unrest_deg: f64,
    /// Gravity where the person lies, m/s².
    pub gravity_m_s2: f64,
}

impl Body {
    /// A mannequin: no flesh, no breath, level legs, a pelvis that stays.
    pub const MANNEQUIN: Self = Self {
        thigh_m: 0.42,
        hip_half_m: 0.085,
        shin_sensor_m: [0.31, 0.045, 0.015],
        thigh_sensor_m: [0.29, 0.07, 0.02],
        pelvis_sensor_m: [-0.05, 0.09, 0.0],
        shin_rest_deg: [0.0; 2],
        knee_rest_deg: [0.0; 2],
        heading_deg: [0.0; 2],
        roll_deg: [0.0; 2],
        pelvis_share: 0.0,
        hip_travel_m: 0.0,
        flesh_deg: 0.0,
        thigh_drift_deg: 0.0,
        breathing_deg: 0.0,
        breathing_hz: 0.25,
        unrest_deg: 0.0,
        gravity_m_s2: 9.81,
    };
}

/// A whole simulated run. The same scenario gives the same run.
#[derive(Clone, Debug, PartialEq)]
pub struct Scenario {
    /// Everything left to chance in this run comes from it.
    pub seed: u64,
    /// How the sensors sit on the straps: the same number, the same mounting; `None`: along the bone.
    pub mount_seed: Option<u64>,
    /// Name of the run.
    pub id: RecordingId,
    /// When it was recorded, for the file.
    pub acquired: Option<String>,
    /// How the raises were done, for the file.
    pub conditions: Conditions,
    /// How the person lies.
    pub posture: Posture,
    /// The leg that is raised.
    pub side: Side,
    /// Where sensors are.
    pub sensors: Vec<Placement>,
    /// The raises, one after the other.
    pub raises: Vec<RaisePlan>,
    /// The person.
    pub body: Body,
    /// The make of the sensors.
    pub unit: Unit,
    /// Nominal rate, Hz.
    pub rate_hz: f64,
    /// Whether samples carry counter, device clock and arrival.
    pub stamped: bool,
    /// Whether marks say which leg.
    pub marks_say_side: bool,
    /// Lying still at the start, s, besides the first raise's own rest.
    pub initial_rest_s: f64,
    /// Lying still at the end, s.
    pub final_rest_s: f64,
    /// What goes wrong, in the order in which it is done to the samples.
    pub faults: Vec<Fault>,
}

impl Scenario {
    /// A mannequin with perfect sensors on both shins: the place to start for a scenario of one's own.
    pub fn quiet(side: Side, raises: Vec<RaisePlan>) -> Self {
        Self {
            seed: 1,
            mount_seed: None,
            id: RecordingId {
                task: "legraise".to_owned(),
                ..RecordingId::default()
            },
            acquired: None,
            conditions: Conditions::default(),
            posture: Posture::Supine,
            side,
            sensors: vec![Placement::ShinLeft, Placement::ShinRight],
            raises,
            body: Body::MANNEQUIN,
            unit: Unit::PERFECT,
            rate_hz: 100.0,
            stamped: false,
            marks_say_side: true,
            initial_rest_s: 1.0,
            final_rest_s: 2.0,
            faults: Vec::new(),
        }
    }
}
