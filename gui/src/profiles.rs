//! Sensor profiles by their file or name.

use std::fs::File;
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};

use sensor::profile::{Profile, ProfileError, shipped_text};
use thiserror::Error;

use crate::error::Exit;

/// Why a profile can't be had.
#[derive(Debug, Error)]
pub(crate) enum LoadError {
    /// Neither a file nor a name.
    #[error(
        "{}: no such file, and no profile of that name comes with the program; check the path, or see `legraise profile list`",
        .0.display()
    )]
    Missing(PathBuf),
    /// The file can't be read.
    #[error("{}: {source}; check that it is a text file that may be read", path.display())]
    Io {
        /// As given.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// It isn't a profile.
    #[error(transparent)]
    Profile(#[from] ProfileError),
}

impl LoadError {
    /// The exit status that goes with it.
    pub(crate) const fn exit(&self) -> Exit {
        match self {
            Self::Missing(_) => Exit::Usage,
            Self::Io { .. } | Self::Profile(_) => Exit::Incomplete,
        }
    }
}

/// A profile from a file or, where there is none, of that name.
pub(crate) fn load(path: &Path) -> Result<Profile, LoadError> {
    let known = path.to_str().and_then(shipped_text);
    let (text, name) = match (File::open(path), known) {
        (Err(e), Some(text)) if e.kind() == io::ErrorKind::NotFound => {
            (text.to_owned(), path.display().to_string())
        }
        (Err(e), None) if e.kind() == io::ErrorKind::NotFound => {
            return Err(LoadError::Missing(path.to_owned()));
        }
        (file, _) => {
            let text = file.and_then(|file| limited(file, Profile::BYTES_MAX));
            let text = text.map_err(|source| LoadError::Io {
                path: path.to_owned(),
                source,
            })?;
            let name = path.file_name().unwrap_or(path.as_os_str());
            (text, name.display().to_string())
        }
    };
    Ok(Profile::parse(&text, &name)?)
}

/// All of a text, or one byte more than the limit.
pub(crate) fn limited(source: impl io::Read, bytes_max: usize) -> io::Result<String> {
    let mut text = String::new();
    source
        .take(bytes_max as u64 + 1)
        .read_to_string(&mut text)?;
    Ok(text)
}
