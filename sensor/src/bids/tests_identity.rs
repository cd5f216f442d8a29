//! What is written is read back as the same value.

use proptest::collection::vec;
use proptest::option::of;
use proptest::prelude::*;

use super::*;
use crate::{
    Conditions, Device, DeviceTicks, HostTime, Mark, MarkKind, Placement, RawStamp, RecordingId,
    Run, RunTime, Sample, Side, Track, UnitLimits,
};

/// Writes a run and reads it back.
fn there_and_back(run: &Run) -> RunRead {
    let dir = tempfile::tempdir().expect("tempdir");
    write_run(dir.path(), run).expect("writes");
    let name =
        super::name::Name::of(&run.id, Some(&run.tracks[0].name), "motion", "tsv").to_string();
    let folder = super::write::motion_folder(dir.path(), &run.id);
    read_run(&find_runs(&folder.join(name)).expect("is there")[0]).expect("reads")
}

fn any_text() -> impl Strategy<Value = String> {
    "[a-zA-Z0-9äß\"' ,.;:°-]{0,12}"
        .prop_map(|s| s.trim().to_owned())
        .prop_filter("absent", |s| s != "n/a")
}

fn any_label() -> impl Strategy<Value = String> {
    "[a-zA-Z0-9]{1,6}"
}

fn any_sample() -> impl Strategy<Value = (i64, [f32; 3], [f32; 3])> {
    let float =
        proptest::num::f32::NORMAL | proptest::num::f32::SUBNORMAL | proptest::num::f32::ZERO;
    // Gravity is on one axis, so that the unit is beyond doubt.
    (
        1i64..3_000_000_000,
        (-2f32..2.0, -2f32..2.0, 9.5f32..10.0),
        [float; 3],
    )
        .prop_map(|(step, (x, y, z), gyro)| {
            let most = crate::Sample::GYRO_RAD_S_MAX;
            (step, [x, y, z], gyro.map(|rate| rate.clamp(-most, most)))
        })
}

fn any_stamp() -> impl Strategy<Value = RawStamp> {
    (
        of(any::<u64>()),
        of(any::<u64>()),
        of(-4_000_000_000_000_000_000_i64..4_000_000_000_000_000_000),
    )
        .prop_map(|(sequence, device, arrival)| RawStamp {
            sequence,
            device: device.map(DeviceTicks),
            arrival: arrival.map(HostTime),
        })
}

fn any_limits() -> impl Strategy<Value = UnitLimits> {
    (0f64..1.0, 0f64..0.1, 0f64..0.1).prop_map(|(accel_offset_m_s2, accel_scale, gyro_scale)| {
        UnitLimits {
            accel_offset_m_s2,
            accel_scale,
            gyro_scale,
        }
    })
}

fn any_track() -> impl Strategy<Value = Track> {
    let stamps = (any::<bool>(), vec(any_stamp(), 20));
    let device = (any_text(), any_text(), any_text(), any_text());
    (
        vec(any_sample(), 1..20),
        stamps,
        of(any_limits()),
        device,
        0.1f64..10_000.0,
    )
        .prop_map(|(steps, (has_stamps, stamps), limits, device, rate_hz)| {
            let mut ns = 0;
            let samples: Vec<Sample> = steps
                .into_iter()
                .map(|(step, accel_m_s2, gyro_rad_s)| {
                    let at = RunTime::from_ns(ns);
                    ns += step;
                    Sample {
                        at,
                        accel_m_s2,
                        gyro_rad_s,
                    }
                })
                .collect();
            let stamps = if has_stamps {
                stamps[..samples.len()].to_vec()
            } else {
                Vec::new()
            };
            let (manufacturer, model, serial, software) = device;
            let device = Device {
                manufacturer,
                model,
                serial,
                software,
            };
            Track {
                name: String::new(),
                placement: None,
                rate_hz,
                limits,
                device,
                samples,
                stamps,
            }
        })
}

fn any_mark() -> impl Strategy<Value = Mark> {
    let kind = proptest::sample::select(MarkKind::ALL.to_vec());
    let side = of(proptest::sample::select(Side::ALL.to_vec()));
    (
        -1_000_000_000_000_i64..1_000_000_000_000,
        of(0f64..100.0),
        kind,
        side,
        any_text(),
    )
        .prop_map(|(ns, duration_s, kind, side, value)| Mark {
            at: RunTime::from_ns(ns),
            duration_s,
            kind,
            side,
            value,
        })
}

fn any_run() -> impl Strategy<Value = Run> {
    let id = (
        any_label(),
        of(any_label()),
        any_label(),
        of(any_label()),
        of("[0-9]{1,3}"),
    );
    let word = || of(any_text().prop_filter("absent", |t| !t.is_empty()));
    let done = (word(), word(), word(), word());
    let acquired = of(Just("2026-03-02T09:30:00.25+01:00".to_owned()));
    (
        id,
        done,
        acquired,
        vec(any_track(), 1..4),
        vec(any_mark(), 0..6),
    )
        .prop_map(|(id, done, acquired, mut tracks, mut marks)| {
            for (index, track) in tracks.iter_mut().enumerate() {
                track.placement = Placement::ALL.get(index * 2).copied().filter(|_| index > 0);
                track.name = track.placement.map_or("arm".to_owned(), |p| p.to_string());
            }
            tracks.sort_by(|a, b| a.name.cmp(&b.name));
            marks.sort_by_key(|m| m.at);
            let (movement, ankle, asked_for, rater) = done;
            let (subject, session, task, acquisition, run) = id;
            Run {
                id: RecordingId {
                    subject: Some(subject),
                    session,
                    task,
                    acquisition,
                    run,
                },
                acquired,
                conditions: Conditions {
                    movement,
                    ankle,
                    asked_for,
                    rater,
                },
                tracks,
                marks,
            }
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]
    #[test]
    fn written_and_read_back_it_is_the_same(run in any_run()) {
        let read = there_and_back(&run);
        prop_assert_eq!(&read.run, &run);
        prop_assert_eq!(read.problems, []);
        prop_assert!(read.unreadable.is_empty());
    }
}
