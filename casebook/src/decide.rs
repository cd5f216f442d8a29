//! What a round says: for each side the mean, the bands it may belong to, and what ended the raises; and how the
//! sides differ. It proposes and gives reasons; the practitioner decides.

use fusion::{Angle, Raise, Reason};
use sensor::{Conditions, Side};

use crate::bands::Bands;
use crate::change::{difference, scatters_more};
use crate::repeatability::Repeatability;
use crate::rules::{Rules, count};
use crate::statistics::t_beyond;
use crate::summary::{SideSummary, counted, summarise_with};
use crate::way::{Condition, Way};

/// Raises of one round, and how they were done.
#[derive(Clone, Copy, Debug)]
pub struct Round<'a> {
    /// Of both sides, in order.
    pub raises: &'a [Raise],
    /// How they were done.
    pub conditions: &'a Conditions,
}

/// A band and how likely the mean is to belong to it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BandChance {
    /// Counted from 0.
    pub band: usize,
    /// 0 to 1.
    pub chance: f64,
}

/// Something a reader of a side must know.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Note {
    /// Fewer raises than asked for.
    FewRaises {
        /// In the mean.
        count: usize,
        /// Asked for.
        asked: usize,
    },
    /// What ended most of the raises, or all.
    EndedBy {
        /// Why.
        reason: Reason,
        /// How often.
        count: usize,
        /// Of how many.
        of: usize,
    },
    /// No reason ended more than half of them.
    MixedEnds,
    /// Raises were stopped; they are not in the mean.
    Stopped {
        /// How many.
        count: usize,
    },
    /// The raises scatter more than is usual for people.
    Scatter {
        /// Among themselves.
        scatter: Angle,
        /// Usual.
        usual: Angle,
    },
    /// The leg goes far and feels tight all the same: control and strength, not more length.
    FlexibleYetTight {
        /// How likely the mean is above the edge for it, 0 to 1.
        chance: f64,
    },
    /// The leg goes far; nobody said whether it feels tight.
    Flexible {
        /// How likely the mean is above the edge for it, 0 to 1.
        chance: f64,
    },
}

/// What is found of one side.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// The mean with its uncertainty.
    pub summary: SideSummary,
    /// Every band with its chance, from low to high.
    pub chances: Vec<BandChance>,
    /// The bands to name: its own first; others where an edge is within the uncertainty, likelier ones first.
    pub named: Vec<BandChance>,
    /// How often each reason ended a raise, most often first, `stop` among them.
    pub ends: Vec<(Reason, usize)>,
    /// What a reader must know.
    pub notes: Vec<Note>,
}

/// How the sides differ.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SideDifference {
    /// Left less right.
    pub left_less_right: Angle,
    /// Standard uncertainty.
    pub standard: Angle,
    /// Expanded uncertainty, 95 % coverage.
    pub expanded: Angle,
    /// What is usual either way: mean and standard deviation.
    pub usual: (Angle, Angle),
    /// Whether it is more than its own uncertainty.
    pub is_beyond_error: bool,
    /// Whether it is large enough to be noted.
    pub is_noted: bool,
}

/// All that a round says.
#[derive(Clone, Debug, PartialEq)]
pub struct Decision {
    /// How well people repeat, and where that comes from.
    pub repeatability: Repeatability,
    /// Sides with a mean, left first.
    pub sides: Vec<Finding>,
    /// Where both have one.
    pub difference: Option<SideDifference>,
    /// What nobody said of how the raises were done: they can't be told from raises done otherwise.
    pub unsaid: Vec<Condition>,
}

/// Says what a round says. `feels_tight` is the client's own word.
pub fn decide(
    round: &Round<'_>,
    repeatability: Repeatability,
    feels_tight: Option<bool>,
    bands: &Bands,
    rules: &Rules,
) -> Decision {
    let sides: Vec<Finding> = Side::ALL
        .into_iter()
        .filter_map(|side| finding(round, side, &repeatability, feels_tight, bands, rules))
        .collect();
    let of = |side| {
        let mut found = sides.iter();
        found.find(|f| f.summary.side == side)
    };
    let difference = of(Side::Left)
        .zip(of(Side::Right))
        .map(|(left, right)| SideDifference::of(&left.summary, &right.summary, rules));
    let way = Way::of(round.conditions);
    let is_unsaid = |condition: &Condition| way.word(*condition).is_none();
    Decision {
        repeatability,
        difference,
        sides,
        unsaid: Condition::ALL.into_iter().filter(is_unsaid).collect(),
    }
}

/// The bands to name for a mean: its own first, then those it may belong to as well, likelier ones first.
pub fn named_bands(summary: &SideSummary, bands: &Bands) -> Vec<BandChance> {
    let own = bands.of(summary.mean);
    let chances = all_bands(summary, bands);
    let mut named: Vec<BandChance> = bands
        .possible(summary.mean, summary.expanded)
        .into_iter()
        .filter_map(|band| chances.get(band).copied())
        .collect();
    named.sort_by(|a, b| {
        let is_other = (a.band != own).cmp(&(b.band != own));
        is_other.then(b.chance.total_cmp(&a.chance))
    });
    named
}

fn all_bands(summary: &SideSummary, bands: &Bands) -> Vec<BandChance> {
    bands
        .probabilities_with_dof(summary.mean, summary.standard, summary.effective_dof)
        .into_iter()
        .enumerate()
        .map(|(band, chance)| BandChance { band, chance })
        .collect()
}

fn finding(
    round: &Round<'_>,
    side: Side,
    repeatability: &Repeatability,
    feels_tight: Option<bool>,
    bands: &Bands,
    rules: &Rules,
) -> Option<Finding> {
    let summary = summarise_with(round.raises, side, repeatability)?;
    let ends = ends(round.raises, side, summary.stopped_count);
    let mut notes = Vec::new();
    let asked = count(rules.raise_count);
    if summary.count < asked {
        notes.push(Note::FewRaises {
            count: summary.count,
            asked,
        });
    }
    notes.extend(what_ended(&ends, summary.count));
    if summary.stopped_count > 0 {
        notes.push(Note::Stopped {
            count: summary.stopped_count,
        });
    }
    notes.extend(scatter(&summary, repeatability));
    notes.extend(flexible(&summary, feels_tight, rules));
    Some(Finding {
        chances: all_bands(&summary, bands),
        named: named_bands(&summary, bands),
        summary,
        ends,
        notes,
    })
}

fn ends(raises: &[Raise], side: Side, stopped_count: usize) -> Vec<(Reason, usize)> {
    let mut ends: Vec<(Reason, usize)> = Vec::new();
    for end in counted(raises, side) {
        match ends.iter_mut().find(|(reason, _)| *reason == end.reason) {
            Some((_, count)) => *count += 1,
            None => ends.push((end.reason, 1)),
        }
    }
    if stopped_count > 0 {
        ends.push((Reason::Stop, stopped_count));
    }
    ends.sort_by_key(|(reason, count)| (std::cmp::Reverse(*count), *reason));
    ends
}

/// The reason of more than half of the raises in the mean.
fn what_ended(ends: &[(Reason, usize)], of: usize) -> Option<Note> {
    let mut counted = ends.iter().filter(|(reason, _)| *reason != Reason::Stop);
    let (reason, count) = *counted.next()?;
    Some(if 2 * count > of {
        Note::EndedBy { reason, count, of }
    } else {
        Note::MixedEnds
    })
}

fn scatter(summary: &SideSummary, repeatability: &Repeatability) -> Option<Note> {
    let (scatter, usual) = (summary.scatter?, repeatability.sem);
    scatters_more(&[*summary], repeatability).then_some(Note::Scatter { scatter, usual })
}

fn flexible(summary: &SideSummary, feels_tight: Option<bool>, rules: &Rules) -> Option<Note> {
    let edge = Angle::from_degrees(rules.flexible_deg);
    // As far as the mean may reach: near the edge it is told, too.
    if summary.mean + summary.expanded <= edge {
        return None;
    }
    let t = (summary.mean - edge).radians() / summary.standard.radians();
    let tail = t_beyond(t, summary.effective_dof.floor().max(1.0));
    let chance = match tail {
        Ok(both) if t < 0.0 => both / 2.0,
        Ok(both) => 1.0 - both / 2.0,
        // No uncertainty at all: it is above, or it would have been turned away.
        Err(_) => 1.0,
    };
    match feels_tight {
        Some(true) => Some(Note::FlexibleYetTight { chance }),
        Some(false) => None,
        None => Some(Note::Flexible { chance }),
    }
}

impl SideDifference {
    /// Of the means of both legs.
    pub fn of(left: &SideSummary, right: &SideSummary, rules: &Rules) -> Self {
        let (standard, expanded) = difference(left, right);
        let left_less_right = left.mean - right.mean;
        let [usual, usual_sd, noted] = [
            rules.side_usual_deg,
            rules.side_usual_sd_deg,
            rules.side_note_deg,
        ]
        .map(Angle::from_degrees);
        Self {
            left_less_right,
            standard,
            expanded,
            usual: (usual, usual_sd),
            is_beyond_error: left_less_right.abs() > expanded,
            is_noted: left_less_right.abs() >= noted,
        }
    }
}

#[cfg(test)]
mod tests;
