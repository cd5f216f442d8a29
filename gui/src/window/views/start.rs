//! The start page: what can be done.

use eframe::egui::{Sense, Ui, vec2};

use super::{figure, parts};
use crate::window::model::{Act, Model, Screen};
use crate::window::theme;
use crate::window::words::{Desk, Flow};

/// Four ways to begin.
pub(super) fn start(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let language = model.settings.language;
    let mut acts = Vec::new();
    let height = (ui.available_height() * 0.42).clamp(120.0, 460.0);
    let (rect, response) =
        ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::hover());
    figure::emblem(ui, rect);
    let name = language.say(Flow::Title);
    parts::named(response, eframe::egui::accesskit::Role::Image, name, true);
    ui.vertical_centered(|ui| {
        ui.set_max_width(theme::READ);
        parts::now(ui, language.say(Flow::StartNow));
        parts::soft(ui, language.say(Flow::StartBody));
    });
    ui.add_space(theme::SPACE);
    let say = |phrase| language.say(phrase);
    let (book, to_book) = if model.book.is_open {
        (Desk::StartClients, Screen::Clients)
    } else {
        (Desk::StartBook, Screen::Book)
    };
    let ways = [
        (say(Flow::StartTry), say(Flow::StartTryBody), Act::Try),
        (
            say(Flow::StartMeasure),
            say(Flow::StartMeasureBody),
            Act::Measure,
        ),
        (
            language.say(book),
            language.say(Desk::StartBookBody),
            Act::Go(to_book),
        ),
        (
            say(Flow::StartOpen),
            say(Flow::StartOpenBody),
            Act::Go(Screen::Browse),
        ),
    ];
    let is_wide = 700.0 < ui.available_width();
    let mut way = |ui: &mut Ui, (text, body, act): &(&str, &str, Act), is_first: bool| {
        parts::card(ui, |ui| {
            let size = vec2(ui.available_width(), theme::BIG);
            let pressed = if is_first {
                ui.add(parts::primary(text).sized(size))
            } else {
                parts::with_key(ui, text, "", size, true)
            };
            if pressed.clicked() {
                acts.push(act.clone());
            }
            parts::soft(ui, body);
        });
    };
    if is_wide {
        parts::columns(ui, ways.len(), |ui, place| {
            way(ui, &ways[place], place == 0);
        });
    } else {
        for (place, it) in ways.iter().enumerate() {
            way(ui, it, place == 0);
        }
    }
    acts
}
