//! The course over weeks: the end points of one side, visit by visit; a line once there are enough; and what the
//! rules propose. Every rule is a number in [`Rules`].

mod advice;
mod trend;

use fusion::Angle;
use jiff::ToSpan as _;
use jiff::civil::Date;
use sensor::{Conditions, Side};
use thiserror::Error;

use crate::bands::Bands;
use crate::change::Change;
use crate::decide::Round;
use crate::repeatability::Repeatability;
use crate::rules::{Rules, count};
use crate::summary::{SideSummary, summarise_with};
use crate::way::{Comparison, Condition};

pub use advice::{Advice, Hint, Step, StepReason};
pub use trend::{Direction, Trend};

/// No more visits are looked at: the pairs of a robust slope grow as the square.
pub const VISIT_COUNT_MAX: usize = 1_000;

/// One side at one visit: the round before any drill.
#[derive(Clone, Debug, PartialEq)]
pub struct Visit {
    /// When.
    pub date: Date,
    /// Its mean.
    pub summary: SideSummary,
    /// How the raises were done.
    pub conditions: Conditions,
    /// Whether other signs (pain, tingling, sleep) are quiet; `None` where nobody asked.
    pub is_quiet: Option<bool>,
}

impl Visit {
    /// From a round; `None` where the side has no mean. The person's part is that between visits.
    pub fn of(
        date: Date,
        round: &Round<'_>,
        side: Side,
        repeatability: &Repeatability,
        rules: &Rules,
    ) -> Option<Self> {
        let between = repeatability.between_visits(rules);
        Some(Self {
            date,
            summary: summarise_with(round.raises, side, &between)?,
            conditions: round.conditions.clone(),
            is_quiet: None,
        })
    }
}

/// What the client works on now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Plan {
    /// The band whose drills are done, counted from 0.
    pub band: usize,
    /// Since when; `None` counts from the first visit.
    pub since: Option<Date>,
}

/// Why a visit isn't part of the course.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LeftOut {
    /// Done another way than at the latest visit.
    OtherWay(Vec<Condition>),
    /// Another person measured than at the latest visit.
    OtherRater,
    /// Another round of the same day came before it.
    SameDay,
}

/// Why there is no course.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum CourseError {
    /// No visit.
    #[error("no visits, expected at least one with a mean end point; measure first")]
    Empty,
    /// More than are looked at.
    #[error("{found} visits, expected at most {VISIT_COUNT_MAX}; take the later ones")]
    TooMany {
        /// How many.
        found: usize,
    },
    /// Visits of both legs in one course.
    #[error("visits of both legs, expected those of one; take one leg at a time")]
    BothSides,
    /// A mean that is no number, or has no uncertainty.
    #[error("visit {at} has no usable mean; leave it out")]
    Visit {
        /// Its place, counted from 0.
        at: usize,
    },
}

/// The course of one side.
#[derive(Clone, Debug, PartialEq)]
pub struct Course {
    /// Visits that can be compared with the latest, in order of date.
    pub visits: Vec<Visit>,
    /// Visits that can't, and why.
    pub left_out: Vec<(Visit, LeftOut)>,
    /// Means between these don't differ from the first by more than measurement error.
    pub error_band: (Angle, Angle),
    /// From the first visit to the latest; `None` with one visit.
    pub change: Option<Change>,
    /// The line, once there are enough visits.
    pub trend: Option<Trend>,
    /// What the rules propose.
    pub advice: Advice,
    /// The next visit by the rules.
    pub next_visit: Date,
}

impl Course {
    /// Looks at the visits of one side, in any order. `repeatability` is that within a round; between visits the rules
    /// ask for more.
    pub fn of(
        visits: &[Visit],
        plan: Plan,
        repeatability: &Repeatability,
        bands: &Bands,
        rules: &Rules,
    ) -> Result<Self, CourseError> {
        check(visits)?;
        let between = repeatability.between_visits(rules);
        let mut sorted = visits.to_vec();
        sorted.sort_by_key(|visit| visit.date);
        let (visits, left_out) = part(sorted)?;
        let (Some(first), Some(latest)) = (visits.first(), visits.last()) else {
            return Err(CourseError::Empty);
        };
        let mdc = between
            .mdc95(first.summary.count, latest.summary.count)
            .unwrap_or(first.summary.expanded);
        let change = (visits.len() > 1)
            .then(|| Change::between(&first.summary, &latest.summary, &between, false, rules));
        let trend = if visits.len() < count(rules.trend_visit_count) {
            None
        } else {
            Trend::through(&visits, mdc, rules)
        };
        Ok(Self {
            error_band: (first.summary.mean - mdc, first.summary.mean + mdc),
            change,
            trend,
            advice: advice::advise(&visits, plan, &between, bands, rules),
            next_visit: latest
                .date
                .saturating_add(i64::try_from(count(rules.visit_days)).unwrap_or(7).days()),
            left_out,
            visits,
        })
    }
}

fn check(visits: &[Visit]) -> Result<(), CourseError> {
    let found = visits.len();
    if found > VISIT_COUNT_MAX {
        return Err(CourseError::TooMany { found });
    }
    let side = visits.first().map(|visit| visit.summary.side);
    if visits.iter().any(|visit| Some(visit.summary.side) != side) {
        return Err(CourseError::BothSides);
    }
    let is_sound = |s: &SideSummary| {
        s.count > 0
            && s.mean.radians().is_finite()
            && s.standard.radians() > 0.0
            && s.expanded.radians().is_finite()
            && s.effective_dof > 0.0
    };
    match visits.iter().position(|visit| !is_sound(&visit.summary)) {
        Some(at) => Err(CourseError::Visit { at }),
        None => Ok(()),
    }
}

type Parted = (Vec<Visit>, Vec<(Visit, LeftOut)>);

/// Visits like the latest, and the others. Of several rounds on one day the first counts: a drill may lie between.
fn part(sorted: Vec<Visit>) -> Result<Parted, CourseError> {
    let latest_day = sorted.last().ok_or(CourseError::Empty)?.date;
    let Some(like) = sorted
        .iter()
        .find(|visit| visit.date == latest_day)
        .map(|visit| visit.conditions.clone())
    else {
        return Err(CourseError::Empty);
    };
    let (mut kept, mut left_out) = (Vec::<Visit>::new(), Vec::new());
    for visit in sorted {
        let comparison = Comparison::of(&visit.conditions, &like);
        let why = if !comparison.is_same_way() {
            Some(LeftOut::OtherWay(comparison.differing))
        } else if comparison.is_other_rater == Some(true) {
            Some(LeftOut::OtherRater)
        } else if kept.last().is_some_and(|last| last.date == visit.date) {
            Some(LeftOut::SameDay)
        } else {
            None
        };
        match why {
            Some(why) => left_out.push((visit, why)),
            None => kept.push(visit),
        }
    }
    Ok((kept, left_out))
}

/// Whole days from one date to a later one.
fn days(from: Date, to: Date) -> f64 {
    f64::from((to - from).get_days())
}

const DAYS_A_WEEK: f64 = 7.0;

#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_advice;
