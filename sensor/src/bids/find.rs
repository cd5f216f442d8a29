//! Which recordings lie under a path.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io;
use std::path::{Component, Path, PathBuf};

use super::error::FindError;
use super::name::{Name, run_order};
use super::problem::{Problem, ProblemKind};
use crate::RecordingId;

/// The files of one run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RunFiles {
    /// The run's name.
    pub id: RecordingId,
    /// The folder the files lie in.
    pub folder: PathBuf,
    /// One a tracking system, ordered by name.
    pub motions: Vec<PathBuf>,
    /// The marks.
    pub events: Option<PathBuf>,
    /// The data set: the nearest folder above with a `dataset_description.json`.
    pub root: Option<PathBuf>,
}

impl RunFiles {
    /// The files of one run in a folder.
    pub(crate) fn of(folder: &Path, id: &RecordingId) -> Option<Self> {
        runs_in(folder).into_iter().find(|run| run.id == *id)
    }

    /// The files of one run of a data set.
    pub fn in_set(root: &Path, id: &RecordingId) -> Option<Self> {
        let folder = super::write::motion_folder(root, id);
        let mut files = Self::of(&absolute(&folder).ok()?, id)?;
        files.root = root_of(&files.folder);
        Some(files)
    }

    /// The folder as seen from the data set, with `/` between its parts; the folder's own name without one.
    pub fn place(&self) -> String {
        let inside = self
            .root
            .as_deref()
            .and_then(|root| self.folder.strip_prefix(root).ok());
        let inside = inside.map_or_else(
            || self.folder.file_name().map(PathBuf::from),
            |p| Some(p.to_owned()),
        );
        let parts: Vec<_> = inside
            .iter()
            .flat_map(|p| p.iter())
            .map(|p| p.to_string_lossy())
            .collect();
        parts.join("/")
    }
}

/// The other recordings of a session that the analysis of one run needs.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SessionFiles {
    /// Recordings of units lying flat.
    pub flats: Vec<RunFiles>,
    /// Leg-raise runs recorded before this one, in order.
    pub earlier: Vec<RunFiles>,
}

/// What a search gave.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Found {
    /// Sorted by subject, session and run.
    pub runs: Vec<RunFiles>,
    /// Folders that couldn't be looked into.
    pub problems: Vec<Problem>,
}

/// The task whose runs are found below a folder.
const TASK: &str = "legraise";
/// A data set is four folders deep; this allows for a shelf of data sets.
const DEPTH_MAX: usize = 16;
/// Folders of a data set that hold no recordings of its own.
const NOT_SEARCHED: [&str; 6] = [
    "derivatives",
    "sourcedata",
    "code",
    "stimuli",
    "phenotype",
    "docs",
];

/// Lists the runs under a path. A file of a run names the whole run, whatever its task; a file whose name
/// isn't the standard's is a run alone. Below a folder only `task-legraise` runs count.
pub fn find_runs(path: &Path) -> Result<Vec<RunFiles>, FindError> {
    search(path).map(|found| found.runs)
}

/// As [`find_runs`], with the folders that couldn't be looked into; what lies elsewhere is found all the same.
pub fn search(path: &Path) -> Result<Found, FindError> {
    let io = |source: io::Error| FindError::Io {
        path: path.to_owned(),
        source,
    };
    let meta = match fs::metadata(path) {
        Ok(meta) => meta,
        Err(e)
            if matches!(
                e.kind(),
                io::ErrorKind::NotFound | io::ErrorKind::NotADirectory
            ) =>
        {
            return Err(FindError::Missing {
                path: path.to_owned(),
            });
        }
        Err(e) => return Err(io(e)),
    };
    let whole = absolute(path).map_err(io)?;
    let mut found = Found::default();
    if meta.is_dir() {
        let canonical = fs::canonicalize(&whole).map_err(io)?;
        fs::read_dir(&whole).map_err(io)?;
        let mut walk = Walk {
            visited: BTreeSet::from([canonical.clone()]),
            ..Walk::default()
        };
        walk.folder(&whole, &canonical, 0);
        found.problems = walk.problems;
        for folder in walk.folders {
            found.runs.extend(
                runs_in(&folder)
                    .into_iter()
                    .filter(|run| run.id.task == TASK),
            );
        }
    } else {
        found.runs.extend(run_of_file(&whole));
    }
    if found.runs.is_empty() {
        // What couldn't be looked into may be where they are.
        return Err(match found.problems.into_iter().next() {
            Some(problem) => FindError::Io {
                path: problem.place.path,
                source: io::Error::other(problem.kind.to_string()),
            },
            None => FindError::NothingHere {
                path: path.to_owned(),
            },
        });
    }
    sort(&mut found.runs);
    Ok(found)
}

/// The other recordings of the same session, always from disk: flat ones, and leg-raise runs of a smaller
/// run label. None for a file alone.
pub fn session_of(files: &RunFiles) -> SessionFiles {
    let mut session = SessionFiles::default();
    if files.id.subject.is_none() {
        return session;
    }
    for run in runs_in(&files.folder) {
        let is_same_session =
            run.id.subject == files.id.subject && run.id.session == files.id.session;
        if !is_same_session || run.id == files.id {
            continue;
        }
        if run.id.task == "flat" {
            session.flats.push(run);
        } else if run.id.task == TASK
            && run_order(run.id.run.as_deref(), files.id.run.as_deref()).is_lt()
        {
            session.earlier.push(run);
        }
    }
    sort(&mut session.flats);
    sort(&mut session.earlier);
    session
}

/// The first run number that no recording of the visit and task has, two digits.
pub fn free_run_label(root: &Path, id: &RecordingId) -> String {
    let folder = super::write::motion_folder(root, id);
    let highest = runs_in(&folder)
        .into_iter()
        .filter(|run| {
            run.id.task == id.task && run.id.subject == id.subject && run.id.session == id.session
        })
        .filter_map(|run| run.id.run?.parse::<u32>().ok())
        .max();
    format!("{:02}", highest.map_or(1, |n| n.saturating_add(1)))
}

fn sort(runs: &mut [RunFiles]) {
    runs.sort_by(|a, b| {
        let outer = (&a.id.subject, &a.id.session).cmp(&(&b.id.subject, &b.id.session));
        outer
            .then_with(|| run_order(a.id.run.as_deref(), b.id.run.as_deref()))
            .then_with(|| a.id.cmp(&b.id))
            .then_with(|| a.folder.cmp(&b.folder))
    });
}

/// The path from the root of the file system. Only a path with `..` is resolved: resolving links would
/// take a linked file away from its side files.
pub(crate) fn absolute(path: &Path) -> io::Result<PathBuf> {
    if path.components().any(|c| c == Component::ParentDir) {
        return match (path.parent(), path.file_name()) {
            (Some(parent), Some(name)) if !parent.as_os_str().is_empty() => {
                Ok(fs::canonicalize(parent)?.join(name))
            }
            _ => fs::canonicalize(path),
        };
    }
    // Without a trailing `.` or `/`, which would hide the last folder's name.
    Ok(std::path::absolute(path)?.components().collect())
}

/// The nearest folder at or above this one that describes a data set.
pub(crate) fn root_of(folder: &Path) -> Option<PathBuf> {
    folder
        .ancestors()
        .find(|f| f.join("dataset_description.json").is_file())
        .map(Path::to_owned)
}

/// Whether a file's name says that it holds samples.
fn is_motion(name: &Name) -> bool {
    name.suffix == "motion" && matches!(name.extension.as_str(), "tsv" | "tsv.gz")
}

/// All runs, of any task, whose files lie in one folder.
pub(super) fn runs_in(folder: &Path) -> Vec<RunFiles> {
    let Ok(entries) = fs::read_dir(folder) else {
        return Vec::new();
    };
    let names: BTreeMap<String, Name> = entries
        .flatten()
        .filter_map(|entry| entry.file_name().into_string().ok())
        .filter_map(|text| Name::parse(&text).map(|name| (text, name)))
        .collect();
    let mut runs: BTreeMap<RecordingId, RunFiles> = BTreeMap::new();
    let mut root = None;
    for (text, name) in names.iter().filter(|(_, name)| is_motion(name)) {
        let Some(id) = name.recording() else { continue };
        if name.extension == "tsv.gz" && names.contains_key(text.trim_end_matches(".gz")) {
            continue;
        }
        let root = root.get_or_insert_with(|| root_of(folder));
        let run = runs.entry(id.clone()).or_insert_with(|| RunFiles {
            id,
            folder: folder.to_owned(),
            motions: Vec::new(),
            events: None,
            root: root.clone(),
        });
        run.motions.push(folder.join(text));
    }
    // The run's own events come before those named after one sensor.
    let mut events: Vec<(&String, &Name)> = names
        .iter()
        .filter(|(_, n)| n.suffix == "events" && n.extension == "tsv")
        .collect();
    events.sort_by_key(|(text, name)| (name.tracksys.is_some(), *text));
    for (text, name) in events {
        if let Some(run) = name.recording().and_then(|id| runs.get_mut(&id)) {
            run.events.get_or_insert_with(|| folder.join(text));
        }
    }
    runs.into_values().collect()
}

/// The run that a file belongs to, or the file alone.
fn run_of_file(path: &Path) -> Option<RunFiles> {
    let text = path.file_name()?.to_str()?;
    let folder = path.parent()?;
    if let Some(id) = Name::parse(text).and_then(|name| name.recording()) {
        return RunFiles::of(folder, &id);
    }
    // A side file of no run, or a table of the data set, is no recording.
    let stem = lone_stem(text)?;
    Some(RunFiles {
        id: RecordingId {
            task: stem.to_owned(),
            ..RecordingId::default()
        },
        folder: folder.to_owned(),
        motions: vec![path.to_owned()],
        events: Some(folder.join(format!("{stem}_events.tsv"))).filter(|p| p.is_file()),
        root: root_of(folder),
    })
}

/// What a file of samples outside the standard's grammar is called, without suffix and ending.
pub(crate) fn lone_stem(file_name: &str) -> Option<&str> {
    let lower = file_name.to_ascii_lowercase();
    let end = [".tsv.gz", ".tsv", ".csv", ".txt"]
        .into_iter()
        .find(|end| lower.ends_with(end))?;
    let stem = file_name.get(..file_name.len() - end.len())?;
    let is_other = ["_channels", "_events", "_scans", "_sessions"]
        .iter()
        .any(|s| stem.ends_with(s));
    if is_other || stem == "participants" || stem.is_empty() {
        return None;
    }
    Some(
        stem.strip_suffix("_motion")
            .filter(|s| !s.is_empty())
            .unwrap_or(stem),
    )
}

/// A walk down folders that goes nowhere twice.
#[derive(Default)]
struct Walk {
    visited: BTreeSet<PathBuf>,
    folders: Vec<PathBuf>,
    problems: Vec<Problem>,
}

impl Walk {
    /// Takes note of a folder and goes into those below. `canonical` is the same folder without links.
    fn folder(&mut self, path: &Path, canonical: &Path, depth: usize) {
        let entries = match fs::read_dir(path) {
            Ok(entries) => entries,
            Err(e) => {
                let kind = ProblemKind::Unreadable {
                    what: e.to_string(),
                };
                self.problems.push(Problem::of(path, kind));
                return;
            }
        };
        let mut below = Vec::new();
        let mut has_motion = false;
        for entry in entries.flatten() {
            let name = entry.file_name();
            let text = name.to_string_lossy();
            let Ok(kind) = entry.file_type() else {
                continue;
            };
            has_motion |= text.ends_with("_motion.tsv") || text.ends_with("_motion.tsv.gz");
            if text.starts_with('.') || NOT_SEARCHED.contains(&text.as_ref()) {
                continue;
            }
            if kind.is_dir() {
                below.push((name.clone(), canonical.join(&name)));
            } else if kind.is_symlink()
                && let Ok(target) = fs::canonicalize(entry.path())
                && target.is_dir()
            {
                below.push((name, target));
            }
        }
        if has_motion {
            self.folders.push(path.to_owned());
        }
        if depth == DEPTH_MAX {
            return;
        }
        below.sort();
        for (name, target) in below {
            if self.visited.insert(target.clone()) {
                self.folder(&path.join(name), &target, depth + 1);
            }
        }
    }
}
