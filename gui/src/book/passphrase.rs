//! Where the passphrase comes from: a file, the environment, or a person at a terminal. Never from the command line, which
//! others can read.

use std::env;
use std::fs::File;
use std::io::{self, BufRead as _, BufReader, IsTerminal as _, Read as _};
use std::path::Path;

use casebook::store::Passphrase;

use super::BookFault;
use crate::args::BookFile;
use crate::error::CommandError;

const VARIABLE: &str = "LEGRAISE_PASSPHRASE";
const NEW_VARIABLE: &str = "LEGRAISE_NEW_PASSPHRASE";
/// The longest first line that is read, bytes.
const LINE_BYTES_MAX: u64 = 4096;

/// The casebook's passphrase.
pub(crate) fn passphrase(file: &BookFile) -> Result<Passphrase, CommandError> {
    match given(file.passphrase_file.as_deref(), VARIABLE)? {
        Some(text) => Ok(Passphrase::new(&text)),
        None => Ok(Passphrase::new(&asked("Passphrase: ")?)),
    }
}

/// A new one: of a new casebook, or in place of the former where `is_change`. At a terminal it is typed twice.
pub(crate) fn new_passphrase(
    file: Option<&Path>,
    is_change: bool,
) -> Result<Passphrase, CommandError> {
    let variable = if is_change { NEW_VARIABLE } else { VARIABLE };
    if let Some(text) = given(file, variable)? {
        return Ok(Passphrase::new(&text));
    }
    let first = asked("New passphrase, several words: ")?;
    if asked("The same again: ")? != first {
        return Err(BookFault::Differs.into());
    }
    Ok(Passphrase::new(&first))
}

fn given(file: Option<&Path>, variable: &'static str) -> Result<Option<String>, CommandError> {
    if let Some(path) = file {
        let text = first_line(path).map_err(|source| BookFault::PassphraseFile {
            path: path.to_owned(),
            source,
        })?;
        return Ok(Some(text));
    }
    match env::var(variable) {
        Ok(text) => Ok(Some(text)),
        Err(env::VarError::NotPresent) => Ok(None),
        Err(env::VarError::NotUnicode(_)) => Err(BookFault::NotText(variable).into()),
    }
}

fn first_line(path: &Path) -> io::Result<String> {
    let mut line = String::new();
    let file = File::open(path)?;
    BufReader::new(file.take(LINE_BYTES_MAX)).read_line(&mut line)?;
    Ok(line.trim_end_matches(['\r', '\n']).to_owned())
}

fn asked(words: &str) -> Result<String, CommandError> {
    if !(io::stdin().is_terminal() && io::stderr().is_terminal()) {
        return Err(BookFault::NoPassphrase.into());
    }
    rpassword::prompt_password(words).map_err(|source| BookFault::Terminal(source).into())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_line_of_a_file_is_the_passphrase() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("words");
        std::fs::write(&path, " three small words \r\nnot this\n").unwrap();
        assert_eq!(first_line(&path).unwrap(), " three small words ");
        let missing = given(Some(&folder.path().join("none")), VARIABLE).unwrap_err();
        assert!(missing.to_string().contains("; name a file"), "{missing}");
    }
}
