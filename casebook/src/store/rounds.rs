//! Rounds: a run on disk, and the results that were worked out from it. The recording stays the source; what is here
//! can be worked out again, and what it was before is kept.

use fusion::{Angle, Raise};
use rusqlite::{Connection, OptionalExtension as _, Row, params};
use sensor::{Conditions, RecordingId, Side};

use super::changes::{Place, Why, enter};
use super::clients::id_of;
use super::error::{Inner, StoreError, StoreErrorKind};
use super::visits::visit_id;
use super::{Store, raise_row, values};
use crate::record::{KeptRound, Method, Purpose};
use crate::repeatability::RoundAngles;
use crate::summary::counted;
use crate::way::Way;

/// The task whose runs are rounds.
pub(super) const TASK: &str = "legraise";

impl Store {
    /// Keeps a round of a visit. One that is there already is replaced: its former results are kept in the history, and
    /// so is what was set aside. Whether anything is new is given back.
    pub fn keep_round(
        &self,
        code: &str,
        session: &str,
        round: &KeptRound,
        why: Why<'_>,
    ) -> Result<bool, StoreError> {
        self.change(|db| {
            let visit = visit_id(db, code, session)?;
            let id = id_in(code, session, &round.recording)?;
            let place = Place {
                client: Some(id_of(db, code)?),
                place: &place_of(&id),
            };
            match find(db, visit, &id)? {
                None => {
                    insert(db, visit, &id, round)?;
                    enter(db, place, "added", None, why)?;
                    Ok(true)
                }
                Some(former_id) => {
                    let former = load(db, former_id, code, session)?;
                    let mut round = round.clone();
                    round.set_aside = carried(&former, &round.raises);
                    if former == round {
                        return Ok(false);
                    }
                    if why.reason.trim().is_empty() {
                        return Err(StoreErrorKind::NoReason { field: "results" });
                    }
                    enter(db, place, "results", Some(&as_text(&former)?), why)?;
                    db.execute("DELETE FROM rounds WHERE id = ?1", [former_id])?;
                    insert(db, visit, &id, &round)?;
                    Ok(true)
                }
            }
        })
    }

    /// Sets a raise of a round aside, counted from 1, or counts it again (without a reason of its own); either is kept
    /// in the history.
    pub fn set_aside(
        &self,
        code: &str,
        session: &str,
        recording: &str,
        number: usize,
        is_aside: bool,
        why: Why<'_>,
    ) -> Result<(), StoreError> {
        self.change(|db| {
            let visit = visit_id(db, code, session)?;
            let id = id_in(code, session, recording)?;
            let found = find(db, visit, &id)?;
            let round_id = found.ok_or_else(|| StoreErrorKind::NoRound(recording.to_owned()))?;
            let round = load(db, round_id, code, session)?;
            let count = round.raises.len();
            let place = number.checked_sub(1).filter(|place| *place < count);
            let Some(place) = place else {
                return Err(StoreErrorKind::NoRaise {
                    recording: recording.to_owned(),
                    number,
                    count,
                });
            };
            if why.reason.trim().is_empty() {
                return Err(StoreErrorKind::NoReason { field: "raise" });
            }
            let mut aside = round.set_aside.iter();
            let former = aside.find(|(at, _)| *at == place);
            let former = former.map_or("counted".to_owned(), |(_, r)| format!("set aside: {r}"));
            let at = Place {
                client: Some(id_of(db, code)?),
                place: &place_of(&id),
            };
            enter(db, at, &format!("raise {number}"), Some(&former), why)?;
            let now = is_aside.then_some(why.reason.trim());
            db.execute(
                "UPDATE raises SET set_aside = ?3 WHERE round = ?1 AND place = ?2",
                params![round_id, place, now],
            )?;
            let changed = load(db, round_id, code, session)?;
            put_ends(db, round_id, &changed)
        })
    }

    /// Says what a round was for.
    pub fn set_purpose(
        &self,
        code: &str,
        session: &str,
        recording: &str,
        purpose: Purpose,
        why: Why<'_>,
    ) -> Result<(), StoreError> {
        self.change(|db| {
            let visit = visit_id(db, code, session)?;
            let id = id_in(code, session, recording)?;
            let found = find(db, visit, &id)?;
            let round = found.ok_or_else(|| StoreErrorKind::NoRound(recording.to_owned()))?;
            let former: String =
                db.query_row("SELECT purpose FROM rounds WHERE id = ?1", [round], |row| {
                    row.get(0)
                })?;
            if former == purpose.as_str() {
                return Ok(());
            }
            if why.reason.trim().is_empty() {
                return Err(StoreErrorKind::NoReason { field: "purpose" });
            }
            let place = Place {
                client: Some(id_of(db, code)?),
                place: &place_of(&id),
            };
            enter(db, place, "purpose", Some(&former), why)?;
            db.execute(
                "UPDATE rounds SET purpose = ?2 WHERE id = ?1",
                params![round, purpose.as_str()],
            )?;
            Ok(())
        })
    }
}

/// What was set aside, for the raises of a new result: the same raise is that of the same leg at the same time.
fn carried(former: &KeptRound, now: &[Raise]) -> Vec<(usize, String)> {
    let same =
        |a: &Raise, b: &Raise| a.side == b.side && a.start_s < b.end_s && b.start_s < a.end_s;
    let aside = former.set_aside.iter().filter_map(|(at, reason)| {
        let before = former.raises.get(*at)?;
        let mut alike: Vec<_> = now.iter().enumerate().collect();
        alike.retain(|(_, raise)| same(before, raise));
        let off = |raise: &Raise| (raise.start_s - before.start_s).abs();
        let nearest = alike
            .into_iter()
            .min_by(|(_, a), (_, b)| off(a).total_cmp(&off(b)))?;
        Some((nearest.0, reason.clone()))
    });
    aside.collect()
}

/// The parts of a recording's name; it must be of this client's visit.
pub(super) fn id_in(code: &str, session: &str, recording: &str) -> Inner<RecordingId> {
    let mut id = RecordingId {
        task: TASK.to_owned(),
        ..RecordingId::default()
    };
    for part in recording.split('/') {
        let slot = match part.split_once('-') {
            Some(("sub", _)) => &mut id.subject,
            Some(("ses", _)) => &mut id.session,
            Some(("acq", _)) => &mut id.acquisition,
            Some(("run", _)) => &mut id.run,
            _ => return Err(StoreErrorKind::NoRound(recording.to_owned())),
        };
        *slot = part.split_once('-').map(|(_, label)| label.to_owned());
    }
    let is_theirs = id.subject.as_deref() == Some(code) && id.session.as_deref() == Some(session);
    if is_theirs {
        Ok(id)
    } else {
        Err(StoreErrorKind::NoRound(recording.to_owned()))
    }
}

/// Where a change of a round is noted: its name without the client's code, which may change.
pub(super) fn place_of(id: &RecordingId) -> String {
    RecordingId {
        subject: None,
        ..id.clone()
    }
    .to_string()
}

pub(super) fn find(db: &Connection, visit: i64, id: &RecordingId) -> Inner<Option<i64>> {
    let mut one = db.prepare_cached(
        "SELECT id FROM rounds WHERE visit = ?1 AND acquisition = ?2 AND run = ?3",
    )?;
    let of = |label: &Option<String>| label.clone().unwrap_or_default();
    Ok(one
        .query_row(params![visit, of(&id.acquisition), of(&id.run)], |row| {
            row.get(0)
        })
        .optional()?)
}

fn insert(db: &Connection, visit: i64, id: &RecordingId, round: &KeptRound) -> Inner<()> {
    let done = &round.conditions;
    db.prepare_cached(
        "INSERT INTO rounds (visit, acquisition, run, purpose, began, movement, ankle, asked_for, rater, sensors, \
         is_calibrated, method_version, method_program, method_settings) \
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14)",
    )?
    .execute(params![
        visit,
        id.acquisition.as_deref().unwrap_or_default(),
        id.run.as_deref().unwrap_or_default(),
        round.purpose.as_str(),
        round.began.map(|at| at.to_string()),
        done.movement,
        done.ankle,
        done.asked_for,
        done.rater,
        round.sensors.join(" "),
        round.is_calibrated,
        round.method.version,
        round.method.program,
        round.method.settings,
    ])?;
    let round_id = db.last_insert_rowid();
    for (place, raise) in round.raises.iter().enumerate() {
        let aside = round.set_aside.iter().find(|(at, _)| *at == place);
        db.prepare_cached(
            "INSERT INTO raises (round, place, body, set_aside) VALUES (?1, ?2, ?3, ?4)",
        )?
        .execute(params![
            round_id,
            place,
            raise_row::to_text(raise)?,
            aside.map(|(_, reason)| reason)
        ])?;
    }
    put_ends(db, round_id, round)
}

/// Lays the end points that count ready, side by side.
fn put_ends(db: &Connection, round_id: i64, round: &KeptRound) -> Inner<()> {
    let raises = round.counted();
    for side in Side::ALL {
        let angles: Vec<f64> = counted(&raises, side)
            .map(|end| end.angle.value.radians())
            .collect();
        let text =
            serde_json::to_string(&angles).map_err(|e| values::odd("angles", &e.to_string()))?;
        db.prepare_cached("INSERT OR REPLACE INTO ends (round, side, angles) VALUES (?1, ?2, ?3)")?
            .execute(params![round_id, side.as_str(), text])?;
    }
    Ok(())
}

/// The same for rounds of a version that had none.
pub(super) fn lay_ends_ready(db: &Connection) -> Inner<()> {
    let mut all = db.prepare("SELECT id FROM rounds")?;
    let ids: Vec<i64> = all
        .query_map([], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    for id in ids {
        let round = load(db, id, "", "")?;
        put_ends(db, id, &round)?;
    }
    Ok(())
}

/// The rounds of a visit, in order of time.
pub(super) fn of_visit(
    db: &Connection,
    visit: i64,
    code: &str,
    session: &str,
) -> Inner<Vec<KeptRound>> {
    let mut all = db.prepare_cached(
        "SELECT id FROM rounds WHERE visit = ?1 ORDER BY began IS NULL, began, CAST(run AS INTEGER), run, id",
    )?;
    let ids: Vec<i64> = all
        .query_map([visit], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    ids.into_iter()
        .map(|id| load(db, id, code, session))
        .collect()
}

fn load(db: &Connection, id: i64, code: &str, session: &str) -> Inner<KeptRound> {
    let mut one = db.prepare_cached(
        "SELECT acquisition, run, purpose, began, movement, ankle, asked_for, rater, sensors, is_calibrated, \
         method_version, method_program, method_settings FROM rounds WHERE id = ?1",
    )?;
    let mut round = one.query_row([id], |row| Ok(from_row(row, code, session)))??;
    let mut all =
        db.prepare_cached("SELECT body, set_aside FROM raises WHERE round = ?1 ORDER BY place")?;
    let mut rows = all.query([id])?;
    while let Some(row) = rows.next()? {
        let body: String = row.get(0)?;
        if let Some(reason) = row.get::<_, Option<String>>(1)? {
            round.set_aside.push((round.raises.len(), reason));
        }
        round.raises.push(raise_row::from_text(&body)?);
    }
    Ok(round)
}

fn from_row(row: &Row<'_>, code: &str, session: &str) -> Inner<KeptRound> {
    let text = |at: usize| row.get::<_, String>(at);
    let label =
        |at: usize| -> Inner<Option<String>> { Ok(Some(text(at)?).filter(|l| !l.is_empty())) };
    let id = RecordingId {
        subject: Some(code.to_owned()),
        session: Some(session.to_owned()),
        task: TASK.to_owned(),
        acquisition: label(0)?,
        run: label(1)?,
    };
    Ok(KeptRound {
        recording: id.to_string(),
        purpose: values::purpose(&text(2)?)?,
        began: values::moment(row.get(3)?)?,
        conditions: Conditions {
            movement: row.get(4)?,
            ankle: row.get(5)?,
            asked_for: row.get(6)?,
            rater: row.get(7)?,
        },
        sensors: text(8)?.split_whitespace().map(str::to_owned).collect(),
        is_calibrated: row.get(9)?,
        method: Method {
            version: row.get(10)?,
            program: text(11)?,
            settings: text(12)?,
        },
        raises: Vec::new(),
        set_aside: Vec::new(),
    })
}

/// A round's results as text for the history.
fn as_text(round: &KeptRound) -> Inner<String> {
    let raises: Vec<String> = round
        .raises
        .iter()
        .map(raise_row::to_text)
        .collect::<Inner<_>>()?;
    Ok(format!(
        "{{\"program\": {:?}, \"version\": {}, \"settings\": {:?}, \"raises\": [{}]}}",
        round.method.program,
        round.method.version,
        round.method.settings,
        raises.join(", ")
    ))
}

/// The end points of all clients' rounds done this way.
pub(super) fn done_so(db: &Connection, way: &Way) -> Inner<Vec<RoundAngles>> {
    use crate::way::Condition;
    // As `Way` has them: spelling in capitals and spaces around don't count.
    let mut all = db.prepare_cached(
        "SELECT angles FROM ends JOIN rounds ON rounds.id = ends.round WHERE \
         lower(trim(coalesce(movement, ''))) = ?1 AND lower(trim(coalesce(ankle, ''))) = ?2 \
         AND lower(trim(coalesce(asked_for, ''))) = ?3",
    )?;
    let word = |condition| way.word(condition).unwrap_or_default();
    let words = [Condition::Movement, Condition::Ankle, Condition::AskedFor].map(word);
    let rows = all.query_map(params![words[0], words[1], words[2]], |row| {
        row.get::<_, String>(0)
    })?;
    rows.map(|text| {
        let text = text?;
        let angles: Vec<f64> =
            serde_json::from_str(&text).map_err(|e| values::odd("angles", &e.to_string()))?;
        Ok(RoundAngles {
            way: way.clone(),
            angles: angles.into_iter().map(Angle::from_radians).collect(),
        })
    })
    .collect()
}
