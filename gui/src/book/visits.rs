//! Visits that begin: their label, and what is known of them at first.

use std::collections::BTreeSet;

use casebook::record::Visit;
use casebook::store::Store;
use jiff::civil::Date;

use super::data_folder;
use crate::error::CommandError;

/// A visit at which nothing has been asked yet.
pub(crate) fn empty_visit(session: String, date: Date) -> Visit {
    Visit {
        session,
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

/// The number after the highest one in the casebook and on disk, two digits.
pub(crate) fn next_label(store: &Store, code: &str) -> Result<String, CommandError> {
    let mut labels: BTreeSet<String> = store.sessions(code)?.into_iter().collect();
    if let Ok(root) = data_folder(store, None) {
        let on_disk = sensor::bids::recordings_of(&root, code);
        labels.extend(on_disk.into_iter().filter_map(|id| id.session));
    }
    let numbers = labels.iter().filter_map(|label| label.parse::<u64>().ok());
    let next = numbers.max().map_or(1, |n| n.saturating_add(1));
    Ok(format!("{next:02}"))
}
