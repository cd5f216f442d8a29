use clap::Parser as _;

#[cfg(feature = "pdf")]
use std::fs;

use super::*;
use crate::args::{Cli, Command};

fn said(line: &str) -> Result<Vec<u8>, CommandError> {
    let words = ["legraise", "report", "--invented", "--day", "2026-04-22"];
    let cli = Cli::try_parse_from(words.into_iter().chain(line.split(' '))).unwrap();
    let Some(Command::Report(args)) = &cli.command else {
        panic!("another command");
    };
    let mut out = Vec::new();
    run(args, &mut out, &mut Vec::new()).map(|exit| {
        assert_eq!(exit, Exit::Done);
        out
    })
}

#[test]
fn each_form_is_printed() {
    for (line, beginning) in [
        ("--as note", "SLR left 53.4°"),
        ("--as note --language de --visit 01", "SLR links 43,2°"),
        ("--as csv", "\u{FEFF}client,name,"),
        ("--as csv --semicolon", "\u{FEFF}client;name;"),
        ("--as fhir", "{\n  \"entry\""),
        (
            "--for client --as html",
            "<!DOCTYPE html>\n<html lang=\"en\">",
        ),
        (
            "--for referrer --as html --language de",
            "<!DOCTYPE html>\n<html lang=\"de\">",
        ),
    ] {
        let text = String::from_utf8(said(line).unwrap()).unwrap();
        assert!(text.starts_with(beginning), "{line}: {text:.80}");
    }
}

#[cfg(feature = "pdf")]
#[test]
fn a_sheet_is_written_whole_and_for_its_owner() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("sheet.pdf");
    let line = format!("--for client --as pdf --out {}", path.display());
    assert!(said(&line).unwrap().is_empty());
    let first = fs::read(&path).unwrap();
    assert!(first.starts_with(b"%PDF-"));
    said(&line).unwrap();
    assert_eq!(fs::read(&path).unwrap(), first);
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    #[cfg(unix)]
    {
        let mode =
            std::os::unix::fs::PermissionsExt::mode(&fs::metadata(&path).unwrap().permissions());
        assert_eq!(mode & 0o077, 0);
    }
}

#[cfg(not(feature = "pdf"))]
#[test]
fn a_build_without_pdf_says_so() {
    let error = said("--as pdf").unwrap_err();
    assert_eq!(error.exit(), Exit::Usage);
    assert!(error.to_string().contains("feature `pdf`"));
}

#[test]
fn what_cannot_be_is_refused_with_the_mend() {
    let error = said("--as note --visit 99").unwrap_err();
    assert_eq!(error.exit(), Exit::Usage);
    assert!(error.to_string().contains("; name one"));
    let error = said("--as note --out /nowhere/at/all.txt").unwrap_err();
    assert_eq!(error.exit(), Exit::Incomplete);
    for line in [
        "report",
        "report --invented",
        "report --invented --as x",
        "report --invented --as note --language fr",
    ] {
        let words = std::iter::once("legraise").chain(line.split(' '));
        assert!(Cli::try_parse_from(words).is_err(), "{line}");
    }
}
