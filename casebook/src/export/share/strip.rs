//! A run without what tells who and when.

use std::collections::BTreeSet;

use sensor::{Conditions, MarkKind, Run};

use super::labels::Labels;
use super::{Dates, Removed, days};

/// Takes it out, and notes what there was.
pub(super) fn run(
    mut run: Run,
    client: &str,
    dates: Dates<'_>,
    labels: &mut Labels,
    removed: &mut BTreeSet<Removed>,
) -> Run {
    run.acquired = run.acquired.take().and_then(|time| {
        let (changed, what) = match dates {
            Dates::Shifted(_) => {
                let secret = labels.secret(client);
                let moved = secret.and_then(|secret| days::shifted(&time, secret));
                (moved, Removed::DatesShifted)
            }
            Dates::Year => (days::year(&time), Removed::DatesToYear),
            Dates::Left => (None, Removed::DatesLeft),
        };
        removed.insert(if changed.is_some() {
            what
        } else {
            Removed::DatesLeft
        });
        changed
    });
    relabel(&mut run, client, labels, removed);
    run.conditions = conditions(&run.conditions, labels, removed);
    let before = run.marks.len();
    run.marks.retain(|mark| mark.kind != MarkKind::Note);
    let mut has_note = run.marks.len() < before;
    for mark in &mut run.marks {
        // A face says how a unit lay; any other value is a person's.
        if mark.kind != MarkKind::Flat && !mark.value.is_empty() {
            mark.value.clear();
            has_note = true;
        }
    }
    if has_note {
        removed.insert(Removed::Notes);
    }
    for track in &mut run.tracks {
        if !track.device.serial.is_empty() {
            track.device.serial = labels.serials.of(&track.device.serial, "unit");
            removed.insert(Removed::Serials);
        }
        if track.placement.is_none() {
            track.name = labels.sensors.of(&track.name, "sensor");
            removed.insert(Removed::SensorNames);
        }
        for stamp in &mut track.stamps {
            if stamp.device.take().is_some() {
                removed.insert(Removed::DeviceClocks);
            }
        }
        if track
            .stamps
            .iter()
            .all(|stamp| *stamp == sensor::RawStamp::default())
        {
            track.stamps.clear();
        }
    }
    run.tracks.sort_by(|a, b| a.name.cmp(&b.name));
    run
}

fn relabel(run: &mut Run, client: &str, labels: &mut Labels, removed: &mut BTreeSet<Removed>) {
    if let Some(session) = run.id.session.take() {
        let own = labels.visit(client, &session).cloned();
        if own.as_ref() != Some(&session) {
            removed.insert(Removed::VisitLabels);
        }
        run.id.session = own;
    }
    let own = labels.client(client).cloned();
    if own.as_deref() != Some(client) {
        removed.insert(Removed::ClientLabels);
    }
    run.id.subject = own;
    run.id.acquisition = run.id.acquisition.take().map(|label| {
        removed.insert(Removed::AcquisitionLabels);
        labels.acquisitions.of(&label, "a")
    });
}

/// The words that recordings are made with; anything else is somebody's own text.
fn conditions(
    said: &Conditions,
    labels: &mut Labels,
    removed: &mut BTreeSet<Removed>,
) -> Conditions {
    let mut known = |word: &Option<String>, words: &[&str]| {
        let word = word.as_ref()?;
        let found = words
            .iter()
            .find(|known| known.eq_ignore_ascii_case(word.trim()));
        if found.is_none() {
            removed.insert(Removed::Conditions);
        }
        found.map(|known| (*known).to_owned())
    };
    let movement = known(&said.movement, &["active", "passive"]);
    let ankle = known(&said.ankle, &["relaxed", "pulled up", "pointed"]);
    let asked_for = known(&said.asked_for, &["first pull", "limit"]);
    let rater = said.rater.as_ref().map(|rater| {
        removed.insert(Removed::Raters);
        labels.raters.of(&rater.trim().to_lowercase(), "r")
    });
    Conditions {
        movement,
        ankle,
        asked_for,
        rater,
    }
}
