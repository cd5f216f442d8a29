//! Keys that do what the buttons do. A key that is taken here doesn't press a button as well.

use eframe::egui::{Key, Modifiers, Ui};

use super::model::{Act, MeasureAct, Model, PaceAct, Phase, Screen};
use super::views::ways;

/// What the keys of this moment want.
pub(super) fn keys(ui: &Ui, model: &Model) -> Vec<Act> {
    if ui.ctx().text_edit_focused() {
        return Vec::new();
    }
    let taken = |key: Key| ui.input_mut(|input| input.consume_key(Modifiers::NONE, key));
    let is_free = ui.memory(|memory| memory.focused().is_none());
    if model.screen == Screen::Measure {
        return measuring(model, is_free, &taken).into_iter().collect();
    }
    if let (Screen::Pacer, Some(pace)) = (model.screen, &model.pace)
        && is_free
        && taken(Key::Space)
    {
        let act = if pace.is_running() {
            PaceAct::Pause
        } else {
            PaceAct::Start
        };
        return vec![Act::Pace(act)];
    }
    let (back, next) = ways(model);
    let mut acts = Vec::new();
    if taken(Key::Escape) {
        acts.extend(back.map(|way| way.act));
    } else if is_free && taken(Key::Enter) {
        acts.extend(next.filter(|way| way.is_open).map(|way| way.act));
    }
    acts
}

fn measuring(model: &Model, is_free: bool, taken: &dyn Fn(Key) -> bool) -> Option<Act> {
    let act = |act: MeasureAct| Some(Act::Raise(act));
    let is_running = model.measure.phase == Phase::Running;
    if is_running {
        // The marks go before everything: a client's pull can't wait for the focus.
        if taken(Key::Space) {
            return act(MeasureAct::Pull);
        }
        if taken(Key::S) {
            return act(MeasureAct::Stop);
        }
        if taken(Key::U) || taken(Key::Backspace) {
            return act(MeasureAct::Undo);
        }
    }
    if taken(Key::N) || is_running && is_free && taken(Key::Enter) {
        return act(MeasureAct::Next);
    }
    if model.measure.phase == Phase::Ready {
        if is_free && (taken(Key::Space) || taken(Key::Enter)) {
            return act(MeasureAct::Start);
        }
        if taken(Key::Escape) {
            return Some(Act::Go(Screen::Manner));
        }
    }
    None
}
