//! The pipeline: a run in, an analysis out. The only place that knows left from right.

use sensor::{MarkKind, Placement, Run, Sample, Side};

use crate::analysis::{Analysis, Flag, Raise, RunProblem};
use crate::raise::conclude::conclude;
use crate::settings::Settings;

mod body;
mod live;
mod marks;

use body::Body;
pub use live::{LiveCompensation, LiveEnd, RaiseState, Reading, Trial};

/// What a run is analysed against: other recordings of the same session, always from disk.
#[derive(Clone, Debug, Default)]
pub struct SessionContext {
    /// The session's flat recordings.
    pub flats: Vec<Run>,
}

/// The task of runs that hold leg raises.
const LEG_RAISE: &str = "legraise";

/// Analyses a run. Pure: the same input gives the same output, bit for bit.
pub fn analyse_run(run: &Run, context: &SessionContext, settings: &Settings) -> Analysis {
    let mut problems = same_streams(run);
    let body = Body::new(run, context, settings, &mut problems);
    if !body.has_shin() {
        problems.push(RunProblem::NoShin);
        return Analysis {
            raises: Vec::new(),
            problems,
        };
    }
    let lifts = body.raises(settings);
    let cues = marks::assign(&run.marks, &lifts, settings, &mut problems);
    let beliefs = body.believe(&lifts, settings, &mut problems);
    let raises = lifts
        .iter()
        .zip(cues)
        .filter_map(|((side, lifted), cues)| {
            let mut raise = conclude(
                *side,
                lifted,
                &body.roles(*side, &beliefs)?,
                &cues,
                settings,
            )?;
            run_flags(run, &problems, &mut raise);
            Some(raise)
        })
        .collect();
    Analysis { raises, problems }
}

/// Two sensors that deliver the same numbers are one sensor.
fn same_streams(run: &Run) -> Vec<RunProblem> {
    let mut found = Vec::new();
    for (n, a) in run.tracks.iter().enumerate() {
        for b in &run.tracks[n + 1..] {
            let (Some(pa), Some(pb)) = (a.placement, b.placement) else {
                continue;
            };
            let same = |(x, y): (&Sample, &Sample)| Sample { at: y.at, ..*x } == *y;
            let paired = a.samples.len().min(b.samples.len());
            if paired > 20 && a.samples.iter().zip(&b.samples).all(same) {
                found.push(RunProblem::SameStream { a: pa, b: pb });
            }
        }
    }
    found
}

/// Flags that come from the run as a whole.
fn run_flags(run: &Run, problems: &[RunProblem], raise: &mut Raise) {
    let noted = run
        .marks
        .iter()
        .filter(|mark| mark.kind == MarkKind::Raise)
        .filter(|mark| {
            let end_s = mark.at.s() + mark.duration_s.unwrap_or(0.0);
            mark.at.s() < raise.end_s && end_s > raise.start_s
        });
    let named = run
        .id
        .acquisition
        .as_deref()
        .and_then(|label| label.parse().ok());
    let sides: Vec<Side> = noted.filter_map(|mark| mark.side).chain(named).collect();
    // One sensor's numbers under two names: nobody knows which leg it was.
    let shin = Placement::shin(raise.side);
    let doubled = problems.iter().any(
        |problem| matches!(problem, RunProblem::SameStream { a, b } if *a == shin || *b == shin),
    );
    if doubled || !sides.is_empty() && !sides.contains(&raise.side) {
        raise.flags.push(Flag::SideConflict);
    }
    if run.id.task != LEG_RAISE && !run.id.task.is_empty() {
        raise.flags.push(Flag::OtherTask);
    }
    raise.flags.sort_unstable();
}
