//! The files that describe a whole data set, and its tables of people and visits.

use std::fs;
use std::path::Path;

use serde_json::{Map, Value, json};

use super::file::{lock, make_folder, replace, write_io};
use super::name::is_label;
use super::table::Table;
use super::write_error::{WriteError, WriteErrorKind};

/// The version of the standard that is written.
pub(crate) const BIDS_VERSION: &str = "1.11.1";
/// The oldest age the standard allows to be told; older people are written as this.
const AGE_MAX: f64 = 89.0;

/// A column of a table, as its description tells it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Column {
    /// As in the header.
    pub name: String,
    /// In a sentence.
    pub description: String,
    /// Where the column holds numbers with a unit.
    pub units: Option<String>,
    /// The words that may stand in it, each with its meaning; empty where any text may.
    pub levels: Vec<(String, String)>,
}

impl Column {
    /// A column of free text or plain numbers.
    pub fn new(name: &str, description: &str) -> Self {
        Self {
            name: name.to_owned(),
            description: description.to_owned(),
            ..Self::default()
        }
    }

    /// The same with a unit.
    #[must_use]
    pub fn in_units(mut self, units: &str) -> Self {
        self.units = Some(units.to_owned());
        self
    }

    /// The same as a closed list of words.
    #[must_use]
    pub fn of_words(mut self, levels: &[(&str, &str)]) -> Self {
        self.levels = levels
            .iter()
            .map(|(word, meaning)| ((*word).to_owned(), (*meaning).to_owned()))
            .collect();
        self
    }

    pub(crate) fn to_json(&self) -> Value {
        let mut object = Map::new();
        object.insert("Description".to_owned(), json!(self.description));
        if let Some(units) = &self.units {
            object.insert("Units".to_owned(), json!(units));
        }
        if !self.levels.is_empty() {
            let levels: Map<String, Value> = self
                .levels
                .iter()
                .map(|(w, m)| (w.clone(), json!(m)))
                .collect();
            object.insert("Levels".to_owned(), Value::Object(levels));
        }
        Value::Object(object)
    }
}

/// What the description of a new data set says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DataSet {
    /// A short title.
    pub name: String,
    /// Who recorded it; the standard wants at least two.
    pub authors: Vec<String>,
    /// A licence, or how the data may be used.
    pub license: String,
    /// What a reader should know; a paragraph on the files is added.
    pub readme: String,
    /// Columns of `participants.tsv` after `participant_id`.
    pub participants: Vec<Column>,
}

impl Default for DataSet {
    fn default() -> Self {
        Self {
            name: "Leg raises".to_owned(),
            authors: vec!["the practitioner".to_owned(), "legraise".to_owned()],
            license: "private, not to be passed on".to_owned(),
            readme: "Straight leg raises, measured with motion sensors.".to_owned(),
            participants: Vec::new(),
        }
    }
}

const README_FILES: &str = "\
Each recording is one run: the raw samples of one or several motion sensors (acceleration and angular rate),
with marks in the events file. Recordings of task-legraise are raises of the straight leg, lying on the back;
recordings of task-flat are the unit laid still on a flat surface, face after face, for its calibration.
The tracksys label says where a sensor was strapped. Times count in seconds from the first sample of a run.
";

/// Creates a data set, or adds to one what it lacks. What is there is left as it is.
pub fn create(root: &Path, set: &DataSet) -> Result<(), WriteError> {
    make_folder(root)?;
    let _held = lock(root)?;
    ensure(root, set)
}

/// As [`create`], where the caller holds the lock.
pub(crate) fn ensure(root: &Path, set: &DataSet) -> Result<(), WriteError> {
    let description = json!({
        "Name": set.name,
        "BIDSVersion": BIDS_VERSION,
        "DatasetType": "raw",
        "License": set.license,
        "Authors": set.authors,
        "GeneratedBy": [generated_by()],
        "SourceDatasets": [],
        "HEDVersion": "8.3.0",
    });
    write_absent(
        &root.join("dataset_description.json"),
        &json_bytes(&description),
    )?;
    ensure_readme(root, &set.readme, README_FILES)?;
    let table = root.join("participants.tsv");
    if !table.exists() {
        let mut columns = vec!["participant_id"];
        columns.extend(set.participants.iter().map(|c| c.name.as_str()));
        replace(&table, &Table::new(&columns).to_bytes())?;
        let mut described = Map::new();
        let id = Column::new("participant_id", "Pseudonym of the person");
        for column in std::iter::once(&id).chain(&set.participants) {
            described.insert(column.name.clone(), column.to_json());
        }
        write_absent(
            &root.join("participants.json"),
            &json_bytes(&Value::Object(described)),
        )?;
    }
    Ok(())
}

/// Writes a read-me where there is none under any of its names.
pub(crate) fn ensure_readme(root: &Path, text: &str, more: &str) -> Result<(), WriteError> {
    let is_there = ["README", "README.md", "README.txt", "README.rst"]
        .iter()
        .any(|name| root.join(name).exists());
    if is_there {
        Ok(())
    } else {
        replace(
            &root.join("README"),
            format!("{}\n\n{more}", text.trim_end()).as_bytes(),
        )
    }
}

/// Who made these files.
pub(crate) fn generated_by() -> Value {
    json!({"Name": "legraise", "Version": env!("CARGO_PKG_VERSION")})
}

/// Gives a participant's values in `participants.tsv`; the columns must be there.
pub fn set_participant(
    root: &Path,
    subject: &str,
    values: &[(&str, &str)],
) -> Result<(), WriteError> {
    if !is_label(subject) {
        let kind = WriteErrorKind::Label {
            part: "subject",
            label: subject.to_owned(),
        };
        return Err(WriteError {
            path: root.to_owned(),
            kind,
        });
    }
    let _held = lock(root)?;
    let path = root.join("participants.tsv");
    let table = existing_table(&path)?;
    if let Some((column, _)) = values
        .iter()
        .find(|(c, _)| table.as_ref().is_none_or(|t| t.column(c).is_none()))
    {
        let kind = WriteErrorKind::Existing {
            what: format!("no column {column:?}"),
        };
        return Err(WriteError { path, kind });
    }
    let capped: Vec<(&str, &str)> = values
        .iter()
        .map(|&(column, value)| {
            let is_old =
                column == "age" && value.trim().parse::<f64>().is_ok_and(|age| age > AGE_MAX);
            (column, if is_old { "89" } else { value })
        })
        .collect();
    set_row(&path, "participant_id", &format!("sub-{subject}"), &capped)
}

/// A table to be extended; `None` where there is none. Text that we couldn't give back is refused.
pub(crate) fn existing_table(path: &Path) -> Result<Option<Table>, WriteError> {
    if !path.exists() {
        return Ok(None);
    }
    let bytes = fs::read(path).map_err(write_io(path))?;
    let refuse = |what: &str| WriteError {
        path: path.to_owned(),
        kind: WriteErrorKind::Existing {
            what: what.to_owned(),
        },
    };
    if std::str::from_utf8(&bytes).is_err() {
        return Err(refuse("it is not UTF-8"));
    }
    Ok(Some(
        Table::parse(&bytes).ok_or_else(|| refuse("it has no header"))?,
    ))
}

/// Adds or changes one row of a table, which is created where it isn't there.
pub(crate) fn set_row(
    path: &Path,
    key: &str,
    value: &str,
    cells: &[(&str, &str)],
) -> Result<(), WriteError> {
    set_rows(path, key, &[value], cells)
}

/// As [`set_row`] for several rows that say the same.
pub(crate) fn set_rows(
    path: &Path,
    key: &str,
    values: &[&str],
    cells: &[(&str, &str)],
) -> Result<(), WriteError> {
    let table = existing_table(path)?;
    let mut changed = table.clone().unwrap_or_else(|| Table::new(&[key]));
    if changed.column(key) != Some(0) {
        let kind = WriteErrorKind::Existing {
            what: format!("its first column is not {key}"),
        };
        return Err(WriteError {
            path: path.to_owned(),
            kind,
        });
    }
    for value in values {
        changed.set(value, cells);
    }
    if table.as_ref() == Some(&changed) {
        Ok(())
    } else {
        replace(path, &changed.to_bytes())
    }
}

/// Writes a file unless there is one.
pub(crate) fn write_absent(path: &Path, bytes: &[u8]) -> Result<(), WriteError> {
    if path.exists() {
        Ok(())
    } else {
        replace(path, bytes)
    }
}

/// JSON as text, indented and with a newline at its end.
pub(crate) fn json_bytes(value: &Value) -> Vec<u8> {
    format!("{value:#}\n").into_bytes()
}
