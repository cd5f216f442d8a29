//! Clients: found, added, chosen; and the page of the chosen one.

use casebook::record::{Client, Visit};
use casebook::store::Listed;
use eframe::egui::{Label, RichText, Ui};

use super::{book, parts};
use crate::window::model::{
    Act, AffairsAct, Agreed, BookAct, Chosen, Form, FormAct, Model, Screen, ShelfAct,
};
use crate::window::theme;
use crate::window::words::{Desk, Language};

/// Clients that are listed; words find the others.
const ROWS_MAX: usize = 100;
/// Visits that are listed, the latest first.
const VISITS_MAX: usize = 12;
/// Width of the fields of the form.
const FIELD: f32 = 360.0;

/// The list and the page beside it.
pub(super) fn clients(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let language = model.settings.language;
    let mut acts = Vec::new();
    parts::now(ui, language.say(Desk::ClientsNow));
    book::state(ui, model);
    let mut half = |ui: &mut Ui, which: usize| {
        parts::card(ui, |ui| {
            ui.set_min_width(ui.available_width());
            if which == 0 {
                acts.extend(found(ui, model));
            } else if let Some(entered) = &model.book.form {
                acts.extend(form(ui, language, entered));
            } else if let Some(chosen) = &model.book.chosen {
                acts.extend(page(ui, model, chosen));
            } else {
                parts::soft(ui, language.say(Desk::PickOne));
            }
        });
    };
    parts::halves(ui, 860.0, &mut half);
    ui.add_space(theme::GAP);
    ui.horizontal_wrapped(|ui| {
        for (phrase, act) in [
            (Desk::Close, BookAct::Close),
            (Desk::Shelf, BookAct::Shelf(ShelfAct::Open)),
        ] {
            if parts::plain(ui, language.say(phrase)).clicked() {
                acts.push(Act::Book(act));
            }
        }
    });
    acts
}

fn found(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let language = model.settings.language;
    let book = &model.book;
    let mut acts = Vec::new();
    ui.horizontal_wrapped(|ui| {
        let hint = language.say(Desk::FindHint);
        if let Some(words) = parts::field(ui, language.say(Desk::Find), &book.words, hint, 240.0) {
            acts.push(Act::Book(BookAct::Find(words)));
        }
        if parts::plain(ui, language.say(Desk::New)).clicked() {
            acts.push(Act::Book(BookAct::New));
        }
    });
    if book.clients.is_empty() {
        let phrase = if book.words.trim().is_empty() {
            Desk::None
        } else {
            Desk::NoneFit
        };
        parts::soft(ui, language.say(phrase));
    }
    for listed in book.clients.iter().take(ROWS_MAX) {
        let chosen = book.chosen.as_ref();
        let is_chosen = chosen.is_some_and(|c| c.account.client.code == listed.code);
        let name = language.fill(Desk::Row, &[&listed.name, &listed.code]);
        ui.horizontal_wrapped(|ui| {
            if parts::pick(ui, &listed.name, &name, is_chosen) {
                acts.push(Act::Book(BookAct::Choose(listed.code.clone())));
            }
            parts::soft(ui, &about(language, listed));
        });
    }
    acts
}

fn about(language: Language, listed: &Listed) -> String {
    let visits = listed.latest.map_or_else(
        || language.say(Desk::VisitsNone).to_owned(),
        |latest| {
            let count = listed.visit_count.to_string();
            language.fill(Desk::Visits, &[&count, &language.report().date(latest)])
        },
    );
    if listed.has_consent {
        visits
    } else {
        format!("{visits} · {}", language.say(Desk::NoConsent))
    }
}

/// What a text becomes that is entered.
type Enter = fn(String) -> FormAct;

fn form(ui: &mut Ui, language: Language, form: &Form) -> Vec<Act> {
    let say = |phrase| language.say(phrase);
    let mut wanted = Vec::new();
    let fields: [(Desk, &str, Enter); 4] = [
        (Desk::Name, &form.name, FormAct::Name),
        (Desk::Contact, &form.contact, FormAct::Contact),
        (Desk::Born, &form.born, FormAct::Born),
        (Desk::Notes, &form.notes, FormAct::Notes),
    ];
    for (label, text, enter) in fields {
        if let Some(text) = parts::field(ui, say(label), text, "", FIELD) {
            wanted.push(enter(text));
        }
    }
    let as_was = if form.former.consent.is_some() {
        Desk::ConsentAsWas
    } else {
        Desk::ConsentNotYet
    };
    let mut choices = vec![
        (Agreed::AsWas, say(as_was)),
        (Agreed::Given, say(Desk::ConsentGiven)),
    ];
    if form.former.consent.is_some() {
        choices.push((Agreed::Withdrawn, say(Desk::ConsentWithdrawn)));
    }
    if let Some(agreed) = parts::choice(ui, say(Desk::Consent), &choices, form.agreed) {
        wanted.push(FormAct::Agreed(agreed));
    }
    if form.agreed == Agreed::Given
        && let Some(text) = parts::field(ui, say(Desk::Version), &form.version, "2026-01", FIELD)
    {
        wanted.push(FormAct::Version(text));
    }
    if !form.is_new()
        && let Some(text) = parts::field(ui, say(Desk::Reason), &form.reason, "", FIELD)
    {
        wanted.push(FormAct::Reason(text));
    }
    let act = |act| Act::Book(BookAct::Form(act));
    wanted.into_iter().map(act).collect()
}

/// The page of one client.
fn page(ui: &mut Ui, model: &Model, chosen: &Chosen) -> Vec<Act> {
    let language = model.settings.language;
    let client = &chosen.account.client;
    let mut acts = Vec::new();
    parts::title(ui, &client.name);
    let born = client
        .birth_year
        .map(|year| language.fill(Desk::BornIs, &[&year.to_string()]));
    let facts = [
        Some(client.code.clone()),
        born,
        Some(client.contact.clone()),
    ];
    let facts: Vec<String> = facts
        .into_iter()
        .flatten()
        .filter(|t| !t.is_empty())
        .collect();
    parts::soft(ui, &facts.join(" · "));
    ui.add(Label::new(consent(language, client)).wrap());
    if !client.notes.is_empty() {
        parts::soft(ui, &client.notes);
    }
    ui.add_space(theme::GAP);
    let begin = language.fill(Desk::Begin, &[&chosen.next]);
    if ui.add(parts::primary(&begin)).clicked() {
        acts.push(Act::Book(BookAct::Begin));
    }
    ui.horizontal_wrapped(|ui| {
        let latest = chosen.account.visits.last();
        if let Some(visit) = latest.filter(|visit| visit.date == model.civil.date()) {
            let resume = language.fill(Desk::Resume, &[&visit.session]);
            if parts::plain(ui, &resume).clicked() {
                acts.push(Act::Book(BookAct::Resume));
            }
        }
        for (phrase, act) in [
            (Desk::Course, Act::Go(Screen::Weeks)),
            (Desk::Reports, Act::Go(Screen::Report)),
            (Desk::Edit, Act::Book(BookAct::Edit)),
            (Desk::Affairs, Act::Book(BookAct::Affairs(AffairsAct::Open))),
        ] {
            if parts::plain(ui, language.say(phrase)).clicked() {
                acts.push(act);
            }
        }
    });
    for visit in chosen.account.visits.iter().rev().take(VISITS_MAX) {
        ui.add(Label::new(RichText::new(visit_line(language, visit))).wrap());
    }
    acts
}

fn consent(language: Language, client: &Client) -> String {
    let day = |day| language.report().date(day);
    match &client.consent {
        None => language.say(Desk::ConsentNone).to_owned(),
        Some(consent) => {
            let (given, text) = (day(consent.given), &*consent.text_version);
            match consent.withdrawn {
                None => language.fill(Desk::ConsentIs, &[&given, text]),
                Some(end) => language.fill(Desk::ConsentWas, &[&given, text, &day(end)]),
            }
        }
    }
}

fn visit_line(language: Language, visit: &Visit) -> String {
    let is_stopped = visit.cautions.iter().any(|caution| caution.stops_all());
    let mut what = if is_stopped {
        language.say(Desk::VisitStopped).to_owned()
    } else if visit.rounds.is_empty() {
        language.say(Desk::VisitNothing).to_owned()
    } else {
        language.fill(Desk::VisitRounds, &[&visit.rounds.len().to_string()])
    };
    if let Some(drill) = &visit.drill {
        what = format!("{what} · {}", drill.name);
    }
    let day = language.report().date(visit.date);
    language.fill(Desk::VisitLine, &[&visit.session, &day, &what])
}
