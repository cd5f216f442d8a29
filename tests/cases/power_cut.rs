//! A power cut at random moments of a recording of four sensors at 200 Hz: what was not synced is gone, whole or in
//! part, with noise in its place. Never a second of samples more than that, and always a recording in the end.

#![expect(
    clippy::print_stdout,
    reason = "what was measured is shown with --nocapture"
)]

use std::cell::RefCell;
use std::fs;
use std::io::{self, Write};
use std::rc::Rc;

use sensor::bids::{find_runs, read_run, write_run};
use sensor::journal::{Journal, Store, path_of, rebuild};
use sensor::synthetic::{Scenario, Sending, live_events, simulate};
use sensor::{Event, Heading, HostTime, Placement, RecordingId};

use super::kit::{analyse_files, chance, quantile};

const CUTS: u64 = 200;
/// Of each so many rebuilt runs one is also written, read and analysed: all are alike, and it takes long.
const WHOLE_EVERY: u64 = 20;
/// The journal's owner looks this often whether something is to be synced, ns.
const TICK_NS: i64 = 200_000_000;

/// A disk: what was written, and how much of it would outlast a power cut.
#[derive(Clone, Default)]
struct Disk(Rc<RefCell<(Vec<u8>, usize)>>);

impl Write for Disk {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.borrow_mut().0.extend_from_slice(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl Store for Disk {
    fn sync(&mut self) -> io::Result<()> {
        let mut disk = self.0.borrow_mut();
        disk.1 = disk.0.len();
        Ok(())
    }
}

fn sent() -> (Heading, Vec<Event>) {
    let mut scenario = Scenario::slow(11);
    scenario.rate_hz = 200.0;
    scenario.sensors = vec![
        Placement::ShinLeft,
        Placement::ShinRight,
        Placement::ThighRight,
        Placement::Pelvis,
    ];
    let mut run = simulate(&scenario).run;
    run.id = RecordingId {
        subject: Some("trial".to_owned()),
        session: Some("01".to_owned()),
        task: "legraise".to_owned(),
        run: Some("01".to_owned()),
        ..RecordingId::default()
    };
    live_events(&run, &Sending::hard(3))
}

/// The disk after a cut: the unsynced rest is kept in part, and noise may stand in place of the others.
fn after_the_cut(disk: &Disk, seed: u64) -> Vec<u8> {
    let disk = disk.0.borrow();
    let (bytes, synced) = &*disk;
    let rest = (bytes.len() - synced) as f64;
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a part of a length"
    )]
    let kept = synced + (rest * chance(seed ^ 0xA5)) as usize;
    let mut left = bytes[..kept].to_vec();
    match seed % 3 {
        0 => left.resize(bytes.len(), 0),
        1 => left.extend((kept..bytes.len()).map(|n| bytes[n].wrapping_mul(31).wrapping_add(7))),
        _ => {}
    }
    left
}

#[test]
fn a_power_cut_costs_less_than_a_second_and_never_the_run() {
    let (heading, events) = sent();
    let last_s = events
        .iter()
        .map(|event| event.at().s())
        .fold(0.0, f64::max);
    let mut lost = Vec::new();
    for seed in 0..CUTS {
        let cut_s = 0.5 + (last_s - 0.5) * chance(seed);
        let disk = Disk::default();
        let folder = tempfile::tempdir().expect("a folder");
        let path = path_of(folder.path(), &heading.id);
        let mut journal = Journal::start(disk.clone(), &path, &heading).expect("it begins");
        let mut tick = HostTime(0);
        for event in events.iter().take_while(|event| event.at().s() < cut_s) {
            while tick < event.at() {
                journal.tick(tick).expect("synced");
                tick = HostTime(tick.0 + TICK_NS);
            }
            journal.append(event, event.at()).expect("kept");
        }
        fs::create_dir_all(path.parent().expect("a folder")).expect("made");
        fs::write(&path, after_the_cut(&disk, seed)).expect("written");
        let rebuilt = rebuild(&path).unwrap_or_else(|e| panic!("seed {seed} at {cut_s} s: {e}"));
        let newest = |run: &sensor::Run| {
            let stamps = run.tracks.iter().filter_map(|track| track.stamps.last());
            let arrivals = stamps.filter_map(|stamp| stamp.arrival);
            arrivals.map(HostTime::s).fold(0.0, f64::max)
        };
        let samples = events.iter().filter(|e| matches!(e, Event::Samples { .. }));
        let came = samples.map(|e| e.at().s()).filter(|at_s| *at_s < cut_s);
        let lost_s = came.fold(0.0, f64::max) - newest(&rebuilt.run);
        assert!(
            lost_s < 1.0,
            "seed {seed} at {cut_s} s: {lost_s} s are lost"
        );
        lost.push(lost_s);
        if seed % WHOLE_EVERY == 0 {
            write_run(folder.path(), &rebuilt.run).expect("it is written");
            let runs = find_runs(folder.path()).expect("it is found");
            let read = read_run(&runs[0]).expect("it is read");
            assert_eq!(
                read.run.tracks.len(),
                rebuilt.run.tracks.len(),
                "seed {seed}"
            );
            drop(analyse_files(&runs[0]));
        }
    }
    println!(
        "{CUTS} power cuts: p50 {:.2} s, at most {:.2} s of samples are lost",
        quantile(&lost, 0.5),
        quantile(&lost, 1.0)
    );
}
