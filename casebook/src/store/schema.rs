//! The tables, and how a casebook of an earlier version becomes one of this.

use rusqlite::{Connection, params};

use super::error::{Inner, StoreErrorKind};
use super::fold::fold;
use super::rounds;

/// The version written here.
pub const VERSION: i64 = 2;

/// One step from a version to the next.
type Step = fn(&Connection) -> Inner<()>;

/// In order; the first makes version 1 of an empty file.
const STEPS: [Step; 2] = [
    |db| Ok(db.execute_batch(include_str!("schema/v1.sql"))?),
    |db| {
        db.execute_batch(include_str!("schema/v2.sql"))?;
        fold_names(db)?;
        rounds::lay_ends_ready(db)
    },
];

/// The version of an open database.
pub(super) fn version(db: &Connection) -> Inner<i64> {
    Ok(db.query_row("PRAGMA user_version", [], |row| row.get(0))?)
}

/// Brings a database to this version, all steps in one transaction; one of a later version is refused.
pub(super) fn bring_up(db: &Connection) -> Inner<()> {
    let found = version(db)?;
    if found == VERSION {
        return Ok(());
    }
    let done = usize::try_from(found)
        .ok()
        .filter(|done| *done <= STEPS.len());
    let Some(done) = done else {
        return Err(StoreErrorKind::Newer {
            found,
            known: VERSION,
        });
    };
    db.execute_batch("BEGIN IMMEDIATE")?;
    let stepped = STEPS[done..].iter().try_for_each(|step| step(db));
    let ended = stepped.and_then(|()| {
        db.pragma_update(None, "user_version", VERSION)?;
        db.execute_batch("COMMIT")?;
        Ok(())
    });
    if ended.is_err() && !db.is_autocommit() {
        db.execute_batch("ROLLBACK")?;
    }
    ended
}

/// What a client is found by.
pub(super) fn folded(name: &str, contact: &str, code: &str) -> String {
    fold(&format!("{name}\n{contact}\n{code}"))
}

fn fold_names(db: &Connection) -> Inner<()> {
    let mut all = db.prepare("SELECT id, name, contact, code FROM clients")?;
    let clients: Vec<(i64, String)> = all
        .query_map([], |row| {
            let of = |at: usize| row.get::<_, String>(at);
            Ok((row.get(0)?, folded(&of(1)?, &of(2)?, &of(3)?)))
        })?
        .collect::<Result<_, _>>()?;
    for (id, folded) in clients {
        db.execute(
            "UPDATE clients SET folded = ?2 WHERE id = ?1",
            params![id, folded],
        )?;
    }
    Ok(())
}
