//! `legraise client give`: everything about one client, in one folder and one step.

use std::fs;
use std::io::Write;
use std::path::Path;

use casebook::record::Account;
use casebook::store::{Store, account};
use fusion::Raise;
use sensor::bids::copy_person;
use serde_json::{Value, json};

use super::changes;
use crate::book::{self, BookFault, json};
use crate::commands::simulate::is_free;
use crate::error::CommandError;
use crate::output::rounded;

const READ_ME: &str = "\
All that is kept of one client.

record.json      who the client is, every visit with its answers, raises and drills, what was changed and why
raises.csv       a line a raise: when, which leg, the angle with its uncertainty, why it ended
recordings/      the recordings as a data set in the open standard BIDS-Motion (bids.neuroimaging.io)

Angles are in degrees; ± is the expanded uncertainty for 95 % coverage.
Shows and records the angle to which a straight leg is raised; it does not diagnose, predict, treat or decide.
";

/// The record of one client as JSON: `legraise client show --json` prints the same.
pub(super) fn record(account: &Account) -> Value {
    let plan = |(side, plan): &(sensor::Side, casebook::course::Plan)| {
        json!({
            "side": side.as_str(),
            "band": plan.band + 1,
            "label": account.bands.label(plan.band),
            "since": plan.since.map(|date| date.to_string()),
        })
    };
    json!({
        "schema": "legraise/record/1",
        "client": json::client(&account.client),
        "plans": account.plans.iter().map(plan).collect::<Vec<_>>(),
        "visits": account.visits.iter().map(json::visit).collect::<Vec<_>>(),
    })
}

/// Writes the folder.
pub(super) fn run(
    store: &Store,
    client: &str,
    folder: &Path,
    data: Option<&Path>,
    out: &mut dyn Write,
) -> Result<(), CommandError> {
    let code = store.code_of(client)?;
    let io = |path: &Path| {
        let path = path.to_owned();
        move |source| BookFault::Write { path, source }
    };
    if !is_free(folder).map_err(io(folder))? {
        return Err(CommandError::Occupied(folder.to_owned()));
    }
    let account = account(store, &code)?;
    let root = book::data_folder(store, data)?;
    make_private(folder).map_err(io(folder))?;
    let mut record = record(&account);
    record["changes"] = json!(changes(&store.history(Some(&code))?));
    let files = [
        ("README.txt", READ_ME.to_owned()),
        ("record.json", format!("{record:#}\n")),
        ("raises.csv", csv(&account)),
    ];
    for (name, text) in files {
        let path = folder.join(name);
        write_private(&path, text.as_bytes()).map_err(io(&path))?;
    }
    let has_recordings = root.join(format!("sub-{code}")).is_dir();
    if has_recordings {
        copy_person(&root, &code, &folder.join("recordings"))?;
    }
    let recordings = if has_recordings {
        "record, raises and recordings"
    } else {
        "record and raises; no recordings were found"
    };
    writeln!(
        out,
        "{}: {recordings} of {code}. It names the client and isn't encrypted: hand it over, then erase it here",
        folder.display()
    )
    .map_err(CommandError::Output)
}

fn make_private(folder: &Path) -> std::io::Result<()> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder)
}

fn write_private(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    let mut options = fs::File::options();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = options.open(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

/// One line a raise. Every cell is ours: numbers and words of closed lists, and labels of letters and digits.
fn csv(account: &Account) -> String {
    let mut text =
        "date,visit,recording,for,side,start_s,end_point_deg,end_point_uncertainty_deg,peak_deg,\
        peak_uncertainty_deg,reason,flags,is_set_aside\n"
            .to_owned();
    for visit in &account.visits {
        for round in &visit.rounds {
            for (at, raise) in round.raises.iter().enumerate() {
                let is_aside = round.set_aside.iter().any(|(place, _)| *place == at);
                let cells = [
                    visit.date.to_string(),
                    visit.session.clone(),
                    round.recording.clone(),
                    round.purpose.as_str().to_owned(),
                    raise.side.to_string(),
                    rounded(raise.start_s).to_string(),
                ];
                text.push_str(&cells.join(","));
                text.push_str(&angles(raise));
                text.push_str(if is_aside { ",yes\n" } else { ",no\n" });
            }
        }
    }
    text
}

fn angles(raise: &Raise) -> String {
    let pair = |angle: Option<&fusion::Measured>| {
        angle.map_or_else(
            || ",,".to_owned(),
            |angle| {
                format!(
                    ",{},{}",
                    rounded(angle.value.degrees()),
                    rounded(angle.expanded.degrees())
                )
            },
        )
    };
    let end = raise.end_point.as_ref();
    let flags: Vec<&str> = raise.flags.iter().map(|flag| flag.as_str()).collect();
    format!(
        "{}{},{},{}",
        pair(end.map(|end| &end.angle)),
        pair(raise.peak.as_ref().map(|peak| &peak.angle)),
        end.map_or("", |end| end.reason.as_str()),
        flags.join(" ")
    )
}
