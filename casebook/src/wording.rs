//! Every sentence the casebook says, in one place: plain words, what was found and why, no verdicts.

mod course;

use fusion::{Angle, Reason};

use crate::bands::Bands;
use crate::caution::Caution;
use crate::change::{Change, LimitKind};
use crate::decide::{BandChance, Note, SideDifference};
use crate::drill::{Amount, BeatKind, Counted, Dose, Exclusion};
use crate::pacer::{PhaseKind, Turn};
use crate::recheck::{RecheckNote, WarmUp};
use crate::repeatability::{Origin, Repeatability};
use crate::summary::SideSummary;
use crate::way::Condition;

pub use course::{advice, left_out, next_visit, trend};

/// Stands wherever advice is shown.
pub const ADVICE: &str = "This is a measuring and exercise aid. It does not diagnose. Follow your licence, your local \
    law and your professional code, and the instructions of the treating clinician. If in doubt, stop and refer.";

/// Stands wherever bands are shown.
pub const BANDS: &str =
    "Bands are the practitioner's own setting; no study supports these edges as norms.";

/// Stands wherever drills are shown.
pub const DRILLS: &str = "General exercises of the trade. None is proven for its band.";

/// When every drill is stopped.
pub const STOP: [&str; 6] = [
    "Pain above 3 of 10, or not settled within a day.",
    "Tingling.",
    "Numbness.",
    "Dizziness.",
    "Held breath.",
    "Cramp that stays.",
];

/// What ended a raise.
pub const fn reason(reason: Reason) -> &'static str {
    match reason {
        Reason::Pull => "the first pull was marked",
        Reason::OppositeLeg => "the other leg moved",
        Reason::Knee => "the knee bent",
        Reason::Stop => "it was stopped",
        Reason::Hold => "the leg was held at the top",
        Reason::Peak => "it reached its highest point",
    }
}

/// What that reason means for the number.
const fn reason_means(reason: Reason) -> &'static str {
    match reason {
        Reason::Pull => {
            "the angle is where the pull was felt; what was asked for and the ankle matter as much"
        }
        Reason::OppositeLeg => {
            "the angle is how far the pelvis was kept still, not how far this leg can go; \
             work on holding the other leg, too"
        }
        Reason::Knee => "the angle is how far the knee stayed straight",
        Reason::Stop => "ask the cautions before going on",
        Reason::Hold => "nothing gave way before; why the client went no further isn't measured",
        Reason::Peak => "nothing gave way and the leg wasn't held; ask for a short hold at the top",
    }
}

/// How well people repeat, and from where that is known.
pub fn repeatability(known: &Repeatability) -> String {
    let from = match known.origin {
        Origin::Published => "from published studies".to_owned(),
        Origin::Own { round_count, dof } => {
            format!("from {round_count} own rounds, {dof} degrees of freedom")
        }
    };
    format!(
        "a person repeats one raise to {:.1} (standard error, {from})",
        known.sem
    )
}

/// A mean with its uncertainty, and the two parts of it.
pub fn mean(summary: &SideSummary) -> String {
    format!(
        "{} mean end point {:.1} ± {:.1} of {}; of the standard uncertainty {:.1}, the person {:.1}, the instrument {:.1}",
        summary.side,
        summary.mean,
        summary.expanded,
        counted(summary.count, "raise"),
        summary.standard,
        summary.person,
        summary.instrument,
    )
}

/// `45-60°`, or all bands that may be meant, each with its chance.
pub fn bands(named: &[BandChance], bands: &Bands) -> String {
    if let [only] = named {
        return bands.label(only.band);
    }
    let words: Vec<String> = named
        .iter()
        .map(|found| format!("{} ({})", bands.label(found.band), percent(found.chance)))
        .collect();
    words.join(" or ")
}

/// A chance in whole percent, without claiming that anything is certain.
pub fn percent(chance: f64) -> String {
    let percent = 100.0 * chance;
    if percent < 1.0 {
        "under 1 %".to_owned()
    } else if percent > 99.0 {
        "over 99 %".to_owned()
    } else {
        format!("{percent:.0} %")
    }
}

/// Something to know of a side.
pub fn note(note: &Note) -> String {
    match *note {
        Note::FewRaises { count, asked } => {
            format!("{} of {asked} asked for", counted(count, "raise"))
        }
        Note::EndedBy {
            reason: why,
            count,
            of,
        } => {
            format!("{count} of {of}: {}; {}", reason(why), reason_means(why))
        }
        Note::MixedEnds => {
            "the raises ended for different reasons: a mean of different things".to_owned()
        }
        Note::Stopped { count } => {
            format!(
                "{} stopped and left out; {}",
                counted(count, "raise"),
                reason_means(Reason::Stop)
            )
        }
        Note::Scatter { scatter, usual } => {
            format!(
                "the raises scatter by {scatter:.1}, more than the usual {usual:.1}; measure again"
            )
        }
        Note::FlexibleYetTight { chance } => format!(
            "goes far ({} above the edge) and feels tight all the same: control and strength, not more length",
            percent(chance)
        ),
        Note::Flexible { chance } => {
            format!(
                "goes far ({} above the edge); ask whether it feels tight",
                percent(chance)
            )
        }
    }
}

/// How the sides differ.
pub fn difference(found: &SideDifference) -> String {
    let amount = found.left_less_right;
    let side = if amount < Angle::ZERO {
        "right"
    } else {
        "left"
    };
    let (usual, sd) = found.usual;
    let certain = if found.is_beyond_error {
        "more than"
    } else {
        "within"
    };
    let noted = if found.is_noted { "; worth noting" } else { "" };
    format!(
        "{side} higher by {:.1} ± {:.1}, {certain} its uncertainty; usual either way {usual:.1} ± {sd:.1}{noted}",
        amount.abs(),
        found.expanded,
    )
}

/// A change, and whether it is more than measurement error.
pub fn change(found: &Change) -> String {
    let limit = match found.limit_kind {
        LimitKind::Mdc95 => "smallest change beyond error for so many raises",
        LimitKind::OwnScatter => "its own uncertainty, for the raises scatter much",
        LimitKind::OtherRater => "what two who measure differ by",
    };
    let judged = if found.is_beyond_error() {
        "more than measurement error"
    } else {
        "within measurement error"
    };
    format!(
        "change {:+.1}° ± {:.1}: {judged} ({:.1}, {limit})",
        found.amount.degrees(),
        found.expanded,
        found.limit,
    )
}

/// What was gained within a round.
pub fn warm_up(found: &WarmUp) -> String {
    format!(
        "from raise 1 to raise 3 {:+.1}° (single raises: beyond error from {:.1} on); warming up, not the drill",
        found.gain.degrees(),
        found.limit
    )
}

/// Something to know of a re-check.
pub fn recheck_note(note: &RecheckNote) -> String {
    match *note {
        RecheckNote::OtherOrder => "the legs were raised in another order than before".to_owned(),
        RecheckNote::OtherCount {
            side,
            before,
            after,
        } => {
            format!("{side}: {before} raises before the drill, {after} after; take the same number")
        }
        RecheckNote::Late { after_s } => format!(
            "begun {:.1} min after the drill: a gain at once may be gone by then",
            after_s / 60.0
        ),
        RecheckNote::TimeUnknown => "how long after the drill isn't known".to_owned(),
        RecheckNote::OtherRater => "another person measured".to_owned(),
        RecheckNote::Unsaid(what) => format!("nobody said {}", condition(what)),
    }
}

/// Something about how raises are done.
pub const fn condition(condition: Condition) -> &'static str {
    match condition {
        Condition::Movement => "whether active or passive",
        Condition::Ankle => "how the ankle was held",
        Condition::AskedFor => "how far was asked for",
    }
}

/// A caution, in short.
pub const fn caution(caution: Caution) -> &'static str {
    match caution {
        Caution::Emergency => {
            "new trouble of bladder, bowel, saddle or both legs: refer the same day"
        }
        Caution::Spine => "possible fracture, cancer or infection of the spine: refer",
        Caution::Clot => {
            "calf pain with swelling, warmth or redness, or a clot: neither strap nor exercise"
        }
        Caution::Tear => "acute hamstring tear: clinical assessment first",
        Caution::Surgery => "recent fracture or surgery: clearance first",
        Caution::Heart => {
            "blood pressure of 180/110 or more, chest pain, fainting: clearance first"
        }
        Caution::LegSymptoms => {
            "pain, tingling or numbness below the knee, or in the other leg: refer"
        }
        Caution::NoConsent => "dizzy, unable to follow, or no consent: stop",
        Caution::HipReplacement => "replaced hip: within the surgeon's limits only",
        Caution::Pressure => {
            "high blood pressure, glaucoma or hernia: no held breath, no all-out effort"
        }
        Caution::Pregnancy => "pregnancy: short spells on the back only",
        Caution::Hypermobile => "very mobile joints: no stretching to the end of the range",
        Caution::SitBonePain => "pain at the sit bone: no long stretches and deep hinges at first",
    }
}

/// Why a drill is left out.
pub fn exclusion(why: &Exclusion<'_>) -> String {
    match why {
        Exclusion::Caution(what, words) => format!("{}. {words}", caution(*what)),
        Exclusion::NotLength => {
            "this leg goes far enough: control and strength, not length".to_owned()
        }
    }
}

/// How much of a drill.
pub fn dose(dose: &Dose) -> String {
    let reps = match dose.counted {
        Counted::Breaths => "breaths",
        Counted::Reps => "repetitions",
        Counted::Holds => "holds",
    };
    let side = if dose.is_each_side { " a side" } else { "" };
    let sets = match (dose.sets.least, dose.sets.most) {
        (1, 1) => String::new(),
        _ => format!("{} sets of ", amount(dose.sets)),
    };
    format!(
        "{sets}{} {reps}{side}; a day: {}; days a week: {}; effort {} of 10",
        amount(dose.reps),
        amount(dose.times_a_day),
        amount(dose.days_a_week),
        amount(dose.effort),
    )
}

fn amount(amount: Amount<u32>) -> String {
    if amount.least == amount.most {
        amount.least.to_string()
    } else {
        format!("{} to {}", amount.least, amount.most)
    }
}

/// What the pacer shows for a phase that has no words of its own.
pub const fn phase(kind: PhaseKind) -> &'static str {
    match kind {
        PhaseKind::Ready => "get ready",
        PhaseKind::Change => "other side",
        PhaseKind::SetRest | PhaseKind::Beat(BeatKind::Rest) => "rest",
        PhaseKind::Beat(BeatKind::In) => "breathe in",
        PhaseKind::Beat(BeatKind::Out) => "breathe out",
        PhaseKind::Beat(BeatKind::Pause) => "wait",
        PhaseKind::Beat(BeatKind::Move) => "move",
        PhaseKind::Beat(BeatKind::Hold) => "hold, keep breathing",
    }
}

/// Whose turn.
pub const fn turn(turn: Turn) -> &'static str {
    match turn {
        Turn::First => "first side",
        Turn::Second => "other side",
    }
}

fn counted(count: usize, what: &str) -> String {
    format!("{count} {what}{}", if count == 1 { "" } else { "s" })
}

#[cfg(test)]
mod tests;
