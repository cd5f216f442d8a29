//! What the window remembers: a small file in the user's folder of settings.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::words::Language;

/// Larger than this no file of settings is.
const BYTES_MAX: u64 = 64 * 1024;
/// Text can be shown from this to that size, percent.
pub(super) const TEXT_PERCENT: [u16; 4] = [100, 125, 150, 200];

/// Light, dark, or as the system has it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(super) enum Look {
    /// As the system has it.
    #[default]
    System,
    /// Dark on light.
    Light,
    /// Light on dark.
    Dark,
}

/// What is remembered.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Settings {
    /// Light or dark.
    pub(super) look: Look,
    /// Text size, percent.
    pub(super) text_percent: u16,
    /// Language of the window.
    pub(super) language: Language,
    /// Whether what happens is heard, too.
    pub(super) has_sound: bool,
    /// Where recordings are kept.
    pub(super) folder: PathBuf,
    /// Sensors of the last measurement, `placement=text`.
    pub(super) sensors: Vec<String>,
}

/// As the file has it.
#[derive(Debug, Default, Serialize, Deserialize)]
#[serde(default)]
struct Kept {
    look: Look,
    text_percent: Option<u16>,
    language: Option<String>,
    sound: Option<bool>,
    folder: Option<PathBuf>,
    sensors: Vec<String>,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            look: Look::System,
            text_percent: 100,
            language: Language::English,
            has_sound: true,
            folder: usual_folder(),
            sensors: Vec::new(),
        }
    }
}

/// Among the user's documents, or in the home folder.
fn usual_folder() -> PathBuf {
    let user = directories::UserDirs::new();
    let base = user
        .as_ref()
        .map(|user| user.document_dir().unwrap_or_else(|| user.home_dir()));
    base.map_or_else(|| PathBuf::from("legraise"), |base| base.join("legraise"))
}

/// Where the file lies; nowhere on a system without a home folder.
pub(super) fn usual_path() -> Option<PathBuf> {
    let project = directories::ProjectDirs::from("", "", "legraise")?;
    Some(project.config_dir().join("window.toml"))
}

impl Settings {
    /// Reads the file. What can't be read gives the usual settings, with the reason; no file is no fault.
    pub(super) fn read(path: &Path) -> (Self, Option<String>) {
        match Self::try_read(path) {
            Ok(settings) => (settings, None),
            Err(e) if e.kind() == io::ErrorKind::NotFound => (Self::default(), None),
            Err(e) => (Self::default(), Some(format!("{}: {e}", path.display()))),
        }
    }

    fn try_read(path: &Path) -> io::Result<Self> {
        if BYTES_MAX < fs::metadata(path)?.len() {
            return Err(io::Error::other("larger than settings are"));
        }
        let kept: Kept = toml::from_str(&fs::read_to_string(path)?)
            .map_err(|e| io::Error::other(e.message().to_owned()))?;
        let usual = Self::default();
        Ok(Self {
            look: kept.look,
            text_percent: kept
                .text_percent
                .filter(|percent| TEXT_PERCENT.contains(percent))
                .unwrap_or(usual.text_percent),
            language: kept
                .language
                .and_then(|code| Language::of_code(&code))
                .unwrap_or(usual.language),
            has_sound: kept.sound.unwrap_or(usual.has_sound),
            folder: kept.folder.unwrap_or(usual.folder),
            sensors: kept.sensors,
        })
    }

    /// Writes the file beside itself and puts it in place, so that it is never half written.
    pub(super) fn write(&self, path: &Path) -> io::Result<()> {
        let kept = Kept {
            look: self.look,
            text_percent: Some(self.text_percent),
            language: Some(self.language.code().to_owned()),
            sound: Some(self.has_sound),
            folder: Some(self.folder.clone()),
            sensors: self.sensors.clone(),
        };
        let text = toml::to_string(&kept).map_err(io::Error::other)?;
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder)?;
        }
        let beside = path.with_extension("new");
        let mut file = fs::File::create(&beside)?;
        file.write_all(text.as_bytes())?;
        file.sync_all()?;
        drop(file);
        fs::rename(&beside, path)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_kept_is_read_again() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a/window.toml");
        assert_eq!(Settings::read(&path), (Settings::default(), None));
        let settings = Settings {
            look: Look::Dark,
            text_percent: 150,
            language: Language::German,
            has_sound: false,
            folder: PathBuf::from("/data"),
            sensors: vec!["shinright=ble:open-motion".to_owned()],
        };
        settings.write(&path).unwrap();
        settings.write(&path).unwrap();
        assert_eq!(Settings::read(&path), (settings, None));
    }

    #[test]
    fn a_damaged_file_gives_the_usual_settings_and_says_so() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("window.toml");
        for damaged in ["look = 3", "look = \"li", "\u{0}\u{1}"] {
            fs::write(&path, damaged).unwrap();
            let (settings, told) = Settings::read(&path);
            assert_eq!(settings, Settings::default());
            assert!(
                told.is_some_and(|text| text.contains("window.toml")),
                "{damaged:?}"
            );
        }
        fs::write(&path, vec![b'#'; 100_000]).unwrap();
        assert!(Settings::read(&path).1.is_some());
        // A size that isn't offered is no reason to forget the rest.
        fs::write(
            &path,
            "text_percent = 7\nlook = \"dark\"\nlanguage = \"xx\"",
        )
        .unwrap();
        let (settings, told) = Settings::read(&path);
        assert_eq!(
            (settings.text_percent, settings.look, told),
            (100, Look::Dark, None)
        );
    }
}
