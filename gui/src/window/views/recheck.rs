//! The round after the drill: how to do it, then what it says against the round before.

use casebook::report::said;
use casebook::{Recheck, RecheckError, SideChange};
use eframe::egui::{Label, RichText, Ui};

use super::parts;
use crate::window::model::{Act, Chosen, Model};
use crate::window::theme;
use crate::window::words::{self, Language, Practice};

/// What to do, or what came of it.
pub(super) fn recheck(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let language = model.settings.language;
    let Some(chosen) = model.booked() else {
        parts::soft(ui, language.say(Practice::AgainNoDrill));
        return Vec::new();
    };
    match &chosen.recheck {
        Some(Ok(found)) => changed(ui, language, chosen, found),
        Some(Err(why)) => {
            let phrase = match why {
                RecheckError::OtherWay { .. } => Practice::OtherWay,
                RecheckError::NoSide => Practice::NoSide,
            };
            parts::now(ui, language.say(Practice::AgainResult));
            parts::fault(ui, language.say(phrase));
        }
        None => wanted(ui, model, chosen),
    }
    Vec::new()
}

/// The same legs in the same order, as often.
fn wanted(ui: &mut Ui, model: &Model, chosen: &Chosen) {
    let language = model.settings.language;
    let Some(drill) = chosen.visit().and_then(|visit| visit.drill.as_ref()) else {
        let is_working = 0 < model.book.waiting;
        let phrase = if is_working {
            Practice::Keeping
        } else {
            Practice::AgainNoDrill
        };
        parts::soft(ui, language.say(phrase));
        return;
    };
    let legs = chosen.first_round().into_iter().map(|(side, count)| {
        let side = words::side(language, side);
        language.fill(Practice::AgainLeg, &[side, &count.to_string()])
    });
    let order = legs.reduce(|so_far, leg| language.fill(Practice::AgainThen, &[&so_far, &leg]));
    let order = order.unwrap_or_default();
    parts::now(ui, &language.fill(Practice::AgainNow, &[&order]));
    if let Some(ended) = drill.ended {
        let since_s = model.civil.duration_since(ended).as_secs_f64();
        let within_s = within_s(chosen);
        let left_s = within_s - since_s;
        let text = if 0.0 < left_s && 0.0 <= since_s {
            language.fill(Practice::AgainWithin, &[&language.number(left_s.ceil(), 0)])
        } else {
            language.fill(Practice::AgainLate, &[&language.number(within_s, 0)])
        };
        parts::title(ui, &text);
        let at = ended.strftime("%H:%M").to_string();
        parts::soft(ui, &language.fill(Practice::DrillWas, &[&drill.name, &at]));
    }
    if !model.measure.recorded.is_empty() && !model.measure.again.is_empty() {
        parts::soft(ui, language.say(Practice::Keeping));
    }
}

/// A re-check begins within this time after the drill, as the practitioner's rules have it, s.
fn within_s(chosen: &Chosen) -> f64 {
    let rules = &chosen.account.rules;
    rules.get("recheck_within_s").unwrap_or_default()
}

fn changed(ui: &mut Ui, language: Language, chosen: &Chosen, found: &Recheck) {
    parts::now(ui, language.say(Practice::AgainResult));
    if let Some(drill) = chosen.visit().and_then(|visit| visit.drill.as_ref()) {
        parts::soft(ui, &drill.name);
    }
    let mut half = |ui: &mut Ui, which: usize| {
        if let Some(side) = found.sides.get(which) {
            parts::card(ui, |ui| {
                ui.set_min_width(ui.available_width());
                leg(ui, language, side);
            });
        }
    };
    parts::halves(ui, 900.0, &mut half);
    ui.add_space(theme::GAP);
    for note in &found.notes {
        let text = said::sentence(&said::recheck_note(language.report(), note));
        ui.add(Label::new(text).wrap());
    }
}

fn leg(ui: &mut Ui, language: Language, side: &SideChange) {
    let report = language.report();
    let name = words::side(language, side.after.side);
    parts::soft(ui, &language.fill(words::Flow::ResultSide, &[name]));
    let change = &side.change;
    let deg = language.degrees(change.amount.degrees());
    let sign = if 0.0 < change.amount.degrees() {
        "+"
    } else {
        ""
    };
    ui.horizontal_wrapped(|ui| {
        ui.label(RichText::new(format!("{sign}{deg}")).font(theme::figures(56.0)));
        let expanded = language.degrees(change.expanded.degrees());
        ui.label(RichText::new(format!("± {expanded}")).font(theme::figures(26.0)));
    });
    let judged = if change.is_beyond_error() {
        Practice::Beyond
    } else {
        Practice::Within
    };
    parts::title(ui, language.say(judged));
    for (phrase, summary) in [
        (Practice::Before, &side.before),
        (Practice::After, &side.after),
    ] {
        let [mean, expanded] =
            [summary.mean, summary.expanded].map(|angle| language.degrees(angle.degrees()));
        ui.add(Label::new(language.fill(phrase, &[&mean, &expanded])).wrap());
    }
    parts::soft(ui, &said::sentence(&said::change(report, change)));
    for (phrase, warm_up) in [
        (Practice::WarmBefore, &side.warm_up_before),
        (Practice::WarmAfter, &side.warm_up_after),
    ] {
        if let Some(warm_up) = warm_up {
            let text = said::warm_up(report, warm_up);
            parts::soft(ui, &said::sentence(&language.fill(phrase, &[&text])));
        }
    }
}
