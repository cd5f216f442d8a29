//! What a run must be to be written: all of it is checked before the disk is touched.

use std::collections::BTreeSet;

use super::name::is_label;
use super::number::median;
use super::units::mistaken_accel_units;
use super::write_error::{TrackFault, WriteErrorKind};
use crate::{Placement, RecordingId, Run, RunTime, Track};

/// The first thing that keeps a run from being written.
pub(crate) fn check(run: &Run) -> Result<(), WriteErrorKind> {
    check_id(&run.id)?;
    if run.tracks.is_empty() {
        return Err(WriteErrorKind::NoTracks);
    }
    let mut names = BTreeSet::new();
    for track in &run.tracks {
        check_label("track", Some(&track.name))?;
        if !names.insert(&track.name) {
            return Err(WriteErrorKind::SameTrack {
                name: track.name.clone(),
            });
        }
        check_track(track).map_err(|fault| WriteErrorKind::Track {
            name: track.name.clone(),
            fault,
        })?;
    }
    let first = run
        .tracks
        .iter()
        .filter_map(|t| t.samples.first())
        .map(|s| s.at)
        .min();
    if let Some(first) = first.filter(|at| *at != RunTime::ZERO) {
        return Err(WriteErrorKind::NotFromZero { first_s: first.s() });
    }
    if let Some(duration_s) = run
        .marks
        .iter()
        .filter_map(|m| m.duration_s)
        .find(|s| !(s.is_finite() && *s >= 0.0))
    {
        return Err(WriteErrorKind::Duration { duration_s });
    }
    if let Some(mark) = run.marks.iter().find(|m| m.at.s().abs() > RunTime::LIMIT_S) {
        return Err(WriteErrorKind::MarkTime { at_s: mark.at.s() });
    }
    match &run.acquired {
        Some(text) if !is_date_time(text) => Err(WriteErrorKind::Acquired { text: text.clone() }),
        _ => Ok(()),
    }
}

pub(crate) fn check_id(id: &RecordingId) -> Result<(), WriteErrorKind> {
    check_label("subject", Some(id.subject.as_deref().unwrap_or_default()))?;
    check_label("session", id.session.as_deref())?;
    check_label("task", Some(&id.task))?;
    check_label("acquisition", id.acquisition.as_deref())?;
    match &id.run {
        Some(run) if run.is_empty() || !run.bytes().all(|b| b.is_ascii_digit()) => {
            Err(WriteErrorKind::Label {
                part: "run",
                label: run.clone(),
            })
        }
        _ => Ok(()),
    }
}

fn check_label(part: &'static str, label: Option<&str>) -> Result<(), WriteErrorKind> {
    match label {
        Some(label) if !is_label(label) => Err(WriteErrorKind::Label {
            part,
            label: label.to_owned(),
        }),
        _ => Ok(()),
    }
}

fn check_track(track: &Track) -> Result<(), TrackFault> {
    let samples = &track.samples;
    let (Some(first), Some(last)) = (samples.first(), samples.last()) else {
        return Err(TrackFault::Empty);
    };
    if let Some(index) = samples.windows(2).position(|w| w[1].at <= w[0].at) {
        return Err(TrackFault::Unsorted { index: index + 1 });
    }
    if let Some(index) = samples.iter().position(|s| !s.is_possible()) {
        return Err(TrackFault::Impossible { index });
    }
    if last.at - first.at > RunTime::LIMIT_S {
        return Err(TrackFault::TooLong(last.at - first.at));
    }
    if !(track.rate_hz.is_finite() && track.rate_hz > 0.0) {
        return Err(TrackFault::Rate(track.rate_hz));
    }
    if let Some(limits) = track.limits {
        let all = [
            limits.accel_offset_m_s2,
            limits.accel_scale,
            limits.gyro_scale,
        ];
        if let Some(bad) = all.into_iter().find(|l| !(l.is_finite() && *l >= 0.0)) {
            return Err(TrackFault::Limit(bad));
        }
    }
    if !track.stamps.is_empty() && track.stamps.len() != samples.len() {
        return Err(TrackFault::Stamps {
            stamps: track.stamps.len(),
            samples: samples.len(),
        });
    }
    if let Ok(named) = track.name.parse::<Placement>()
        && track.placement != Some(named)
    {
        return Err(TrackFault::Placement { named });
    }
    // A reader would take such a recording for one in another unit, and convert it.
    let size = |s: &crate::Sample| {
        s.accel_m_s2
            .iter()
            .map(|&a| f64::from(a).powi(2))
            .sum::<f64>()
            .sqrt()
    };
    match median(samples.iter().map(size)) {
        Some(median) if mistaken_accel_units(median, 1.0).is_some() => {
            Err(TrackFault::Units(median))
        }
        _ => Ok(()),
    }
}

/// `YYYY-MM-DDThh:mm:ss`, perhaps with decimals and a zone.
pub(crate) fn is_date_time(text: &str) -> bool {
    let shape = |text: &str, pattern: &str| {
        text.len() == pattern.len()
            && text.bytes().zip(pattern.bytes()).all(|(t, p)| {
                if p == b'0' {
                    t.is_ascii_digit()
                } else {
                    t == p
                }
            })
    };
    let Some((main, mut rest)) = text.split_at_checked(19) else {
        return false;
    };
    if !shape(main, "0000-00-00T00:00:00") {
        return false;
    }
    if let Some(fraction) = rest.strip_prefix('.') {
        let digits = fraction.bytes().take_while(u8::is_ascii_digit).count();
        if digits == 0 || digits > 6 {
            return false;
        }
        rest = &fraction[digits..];
    }
    let number = |range: std::ops::Range<usize>| {
        main.get(range)
            .and_then(|t| t.parse::<u32>().ok())
            .unwrap_or(99)
    };
    let is_possible = (1..=12).contains(&number(5..7))
        && (1..=31).contains(&number(8..10))
        && number(11..13) < 24
        && number(14..16) < 60
        && number(17..19) <= 60;
    is_possible
        && (rest.is_empty() || rest == "Z" || shape(rest, "+00:00") || shape(rest, "-00:00"))
}
