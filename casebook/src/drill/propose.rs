//! Which drills suit a finding, and which are left out and why. The practitioner chooses.

use fusion::Angle;

use super::{Action, Drill, DrillKind};
use crate::bands::Bands;
use crate::caution::Caution;
use crate::decide::{BandChance, Finding, Note};

/// A drill that suits.
#[derive(Clone, Debug, PartialEq)]
pub struct Proposed<'a> {
    /// Which.
    pub drill: &'a Drill,
    /// The band it is proposed for, with its chance.
    pub band: BandChance,
    /// What to change for this client, and because of what.
    pub adapt: Vec<(Caution, &'a str)>,
}

/// Why a drill that would suit the band is left out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exclusion<'a> {
    /// A caution, and the drill's words for it.
    Caution(Caution, &'a str),
    /// The leg goes far enough: control and strength, not length.
    NotLength,
}

/// A drill left out.
#[derive(Clone, Debug, PartialEq)]
pub struct Excluded<'a> {
    /// Which.
    pub drill: &'a Drill,
    /// Why.
    pub because: Vec<Exclusion<'a>>,
}

/// What is proposed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Proposal<'a> {
    /// Cautions that forbid every drill until they are cleared; then nothing is proposed.
    pub stopped_by: Vec<Caution>,
    /// Drills that suit, those for the client's own band first.
    pub drills: Vec<Proposed<'a>>,
    /// Drills that would suit the band, and are left out.
    pub excluded: Vec<Excluded<'a>>,
}

/// Proposes drills for every band that is named for a side. Near an edge those of both bands are.
pub fn propose<'a>(
    drills: &'a [Drill],
    finding: &Finding,
    cautions: &[Caution],
    bands: &Bands,
) -> Proposal<'a> {
    let mut proposal = Proposal {
        stopped_by: Caution::ALL
            .into_iter()
            .filter(|caution| caution.stops_all() && cautions.contains(caution))
            .collect(),
        ..Proposal::default()
    };
    if !proposal.stopped_by.is_empty() {
        return proposal;
    }
    let is_flexible = finding
        .notes
        .iter()
        .any(|note| matches!(note, Note::FlexibleYetTight { .. }));
    for band in &finding.named {
        for drill in drills.iter().take(Drill::COUNT_MAX) {
            let is_known = proposal.drills.iter().any(|known| known.drill == drill)
                || proposal.excluded.iter().any(|known| known.drill == drill);
            if is_known || !is_for(drill, band.band, bands) {
                continue;
            }
            let because = exclusions(drill, cautions, is_flexible);
            if because.is_empty() {
                proposal.drills.push(Proposed {
                    drill,
                    band: *band,
                    adapt: of(drill, cautions, Action::Adapt),
                });
            } else {
                proposal.excluded.push(Excluded { drill, because });
            }
        }
    }
    proposal
}

/// A drill is for a band when half of its range lies in it, or half of the band in its range: so drills still find
/// their place when a practitioner moves the edges.
fn is_for(drill: &Drill, band: usize, bands: &Bands) -> bool {
    let edge = |at: usize| bands.edges().get(at).map(|edge: &Angle| edge.degrees());
    let low = band.checked_sub(1).and_then(edge).unwrap_or(0.0);
    let high = edge(band).unwrap_or(180.0);
    let both = high.min(drill.to_deg) - low.max(drill.from_deg);
    let narrower = (high - low).min(drill.to_deg - drill.from_deg);
    both > 0.0 && 2.0 * both >= narrower
}

fn of<'a>(drill: &'a Drill, cautions: &[Caution], action: Action) -> Vec<(Caution, &'a str)> {
    drill
        .cautions
        .iter()
        .filter(|own| own.action == action && cautions.contains(&own.caution))
        .map(|own| (own.caution, own.why.as_str()))
        .collect()
}

fn exclusions<'a>(drill: &'a Drill, cautions: &[Caution], is_flexible: bool) -> Vec<Exclusion<'a>> {
    let mut because: Vec<Exclusion<'a>> = of(drill, cautions, Action::LeaveOut)
        .into_iter()
        .map(|(caution, why)| Exclusion::Caution(caution, why))
        .collect();
    let is_length = match drill.kind {
        DrillKind::Lengthen => is_flexible || cautions.contains(&Caution::Hypermobile),
        DrillKind::Unload | DrillKind::Glide | DrillKind::Hinge => is_flexible,
        DrillKind::Strength | DrillKind::Control => false,
    };
    if is_length {
        because.push(Exclusion::NotLength);
    }
    because
}
