//! `legraise book`: the casebook as a whole.

use std::io::Write;
use std::path::Path;

use casebook::store::{Setting, Store};
use serde_json::json;

use super::settings;
use crate::args::{BookArgs, BookCommand, BookFile};
use crate::book::{self, json, new_passphrase, passphrase};
use crate::error::{CommandError, Exit};

/// Carries out one of its commands.
pub(crate) fn run(
    args: &BookArgs,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<Exit, CommandError> {
    let file = &args.file;
    match &args.command {
        BookCommand::Make { data } => make(file, data.as_deref(), out)?,
        BookCommand::Check => {
            let store = book::open(file, err)?;
            store.check()?;
            say(out, &store, "every page and row is sound")?;
        }
        BookCommand::Backup { to } => {
            let store = book::open(file, err)?;
            store.back_up(to)?;
            let to = to.display();
            writeln!(
                out,
                "{to}: a checked copy, under the casebook's passphrase. Keep it apart from this computer; who is forgotten \
                 here stays in it"
            )
            .map_err(CommandError::Output)?;
        }
        BookCommand::Restore { from, yes } => put_back(file, from, *yes, out)?,
        BookCommand::Due { json } => due(file, *json, out, err)?,
        BookCommand::Passphrase {
            new_passphrase_file,
        } => {
            let mut store = book::open(file, err)?;
            store.set_passphrase(&new_passphrase(new_passphrase_file.as_deref(), true)?)?;
            say(
                out,
                &store,
                "encrypted under the new passphrase; backups keep the former one",
            )?;
        }
        BookCommand::Settings {
            data,
            drills,
            months,
            because,
            json,
        } => {
            let store = book::open(file, err)?;
            let folder = |path: &Option<std::path::PathBuf>| {
                path.as_deref()
                    .map(|path| book::whole(path).display().to_string())
            };
            let wanted = [
                (Setting::DataFolder, folder(data)),
                (Setting::DrillsFolder, folder(drills)),
                (Setting::RetentionMonths, months.map(|n| n.to_string())),
            ];
            settings::set(&store, wanted, because)?;
            settings::show(&store, *json, out)?;
        }
    }
    Ok(Exit::Done)
}

fn say(out: &mut dyn Write, store: &Store, what: &str) -> Result<(), CommandError> {
    writeln!(out, "{}: {what}", store.path().display()).map_err(CommandError::Output)
}

fn make(file: &BookFile, data: Option<&Path>, out: &mut dyn Write) -> Result<(), CommandError> {
    let path = book::path(file)?;
    let words = new_passphrase(file.passphrase_file.as_deref(), false)?;
    let store = Store::create(&path, &words)?;
    if let Some(data) = data {
        let folder = book::whole(data).display().to_string();
        store.set_setting(Setting::DataFolder, &folder, book::why(""))?;
    }
    say(
        out,
        &store,
        "made. Without its passphrase nobody can read it, you neither: keep that in a second place, and back the casebook \
         up with `legraise book backup`",
    )
}

fn put_back(
    file: &BookFile,
    from: &Path,
    yes: bool,
    out: &mut dyn Write,
) -> Result<(), CommandError> {
    let path = book::path(file)?;
    let what = format!(
        "{}: {} would take its place",
        path.display(),
        from.display()
    );
    book::confirmed(yes, &what)?;
    let aside = book::put_back(from, &path, &passphrase(file)?)?;
    let kept = aside.map_or_else(String::new, |aside| {
        format!("; the former casebook is {}", aside.display())
    });
    writeln!(out, "{}: restored{kept}", path.display()).map_err(CommandError::Output)
}

fn due(
    file: &BookFile,
    is_json: bool,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<(), CommandError> {
    let store = book::open(file, err)?;
    let months = store.setting(Setting::RetentionMonths)?;
    let due = store.due(book::today())?;
    if is_json {
        let clients: Vec<_> = due
            .iter()
            .map(|due| {
                json!({
                    "code": due.code,
                    "name": due.name,
                    "latest": due.latest.to_string(),
                    "is_withdrawn": due.is_withdrawn,
                })
            })
            .collect();
        let months = months.and_then(|text| text.parse::<u32>().ok());
        return json::write(
            out,
            &json!({"schema": "legraise/due/1", "months": months, "clients": clients}),
        );
    }
    let mut text = String::new();
    for due in &due {
        let why = if due.is_withdrawn {
            ", consent taken back"
        } else {
            ""
        };
        let (code, latest, name) = (&due.code, due.latest, &due.name);
        text += &[
            code,
            "  last here ",
            &latest.to_string(),
            "  ",
            name,
            why,
            "\n",
        ]
        .concat();
    }
    text.push_str(match (&months, due.is_empty()) {
        (None, _) => {
            "no time is set after which clients are due: `legraise book settings --months N`\n"
        }
        (Some(_), true) => "nobody is due\n",
        (Some(_), false) => "nothing was erased: `legraise client forget CODE --yes` does\n",
    });
    out.write_all(text.as_bytes()).map_err(CommandError::Output)
}
