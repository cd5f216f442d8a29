//! Live and replay are one: what comes of raw events is written, read back and rebuilt as the same run, bit for bit,
//! and so gives the same analysis, whatever goes wrong on the way.

use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use sensor::bids::{RunFiles, write_run};
use sensor::journal::{Journal, rebuild};
use sensor::synthetic::{Scenario, Sending, live_events, simulate};
use sensor::{Event, HostTime, Mark, MarkKind, RecordingId, Run, RunTime, Side, assemble};

use super::kit::{analyse_alone, analyse_files};

fn few() -> ProptestConfig {
    ProptestConfig {
        cases: 24,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(20_261_126),
        ..ProptestConfig::default()
    }
}

/// How sensors send: as usual, or on a bad day, with one more fault.
fn any_sending() -> impl Strategy<Value = Sending> {
    let words = [
        "clock=step",
        "clock=periodic",
        "clock=noisy",
        "clock=none",
        "counter=none",
        "rate=-2%",
        "burst=50ms",
        "lost=10%",
        "late=5%",
        "repeated=5%",
        "battery=7",
    ];
    (
        any::<bool>(),
        0_u64..1000,
        prop::sample::select(words.to_vec()),
    )
        .prop_map(|(is_hard, seed, word)| {
            let mut sending = if is_hard {
                Sending::hard(seed)
            } else {
                Sending::usual()
            };
            sending.seed = seed;
            sending.set(word).expect("a word it knows");
            sending
        })
}

/// A person's run under a name of the data set, with marks at any time.
fn any_run() -> impl Strategy<Value = Run> {
    let mark = (0.0..20.0_f64, 0..3_usize, any::<bool>());
    let marks = prop::collection::vec(mark, 0..4);
    (0..3, 0_u64..1000, marks).prop_map(|(kind, seed, marks)| {
        let mut scenario = match kind {
            0 => Scenario::slow(seed),
            1 => Scenario::brisk(seed),
            _ => Scenario::compensating(seed),
        };
        scenario.raises.truncate(2);
        let mut run = simulate(&scenario).run;
        run.id = RecordingId {
            subject: Some("trial".to_owned()),
            session: Some("01".to_owned()),
            task: "legraise".to_owned(),
            run: Some("01".to_owned()),
            ..RecordingId::default()
        };
        run.marks
            .extend(marks.into_iter().filter_map(|(at_s, kind, has_side)| {
                Some(Mark {
                    at: RunTime::from_s(at_s)?,
                    duration_s: None,
                    kind: [MarkKind::Pull, MarkKind::Stop, MarkKind::Note][kind],
                    side: has_side.then_some(Side::Right),
                    value: String::new(),
                })
            }));
        run
    })
}

proptest! {
    #![proptest_config(few())]

    #[test]
    fn a_live_run_and_its_replay_are_the_same_bit_for_bit(run in any_run(), sending in any_sending()) {
        let (heading, events) = live_events(&run, &sending);
        let live = assemble(&heading, &events).run;
        let folder = tempfile::tempdir().expect("a folder");
        write_run(folder.path(), &live).expect("it is written");
        let files = RunFiles::in_set(folder.path(), &live.id).expect("it is found");
        let read = sensor::bids::read_run(&files).expect("it is read").run;
        prop_assert_eq!(&read.tracks, &live.tracks);
        prop_assert_eq!(&read.marks, &live.marks);
        // Debug prints each number so that it is read back as the same bits.
        prop_assert_eq!(format!("{:?}", analyse_files(&files)), format!("{:?}", analyse_alone(&live)));
    }

    #[test]
    fn a_journal_gives_the_same_run(run in any_run(), sending in any_sending()) {
        let (heading, events) = live_events(&run, &sending);
        let folder = tempfile::tempdir().expect("a folder");
        let mut journal = Journal::create(folder.path(), &heading).expect("a journal");
        let mut now = HostTime(0);
        for event in &events {
            now = now.max(Event::at(event));
            journal.append(event, now).expect("it is kept");
        }
        let path = journal.path().to_owned();
        prop_assert_eq!(&journal.contents().expect("it is read").events, &events);
        drop(journal);
        let mut rebuilt = rebuild(&path).expect("it is rebuilt").run;
        rebuilt.marks.retain(|mark| mark.value != sensor::journal::REBUILT);
        prop_assert_eq!(rebuilt, assemble(&heading, &events).run);
    }
}
