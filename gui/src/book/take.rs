//! From a recording on disk to a round of a visit.

use std::fs;
use std::path::Path;

use casebook::record::{KeptRound, Method, Purpose};
use casebook::store::{Store, may_record};
use casebook::usual_purpose;
use fusion::{Flag, Settings};
use jiff::civil::DateTime;
use sensor::bids::{FindError, RunFiles};

use super::{BookFault, check_cautions, why};
use crate::analyse::{Outcome, analyse};
use crate::error::CommandError;
use crate::output::{METHOD_VERSION, program};
use crate::source::find;

/// What became of one recording.
#[derive(Debug)]
pub(crate) struct Taken {
    /// What the analysis gave.
    pub(crate) outcome: Outcome,
    /// The round as it is kept; `None` where the recording could not be analysed.
    pub(crate) round: Option<KeptRound>,
    /// Whether it is new or changed.
    pub(crate) is_new: bool,
}

/// Analyses recordings of a visit and keeps their results. Without paths all that the visit has on disk and not yet in the
/// casebook. One that can't be analysed stops nothing else. Without consent and the cautions asked nothing is taken.
pub(crate) fn take(
    store: &Store,
    root: &Path,
    (code, session): (&str, &str),
    paths: &[std::path::PathBuf],
    purpose: Option<Purpose>,
) -> Result<(Vec<Taken>, Vec<String>), CommandError> {
    let visit = store.visit(code, session)?;
    // As on the day of the visit: what was recorded before consent was taken back may be kept.
    may_record(&store.client(code)?, visit.date).map_err(BookFault::from)?;
    check_cautions(code, &visit)?;
    let of_visit = [root
        .join(format!("sub-{code}"))
        .join(format!("ses-{session}"))];
    let is_all = paths.is_empty();
    let nothing = || BookFault::NothingNew {
        root: root.to_owned(),
        client: code.to_owned(),
        session: session.to_owned(),
    };
    if is_all && !of_visit[0].exists() {
        return Err(nothing().into());
    }
    if let Some(path) = paths.iter().find(|path| !path.exists()) {
        return Err(FindError::Missing { path: path.clone() }.into());
    }
    let mut sources = find(if is_all { &of_visit } else { paths });
    if is_all {
        let kept = |run: &RunFiles| {
            visit
                .rounds
                .iter()
                .any(|r| r.recording == run.id.to_string())
        };
        sources.runs.retain(|run| !kept(run));
        if sources.runs.is_empty() {
            return Err(nothing().into());
        }
    }
    // A recording of another data set would not be found again.
    let real = |path: &Path| fs::canonicalize(path).ok();
    let own_root = real(root);
    for run in &sources.runs {
        let is_theirs = run.id.subject.as_deref() == Some(code)
            && run.id.session.as_deref() == Some(session)
            && run.id.task == "legraise"
            && run.root.as_deref().and_then(real) == own_root;
        if !is_theirs {
            return Err(BookFault::NotTheirs {
                recording: run.id.to_string(),
                client: code.to_owned(),
                session: session.to_owned(),
            }
            .into());
        }
    }
    let settings = Settings::default();
    let outcomes = analyse(&sources.runs, &settings, None, false)?;
    let mut taken = Vec::new();
    for outcome in outcomes {
        let visit = store.visit(code, session)?;
        let id = outcome.id.to_string();
        let known = visit.rounds.iter().find(|round| round.recording == id);
        let usual = || known.map_or_else(|| usual_purpose(&visit, &outcome.raises), |r| r.purpose);
        let purpose = purpose.unwrap_or_else(usual);
        let reason = if known.is_some() { "taken again" } else { "" };
        taken.push(keep(
            store,
            (code, session),
            outcome,
            purpose,
            reason,
            &settings,
        )?);
    }
    Ok((taken, sources.messages))
}

fn keep(
    store: &Store,
    (code, session): (&str, &str),
    outcome: Outcome,
    purpose: Purpose,
    reason: &str,
    settings: &Settings,
) -> Result<Taken, CommandError> {
    if outcome.error.is_some() {
        return Ok(Taken {
            outcome,
            round: None,
            is_new: false,
        });
    }
    let round = kept_round(&outcome, purpose, settings);
    let is_new = store.keep_round(code, session, &round, why(reason))?;
    Ok(Taken {
        outcome,
        round: Some(round),
        is_new,
    })
}

/// A recording's results as they are kept.
pub(crate) fn kept_round(outcome: &Outcome, purpose: Purpose, settings: &Settings) -> KeptRound {
    let is_calibrated = |raise: &fusion::Raise| !raise.flags.contains(&Flag::Uncalibrated);
    KeptRound {
        recording: outcome.id.to_string(),
        purpose,
        began: outcome.acquired.as_deref().and_then(moment),
        conditions: outcome.conditions.clone(),
        sensors: outcome.sensors.clone(),
        is_calibrated: !outcome.raises.is_empty() && outcome.raises.iter().all(is_calibrated),
        method: Method {
            version: METHOD_VERSION,
            program: program(),
            settings: settings.fingerprint(),
        },
        raises: outcome.raises.clone(),
        set_aside: Vec::new(),
    }
}

/// A recording's time as its file says it; a zone is left away, for a visit is at one place.
fn moment(text: &str) -> Option<DateTime> {
    text.get(..19)?.parse().ok()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn the_time_of_a_recording_is_read_with_and_without_a_zone() {
        let expected = Some(date(2026, 3, 2).at(9, 30, 0, 0));
        for text in ["2026-03-02T09:30:00", "2026-03-02T09:30:00.250+01:00"] {
            assert_eq!(moment(text), expected);
        }
        assert_eq!(moment("2026-03-02"), None);
    }
}
