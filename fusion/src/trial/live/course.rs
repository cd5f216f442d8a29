//! One raise as it happens: what gives way, and its end point the moment it is known.

use std::collections::VecDeque;

use nalgebra::Vector3;

use super::{LiveCompensation, LiveEnd};
use crate::Angle;
use crate::analysis::{CompensationKind, Reason};
use crate::raise::companions::{low_part, opposite, thigh};
use crate::raise::compensation::{Departure, Limits, departure};
use crate::settings::Settings;

/// What is known at one moment.
#[derive(Clone, Copy, Debug)]
pub(super) struct Point {
    pub(super) t_s: f64,
    /// Of the raised shin.
    pub(super) angle_rad: f64,
    /// How the other shin has turned from its rest.
    pub(super) other: Option<Vector3<f64>>,
    /// How far the thigh has risen.
    pub(super) thigh_rad: Option<f64>,
}

/// A press of a button.
#[derive(Clone, Copy, Debug)]
pub(super) struct Press {
    pub(super) reason: Reason,
    /// When it was pressed, s.
    pub(super) t_s: f64,
}

/// So long before a raise is seen it may have begun, s.
const BEFORE_S: f64 = 3.0;
/// After a raise the body has settled, s.
const QUIET_S: f64 = 0.3;
/// No raise is followed longer than this many points; the oldest go.
const POINTS_MAX: usize = 8192;
/// A compensation must last so long, s.
const LASTS_S: f64 = 0.2;
/// A leg that turns slower than this over the last half second is held, rad/s.
const HELD_RAD_S: f64 = 0.03;
/// A mark belongs to a raise that ended up to so long before it, s.
const MARK_LATE_S: f64 = 1.0;

/// Follows the raises of one leg.
#[derive(Clone, Debug, Default)]
pub(super) struct Course {
    points: VecDeque<Point>,
    /// While the leg is up, and for a while after.
    raise: Option<Raise>,
}

#[derive(Clone, Debug)]
struct Raise {
    peak: Point,
    /// When the leg came down, s.
    over_s: Option<f64>,
    /// From when on the leg was held, s.
    held_from_s: Option<f64>,
    compensations: Vec<LiveCompensation>,
    end: Option<LiveEnd>,
}

impl Course {
    /// The end point of the raise, or of the last one.
    pub(super) fn end(&self) -> Option<LiveEnd> {
        self.raise.as_ref()?.end
    }

    /// What has given way in the raise, or in the last one, in the order it was seen.
    pub(super) fn compensations(&self) -> &[LiveCompensation] {
        self.raise
            .as_ref()
            .map_or(&[], |raise| &raise.compensations)
    }

    /// Takes the next moment.
    pub(super) fn take(&mut self, point: Point, settings: &Settings) {
        self.remember(point);
        let is_up = settings.raise_min.radians() <= point.angle_rad;
        match &mut self.raise {
            Some(raise) if raise.over_s.is_none() => {
                raise.follow(point, &self.points, settings);
            }
            before if is_up => {
                // What the former raise did is no part of this one's course.
                let over_s = before.as_ref().and_then(|before| before.over_s);
                self.points
                    .retain(|p| over_s.is_none_or(|over_s| over_s + QUIET_S < p.t_s));
                let mut raise = Raise {
                    peak: point,
                    over_s: None,
                    held_from_s: None,
                    compensations: Vec::new(),
                    end: None,
                };
                raise.follow(point, &self.points, settings);
                self.raise = Some(raise);
            }
            _ => {}
        }
    }

    /// Takes a mark. Returns whether it belongs to a raise.
    pub(super) fn mark(&mut self, press: Press, settings: &Settings) -> bool {
        let felt_s = press.t_s - settings.reaction_s;
        let Some(raise) = &mut self.raise else {
            return false;
        };
        if raise
            .over_s
            .is_some_and(|over_s| over_s + MARK_LATE_S < felt_s)
        {
            return false;
        }
        let Some(angle) = angle_at(&self.points, felt_s) else {
            return false;
        };
        let end = LiveEnd {
            reason: press.reason,
            t_s: felt_s,
            angle,
            is_settled: true,
        };
        raise.propose(end);
        true
    }

    /// When the raise was marked as over, s; `None` if no mark ended it.
    pub(super) fn marked_s(&self) -> Option<f64> {
        let end = self.end()?;
        matches!(end.reason, Reason::Pull | Reason::Stop).then_some(end.t_s)
    }

    /// The mark was none: what had given way before counts again.
    pub(super) fn withdraw(&mut self) {
        let Some(raise) = &mut self.raise else {
            return;
        };
        raise.end = None;
        for found in raise.compensations.clone() {
            raise.propose(LiveEnd {
                reason: match found.kind {
                    CompensationKind::OppositeLeg => Reason::OppositeLeg,
                    CompensationKind::Knee => Reason::Knee,
                },
                t_s: found.onset_s,
                angle: found.angle,
                is_settled: true,
            });
        }
    }

    fn remember(&mut self, point: Point) {
        let begun = self.raise.as_ref().filter(|raise| raise.over_s.is_none());
        let is_old = |p: &Point| begun.is_none() && p.t_s < point.t_s - BEFORE_S;
        while self.points.front().is_some_and(is_old) || POINTS_MAX <= self.points.len() {
            self.points.pop_front();
        }
        self.points.push_back(point);
    }
}

impl Raise {
    fn follow(&mut self, point: Point, points: &VecDeque<Point>, settings: &Settings) {
        if self.peak.angle_rad < point.angle_rad {
            self.peak = point;
        }
        let has_left_top = self.peak.angle_rad - settings.top_left.radians() > point.angle_rad;
        if !has_left_top {
            self.look_for(CompensationKind::OppositeLeg, points, settings);
            self.look_for(CompensationKind::Knee, points, settings);
        }
        self.hold(point, points, has_left_top, settings);
        if has_left_top && self.end.is_none() {
            self.propose(LiveEnd {
                reason: Reason::Peak,
                t_s: self.peak.t_s,
                angle: Angle::from_radians(self.peak.angle_rad),
                is_settled: true,
            });
        }
        if has_left_top && let Some(end) = &mut self.end {
            end.is_settled = true;
        }
        if point.angle_rad < super::LYING.radians() {
            self.over_s = Some(point.t_s);
        }
    }

    /// The earliest reason counts; what was only a hold so far gives way to any other.
    fn propose(&mut self, end: LiveEnd) {
        let is_weak = |e: &LiveEnd| matches!(e.reason, Reason::Hold | Reason::Peak);
        let is_taken = self
            .end
            .as_ref()
            .is_some_and(|before| !is_weak(before) && before.t_s <= end.t_s);
        if !is_taken {
            self.end = Some(end);
        }
    }

    /// Looks whether a segment has given way, as the final analysis does, with what is known so far.
    fn look_for(&mut self, kind: CompensationKind, points: &VecDeque<Point>, settings: &Settings) {
        let Some(last) = points.back() else { return };
        if let Some(known) = self.compensations.iter_mut().find(|c| c.kind == kind) {
            let size = Angle::from_radians(size_rad(kind, last));
            known.extent = if known.extent < size {
                size
            } else {
                known.extent
            };
            return;
        }
        let Some(found) = given_way(kind, points, self.peak, settings) else {
            return;
        };
        let Some(angle) = angle_at(points, found.onset_s) else {
            return;
        };
        let extent = Angle::from_radians(found.extent_rad);
        self.compensations.push(LiveCompensation {
            kind,
            onset_s: found.onset_s,
            angle,
            extent,
        });
        self.propose(LiveEnd {
            reason: match kind {
                CompensationKind::OppositeLeg => Reason::OppositeLeg,
                CompensationKind::Knee => Reason::Knee,
            },
            t_s: found.onset_s,
            angle,
            is_settled: true,
        });
    }

    /// While the leg is held near its top, the mean since then; taken back if it rises on.
    fn hold(
        &mut self,
        point: Point,
        points: &VecDeque<Point>,
        has_left_top: bool,
        settings: &Settings,
    ) {
        if has_left_top {
            return;
        }
        let spread = settings.hold_spread.radians();
        let from = points
            .iter()
            .rev()
            .take_while(|p| point.t_s - p.t_s <= settings.hold_min_s);
        let Some(first) = from.last() else { return };
        let span_s = point.t_s - first.t_s;
        let is_held = settings.hold_min_s * 0.8 <= span_s
            && (point.angle_rad - first.angle_rad).abs() < HELD_RAD_S * span_s
            && self.peak.angle_rad - spread <= point.angle_rad;
        if is_held {
            self.held_from_s.get_or_insert(first.t_s);
        }
        let Some(from_s) = self.held_from_s else {
            return;
        };
        let held = points.iter().rev().take_while(|p| from_s <= p.t_s);
        let near = held.filter(|p| self.peak.angle_rad - spread <= p.angle_rad);
        let (sum, count, first_s) = near.fold((0.0, 0, point.t_s), |(sum, count, _), p| {
            (sum + p.angle_rad, count + 1, p.t_s)
        });
        if count == 0 || point.t_s - first_s < settings.hold_min_s * 0.8 {
            // It has gone on rising, so that was not the top.
            self.held_from_s = None;
            self.end.take_if(|end| end.reason == Reason::Hold);
            return;
        }
        if self.end.is_none_or(|end| end.reason == Reason::Hold) {
            self.end = Some(LiveEnd {
                reason: Reason::Hold,
                t_s: first_s,
                angle: Angle::from_radians(sum / f64::from(count)),
                is_settled: false,
            });
        }
    }
}

/// The angle at a moment, straight between its points; `None` before the first.
fn angle_at(points: &VecDeque<Point>, t_s: f64) -> Option<Angle> {
    let after = points.partition_point(|p| p.t_s < t_s);
    let before = points.get(after.checked_sub(1)?)?;
    let Some(after) = points.get(after) else {
        return Some(Angle::from_radians(before.angle_rad));
    };
    let share = (t_s - before.t_s) / (after.t_s - before.t_s);
    let angle_rad = before.angle_rad + share * (after.angle_rad - before.angle_rad);
    Some(Angle::from_radians(angle_rad))
}

/// How far another segment is off its rest, rad.
fn size_rad(kind: CompensationKind, point: &Point) -> f64 {
    match kind {
        CompensationKind::OppositeLeg => point.other.map_or(0.0, |turn| turn.norm()),
        CompensationKind::Knee => point.thigh_rad.map_or(0.0, |thigh| thigh - point.angle_rad),
    }
}

/// Where a segment has left its own course, once it is beyond its confirm size for long enough.
fn given_way(
    kind: CompensationKind,
    points: &VecDeque<Point>,
    peak: Point,
    settings: &Settings,
) -> Option<Departure> {
    let (confirm, onset) = match kind {
        CompensationKind::OppositeLeg => (settings.opposite_confirm, settings.opposite_onset),
        CompensationKind::Knee => (settings.knee_confirm, settings.knee_onset),
    };
    let last = points.back()?;
    // Cheap to see, and most raises go no further.
    let is_beyond = |p: &&Point| confirm.radians() <= size_rad(kind, p).abs();
    let since = points.iter().rev().take_while(is_beyond).last()?;
    if last.t_s - since.t_s < LASTS_S {
        return None;
    }
    let all = || points.iter();
    let t_s: Vec<f64> = all().map(|p| p.t_s).collect();
    let angle_rad: Vec<f64> = all().map(|p| p.angle_rad).collect();
    let rising = t_s.partition_point(|t| *t < peak.t_s);
    let early = low_part(&angle_rad[..=rising.min(angle_rad.len() - 1)]);
    let companion = match kind {
        CompensationKind::OppositeLeg => {
            // It tilts about one axis, the one about which it is furthest off now.
            let axis = last.other?.try_normalize(1e-9)?;
            let about = |p: &Point| p.other.map_or(0.0, |turn| turn.dot(&axis));
            opposite(t_s, all().map(about).collect(), &angle_rad, early)
        }
        CompensationKind::Knee => {
            let thigh_rad = all().map(|p| p.thigh_rad.unwrap_or(p.angle_rad)).collect();
            thigh(t_s, thigh_rad, &angle_rad, early)
        }
    };
    let limits = Limits {
        confirm_rad: confirm.radians(),
        onset_rad: onset.radians(),
    };
    departure(&companion, limits, last.t_s)
}
