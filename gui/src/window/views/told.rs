//! Messages that stay until they were read; a code for a phone's camera is drawn.

use eframe::egui::accesskit::Role;
use eframe::egui::{
    Color32, Frame, Label, Margin, Rect, RichText, ScrollArea, Sense, Stroke, Ui, pos2, vec2,
};

use super::parts;
use crate::window::model::{Act, Model};
use crate::window::theme::{self, Palette};
use crate::window::words::{Flow, Language};

/// A square of a code on the screen: a camera half a metre away reads it.
const SQUARE: f32 = 4.0;
/// White around a code, in squares, as its standard asks.
const QUIET: f32 = 4.0;

/// All that must be read.
pub(super) fn told(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let mut acts = Vec::new();
    if model.told.is_empty() {
        return acts;
    }
    let height = ui.available_height() * 0.6;
    ScrollArea::vertical()
        .id_salt("told")
        .max_height(height)
        .show(ui, |ui| {
            for (place, text) in model.told.iter().enumerate() {
                if message(ui, place, text, model.settings.language) {
                    acts.push(Act::Heard(place));
                }
            }
        });
    acts
}

/// One message. Whether it was read.
fn message(ui: &mut Ui, place: usize, text: &str, language: Language) -> bool {
    let colours = Palette::of(ui);
    let (code, words): (Vec<&str>, Vec<&str>) = text.lines().partition(|line| is_code(line));
    let frame = Frame::new()
        .fill(colours.card)
        .stroke(Stroke::new(2.0, colours.alarm))
        .corner_radius(theme::ROUND)
        .inner_margin(Margin::symmetric(12, 4));
    let mut is_read = false;
    frame.show(ui, |ui| {
        ui.horizontal(|ui| {
            let close = parts::plain(ui, language.say(Flow::Close));
            let name = language.fill(Flow::CloseMessage, &[&(place + 1).to_string()]);
            is_read = parts::named(close, Role::Button, &name, true).clicked();
            if !code.is_empty() {
                draw(ui, &code, language);
            }
            ui.add(Label::new(RichText::new(words.join("\n"))).wrap());
        });
    });
    ui.add_space(theme::GAP);
    is_read
}

/// Whether a line is a piece of a code, two rows of squares in each.
fn is_code(line: &str) -> bool {
    20 < line.chars().count() && line.chars().all(|c| " ▀▄█".contains(c))
}

/// Whether the upper and the lower half of a figure are full.
fn halves(c: char) -> [bool; 2] {
    ["▀█".contains(c), "▄█".contains(c)]
}

/// Draws a code, dark on white in either theme: cameras expect it.
fn draw(ui: &mut Ui, code: &[&str], language: Language) {
    #[expect(
        clippy::cast_precision_loss,
        reason = "a code has some dozens of squares"
    )]
    let (wide, high) = (
        code.iter()
            .map(|line| line.chars().count())
            .max()
            .unwrap_or(0) as f32,
        2.0 * code.len() as f32,
    );
    let size = vec2(wide + 2.0 * QUIET, high + 2.0 * QUIET) * SQUARE;
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    let painter = ui.painter();
    painter.rect_filled(rect, 0.0, Color32::WHITE);
    let first = rect.min + vec2(QUIET, QUIET) * SQUARE;
    // The rim of a code is light, however the figures of a terminal are.
    let rim = code
        .first()
        .and_then(|line| line.chars().next())
        .is_some_and(|c| halves(c)[0]);
    let mut y = first.y;
    for line in code {
        let mut x = first.x;
        for c in line.chars() {
            for (is_full, down) in halves(c).into_iter().zip([0.0, SQUARE]) {
                if is_full == rim {
                    continue;
                }
                let square = Rect::from_min_size(pos2(x, y + down), vec2(SQUARE, SQUARE));
                painter.rect_filled(square, 0.0, Color32::BLACK);
            }
            x += SQUARE;
        }
        y += 2.0 * SQUARE;
    }
    parts::named(response, Role::Image, language.say(Flow::Code), true);
}
