//! The re-check after a drill: the same raises again, the change held against measurement error.
//!
//! A gain at once is mostly changed sensation and gone in minutes; and a leg warms up over the raises themselves. So
//! the time since the drill is noted, and what was gained from raise 1 to raise 3 is shown apart.

use fusion::{Angle, Raise, Reason};
use sensor::Side;
use thiserror::Error;

use crate::change::Change;
use crate::decide::Round;
use crate::repeatability::Repeatability;
use crate::rules::Rules;
use crate::summary::{SideSummary, summarise_with};
use crate::way::{Comparison, Condition};

/// Why there is nothing to compare.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum RecheckError {
    /// The raises were done another way.
    #[error(
        "raises done another way than before the drill; do them the same way, or don't compare"
    )]
    OtherWay {
        /// What differs.
        differing: Vec<Condition>,
    },
    /// No side has a mean before and after.
    #[error("no side with end points before and after the drill; raise the same leg again")]
    NoSide,
}

/// What was gained within one round, from its first raise to its third: warming up, no effect of a drill.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WarmUp {
    /// Third less first.
    pub gain: Angle,
    /// MDC95 of one raise against one.
    pub limit: Angle,
}

/// One side before and after.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SideChange {
    /// Mean before the drill.
    pub before: SideSummary,
    /// Mean after it.
    pub after: SideSummary,
    /// After less before.
    pub change: Change,
    /// Within the round before; `None` without a first and a third end point.
    pub warm_up_before: Option<WarmUp>,
    /// Within the round after.
    pub warm_up_after: Option<WarmUp>,
}

/// What a reader of a re-check must know.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum RecheckNote {
    /// The legs were raised in another order.
    OtherOrder,
    /// Another number of raises of one side.
    OtherCount {
        /// Which.
        side: Side,
        /// Before the drill.
        before: usize,
        /// After it.
        after: usize,
    },
    /// Begun later than a gain at once may last.
    Late {
        /// Time since the drill, s.
        after_s: f64,
    },
    /// Nobody knows how long after the drill it was.
    TimeUnknown,
    /// Another person measured.
    OtherRater,
    /// Nobody said how this was done, before or after.
    Unsaid(Condition),
}

/// A re-check.
#[derive(Clone, Debug, PartialEq)]
pub struct Recheck {
    /// Sides with a mean before and after, left first.
    pub sides: Vec<SideChange>,
    /// What a reader must know.
    pub notes: Vec<RecheckNote>,
}

/// Compares the round before a drill with the one after. `after_s` is the time from the end of the drill to the first
/// raise after it.
pub fn recheck(
    before: &Round<'_>,
    after: &Round<'_>,
    after_s: Option<f64>,
    repeatability: &Repeatability,
    rules: &Rules,
) -> Result<Recheck, RecheckError> {
    let comparison = Comparison::of(before.conditions, after.conditions);
    if !comparison.is_same_way() {
        return Err(RecheckError::OtherWay {
            differing: comparison.differing,
        });
    }
    let is_other_rater = comparison.is_other_rater == Some(true);
    let change = |side| {
        let of = |round: &Round<'_>| summarise_with(round.raises, side, repeatability);
        let (first, second) = (of(before)?, of(after)?);
        Some(SideChange {
            before: first,
            after: second,
            change: Change::between(&first, &second, repeatability, is_other_rater, rules),
            warm_up_before: warm_up(before.raises, side, repeatability),
            warm_up_after: warm_up(after.raises, side, repeatability),
        })
    };
    let sides: Vec<SideChange> = Side::ALL.into_iter().filter_map(change).collect();
    if sides.is_empty() {
        return Err(RecheckError::NoSide);
    }
    let mut notes = like_for_like(before.raises, after.raises);
    match after_s {
        Some(after_s) if (0.0..=rules.recheck_within_s).contains(&after_s) => {}
        Some(after_s) if after_s > rules.recheck_within_s => {
            notes.push(RecheckNote::Late { after_s });
        }
        // A time before the end of the drill is no time either.
        _ => notes.push(RecheckNote::TimeUnknown),
    }
    if is_other_rater {
        notes.push(RecheckNote::OtherRater);
    }
    notes.extend(comparison.unsaid.into_iter().map(RecheckNote::Unsaid));
    Ok(Recheck { sides, notes })
}

/// Same number, same order.
fn like_for_like(before: &[Raise], after: &[Raise]) -> Vec<RecheckNote> {
    let order = |raises: &[Raise]| -> Vec<Side> {
        let legs = raises.iter().filter(|raise| raise.is_leg_raise());
        legs.map(|raise| raise.side).collect()
    };
    let (before, after) = (order(before), order(after));
    let mut notes: Vec<RecheckNote> = Side::ALL
        .into_iter()
        .filter_map(|side| {
            let count = |sides: &[Side]| sides.iter().filter(|s| **s == side).count();
            let (before, after) = (count(&before), count(&after));
            (before != after).then_some(RecheckNote::OtherCount {
                side,
                before,
                after,
            })
        })
        .collect();
    if notes.is_empty() && before != after {
        notes.push(RecheckNote::OtherOrder);
    }
    notes
}

fn warm_up(raises: &[Raise], side: Side, repeatability: &Repeatability) -> Option<WarmUp> {
    let mut own = raises
        .iter()
        .filter(|raise| raise.side == side && raise.is_leg_raise());
    // By its place among all raises of the side: one without an end point warmed up, too.
    let angle = |raise: &Raise| {
        let end = raise.end_point.as_ref()?;
        (end.reason != Reason::Stop).then_some(end.angle.value)
    };
    let first = angle(own.next()?)?;
    let third = angle(own.nth(1)?)?;
    Some(WarmUp {
        gain: third - first,
        limit: repeatability.mdc95(1, 1)?,
    })
}

#[cfg(test)]
mod tests;
