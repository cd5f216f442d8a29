//! Before anything is recorded of a client: consent, and the cautions.

use std::io::Write;

use casebook::record::Visit;
use casebook::store::may_record;

use super::{BookFault, data_folder, open, path, today, whole};
use crate::args::{BookFile, NOBODY, VisitArgs};
use crate::error::CommandError;

/// Whether a client may be recorded now. The casebook is closed again, so that others can use it meanwhile.
///
/// A casebook that is named is always asked. The usual one is asked where a person is measured into its own data set;
/// simulated people and other data sets are none of its business.
pub(crate) fn check_recording(
    file: &BookFile,
    visit: &VisitArgs,
    is_measured: bool,
    err: &mut dyn Write,
) -> Result<(), CommandError> {
    let Some(data) = visit.data.as_deref().filter(|_| visit.client != NOBODY) else {
        return Ok(());
    };
    let is_named = file.book.is_some();
    if !is_named && !is_measured {
        return Ok(());
    }
    if !is_named && !path(file)?.exists() {
        let client = &visit.client;
        drop(writeln!(
            err,
            "consent: no casebook here, so whether {client} gave it isn't known; make sure of it"
        ));
        return Ok(());
    }
    let store = open(file, err)?;
    let is_its_own = data_folder(&store, None).is_ok_and(|own| own == whole(data));
    if !is_named && !is_its_own {
        return Ok(());
    }
    let client = store.client(&visit.client)?;
    may_record(&client, today()).map_err(BookFault::from)?;
    check_cautions(&visit.client, &store.visit(&visit.client, &visit.visit)?)
}

/// Whether the cautions let a client be tested at a visit.
pub(crate) fn check_cautions(client: &str, visit: &Visit) -> Result<(), CommandError> {
    if !visit.has_asked_cautions {
        return Err(BookFault::Unasked {
            client: client.to_owned(),
            session: visit.session.clone(),
        }
        .into());
    }
    match visit.cautions.iter().find(|caution| caution.stops_all()) {
        Some(caution) => Err(BookFault::Forbidden {
            client: client.to_owned(),
            caution: *caution,
        }
        .into()),
        None => Ok(()),
    }
}
