//! The causal half against the final one: what a person saw on the screen must not be far from what is kept.

use fusion::{RaiseState, Reading, SessionContext, Settings, Trial, analyse_run};
use sensor::Run;
use sensor::synthetic::{Scenario, simulate};

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
    packets
        .into_iter()
        .filter_map(|(_, placement, chunk)| trial.push(placement, chunk))
        .collect()
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
