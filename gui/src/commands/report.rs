//! `legraise report`: what the casebook says of one client, for people and for other programs.

use std::io::Write;

use casebook::export::{csv, fhir, note};
use casebook::invented;
use casebook::record::Account;
use casebook::report::{Ask, Curve, Page, html, page};

use crate::args::{Form, MadeArgs, ReportArgs};
use crate::error::{CommandError, Exit};
use crate::output::program;
use crate::private_file::put;

/// Makes the report of the client asked for.
pub(crate) fn run(
    args: &ReportArgs,
    out: &mut dyn Write,
    #[cfg_attr(
        not(feature = "book"),
        expect(unused_variables, reason = "only a casebook has something to tell")
    )]
    err: &mut dyn Write,
) -> Result<Exit, CommandError> {
    #[cfg(feature = "book")]
    if let Some(client) = &args.client {
        let store = crate::book::open(&args.file, err)?;
        let account = casebook::store::account(&store, &store.code_of(client)?)?;
        return of(&account, &[], &args.made, out);
    }
    let account = invented::account();
    let curves = invented::curves(&account);
    of(&account, &curves, &args.made, out)
}

/// Makes a report of an account and puts it where it is wanted.
pub(crate) fn of(
    account: &Account,
    curves: &[Curve],
    args: &MadeArgs,
    out: &mut dyn Write,
) -> Result<Exit, CommandError> {
    if let Some(label) = &args.visit
        && !account.visits.iter().any(|visit| visit.session == *label)
    {
        return Err(CommandError::NoVisit(label.clone()));
    }
    let bytes = made(account, curves, args)?;
    match &args.out {
        None => out.write_all(&bytes).map_err(CommandError::Output)?,
        Some(path) => put(path, &bytes).map_err(|source| CommandError::Folder {
            path: path.clone(),
            source,
        })?,
    }
    Ok(Exit::Done)
}

fn made(account: &Account, curves: &[Curve], args: &MadeArgs) -> Result<Vec<u8>, CommandError> {
    let session = args.visit.as_deref();
    let drawn = || {
        let program = program();
        let ask = Ask {
            audience: args.whom.into(),
            language: args.language,
            day: args.day.unwrap_or_else(|| jiff::Zoned::now().date()),
            program: &program,
            session,
            curves,
        };
        page(account, &ask)
    };
    Ok(match args.form {
        Form::Pdf => pdf(&drawn())?,
        Form::Html => html::render(&drawn()).into_bytes(),
        Form::Note => note::lines(account, session, args.language).into_bytes(),
        Form::Csv => csv::raises(account, session, args.separator())?,
        Form::Fhir => fhir::text(account, session, &fhir::Codes::default()).into_bytes(),
    })
}

#[cfg(feature = "pdf")]
fn pdf(page: &Page) -> Result<Vec<u8>, CommandError> {
    let fonts = crate::fonts::for_page(page)?;
    Ok(casebook::report::pdf::render(page, &fonts)?)
}

#[cfg(not(feature = "pdf"))]
fn pdf(_: &Page) -> Result<Vec<u8>, CommandError> {
    Err(CommandError::NotBuilt("pdf"))
}

#[cfg(test)]
mod tests;
