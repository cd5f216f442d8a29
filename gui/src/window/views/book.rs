//! The casebook is opened, or a new one made.

use eframe::egui::Ui;

use super::parts;
use crate::window::model::{Act, BookAct, Model, Secret, ShelfAct};
use crate::window::theme;
use crate::window::words::Desk;

/// Width of the fields.
const FIELD: f32 = 420.0;

/// Its file and its passphrase.
pub(super) fn book(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let language = model.settings.language;
    let say = |phrase| language.say(phrase);
    let book = &model.book;
    let mut acts = Vec::new();
    let mut want = |act| acts.push(Act::Book(act));
    if book.is_open {
        parts::now(ui, say(Desk::ClientsNow));
        parts::soft(ui, &book.path.display().to_string());
        if parts::plain(ui, say(Desk::Close)).clicked() {
            want(BookAct::Close);
        }
        return acts;
    }
    parts::now(
        ui,
        say(if book.is_new {
            Desk::MakeNow
        } else {
            Desk::OpenNow
        }),
    );
    parts::card(ui, |ui| {
        ui.set_min_width(ui.available_width().min(theme::READ));
        let which = [(false, say(Desk::Existing)), (true, say(Desk::Fresh))];
        if let Some(is_new) = parts::choice(ui, say(Desk::Which), &which, book.is_new) {
            want(BookAct::Make(is_new));
        }
        let path = book.path.display().to_string();
        let width = ui.available_width().min(theme::READ) - 20.0;
        if let Some(path) = parts::field(ui, say(Desk::File), &path, "", width) {
            want(BookAct::Path(path));
        }
        let (typed, is_entered) = parts::secret(ui, say(Desk::Phrase), &book.phrase.0, FIELD);
        if let Some(text) = typed {
            want(BookAct::Phrase(Secret(text)));
        }
        let mut is_last = is_entered && !book.is_new;
        if book.is_new {
            let (typed, is_entered) = parts::secret(ui, say(Desk::Again), &book.again.0, FIELD);
            if let Some(text) = typed {
                want(BookAct::Again(Secret(text)));
            }
            is_last = is_entered;
        }
        if is_last && !book.phrase.0.is_empty() {
            want(BookAct::Open);
        }
        if book.is_new {
            ui.add_space(theme::GAP);
            parts::fault(ui, say(Desk::Lost));
        }
    });
    ui.add_space(theme::GAP);
    state(ui, model);
    parts::soft(ui, say(Desk::Why));
    ui.add_space(theme::GAP);
    if parts::plain(ui, say(Desk::RestoreOne)).clicked() {
        acts.push(Act::Book(BookAct::Shelf(ShelfAct::Open)));
    }
    acts
}

/// That the casebook is at work, what it did, or why it didn't do the last thing.
pub(super) fn state(ui: &mut Ui, model: &Model) {
    let language = model.settings.language;
    let book = &model.book;
    let is_silent = book.waiting == 0 && book.deed.is_none() && book.fault.is_none();
    parts::aside(ui, is_silent, |ui| {
        if 0 < book.waiting {
            parts::soft(ui, language.say(Desk::Working));
        }
        if let Some(deed) = &book.deed {
            parts::done(ui, &language.deed(deed));
            ui.add_space(theme::GAP);
        }
        if let Some(fault) = &book.fault {
            parts::fault(ui, &language.fault(fault));
            ui.add_space(theme::GAP);
        }
    });
}
