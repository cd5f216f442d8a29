//! The files that describe a file of samples: found by inheritance, merged, and what they say.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::{Map, Value};

use super::error::{Place, ReadErrorKind};
use super::file::{SIDE_BYTES_MAX, read_bytes, without_bom};
use super::find::lone_stem;
use super::name::Name;
use super::problem::{Problem, ProblemKind};
use super::table::Table;
use crate::{Device, UnitLimits};

/// Where the descriptions of one file of samples lie.
#[derive(Debug, Default)]
pub(crate) struct SideFiles {
    /// The nearest.
    pub(crate) channels: Option<PathBuf>,
    /// All that apply, the farthest first: a nearer one overrides.
    pub(crate) motion: Vec<PathBuf>,
}

impl SideFiles {
    /// Looks beside a file of samples and, by its name, in the folders above up to the data set's.
    pub(crate) fn of(path: &Path, root: Option<&Path>) -> Self {
        let folder = path.parent().unwrap_or(Path::new("."));
        let file_name = path.file_name().unwrap_or_default().to_string_lossy();
        let mut side = Self::default();
        let Some(name) = Name::parse(&file_name) else {
            let stem = lone_stem(&file_name).unwrap_or(&file_name);
            let beside =
                |end: &str| Some(folder.join(format!("{stem}{end}"))).filter(|p| p.is_file());
            side.channels = beside("_channels.tsv");
            side.motion.extend(beside("_motion.json"));
            return side;
        };
        for level in levels(folder, root) {
            let is_far = level != folder && (root == Some(level) || !is_part_of_set(level));
            let here = if is_far {
                common_names(&name, level)
            } else {
                listed_names(&name, level)
            };
            // Of several on one level the one that says most counts last.
            let pick = |suffix: &str, extension: &str| {
                let mut picked: Vec<&(Name, PathBuf)> = here
                    .iter()
                    .filter(|(n, _)| n.suffix == suffix && n.extension == extension)
                    .collect();
                picked.sort_by_key(|(n, _)| n.entity_count());
                picked
                    .into_iter()
                    .map(|(_, path)| path.clone())
                    .collect::<Vec<_>>()
            };
            if let Some(nearer) = pick("channels", "tsv").pop() {
                side.channels = Some(nearer);
            }
            side.motion.extend(pick("motion", "json"));
        }
        side
    }
}

/// Whether a folder is one of those inside a data set.
fn is_part_of_set(folder: &Path) -> bool {
    let name = folder.file_name().unwrap_or_default().to_string_lossy();
    name == "motion" || name.starts_with("ses-") || name.starts_with("sub-")
}

/// The folders whose side files apply, the farthest first. Outside a data set the folders' names must
/// look like those of one.
fn levels<'a>(folder: &'a Path, root: Option<&'a Path>) -> Vec<&'a Path> {
    let mut levels = Vec::new();
    for level in folder.ancestors().take(6) {
        levels.push(level);
        if root == Some(level) || !is_part_of_set(level) {
            break;
        }
    }
    levels.reverse();
    levels
}

/// Side files in a folder that is small enough to be listed.
fn listed_names(name: &Name, folder: &Path) -> Vec<(Name, PathBuf)> {
    let Ok(entries) = fs::read_dir(folder) else {
        return Vec::new();
    };
    entries
        .flatten()
        .filter_map(|entry| {
            let text = entry.file_name();
            let side = Name::parse(text.to_str()?)?;
            side.applies_to(name).then(|| (side, entry.path()))
        })
        .collect()
}

/// Side files at the data set's root: asked for by name, since thousands of clients may lie there.
fn common_names(name: &Name, root: &Path) -> Vec<(Name, PathBuf)> {
    let mut found = Vec::new();
    for bits in 0..16u8 {
        let keep =
            |bit: u8, label: &Option<String>| if bits & bit == 0 { None } else { label.clone() };
        let mut common = Name {
            task: keep(1, &name.task),
            tracksys: keep(2, &name.tracksys),
            acquisition: keep(4, &name.acquisition),
            run: keep(8, &name.run),
            ..Name::default()
        };
        if common.entity_count() != bits.count_ones() as usize {
            continue;
        }
        for (suffix, extension) in [("channels", "tsv"), ("motion", "json")] {
            common = common.with_suffix(suffix, extension);
            let path = root.join(common.to_string());
            if path.is_file() {
                found.push((common.clone(), path));
            }
        }
    }
    found
}

/// A table of a data set; a damaged one is a problem and none.
pub(crate) fn read_table(
    path: &Path,
    needed: &[&str],
    problems: &mut Vec<Problem>,
) -> Option<Table> {
    let mut problem = |what: String| {
        problems.push(Problem::of(path, ProblemKind::BadTable { what }));
        None
    };
    let bytes = match read_bytes(path, SIDE_BYTES_MAX) {
        Ok(bytes) => bytes.bytes,
        Err(e) => return problem(e.kind.to_string()),
    };
    let Some(table) = Table::parse(&bytes) else {
        return problem("empty table".to_owned());
    };
    match needed
        .iter()
        .find(|&&column| table.column(column).is_none())
    {
        Some(column) => problem(format!("no column {column}")),
        None => Some(table),
    }
}

/// Merges JSON objects, later ones over earlier ones; a damaged one is a problem and left aside.
pub(crate) fn read_json(paths: &[PathBuf], problems: &mut Vec<Problem>) -> Map<String, Value> {
    let mut merged = Map::new();
    for path in paths {
        let mut problem = |place: Place, what: String| {
            problems.push(Problem {
                place,
                kind: ProblemKind::BadJson { what },
            });
        };
        let bytes = match read_bytes(path, SIDE_BYTES_MAX) {
            Ok(bytes) => bytes.bytes,
            Err(e) => {
                let what = if matches!(e.kind, ReadErrorKind::Io(_)) {
                    e.kind.to_string()
                } else {
                    "too large".into()
                };
                problem(e.place, what);
                continue;
            }
        };
        match serde_json::from_slice(without_bom(&bytes)) {
            Ok(Value::Object(object)) => merged.extend(object),
            Ok(_) => problem(Place::of(path), "not an object".to_owned()),
            Err(e) => problem(
                Place::line(path, e.line() as u64),
                json_fault(&e).to_owned(),
            ),
        }
    }
    merged
}

/// What a JSON reader found, without its place, which we name in our own way.
fn json_fault(error: &serde_json::Error) -> &'static str {
    match error.classify() {
        serde_json::error::Category::Eof => "it ends too early",
        _ => "it breaks the grammar",
    }
}

/// What `_motion.json` says that we use.
#[derive(Debug, Default)]
pub(crate) struct Described {
    pub(crate) rate_hz: Option<f64>,
    pub(crate) limits: Option<UnitLimits>,
    pub(crate) device: Device,
}

/// Picks our part out of a merged `_motion.json`. `place` is where problems are said to be.
pub(crate) fn describe(
    json: &Map<String, Value>,
    place: &Place,
    problems: &mut Vec<Problem>,
) -> Described {
    let mut number = |key: &'static str, is_zero_fine: bool| -> Option<f64> {
        let value = json.get(key)?;
        if is_absent(value) {
            return None;
        }
        let read = value
            .as_f64()
            .or_else(|| value.as_str()?.trim().parse().ok());
        let good = read.filter(|n| n.is_finite() && (*n > 0.0 || is_zero_fine && *n == 0.0));
        if good.is_none() {
            let expected = if is_zero_fine {
                "a number of 0 or more"
            } else {
                "a number above 0"
            };
            let kind = ProblemKind::BadKey {
                key,
                value: shortened(&value.to_string()),
                expected,
            };
            problems.push(Problem {
                place: place.clone(),
                kind,
            });
        }
        good
    };
    let rate_hz = number("SamplingFrequency", false);
    let offset = number("AccelOffsetLimit", true);
    let accel_scale = number("AccelScaleLimit", true);
    let gyro_scale = number("GyroScaleLimit", true);
    let plain = UnitLimits::PLAIN;
    let is_any = offset.or(accel_scale).or(gyro_scale).is_some();
    let limits = is_any.then(|| UnitLimits {
        accel_offset_m_s2: offset.unwrap_or(plain.accel_offset_m_s2),
        accel_scale: accel_scale.unwrap_or(plain.accel_scale),
        gyro_scale: gyro_scale.unwrap_or(plain.gyro_scale),
    });
    let text = |key: &str| match json.get(key) {
        Some(value) if is_absent(value) => String::new(),
        Some(Value::String(text)) => text.clone(),
        Some(value @ (Value::Number(_) | Value::Bool(_))) => value.to_string(),
        _ => String::new(),
    };
    let device = Device {
        manufacturer: text("Manufacturer"),
        model: text("ManufacturersModelName"),
        serial: text("DeviceSerialNumber"),
        software: text("SoftwareVersions"),
    };
    Described {
        rate_hz,
        limits,
        device,
    }
}

/// Whether a value says that there is none.
fn is_absent(value: &Value) -> bool {
    value.is_null()
        || value
            .as_str()
            .is_some_and(|s| s.is_empty() || s.eq_ignore_ascii_case("n/a"))
}

/// A text short enough for a message.
pub(crate) fn shortened(text: &str) -> String {
    const CHARS_MAX: usize = 40;
    let mut short: String = text.chars().take(CHARS_MAX).collect();
    if short.len() < text.len() {
        short.push('…');
    }
    short
}
