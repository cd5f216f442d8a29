//! Fonts of this computer, looked for where a report has a character that the program's own font lacks.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use casebook::report::Page;
use casebook::report::pdf::{FontFile, Fonts, PdfError};

/// No more files are looked at.
const FILES_MAX: usize = 5_000;
/// No more are read: the likely ones come first.
const READ_MAX: usize = 300;
/// No font is larger, bytes.
const BYTES_MAX: u64 = 96 << 20;
/// No folder is looked into deeper than this.
const DEPTH_MAX: usize = 6;

/// The program's own font, and what it takes of this computer's. A character that none has is told when the report is
/// drawn.
pub(crate) fn for_page(page: &Page) -> Result<Fonts, PdfError> {
    let own = Fonts::with(Vec::new())?;
    let lacking = own.lacking(page)?;
    if lacking.is_empty() {
        return Ok(own);
    }
    Fonts::with(found(&folders(), lacking))
}

/// Where systems keep fonts.
fn folders() -> Vec<PathBuf> {
    let mut folders: Vec<PathBuf> = [
        "/usr/share/fonts",
        "/usr/local/share/fonts",
        "/System/Library/Fonts",
        "/Library/Fonts",
        "C:\\Windows\\Fonts",
    ]
    .map(PathBuf::from)
    .to_vec();
    if let Some(home) = std::env::home_dir() {
        let own = [
            ".local/share/fonts",
            ".fonts",
            "Library/Fonts",
            "AppData/Local/Microsoft/Windows/Fonts",
        ];
        folders.extend(own.map(|inside| home.join(inside)));
    }
    folders
}

/// Fonts that together draw what is wanted, as far as there are any.
fn found(folders: &[PathBuf], mut wanted: Vec<char>) -> Vec<FontFile> {
    let mut files = BTreeSet::new();
    for folder in folders {
        list(folder, 0, &mut files);
    }
    let mut files: Vec<PathBuf> = files.into_iter().collect();
    files.sort_by_key(|path| unlikely(path));
    let mut fonts = Vec::new();
    for path in files.into_iter().take(READ_MAX) {
        if wanted.is_empty() {
            break;
        }
        let is_small = fs::metadata(&path).is_ok_and(|meta| meta.len() <= BYTES_MAX);
        let Some(bytes) = is_small.then(|| fs::read(&path).ok()).flatten() else {
            continue;
        };
        let name = path.display().to_string();
        if let Some((font, drawn)) = FontFile::best_of(&name, bytes, &wanted) {
            wanted.retain(|c| !drawn.contains(c));
            fonts.push(font);
        }
    }
    fonts
}

/// Files that may be fonts. What can't be looked into is passed over: another place may have it.
fn list(folder: &Path, depth: usize, files: &mut BTreeSet<PathBuf>) {
    let Ok(entries) = fs::read_dir(folder) else {
        return;
    };
    for entry in entries.flatten() {
        if files.len() >= FILES_MAX {
            return;
        }
        let path = entry.path();
        if entry.file_type().is_ok_and(|kind| kind.is_dir()) {
            if depth < DEPTH_MAX {
                list(&path, depth + 1, files);
            }
        } else if path.extension().is_some_and(is_font) {
            files.insert(path);
        }
    }
}

fn is_font(extension: &std::ffi::OsStr) -> bool {
    ["ttf", "ttc", "otf", "otc"]
        .iter()
        .any(|known| extension.eq_ignore_ascii_case(known))
}

/// Nought for fonts with many characters and a plain face; more for others.
fn unlikely(path: &Path) -> usize {
    let name = path
        .file_name()
        .unwrap_or_default()
        .to_string_lossy()
        .to_lowercase();
    let has = |words: &[&str]| words.iter().any(|word| name.contains(word));
    let is_wide = has(&[
        "cjk", "pingfang", "hiragino", "msyh", "meiryo", "yugoth", "malgun", "unicode",
    ]);
    let is_odd = has(&[
        "bold",
        "italic",
        "oblique",
        "black",
        "thin",
        "mono",
        "serif",
        "condensed",
    ]);
    usize::from(!is_wide) * 4 + usize::from(is_odd) * 2 + usize::from(!has(&["sans", "regular"]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn likely_fonts_come_first_and_broken_ones_are_passed_over() {
        let order = |name| unlikely(Path::new(name));
        assert!(order("NotoSansCJK-Regular.ttc") < order("NotoSerifCJK-Bold.ttc"));
        assert!(order("NotoSerifCJK-Bold.ttc") < order("DejaVuSans.ttf"));
        let folder = tempfile::tempdir().unwrap();
        let deep = folder.path().join("a/b");
        fs::create_dir_all(&deep).unwrap();
        fs::write(folder.path().join("NotoSansCJK-Regular.ttc"), b"no font").unwrap();
        fs::write(folder.path().join("readme.txt"), b"no font").unwrap();
        assert_eq!(found(&[folder.path().to_owned()], vec!['═']), []);
        let hack = deep.join("Hack.TTF");
        fs::write(&hack, epaint_default_fonts::HACK_REGULAR).unwrap();
        let fonts = found(&[folder.path().to_owned()], vec!['═', '山']);
        assert_eq!(fonts.len(), 1);
        assert_eq!(fonts[0].name, hack.display().to_string());
        assert_eq!(found(&[folder.path().join("missing")], vec!['═']), []);
    }
}
