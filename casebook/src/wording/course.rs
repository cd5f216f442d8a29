//! What is said of the course over weeks.

use jiff::civil::Date;

use super::{change, condition, counted};
use crate::bands::Bands;
use crate::course::{Advice, Direction, Hint, LeftOut, Step, StepReason, Trend};

/// Why a visit isn't in the course.
pub fn left_out(why: &LeftOut) -> String {
    match why {
        LeftOut::OtherWay(differing) => {
            let words: Vec<&str> = differing.iter().map(|what| condition(*what)).collect();
            format!(
                "done another way than at the latest visit: {}",
                words.join(", ")
            )
        }
        LeftOut::OtherRater => "another person measured than at the latest visit".to_owned(),
        LeftOut::SameDay => "not the first round of that day".to_owned(),
    }
}

/// A trend.
pub fn trend(found: &Trend) -> String {
    let direction = match found.direction {
        Direction::Up => "grows by more than measurement error",
        Direction::Down => "falls by more than measurement error",
        Direction::Unclear => "no change beyond measurement error",
    };
    let (low, high) = found.robust_interval;
    let rough = if found.is_rough {
        "; the visits lie further from the line than their uncertainties say"
    } else {
        ""
    };
    format!(
        "{direction}: {:+.2}° ± {:.2} a week; middle slope {:+.2}°, {:+.2}° to {:+.2}° ({:.0} %){rough}",
        found.per_week.degrees(),
        found.expanded_per_week,
        found.robust_per_week.degrees(),
        low.degrees(),
        high.degrees(),
        100.0 * found.robust_coverage,
    )
}

/// A proposed step with its reasons and hints, a sentence each.
pub fn advice(found: &Advice, bands: &Bands) -> Vec<String> {
    let step = match found.step {
        Step::Stay => "proposal: stay with these drills".to_owned(),
        Step::MoveOn { to } => format!("proposal: move on to drills for {}", bands.label(to)),
        Step::Return { to } => format!("proposal: go back to drills for {}", bands.label(to)),
    };
    let reasons = found.reasons.iter().map(step_reason);
    let hints = found.hints.iter().map(hint);
    std::iter::once(step).chain(reasons).chain(hints).collect()
}

fn step_reason(reason: &StepReason) -> String {
    match *reason {
        StepReason::TopBand => "there is no band above".to_owned(),
        StepReason::NotAbove { above, expanded } => format!(
            "the mean lies {:+.1}° from the band's upper edge; it must be above by more than its uncertainty, {expanded:.1}",
            above.degrees()
        ),
        StepReason::Above { visits, since } => format!(
            "above the band's upper edge by more than the uncertainty on {}, since {since}",
            counted(visits, "visit")
        ),
        StepReason::TooFewVisits { found, needed } => {
            format!("{} so far, {needed} are needed", counted(found, "visit"))
        }
        StepReason::TooSoon { days, needed } => {
            format!("{} apart, {needed} are needed", counted(days, "day"))
        }
        StepReason::NotQuiet => "other signs aren't quiet".to_owned(),
        StepReason::QuietUnknown => "ask first whether other signs are quiet".to_owned(),
        StepReason::ClearFall {
            from,
            change: found,
        } => format!("since {from}: {}", change(&found)),
    }
}

fn hint(hint: &Hint) -> String {
    match *hint {
        Hint::Plateau { weeks } => {
            format!("a gain, and none for {weeks:.0} weeks: another drill may do more")
        }
        Hint::Review { weeks, is_due } => {
            let then = if is_due {
                "change the drill or refer"
            } else {
                "think of another drill"
            };
            format!("no change beyond measurement error in {weeks:.0} weeks: {then}")
        }
    }
}

/// When to come again.
pub fn next_visit(date: Date) -> String {
    format!("next visit {date}")
}
