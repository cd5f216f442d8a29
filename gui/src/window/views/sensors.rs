//! Sensors: where each sits, what it is, how it does.

use eframe::egui::{Checkbox, Label, RichText, Ui};

use fusion::Agreement;

use super::parts;
use crate::live::Health;
use crate::window::model::{Act, Model, Purpose, Row, Sensors, SensorsAct};
use crate::window::theme::{self, Palette};
use crate::window::words::{self, Flow, Language};

/// Width of a place's name with its box.
const NAMES: f32 = 190.0;

/// The form and how to strap.
pub(super) fn sensors(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let language = model.settings.language;
    let is_checking = model.running == Some(Purpose::Check);
    let now = match (is_checking, model.client.is_try) {
        (true, _) => Flow::SensorsNowChecking,
        (_, true) => Flow::SensorsNowTry,
        _ => Flow::SensorsNow,
    };
    parts::now(ui, language.say(now));
    let mut acts = Vec::new();
    if let Some(text) = &model.sensors.fault {
        parts::fault(ui, text);
        ui.add_space(theme::GAP);
    }
    let mut half = |ui: &mut Ui, which: usize| {
        if which == 0 {
            form(ui, model, is_checking, &mut acts);
        } else {
            strap(ui, model);
        }
    };
    parts::halves(ui, 900.0, &mut half);
    acts
}

fn form(ui: &mut Ui, model: &Model, is_checking: bool, acts: &mut Vec<Act>) {
    let language = model.settings.language;
    parts::card(ui, |ui| {
        ui.set_min_width(ui.available_width());
        for row in &model.sensors.rows {
            place(ui, row, model, acts);
        }
        if model.sensors.words().is_empty() {
            parts::soft(ui, language.say(Flow::SensorNone));
        }
        ui.add_space(theme::GAP);
        let (phrase, act) = if is_checking {
            (Flow::StopCheck, SensorsAct::EndCheck)
        } else if model.sensors.health.is_empty() {
            (Flow::Check, SensorsAct::Check)
        } else {
            (Flow::CheckAgain, SensorsAct::Check)
        };
        if parts::plain(ui, language.say(phrase)).clicked() {
            acts.push(Act::Sensors(act));
        }
        #[cfg(feature = "ble")]
        if !is_checking && !model.client.is_try {
            near(ui, model, acts);
        }
    });
}

/// Bluetooth sensors that are near, each to be taken for a place that is ticked.
#[cfg(feature = "ble")]
fn near(ui: &mut Ui, model: &Model, acts: &mut Vec<Act>) {
    use crate::window::model::Search;
    use crate::window::words::Near;
    let language = model.settings.language;
    if model.sensors.near == Search::Going {
        parts::soft(ui, language.say(Near::Going));
    } else if parts::plain(ui, language.say(Near::Look)).clicked() {
        acts.push(Act::Sensors(SensorsAct::Search));
    }
    let found = match &model.sensors.near {
        Search::Done(Err(text)) => return parts::fault(ui, text),
        Search::Done(Ok(found)) => found,
        _ => return,
    };
    if found.is_empty() {
        parts::soft(ui, language.say(Near::Nothing));
    }
    for one in found {
        let signal = one.signal_dbm.map(|dbm| language.number(dbm.into(), 0));
        let text = signal.map_or_else(
            || one.name.clone(),
            |dbm| language.fill(Near::Signal, &[&one.name, &dbm]),
        );
        parts::soft(ui, &text);
        ui.horizontal_wrapped(|ui| {
            for row in model.sensors.rows.iter().filter(|row| row.is_used) {
                let place = words::placement(language, row.placement);
                let text = language.fill(Near::Use, &[&one.name, place]);
                if parts::plain(ui, &text).clicked() {
                    let act = SensorsAct::Text(row.placement, one.text.clone());
                    acts.push(Act::Sensors(act));
                }
            }
        });
    }
}

/// One place of the form.
fn place(ui: &mut Ui, row: &Row, model: &Model, acts: &mut Vec<Act>) {
    let language = model.settings.language;
    let name = words::placement(language, row.placement);
    ui.horizontal(|ui| {
        let mut is_used = row.is_used;
        let left = ui.cursor().left();
        let check = ui.add(Checkbox::new(&mut is_used, name));
        // All fields begin at one place.
        ui.add_space((left + NAMES - check.rect.right()).max(0.0));
        let label = language.fill(Flow::SensorUsed, &[name]);
        let info = || {
            eframe::egui::WidgetInfo::selected(
                eframe::egui::accesskit::Role::CheckBox,
                true,
                is_used,
                &label,
            )
        };
        check.widget_info(info);
        if check.changed() {
            acts.push(Act::Sensors(SensorsAct::Use(row.placement, is_used)));
        }
        if row.is_used {
            let mut text = row.text.clone();
            let width = (ui.available_width() - 10.0).max(120.0);
            let colour = Palette::of(ui).soft;
            let edit = eframe::egui::TextEdit::singleline(&mut text)
                .hint_text(RichText::new("ble:open-motion").color(colour))
                .desired_width(width)
                .char_limit(200)
                .margin(eframe::egui::Margin::symmetric(10, 10));
            let response = ui.add(edit);
            let label = language.fill(Flow::SensorText, &[name]);
            response.widget_info(|| {
                let mut info = eframe::egui::WidgetInfo::text_edit(true, &row.text, &text, "");
                info.label = Some(label.clone());
                info
            });
            if response.changed() {
                acts.push(Act::Sensors(SensorsAct::Text(row.placement, text)));
            }
        }
    });
    if row.is_used {
        if let Some(fault) = Sensors::text_fault(row) {
            parts::fault(ui, &fault);
        }
        ui.horizontal_wrapped(|ui| {
            health(ui, row, model);
        });
    }
}

fn health(ui: &mut Ui, row: &Row, model: &Model) {
    let language = model.settings.language;
    let colours = Palette::of(ui);
    let Some(health) = model.sensors.health_of(row.placement) else {
        parts::soft(ui, language.say(Flow::HealthWaiting));
        return;
    };
    let is_well = words::link_is_well(health.link);
    let colour = if is_well { colours.well } else { colours.alarm };
    parts::sign(ui, is_well);
    ui.add(Label::new(
        RichText::new(words::link(language, health.link)).color(colour),
    ));
    if model.sensors.up == Some(row.placement) {
        let text = RichText::new(format!(" {} ", language.say(Flow::HealthMoved)));
        ui.add(Label::new(
            text.color(colours.on_accent)
                .background_color(colours.accent),
        ));
    } else if model.sensors.lifted.contains(&row.placement) {
        parts::sign(ui, true);
        parts::soft(ui, language.say(Flow::HealthMoved));
    }
    parts::soft(ui, &figures(health, language));
    agreement(ui, &health.agreement, language);
}

/// Whether the unit agrees with itself, once it has shown.
fn agreement(ui: &mut Ui, shown: &Agreement, language: Language) {
    let fault = match (shown.feels_gravity(), shown.turns_alike()) {
        (Some(false), _) => {
            let felt = language.number(shown.still_m_s2.unwrap_or_default(), 1);
            Some(language.fill(Flow::HealthNoGravity, &[&felt]))
        }
        (_, Some(false)) => {
            let off = shown.turn.map_or(0.0, |(_, off)| off.degrees());
            Some(language.fill(Flow::HealthTurns, &[&language.number(off, 0)]))
        }
        (Some(true), Some(true)) => None,
        _ => return,
    };
    if let Some(text) = fault {
        parts::fault(ui, &text);
    } else {
        parts::sign(ui, true);
        parts::soft(ui, language.say(Flow::HealthAgrees));
    }
}

/// Rate, losses, battery.
pub(super) fn figures(health: &Health, language: Language) -> String {
    let rate = language.number(health.rate_hz, 0);
    let nominal = language.number(health.nominal_hz, 0);
    let mut parts = vec![language.fill(Flow::HealthRate, &[&rate, &nominal])];
    parts.push(health.lost_count.map_or_else(
        || language.say(Flow::HealthUnseen).to_owned(),
        |count| language.fill(Flow::HealthLost, &[&count.to_string()]),
    ));
    if let Some(percent) = health.battery_percent {
        parts.push(language.fill(Flow::HealthBattery, &[&percent.to_string()]));
    }
    parts.join(" · ")
}

fn strap(ui: &mut Ui, model: &Model) {
    let language = model.settings.language;
    parts::card(ui, |ui| {
        ui.set_min_width(ui.available_width());
        parts::title(ui, language.say(Flow::StrapTitle));
        for phrase in [
            Flow::StrapFlat,
            Flow::StrapTight,
            Flow::StrapSame,
            Flow::StrapSkin,
            Flow::StrapClean,
            Flow::StrapWarm,
        ] {
            ui.horizontal_top(|ui| {
                ui.label("–");
                ui.add(Label::new(language.say(phrase)).wrap());
            });
        }
        if let Some(since) = model.sensors.strapped {
            let minutes = model.now.saturating_duration_since(since).as_secs() / 60;
            parts::soft(ui, &language.fill(Flow::OnSkin, &[&minutes.to_string()]));
        }
        ui.separator();
        parts::soft(ui, language.say(Flow::SensorFormsTitle));
        ui.add(Label::new(RichText::new(language.say(Flow::SensorForms)).monospace()).wrap());
    });
}
