//! How the raise is done.

use eframe::egui::Ui;
use sensor::Side;

use super::parts::{self, choice};
use crate::args::{Ankle, AskedFor, Movement};
use crate::window::model::{Act, MannerAct, Model, PACES_DEG_S};
use crate::window::theme;
use crate::window::words::{self, Care, Flow};

/// Choices, and what is said to the client.
pub(super) fn manner(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let language = model.settings.language;
    let mut acts = Vec::new();
    parts::now(ui, language.say(Flow::MannerNow));
    let mut half = |ui: &mut Ui, which: usize| {
        parts::card(ui, |ui| {
            ui.set_min_width(ui.available_width());
            let wanted = if which == 0 {
                raise(ui, model)
            } else {
                round(ui, model)
            };
            acts.extend(wanted.into_iter().map(Act::Manner));
        });
    };
    parts::halves(ui, 900.0, &mut half);
    ui.add_space(theme::GAP);
    parts::card(ui, |ui| {
        ui.set_min_width(ui.available_width());
        parts::title(ui, language.say(Flow::MannerTell));
        parts::soft(ui, language.say(Care::StopWhen));
    });
    acts
}

/// How one raise is done.
fn raise(ui: &mut Ui, model: &Model) -> Vec<MannerAct> {
    let (language, manner) = (model.settings.language, &model.manner);
    let say = |phrase| language.say(phrase);
    let mut wanted = Vec::new();
    let who = [
        (Movement::Active, say(Flow::MannerActive)),
        (Movement::Passive, say(Flow::MannerPassive)),
    ];
    let picked = choice(ui, say(Flow::MannerMovement), &who, manner.movement);
    wanted.extend(picked.map(MannerAct::Movement));
    let far = [
        (AskedFor::FirstPull, say(Flow::MannerFirstPull)),
        (AskedFor::Limit, say(Flow::MannerLimit)),
    ];
    let picked = choice(ui, say(Flow::MannerAsked), &far, manner.asked_for);
    wanted.extend(picked.map(MannerAct::AskedFor));
    let ankles = [
        (Ankle::Relaxed, say(Flow::MannerRelaxed)),
        (Ankle::PulledUp, say(Flow::MannerPulledUp)),
        (Ankle::Pointed, say(Flow::MannerPointed)),
    ];
    let picked = choice(ui, say(Flow::MannerAnkle), &ankles, manner.ankle);
    wanted.extend(picked.map(MannerAct::Ankle));
    let code = parts::field(ui, say(Flow::MannerRater), &manner.rater, "", 160.0);
    wanted.extend(code.map(MannerAct::Rater));
    wanted
}

/// How the rounds go.
fn round(ui: &mut Ui, model: &Model) -> Vec<MannerAct> {
    let (language, manner) = (model.settings.language, &model.manner);
    let say = |phrase| language.say(phrase);
    let mut wanted = Vec::new();
    let legs = [Side::Right, Side::Left].map(|side| (side, words::side(language, side)));
    let picked = choice(ui, say(Flow::MannerLeg), &legs, manner.leg);
    wanted.extend(picked.map(MannerAct::Leg));
    let paces = PACES_DEG_S.map(|pace| {
        let text = language.fill(Flow::MannerPaceOf, &[&pace.to_string()]);
        (pace, text)
    });
    let paces = paces.each_ref().map(|(pace, text)| (*pace, text.as_str()));
    let picked = choice(ui, say(Flow::MannerPace), &paces, manner.pace_deg_s);
    wanted.extend(picked.map(MannerAct::Pace));
    if cfg!(feature = "phone") {
        let markers = [
            (false, say(Flow::MannerNoMarker)),
            (true, say(Flow::MannerWithMarker)),
        ];
        let picked = choice(ui, say(Flow::MannerMarker), &markers, manner.with_marker);
        wanted.extend(picked.map(MannerAct::Marker));
    }
    wanted
}
