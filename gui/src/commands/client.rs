//! `legraise client`: who the clients are.

mod give;
mod leave;

use std::io::Write;

use casebook::record::{Client, Consent};
use casebook::store::{ConsentFault, Store, account};
use jiff::civil::Date;
use serde_json::json;

use crate::args::{ClientArgs, ClientCommand, Texts};
use crate::book::{self, BookFault, json};
use crate::error::{CommandError, Exit};

/// Carries out one of its commands.
pub(crate) fn run(
    args: &ClientArgs,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<Exit, CommandError> {
    let store = book::open(&args.file, err)?;
    match &args.command {
        ClientCommand::Add { .. } => add(&store, &args.command, out)?,
        ClientCommand::Find { words, json } => find(&store, &words.join(" "), *json, out)?,
        ClientCommand::Show { client, json } => show(&store, client, *json, out)?,
        ClientCommand::Edit {
            client,
            name,
            texts,
            because,
        } => {
            let mut edited = store.client(&store.code_of(client)?)?;
            if let Some(name) = name {
                edited.name.clone_from(name);
            }
            put(&mut edited, texts);
            store.edit_client(&edited, book::why(because))?;
        }
        ClientCommand::Consent {
            client,
            text,
            withdraw,
            date,
            because,
        } => consent(&store, client, text.as_deref(), *withdraw, *date, because)?,
        ClientCommand::History { client, json } => history(&store, client.as_deref(), *json, out)?,
        ClientCommand::Merge {
            kept,
            former,
            because,
            data,
            yes,
        } => leave::merge(
            &store,
            [kept, former],
            because,
            data.as_deref(),
            *yes,
            out,
            err,
        )?,
        ClientCommand::Forget { client, data, yes } => {
            leave::forget(&store, client, data.as_deref(), *yes, out)?;
        }
        ClientCommand::Give {
            client,
            folder,
            data,
        } => give::run(&store, client, folder, data.as_deref(), out)?,
    }
    Ok(Exit::Done)
}

fn add(store: &Store, command: &ClientCommand, out: &mut dyn Write) -> Result<(), CommandError> {
    let ClientCommand::Add {
        name,
        texts,
        consent,
        date,
        code,
        json,
    } = command
    else {
        return Ok(());
    };
    let mut client = Client {
        code: code.clone().unwrap_or_default(),
        name: name.clone(),
        consent: consent.as_ref().map(|text| given(text, *date)),
        ..Client::default()
    };
    put(&mut client, texts);
    let code = store.add_client(&client, book::why(""))?;
    if *json {
        json::write(out, &json!({"schema": "legraise/client/1", "code": code}))
    } else {
        writeln!(out, "{code}").map_err(CommandError::Output)
    }
}

fn given(text: &str, date: Option<Date>) -> Consent {
    Consent {
        given: date.unwrap_or_else(book::today),
        text_version: text.to_owned(),
        withdrawn: None,
    }
}

fn put(client: &mut Client, texts: &Texts) {
    if let Some(contact) = &texts.contact {
        client.contact.clone_from(contact);
    }
    if let Some(born) = texts.born {
        client.birth_year = Some(born);
    }
    if let Some(notes) = &texts.notes {
        client.notes.clone_from(notes);
    }
}

fn consent(
    store: &Store,
    client: &str,
    text: Option<&str>,
    withdraw: bool,
    date: Option<Date>,
    because: &str,
) -> Result<(), CommandError> {
    let mut client = store.client(&store.code_of(client)?)?;
    if let Some(text) = text {
        client.consent = Some(given(text, date));
    } else if withdraw {
        let code = client.code.clone();
        let consent = client.consent.as_mut();
        let consent = consent.ok_or(BookFault::Consent(ConsentFault::None { code }))?;
        consent.withdrawn = Some(date.unwrap_or_else(book::today));
    }
    Ok(store.edit_client(&client, book::why(because))?)
}

fn find(
    store: &Store,
    words: &str,
    is_json: bool,
    out: &mut dyn Write,
) -> Result<(), CommandError> {
    let found = store.find(words)?;
    if is_json {
        let clients: Vec<_> = found
            .iter()
            .map(|one| {
                json!({
                    "code": one.code,
                    "name": one.name,
                    "visits": one.visit_count,
                    "latest": one.latest.map(|date| date.to_string()),
                    "has_consent": one.has_consent,
                })
            })
            .collect();
        return json::write(
            out,
            &json!({"schema": "legraise/clients/1", "clients": clients}),
        );
    }
    for one in &found {
        let latest = one
            .latest
            .map_or_else(String::new, |date| format!(", last {date}"));
        let consent = if one.has_consent { "" } else { ", no consent" };
        writeln!(
            out,
            "{}  {}: visits {}{latest}{consent}",
            one.code, one.name, one.visit_count
        )
        .map_err(CommandError::Output)?;
    }
    Ok(())
}

fn show(
    store: &Store,
    client: &str,
    is_json: bool,
    out: &mut dyn Write,
) -> Result<(), CommandError> {
    let account = account(store, &store.code_of(client)?)?;
    if is_json {
        return json::write(out, &json::record(&account));
    }
    let client = &account.client;
    let mut lines = vec![format!("{}  {}", client.code, client.name)];
    let born = client.birth_year.map(|year| year.to_string());
    let consent = client.consent.as_ref().map(|consent| {
        let withdrawn = consent
            .withdrawn
            .map_or_else(String::new, |date| format!(", taken back {date}"));
        format!(
            "{} to text {}{withdrawn}",
            consent.given, consent.text_version
        )
    });
    for (what, text) in [
        ("contact", Some(client.contact.clone())),
        ("born", born),
        ("notes", Some(client.notes.clone())),
        (
            "consent",
            Some(consent.unwrap_or_else(|| "none".to_owned())),
        ),
    ] {
        if let Some(text) = text.filter(|text| !text.is_empty()) {
            lines.push(format!("  {what}: {text}"));
        }
    }
    for (side, plan) in &account.plans {
        let since = plan
            .since
            .map_or_else(String::new, |date| format!(", since {date}"));
        let label = account.bands.label(plan.band);
        lines.push(format!("  {side}: drills for {label}{since}"));
    }
    for visit in &account.visits {
        let drill = visit.drill.as_ref();
        let drill = drill.map_or_else(String::new, |drill| format!(", drill {}", drill.name));
        lines.push(format!(
            "  visit {}  {}: rounds {}{drill}",
            visit.session,
            visit.date,
            visit.rounds.len()
        ));
    }
    writeln!(out, "{}", lines.join("\n")).map_err(CommandError::Output)
}

fn history(
    store: &Store,
    client: Option<&str>,
    is_json: bool,
    out: &mut dyn Write,
) -> Result<(), CommandError> {
    /// So much of a former value is shown to people.
    const CHARS_MAX: usize = 60;
    let code = client.map(|client| store.code_of(client)).transpose()?;
    let history = store.history(code.as_deref())?;
    if is_json {
        let object = json!({
            "schema": "legraise/history/1",
            "client": code,
            "changes": json::changes(&history),
        });
        return json::write(out, &object);
    }
    for changed in &history {
        let former = changed.former.as_deref().map_or_else(String::new, |text| {
            let short: String = text.chars().take(CHARS_MAX).collect();
            let more = if short.len() < text.len() { "…" } else { "" };
            format!(", was {short}{more}")
        });
        let reason = match changed.reason.as_str() {
            "" => String::new(),
            reason => format!("; {reason}"),
        };
        writeln!(
            out,
            "{}  {}: {}{former}{reason}",
            changed.at.strftime("%Y-%m-%d %H:%M UTC"),
            changed.place,
            changed.field
        )
        .map_err(CommandError::Output)?;
    }
    Ok(())
}
