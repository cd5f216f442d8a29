//! Drills from files, and by name from those that come with the program.

use std::fs::File;
use std::io::Read as _;
use std::path::Path;

use casebook::drill::{Drill, shipped};

/// Reads a drill of the practitioner's own. The text says where, what, and the mend.
pub(crate) fn read(path: &Path) -> Result<Drill, String> {
    let place = path.display();
    let mut text = String::new();
    let limit = Drill::BYTES_MAX as u64 + 1;
    File::open(path)
        .and_then(|file| file.take(limit).read_to_string(&mut text))
        .map_err(|e| format!("{place}: {e}; check that it is a text file that may be read"))?;
    let id = path.file_stem().unwrap_or_default().to_string_lossy();
    Drill::parse(&text, &id).map_err(|e| format!("{place}: {e}"))
}

/// One that comes with the program, or a file.
pub(crate) fn named(name: &Path) -> Result<Drill, String> {
    let mut all = shipped();
    if let Some(at) = all.iter().position(|drill| Path::new(&drill.id) == name) {
        return Ok(all.swap_remove(at));
    }
    if name.extension().is_some_and(|end| end == "toml") {
        return read(name);
    }
    let known: Vec<String> = all.into_iter().map(|drill| drill.id).collect();
    Err(format!(
        "drill {}: not known; use one of {}, or a file of your own that ends in .toml",
        name.display(),
        known.join(", ")
    ))
}
