//! Reports: for whom, as what, and the line to paste.

use casebook::export::note;
use eframe::egui::accesskit::Role;
use eframe::egui::{Label, Ui};

use super::parts;
use crate::args::{ForWhom, Form};
use crate::window::model::{Act, BookAct, Model};
use crate::window::theme;
use crate::window::words::Weeks;

/// Three kinds, and the line.
pub(super) fn report(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let language = model.settings.language;
    let say = |phrase| language.say(phrase);
    let mut acts = Vec::new();
    let Some(chosen) = &model.book.chosen else {
        return acts;
    };
    parts::now(ui, say(Weeks::ReportNow));
    let kinds = [
        (Weeks::ForClient, Weeks::ForClientBody, ForWhom::Client),
        (Weeks::ForFile, Weeks::ForFileBody, ForWhom::File),
        (
            Weeks::ForReferrer,
            Weeks::ForReferrerBody,
            ForWhom::Referrer,
        ),
    ];
    let is_free = model.book.waiting == 0;
    parts::columns(ui, kinds.len(), |ui, place| {
        let (title, body, whom) = kinds[place];
        parts::card(ui, |ui| {
            ui.set_min_width(ui.available_width());
            parts::title(ui, say(title));
            parts::soft(ui, say(body));
            ui.horizontal_wrapped(|ui| {
                for (form, word) in [(Form::Pdf, Weeks::Pdf), (Form::Html, Weeks::Html)] {
                    let size = eframe::egui::vec2(100.0, theme::TOUCH);
                    let button = parts::with_key(ui, say(word), "", size, is_free);
                    let name = language.fill(Weeks::Make, &[say(title), say(word)]);
                    if parts::named(button, Role::Button, &name, is_free).clicked() {
                        acts.push(Act::Book(BookAct::Report(whom, form)));
                    }
                }
            });
        });
    });
    ui.add_space(theme::GAP);
    acts.extend(programs(ui, model));
    ui.add_space(theme::GAP);
    let folder = model.book.reports.display().to_string();
    let width = ui.available_width().min(theme::READ);
    if let Some(folder) = parts::field(ui, say(Weeks::Folder), &folder, "", width) {
        acts.push(Act::Book(BookAct::Reports(folder)));
    }
    if let Some(path) = &model.book.written {
        let path = path.display().to_string();
        parts::title(ui, &language.fill(Weeks::Written, &[&path]));
    }
    parts::small(ui, say(Weeks::Private));
    ui.add_space(theme::GAP);
    let line = note::lines(&chosen.account, None, language.report());
    parts::card(ui, |ui| {
        ui.set_min_width(ui.available_width());
        parts::title(ui, say(Weeks::NoteTitle));
        if line.is_empty() {
            parts::soft(ui, say(Weeks::NoteNone));
            return;
        }
        ui.add(Label::new(line.trim_end()).wrap().selectable(true));
        if parts::plain(ui, say(Weeks::NoteCopy)).clicked() {
            ui.ctx().copy_text(line.clone());
        }
    });
    acts
}

/// What other programs read, under the code.
fn programs(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let language = model.settings.language;
    let say = |phrase| language.say(phrase);
    let is_free = model.book.waiting == 0;
    let mut acts = Vec::new();
    parts::card(ui, |ui| {
        ui.set_min_width(ui.available_width());
        parts::title(ui, say(Weeks::Programs));
        parts::soft(ui, say(Weeks::ProgramsBody));
        ui.horizontal_wrapped(|ui| {
            for (phrase, act) in [
                (Weeks::Csv, BookAct::Report(ForWhom::File, Form::Csv)),
                (Weeks::Fhir, BookAct::Report(ForWhom::File, Form::Fhir)),
                (Weeks::Share, BookAct::Share),
            ] {
                let button = ui.add_enabled_ui(is_free, |ui| parts::plain(ui, say(phrase)));
                if button.inner.clicked() {
                    acts.push(Act::Book(act));
                }
            }
        });
        parts::soft(ui, say(Weeks::ShareBody));
    });
    acts
}
