//! Which raise a mark belongs to.

use sensor::{Mark, MarkKind, Side};

use crate::analysis::RunProblem;
use crate::raise::conclude::Cue;
use crate::raise::lift::Lifted;
use crate::settings::Settings;

/// A mark belongs to a raise that is at most this far away, s.
const MARK_NEAR_S: f64 = 1.0;

/// Gives each pull or stop to the raise in progress when it was felt.
pub(super) fn assign(
    marks: &[Mark],
    legs: &[(Side, Lifted)],
    settings: &Settings,
    problems: &mut Vec<RunProblem>,
) -> Vec<Vec<Cue>> {
    let mut cues: Vec<Vec<Cue>> = vec![Vec::new(); legs.len()];
    if legs.is_empty() {
        // That nothing was raised is told already; that each mark is alone then says nothing more.
        return cues;
    }
    for mark in marks
        .iter()
        .filter(|mark| matches!(mark.kind, MarkKind::Pull | MarkKind::Stop))
    {
        let pressed_s = mark.at.s();
        let felt_s = pressed_s - settings.reaction_s;
        let away = |(side, lifted): &(Side, Lifted)| {
            let wrong_side = mark.side.is_some_and(|s| s != *side);
            let away_s = (lifted.start_s - felt_s)
                .max(felt_s - lifted.end_s)
                .max(0.0);
            (!wrong_side && away_s <= MARK_NEAR_S).then_some(away_s)
        };
        let nearest = legs
            .iter()
            .enumerate()
            .filter_map(|(n, leg)| Some((n, away(leg)?)))
            .min_by(|(_, a), (_, b)| a.total_cmp(b));
        match nearest {
            Some((n, _)) => cues[n].push(Cue {
                pressed_s,
                kind: mark.kind,
            }),
            None => problems.push(RunProblem::StrayMark {
                pressed_s,
                word: mark.kind.as_str(),
            }),
        }
    }
    cues
}
