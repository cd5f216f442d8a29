//! From a scenario to a body in motion.

use super::body::{Leg, Motion, Strap, Swing, index};
use super::course::Course;
use super::faults::Fault;
use super::random::{Random, Wander};
use super::scenario::{CompensationKind, Landing, Posture, RaisePlan, Scenario};
use super::vector::{Turn, Vector};
use crate::Side;

/// How long a compensation takes to get to its speed, and to stop again, s.
const SOFT_S: f64 = 0.2;

/// A compensation as it is carried out.
#[derive(Clone, Debug)]
pub(super) struct Giving {
    pub(super) kind: CompensationKind,
    /// What the compensating segment does, rad, upwards positive whichever way it goes.
    pub(super) course: Course,
    pub(super) begin_s: f64,
}

/// Everything that a run's truth is read from; one `Giving` (or none) a swing.
pub(super) struct Staged {
    pub(super) motion: Motion,
    pub(super) givings: Vec<Option<Giving>>,
}

pub(super) fn stage(scenario: &Scenario) -> Staged {
    let mut random = Random::new(scenario.seed, 1);
    let mut motion = Motion {
        posture: scenario.posture,
        body: scenario.body,
        legs: Side::ALL.map(|side| resting_leg(scenario, side, &mut random)),
        swings: Vec::new(),
        pelvis_extra: Course::new(0.0),
        breath_phase: random.between(0.0, std::f64::consts::TAU),
        straps: straps(scenario),
        duration_s: 0.0,
    };
    let mut givings = Vec::new();
    let mut now_s = scenario.initial_rest_s;
    for plan in &scenario.raises {
        let swing = swing(scenario, plan, now_s + plan.rest_before_s, &mut random);
        now_s = swing.end_s;
        givings.push(add_raise(&mut motion, plan, &swing));
        motion.swings.push(swing);
    }
    motion.duration_s = now_s + scenario.final_rest_s;
    Staged { motion, givings }
}

fn resting_leg(scenario: &Scenario, side: Side, random: &mut Random) -> Leg {
    let (body, of_side) = (&scenario.body, index(side));
    let course = |deg: [f64; 2]| Course::new(deg[of_side].to_radians());
    Leg {
        slope: course(body.shin_rest_deg),
        knee: course(body.knee_rest_deg),
        heading: course(body.heading_deg),
        roll: course(body.roll_deg),
        unrest: Wander::drawn(random, body.unrest_deg.to_radians(), 0.1, 1.0),
    }
}

fn straps(scenario: &Scenario) -> Vec<Strap> {
    let mut straps = Vec::new();
    for &placement in &scenario.sensors {
        let stream = 0x0300 + placement as u64;
        let mounting = match scenario.mount_seed {
            Some(seed) => Random::new(seed, stream).orientation(),
            None => Turn::NONE,
        };
        // A strap that stays on keeps its flesh, too.
        let mut random = Random::new(
            scenario.mount_seed.unwrap_or(scenario.seed),
            stream + 0x0100,
        );
        let mut strap = Strap::new(placement, mounting, &scenario.body, &mut random);
        for fault in &scenario.faults {
            if let Fault::Slip {
                placement: slipping,
                at_s,
                angle_deg,
                about,
            } = *fault
                && slipping == placement
            {
                let axis = Vector::of_segment(about).unit_or(Vector::X);
                strap.slip = Some((at_s, axis * angle_deg.to_radians()));
            }
        }
        straps.push(strap);
    }
    straps
}

fn swing(scenario: &Scenario, plan: &RaisePlan, begin_s: f64, random: &mut Random) -> Swing {
    let side = plan.side.unwrap_or(scenario.side);
    let top_s = begin_s + plan.up_s;
    let down_s = top_s + plan.hold_s;
    let end_s = down_s + plan.down_s;
    let (top, over, sag) = (
        plan.top_deg.to_radians(),
        plan.overshoot_deg.to_radians(),
        plan.sag_deg.to_radians(),
    );

    let mut course = Course::new(0.0);
    course.step(begin_s, plan.up_s, top + over);
    let settle_from_s = begin_s + 0.9 * plan.up_s;
    let settle_s = (0.25 + 0.1 * plan.up_s).min(end_s - settle_from_s);
    course.step(settle_from_s, settle_s, -over);
    course.step(top_s, plan.hold_s.max(0.3 * plan.down_s), -sag);
    match plan.landing {
        Some(landing) => drop_leg(&mut course, scenario, plan, landing, down_s, top - sag),
        None => course.step(down_s, plan.down_s, -(top - sag)),
    }

    let mut gate = Course::new(0.0);
    gate.step(begin_s, plan.up_s, 1.0);
    gate.step(down_s, plan.down_s * 0.9, -1.0);
    let sd = plan.tremor_deg.to_radians();
    let tremor =
        Wander::drawn(random, sd, 0.2, 1.2).and(Wander::drawn(random, 0.05 * sd, 5.0, 9.0));

    // Outwards is to the left of the left leg and to the right of the right one.
    let lean = plan.lean_deg.to_radians() * if side == Side::Left { 1.0 } else { -1.0 };
    let axis = Vector::RIGHT * lean.cos() + Vector::Z * lean.sin();
    Swing {
        side,
        begin_s,
        down_s,
        end_s,
        course,
        tremor,
        gate,
        axis,
    }
}

/// Down in a controlled way at first, and the last bit falling, until the heel is stopped by the mat.
fn drop_leg(
    course: &mut Course,
    scenario: &Scenario,
    plan: &RaisePlan,
    landing: Landing,
    down_s: f64,
    height_rad: f64,
) {
    let lever_m = scenario.body.shin_sensor_m[0]
        + if scenario.posture == Posture::Seated {
            0.0
        } else {
            scenario.body.thigh_m
        };
    // A raised cosine of speed v that ends in T decelerates by v·π/2T at most.
    let stop_m_s2 = (landing.peak_m_s2 - scenario.body.gravity_m_s2).max(0.0);
    let speed_rad_s = stop_m_s2 * 2.0 * landing.stop_s / (std::f64::consts::PI * lever_m);
    let build_s = (0.6 * plan.down_s).min(0.3);
    let fall_rad = (0.5 * speed_rad_s * (build_s + landing.stop_s)).min(0.9 * height_rad);
    course.step(
        down_s,
        plan.down_s - landing.stop_s,
        -(height_rad - fall_rad),
    );
    let fall_from_s = down_s + plan.down_s - landing.stop_s - build_s;
    course.fall(fall_from_s, build_s, landing.stop_s, -fall_rad);
}

/// Adds what the rest of the body does during a raise.
fn add_raise(motion: &mut Motion, plan: &RaisePlan, swing: &Swing) -> Option<Giving> {
    let lowering_s = swing.end_s - swing.down_s;
    let raised = &mut motion.legs[index(swing.side)];
    let turn = plan.axial_turn_deg.to_radians();
    raised.roll.step(swing.begin_s, plan.up_s, turn);
    raised.roll.step(swing.down_s, lowering_s, -turn);
    raised
        .slope
        .step(swing.down_s, lowering_s, plan.rest_step_deg.to_radians());
    raised
        .heading
        .step(swing.down_s, lowering_s, plan.rest_turn_deg.to_radians());

    let sway = plan.sway_deg.to_radians();
    let other = &mut motion.legs[index(swing.side.other())];
    for (start_s, length_s, size) in [
        (swing.begin_s, plan.up_s, -sway),
        (swing.down_s, lowering_s, 0.5 * sway),
    ] {
        other.slope.bump(start_s, length_s, size);
        // A knee that gives a little carries the thigh the other way.
        other.knee.bump(start_s, length_s, -1.5 * size);
    }
    plan.compensation.and_then(|compensation| {
        let begin_s = swing.course.reaches(
            compensation.at_deg.to_radians(),
            swing.begin_s,
            swing.down_s,
        )?;
        // At an even speed but for a soft start and stop. What does not fit before the leg comes down does
        // not happen, at the same speed.
        let rate = compensation.rate_deg_s.max(0.1);
        let soft_s = SOFT_S.min(compensation.extent_deg / rate);
        let planned_s = compensation.extent_deg / rate + soft_s;
        let length_s = planned_s
            .min(swing.down_s - begin_s + 0.3 * lowering_s)
            .max(2.0 * soft_s);
        let extent = ((length_s - soft_s) * rate).to_radians();
        let add = |target: &mut Course, share: f64| {
            target.run(begin_s, length_s, soft_s, share * extent);
            target.step(swing.down_s, lowering_s, -share * extent);
        };
        let mut course = Course::new(0.0);
        add(&mut course, 1.0);
        match compensation.kind {
            CompensationKind::OppositeDown => {
                let leg = &mut motion.legs[index(swing.side.other())];
                add(&mut leg.slope, -1.0);
                add(&mut leg.knee, 2.0);
            }
            CompensationKind::OppositeUp => {
                add(&mut motion.legs[index(swing.side.other())].slope, 1.0);
            }
            CompensationKind::Knee => add(&mut motion.legs[index(swing.side)].knee, 1.0),
            CompensationKind::Pelvis => add(&mut motion.pelvis_extra, 1.0),
        }
        Some(Giving {
            kind: compensation.kind,
            course,
            begin_s,
        })
    })
}
