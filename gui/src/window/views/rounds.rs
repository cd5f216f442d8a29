//! Rounds as they come; each can be left out of the mean, with a reason.

use eframe::egui::{Button, Label, RichText, ScrollArea, Ui, vec2};

use super::parts;
use crate::window::model::{Act, MeasureAct, Model, Round, Why};
use crate::window::theme::{self, Palette};
use crate::window::words::{self, Language, Live};

/// The list.
pub(super) fn rounds(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let language = model.settings.language;
    let mut acts = Vec::new();
    parts::card(ui, |ui| {
        ui.set_min_size(ui.available_size());
        let rounds = &model.measure.course.rounds;
        if let Some(place) = model.measure.asked {
            acts.extend(why(
                ui,
                language,
                |why| MeasureAct::Out(place, Some(why)),
                MeasureAct::Ask(None),
            ));
            return;
        }
        parts::soft(ui, language.say(Live::Rounds));
        if rounds.is_empty() {
            ui.label(language.say(Live::RoundsNone));
        }
        ScrollArea::vertical()
            .auto_shrink(false)
            .stick_to_bottom(true)
            .show(ui, |ui| {
                for (place, round) in rounds.iter().enumerate() {
                    row(ui, language, place, round, &mut acts);
                }
            });
    });
    acts
}

fn row(ui: &mut Ui, language: Language, place: usize, round: &Round, acts: &mut Vec<Act>) {
    let colours = Palette::of(ui);
    let side = words::side(language, round.side);
    let number = round.number.to_string();
    let text = |ui: &mut Ui| {
        let text = match round.end {
            Some(end) => {
                let (deg, reason) = (
                    language.degrees(end.angle.degrees()),
                    words::reason(language, end.reason),
                );
                language.fill(Live::Round, &[side, &number, &deg, reason])
            }
            None => language.fill(
                Live::RoundNoEnd,
                &[side, &number, &language.degrees(round.peak_deg)],
            ),
        };
        let mut text = RichText::new(text).size(20.0);
        if round.out.is_some() {
            text = text.strikethrough().color(colours.soft);
        }
        ui.add_space(8.0); // beside the middle of its button
        ui.add(Label::new(text).wrap());
        if let Some(why) = round.out {
            let why = words::why(language, why);
            parts::small(ui, &language.fill(Live::RoundOut, &[why]));
        } else if round.has_gap {
            let text = RichText::new(language.say(Live::GapPeak)).size(theme::SMALL);
            ui.add(Label::new(text.color(colours.alarm)).wrap());
        }
    };
    parts::row(ui, theme::TOUCH + 20.0, text, |ui| {
        let (sign, phrase, act) = match round.out {
            None => ("×", Live::LeaveOut, MeasureAct::Ask(Some(place))),
            Some(_) => ("+", Live::TakeBack, MeasureAct::Out(place, None)),
        };
        let name = language.fill(phrase, &[side, &number]);
        let button =
            Button::new(RichText::new(sign).size(22.0)).min_size(vec2(theme::TOUCH, theme::TOUCH));
        let response = ui.add(button);
        if parts::named(response, eframe::egui::accesskit::Role::Button, &name, true).clicked() {
            acts.push(Act::Raise(act));
        }
    });
}

/// Why something is left out.
pub(super) fn why(
    ui: &mut Ui,
    language: Language,
    out: impl Fn(Why) -> MeasureAct,
    cancel: MeasureAct,
) -> Vec<Act> {
    let mut acts = Vec::new();
    parts::title(ui, language.say(Live::LeaveWhy));
    ui.horizontal_wrapped(|ui| {
        for reason in Why::ALL {
            if parts::plain(ui, words::why(language, reason)).clicked() {
                acts.push(Act::Raise(out(reason)));
            }
        }
        if parts::plain(ui, language.say(Live::Cancel)).clicked() {
            acts.push(Act::Raise(cancel));
        }
    });
    acts
}
