//! What was changed: the former value, when and why. Every change of something that was kept is noted with it.

use jiff::Timestamp;
use rusqlite::{Connection, params};

use super::error::{Inner, StoreError, StoreErrorKind};
use super::{Store, clients};

/// When and why something is changed.
#[derive(Clone, Copy, Debug)]
pub struct Why<'a> {
    /// Now.
    pub at: Timestamp,
    /// In the practitioner's words; may be empty only where nothing that was kept is lost.
    pub reason: &'a str,
}

/// A change that was made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Changed {
    /// When.
    pub at: Timestamp,
    /// What it belongs to: `client`, `ses-01`, `ses-01/run-02`, `plan`, `bands` and the like.
    pub place: String,
    /// Which field.
    pub field: String,
    /// What it was; `None` where there was nothing.
    pub former: Option<String>,
    /// Why.
    pub reason: String,
}

/// Where a change belongs.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place<'a> {
    /// Whose; nobody's for the practitioner's own settings.
    pub(super) client: Option<i64>,
    /// What it belongs to.
    pub(super) place: &'a str,
}

/// One field as it was and as it is to be; both as text, `None` for nothing.
pub(super) struct Field {
    pub(super) name: &'static str,
    pub(super) former: Option<String>,
    pub(super) now: Option<String>,
}

impl Field {
    pub(super) fn new(name: &'static str, former: Option<String>, now: Option<String>) -> Self {
        let some = |text: Option<String>| text.filter(|text| !text.is_empty());
        Self {
            name,
            former: some(former),
            now: some(now),
        }
    }
}

/// Notes each field that differs. One that was empty needs no reason.
pub(super) fn note(db: &Connection, place: Place<'_>, fields: &[Field], why: Why<'_>) -> Inner<()> {
    for field in fields.iter().filter(|field| field.former != field.now) {
        if field.former.is_some() && why.reason.trim().is_empty() {
            return Err(StoreErrorKind::NoReason { field: field.name });
        }
        enter(db, place, field.name, field.former.as_deref(), why)?;
    }
    Ok(())
}

/// Enters one change.
pub(super) fn enter(
    db: &Connection,
    place: Place<'_>,
    field: &str,
    former: Option<&str>,
    why: Why<'_>,
) -> Inner<()> {
    db.prepare_cached(
        "INSERT INTO changes (client, at, place, field, former, reason) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
    )?
    .execute(params![
        place.client,
        why.at.to_string(),
        place.place,
        field,
        former,
        why.reason.trim(),
    ])?;
    Ok(())
}

impl Store {
    /// What was changed of one client, in order of time; of the practitioner's own settings without one.
    pub fn history(&self, code: Option<&str>) -> Result<Vec<Changed>, StoreError> {
        self.read(|db| {
            let client = code.map(|code| clients::id_of(db, code)).transpose()?;
            let mut all = db.prepare(
                "SELECT at, place, field, former, reason FROM changes WHERE client IS ?1 ORDER BY id",
            )?;
            let rows = all.query_map([client], |row| {
                Ok((
                    row.get::<_, String>(0)?,
                    Changed {
                        at: Timestamp::UNIX_EPOCH,
                        place: row.get(1)?,
                        field: row.get(2)?,
                        former: row.get(3)?,
                        reason: row.get(4)?,
                    },
                ))
            })?;
            rows.map(|row| {
                let (at, changed) = row?;
                let at = super::values::parsed("time", &at)?;
                Ok(Changed { at, ..changed })
            })
            .collect()
        })
    }
}
