//! Everything about one client, in one folder and one step.

use std::fs;
use std::path::Path;

use casebook::export::csv::{self, Separator};
use casebook::report::{Ask, Audience, Language, html, page};
use casebook::store::{Store, account};
use sensor::bids::copy_person;
use serde_json::json;

use super::{BookFault, json, today};
use crate::commands::simulate::is_free;
use crate::error::CommandError;
use crate::output::program;
use crate::private_file::put;

const READ_ME: &str = "\
All that is kept of one client.

record.json      who the client is, every visit with its answers, raises and drills, what was changed and why
raises.csv       a line a raise: when, which leg, the angle with its uncertainty, why it ended
report.html      the same in words and curves, for a browser
recordings/      the recordings as a data set in the open standard BIDS-Motion (bids.neuroimaging.io)

Angles are in degrees; ± is the expanded uncertainty for 95 % coverage.
Shows and records the angle to which a straight leg is raised; it does not diagnose, predict, treat or decide.
";

/// Writes the folder; whether there were recordings. It is new or empty before.
pub(crate) fn give(
    store: &Store,
    code: &str,
    folder: &Path,
    root: &Path,
) -> Result<bool, CommandError> {
    let io = |path: &Path| {
        let path = path.to_owned();
        move |source| BookFault::Write { path, source }
    };
    if !is_free(folder).map_err(io(folder))? {
        return Err(CommandError::Occupied(folder.to_owned()));
    }
    let account = account(store, code)?;
    make_private(folder).map_err(io(folder))?;
    let mut record = json::record(&account);
    record["changes"] = json!(json::changes(&store.history(Some(code))?));
    let program = program();
    let ask = Ask {
        audience: Audience::File,
        language: Language::English,
        day: today(),
        program: &program,
        session: None,
        curves: &[],
    };
    let files = [
        ("README.txt", READ_ME.as_bytes().to_vec()),
        ("record.json", format!("{record:#}\n").into_bytes()),
        (
            "report.html",
            html::render(&page(&account, &ask)).into_bytes(),
        ),
        ("raises.csv", csv::raises(&account, None, Separator::Comma)?),
    ];
    for (name, bytes) in files {
        let path = folder.join(name);
        put(&path, &bytes).map_err(io(&path))?;
    }
    let has_recordings = root.join(format!("sub-{code}")).is_dir();
    if has_recordings {
        copy_person(root, code, &folder.join("recordings"))?;
    }
    Ok(has_recordings)
}

fn make_private(folder: &Path) -> std::io::Result<()> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder)
}
