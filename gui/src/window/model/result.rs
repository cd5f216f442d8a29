//! What the recorded raises come to: a mean for each leg, and its band.

use casebook::{Bands, SideSummary, named_bands, summarise};
use fusion::Raise;
use sensor::Side;

use super::{Course, Trace, Why};
use crate::analyse::Outcome;

/// The curve shows so much before and after a raise, s.
const AROUND_S: f64 = 0.8;
/// A round as it was seen and a raise of the analysis are the same if they begin so near each other, s.
const SAME_S: f64 = 1.5;

/// A run that is done.
#[derive(Clone, Debug)]
pub(in crate::window) struct Recorded {
    /// The run, as the analysis names it.
    pub(in crate::window) id: String,
    /// As the analysis found them.
    pub(in crate::window) raises: Vec<Raise>,
    /// For each of them, why it is left out, if it is.
    pub(in crate::window) outs: Vec<Option<Why>>,
    /// For each of them, its curve as it was seen.
    pub(in crate::window) curves: Vec<Trace>,
    /// What was odd.
    pub(in crate::window) problems: Vec<String>,
    /// Why it could not be analysed.
    pub(in crate::window) error: Option<String>,
}

impl Recorded {
    pub(super) fn of(analysis: Outcome, course: &Course) -> Self {
        let out = |raise: &Raise| {
            let same = course.rounds.iter().find(|round| {
                round.side == raise.side
                    && raise.start_s - SAME_S < round.start_s
                    && round.start_s < raise.end_s
            });
            same.and_then(|round| round.out)
        };
        let curve = |raise: &Raise| {
            let (from_s, to_s) = (raise.start_s - AROUND_S, raise.end_s + AROUND_S);
            course.trace(raise.side).between(from_s, to_s)
        };
        Self {
            id: analysis.id.to_string(),
            outs: analysis.raises.iter().map(out).collect(),
            curves: analysis.raises.iter().map(curve).collect(),
            raises: analysis.raises,
            problems: analysis.problems,
            error: analysis.error,
        }
    }
}

/// What the raises of one leg come to.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::window) struct SideResult {
    /// Mean and uncertainty.
    pub(in crate::window) summary: SideSummary,
    /// The bands it may be in, its own first, each with its edges in degrees and its chance.
    pub(in crate::window) bands: Vec<BandChance>,
}

/// A band and the chance to be in it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::window) struct BandChance {
    /// From here on, degrees; from nought without.
    pub(in crate::window) from_deg: Option<f64>,
    /// Up to, but without, degrees; to the end without.
    pub(in crate::window) to_deg: Option<f64>,
    /// From 0 to 1.
    pub(in crate::window) chance: f64,
}

impl SideResult {
    pub(super) fn of(recorded: &[Recorded], side: Side) -> Option<Self> {
        let counted = recorded
            .iter()
            .flat_map(|run| run.raises.iter().zip(&run.outs));
        let raises: Vec<Raise> = counted
            .filter(|(_, out)| out.is_none())
            .map(|(raise, _)| raise.clone())
            .collect();
        let summary = summarise(&raises, side)?;
        Some(Self {
            bands: chances(&summary, &Bands::default()),
            summary,
        })
    }
}

/// The bands a mean may be in, its own first, then the likelier ones.
fn chances(summary: &SideSummary, bands: &Bands) -> Vec<BandChance> {
    let edge = |index: usize| bands.edges().get(index).map(|edge| edge.degrees());
    let named = named_bands(summary, bands).into_iter();
    let chance = |one: casebook::BandChance| BandChance {
        from_deg: one.band.checked_sub(1).and_then(edge),
        to_deg: edge(one.band),
        chance: one.chance,
    };
    named.map(chance).collect()
}
