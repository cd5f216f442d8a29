//! A data set that may be passed on: what tells who somebody is, and when they came, is taken out.
//!
//! Nothing is copied. Every run is read, and written anew from what is known to be harmless: samples, marks, how it was
//! done. So a file, column or key that nobody thought of doesn't come along. The new folder is there whole or not at
//! all.

mod days;
mod labels;
mod people;
mod strip;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use sensor::bids::{
    DataSet, FindError, RunFiles, WriteError, create, read_run, search, session_of, write_run,
};
use thiserror::Error;

use labels::Labels;

pub use days::{SHIFT_DAYS_LEAST, SHIFT_DAYS_SPAN};

/// What becomes of dates.
#[derive(Clone, Copy)]
pub enum Dates<'a> {
    /// Moved by a number of days that is one client's own, to 1925 or before: times between visits stay as they were.
    /// Asked once with each client's label, it gives any number; that is the secret, and is kept nowhere here.
    Shifted(&'a dyn Fn(&str) -> io::Result<u32>),
    /// The year alone; clients get new labels.
    Year,
    /// None at all; clients get new labels.
    Left,
}

impl std::fmt::Debug for Dates<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Shifted(_) => "Shifted",
            Self::Year => "Year",
            Self::Left => "Left",
        })
    }
}

/// What is to be shared.
#[derive(Clone, Debug)]
pub struct Share<'a> {
    /// Labels of clients, without `sub-`; all if empty.
    pub clients: &'a [String],
    /// What becomes of dates.
    pub dates: Dates<'a>,
}

/// Something that was taken out or changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Removed {
    /// Dates were moved.
    DatesShifted,
    /// Of dates the year is left.
    DatesToYear,
    /// Dates were left out.
    DatesLeft,
    /// Clients have other labels.
    ClientLabels,
    /// Visits have other labels, for theirs might hold a date.
    VisitLabels,
    /// Labels of acquisitions were replaced.
    AcquisitionLabels,
    /// Ages above 89 are 89.
    AgesCapped,
    /// Columns of the table of people were left out.
    PeopleColumns,
    /// Serial numbers of sensors were replaced.
    Serials,
    /// Codes of those who measured were replaced.
    Raters,
    /// Remarks were left out.
    Notes,
    /// Words of one's own for how raises were done were left out.
    Conditions,
    /// Names of sensors that name no placement were replaced.
    SensorNames,
    /// Readings of sensors' own clocks were left out.
    DeviceClocks,
    /// Recordings that name no client were left out.
    Nameless,
}

impl Removed {
    /// In words.
    pub const fn as_sentence(self) -> &'static str {
        match self {
            Self::DatesShifted => {
                "dates: moved by a number of days of each client's own, to 1925 or before; times between visits are kept"
            }
            Self::DatesToYear => "dates: only the year is left",
            Self::DatesLeft => "dates: left out",
            Self::ClientLabels => "labels of clients: replaced",
            Self::VisitLabels => "labels of visits that might hold a date: replaced by numbers",
            Self::AcquisitionLabels => "acquisition labels: replaced",
            Self::AgesCapped => "ages above 89: given as 89",
            Self::PeopleColumns => {
                "columns of participants.tsv other than age, sex and handedness: left out"
            }
            Self::Serials => "serial numbers of sensors: replaced by pseudonyms of this set",
            Self::Raters => "codes of those who measured: replaced by pseudonyms of this set",
            Self::Notes => "remarks: left out",
            Self::Conditions => "conditions in words of one's own: left out",
            Self::SensorNames => "names of sensors that are no placement: replaced",
            Self::DeviceClocks => {
                "readings of sensors' own clocks, which might be calendar time: left out"
            }
            Self::Nameless => "recordings that name no client: left out",
        }
    }
}

/// Always left out, for nothing is copied.
pub const ALWAYS_LEFT_OUT: &str = "all other files and keys: results, side files, read-me, authors, institution, anything that isn't a raise or a \
     flat recording";

/// What was shared.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Shared {
    /// How many clients.
    pub client_count: usize,
    /// How many recordings.
    pub run_count: usize,
    /// What was taken out or changed.
    pub removed: BTreeSet<Removed>,
    /// Recordings that couldn't be read and so aren't there, a sentence each.
    pub unread: Vec<String>,
}

/// Why nothing was shared.
#[derive(Debug, Error)]
pub enum ShareError {
    /// Nothing to share.
    #[error(transparent)]
    Find(#[from] FindError),
    /// It can't be written.
    #[error(transparent)]
    Write(#[from] WriteError),
    /// The new folder, or the place where it is made, isn't free.
    #[error("{}: there already, expected a new folder; name another one, or remove it", .0.display())]
    Occupied(PathBuf),
    /// The new folder would lie inside the data.
    #[error("{}: inside the data it is made from; name a folder elsewhere", .0.display())]
    Inside(PathBuf),
    /// A client that isn't there.
    #[error(
        "sub-{0}: no recordings, expected a client of the data; see them with `legraise replay`"
    )]
    NoClient(String),
    /// There is no secret number for a client.
    #[error("random numbers: {0}; try again, or leave dates out")]
    Secret(io::Error),
    /// The system refused.
    #[error("{}: {source}; check the path and that it may be read and written", path.display())]
    Io {
        /// Where.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
}

/// Makes a data set to pass on from the one at `from`, in the new folder `to`.
pub fn share(from: &Path, to: &Path, wanted: &Share<'_>) -> Result<Shared, ShareError> {
    let part = part_of(from, to)?;
    let runs = runs(from, wanted.clients)?;
    let made = write(from, &part, &runs, wanted).and_then(|shared| {
        // Only this program looks for the lock, and only while it writes.
        let lock = part.join(".legraise.lock");
        match fs::remove_file(&lock) {
            Err(e) if e.kind() != io::ErrorKind::NotFound => return Err(io_at(&lock)(e)),
            _ => {}
        }
        fs::rename(&part, to).map_err(io_at(to))?;
        Ok(shared)
    });
    if made.is_err() {
        // Nothing half made stays; that it can't be removed is no news beside the error itself.
        drop(fs::remove_dir_all(&part));
    }
    made
}

fn io_at(path: &Path) -> impl FnOnce(io::Error) -> ShareError + '_ {
    move |source| ShareError::Io {
        path: path.to_owned(),
        source,
    }
}

/// Where the new folder is made before it gets its name.
fn part_of(from: &Path, to: &Path) -> Result<PathBuf, ShareError> {
    let name = to
        .file_name()
        .ok_or_else(|| ShareError::Occupied(to.to_owned()))?;
    let is_empty = |folder: &Path| fs::read_dir(folder).is_ok_and(|mut all| all.next().is_none());
    if to.exists() {
        if !is_empty(to) {
            return Err(ShareError::Occupied(to.to_owned()));
        }
        fs::remove_dir(to).map_err(io_at(to))?;
    }
    let parent = match to.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    fs::create_dir_all(parent).map_err(io_at(parent))?;
    let real = |path: &Path| fs::canonicalize(path).map_err(io_at(path));
    if from.exists() && real(parent)?.starts_with(real(from)?) {
        return Err(ShareError::Inside(to.to_owned()));
    }
    let part = parent.join(format!(".{}.part", name.to_string_lossy()));
    if part.exists() {
        return Err(ShareError::Occupied(part));
    }
    Ok(part)
}

/// The runs wanted with the flat recordings of their visits, in order; runs without a client apart.
fn runs(from: &Path, clients: &[String]) -> Result<Vec<RunFiles>, ShareError> {
    let mut all: BTreeMap<(PathBuf, sensor::RecordingId), RunFiles> = BTreeMap::new();
    for run in search(from)?.runs {
        for flat in session_of(&run).flats {
            all.insert((flat.folder.clone(), flat.id.clone()), flat);
        }
        all.insert((run.folder.clone(), run.id.clone()), run);
    }
    let of = |run: &RunFiles, client: &String| run.id.subject.as_ref() == Some(client);
    for client in clients {
        if !all.values().any(|run| of(run, client)) {
            return Err(ShareError::NoClient(client.clone()));
        }
    }
    let is_wanted =
        |run: &RunFiles| clients.is_empty() || clients.iter().any(|client| of(run, client));
    Ok(all.into_values().filter(is_wanted).collect())
}

fn write(
    from: &Path,
    to: &Path,
    runs: &[RunFiles],
    wanted: &Share<'_>,
) -> Result<Shared, ShareError> {
    let mut shared = Shared::default();
    let mut labels = Labels::of(runs, wanted.dates)?;
    create(to, &data_set(wanted.dates))?;
    let mut clients: BTreeMap<String, String> = BTreeMap::new();
    for files in runs {
        if files.id.subject.is_none() {
            shared.removed.insert(Removed::Nameless);
            continue;
        }
        let read = match read_run(files) {
            Ok(read) => read,
            Err(e) => {
                shared.unread.push(e.to_string());
                continue;
            }
        };
        shared
            .unread
            .extend(read.unreadable.iter().map(ToString::to_string));
        let client = files.id.subject.clone().unwrap_or_default();
        let run = strip::run(
            read.run,
            &client,
            wanted.dates,
            &mut labels,
            &mut shared.removed,
        );
        let label = run.id.subject.clone().unwrap_or_default();
        write_run(to, &run)?;
        clients.insert(client, label);
        shared.run_count += 1;
    }
    shared.client_count = clients.len();
    let roots: BTreeSet<&Path> = runs.iter().filter_map(|run| run.root.as_deref()).collect();
    let roots = if roots.is_empty() {
        BTreeSet::from([from])
    } else {
        roots
    };
    for root in roots {
        people::carry(root, to, &clients, &mut shared.removed)?;
    }
    Ok(shared)
}

fn data_set(dates: Dates<'_>) -> DataSet {
    let when = match dates {
        Dates::Shifted(_) => Removed::DatesShifted,
        Dates::Year => Removed::DatesToYear,
        Dates::Left => Removed::DatesLeft,
    };
    DataSet {
        name: "Leg raises, made for sharing".to_owned(),
        license: "as agreed with who shared it".to_owned(),
        readme: format!(
            "Straight leg raises, measured with motion sensors; made for sharing by the program legraise.\n\
             What could tell who somebody is was taken out: {}; serial numbers and codes are pseudonyms of this set; \
             ages above 89 are given as 89; remarks and all other files were left out.",
            when.as_sentence()
        ),
        participants: people::columns(),
        ..DataSet::default()
    }
}
