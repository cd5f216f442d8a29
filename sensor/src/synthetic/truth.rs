//! What really happened, read off the moving body.

use super::body::{Motion, Part, Swing};
use super::first_reaching;
use super::scenario::{CompensationKind, RaisePlan};
use super::stage::{Giving, Staged};
use super::vector::Turn;
use crate::{Placement, Side};

/// Grid on which the truth is searched, s.
const STEP_S: f64 = 0.002;

/// A moment and the raise angle there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TruthPoint {
    /// Seconds since the run began.
    pub time_s: f64,
    /// Raise angle of the shin bone, degrees.
    pub angle_deg: f64,
}

/// The longest stretch (half a second or more) during which the raise angle stays inside a band of 3°.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TruthHold {
    /// Its beginning, s.
    pub start_s: f64,
    /// Its end, s.
    pub end_s: f64,
    /// Mean raise angle in it, degrees.
    pub angle_deg: f64,
}

/// A compensation that happened.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TruthCompensation {
    /// What gave way.
    pub kind: CompensationKind,
    /// The very beginning.
    pub begin: TruthPoint,
    /// When it has gone 1°, if it does.
    pub left_1_deg: Option<TruthPoint>,
    /// When it has gone 2°, if it does.
    pub left_2_deg: Option<TruthPoint>,
    /// Its greatest size, degrees.
    pub extent_deg: f64,
}

/// Something felt and pressed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TruthMark {
    /// When it was felt.
    pub felt: TruthPoint,
    /// When it was pressed, s.
    pub pressed_s: f64,
}

/// One raise as it was.
#[derive(Clone, Debug, PartialEq)]
pub struct TruthRaise {
    /// The leg.
    pub side: Side,
    /// When the leg began to move, s.
    pub begin_s: f64,
    /// 1° off the rest before, s.
    pub start_s: f64,
    /// Back to 1° above the rest after, s.
    pub end_s: f64,
    /// Greatest raise angle.
    pub peak: TruthPoint,
    /// The hold, if there was one.
    pub hold: Option<TruthHold>,
    /// Raise angle at the peak's moment of the strapped sensor, flesh in it, degrees; `None` without one.
    pub strapped_deg: Option<f64>,
    /// Raise angle at the peak's moment when `d` is taken square to the axis of the whole turn from rest to
    /// peak instead of along the leg, degrees: how much the leg's own turning leaves open.
    pub by_net_axis_deg: f64,
    /// What gave way, if anything did.
    pub compensation: Option<TruthCompensation>,
    /// The pull.
    pub pull: Option<TruthMark>,
    /// The stop.
    pub stop: Option<TruthMark>,
}

pub(super) fn raises(staged: &Staged, plans: &[RaisePlan]) -> Vec<TruthRaise> {
    let motion = &staged.motion;
    motion
        .swings
        .iter()
        .zip(plans)
        .zip(&staged.givings)
        .map(|((swing, plan), giving)| raise(motion, swing, plan, giving.as_ref()))
        .collect()
}

fn raise(motion: &Motion, swing: &Swing, plan: &RaisePlan, giving: Option<&Giving>) -> TruthRaise {
    let angle = |t_s: f64| motion.raise_deg(swing, t_s, Part::Bone);
    let point = |time_s: f64| TruthPoint {
        time_s,
        angle_deg: angle(time_s),
    };
    let curve = curve(swing, &angle);
    let peak = curve.iter().copied().fold(point(swing.begin_s), higher);
    let rest_after_deg = angle(swing.end_s);
    let felt = |at_deg: Option<f64>| {
        let time_s = first_reaching(angle, at_deg?, swing.begin_s, swing.end_s)?;
        Some(TruthMark {
            felt: point(time_s),
            pressed_s: time_s + plan.reaction_s,
        })
    };
    let strap = motion
        .straps
        .iter()
        .find(|s| s.placement == Placement::shin(swing.side));
    TruthRaise {
        side: swing.side,
        begin_s: swing.begin_s,
        start_s: first_reaching(angle, 1.0, swing.begin_s, peak.time_s).unwrap_or(swing.begin_s),
        end_s: first_reaching(
            |t_s| rest_after_deg + 1.0 - angle(t_s),
            0.0,
            peak.time_s,
            swing.end_s,
        )
        .unwrap_or(swing.end_s),
        peak,
        hold: hold(&curve),
        strapped_deg: strap.map(|s| motion.raise_deg(swing, peak.time_s, Part::Strapped(s))),
        by_net_axis_deg: by_net_axis(motion, swing, peak.time_s),
        compensation: giving.map(|giving| compensation(swing, giving, &point)),
        pull: felt(plan.pull_at_deg),
        stop: felt(plan.stop_at_deg),
    }
}

fn higher(best: TruthPoint, next: TruthPoint) -> TruthPoint {
    if next.angle_deg > best.angle_deg {
        next
    } else {
        best
    }
}

fn curve(swing: &Swing, angle: &dyn Fn(f64) -> f64) -> Vec<TruthPoint> {
    let mut points = Vec::new();
    let mut time_s = swing.begin_s;
    while time_s <= swing.end_s {
        points.push(TruthPoint {
            time_s,
            angle_deg: angle(time_s),
        });
        time_s += STEP_S;
    }
    points
}

/// Longest stretch of the upper half of the raise within 3°, if it lasts half a second.
fn hold(curve: &[TruthPoint]) -> Option<TruthHold> {
    let top_deg = curve.iter().map(|p| p.angle_deg).fold(0.0, f64::max);
    let mut best: &[TruthPoint] = &[];
    let mut from = 0;
    // Deques of the window's lowest and highest, as indices: the front is the extreme.
    let (mut low, mut high) = (
        std::collections::VecDeque::new(),
        std::collections::VecDeque::new(),
    );
    for (to, point) in curve.iter().enumerate() {
        while low
            .back()
            .is_some_and(|&i: &usize| curve[i].angle_deg >= point.angle_deg)
        {
            low.pop_back();
        }
        while high
            .back()
            .is_some_and(|&i: &usize| curve[i].angle_deg <= point.angle_deg)
        {
            high.pop_back();
        }
        low.push_back(to);
        high.push_back(to);
        while let (Some(&lowest), Some(&highest)) = (low.front(), high.front()) {
            let fits = curve[highest].angle_deg - curve[lowest].angle_deg <= 3.0
                && curve[lowest].angle_deg >= 0.5 * top_deg;
            if fits || from > to {
                break;
            }
            from += 1;
            low.retain(|&i| i >= from);
            high.retain(|&i| i >= from);
        }
        if from <= to && to - from + 1 > best.len() {
            best = &curve[from..=to];
        }
    }
    let (first, last) = (best.first()?, best.last()?);
    let mean = best.iter().map(|p| p.angle_deg).sum::<f64>() / best.len() as f64;
    (last.time_s - first.time_s >= 0.5).then_some(TruthHold {
        start_s: first.time_s,
        end_s: last.time_s,
        angle_deg: mean,
    })
}

fn by_net_axis(motion: &Motion, swing: &Swing, peak_s: f64) -> f64 {
    let shin = Placement::shin(swing.side);
    let rest: Turn = motion.bone(shin, swing.begin_s, false).earth_from_it;
    let peak = motion.bone(shin, peak_s, true).earth_from_it;
    let axis = (peak * rest.back()).rotation_rad();
    motion.raise_deg(swing, peak_s, Part::NetAxis(axis))
}

fn compensation(
    swing: &Swing,
    giving: &Giving,
    point: &dyn Fn(f64) -> TruthPoint,
) -> TruthCompensation {
    let gone = |deg: f64| {
        giving
            .course
            .reaches(f64::to_radians(deg), giving.begin_s, swing.end_s)
            .map(point)
    };
    let mut extent_rad = 0.0_f64;
    let mut time_s = giving.begin_s;
    while time_s <= swing.end_s {
        extent_rad = extent_rad.max(giving.course.at(time_s));
        time_s += STEP_S;
    }
    TruthCompensation {
        kind: giving.kind,
        begin: point(giving.begin_s),
        left_1_deg: gone(1.0),
        left_2_deg: gone(2.0),
        extent_deg: extent_rad.to_degrees(),
    }
}
