//! The causal half against the final one: what a person saw on the screen must not be far from what is kept.

#![expect(
    clippy::print_stdout,
    reason = "what was measured is shown with --nocapture"
)]

use fusion::{CompensationKind, Reason};
use fusion::{RaiseState, Reading, SessionContext, Settings, Trial, analyse_run};
use sensor::synthetic::{Scenario, simulate};
use sensor::{Mark, MarkKind, Run, RunTime, WITHDRAWN};

/// Samples in one packet.
const PACKET: usize = 6;
/// The highest live angle of a raise may differ from its final peak by this, degrees. The live filter knows nothing of
/// what comes after, and no arm: stated in `docs/validation.md`.
const PEAK_DEG_MAX: f64 = 2.0;

/// All readings of a run, its packets in the order of their last samples.
fn readings(run: &Run) -> Vec<Reading> {
    let sensors: Vec<_> = run
        .tracks
        .iter()
        .filter_map(|track| Some((track.placement?, track.rate_hz, track.limits)))
        .collect();
    let mut trial = Trial::new(&sensors, &Settings::default());
    let mut packets: Vec<_> = run
        .tracks
        .iter()
        .filter_map(|track| Some((track.placement?, track)))
        .flat_map(|(placement, track)| {
            track
                .samples
                .chunks(PACKET)
                .map(move |chunk| (chunk[chunk.len() - 1].at, placement, chunk))
        })
        .collect();
    packets.sort_by_key(|(at, placement, _)| (*at, *placement));
    let mut marks = run.marks.iter().peekable();
    let mut said = Vec::new();
    for (at, placement, chunk) in packets {
        while let Some(mark) = marks.next_if(|mark| mark.at <= at) {
            if mark.value == WITHDRAWN {
                trial.withdraw();
            } else {
                trial.mark(mark.kind, mark.side, mark.at.s());
            }
        }
        said.extend(trial.push(placement, chunk));
    }
    said
}

#[test]
fn live_peaks_lie_near_the_final_ones_and_every_raise_is_seen() {
    let (mut worst_deg, mut count) = (0.0_f64, 0);
    for seed in 1..=12 {
        let run = simulate(&Scenario::slow(seed)).run;
        let live = readings(&run);
        let analysis = analyse_run(&run, &SessionContext::default(), &Settings::default());
        for raise in &analysis.raises {
            let of_raise: Vec<&Reading> = live
                .iter()
                .filter(|r| r.side == raise.side && r.t_s > raise.start_s && r.t_s < raise.end_s)
                .collect();
            let highest = of_raise
                .iter()
                .map(|r| r.angle.degrees())
                .fold(0.0, f64::max);
            let peak = raise.peak.as_ref().expect("a simulated raise has a peak");
            let off_deg = highest - peak.angle.value.degrees();
            assert!(
                off_deg.abs() < PEAK_DEG_MAX,
                "seed {seed}: live {highest}, {off_deg} off"
            );
            let seen = |state| of_raise.iter().any(|r| r.state == state);
            assert!(
                seen(RaiseState::Rising) && seen(RaiseState::Lowering),
                "seed {seed}"
            );
            worst_deg = worst_deg.max(off_deg.abs());
            count += 1;
        }
        let resting = live
            .iter()
            .filter(|r| r.state == RaiseState::Resting)
            .count();
        assert!(resting > 0, "seed {seed}: never at rest");
    }
    println!("{count} raises: live peak at most {worst_deg:.2}° from the final one");
    assert!(count >= 36);
}

#[test]
fn readings_only_know_the_past() {
    let run = simulate(&Scenario::slow(3)).run;
    let mut cut = run.clone();
    for track in &mut cut.tracks {
        track
            .samples
            .truncate(track.samples.len() / (2 * PACKET) * PACKET);
    }
    let (whole, part) = (readings(&run), readings(&cut));
    assert!(part.len() > 20);
    // The cut is in each track: what came before both cuts is the same, bit for bit.
    let until_s = cut
        .tracks
        .iter()
        .filter_map(|t| t.samples.last())
        .map(|s| s.at.s())
        .fold(f64::INFINITY, f64::min);
    let before = |all: &[Reading]| -> Vec<Reading> {
        all.iter().filter(|r| r.t_s < until_s).cloned().collect()
    };
    assert_eq!(before(&whole), before(&part));
}

#[test]
fn one_packet_gives_at_most_one_line_and_never_a_wild_number() {
    let run = simulate(&Scenario::brisk(5)).run;
    for reading in readings(&run) {
        assert!(reading.angle.degrees().is_finite() && reading.angle.degrees() < 180.0);
        assert!(reading.expanded.degrees() > 0.0 && reading.expanded.degrees() < 30.0);
    }
}

/// A hold and what gives way are known during the raise, and near to what the final analysis makes of them.
#[test]
fn end_points_are_known_during_the_raise_and_lie_near_the_final_ones() {
    /// Of an end point at a hold or a peak.
    const QUIET_DEG_MAX: f64 = 2.5;
    /// Of one at a mark or a compensation, where the leg is moving.
    const GIVEN_DEG_MAX: f64 = 4.0;
    /// Between the moment named live and the final one, where something gave way.
    const APART_S_MAX: f64 = 0.15;
    let (mut same, mut all, mut off_deg, mut given_deg) = (0, 0, Vec::new(), Vec::new());
    let mut apart_s = Vec::new();
    for (seed, scenario) in (1..=12).flat_map(|seed| {
        [Scenario::slow(seed), Scenario::compensating(seed)].map(|scenario| (seed, scenario))
    }) {
        let run = simulate(&scenario).run;
        let live = readings(&run);
        let analysis = analyse_run(&run, &SessionContext::default(), &Settings::default());
        for raise in &analysis.raises {
            let Some(end) = &raise.end_point else {
                continue;
            };
            let mut after = live
                .iter()
                .filter(|r| r.side == raise.side && r.t_s < raise.end_s);
            let Some(said) = after.next_back().and_then(|r| r.end) else {
                panic!(
                    "seed {seed}: nothing was said of the raise at {} s",
                    raise.start_s
                )
            };
            assert!(said.is_settled, "seed {seed}: {said:?}");
            all += 1;
            if said.reason != end.reason {
                continue;
            }
            same += 1;
            let off = (said.angle.degrees() - end.angle.value.degrees()).abs();
            match end.reason {
                Reason::Hold | Reason::Peak => off_deg.push(off),
                _ => {
                    given_deg.push(off);
                    apart_s.push((said.t_s - end.time_s).abs());
                }
            }
        }
    }
    let worst = |all: &[f64]| all.iter().copied().fold(0.0, f64::max);
    println!(
        "{all} raises, {same} with the same reason live; at most {:.2}° off at a hold or peak ({}), {:.2}° and {:.3} s where something gave way ({})",
        worst(&off_deg),
        off_deg.len(),
        worst(&given_deg),
        worst(&apart_s),
        given_deg.len()
    );
    assert!(
        30 <= all && all * 9 <= same * 10,
        "{same} of {all} have the same reason"
    );
    assert!(20 <= off_deg.len() && worst(&off_deg) < QUIET_DEG_MAX);
    assert!(10 <= given_deg.len() && worst(&given_deg) < GIVEN_DEG_MAX);
    assert!(worst(&apart_s) <= APART_S_MAX, "{} s", worst(&apart_s));
}

#[test]
fn healthy_raises_show_no_compensation_live() {
    let mut raises = 0;
    for seed in 1..=20 {
        let simulated = simulate(&Scenario::slow(seed));
        for reading in readings(&simulated.run) {
            let given: Vec<CompensationKind> =
                reading.compensations.iter().map(|c| c.kind).collect();
            assert!(
                given.is_empty(),
                "seed {seed} at {} s: {given:?}",
                reading.t_s
            );
        }
        raises += simulated.truth.len();
    }
    println!("{raises} healthy raises, none with a compensation live");
}

#[test]
fn a_mark_that_is_taken_back_ends_nothing() {
    let plain = simulate(&Scenario::compensating(3)).run;
    let ends = |run: &Run| -> Vec<_> {
        let said = readings(run);
        said.iter()
            .map(|r| r.end.map(|end| (end.reason, end.t_s)))
            .collect()
    };
    let undisturbed = ends(&plain);
    let first = undisturbed.iter().flatten().next().expect("an end point");
    let mark = |at_s: f64, kind, value: &str| Mark {
        at: RunTime::from_s(at_s).expect("a time"),
        duration_s: Some(0.0),
        kind,
        side: None,
        value: value.to_owned(),
    };
    // Pressed before the other leg gave way, and taken back after.
    let mut marked = plain.clone();
    marked.marks.push(mark(first.1 - 0.2, MarkKind::Pull, ""));
    let by_pull = |ends: &[Option<(Reason, f64)>]| {
        ends.iter()
            .flatten()
            .filter(|end| end.0 == Reason::Pull)
            .count()
    };
    assert!(0 < by_pull(&ends(&marked)));
    marked
        .marks
        .push(mark(first.1 + 1.5, MarkKind::Note, WITHDRAWN));
    let taken_back = ends(&marked);
    assert!(0 < by_pull(&taken_back));
    assert_eq!(taken_back.last(), undisturbed.last());
    let of_first = |ends: &[Option<(Reason, f64)>]| {
        ends.iter()
            .flatten()
            .filter(|end| (end.1 - first.1).abs() < 1e-9)
            .count()
    };
    assert!(
        0 < of_first(&taken_back),
        "what gave way before counts again"
    );
}
