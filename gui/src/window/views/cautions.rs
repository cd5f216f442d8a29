//! Cautions: who lies down, questions and answers, and the page that stops the test.

use eframe::egui::{Label, RichText, Ui};

use super::{parts, visit};
use crate::window::model::{Act, Model, QUESTIONS, Verdict, Weight};
use crate::window::theme::{self, Palette};
use crate::window::words::{Care, Desk, Flow};

/// Width of the two answers.
const ANSWERS: f32 = 2.0 * 88.0 + 2.0 * theme::GAP;

/// Questions and answers.
pub(super) fn cautions(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let language = model.settings.language;
    let mut acts = Vec::new();
    parts::now(ui, language.say(Care::Now));
    client(ui, model, &mut acts);
    // Always in sight: the questions may need scrolling.
    ui.horizontal_wrapped(|ui| {
        if parts::plain(ui, language.say(Care::AllNo)).clicked() {
            acts.push(Act::AnswerAllNo);
        }
        ui.label(verdict(model));
    });
    let half_count = QUESTIONS.len().div_ceil(2);
    let mut half = |ui: &mut Ui, which: usize| {
        parts::card(ui, |ui| {
            ui.set_min_width(ui.available_width());
            let places = which * half_count..((which + 1) * half_count).min(QUESTIONS.len());
            for place in places {
                if !place.is_multiple_of(half_count) {
                    ui.separator();
                }
                question(ui, model, place, &mut acts);
            }
        });
    };
    parts::halves(ui, 1000.0, &mut half);
    if model.client.is_booked {
        ui.add_space(theme::GAP);
        acts.extend(visit::asked(ui, model));
    }
    acts
}

/// A question with its answers, and what follows from a Yes.
fn question(ui: &mut Ui, model: &Model, place: usize, acts: &mut Vec<Act>) {
    let language = model.settings.language;
    let question = &QUESTIONS[place];
    let answer = model.cautions.answers[place];
    let ask = language.say(question.ask);
    let text = |ui: &mut Ui| {
        ui.add(Label::new(ask).wrap());
        if answer == Some(true) {
            let colours = Palette::of(ui);
            let then = format!("! {}", language.say(question.then));
            ui.add(Label::new(RichText::new(then).color(colours.alarm)).wrap());
        }
    };
    parts::row(ui, ANSWERS, text, |ui| {
        for (is_yes, word, name) in [
            (false, Care::No, Care::AnswerNo),
            (true, Care::Yes, Care::AnswerYes),
        ] {
            let name = language.fill(name, &[ask]);
            if parts::pick(ui, language.say(word), &name, answer == Some(is_yes)) {
                acts.push(Act::Answer(place, is_yes));
            }
        }
    });
}

fn client(ui: &mut Ui, model: &Model, acts: &mut Vec<Act>) {
    let language = model.settings.language;
    parts::card(ui, |ui| {
        ui.set_min_width(ui.available_width());
        if model.client.is_try {
            parts::soft(ui, language.say(Flow::ClientTry));
            return;
        }
        if let Some(chosen) = model.booked() {
            let client = &chosen.account.client;
            let parts = [&*client.name, &client.code, &model.client.visit];
            parts::title(ui, &language.fill(Desk::At, &parts));
            return;
        }
        ui.horizontal_wrapped(|ui| {
            let client = &model.client;
            if let Some(code) =
                parts::field(ui, language.say(Flow::ClientCode), &client.code, "", 160.0)
            {
                acts.push(Act::Client(code));
            }
            ui.add_space(theme::SPACE);
            if let Some(visit) =
                parts::field(ui, language.say(Flow::ClientVisit), &client.visit, "", 80.0)
            {
                acts.push(Act::Visit(visit));
            }
            ui.add_space(theme::SPACE);
            parts::soft(ui, language.say(Flow::ClientHint));
        });
        parts::soft(ui, language.say(Desk::NotKept));
    });
}

fn verdict(model: &Model) -> String {
    let language = model.settings.language;
    match model.cautions.verdict() {
        Verdict::Asking(left) => language.fill(Care::Left, &[&left.to_string()]),
        Verdict::Stops => language.say(Care::StoppedNow).to_owned(),
        Verdict::Heeded => language.say(Care::AskedHeed).to_owned(),
        Verdict::Clear => language.say(Care::AllAsked).to_owned(),
    }
}

/// An answer stands against the test.
pub(super) fn stopped(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let language = model.settings.language;
    parts::now(ui, language.say(Care::StoppedNow));
    for question in model.cautions.yes(Weight::Stops) {
        parts::card(ui, |ui| {
            ui.set_min_width(ui.available_width());
            parts::soft(ui, language.say(question.ask));
            parts::fault(ui, language.say(question.then));
        });
        ui.add_space(theme::GAP);
    }
    let after = if model.client.is_booked {
        Care::StoppedBooked
    } else {
        Care::StoppedAfter
    };
    parts::soft(ui, language.say(after));
    Vec::new()
}
