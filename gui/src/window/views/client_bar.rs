//! The line above the screens of one client: who it is, and the ways to their course, reports and drill.

use eframe::egui::Ui;

use super::{book, parts};
use crate::window::model::{Act, Model, Screen};
use crate::window::words::{Desk, Flow, Practice};

/// The line, and what the casebook has to say.
pub(super) fn client_bar(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let language = model.settings.language;
    let mut acts = Vec::new();
    if let Some(chosen) = &model.book.chosen {
        let client = &chosen.account.client;
        let session = model.client.visit.as_str();
        let text = if model.client.is_booked {
            language.fill(Desk::At, &[&client.name, &client.code, session])
        } else {
            language.fill(Desk::Row, &[&client.name, &client.code])
        };
        ui.horizontal_wrapped(|ui| {
            parts::title(ui, &text);
            let ways = [
                (language.say(Flow::StepResult), Screen::Result, true),
                (language.say(Practice::AgainBegin), Screen::Recheck, true),
                (language.say(Desk::Course), Screen::Weeks, false),
                (language.say(Desk::Reports), Screen::Report, false),
            ];
            for (text, screen, is_of_visit) in ways {
                let may = !is_of_visit || model.booked().is_some();
                if may && screen != model.screen && parts::plain(ui, text).clicked() {
                    acts.push(Act::Go(screen));
                }
            }
        });
    }
    book::state(ui, model);
    acts
}
