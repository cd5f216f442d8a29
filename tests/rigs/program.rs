//! The program itself over the played Bluetooth service: how long a reading takes to its printed line, and whether the
//! recording is whole.

#![expect(
    clippy::print_stdout,
    reason = "what was measured is shown with --nocapture"
)]

use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use sensor::Placement;
use sensor::bids::{find_runs, read_run};
use serde_json::Value;

use super::bluez::{Adapter, Board, Peer, Rig, Sent, TICK_HZ};
use super::judge::percentile_ms;

const NAMES: [&str; 4] = ["shin-0001", "shin-0002", "shin-0003", "shin-0004"];
const PLACES: [Placement; 4] = [
    Placement::ShinRight,
    Placement::ShinLeft,
    Placement::ThighRight,
    Placement::Pelvis,
];
const RATE_HZ: f64 = 200.0;

/// The program, as `cargo build` puts it beside this rig.
fn program() -> PathBuf {
    let rig = std::env::current_exe().expect("this program");
    let folder = rig.parent().and_then(Path::parent).expect("target/*/deps");
    let program = folder.join("legraise");
    assert!(
        program.is_file(),
        "{}: not built; run `cargo build` first",
        program.display()
    );
    program
}

/// A line that was printed: when it was read, which leg, and the time of its newest sample.
struct Printed {
    at: Instant,
    side: String,
    t_s: f64,
}

fn run(rig: &Rig, data: &Path, seconds: u64) -> (Vec<Printed>, String) {
    let mut command = Command::new(program());
    command.arg("live");
    for (place, name) in PLACES.iter().zip(NAMES) {
        command.arg(format!(
            "{place}=ble:open-motion,name={name},rate={RATE_HZ}"
        ));
    }
    let mut child = command
        .args(["--json", "--seconds", &seconds.to_string(), "--data"])
        .arg(data)
        .env("DBUS_SYSTEM_BUS_ADDRESS", rig.address())
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    let out = BufReader::new(child.stdout.take().expect("piped"));
    let mut printed = Vec::new();
    for line in out.lines().map_while(Result::ok) {
        let at = Instant::now();
        let value: Value = serde_json::from_str(&line).expect("JSON");
        printed.push(Printed {
            at,
            side: value["side"].as_str().expect("a side").to_owned(),
            t_s: value["t_s"].as_f64().expect("a time"),
        });
    }
    let output = child.wait_with_output().expect("it ends");
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success(), "{told}");
    (printed, told)
}

/// The board's clock at the last sample of a packet, s, without its wrap.
fn last_s(packet: &Sent, first: &Sent, board: &Board) -> f64 {
    let ticks = packet.ticks.wrapping_sub(first.ticks);
    let rate_hz = RATE_HZ * (1.0 + board.rate_off);
    f64::from(ticks) / TICK_HZ + (packet.values.len() - 1) as f64 / rate_hz
}

/// From each notification to its printed line. A line is of the packet whose newest sample has its time: board and run
/// clock differ by a constant, the one that most lines agree on.
fn latencies(rig: &Rig, peer: usize, board: &Board, printed: &[&Printed]) -> Vec<Duration> {
    let sent = rig.world.sent(peer);
    let first = sent.first().expect("packets");
    let times: Vec<f64> = sent
        .iter()
        .map(|packet| last_s(packet, first, board))
        .collect();
    // The newest packet before a line was read is its own, or one too late.
    let mut offsets: Vec<f64> = printed
        .iter()
        .filter_map(|line| {
            let before = sent.partition_point(|packet| packet.at.into_std() <= line.at);
            Some(line.t_s - times[before.checked_sub(1)?])
        })
        .collect();
    offsets.sort_by(f64::total_cmp);
    let offset_s = offsets[offsets.len() * 9 / 10];
    let mut found = Vec::new();
    for line in printed {
        let place = times.partition_point(|t| *t + offset_s < line.t_s - 0.004);
        let is_it = place < times.len() && (times[place] + offset_s - line.t_s).abs() < 0.004;
        if is_it {
            found.push(line.at.saturating_duration_since(sent[place].at.into_std()));
        }
    }
    found
}

#[test]
fn readings_are_printed_at_once_and_the_recording_is_whole() {
    let seconds = std::env::var("LEGRAISE_RIG_S").map_or(10, |s| s.parse().expect("seconds"));
    let boards: Vec<Board> = PLACES.iter().map(|place| Board::worn(*place, 1)).collect();
    let peers = boards.iter().enumerate().map(|(n, board)| {
        let number = u8::try_from(n + 1).expect("few");
        Peer::board(NAMES[n], number, board.clone())
    });
    let rig = Rig::start(Adapter::On, peers.collect());
    let folder = tempfile::tempdir().expect("a folder");
    let (printed, told) = run(&rig, folder.path(), seconds);
    let mut all = Vec::new();
    for (peer, side) in ["right", "left"].iter().enumerate() {
        let mine: Vec<&Printed> = printed.iter().filter(|line| line.side == *side).collect();
        let found = latencies(&rig, peer, &boards[peer], &mine);
        assert!(
            mine.len() * 9 < found.len() * 10,
            "{} of {} lines found",
            found.len(),
            mine.len()
        );
        all.extend(found);
    }
    all.sort_unstable();
    println!(
        "{} lines in {seconds} s; from notification to printed reading p50 {:.2} p95 {:.2} p99 {:.2} max {:.2} ms",
        all.len(),
        percentile_ms(&all, 50),
        percentile_ms(&all, 95),
        percentile_ms(&all, 99),
        percentile_ms(&all, 100)
    );
    assert!(!told.contains("samples lost"), "{told}");
    let runs = find_runs(folder.path()).expect("a recording");
    let read = read_run(&runs[0]).expect("it is read");
    assert_eq!(read.run.tracks.len(), PLACES.len());
    for track in &read.run.tracks {
        let least = 0.9 * RATE_HZ * (seconds as f64 - 1.0);
        assert!(
            track.samples.len() as f64 > least,
            "{}: {}",
            track.name,
            track.samples.len()
        );
        let numbers = track.stamps.iter().map(|stamp| stamp.sequence);
        let numbers: Vec<u64> = numbers.flatten().collect();
        assert!(
            numbers.windows(2).all(|w| w[1] == w[0] + 1),
            "{}: a number is missing",
            track.name
        );
    }
}
