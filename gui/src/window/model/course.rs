//! The course of a run as it happens: curves, the reading that leads, rounds, pace.

use std::time::{Duration, Instant};

use fusion::{CompensationKind, Flag, LiveEnd, RaiseState, Reading};
use sensor::Side;

/// A curve has a hole where nothing came for so long, s.
const HOLE_S: f64 = 0.5;
/// Points of a curve lie at least so far apart, s: a screen shows no more.
const STEP_S: f64 = 0.018;
/// Points that are kept: more than an hour.
const POINTS_MAX: usize = 250_000;
/// A sensor that told nothing for so long is lost.
const LOST: Duration = Duration::from_millis(500);
/// The other leg leads once it is so much higher, or this one has been silent for so long.
const HIGHER_DEG: f64 = 3.0;
const SILENT_S: f64 = 0.3;
/// A raise is at least so high; below the lower angle it is over.
const RAISE_DEG: f64 = 8.0;
const OVER_DEG: f64 = 3.0;
/// The pace is that of so long, s.
const PACE_S: f64 = 0.5;
/// Rounds that are listed.
const ROUNDS_MAX: usize = 200;

/// A curve of one leg: seconds of the run and degrees.
#[derive(Clone, Debug, Default, PartialEq)]
pub(in crate::window) struct Trace {
    points: Vec<[f64; 2]>,
    /// Where a new stretch begins after a hole.
    holes: Vec<usize>,
}

impl Trace {
    /// Takes the next point. One that isn't later, or no number, is passed over.
    pub(in crate::window) fn push(&mut self, t_s: f64, deg: f64) {
        if !t_s.is_finite() || !deg.is_finite() {
            return;
        }
        if let Some([last_s, last_deg]) = self.points.last_mut() {
            let since_s = t_s - *last_s;
            if since_s <= 0.0 {
                return;
            }
            if since_s < STEP_S {
                // Of points that fall together the higher one stays: no peak is lost.
                *last_deg = last_deg.max(deg);
                return;
            }
            if HOLE_S < since_s {
                self.holes.push(self.points.len());
            }
        }
        if self.points.len() == POINTS_MAX {
            let dropped = POINTS_MAX / 10;
            self.points.drain(..dropped);
            self.holes.retain(|at| dropped < *at);
            for at in &mut self.holes {
                *at -= dropped;
            }
        }
        self.points.push([t_s, deg]);
    }

    /// Its stretches without a hole from a moment on.
    pub(in crate::window) fn stretches(&self, from_s: f64) -> impl Iterator<Item = &[[f64; 2]]> {
        let first = self.points.partition_point(|p| p[0] < from_s);
        let cuts = self.holes.iter().copied().filter(move |at| first < *at);
        let mut begin = first;
        let ends: Vec<usize> = cuts.chain([self.points.len()]).collect();
        ends.into_iter().filter_map(move |end| {
            let stretch = self.points.get(begin..end);
            begin = end;
            stretch.filter(|stretch| !stretch.is_empty())
        })
    }

    /// The part between two moments, as a curve of its own.
    pub(in crate::window) fn between(&self, from_s: f64, to_s: f64) -> Self {
        let mut part = Self::default();
        for [t_s, deg] in self
            .stretches(from_s)
            .flatten()
            .take_while(|p| p[0] <= to_s)
        {
            part.push(*t_s, *deg);
        }
        part
    }

    /// The angle at a moment: that of the last point before it.
    pub(in crate::window) fn at(&self, t_s: f64) -> Option<f64> {
        let after = self.points.partition_point(|p| p[0] <= t_s);
        Some(self.points.get(after.checked_sub(1)?)?[1])
    }

    /// The newest moment.
    pub(in crate::window) fn newest_s(&self) -> Option<f64> {
        self.points.last().map(|p| p[0])
    }

    /// The mean rate over the last moments, degrees a second.
    fn rate_deg_s(&self) -> f64 {
        let Some([now_s, now_deg]) = self.points.last().copied() else {
            return 0.0;
        };
        let first = self.points.partition_point(|p| p[0] < now_s - PACE_S);
        let [t_s, deg] = self.points[first];
        if t_s < now_s {
            (now_deg - deg) / (now_s - t_s)
        } else {
            0.0
        }
    }
}

/// Why a raise is left out of the mean.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::window) enum Why {
    /// A practice raise.
    Practice,
    /// Faster than agreed.
    TooFast,
    /// The client spoke or tensed.
    Tense,
    /// It wasn't a straight leg raise.
    OtherMovement,
    /// The strap slipped.
    Slipped,
}

impl Why {
    /// All, the usual ones first.
    pub(in crate::window) const ALL: [Self; 5] = [
        Self::Practice,
        Self::TooFast,
        Self::Tense,
        Self::OtherMovement,
        Self::Slipped,
    ];

    /// The word that is noted in the recording.
    pub(in crate::window) const fn as_str(self) -> &'static str {
        match self {
            Self::Practice => "practice",
            Self::TooFast => "too fast",
            Self::Tense => "spoke or tensed",
            Self::OtherMovement => "another movement",
            Self::Slipped => "strap slipped",
        }
    }
}

/// A raise as it was seen.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::window) struct Round {
    /// Which leg.
    pub(in crate::window) side: Side,
    /// Of this leg in this run, from 1.
    pub(in crate::window) number: usize,
    /// Leaving the rest, s of the run.
    pub(in crate::window) start_s: f64,
    /// Last seen above the rest, s of the run.
    pub(in crate::window) last_s: f64,
    /// Greatest angle so far.
    pub(in crate::window) peak_deg: f64,
    /// Where it counts as over.
    pub(in crate::window) end: Option<LiveEnd>,
    /// What gave way.
    pub(in crate::window) gave_way: Vec<CompensationKind>,
    /// Numbers were missing.
    pub(in crate::window) has_gap: bool,
    /// The leg is still up.
    pub(in crate::window) is_open: bool,
    /// Left out, and why.
    pub(in crate::window) out: Option<Why>,
}

/// The course of one run.
#[derive(Clone, Debug, Default)]
pub(in crate::window) struct Course {
    /// Left and right.
    traces: [Trace; 2],
    /// The newest reading of the leg that is looked at.
    pub(in crate::window) leading: Option<Reading>,
    /// When it came.
    arrived: Option<Instant>,
    /// Raises, as they come.
    pub(in crate::window) rounds: Vec<Round>,
    /// Rate of the leading leg, degrees a second.
    pub(in crate::window) rate_deg_s: f64,
}

impl Course {
    /// Takes a reading.
    pub(in crate::window) fn take(&mut self, reading: &Reading, now: Instant) {
        let (side, deg) = (reading.side, reading.angle.degrees());
        self.trace_mut(side).push(reading.t_s, deg);
        if let Some(other) = reading.other {
            self.trace_mut(side.other())
                .push(reading.t_s, other.degrees());
        }
        self.follow_round(reading, deg);
        let leads = self.leading.as_ref().is_none_or(|leading| {
            leading.side == side
                || leading.angle.degrees() + HIGHER_DEG < deg
                || leading.t_s + SILENT_S < reading.t_s
        });
        if leads {
            self.rate_deg_s = self.trace(side).rate_deg_s();
            self.leading = Some(reading.clone());
            self.arrived = Some(now);
        }
    }

    fn follow_round(&mut self, reading: &Reading, deg: f64) {
        let side = reading.side;
        let is_up = reading.state != RaiseState::Settling && RAISE_DEG <= deg;
        let open = self.rounds.iter().any(|r| r.side == side && r.is_open);
        if is_up && !open && self.rounds.len() < ROUNDS_MAX {
            let number = 1 + self.rounds.iter().filter(|r| r.side == side).count();
            self.rounds.push(Round {
                side,
                number,
                start_s: reading.t_s,
                last_s: reading.t_s,
                peak_deg: deg,
                end: None,
                gave_way: Vec::new(),
                has_gap: false,
                is_open: true,
                out: None,
            });
        }
        let Some(round) = self.rounds.iter_mut().rev().find(|r| r.side == side) else {
            return;
        };
        // A mark that comes late still belongs to the raise that is over.
        round.end = reading.end.filter(|end| round.start_s - 2.0 < end.t_s);
        if round.is_open {
            round.last_s = reading.t_s;
            round.peak_deg = round.peak_deg.max(deg);
            round.has_gap |= reading.flags.contains(&Flag::GapNearPeak);
            round.gave_way = reading.compensations.iter().map(|c| c.kind).collect();
            round.is_open = OVER_DEG <= deg;
        }
    }

    /// The curve of a leg.
    pub(in crate::window) const fn trace(&self, side: Side) -> &Trace {
        match side {
            Side::Left => &self.traces[0],
            Side::Right => &self.traces[1],
        }
    }

    const fn trace_mut(&mut self, side: Side) -> &mut Trace {
        match side {
            Side::Left => &mut self.traces[0],
            Side::Right => &mut self.traces[1],
        }
    }

    /// For how long nothing has come, if that is too long.
    pub(in crate::window) fn silent_s(&self, now: Instant) -> Option<f64> {
        let since = now.saturating_duration_since(self.arrived?);
        (LOST < since).then_some(since.as_secs_f64())
    }

    /// The end point that is to be seen: of the raise that goes on, or of the last one until the next begins.
    pub(in crate::window) fn end(&self) -> Option<LiveEnd> {
        let side = self.leading.as_ref()?.side;
        self.rounds.iter().rev().find(|r| r.side == side)?.end
    }

    /// The raise that goes on.
    pub(in crate::window) fn open_round(&self) -> Option<&Round> {
        self.rounds.iter().rev().find(|r| r.is_open)
    }
}
