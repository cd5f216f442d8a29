//! A journal cut, killed, or damaged at any point.
//!
//! Goal: what comes before the damage is always read, what was synced is never lost, and a power cut costs
//! at most one second. Method: every prefix; a store that forgets what was not synced, or part of it; seeds
//! are those of the property tests.

use std::cell::RefCell;
use std::path::Path;
use std::rc::Rc;

use proptest::collection::vec;
use proptest::prelude::*;

use super::tests::{any_event, events, heading};
use super::*;
use crate::event::Loss;

/// A disk that keeps what was synced, and of the rest what it likes.
#[derive(Clone, Debug, Default)]
struct Disk(Rc<RefCell<State>>);

#[derive(Debug, Default)]
struct State {
    bytes: Vec<u8>,
    synced: usize,
    /// No room beyond.
    room: Option<usize>,
    syncs: usize,
}

impl Write for Disk {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let mut state = self.0.borrow_mut();
        let room = state
            .room
            .map_or(bytes.len(), |room| room.saturating_sub(state.bytes.len()));
        if room == 0 && !bytes.is_empty() {
            return Err(io::ErrorKind::StorageFull.into());
        }
        let count = bytes.len().min(room);
        state.bytes.extend_from_slice(&bytes[..count]);
        Ok(count)
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl Store for Disk {
    fn sync(&mut self) -> io::Result<()> {
        let mut state = self.0.borrow_mut();
        state.synced = state.bytes.len();
        state.syncs += 1;
        Ok(())
    }
}

fn started() -> (Disk, Journal<Disk>) {
    let disk = Disk::default();
    let journal = Journal::start(disk.clone(), Path::new("run"), &heading()).expect("starts");
    (disk, journal)
}

fn parsed(bytes: &[u8]) -> Contents {
    read::parse(Path::new("run"), bytes).expect("a heading")
}

/// The bytes of a journal, and where each of its records ends.
fn written(events: &[Event]) -> (Vec<u8>, Vec<usize>) {
    let (disk, mut journal) = started();
    let mut ends = vec![disk.0.borrow().bytes.len()];
    for event in events {
        journal.append(event, event.at()).expect("appends");
        ends.push(disk.0.borrow().bytes.len());
    }
    let bytes = disk.0.borrow().bytes.clone();
    (bytes, ends)
}

#[test]
fn every_prefix_gives_the_events_before_the_cut() {
    let events = events(2);
    let (bytes, ends) = written(&events);
    for cut in ends[0]..=bytes.len() {
        let contents = parsed(&bytes[..cut]);
        let whole = ends.partition_point(|end| *end <= cut) - 1;
        assert_eq!(contents.events, events[..whole], "cut at {cut}");
        let torn = cut - ends[whole];
        let kinds: Vec<ProblemKind> = contents.problems.iter().map(|p| p.kind).collect();
        if torn == 0 {
            assert_eq!(kinds, []);
        } else {
            assert_eq!(kinds, [ProblemKind::Torn { bytes: torn as u64 }]);
            assert!(
                contents.problems[0]
                    .to_string()
                    .starts_with("run: the last ")
            );
        }
    }
    for cut in 0..ends[0] {
        let error = read::parse(Path::new("run"), &bytes[..cut]).expect_err("no heading");
        assert!(
            matches!(error.kind, JournalErrorKind::NoHeading),
            "cut at {cut}: {error}"
        );
    }
}

#[test]
fn syncs_are_once_or_twice_a_second_and_not_more() {
    let (disk, mut journal) = started();
    for event in events(60) {
        journal.append(&event, event.at()).expect("appends");
    }
    let syncs = disk.0.borrow().syncs;
    assert!((60..=121).contains(&syncs), "{syncs} syncs in a minute");
    // Nothing new: nothing to sync.
    let after = HostTime(70_000_000_000);
    journal.tick(after).expect("ticks");
    let syncs = disk.0.borrow().syncs;
    journal.tick(HostTime(80_000_000_000)).expect("ticks");
    assert_eq!(disk.0.borrow().syncs, syncs);
    let state = disk.0.borrow();
    assert_eq!(state.synced, state.bytes.len());
}

#[test]
fn a_full_disk_costs_what_did_not_fit_and_no_more() {
    let events = events(3);
    let (disk, mut journal) = started();
    let mut kept = Vec::new();
    for (at, event) in events.iter().enumerate() {
        let length = disk.0.borrow().bytes.len();
        // Full in the middle of a record, and for two more; then there is room again.
        match at {
            100 => disk.0.borrow_mut().room = Some(length + 30),
            103 => disk.0.borrow_mut().room = None,
            _ => {}
        }
        match journal.append(event, event.at()) {
            Ok(()) => kept.push(event.clone()),
            Err(error) => {
                assert!((100..103).contains(&at), "{error}");
                assert!(error.to_string().contains("room"), "{error}");
            }
        }
    }
    let contents = parsed(&disk.0.borrow().bytes);
    let is_gap = |event: &Event| {
        matches!(
            event,
            Event::Gap {
                cause: Loss::Journal,
                ..
            }
        )
    };
    assert_eq!(
        contents.events.iter().filter(|e| is_gap(e)).count(),
        2,
        "one a stream"
    );
    let read: Vec<Event> = contents
        .events
        .iter()
        .filter(|e| !is_gap(e))
        .cloned()
        .collect();
    assert_eq!(read, kept);
    assert!(matches!(
        contents.problems[..],
        [Problem {
            kind: ProblemKind::Damaged { bytes: 30, .. },
            ..
        }]
    ));
}

#[test]
fn a_journal_at_its_limit_says_so() {
    let (_, mut journal) = started();
    journal.bytes = FILE_BYTES_MAX;
    let error = journal
        .append(&events(1)[0], HostTime(0))
        .expect_err("full");
    assert!(
        matches!(error.kind, JournalErrorKind::Full { .. }),
        "{error}"
    );
}

proptest! {
    #[test]
    fn any_prefix_of_any_events_gives_a_prefix(events in vec(any_event(), 0..30), cut in 0.0..1.0_f64) {
        let (bytes, ends) = written(&events);
        let span = (bytes.len() - ends[0]) as f64;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "within the bytes")]
        let cut = ends[0] + (span * cut) as usize;
        let contents = parsed(&bytes[..cut]);
        prop_assert_eq!(&contents.events[..], &events[..contents.events.len()]);
        prop_assert_eq!(contents.events.len(), ends.partition_point(|end| *end <= cut) - 1);
    }

    /// Power goes after some event; of what was not synced a part is on the disk, then zeros, noise or nothing.
    #[test]
    fn a_power_cut_costs_at_most_a_second(
        stop in 0_usize..1000, share in 0.0..1.0_f64, filler in 0_u8..3, noise in vec(any::<u8>(), 0..300),
    ) {
        let events = events(10);
        let stop = stop.min(events.len() - 1);
        let (disk, mut journal) = started();
        let mut now = HostTime(0);
        for event in &events[..=stop] {
            now = now.max(event.at());
            journal.append(event, now).expect("appends");
        }
        let state = disk.0.borrow();
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "within the bytes")]
        let kept = state.synced + ((state.bytes.len() - state.synced) as f64 * share) as usize;
        let mut bytes = state.bytes[..kept].to_vec();
        match filler {
            0 => bytes.resize(state.bytes.len(), 0),
            1 => bytes.extend_from_slice(&noise),
            _ => {}
        }
        let contents = parsed(&bytes);
        prop_assert_eq!(&contents.events[..], &events[..contents.events.len()], "a prefix");
        for event in &events[contents.events.len()..=stop] {
            prop_assert!(now.0 - event.at().0 < 1_000_000_000, "lost {:?} at {:?}", event, now);
        }
        drop(contents);
    }

    #[test]
    fn damage_costs_the_records_it_hits(at in 0.0..1.0_f64, damage in vec(any::<u8>(), 1..200)) {
        let events = events(2);
        let (mut bytes, ends) = written(&events);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "within the bytes")]
        let from = ends[0] + ((bytes.len() - ends[0]) as f64 * at) as usize;
        let to = bytes.len().min(from + damage.len());
        bytes[from..to].copy_from_slice(&damage[..to - from]);
        let contents = parsed(&bytes);
        let is_gap = |event: &&Event| matches!(event, Event::Gap { cause: Loss::Journal, .. });
        let read: Vec<&Event> = contents.events.iter().filter(|e| !is_gap(e)).collect();
        let first = ends.partition_point(|end| *end <= from) - 1;
        let after = ends.partition_point(|end| *end < to);
        let whole: Vec<&Event> = events[..first].iter().chain(&events[after.min(events.len())..]).collect();
        prop_assert!(whole.len() <= read.len(), "{} of {}", read.len(), whole.len());
        prop_assert!(read[..first] == whole[..first]);
        let tail = whole.len() - first;
        prop_assert!(read[read.len() - tail..] == whole[first..]);
    }
}
