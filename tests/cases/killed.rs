//! The real program, killed at random moments of a live recording: nothing but the last instants may be missing, and
//! the next start makes a recording of it.

#![expect(
    clippy::print_stdout,
    reason = "what was measured is shown with --nocapture"
)]

use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread::sleep;
use std::time::Duration;

use sensor::bids::{find_runs, read_run};
use sensor::journal::{JournalErrorKind, REBUILT, broken_off, left_over, rebuild};
use serde_json::Value;

use super::kit::{analyse_files, program, quantile};

/// So many kills, so many of them side by side.
const KILLS: u64 = 50;
const AT_ONCE: u64 = 10;
/// Samples up to so long before the last reading that was printed may be missing, s: what the journal promises.
const LOST_S_MAX: f64 = 1.0;

/// A number from 0 to 1 that looks like chance, the same for the same seed (splitmix64, Steele et al. 2014).
fn chance(seed: u64) -> f64 {
    let mut z = seed.wrapping_mul(0x9E37_79B9_7F4A_7C15);
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
}

/// Starts a recording, kills it, and returns the time of the last reading that was printed, s.
fn record_and_kill(data: &Path, seed: u64) -> f64 {
    let mut child = Command::new(program())
        .args(["live", "--json", "--seconds", "20", "--data"])
        .arg(data)
        .arg(format!("shinright=synthetic:slow,seed={seed},hz=200"))
        .arg(format!("shinleft=synthetic:slow,seed={seed},hz=200"))
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("the program starts");
    let out = child.stdout.take().expect("piped");
    let mut lines = BufReader::new(out).lines().map_while(Result::ok);
    let first = lines.next();
    // At any moment of the first seconds, the very first included.
    sleep(Duration::from_secs_f64(3.0 * chance(seed)));
    child.kill().expect("it was running");
    child.wait().expect("it is gone");
    // The last line may be cut.
    let shown = first.into_iter().chain(lines);
    let shown = shown.filter_map(|line| serde_json::from_str::<Value>(&line).ok());
    let last = shown.last().expect("something was shown");
    last["t_s"].as_f64().expect("a time")
}

/// What is missing of a killed run, s, and that the rest is a recording like any other after the next start.
fn check(data: &Path, shown_s: f64, seed: u64) -> f64 {
    let journals = broken_off(data);
    assert_eq!(journals.len(), 1, "seed {seed}: one journal");
    let rebuilt = match rebuild(&journals[0]) {
        // Killed with the first reading: the journal hadn't got it yet.
        Err(e) if matches!(e.kind, JournalErrorKind::NoSamples) => None,
        rebuilt => Some(rebuilt.unwrap_or_else(|e| panic!("seed {seed}: {e}")).run),
    };
    let tracks = rebuilt.as_ref().map_or(&[][..], |run| &run.tracks);
    let last_s = tracks
        .iter()
        .filter_map(|track| track.samples.last())
        .map(|last| last.at.s());
    let kept_s = last_s.fold(f64::INFINITY, f64::min);
    let missing_s = (shown_s - if kept_s.is_finite() { kept_s } else { 0.0 }).max(0.0);
    assert!(
        missing_s < LOST_S_MAX,
        "seed {seed}: {missing_s} s are missing"
    );
    if rebuilt.is_none() {
        return missing_s;
    }
    let next = Command::new(program())
        .args(["live", "--json", "--seconds", "3", "--data"])
        .arg(data)
        .arg("shinright=synthetic:slow,fast")
        .stdin(Stdio::null())
        .output()
        .expect("the program starts");
    let told = String::from_utf8_lossy(&next.stderr);
    assert!(
        next.status.success() && told.contains("rebuilt from its journal"),
        "seed {seed}: {told}"
    );
    assert!(left_over(data).is_empty(), "seed {seed}: a journal is left");
    let runs = find_runs(data).unwrap_or_else(|e| panic!("seed {seed}: {e}"));
    assert_eq!(runs.len(), 2, "seed {seed}: both runs are there");
    let read = read_run(&runs[0]).unwrap_or_else(|e| panic!("seed {seed}: {e}"));
    assert!(
        read.problems.is_empty() && read.unreadable.is_empty(),
        "seed {seed}"
    );
    assert!(
        read.run.marks.iter().any(|mark| mark.value == REBUILT),
        "seed {seed}"
    );
    drop(analyse_files(&runs[0]));
    missing_s
}

#[test]
fn fifty_kills_lose_no_more_than_the_journal_promises() {
    let folder = tempfile::tempdir().expect("a folder");
    let data = |seed: u64| -> PathBuf { folder.path().join(seed.to_string()) };
    let mut missing = Vec::new();
    for first in (0..KILLS).step_by(usize::try_from(AT_ONCE).expect("small")) {
        let seeds = first..first + AT_ONCE;
        let killed: Vec<_> = std::thread::scope(|scope| {
            let one = |seed| scope.spawn(move || (seed, record_and_kill(&data(seed), seed)));
            let running: Vec<_> = seeds.map(one).collect();
            running
                .into_iter()
                .map(|thread| thread.join().expect("a kill"))
                .collect()
        });
        missing.extend(
            killed
                .into_iter()
                .map(|(seed, shown_s)| check(&data(seed), shown_s, seed)),
        );
    }
    println!(
        "{KILLS} kills: missing behind the last reading shown p50 {:.3} s, at most {:.3} s",
        quantile(&missing, 0.5),
        quantile(&missing, 1.0)
    );
}
