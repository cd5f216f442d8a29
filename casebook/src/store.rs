//! The private casebook on disk: who the clients are, their visits, results, drills and plans, in one encrypted file.
//!
//! The file is an `SQLCipher` database: every page is encrypted and carries a check of its own, the key is derived from
//! the practitioner's passphrase; no cryptography here is ours (docs/decisions/012). Recordings stay outside, under
//! pseudonyms; what is kept of them here are results that can be worked out again.
//!
//! A change is whole or not there: every one is a transaction of the database, with a rollback journal and
//! `synchronous=EXTRA`, which is FULL and also syncs the folder after the journal is gone. Nothing here reads a clock:
//! whoever changes something says when and [`Why`].

mod account;
mod bookkeeping;
mod changes;
mod clients;
mod consent;
mod copies;
mod due;
mod error;
mod fold;
mod forget;
mod lock;
mod merge;
mod moves;
mod open;
mod passphrase;
mod raise_row;
mod rounds;
mod schema;
mod values;
mod visits;

#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_cut;
#[cfg(test)]
mod tests_file;
#[cfg(test)]
mod tests_kit;
#[cfg(test)]
mod tests_people;

use std::path::{Path, PathBuf};

use rusqlite::Connection;

pub use account::account;
pub use bookkeeping::Setting;
pub use changes::{Changed, Why};
pub use clients::{CODE_LETTERS, Listed};
pub use consent::{ConsentFault, may_record};
pub use copies::restore;
pub use due::Due;
pub use error::{StoreError, StoreErrorKind};
pub use moves::{Move, PendingMove};
pub use passphrase::Passphrase;
pub use schema::VERSION;

use error::{Inner, at};

/// An open casebook. Nobody else has it as long as this lives.
#[derive(Debug)]
pub struct Store {
    path: PathBuf,
    db: Connection,
    /// The one it was opened with, for backups.
    passphrase: Passphrase,
    // Let go after the database is closed: fields are dropped in order.
    _lock: lock::Lock,
}

impl Store {
    /// The file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Reads, or does something that is one transaction by itself.
    fn read<T>(&self, work: impl FnOnce(&Connection) -> Inner<T>) -> Result<T, StoreError> {
        work(&self.db).map_err(at(&self.path))
    }

    /// Makes several changes one: all of them or, where `work` fails, none.
    pub fn together<T>(
        &self,
        work: impl FnOnce(&Self) -> Result<T, StoreError>,
    ) -> Result<T, StoreError> {
        self.whole(|| work(self), at(&self.path))
    }

    /// Changes something, all of it or nothing.
    fn change<T>(&self, work: impl FnOnce(&Connection) -> Inner<T>) -> Result<T, StoreError> {
        let place = at(&self.path);
        self.whole(|| work(&self.db).map_err(&place), at(&self.path))
    }

    fn whole<T>(
        &self,
        work: impl FnOnce() -> Result<T, StoreError>,
        place: impl Fn(StoreErrorKind) -> StoreError,
    ) -> Result<T, StoreError> {
        let run = |sql| self.db.execute_batch(sql).map_err(|e| place(e.into()));
        // Begun for writing at once: what was read in it is still so when it is written. Within another change it is a
        // part of that one.
        let (begin, end, undo) = if self.db.is_autocommit() {
            ("BEGIN IMMEDIATE", "COMMIT", "ROLLBACK")
        } else {
            (
                "SAVEPOINT part",
                "RELEASE part",
                "ROLLBACK TO part; RELEASE part",
            )
        };
        run(begin)?;
        let done = work().and_then(|done| run(end).map(|()| done));
        // After some errors the database has rolled back by itself.
        if done.is_err() && !self.db.is_autocommit() {
            run(undo)?;
        }
        done
    }
}
