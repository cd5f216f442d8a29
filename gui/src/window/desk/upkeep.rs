//! What is asked of the casebook beside visits: what is kept of a client and where it goes, and the casebook's own care.

use std::path::{Path, PathBuf};

use casebook::Rules;
use casebook::store::{Changed, Due, Listed, Setting, Store};
use jiff::civil::Date;
use sensor::bids::recordings_of;

use super::{Answer, chosen};
use crate::args::DatesChoice;
use crate::book::{self, Forgotten, Moving};
use crate::error::CommandError;

/// What is asked.
#[derive(Debug)]
pub(in crate::window) enum Upkeep {
    /// What is kept of a client.
    Affairs(String),
    /// A recording goes to the right client, with the reason.
    MoveRun(Moving, String),
    /// The second client becomes part of the first, with the reason.
    Merge([String; 2], String),
    /// Everything about a client into a folder.
    Give(String, PathBuf),
    /// A client is erased.
    Forget(String),
    /// Recordings of a client that may be passed on.
    Share(String, PathBuf),
    /// How the casebook is kept.
    Shelf(Date),
    /// A copy of it.
    BackUp(PathBuf),
    /// A setting of the practitioner, with the reason.
    Set(Own, String, Date),
}

/// A setting of the practitioner.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::window) enum Own {
    /// Edges of the bands, degrees.
    Bands(Vec<f64>),
    /// A rule.
    Rule(&'static str, f64),
    /// How long clients are kept, months.
    Months(u32),
}

/// What is kept of a client.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::window) struct Known {
    pub(in crate::window) code: String,
    /// What was changed, when and why.
    pub(in crate::window) changes: Vec<Changed>,
    /// Recordings on disk.
    pub(in crate::window) recordings: usize,
    /// All other clients.
    pub(in crate::window) others: Vec<Listed>,
}

/// How the casebook is kept.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::window) struct Kept {
    /// Clients whose time is over.
    pub(in crate::window) due: Vec<Due>,
    /// How long clients are kept, months.
    pub(in crate::window) months: Option<u32>,
    pub(in crate::window) rules: Rules,
    /// What was changed of the practitioner's own settings.
    pub(in crate::window) changes: Vec<Changed>,
}

/// What was done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::window) enum Deed {
    /// A recording is called this now.
    Moved(String),
    /// A client is part of another, with so many recordings.
    Merged(String, usize),
    /// Everything lies in a folder, with recordings or without.
    Given(PathBuf, bool),
    /// A client is gone.
    Forgotten(String, Forgotten),
    /// So many recordings lie in a folder.
    Shared(PathBuf, usize),
    /// A copy lies there.
    BackedUp(PathBuf),
    /// A backup is in the casebook's place; the former one lies there.
    Restored(Option<PathBuf>),
    /// A setting is kept.
    Set,
}

/// Does it.
pub(super) fn upkeep(
    store: &Store,
    ask: Upkeep,
    told: &mut Vec<String>,
) -> Result<Answer, CommandError> {
    match ask {
        Upkeep::Affairs(code) => Ok(Answer {
            affairs: Some(known(store, &code)?),
            ..Answer::default()
        }),
        Upkeep::MoveRun(wanted, because) => {
            let root = book::data_folder(store, None)?;
            let now = book::move_recording(store, &root, &wanted, &because)?;
            book::finish_moves(store, &mut std::io::sink())?;
            client_after(store, &wanted.code, Deed::Moved(now.to_string()))
        }
        Upkeep::Merge([kept, former], because) => {
            let root = book::data_folder(store, None)?;
            let count = book::merge(store, [&kept, &former], &root, &because)?;
            book::finish_moves(store, &mut std::io::sink())?;
            client_after(store, &kept, Deed::Merged(former, count))
        }
        Upkeep::Give(code, folder) => {
            let root = book::data_folder(store, None)?;
            let has_recordings = book::give(store, &code, &folder, &root)?;
            Ok(done(Deed::Given(folder, has_recordings)))
        }
        Upkeep::Forget(code) => {
            let root = book::data_folder(store, None)?;
            let gone = book::forget(store, &code, &root)?;
            Ok(Answer {
                clients: Some(store.find("")?),
                ..done(Deed::Forgotten(code, gone))
            })
        }
        Upkeep::Share(code, to) => {
            folder_of(&to)?;
            let root = book::data_folder(store, None)?;
            let shared = crate::commands::share::of(&root, &to, &[code], DatesChoice::Shifted)?;
            told.extend(shared.unread);
            Ok(done(Deed::Shared(to, shared.run_count)))
        }
        Upkeep::Shelf(today) => shelf(store, today),
        Upkeep::BackUp(to) => {
            store.back_up(&to)?;
            Ok(done(Deed::BackedUp(to)))
        }
        Upkeep::Set(own, because, today) => {
            match own {
                Own::Bands(edges_deg) => book::set_bands(store, &edges_deg, &because)?,
                Own::Rule(key, value) => book::set_rule(store, key, value, &because)?,
                Own::Months(months) => {
                    let months = months.to_string();
                    store.set_setting(Setting::RetentionMonths, &months, book::why(&because))?;
                }
            }
            Ok(Answer {
                deed: Some(Deed::Set),
                ..shelf(store, today)?
            })
        }
    }
}

/// Makes the folder in which something is to lie.
pub(super) fn folder_of(path: &Path) -> Result<(), CommandError> {
    let Some(folder) = path.parent() else {
        return Ok(());
    };
    std::fs::create_dir_all(folder).map_err(|source| CommandError::Folder {
        path: folder.to_owned(),
        source,
    })
}

fn done(deed: Deed) -> Answer {
    Answer {
        deed: Some(deed),
        ..Answer::default()
    }
}

fn client_after(store: &Store, code: &str, deed: Deed) -> Result<Answer, CommandError> {
    Ok(Answer {
        clients: Some(store.find("")?),
        affairs: Some(known(store, code)?),
        deed: Some(deed),
        ..chosen(store, code, None)?
    })
}

fn known(store: &Store, code: &str) -> Result<Known, CommandError> {
    let root = book::data_folder(store, None)?;
    let mut others = store.find("")?;
    others.retain(|other| other.code != code);
    Ok(Known {
        code: code.to_owned(),
        changes: store.history(Some(code))?,
        recordings: recordings_of(&root, code).len(),
        others,
    })
}

fn shelf(store: &Store, today: Date) -> Result<Answer, CommandError> {
    let months = store.setting(Setting::RetentionMonths)?;
    let kept = Kept {
        due: store.due(today)?,
        months: months.and_then(|text| text.parse().ok()),
        rules: store.rules()?,
        changes: store.history(None)?,
    };
    Ok(Answer {
        shelf: Some(kept),
        bands: Some(store.bands()?),
        ..Answer::default()
    })
}
