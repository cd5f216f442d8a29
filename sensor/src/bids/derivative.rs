//! Results as a data set of their own, in the two forms of table that the standard lets pass.

use std::path::{Path, PathBuf};

use serde_json::{Map, Value, json};

use super::dataset::{BIDS_VERSION, Column, ensure_readme, generated_by, json_bytes, write_absent};
use super::file::{lock, make_folder, replace, sync_folder};
use super::name::{Name, is_label};
use super::table::{Row, Table};
use super::write_check::check_id;
use super::write_error::{WriteError, WriteErrorKind};
use crate::RecordingId;

/// What the description of a data set of results says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Derivative {
    /// A short title.
    pub name: String,
    /// Who made it; the standard wants at least two.
    pub authors: Vec<String>,
    /// A licence, or how the results may be used.
    pub license: String,
    /// What a reader should know, at least 150 letters.
    pub readme: String,
    /// Where the recordings are, as seen from here.
    pub raw: String,
}

impl Default for Derivative {
    fn default() -> Self {
        Self {
            name: "Leg raise angles".to_owned(),
            authors: vec!["the practitioner".to_owned(), "legraise".to_owned()],
            license: "private, not to be passed on".to_owned(),
            readme: "Angles of straight leg raises, computed from the recordings. Each raise is a row of a \
                     desc-raises events file in its session's folder; phenotype/ holds one table over all people. \
                     Angles are in degrees; uncertainties are expanded, for 95 % coverage."
                .to_owned(),
            raw: "../..".to_owned(),
        }
    }
}

/// The raises of one run, as rows of text.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct RaiseTable {
    /// The run they were found in.
    pub id: RecordingId,
    /// What the table is, in a sentence.
    pub description: String,
    /// The files it was made from, as seen from the recordings' data set, with `/`.
    pub sources: Vec<String>,
    /// The first two must be `onset` and `duration`.
    pub columns: Vec<Column>,
    /// In order of onset; an empty cell becomes `n/a`.
    pub rows: Vec<Vec<String>>,
}

/// Creates a data set of results, or adds to one what it lacks.
pub fn create_derivative(root: &Path, set: &Derivative) -> Result<(), WriteError> {
    make_folder(root)?;
    let _held = lock(root)?;
    let description = json!({
        "Name": set.name,
        "BIDSVersion": BIDS_VERSION,
        "DatasetType": "derivative",
        "License": set.license,
        "Authors": set.authors,
        "GeneratedBy": [generated_by()],
        "SourceDatasets": [{"URL": set.raw}],
        "DatasetLinks": {"raw": set.raw},
        "HEDVersion": "8.3.0",
    });
    write_absent(
        &root.join("dataset_description.json"),
        &json_bytes(&description),
    )?;
    ensure_readme(root, &set.readme, "")?;
    sync_folder(root)
}

/// Writes the raises of one run; a former table of the same run is replaced. The path is given back.
pub fn write_raises(root: &Path, raises: &RaiseTable) -> Result<PathBuf, WriteError> {
    let fail = |kind| WriteError {
        path: root.to_owned(),
        kind,
    };
    let wrong = |what: String| fail(WriteErrorKind::Table { what });
    check_id(&raises.id).map_err(fail)?;
    if raises
        .columns
        .iter()
        .map(|c| c.name.as_str())
        .take(2)
        .ne(["onset", "duration"])
    {
        return Err(wrong(
            "the first columns must be onset and duration".to_owned(),
        ));
    }
    let onsets: Vec<f64> = raises
        .rows
        .iter()
        .map_while(|row| row.first()?.trim().parse().ok())
        .collect();
    if onsets.len() < raises.rows.len()
        || !onsets.is_sorted()
        || onsets.iter().any(|s| !s.is_finite())
    {
        return Err(wrong(
            "onsets must be numbers in increasing order".to_owned(),
        ));
    }
    let bytes = table_bytes(&raises.columns, &raises.rows).map_err(fail)?;
    let folder = session_folder(root, &raises.id).join("beh");
    make_folder(&folder)?;
    let name = Name {
        desc: Some("raises".to_owned()),
        ..Name::of(&raises.id, None, "events", "tsv")
    };
    let mut json = columns_json(&raises.columns[2..]);
    json.insert("Description".to_owned(), json!(raises.description));
    let sources: Vec<String> = raises
        .sources
        .iter()
        .map(|source| format!("bids:raw:{source}"))
        .collect();
    json.insert("Sources".to_owned(), json!(sources));
    json.insert(
        "StimulusPresentation".to_owned(),
        json!({"SoftwareName": "legraise"}),
    );
    let path = folder.join(name.to_string());
    replace(
        &path.with_extension("json"),
        &json_bytes(&Value::Object(json)),
    )?;
    replace(&path, &bytes)?;
    sync_folder(&folder)?;
    Ok(path)
}

fn session_folder(root: &Path, id: &RecordingId) -> PathBuf {
    let subject = root.join(format!("sub-{}", id.subject.as_deref().unwrap_or_default()));
    id.session.as_ref().map_or(subject.clone(), |session| {
        subject.join(format!("ses-{session}"))
    })
}

/// Writes one table over all people, `phenotype/<tool>.tsv`, in place of a former one. The first column
/// must be `participant_id`, with `sub-` before each label. The path is given back.
pub fn write_phenotype(
    root: &Path,
    tool: &str,
    description: &str,
    columns: &[Column],
    rows: &[Vec<String>],
) -> Result<PathBuf, WriteError> {
    let fail = |kind| WriteError {
        path: root.to_owned(),
        kind,
    };
    if !is_label(tool) {
        return Err(fail(WriteErrorKind::Label {
            part: "table",
            label: tool.to_owned(),
        }));
    }
    if columns.first().is_none_or(|c| c.name != "participant_id") {
        let what = "the first column must be participant_id".to_owned();
        return Err(fail(WriteErrorKind::Table { what }));
    }
    let bytes = table_bytes(columns, rows).map_err(fail)?;
    let folder = root.join("phenotype");
    make_folder(&folder)?;
    let mut json = columns_json(columns);
    json.insert("Description".to_owned(), json!(description));
    json.insert(
        "MeasurementToolMetadata".to_owned(),
        json!({"Description": description}),
    );
    let path = folder.join(format!("{tool}.tsv"));
    replace(
        &path.with_extension("json"),
        &json_bytes(&Value::Object(json)),
    )?;
    replace(&path, &bytes)?;
    sync_folder(&folder)?;
    Ok(path)
}

fn columns_json(columns: &[Column]) -> Map<String, Value> {
    columns
        .iter()
        .map(|column| (column.name.clone(), column.to_json()))
        .collect()
}

/// A table as text, checked for its shape.
fn table_bytes(columns: &[Column], rows: &[Vec<String>]) -> Result<Vec<u8>, WriteErrorKind> {
    let wrong = |what: String| WriteErrorKind::Table { what };
    let is_name = |name: &str| {
        !name.is_empty() && name.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'_')
    };
    if let Some(bad) = columns.iter().find(|c| !is_name(&c.name)) {
        return Err(wrong(format!(
            "column {:?} must be letters, digits and underscores",
            bad.name
        )));
    }
    if let Some((index, row)) = rows
        .iter()
        .enumerate()
        .find(|(_, row)| row.len() != columns.len())
    {
        return Err(wrong(format!(
            "row {index} has {} cells, expected {}",
            row.len(),
            columns.len()
        )));
    }
    for (i, column) in columns
        .iter()
        .enumerate()
        .filter(|(_, c)| !c.levels.is_empty())
    {
        let is_known = |cell: &str| {
            cell.is_empty() || cell == "n/a" || column.levels.iter().any(|(w, _)| w == cell)
        };
        if let Some(row) = rows.iter().find(|row| !is_known(&row[i])) {
            return Err(wrong(format!(
                "column {} has no word {:?}",
                column.name, row[i]
            )));
        }
    }
    let mut table = Table::new(&columns.iter().map(|c| c.name.as_str()).collect::<Vec<_>>());
    table.rows = rows
        .iter()
        .map(|cells| Row {
            line: 0,
            cells: cells.clone(),
        })
        .collect();
    Ok(table.to_bytes())
}
