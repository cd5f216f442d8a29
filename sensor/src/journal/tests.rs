//! What is journalled comes back, as events and as a run.

use std::fs;
use std::path::Path;

use proptest::collection::vec;
use proptest::option::of;
use proptest::prelude::*;

use super::code::{Writer, get_event, get_heading, put_event, put_heading};
use super::*;
use crate::bids::{find_runs, read_run, write_run};
use crate::event::{Echo, Link, Loss, Packet, RawSample, Status, Stop};
use crate::{
    Conditions, Counter, Counts, Device, DeviceTicks, MarkKind, Placement, RunTime, Side, Stream,
    Ticks, Timing, UnitLimits, assemble,
};

pub(super) fn heading() -> Heading {
    let stream = |placement, ticks| Stream {
        placement,
        timing: Timing {
            nominal_hz: 100.0,
            counter: Some(Counter {
                bits: 16,
                counts: Counts::Samples,
            }),
            ticks,
        },
        limits: Some(UnitLimits::PLAIN),
        device: Device {
            model: "invented".to_owned(),
            ..Device::default()
        },
    };
    let ticks = Some(Ticks {
        bits: 32,
        tick_s: 1e-6,
    });
    Heading {
        id: RecordingId {
            subject: Some("C01".to_owned()),
            session: Some("01".to_owned()),
            task: "legraise".to_owned(),
            acquisition: None,
            run: Some("01".to_owned()),
        },
        acquired: Some("2026-03-02T09:30:00".to_owned()),
        conditions: Conditions {
            movement: Some("active".to_owned()),
            ..Conditions::default()
        },
        streams: vec![
            stream(Placement::ShinRight, ticks),
            stream(Placement::ShinLeft, None),
        ],
    }
}

/// Packets of two samples of both shins for so many seconds, a pull and an end.
pub(super) fn events(seconds: i64) -> Vec<Event> {
    let mut events = Vec::new();
    for i in 0..seconds * 50 {
        let taken_us = i * 20_000;
        let sample = |j: i64| RawSample {
            sequence: u64::try_from((i * 2 + j) % 65_536).ok(),
            device: u64::try_from(taken_us + j * 10_000).ok().map(DeviceTicks),
            accel_m_s2: [0.1, f32::MIN_POSITIVE, 9.8],
            gyro_rad_s: [0.0, -0.0, 0.3],
        };
        let arrival = HostTime((taken_us + 13_000 + (i % 3) * 9_000) * 1000);
        for placement in [Placement::ShinRight, Placement::ShinLeft] {
            let samples = vec![sample(0), sample(1)];
            let packet = Packet { arrival, samples };
            events.push(Event::Samples { placement, packet });
        }
        if i == 60 {
            events.push(Event::Mark {
                at: arrival,
                kind: MarkKind::Pull,
                side: Some(Side::Right),
                value: String::new(),
            });
        }
    }
    events.push(Event::Ended {
        placement: Placement::ShinLeft,
        at: HostTime(seconds * 1_000_000_000),
        reason: Stop::Asked,
    });
    events
}

fn any_host() -> impl Strategy<Value = HostTime> {
    (-14_400_000_000_000_i64..=14_400_000_000_000).prop_map(HostTime)
}

fn any_word<T: Copy + std::fmt::Debug + 'static>(all: &'static [T]) -> impl Strategy<Value = T> {
    proptest::sample::select(all)
}

fn any_packet() -> impl Strategy<Value = Packet> {
    let number =
        || proptest::num::f32::NORMAL | proptest::num::f32::SUBNORMAL | proptest::num::f32::ZERO;
    let triple = move || [number(), number(), number()];
    let sample = (of(any::<u64>()), of(any::<u64>()), triple(), triple()).prop_map(
        |(sequence, device, accel_m_s2, gyro_rad_s)| RawSample {
            sequence,
            device: device.map(DeviceTicks),
            accel_m_s2,
            gyro_rad_s,
        },
    );
    (any_host(), vec(sample, 1..6)).prop_map(|(arrival, samples)| Packet { arrival, samples })
}

fn any_status() -> impl Strategy<Value = Status> {
    let echo = (any_host(), any_host(), any::<u64>()).prop_map(|(asked, answered, ticks)| Echo {
        asked,
        answered,
        device: DeviceTicks(ticks),
    });
    (
        of(any::<u8>()),
        of(0.0..1e4_f64),
        of(any::<i16>()),
        of(0.0..1.0_f64),
        of(any_word(Link::ALL)),
        of(echo),
    )
        .prop_map(
            |(battery_percent, rate_hz, signal_dbm, lost_fraction, link, echo)| Status {
                battery_percent,
                rate_hz,
                signal_dbm,
                lost_fraction,
                link,
                echo,
            },
        )
}

pub(super) fn any_event() -> impl Strategy<Value = Event> {
    const PLACES: [Placement; 2] = [Placement::ShinLeft, Placement::ShinRight];
    let place = || any_word(&PLACES);
    prop_oneof![
        4 => (place(), any_packet()).prop_map(|(placement, packet)| Event::Samples { placement, packet }),
        1 => (place(), any_host(), any_host(), any_word(Loss::ALL))
            .prop_map(|(placement, from, to, cause)| Event::Gap { placement, from, to, cause }),
        1 => (any_host(), any_word(&MarkKind::ALL), of(any_word(&Side::ALL)), "[a-zß \n\t]{0,40}")
            .prop_map(|(at, kind, side, value)| Event::Mark { at, kind, side, value }),
        1 => (place(), any_host(), any_status())
            .prop_map(|(placement, at, status)| Event::Status { placement, at, status }),
        1 => (place(), any_host(), any_word(Stop::ALL))
            .prop_map(|(placement, at, reason)| Event::Ended { placement, at, reason }),
    ]
}

proptest! {
    #[test]
    fn every_event_is_read_back_as_it_was(event in any_event()) {
        let mut out = Writer::default();
        put_event(&mut out, &event);
        prop_assert_eq!(get_event(&out.0), Some(event));
    }

    #[test]
    fn any_bytes_are_an_event_or_none(bytes in vec(any::<u8>(), 0..200)) {
        drop(get_event(&bytes));
        drop(get_heading(&bytes));
        drop(read::parse(Path::new("x"), &bytes));
    }
}

#[test]
fn headings_are_read_back_as_they_were() {
    for heading in [heading(), Heading::default()] {
        let mut out = Writer::default();
        put_heading(&mut out, &heading);
        assert_eq!(get_heading(&out.0), Some(heading));
    }
}

/// A data set with a journal of these events, closed.
fn journalled(events: &[Event]) -> (tempfile::TempDir, PathBuf) {
    let dir = tempfile::tempdir().expect("tempdir");
    let mut journal = Journal::create(dir.path(), &heading()).expect("creates");
    for event in events {
        journal.append(event, event.at()).expect("appends");
    }
    let path = journal.path().to_owned();
    (dir, path)
}

#[test]
fn a_run_is_rebuilt_written_and_read_as_the_same() {
    let events = events(10);
    let (dir, path) = journalled(&events);
    assert_eq!(left_over(dir.path()), std::slice::from_ref(&path));
    let rebuilt = rebuild(&path).expect("rebuilds");
    assert_eq!(rebuilt.problems, []);
    let mut live = assemble(&heading(), &events).run;
    assert_eq!(rebuilt.run.tracks, live.tracks, "live and rebuilt are one");
    assert_eq!(rebuilt.run.tracks[0].samples.len(), 1000);
    assert_eq!(rebuilt.run.tracks[1].stamps[999].sequence, Some(999));
    let notes: Vec<_> = rebuilt
        .run
        .marks
        .iter()
        .filter(|m| m.kind == MarkKind::Note)
        .collect();
    assert_eq!(
        (notes.len(), notes[0].at, notes[0].value.as_str()),
        (1, RunTime::ZERO, REBUILT)
    );
    live.marks.insert(0, notes[0].clone());
    assert_eq!(rebuilt.run, live);

    write_run(dir.path(), &rebuilt.run).expect("writes");
    let folder = path.parent().expect("a folder");
    let found = find_runs(folder).expect("found");
    assert_eq!(found.len(), 1, "the journal is no recording");
    assert_eq!(read_run(&found[0]).expect("reads").run, rebuilt.run);
}

#[test]
fn a_journal_is_never_written_over_and_not_read_while_it_is_written() {
    let dir = tempfile::tempdir().expect("tempdir");
    let mut journal = Journal::create(dir.path(), &heading()).expect("creates");
    let event = &events(1)[0];
    journal.append(event, HostTime(0)).expect("appends");
    let path = journal.path().to_owned();
    let before = fs::read(&path).expect("reads");
    assert_eq!(before.len() as u64, journal.bytes());
    let again = Journal::create(dir.path(), &heading()).expect_err("is there");
    assert!(matches!(again.kind, JournalErrorKind::Exists), "{again}");
    assert_eq!(fs::read(&path).expect("reads"), before, "untouched");
    let busy = rebuild(&path).expect_err("in use");
    assert!(matches!(busy.kind, JournalErrorKind::InUse), "{busy}");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        let mode = fs::metadata(&path).expect("is there").permissions().mode();
        assert_eq!(mode & 0o077, 0, "the owner's alone");
    }
    journal.remove().expect("removes");
    assert_eq!(left_over(dir.path()), Vec::<PathBuf>::new());
    Journal::create(dir.path(), &heading()).expect("free again");
}

#[test]
fn what_cannot_become_a_run_is_refused_before_it_is_recorded() {
    let dir = tempfile::tempdir().expect("tempdir");
    let good = heading();
    let mut bad = vec![Heading {
        streams: Vec::new(),
        ..good.clone()
    }];
    let mut change = |change: &dyn Fn(&mut Heading)| {
        let mut heading = good.clone();
        change(&mut heading);
        bad.push(heading);
    };
    change(&|h| h.id.subject = None);
    change(&|h| h.id.run = Some("x".to_owned()));
    change(&|h| h.acquired = Some("yesterday".to_owned()));
    change(&|h| h.streams[1].placement = Placement::ShinRight);
    change(&|h| h.streams[0].timing.nominal_hz = f64::NAN);
    change(&|h| h.streams[0].device.serial = "x".repeat(66_000));
    for heading in bad {
        let error = Journal::create(dir.path(), &heading).expect_err("refused");
        assert!(!error.kind.mend().is_empty(), "{error}");
        assert_eq!(left_over(dir.path()), Vec::<PathBuf>::new(), "{error}");
    }
    let mut journal = Journal::create(dir.path(), &good).expect("creates");
    let stranger = Event::Ended {
        placement: Placement::Pelvis,
        at: HostTime(0),
        reason: Stop::Lost,
    };
    let late = Event::Mark {
        at: HostTime(14_400_000_000_001),
        kind: MarkKind::Pull,
        side: None,
        value: String::new(),
    };
    for event in [stranger, late] {
        let error = journal.append(&event, HostTime(0)).expect_err("refused");
        assert!(!error.kind.mend().is_empty(), "{error}");
    }
}

#[test]
fn files_that_are_no_journal_and_journals_of_nothing_are_told_apart() {
    let dir = tempfile::tempdir().expect("tempdir");
    let path = dir.path().join("x_journal.bin");
    let kind = |bytes: &[u8]| {
        fs::write(&path, bytes).expect("writes");
        let error = rebuild(&path).expect_err("no run");
        let text = error.to_string();
        assert!(
            text.starts_with("x_journal.bin: ") && text.ends_with(&error.kind.mend()),
            "{text}"
        );
        error.kind
    };
    assert!(matches!(
        kind(b"onset\tduration\n"),
        JournalErrorKind::NotAJournal
    ));
    assert!(matches!(kind(b""), JournalErrorKind::NoHeading));
    assert!(matches!(kind(FIRST_LINE), JournalErrorKind::NoHeading));
    let (_dir, empty) = journalled(&[]);
    assert!(matches!(
        kind(&fs::read(empty).expect("reads")),
        JournalErrorKind::NoSamples
    ));
    let missing = rebuild(&dir.path().join("none")).expect_err("missing");
    assert!(matches!(missing.kind, JournalErrorKind::Io(_)));
}
