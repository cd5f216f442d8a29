//! `legraise simulate`: an invented data set, written, read back, analysed, with its results.

use std::fs;
use std::io::{self, Write};
use std::path::Path;

use fusion::Settings;
use sensor::bids::{
    Column, DataSet, Derivative, create, create_derivative, set_participant, write_run,
};
use sensor::synthetic::{Demo, demo};

use super::replay::{exit_of, messages};
use super::tell;
use crate::analyse::analyse;
use crate::args::SimulateArgs;
use crate::error::{CommandError, Exit};
use crate::results::write_results;
use crate::source::find;

const LICENSE: &str = "CC0";
const README: &str = "\
Straight leg raises of four invented people over some weeks, made by the program legraise (legraise simulate).
Nobody in it is real: bodies, sensors and their faults are computed, and the same version of the program gives the
same files. marbul is stiff, tessok in the middle, olivan very mobile, and kerudo's other leg gives way. Some
recordings have faults on purpose: lost samples, a gap at the top, a repeated first sample, no flat recording.";

/// Writes the demo data set and its results.
pub(crate) fn run(
    args: &SimulateArgs,
    out: &mut dyn Write,
    err: &mut dyn Write,
    is_watched: bool,
) -> Result<Exit, CommandError> {
    let root = &args.folder;
    if !is_free(root).map_err(|source| CommandError::Folder {
        path: root.clone(),
        source,
    })? {
        return Err(CommandError::Occupied(root.clone()));
    }
    let demo = demo();
    write_recordings(root, &demo)?;
    let sources = find(std::slice::from_ref(root));
    tell(err, &sources.messages);
    let settings = Settings::default();
    let outcomes = analyse(&sources.runs, &settings, None, is_watched && !args.quiet)?;
    let results = root.join("derivatives").join("legraise");
    create_derivative(&results, &derivative())?;
    write_results(&results, &outcomes, &settings)?;
    // The faults are there on purpose: oddities are no news, errors are.
    tell(err, messages(&outcomes, true));
    if !args.quiet {
        let raises: usize = outcomes.iter().map(|outcome| outcome.raises.len()).sum();
        let (runs, people) = (outcomes.len(), demo.people.len());
        writeln!(
            out,
            "{}: {people} invented people, {runs} runs, {raises} raises, all computed",
            root.display()
        )
        .and_then(|()| writeln!(out, "see them with `legraise replay {}`", root.display()))
        .map_err(CommandError::Output)?;
    }
    Ok(sources.exit.max(exit_of(&outcomes)))
}

/// Whether a folder is new or empty.
pub(crate) fn is_free(folder: &Path) -> io::Result<bool> {
    match fs::read_dir(folder) {
        Ok(mut entries) => Ok(entries.next().is_none()),
        Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(true),
        Err(e) => Err(e),
    }
}

/// Both the recordings and the results say who made them.
fn authors() -> Vec<String> {
    vec![
        "legraise demo scenario".to_owned(),
        "legraise simulator".to_owned(),
    ]
}

fn write_recordings(root: &Path, demo: &Demo) -> Result<(), CommandError> {
    let set = DataSet {
        name: "Leg raises of invented people".to_owned(),
        authors: authors(),
        license: LICENSE.to_owned(),
        readme: README.to_owned(),
        participants: vec![
            Column::new("age", "Age at the first visit").in_units("year"),
            Column::new("sex", "Sex").of_words(&[("F", "female"), ("M", "male")]),
            Column::new("height", "Stature").in_units("cm"),
        ],
    };
    create(root, &set)?;
    for visit in &demo.visits {
        let raises = visit.raises.iter().map(|simulated| &simulated.run);
        for run in visit.flat.iter().chain(raises) {
            write_run(root, run)?;
        }
    }
    for person in &demo.people {
        let (age, height) = (person.age_years.to_string(), person.height_cm.to_string());
        set_participant(
            root,
            &person.label,
            &[("age", &age), ("sex", person.sex), ("height", &height)],
        )?;
    }
    Ok(())
}

fn derivative() -> Derivative {
    Derivative {
        name: "Leg raise angles of invented people".to_owned(),
        authors: authors(),
        license: LICENSE.to_owned(),
        ..Derivative::default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_new_or_empty_folder_is_free() {
        let folder = tempfile::tempdir().unwrap();
        assert!(is_free(folder.path()).unwrap());
        assert!(is_free(&folder.path().join("new")).unwrap());
        fs::write(folder.path().join("file"), "x").unwrap();
        assert!(!is_free(folder.path()).unwrap());
        assert!(is_free(&folder.path().join("file")).is_err());
    }
}
