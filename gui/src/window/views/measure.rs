//! The measuring screen: the angle large, the leg from the side, the curve, the rounds, and few big buttons.

use eframe::egui::{Rect, Ui, UiBuilder, pos2, vec2};
use fusion::RaiseState;

use super::{curve, figure, number, parts, rounds};
use crate::window::model::{Act, MeasureAct, Model, Phase};
use crate::window::theme;
use crate::window::words::{self, Flow, Live, Practice};

/// Narrower than this a button has no room for its key.
pub(super) const NARROW: f32 = 170.0;
/// Lower than this there is only room for the angle.
const ROOM: f32 = 330.0;

/// All but the buttons.
pub(super) fn measure(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let mut acts = Vec::new();
    parts::now(ui, &now(model));
    if let Some(text) = &model.measure.fault {
        let language = model.settings.language;
        parts::fault(ui, &language.fill(Live::Failed, &[text]));
    }
    let room = ui.available_rect_before_wrap();
    if room.height() < ROOM {
        number::number(ui, model, room);
        return acts;
    }
    let gap = theme::GAP * 1.5;
    let upper = (room.height() * 0.56).floor();
    let left = (room.width() * 0.46).floor();
    let middle_y = room.top() + upper;
    number::number(
        ui,
        model,
        Rect::from_min_max(room.min, pos2(room.left() + left, middle_y)),
    );
    let figure_room = Rect::from_min_max(
        pos2(room.left() + left + gap, room.top()),
        pos2(room.right(), middle_y),
    );
    figure::live(ui, model, figure_room);
    let wide = (room.width() * 0.62).floor();
    let below = middle_y + gap;
    let curve_room = Rect::from_min_max(
        pos2(room.left(), below),
        pos2(room.left() + wide, room.bottom()),
    );
    inside(ui, curve_room, |ui| curve::live(ui, model));
    let list = Rect::from_min_max(pos2(room.left() + wide + gap, below), room.max);
    inside(ui, list, |ui| acts.extend(rounds::rounds(ui, model)));
    ui.allocate_rect(room, eframe::egui::Sense::hover());
    acts
}

/// Draws into a part of the screen.
pub(super) fn inside(ui: &mut Ui, rect: Rect, add: impl FnOnce(&mut Ui)) {
    let mut child = ui.new_child(UiBuilder::new().max_rect(rect));
    child.set_clip_rect(rect.intersect(ui.clip_rect()));
    add(&mut child);
}

/// What to do now, in one sentence.
pub(super) fn now(model: &Model) -> String {
    let language = model.settings.language;
    let measure = &model.measure;
    let leg = words::side(language, measure.leg);
    let course = &measure.course;
    match measure.phase {
        Phase::Ready if measure.has(measure.leg.other()) && model.sensors.moves() => {
            language.fill(Live::ReadyStrap, &[leg])
        }
        Phase::Ready => match measure.again.iter().find(|(side, _)| *side == measure.leg) {
            Some((_, count)) => language.fill(Practice::ReadyAgain, &[leg, &count.to_string()]),
            None => language.fill(Live::ReadyNow, &[leg]),
        },
        Phase::Opening => language.say(Live::OpeningNow).to_owned(),
        Phase::Writing => language.say(Live::WritingNow).to_owned(),
        Phase::Running if course.silent_s(model.now).is_some() => {
            language.say(Live::LostNow).to_owned()
        }
        Phase::Running => {
            let Some(reading) = &course.leading else {
                return language.say(Live::SettleNow).to_owned();
            };
            let end = course.open_round().and_then(|round| round.end);
            match (reading.state, end) {
                (_, Some(end)) if end.reason == fusion::Reason::Stop => {
                    language.say(Live::StoppedNow).to_owned()
                }
                (RaiseState::Settling, _) => language.say(Live::SettleNow).to_owned(),
                (RaiseState::Resting, _) => language.fill(Live::RestNow, &[leg]),
                (RaiseState::Lowering, _) => language.say(Live::LowerNow).to_owned(),
                (_, Some(_)) => language.say(Live::EndNow).to_owned(),
                _ => language.say(Live::RiseNow).to_owned(),
            }
        }
    }
}

/// The buttons under it.
pub(super) fn buttons(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let language = model.settings.language;
    let say = |phrase| language.say(phrase);
    let mut acts = Vec::new();
    let mut press = |act: MeasureAct| acts.push(Act::Raise(act));
    let mut goes_back = false;
    let width = (ui.available_width() - 3.0 * theme::GAP) / 4.0;
    let size = vec2(width, theme::BIG);
    if width < NARROW {
        // The names of the buttons are needed more than their keys.
        ui.spacing_mut().button_padding.x = 6.0;
    }
    ui.horizontal(|ui| match model.measure.phase {
        Phase::Running => {
            let pull = parts::primary(say(Live::Pull))
                .with_key(say(Live::KeySpace))
                .sized(size);
            if ui.add(pull).clicked() {
                press(MeasureAct::Pull);
            }
            let stop = parts::primary(say(Live::Stop))
                .with_key(say(Live::KeyStop))
                .sized(size)
                .alarm();
            if ui.add(stop).clicked() {
                press(MeasureAct::Stop);
            }
            let has_mark = model.measure.last_mark().is_some();
            if parts::with_key(ui, say(Live::Undo), say(Live::KeyUndo), size, has_mark).clicked() {
                press(MeasureAct::Undo);
            }
            if parts::with_key(ui, say(Live::Next), say(Live::KeyNext), size, true).clicked() {
                press(MeasureAct::Next);
            }
        }
        phase => {
            goes_back = parts::with_key(
                ui,
                language.say(Flow::Back),
                "",
                size,
                phase == Phase::Ready,
            )
            .clicked();
            let start = parts::primary(say(Live::Start))
                .with_key(say(Live::KeySpace))
                .sized(size);
            if ui.add_enabled(phase == Phase::Ready, start).clicked() {
                press(MeasureAct::Start);
            }
            let other = model.measure.leg.other();
            let text = language.fill(Live::OtherLegNow, &[words::side(language, other)]);
            if parts::with_key(ui, &text, "", size, phase == Phase::Ready).clicked() {
                press(MeasureAct::Leg(other));
            }
            let (text, is_open) = match phase {
                Phase::Opening => (language.say(Flow::Close), true),
                _ => (
                    say(Live::Finish),
                    phase == Phase::Ready && !model.measure.recorded.is_empty(),
                ),
            };
            if parts::with_key(ui, text, say(Live::KeyNext), size, is_open).clicked() {
                press(MeasureAct::Next);
            }
        }
    });
    if goes_back {
        acts.push(Act::Go(crate::window::model::Screen::Manner));
    }
    acts
}
