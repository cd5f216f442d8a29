//! How fast: samples through tilt, and a whole run through the analysis. `cargo bench -p suite`.
//!
//! Figures are for comparing within one run; machines differ and are noisy.

use divan::Bencher;
use divan::counter::ItemsCount;
use fusion::tilt::{TiltParams, TiltState, smooth, step};
use fusion::{Imu, SessionContext, Settings, analyse_run};
use sensor::Run;
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
