//! Sentences for what an analysis found odd about a whole run: `place: what; mend`.

use std::path::Path;

use fusion::RunProblem;
use sensor::journal::Recovered;
use sensor::{Assembled, Heading, Link, Placement, RecordingId, Run, Stop};

/// A sensor whose rate is further off than this share is told.
const RATE_SHARE_MAX: f64 = 0.05;

/// What is said of a journal whose run was broken off.
pub(crate) fn broken_off(journal: &Path) -> String {
    let name = journal.file_name().unwrap_or(journal.as_os_str()).display();
    format!(
        "{name}: a run that was broken off, not analysed yet; the next `legraise live` with --data brings it back"
    )
}

/// What is said of a run that was brought back.
pub(crate) fn brought_back(root: &str, back: &Recovered) -> String {
    let id = &back.id;
    if back.was_written {
        format!("{root}: {id} was complete, only its journal was left; removed")
    } else {
        format!(
            "{root}: {id} had been broken off, rebuilt from its journal; check it with `legraise replay`"
        )
    }
}

/// What is to be said of the sensors of a run that has ended.
pub(crate) fn of_sensors(heading: &Heading, made: &Assembled) -> Vec<String> {
    let mut told = Vec::new();
    for placement in &made.empty {
        told.push(format!(
            "{placement}: sent nothing, left out; check its battery and try it alone"
        ));
    }
    for (placement, count) in &made.impossible {
        told.push(format!(
            "{placement}: {count} samples that no sensor can feel, left out; check its profile"
        ));
    }
    for (placement, clock) in &made.clocks {
        if clock.sample_count == 0 {
            continue;
        }
        if let Some(lost) = clock.lost_count.filter(|lost| 0 < *lost) {
            let share = 100.0 * lost as f64 / (lost + clock.sample_count) as f64;
            told.push(format!("{placement}: {lost} samples lost ({share:.1} %); keep the sensor nearer, with nothing between"));
        }
        let stream = heading.streams.iter().find(|s| s.placement == *placement);
        let nominal_hz = stream.map_or(clock.rate_hz, |s| s.timing.nominal_hz);
        if RATE_SHARE_MAX < (clock.rate_hz / nominal_hz - 1.0).abs() {
            told.push(format!("{placement}: {:.1} samples a second, expected {nominal_hz}; set the rate in its profile right", clock.rate_hz));
        }
        if 1 < clock.segment_count {
            told.push(format!(
                "{placement}: its clock began anew {} times; charge it, or keep it nearer",
                clock.segment_count - 1
            ));
        }
    }
    if 0 < made.strayed {
        told.push(format!(
            "{} marks were pressed long before or after, left out; mark during the run",
            made.strayed
        ));
    }
    told
}

/// What is said when the link of a sensor has changed.
pub(crate) fn link(placement: Placement, link: Link) -> String {
    match link {
        Link::Connecting => format!("{placement}: connecting again"),
        Link::Streaming => format!("{placement}: sends again"),
        Link::Silent => {
            format!("{placement}: connected, but sends nothing; wait, or switch it off and on")
        }
        Link::Lost => format!("{placement}: connection lost; bring it nearer, it is being sought"),
    }
}

/// What is said when a source has ended by itself.
pub(crate) fn ended(placement: Placement, reason: Stop) -> Option<String> {
    let (what, mend) = match reason {
        Stop::Asked | Stop::Finished => return None,
        Stop::Lost => (
            "connection lost and not found again",
            "bring it nearer and start another run",
        ),
        Stop::Silent => (
            "sent nothing any more",
            "switch it off and on and start another run",
        ),
        Stop::Battery => ("its battery is empty", "charge it"),
        Stop::Fault => (
            "reports a fault of its own",
            "switch it off and on, or take another one",
        ),
        Stop::Limit => ("reached the longest run", "start another run"),
    };
    Some(format!("{placement}: {what}, what came is kept; {mend}"))
}

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
