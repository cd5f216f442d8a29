//! Moving on, staying, going back; and when to think again. Proposals with their reasons, from the rules alone.

use fusion::Angle;
use jiff::civil::Date;

use super::{DAYS_A_WEEK, Plan, Visit, days};
use crate::bands::Bands;
use crate::change::Change;
use crate::repeatability::Repeatability;
use crate::rules::{Rules, count};

/// What the rules propose.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// The same drills.
    Stay,
    /// Drills of a higher band.
    MoveOn {
        /// Counted from 0.
        to: usize,
    },
    /// Drills of a lower band.
    Return {
        /// Counted from 0.
        to: usize,
    },
}

/// Why.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum StepReason {
    /// There is no higher band.
    TopBand,
    /// The latest mean isn't above the band's edge by more than its uncertainty.
    NotAbove {
        /// Mean less edge.
        above: Angle,
        /// The uncertainty it has to exceed.
        expanded: Angle,
    },
    /// Above by more, in an unbroken row of visits.
    Above {
        /// How many.
        visits: usize,
        /// The first of them.
        since: Date,
    },
    /// More visits like this are needed.
    TooFewVisits {
        /// How many there are.
        found: usize,
        /// How many are needed.
        needed: usize,
    },
    /// They lie too close together.
    TooSoon {
        /// From the first to the latest, days.
        days: usize,
        /// How many are needed.
        needed: usize,
    },
    /// Other signs aren't quiet.
    NotQuiet,
    /// Nobody asked for other signs: ask before moving on.
    QuietUnknown,
    /// The mean fell by more than measurement error.
    ClearFall {
        /// From when.
        from: Date,
        /// The change, below 0.
        change: Change,
    },
}

/// When to think again.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Hint {
    /// There was a gain, and none since.
    Plateau {
        /// For so long, weeks.
        weeks: f64,
    },
    /// No change beyond measurement error since these drills began.
    Review {
        /// For so long, weeks.
        weeks: f64,
        /// Whether it is time to act, not only to think.
        is_due: bool,
    },
}

/// A proposal.
#[derive(Clone, Debug, PartialEq)]
pub struct Advice {
    /// What to do.
    pub step: Step,
    /// Why, in order of weight.
    pub reasons: Vec<StepReason>,
    /// What else to think of.
    pub hints: Vec<Hint>,
}

/// Proposes a step from visits in order of date, at least one.
pub(super) fn advise(
    visits: &[Visit],
    plan: Plan,
    repeatability: &Repeatability,
    bands: &Bands,
    rules: &Rules,
) -> Advice {
    let judge = |from: &Visit, to: &Visit| {
        Change::between(&from.summary, &to.summary, repeatability, false, rules)
    };
    let (step, reasons) = match clear_fall(visits, plan, &judge) {
        Some((reason, latest)) => {
            let to = bands.of(latest.summary.mean);
            let step = if to < plan.band {
                Step::Return { to }
            } else {
                Step::Stay
            };
            (step, vec![reason])
        }
        None => upwards(visits, plan, bands, rules),
    };
    Advice {
        step,
        reasons,
        hints: hints(visits, plan, &judge, rules),
    }
}

/// The latest mean against the visit before, and against the first of this plan: one clear fall is enough, whether it
/// came at once or bit by bit.
fn clear_fall<'a>(
    visits: &'a [Visit],
    plan: Plan,
    judge: &impl Fn(&Visit, &Visit) -> Change,
) -> Option<(StepReason, &'a Visit)> {
    let (latest, earlier) = visits.split_last()?;
    let began = earlier.iter().find(|visit| is_of(plan, visit));
    let mut candidates = earlier.last().into_iter().chain(began);
    candidates.find_map(|from| {
        let change = judge(from, latest);
        let reason = StepReason::ClearFall {
            from: from.date,
            change,
        };
        change.is_fall().then_some((reason, latest))
    })
}

fn is_of(plan: Plan, visit: &Visit) -> bool {
    plan.since.is_none_or(|since| visit.date >= since)
}

fn upwards(visits: &[Visit], plan: Plan, bands: &Bands, rules: &Rules) -> (Step, Vec<StepReason>) {
    let (Some(edge), Some(latest)) = (bands.edges().get(plan.band).copied(), visits.last()) else {
        return (Step::Stay, vec![StepReason::TopBand]);
    };
    let is_above = |visit: &&Visit| visit.summary.mean - edge > visit.summary.expanded;
    let row: Vec<&Visit> = visits.iter().rev().take_while(is_above).collect();
    let Some(first) = row.last() else {
        return (
            Step::Stay,
            vec![StepReason::NotAbove {
                above: latest.summary.mean - edge,
                expanded: latest.summary.expanded,
            }],
        );
    };
    let mut reasons = vec![StepReason::Above {
        visits: row.len(),
        since: first.date,
    }];
    let mut is_ready = true;
    let mut hold = |reason| {
        reasons.push(reason);
        is_ready = false;
    };
    let needed = count(rules.move_on_visit_count);
    let apart = count(days(first.date, latest.date));
    if row.len() < needed {
        hold(StepReason::TooFewVisits {
            found: row.len(),
            needed,
        });
    } else if apart < count(rules.move_on_days) {
        hold(StepReason::TooSoon {
            days: apart,
            needed: count(rules.move_on_days),
        });
    }
    // Both of the visits that count must be quiet; of the latest it has to be known.
    if row.iter().any(|visit| visit.is_quiet == Some(false)) {
        hold(StepReason::NotQuiet);
    } else if latest.is_quiet.is_none() {
        reasons.push(StepReason::QuietUnknown);
    }
    // No further than all these visits reach.
    let reached = row
        .iter()
        .map(|visit| bands.of(visit.summary.mean - visit.summary.expanded))
        .min();
    let to = reached.unwrap_or(plan.band).max(plan.band + 1);
    let step = if is_ready {
        Step::MoveOn { to }
    } else {
        Step::Stay
    };
    (step, reasons)
}

fn hints(
    visits: &[Visit],
    plan: Plan,
    judge: &impl Fn(&Visit, &Visit) -> Change,
    rules: &Rules,
) -> Vec<Hint> {
    let mut hints = Vec::new();
    let (Some(first), Some(latest)) = (visits.first(), visits.last()) else {
        return hints;
    };
    let weeks_since = |visit: &Visit| days(visit.date, latest.date) / DAYS_A_WEEK;
    let level = visits
        .iter()
        .rposition(|visit| weeks_since(visit) >= rules.plateau_weeks);
    if let Some(level) = level {
        let from = &visits[level];
        let is_level = visits[level..]
            .iter()
            .all(|visit| !judge(from, visit).is_beyond_error());
        if is_level && judge(first, from).is_gain() {
            hints.push(Hint::Plateau {
                weeks: weeks_since(from),
            });
        }
    }
    if let Some(began) = visits.iter().find(|visit| is_of(plan, visit)) {
        let weeks = weeks_since(began);
        if weeks >= rules.review_weeks_from && !judge(began, latest).is_beyond_error() {
            hints.push(Hint::Review {
                weeks,
                is_due: weeks >= rules.review_weeks_to,
            });
        }
    }
    hints
}
