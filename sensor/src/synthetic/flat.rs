//! Units laid still on a table, face after face.

use crate::{Face, Mark, MarkKind, Placement, Run, RunTime};

use super::body::Pose;
use super::course::Course;
use super::faults::Fault;
use super::random::Random;
use super::scenario::Scenario;
use super::vector::{Turn, Vector};

/// How a flat recording is made.
#[derive(Clone, Debug, PartialEq)]
pub struct FlatPlan {
    /// The `run-` label.
    pub run: Option<String>,
    /// Which faces, in this order.
    pub faces: Vec<Face>,
    /// How long on each, s.
    pub face_s: f64,
    /// Turning from one to the next, s.
    pub turning_s: f64,
    /// Slope of the table, degrees.
    pub table_slope_deg: f64,
    /// How far chip and case are out of line, standard deviation by axis, degrees; the same for a unit always.
    pub case_deg: f64,
}

impl FlatPlan {
    /// These faces, 3 s each, on an ordinary table.
    pub const fn of(faces: Vec<Face>) -> Self {
        Self {
            run: None,
            faces,
            face_s: 3.0,
            turning_s: 1.2,
            table_slope_deg: 0.6,
            case_deg: 0.3,
        }
    }
}

/// The flat recording of a scenario's units: same pieces, same offsets and scales, own noise and bias.
/// Of the faults only rounding is done to it.
pub fn simulate_flat(scenario: &Scenario, plan: &FlatPlan) -> Run {
    let seed = scenario.seed ^ 0x00F1_A700;
    let mut random = Random::new(seed, 2);
    let slope = Turn::about(
        Vector::new(random.normal(1.0), random.normal(1.0), 0.0).unit_or(Vector::X),
        plan.table_slope_deg.to_radians(),
    );
    let turns: Vec<Turn> = plan
        .faces
        .iter()
        .map(|face| slope * spun_upright(up_in_case(*face), &mut random))
        .collect();

    let every_s = plan.face_s + plan.turning_s;
    let (mut progress, mut lift_m) = (Course::new(0.0), Course::new(0.0));
    for i in 1..turns.len() {
        let start_s = every_s * i as f64 - plan.turning_s;
        progress.step(start_s, plan.turning_s, 1.0);
        lift_m.bump(start_s, plan.turning_s, 0.08);
    }
    let duration_s = every_s * turns.len() as f64 - plan.turning_s;

    let pose = |placement: Placement, t_s: f64| {
        let case_from_chip = Random::new(scenario.unit.seed, 0x0600 + placement as u64)
            .normal_vector(plan.case_deg.to_radians());
        let turned = between(&turns, progress.at(t_s));
        Pose {
            position_m: Vector::Z * lift_m.at(t_s),
            earth_from_it: turned * Turn::by(case_from_chip),
        }
    };
    let mut tracks = super::record(scenario, seed, duration_s, &pose);
    for fault in scenario
        .faults
        .iter()
        .filter(|fault| matches!(fault, Fault::Quantised { .. }))
    {
        super::faults::apply(fault, &mut tracks, None, &[], seed);
    }
    let mut id = scenario.id.clone();
    "flat".clone_into(&mut id.task);
    id.run.clone_from(&plan.run);
    Run {
        id,
        acquired: scenario.acquired.clone(),
        conditions: crate::Conditions::default(),
        tracks,
        marks: marks(plan, every_s),
    }
}

fn up_in_case(face: Face) -> Vector {
    let [x, y, z] = face.up();
    Vector::new(x, y, z)
}

/// Brings a direction of the case up; which way round the unit then lies is chance.
fn spun_upright(up: Vector, random: &mut Random) -> Turn {
    let spin = Turn::about(Vector::Z, random.between(0.0, std::f64::consts::TAU));
    let across = up.cross(Vector::Z);
    let angle_rad = across.norm().atan2(up.dot(Vector::Z));
    spin * Turn::about(across.unit_or(Vector::X), angle_rad)
}

fn between(turns: &[Turn], progress: f64) -> Turn {
    let whole = progress.floor().max(0.0);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a small count, not negative"
    )]
    let i = whole as usize;
    match (turns.get(i), turns.get(i + 1)) {
        (Some(&from), Some(&to)) => {
            from * Turn::by((from.back() * to).rotation_rad() * (progress - whole))
        }
        _ => turns.last().copied().unwrap_or(Turn::NONE),
    }
}

fn marks(plan: &FlatPlan, every_s: f64) -> Vec<Mark> {
    // Noted a little after the unit was put down, and ended before it is taken up.
    let margin_s = 0.1 * plan.face_s;
    let mark = |(i, face): (usize, &Face)| {
        Some(Mark {
            at: RunTime::from_s(every_s * i as f64 + margin_s)?,
            duration_s: Some(plan.face_s - 2.0 * margin_s),
            kind: MarkKind::Flat,
            side: None,
            value: face.as_str().to_owned(),
        })
    };
    plan.faces.iter().enumerate().filter_map(mark).collect()
}
