//! How fast: samples through tilt, a whole run through the analysis, and files through reading. `cargo bench -p suite`.
//!
//! Figures are for comparing within one run; machines differ and are noisy. `bare_walk` does the least that reading text
//! can: every number of the same bytes, one after another, into nothing.
#![allow(
    clippy::expect_used,
    reason = "a bench that can't write its files has nothing to time"
)]

use std::path::PathBuf;

use divan::Bencher;
use divan::counter::{BytesCount, ItemsCount};
use fusion::tilt::{TiltParams, TiltState, smooth, step};
use fusion::{Imu, SessionContext, Settings, analyse_run};
use sensor::Run;
use sensor::bids::{RunFiles, find_runs, read_motion, read_run, write_run};
use sensor::synthetic::{Scenario, simulate};

fn main() {
    divan::main();
}

/// One slow simulated run.
fn run() -> Run {
    simulate(&Scenario::slow(1)).run
}

fn shin() -> (f64, Vec<Imu>) {
    let run = run();
    let track = &run.tracks[0];
    (track.rate_hz, track.samples.iter().map(Imu::from).collect())
}

#[divan::bench]
fn causal_tilt(bencher: Bencher<'_, '_>) {
    let (rate_hz, imus) = shin();
    let coeffs = TiltParams::default().coeffs(rate_hz);
    bencher.counter(ItemsCount::new(imus.len())).bench(|| {
        let mut state = TiltState::new(&coeffs, &imus[0]);
        let mut last = state.output(&coeffs);
        for imu in &imus[1..] {
            last = step(&coeffs, &mut state, imu);
        }
        last
    });
}

#[divan::bench]
fn smoothed_tilt(bencher: Bencher<'_, '_>) {
    let (rate_hz, imus) = shin();
    let coeffs = TiltParams::default().coeffs(rate_hz);
    bencher
        .counter(ItemsCount::new(imus.len()))
        .bench(|| smooth(&coeffs, &imus));
}

#[divan::bench]
fn whole_run(bencher: Bencher<'_, '_>) {
    let run = run();
    let samples: usize = run.tracks.iter().map(|track| track.samples.len()).sum();
    bencher
        .counter(ItemsCount::new(samples))
        .bench(|| analyse_run(&run, &SessionContext::default(), &Settings::default()));
}

/// A run on disk, as a recorder leaves it.
struct Recorded {
    _folder: tempfile::TempDir,
    files: RunFiles,
    motion: PathBuf,
    samples: usize,
}

fn recorded() -> Recorded {
    let mut run = run();
    run.id.subject = Some("bench".to_owned());
    let folder = tempfile::tempdir().expect("a folder");
    write_run(folder.path(), &run).expect("it is written");
    let files = find_runs(folder.path()).expect("it is found").remove(0);
    Recorded {
        motion: files.motions[0].clone(),
        samples: run.tracks.iter().map(|track| track.samples.len()).sum(),
        files,
        _folder: folder,
    }
}

#[divan::bench]
fn bare_walk(bencher: Bencher<'_, '_>) {
    let recorded = recorded();
    let size = std::fs::read(&recorded.motion).expect("it is read").len();
    bencher.counter(BytesCount::new(size)).bench(|| {
        let bytes = std::fs::read(&recorded.motion).expect("it is read");
        let mut rest = bytes.as_slice();
        let mut sum = 0.0;
        while let Ok((number, length)) = fast_float2::parse_partial::<f32, _>(rest) {
            sum += number;
            rest = &rest[(length + 1).min(rest.len())..];
        }
        sum
    });
}

#[divan::bench]
fn read_one_file(bencher: Bencher<'_, '_>) {
    let recorded = recorded();
    let size = std::fs::read(&recorded.motion).expect("it is read").len();
    bencher
        .counter(BytesCount::new(size))
        .bench(|| read_motion(&recorded.motion).expect("it is read"));
}

#[divan::bench]
fn read_and_smooth(bencher: Bencher<'_, '_>) {
    let recorded = recorded();
    bencher
        .counter(ItemsCount::new(recorded.samples))
        .bench(|| {
            let run = read_run(&recorded.files).expect("it is read").run;
            let smoothed = run.tracks.iter().map(|track| {
                let imus: Vec<Imu> = track.samples.iter().map(Imu::from).collect();
                smooth(&TiltParams::default().coeffs(track.rate_hz), &imus).len()
            });
            smoothed.sum::<usize>()
        });
}

#[divan::bench]
fn read_and_analyse(bencher: Bencher<'_, '_>) {
    let recorded = recorded();
    bencher
        .counter(ItemsCount::new(recorded.samples))
        .bench(|| {
            let run = read_run(&recorded.files).expect("it is read").run;
            analyse_run(&run, &SessionContext::default(), &Settings::default())
        });
}
