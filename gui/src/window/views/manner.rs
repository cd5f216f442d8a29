//! How the raise is done.

use eframe::egui::Ui;
use sensor::Side;

use super::parts;
use crate::args::{Ankle, AskedFor, Movement};
use crate::window::model::{Act, MannerAct, Model, PACES_DEG_S};
use crate::window::theme;
use crate::window::words::{self, Care, Flow};

/// Choices, and what is said to the client.
pub(super) fn manner(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let language = model.settings.language;
    let say = |phrase| language.say(phrase);
    let mut acts = Vec::new();
    parts::now(ui, say(Flow::MannerNow));
    let manner = &model.manner;
    let mut half = |ui: &mut Ui, which: usize| {
        parts::card(ui, |ui| {
            ui.set_min_width(ui.available_width());
            let mut set = |act: Option<MannerAct>| acts.extend(act.map(Act::Manner));
            if which == 0 {
                let who = [
                    (Movement::Active, say(Flow::MannerActive)),
                    (Movement::Passive, say(Flow::MannerPassive)),
                ];
                set(
                    parts::choice(ui, say(Flow::MannerMovement), &who, manner.movement)
                        .map(MannerAct::Movement),
                );
                let far = [
                    (AskedFor::FirstPull, say(Flow::MannerFirstPull)),
                    (AskedFor::Limit, say(Flow::MannerLimit)),
                ];
                set(
                    parts::choice(ui, say(Flow::MannerAsked), &far, manner.asked_for)
                        .map(MannerAct::AskedFor),
                );
                let ankles = [
                    (Ankle::Relaxed, say(Flow::MannerRelaxed)),
                    (Ankle::PulledUp, say(Flow::MannerPulledUp)),
                    (Ankle::Pointed, say(Flow::MannerPointed)),
                ];
                set(
                    parts::choice(ui, say(Flow::MannerAnkle), &ankles, manner.ankle)
                        .map(MannerAct::Ankle),
                );
            } else {
                let legs =
                    [Side::Right, Side::Left].map(|side| (side, words::side(language, side)));
                set(parts::choice(ui, say(Flow::MannerLeg), &legs, manner.leg).map(MannerAct::Leg));
                let paces = PACES_DEG_S.map(|pace| {
                    (
                        pace,
                        language.fill(Flow::MannerPaceOf, &[&pace.to_string()]),
                    )
                });
                let paces = paces.each_ref().map(|(pace, text)| (*pace, text.as_str()));
                set(
                    parts::choice(ui, say(Flow::MannerPace), &paces, manner.pace_deg_s)
                        .map(MannerAct::Pace),
                );
                set(
                    parts::field(ui, say(Flow::MannerRater), &manner.rater, "", 160.0)
                        .map(MannerAct::Rater),
                );
            }
        });
    };
    parts::halves(ui, 900.0, &mut half);
    ui.add_space(theme::GAP);
    parts::card(ui, |ui| {
        ui.set_min_width(ui.available_width());
        parts::title(ui, say(Flow::MannerTell));
        parts::soft(ui, language.say(Care::StopWhen));
    });
    acts
}
