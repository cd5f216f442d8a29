//! Recordings that are to be moved on disk. What is to be done is written down in the same transaction that changes whose
//! they are; the files follow, one by one, and a move that was broken off is finished at the next start.

use std::path::{Path, PathBuf};

use rusqlite::{Connection, params};
use sensor::RecordingId;

use super::error::{Inner, StoreError};
use super::{Store, values};

/// One recording to be moved or copied within a data set.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Move {
    /// As it is.
    pub from: RecordingId,
    /// As it is to be.
    pub to: RecordingId,
    /// Whether the former one stays.
    pub is_copy: bool,
}

/// A move that isn't known to be done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PendingMove {
    /// To tell it by.
    pub id: i64,
    /// The data set.
    pub root: PathBuf,
    /// What.
    pub what: Move,
}

impl Store {
    /// Moves that are to be done, in order.
    pub fn pending_moves(&self) -> Result<Vec<PendingMove>, StoreError> {
        self.read(|db| {
            let mut all =
                db.prepare("SELECT id, root, is_copy, from_id, to_id FROM moves ORDER BY id")?;
            let rows = all.query_map([], |row| {
                Ok((
                    row.get(0)?,
                    row.get::<_, String>(1)?,
                    row.get(2)?,
                    row.get::<_, String>(3)?,
                    row.get::<_, String>(4)?,
                ))
            })?;
            rows.map(|row| {
                let (id, root, is_copy, from, to) = row?;
                let what = Move {
                    from: from_text(&from)?,
                    to: from_text(&to)?,
                    is_copy,
                };
                Ok(PendingMove {
                    id,
                    root: PathBuf::from(root),
                    what,
                })
            })
            .collect()
        })
    }

    /// Takes note that a move is done.
    pub fn finish_move(&self, id: i64) -> Result<(), StoreError> {
        self.change(|db| {
            db.execute("DELETE FROM moves WHERE id = ?1", [id])?;
            Ok(())
        })
    }
}

/// Writes down what is to be moved, within a change.
pub(super) fn plan(db: &Connection, root: &Path, moves: &[Move]) -> Inner<()> {
    let root = root.to_str().ok_or_else(|| {
        let path = root.to_string_lossy();
        values::odd("path that is no Unicode", &path)
    })?;
    for one in moves {
        db.execute(
            "INSERT INTO moves (root, is_copy, from_id, to_id) VALUES (?1, ?2, ?3, ?4)",
            params![root, one.is_copy, to_text(&one.from), to_text(&one.to)],
        )?;
    }
    Ok(())
}

/// Labels hold no slash.
fn to_text(id: &RecordingId) -> String {
    let of = |label: &Option<String>| label.clone().unwrap_or_default();
    let parts = [
        of(&id.subject),
        of(&id.session),
        id.task.clone(),
        of(&id.acquisition),
        of(&id.run),
    ];
    parts.join("/")
}

fn from_text(text: &str) -> Inner<RecordingId> {
    let parts: Vec<&str> = text.split('/').collect();
    let [subject, session, task, acquisition, run] = parts[..] else {
        return Err(values::odd("recording", text));
    };
    let label = |text: &str| (!text.is_empty()).then(|| text.to_owned());
    Ok(RecordingId {
        subject: label(subject),
        session: label(session),
        task: task.to_owned(),
        acquisition: label(acquisition),
        run: label(run),
    })
}
