//! Sentences for what an analysis found odd about a whole run: `place: what; mend`.

use fusion::RunProblem;
use sensor::{RecordingId, Run};

/// The sentence for a problem of a run.
pub(crate) fn run_problem(run: &Run, problem: &RunProblem) -> String {
    let id = &run.id;
    match problem {
        RunProblem::NoShin => no_shin(run),
        RunProblem::StrayMark { pressed_s, word } => format!(
            "{id}: {word} marked at {pressed_s:.2} s belongs to no raise, left aside; mark during the raise, or correct its side and time in _events.tsv"
        ),
        RunProblem::Unusable { placement } => {
            format!(
                "{id}: {placement} has too few samples to be used; check the sensor and record again"
            )
        }
        RunProblem::Contradicts { placement } => format!(
            "{id}: accelerometer and gyroscope of {placement} contradict each other, left aside; check axes and units of both in _channels.tsv"
        ),
        RunProblem::SameStream { a, b } => {
            format!(
                "{id}: {a} and {b} hold the same samples; check that each sensor is recorded under its own name"
            )
        }
        RunProblem::FlatUnusable { placement, why } => {
            format!("{id}: flat recording of {placement} can't be used, {why}")
        }
    }
}

/// Why a run without a usable shin can't be analysed.
fn no_shin(run: &Run) -> String {
    let id = &run.id;
    let shins: Vec<&str> = run
        .tracks
        .iter()
        .filter(|track| {
            track
                .placement
                .is_some_and(|p| p.as_str().starts_with("shin"))
        })
        .map(|track| track.name.as_str())
        .collect();
    if !shins.is_empty() {
        return format!(
            "{id}: {} can't be used, too few or too broken samples; check the sensor and record again",
            shins.join(" and ")
        );
    }
    let names: Vec<&str> = run.tracks.iter().map(|track| track.name.as_str()).collect();
    format!(
        "{id}: no shin sensor among {}; name it tracksys-shinleft or tracksys-shinright, in the file's name or as tracked_point in _channels.tsv",
        names.join(", ")
    )
}

/// The sentence for a fault of the program itself.
pub(crate) fn program_fault(id: &RecordingId, place: &str) -> String {
    let at = if place.is_empty() {
        String::new()
    } else {
        format!(" ({place})")
    };
    format!(
        "{id}: the analysis broke off at a fault of the program{at}; please report it with this recording"
    )
}

#[cfg(test)]
mod tests {
    use sensor::Placement;
    use sensor::synthetic::{Scenario, simulate};

    use super::*;

    #[test]
    fn every_problem_says_where_what_and_the_mend() {
        let mut run = simulate(&Scenario::quiet(sensor::Side::Left, Vec::new())).run;
        run.id.subject = Some("X".into());
        let placement = Placement::Pelvis;
        let problems = [
            RunProblem::NoShin,
            RunProblem::StrayMark {
                pressed_s: 3.2,
                word: "pull",
            },
            RunProblem::Unusable { placement },
            RunProblem::Contradicts { placement },
            RunProblem::SameStream {
                a: placement,
                b: Placement::ShinLeft,
            },
            RunProblem::FlatUnusable {
                placement,
                why: "no opposite faces; lay it on two".into(),
            },
        ];
        let mut sentences: Vec<String> = problems
            .iter()
            .map(|problem| run_problem(&run, problem))
            .collect();
        run.tracks.clear();
        sentences.push(run_problem(&run, &RunProblem::NoShin));
        sentences.push(program_fault(&run.id, "a.rs:1"));
        for sentence in sentences {
            assert!(
                sentence.starts_with("sub-X: ")
                    && sentence.contains("; ")
                    && !sentence.ends_with('.'),
                "{sentence}"
            );
        }
    }
}
