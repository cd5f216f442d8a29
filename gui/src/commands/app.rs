//! `legraise app`: a whole data set analysed in the form that BIDS Apps have.

use std::collections::BTreeSet;
use std::fs;
use std::io::{self, Write};
use std::path::{Component, Path, PathBuf};

use fusion::Settings;
use sensor::bids::{Derivative, create_derivative};

use super::replay::{exit_of, messages};
use super::tell;
use crate::analyse::analyse;
use crate::args::{AppArgs, Level};
use crate::error::{CommandError, Exit};
use crate::results::{write_people, write_raise_tables};
use crate::source::find;

/// Works on participants, or on the group of those that are done.
pub(crate) fn run(args: &AppArgs, err: &mut dyn Write) -> Result<Exit, CommandError> {
    let there = match participants(&args.bids_dir) {
        Ok(there) => there,
        Err(source) if source.kind() == io::ErrorKind::NotFound => {
            let missing = find(std::slice::from_ref(&args.bids_dir));
            tell(err, &missing.messages);
            return Ok(missing.exit);
        }
        Err(source) => {
            let path = args.bids_dir.clone();
            return Err(CommandError::Folder { path, source });
        }
    };
    let (mut wanted, mut exit) = (there.clone(), Exit::Done);
    if !args.labels.is_empty() {
        let asked = args.labels.iter().map(|l| l.trim_start_matches("sub-"));
        let asked: BTreeSet<String> = asked.map(str::to_owned).collect();
        for unknown in asked.difference(&there) {
            exit = Exit::Incomplete;
            let place = args.bids_dir.display();
            tell(
                err,
                &[format!(
                    "{place}: no participant sub-{unknown}; see participants.tsv for those there are"
                )],
            );
        }
        wanted = asked.intersection(&there).cloned().collect();
    }
    if args.level == Level::Group {
        let is_done = |label: &String| args.output_dir.join(format!("sub-{label}")).is_dir();
        for missing in wanted.iter().filter(|label| !is_done(label)) {
            exit = Exit::Incomplete;
            let place = args.output_dir.display();
            tell(
                err,
                &[format!(
                    "{place}: no results of sub-{missing}; run the participant level for it first"
                )],
            );
        }
        wanted.retain(is_done);
    }
    let folders = wanted
        .iter()
        .map(|l| args.bids_dir.join(format!("sub-{l}")));
    let folders: Vec<PathBuf> = folders.collect();
    if folders.is_empty() {
        return Ok(exit.max(Exit::Incomplete));
    }
    Ok(exit.max(analysed(args, &folders, err)?))
}

fn analysed(
    args: &AppArgs,
    folders: &[PathBuf],
    err: &mut dyn Write,
) -> Result<Exit, CommandError> {
    let settings = Settings::default();
    let sources = find(folders);
    tell(err, &sources.messages);
    let outcomes = analyse(&sources.runs, &settings, args.cpu_count, false)?;
    tell(err, messages(&outcomes, false));
    let set = Derivative {
        raw: way(&args.output_dir, &args.bids_dir),
        ..Derivative::default()
    };
    create_derivative(&args.output_dir, &set)?;
    match args.level {
        Level::Participant => write_raise_tables(&args.output_dir, &outcomes, &settings)?,
        // Worked out from the recordings again: a mean's ± needs more than the tables hold.
        Level::Group => write_people(&args.output_dir, &outcomes, &settings)?,
    }
    Ok(sources.exit.max(exit_of(&outcomes)))
}

/// The labels of all participants of a data set.
fn participants(root: &Path) -> io::Result<BTreeSet<String>> {
    let mut labels = BTreeSet::new();
    for entry in fs::read_dir(root)? {
        let entry = entry?;
        let name = entry.file_name();
        let label = name.to_str().and_then(|name| name.strip_prefix("sub-"));
        if let Some(label) = label.filter(|_| entry.path().is_dir()) {
            labels.insert(label.to_owned());
        }
    }
    Ok(labels)
}

/// The way from one folder to another, so that results say where their recordings are and not on which computer.
fn way(from: &Path, to: &Path) -> String {
    let parts = |path: &Path| -> Vec<String> {
        let whole = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
        let named = whole.components().filter(|c| *c != Component::CurDir);
        named
            .map(|c| c.as_os_str().to_string_lossy().into_owned())
            .collect()
    };
    let (from, to) = (parts(from), parts(to));
    let shared = from.iter().zip(&to).take_while(|(a, b)| a == b).count();
    let up = std::iter::repeat_n("..", from.len() - shared);
    let way: Vec<&str> = up.chain(to[shared..].iter().map(String::as_str)).collect();
    if way.is_empty() {
        ".".to_owned()
    } else {
        way.join("/")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_way_goes_up_and_down() {
        for (from, to, expected) in [
            ("/d/derivatives/x", "/d", "../.."),
            ("/out", "/d/set", "../d/set"),
            ("/d", "/d", "."),
        ] {
            assert_eq!(way(Path::new(from), Path::new(to)), expected);
        }
    }
}
