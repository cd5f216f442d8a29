//! The text of a run's files.

use std::io::Write as _;

use serde_json::{Map, Value, json};

use super::channels::STAMP_NAMES;
use super::dataset::Column;
use super::layout::StampKind;
use super::number::push_ns;
use super::table::{Row, Table, cell};
use crate::{Mark, MarkKind, Placement, RawStamp, Track};

/// The word for the frame that samples are in.
pub(crate) const FRAME: &str = "sensor";

/// Which stamps a track's file has columns for. Where stamps are kept but all are empty one column of
/// `n/a` says so, and they are read back as they were.
fn stamp_kinds(track: &Track) -> Vec<(&'static str, StampKind)> {
    let has = |kind: StampKind| track.stamps.iter().any(|s| stamp_text(s, kind).is_some());
    let mut kinds: Vec<_> = STAMP_NAMES
        .into_iter()
        .filter(|(_, kind)| has(*kind))
        .collect();
    if kinds.is_empty() && !track.stamps.is_empty() {
        kinds.push(STAMP_NAMES[0]);
    }
    kinds
}

fn stamp_text(stamp: &RawStamp, kind: StampKind) -> Option<Vec<u8>> {
    let mut text = Vec::new();
    match kind {
        StampKind::Sequence => text.extend(stamp.sequence?.to_string().bytes()),
        StampKind::Device => text.extend(stamp.device?.0.to_string().bytes()),
        StampKind::Arrival => push_ns(&mut text, stamp.arrival?.0),
    }
    Some(text)
}

/// `_motion.tsv`. Values are in the shortest form that is read back as the same number.
pub(crate) fn motion_tsv(track: &Track) -> Vec<u8> {
    let kinds = stamp_kinds(track);
    let mut out = Vec::with_capacity(track.samples.len() * 80);
    for (index, sample) in track.samples.iter().enumerate() {
        push_ns(&mut out, sample.at.ns());
        for value in sample.accel_m_s2.iter().chain(&sample.gyro_rad_s) {
            // Writing to memory can't fail.
            write!(out, "\t{value}").unwrap_or_default();
        }
        for (_, kind) in &kinds {
            out.push(b'\t');
            let text = track.stamps.get(index).and_then(|s| stamp_text(s, *kind));
            out.extend(text.as_deref().unwrap_or(b"n/a"));
        }
        out.push(b'\n');
    }
    out
}

/// What a track's tracked point is called.
fn point_name(track: &Track) -> &str {
    match track.placement {
        Some(placement) => placement.as_str(),
        None => &track.name,
    }
}

/// Where a sensor sits, in words.
fn placement_text(placement: Option<Placement>) -> &'static str {
    match placement {
        Some(Placement::ShinLeft) => "left shin above the ankle",
        Some(Placement::ShinRight) => "right shin above the ankle",
        Some(Placement::ThighLeft) => "left thigh above the knee",
        Some(Placement::ThighRight) => "right thigh above the knee",
        Some(Placement::Pelvis) => "pelvis between the hip bones",
        None => "n/a",
    }
}

/// `_channels.tsv`.
pub(crate) fn channels_tsv(track: &Track) -> Vec<u8> {
    let mut table = Table::new(&[
        "name",
        "component",
        "type",
        "tracked_point",
        "units",
        "placement",
        "reference_frame",
        "description",
    ]);
    let mut push = |cells: [&str; 8]| {
        let cells = cells.into_iter().map(str::to_owned).collect();
        table.rows.push(Row { line: 0, cells });
    };
    let (point, placement) = (point_name(track), placement_text(track.placement));
    let time = "time since the first sample of the run";
    push(["latency", "n/a", "LATENCY", "n/a", "s", "n/a", "n/a", time]);
    for axis in ["x", "y", "z"] {
        let (name, text) = (
            format!("accel_{axis}"),
            "specific force, +9.8 on the axis that points up at rest",
        );
        push([&name, axis, "ACCEL", point, "m/s^2", placement, FRAME, text]);
    }
    for axis in ["x", "y", "z"] {
        let (name, text) = (
            format!("gyro_{axis}"),
            "angular rate, right-handed, bias not removed",
        );
        push([&name, axis, "GYRO", point, "rad/s", placement, FRAME, text]);
    }
    for (name, kind) in stamp_kinds(track) {
        let (units, text) = match kind {
            StampKind::Sequence => ("n/a", "the sensor's sample counter, unwrapped"),
            StampKind::Device => ("n/a", "the sensor's own clock, in its ticks"),
            StampKind::Arrival => ("s", "arrival at the computer"),
        };
        push([name, "n/a", "MISC", point, units, placement, "n/a", text]);
    }
    table.to_bytes()
}

/// What `_channels.json` says of the frame.
pub(crate) fn frame_json() -> Value {
    json!({
        "Description": "Frame of the values",
        "Levels": { FRAME: {
            "Description": "Right-handed axes of the sensor's own case, as it was strapped; how they lie on the body is not known",
            "RotationRule": "right-hand",
            "RotationOrder": "n/a",
            "SpatialAxes": "___",
        }},
    })
}

/// What is done in a task, and what the person is told.
fn task_texts(task: &str) -> (&'static str, &'static str) {
    match task {
        "legraise" => (
            "Lying on the back, one straight leg is raised and lowered again, then the other",
            "Lie flat on your back; raise one leg slowly with the knee straight, and lower it again",
        ),
        "flat" => (
            "The unit lies still on a flat surface, face after face",
            "n/a",
        ),
        _ => ("n/a", "n/a"),
    }
}

/// `_motion.json`.
pub(crate) fn motion_json(task: &str, track: &Track) -> Value {
    let (description, instructions) = task_texts(task);
    let misc = stamp_kinds(track).len();
    let mut json = Map::new();
    let mut put = |key: &str, value: Value| json.insert(key.to_owned(), value);
    put("TaskName", json!(task));
    put("TaskDescription", json!(description));
    put("Instructions", json!(instructions));
    put("TrackingSystemName", json!(track.name));
    put("SamplingFrequency", json!(track.rate_hz));
    if let [first, .., last] = track.samples.as_slice() {
        let duration_s = last.at - first.at;
        put(
            "SamplingFrequencyEffective",
            json!((track.samples.len() - 1) as f64 / duration_s),
        );
        put("RecordingDuration", json!(duration_s));
    }
    put("TrackedPointsCount", json!(1));
    put("MotionChannelCount", json!(7 + misc));
    for (kind, count) in [
        ("ACCEL", 3),
        ("ANGACCEL", 0),
        ("GYRO", 3),
        ("JNTANG", 0),
        ("LATENCY", 1),
        ("MAGN", 0),
        ("ORNT", 0),
        ("POS", 0),
        ("VEL", 0),
        ("MISC", misc),
        ("Misc", misc),
    ] {
        put(&format!("{kind}ChannelCount"), json!(count));
    }
    put(
        "MissingValues",
        json!("samples that were lost are left out, which the latency channel shows"),
    );
    let text = |text: &str| {
        if text.is_empty() {
            json!("n/a")
        } else {
            json!(text)
        }
    };
    put("Manufacturer", text(&track.device.manufacturer));
    put("ManufacturersModelName", text(&track.device.model));
    put("DeviceSerialNumber", text(&track.device.serial));
    put("SoftwareVersions", text(&track.device.software));
    for key in [
        "SubjectArtefactDescription",
        "InstitutionName",
        "InstitutionAddress",
        "InstitutionalDepartmentName",
    ] {
        put(key, json!("n/a"));
    }
    if let Some(limits) = track.limits {
        put("AccelOffsetLimit", json!(limits.accel_offset_m_s2));
        put("AccelScaleLimit", json!(limits.accel_scale));
        put("GyroScaleLimit", json!(limits.gyro_scale));
    }
    Value::Object(json)
}

/// `_events.tsv`, in order of time as the standard wants it.
pub(crate) fn events_tsv(marks: &[Mark]) -> Vec<u8> {
    let mut sorted: Vec<&Mark> = marks.iter().collect();
    sorted.sort_by_key(|mark| mark.at);
    let mut out = b"onset\tduration\ttrial_type\tside\tvalue\n".to_vec();
    for mark in sorted {
        push_ns(&mut out, mark.at.ns());
        let duration = mark.duration_s.map_or("n/a".to_owned(), |s| s.to_string());
        let side = mark.side.map_or("n/a", crate::Side::as_str);
        out.extend(
            format!(
                "\t{duration}\t{}\t{side}\t{}\n",
                mark.kind.as_str(),
                cell(&mark.value)
            )
            .bytes(),
        );
    }
    out
}

/// `_events.json`.
pub(crate) fn events_json() -> Value {
    let meaning = |kind: MarkKind| match kind {
        MarkKind::Rest => "the leg was lying still",
        MarkKind::Flat => "the unit lay on a flat surface; the value is the face that pointed up",
        MarkKind::Raise => "somebody's note that a raise was done",
        MarkKind::Turn => "the foot was rolled in and out while lying",
        MarkKind::Pull => "the first pull was felt",
        MarkKind::Stop => "stopped, for pain or any other reason",
        MarkKind::Note => "a remark, which is the value",
    };
    let kinds: Vec<(&str, &str)> = MarkKind::ALL
        .iter()
        .map(|&k| (k.as_str(), meaning(k)))
        .collect();
    let sides = [
        ("left", "the person's left leg"),
        ("right", "the person's right leg"),
    ];
    json!({
        "trial_type": Column::new("trial_type", "What was marked, at the moment it was pressed").of_words(&kinds).to_json(),
        "side": Column::new("side", "For which leg").of_words(&sides).to_json(),
        "value": Column::new("value", "A face of the unit, or a remark").to_json(),
        "StimulusPresentation": {"SoftwareName": "legraise"},
    })
}

/// Columns of `_scans.tsv` besides the standard's.
pub(crate) fn scans_json() -> Value {
    json!({
        "movement": Column::new("movement", "Who moved the leg: active (the person) or passive (the practitioner)").to_json(),
        "ankle": Column::new("ankle", "How the ankle was held: relaxed, pulled up or pointed").to_json(),
        "asked_for": Column::new("asked_for", "How far the raise was to go: first pull or limit").to_json(),
        "rater": Column::new("rater", "Code of the one who measured").to_json(),
    })
}
