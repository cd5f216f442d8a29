//! All that a report or a screen needs of one client, read at one moment.

use super::error::StoreError;
use super::{Store, bookkeeping, clients, rounds, visits};
use crate::record::{Account, KeptRound, Purpose, Visit};
use crate::repeatability::Repeatability;
use crate::way::Way;

/// The account of one client.
pub fn account(store: &Store, code: &str) -> Result<Account, StoreError> {
    store.read(|db| {
        let id = clients::id_of(db, code)?;
        let visits = visits::of_client(db, id, code)?;
        let rules = bookkeeping::rules(db)?;
        // How well people repeat is a matter of how the raises are done: as this client's latest round.
        let repeatability = match latest(&visits) {
            Some(round) => {
                let way = Way::of(&round.conditions);
                Repeatability::own(&rounds::done_so(db, &way)?, &way, &rules)
            }
            None => Repeatability::published(&rules),
        };
        Ok(Account {
            client: clients::client(db, code)?,
            plans: bookkeeping::plans(db, id)?,
            bands: bookkeeping::bands(db)?,
            visits,
            rules,
            repeatability,
        })
    })
}

/// The latest round before any drill, or the latest at all.
fn latest(visits: &[Visit]) -> Option<&KeptRound> {
    let all = || {
        visits
            .iter()
            .rev()
            .flat_map(|visit| visit.rounds.iter().rev())
    };
    let first = all().find(|round| round.purpose == Purpose::First);
    first.or_else(|| all().next())
}
