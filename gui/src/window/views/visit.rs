//! What else is asked at a visit, beside the cautions.

use eframe::egui::Ui;

use super::parts;
use crate::window::model::{Act, Model, VisitAct};
use crate::window::words::Desk;

/// Tightness, other signs, pain, where the pull is felt, warm-up.
pub(super) fn asked(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let language = model.settings.language;
    let say = |phrase| language.say(phrase);
    let asked = &model.asked;
    let mut wanted = Vec::new();
    let mut half = |ui: &mut Ui, which: usize| {
        parts::card(ui, |ui| {
            ui.set_min_width(ui.available_width());
            if which == 0 {
                parts::title(ui, say(Desk::AskedTitle));
                let answers = [(Some(false), say(Desk::No)), (Some(true), say(Desk::Yes))];
                let picked = parts::choice(ui, say(Desk::Tight), &answers, asked.feels_tight);
                wanted.extend(picked.flatten().map(VisitAct::Tight));
                let picked = parts::choice(ui, say(Desk::Quiet), &answers, asked.is_quiet);
                wanted.extend(picked.flatten().map(VisitAct::Quiet));
                return;
            }
            parts::soft(ui, say(Desk::Pain));
            ui.horizontal_wrapped(|ui| {
                ui.spacing_mut().button_padding.x = 6.0;
                for pain in 0..=10_u8 {
                    let text = pain.to_string();
                    let name = format!("{}: {text}", say(Desk::Pain));
                    let is_chosen = asked.pain == Some(pain);
                    if parts::pick_small(ui, &text, &name, is_chosen) {
                        wanted.push(VisitAct::Pain(pain));
                    }
                }
            });
            if let Some(text) = parts::field(ui, say(Desk::PullFelt), &asked.pull_felt, "", 360.0) {
                wanted.push(VisitAct::PullFelt(text));
            }
            if let Some(text) = parts::field(ui, say(Desk::WarmUp), &asked.warm_up, "", 360.0) {
                wanted.push(VisitAct::WarmUp(text));
            }
        });
    };
    parts::halves(ui, 1000.0, &mut half);
    wanted.into_iter().map(Act::Asked).collect()
}
