//! Recordings in, results out: in parallel, each contained, in the order given.

use std::num::NonZeroUsize;

use fusion::{Raise, RunProblem, Settings, analyse_run};
use rayon::prelude::*;
use sensor::bids::{RunFiles, RunRead, read_run};
use sensor::{Conditions, RecordingId};

use crate::contain::contained;
use crate::error::CommandError;
use crate::progress::Progress;
use crate::source::{Session, sessions};
use crate::wording;

/// What is known of one recording after its analysis.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Outcome {
    /// Its name.
    pub(crate) id: RecordingId,
    /// Its folder, as seen from the data set.
    pub(crate) path: String,
    /// Its files of samples, as seen from the data set.
    pub(crate) motions: Vec<String>,
    /// When it was recorded, as the file says.
    pub(crate) acquired: Option<String>,
    /// How the raises were done.
    pub(crate) conditions: Conditions,
    /// Names of the sensors that could be read.
    pub(crate) sensors: Vec<String>,
    /// Why it, or a sensor of it, could not be analysed, with the mend.
    pub(crate) error: Option<String>,
    /// What was odd, a sentence each.
    pub(crate) problems: Vec<String>,
    /// In order of time.
    pub(crate) raises: Vec<Raise>,
}

/// Analyses recordings, `jobs` at a time (one a processor if `None`).
pub(crate) fn analyse(
    runs: &[RunFiles],
    settings: &Settings,
    jobs: Option<NonZeroUsize>,
    is_watched: bool,
) -> Result<Vec<Outcome>, CommandError> {
    let progress = Progress::new(runs.len(), is_watched);
    let work = || {
        let visits: Vec<Vec<Outcome>> = sessions(runs)
            .into_par_iter()
            .map(|runs| visit(runs, settings, &progress))
            .collect();
        visits.into_iter().flatten().collect()
    };
    let outcomes = match jobs {
        None => work(),
        Some(jobs) => {
            let pool = rayon::ThreadPoolBuilder::new()
                .num_threads(jobs.get())
                .build();
            pool.map_err(CommandError::Threads)?.install(work)
        }
    };
    progress.finish();
    Ok(outcomes)
}

/// The runs of one session: what they share is read once.
fn visit(runs: &[RunFiles], settings: &Settings, progress: &Progress) -> Vec<Outcome> {
    let Some(first) = runs.first() else {
        return Vec::new();
    };
    let session = contained(|| Session::of(first));
    let one = |files: &RunFiles| {
        let whole = session.as_ref().map_err(String::clone);
        let done = whole.and_then(|session| contained(|| outcome(files, session, settings)));
        progress.step();
        done.unwrap_or_else(|place| Outcome {
            error: Some(wording::program_fault(&files.id, &place)),
            ..Outcome::of(files)
        })
    };
    runs.par_iter().map(one).collect()
}

impl Outcome {
    /// What the files' names tell.
    fn of(files: &RunFiles) -> Self {
        let path = files.place();
        let name = |motion: &std::path::PathBuf| {
            motion
                .file_name()
                .map(|n| format!("{path}/{}", n.display()))
        };
        Self {
            id: files.id.clone(),
            motions: files.motions.iter().filter_map(name).collect(),
            path,
            ..Self::default()
        }
    }
}

/// Reads and analyses one recording.
fn outcome(files: &RunFiles, session: &Session, settings: &Settings) -> Outcome {
    let mut outcome = Outcome::of(files);
    let RunRead {
        run,
        problems,
        unreadable,
    } = match read_run(files) {
        Ok(read) => read,
        Err(e) => {
            outcome.error = Some(e.to_string());
            return outcome;
        }
    };
    let analysis = analyse_run(&run, &session.context, settings);
    let mut errors: Vec<String> = unreadable.iter().map(ToString::to_string).collect();
    outcome
        .problems
        .extend(problems.iter().map(ToString::to_string));
    outcome.problems.extend(session.problems.iter().cloned());
    for problem in &analysis.problems {
        let sentence = wording::run_problem(&run, problem);
        let list = if matches!(problem, RunProblem::NoShin) {
            &mut errors
        } else {
            &mut outcome.problems
        };
        if !list.contains(&sentence) {
            list.push(sentence);
        }
    }
    let mut errors = errors.into_iter();
    outcome.error = errors.next();
    outcome.problems.extend(errors);
    outcome.sensors = run.tracks.iter().map(|track| track.name.clone()).collect();
    outcome.acquired = run.acquired;
    outcome.conditions = run.conditions;
    outcome.raises = analysis.raises;
    outcome
}
