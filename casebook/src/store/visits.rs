//! Visits: when, the cautions as answered, what was felt, and the drill that was practised.

use rusqlite::{Connection, OptionalExtension as _, Row, params};

use super::changes::{Field, Place, Why, enter, note};
use super::clients::{check_text, id_of};
use super::error::{Inner, StoreError, StoreErrorKind};
use super::{Store, rounds, values};
use crate::record::{DrillDone, Visit};

impl Store {
    /// Adds a visit; its rounds and drill are added by themselves.
    pub fn add_visit(&self, code: &str, visit: &Visit, why: Why<'_>) -> Result<(), StoreError> {
        self.change(|db| {
            let client = id_of(db, code)?;
            add(db, client, code, visit, why)
        })
    }

    /// The labels of a client's visits, in order of date.
    pub fn sessions(&self, code: &str) -> Result<Vec<String>, StoreError> {
        self.read(|db| sessions(db, id_of(db, code)?))
    }

    /// One visit with its rounds and its drill.
    pub fn visit(&self, code: &str, session: &str) -> Result<Visit, StoreError> {
        self.read(|db| {
            let id = visit_id(db, code, session)?;
            load(db, id, code)
        })
    }

    /// Puts a visit's own fields in place of those kept; each former value is kept with the reason. Rounds and drill stay.
    pub fn edit_visit(&self, code: &str, visit: &Visit, why: Why<'_>) -> Result<(), StoreError> {
        self.change(|db| {
            check(visit)?;
            let id = visit_id(db, code, &visit.session)?;
            let former = load(db, id, code)?;
            let place = Place {
                client: Some(id_of(db, code)?),
                place: &format!("ses-{}", visit.session),
            };
            note(db, place, &fields(&former, visit), why)?;
            db.execute(
                "UPDATE visits SET date = ?2, has_asked_cautions = ?3, cautions = ?4, feels_tight = ?5, is_quiet = ?6, \
                 pain = ?7, pull_felt = ?8, warm_up = ?9, notes = ?10 WHERE id = ?1",
                params![
                    id,
                    visit.date.to_string(),
                    visit.has_asked_cautions,
                    values::cautions_text(&visit.cautions),
                    visit.feels_tight,
                    visit.is_quiet,
                    visit.pain,
                    visit.pull_felt,
                    visit.warm_up,
                    visit.notes,
                ],
            )?;
            Ok(())
        })
    }

    /// Notes the drill that was practised; a former one of the visit is kept in the history.
    pub fn set_drill(
        &self,
        code: &str,
        session: &str,
        drill: &DrillDone,
        why: Why<'_>,
    ) -> Result<(), StoreError> {
        self.change(|db| {
            check_text("drill", &drill.name)?;
            check_text("notes", &drill.notes)?;
            let id = visit_id(db, code, session)?;
            let former = drill_of(db, id)?;
            let place = Place {
                client: Some(id_of(db, code)?),
                place: &format!("ses-{session}"),
            };
            let text = |drill: &DrillDone| {
                let ended = drill.ended.map(|at| at.to_string()).unwrap_or_default();
                format!("{} ({}), ended {ended}; {}", drill.key, drill.name, drill.notes)
            };
            let field = Field::new("drill", former.as_ref().map(text), Some(text(drill)));
            note(db, place, &[field], why)?;
            db.execute(
                "INSERT OR REPLACE INTO drills (visit, key, name, ended, notes) VALUES (?1, ?2, ?3, ?4, ?5)",
                params![
                    id,
                    drill.key,
                    drill.name,
                    drill.ended.map(|at| at.to_string()),
                    drill.notes
                ],
            )?;
            Ok(())
        })
    }
}

/// Adds a visit within a change.
pub(super) fn add(
    db: &Connection,
    client: i64,
    code: &str,
    visit: &Visit,
    why: Why<'_>,
) -> Inner<()> {
    check(visit)?;
    if find_id(db, client, &visit.session)?.is_some() {
        return Err(StoreErrorKind::VisitTaken {
            client: code.to_owned(),
            session: visit.session.clone(),
        });
    }
    db.prepare_cached(
        "INSERT INTO visits (client, session, date, has_asked_cautions, cautions, feels_tight, is_quiet, pain, \
         pull_felt, warm_up, notes) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)",
    )?
    .execute(params![
        client,
        visit.session,
        visit.date.to_string(),
        visit.has_asked_cautions,
        values::cautions_text(&visit.cautions),
        visit.feels_tight,
        visit.is_quiet,
        visit.pain,
        visit.pull_felt,
        visit.warm_up,
        visit.notes,
    ])?;
    let place = Place {
        client: Some(client),
        place: &format!("ses-{}", visit.session),
    };
    enter(db, place, "added", None, why)
}

fn check(visit: &Visit) -> Inner<()> {
    let is_label =
        !visit.session.is_empty() && visit.session.bytes().all(|b| b.is_ascii_alphanumeric());
    if !is_label || visit.session.len() > 32 {
        return Err(StoreErrorKind::Value {
            field: "visit",
            value: visit.session.chars().take(40).collect(),
            expected: "a label of up to 32 letters and digits",
        });
    }
    if let Some(pain) = visit.pain.filter(|pain| *pain > 10) {
        return Err(StoreErrorKind::Value {
            field: "pain",
            value: pain.to_string(),
            expected: "0 to 10",
        });
    }
    check_text("pull felt", &visit.pull_felt)?;
    check_text("warm-up", &visit.warm_up)?;
    check_text("notes", &visit.notes)
}

/// A field of a visit: its name, and how it stands as text.
type Part = (&'static str, fn(&Visit) -> Option<String>);

fn fields(former: &Visit, now: &Visit) -> Vec<Field> {
    let parts: [Part; 9] = [
        ("date", |v| Some(v.date.to_string())),
        ("cautions asked", |v| {
            v.has_asked_cautions.then(|| "yes".to_owned())
        }),
        ("cautions", |v| Some(values::cautions_text(&v.cautions))),
        ("feels tight", |v| values::yes_no(v.feels_tight)),
        ("other signs quiet", |v| values::yes_no(v.is_quiet)),
        ("pain", |v| v.pain.map(|pain| pain.to_string())),
        ("pull felt", |v| Some(v.pull_felt.clone())),
        ("warm-up", |v| Some(v.warm_up.clone())),
        ("notes", |v| Some(v.notes.clone())),
    ];
    let field = |(name, part): Part| Field::new(name, part(former), part(now));
    parts.into_iter().map(field).collect()
}

pub(super) fn find_id(db: &Connection, client: i64, session: &str) -> Inner<Option<i64>> {
    let mut one = db.prepare_cached("SELECT id FROM visits WHERE client = ?1 AND session = ?2")?;
    Ok(one
        .query_row(params![client, session], |row| row.get(0))
        .optional()?)
}

pub(super) fn visit_id(db: &Connection, code: &str, session: &str) -> Inner<i64> {
    let client = id_of(db, code)?;
    find_id(db, client, session)?.ok_or_else(|| StoreErrorKind::NoVisit {
        client: code.to_owned(),
        session: session.to_owned(),
    })
}

/// Labels in order of date.
pub(super) fn sessions(db: &Connection, client: i64) -> Inner<Vec<String>> {
    let mut all =
        db.prepare_cached("SELECT session FROM visits WHERE client = ?1 ORDER BY date, session")?;
    let labels = all.query_map([client], |row| row.get(0))?;
    Ok(labels.collect::<Result<_, _>>()?)
}

/// All visits of a client, in order of date.
pub(super) fn of_client(db: &Connection, client: i64, code: &str) -> Inner<Vec<Visit>> {
    let mut all =
        db.prepare_cached("SELECT id FROM visits WHERE client = ?1 ORDER BY date, session")?;
    let ids: Vec<i64> = all
        .query_map([client], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    ids.into_iter().map(|id| load(db, id, code)).collect()
}

fn load(db: &Connection, id: i64, code: &str) -> Inner<Visit> {
    let mut one = db.prepare_cached(
        "SELECT session, date, has_asked_cautions, cautions, feels_tight, is_quiet, pain, pull_felt, warm_up, notes \
         FROM visits WHERE id = ?1",
    )?;
    let mut visit = one.query_row([id], |row| Ok(from_row(row)))??;
    visit.rounds = rounds::of_visit(db, id, code, &visit.session)?;
    visit.drill = drill_of(db, id)?;
    Ok(visit)
}

fn from_row(row: &Row<'_>) -> Inner<Visit> {
    let text = |at: usize| row.get::<_, String>(at);
    Ok(Visit {
        session: text(0)?,
        date: values::date(&text(1)?)?,
        has_asked_cautions: row.get(2)?,
        cautions: values::cautions(&text(3)?)?,
        feels_tight: row.get(4)?,
        is_quiet: row.get(5)?,
        pain: row.get(6)?,
        pull_felt: text(7)?,
        warm_up: text(8)?,
        notes: text(9)?,
        rounds: Vec::new(),
        drill: None,
    })
}

fn drill_of(db: &Connection, visit: i64) -> Inner<Option<DrillDone>> {
    let mut one =
        db.prepare_cached("SELECT key, name, ended, notes FROM drills WHERE visit = ?1")?;
    let found = one
        .query_row([visit], |row| {
            let drill = DrillDone {
                key: row.get(0)?,
                name: row.get(1)?,
                ended: None,
                notes: row.get(3)?,
            };
            Ok((drill, row.get::<_, Option<String>>(2)?))
        })
        .optional()?;
    found
        .map(|(drill, ended)| {
            let ended = values::moment(ended)?;
            Ok(DrillDone { ended, ..drill })
        })
        .transpose()
}
