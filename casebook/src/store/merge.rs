//! One person entered twice becomes one client; a recording made under the wrong client goes to the right one.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use rusqlite::{Connection, params};
use sensor::RecordingId;

use super::changes::{Place, Why, enter};
use super::clients::{client, id_of};
use super::error::{Inner, StoreError, StoreErrorKind};
use super::moves::{Move, plan};
use super::{Store, rounds, visits};
use crate::record::Visit;

impl Store {
    /// Makes `former` part of `kept`: visits, results, history and plans that `kept` lacks. `on_disk` are all recordings
    /// of both; the moves that are to be done with them are written down and given back. Texts of the former client that
    /// differ are kept in the history.
    pub fn merge(
        &self,
        kept: &str,
        former: &str,
        root: &Path,
        on_disk: &[RecordingId],
        why: Why<'_>,
    ) -> Result<Vec<Move>, StoreError> {
        self.change(|db| {
            if kept == former {
                return Err(StoreErrorKind::Value {
                    field: "the client to be merged",
                    value: former.to_owned(),
                    expected: "another client",
                });
            }
            let (kept_id, former_id) = (id_of(db, kept)?, id_of(db, former)?);
            if why.reason.trim().is_empty() {
                return Err(StoreErrorKind::NoReason { field: "client" });
            }
            let labels = labels(db, (kept, kept_id), (former, former_id), on_disk)?;
            note_former(db, kept_id, former, why)?;
            for (label, new) in &labels {
                db.execute(
                    "UPDATE visits SET client = ?3, session = ?4 WHERE client = ?1 AND session = ?2",
                    params![former_id, label, kept_id, new],
                )?;
                if label != new {
                    let place = Place {
                        client: Some(kept_id),
                        place: &format!("ses-{new}"),
                    };
                    enter(db, place, "visit", Some(&format!("ses-{label}")), why)?;
                }
            }
            db.execute(
                "UPDATE OR IGNORE plans SET client = ?2 WHERE client = ?1",
                [former_id, kept_id],
            )?;
            db.execute(
                "UPDATE changes SET client = ?2 WHERE client = ?1",
                [former_id, kept_id],
            )?;
            db.execute("DELETE FROM clients WHERE id = ?1", [former_id])?;
            let theirs = on_disk
                .iter()
                .filter(|id| id.subject.as_deref() == Some(former));
            let moves: Vec<Move> = theirs
                .map(|from| {
                    let to = RecordingId {
                        subject: Some(kept.to_owned()),
                        session: from
                            .session
                            .as_ref()
                            .map(|label| labels.get(label).unwrap_or(label).clone()),
                        ..from.clone()
                    };
                    Move {
                        from: from.clone(),
                        to,
                        is_copy: false,
                    }
                })
                .collect();
            plan(db, root, &moves)?;
            Ok(moves)
        })
    }

    /// Gives one round to another client's visit, which is added on the same day where it isn't there. `moves` is what is
    /// to be done on disk; the first names the round.
    pub fn move_round(&self, root: &Path, moves: &[Move], why: Why<'_>) -> Result<(), StoreError> {
        self.change(|db| {
            let Some(Move { from, to, .. }) = moves.first() else {
                return Ok(());
            };
            if why.reason.trim().is_empty() {
                return Err(StoreErrorKind::NoReason { field: "client" });
            }
            let label = |label: &Option<String>| label.clone().unwrap_or_default();
            let (code, session) = (label(&from.subject), label(&from.session));
            let (new_code, new_session) = (label(&to.subject), label(&to.session));
            let visit = visits::visit_id(db, &code, &session)?;
            let new_client = id_of(db, &new_code)?;
            let found = rounds::find(db, visit, from)?;
            let round = found.ok_or_else(|| StoreErrorKind::NoRound(from.to_string()))?;
            if visits::find_id(db, new_client, &new_session)?.is_none() {
                let date: String =
                    db.query_row("SELECT date FROM visits WHERE id = ?1", [visit], |row| {
                        row.get(0)
                    })?;
                let empty = empty_visit(&new_session, super::values::date(&date)?);
                visits::add(db, new_client, &new_code, &empty, why)?;
            }
            let new_visit = visits::visit_id(db, &new_code, &new_session)?;
            db.execute(
                "UPDATE rounds SET visit = ?2, acquisition = ?3, run = ?4 WHERE id = ?1",
                params![round, new_visit, label(&to.acquisition), label(&to.run)],
            )?;
            // Each history tells of it, and neither names the other client.
            let old_place = Place {
                client: Some(id_of(db, &code)?),
                place: &rounds::place_of(from),
            };
            enter(db, old_place, "moved to another client", None, why)?;
            let new_place = Place {
                client: Some(new_client),
                place: &rounds::place_of(to),
            };
            enter(db, new_place, "moved from another client", None, why)?;
            plan(db, root, moves)
        })
    }
}

/// For each label of the former client's visits the one it gets: its own, or the next free number.
fn labels(
    db: &Connection,
    kept: (&str, i64),
    former: (&str, i64),
    on_disk: &[RecordingId],
) -> Inner<BTreeMap<String, String>> {
    let of = |(code, id): (&str, i64)| -> Inner<BTreeSet<String>> {
        let mut labels: BTreeSet<String> = visits::sessions(db, id)?.into_iter().collect();
        let theirs = on_disk
            .iter()
            .filter(|id| id.subject.as_deref() == Some(code));
        labels.extend(theirs.filter_map(|id| id.session.clone()));
        Ok(labels)
    };
    let (mut taken, theirs) = (of(kept)?, of(former)?);
    let mut labels = BTreeMap::new();
    // A label kept as it is must stay free for its own visit.
    let (clashing, free): (Vec<_>, Vec<_>) =
        theirs.into_iter().partition(|label| taken.contains(label));
    for label in free {
        taken.insert(label.clone());
        labels.insert(label.clone(), label);
    }
    for label in clashing {
        let new = next_label(&taken);
        taken.insert(new.clone());
        labels.insert(label, new);
    }
    Ok(labels)
}

/// The number after the highest, two digits.
pub(super) fn next_label(taken: &BTreeSet<String>) -> String {
    let numbers = taken.iter().filter_map(|label| label.parse::<u64>().ok());
    format!("{:02}", numbers.max().map_or(1, |n| n.saturating_add(1)))
}

/// What is said of the former client and would be lost.
fn note_former(db: &Connection, kept: i64, former: &str, why: Why<'_>) -> Inner<()> {
    let gone = client(db, former)?;
    let place = Place {
        client: Some(kept),
        place: "merged client",
    };
    let consent = gone.consent.as_ref().map(|c| {
        let withdrawn = c.withdrawn.map(|d| format!(", withdrawn {d}"));
        format!(
            "{} to text {}{}",
            c.given,
            c.text_version,
            withdrawn.unwrap_or_default()
        )
    });
    let texts = [
        ("code", Some(gone.code)),
        ("name", Some(gone.name)),
        ("contact", Some(gone.contact)),
        ("birth year", gone.birth_year.map(|year| year.to_string())),
        ("notes", Some(gone.notes)),
        ("consent", consent),
    ];
    for (field, text) in texts {
        if let Some(text) = text.filter(|text| !text.is_empty()) {
            enter(db, place, field, Some(&text), why)?;
        }
    }
    Ok(())
}

fn empty_visit(session: &str, date: jiff::civil::Date) -> Visit {
    Visit {
        session: session.to_owned(),
        date,
        has_asked_cautions: false,
        cautions: Vec::new(),
        feels_tight: None,
        is_quiet: None,
        pain: None,
        pull_felt: String::new(),
        warm_up: String::new(),
        notes: String::new(),
        rounds: Vec::new(),
        drill: None,
    }
}
