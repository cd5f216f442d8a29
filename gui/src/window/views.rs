//! What is drawn: functions of the model that hand back what the person wants.

mod browse;
mod cautions;
mod curve;
mod figure;
mod flat;
mod manner;
mod measure;
mod number;
mod parts;
mod result;
mod rounds;
mod sensors;
mod settings;
mod start;
mod told;
mod trail;

use eframe::egui::{CentralPanel, Frame, Margin, Panel, ScrollArea, Ui};

use super::model::{Act, Model, Screen};
use super::theme::{self, Palette};

/// The whole window.
pub(super) fn window(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let mut acts = Vec::new();
    let colours = Palette::of(ui);
    let bar = Frame::new()
        .fill(colours.card)
        .inner_margin(Margin::symmetric(16, 8));
    Panel::top("trail")
        .frame(bar)
        .show(ui, |ui| acts.extend(trail::trail(ui, model)));
    let foot = Frame::new()
        .fill(colours.card)
        .inner_margin(Margin::symmetric(16, 10));
    Panel::bottom("foot")
        .frame(foot)
        .show(ui, |ui| acts.extend(foot_of(ui, model)));
    let ground = Frame::new()
        .fill(colours.ground)
        .inner_margin(Margin::symmetric(24, 12));
    CentralPanel::default().frame(ground).show(ui, |ui| {
        acts.extend(told::told(ui, model));
        if model.screen == Screen::Measure {
            acts.extend(measure::measure(ui, model));
        } else {
            let id = ("content", model.screen as usize);
            ScrollArea::vertical()
                .id_salt(id)
                .auto_shrink(false)
                .show(ui, |ui| {
                    // The bar of scrolling lies beside what is scrolled, not on it.
                    ui.set_max_width(ui.available_width() - 10.0);
                    acts.extend(content(ui, model));
                });
        }
    });
    acts
}

fn content(ui: &mut Ui, model: &Model) -> Vec<Act> {
    match model.screen {
        Screen::Start => start::start(ui, model),
        Screen::Cautions => cautions::cautions(ui, model),
        Screen::Stopped => cautions::stopped(ui, model),
        Screen::Sensors => sensors::sensors(ui, model),
        Screen::Flat => flat::flat(ui, model),
        Screen::Manner => manner::manner(ui, model),
        Screen::Measure => Vec::new(), // has no scrolling
        Screen::Result => result::result(ui, model),
        Screen::Browse => browse::browse(ui, model),
        Screen::Settings => settings::settings(ui, model),
    }
}

/// Back, what comes next, and the line that stands under everything.
fn foot_of(ui: &mut Ui, model: &Model) -> Vec<Act> {
    if model.screen == Screen::Measure {
        return measure::buttons(ui, model);
    }
    let language = model.settings.language;
    let (back, next) = ways(model);
    let mut acts = Vec::new();
    ui.horizontal(|ui| {
        if let Some(way) = &back
            && parts::back(ui, way.text(language)).clicked()
        {
            acts.push(way.act.clone());
        }
        if let Some(way) = &next {
            let button = parts::primary(way.text(language));
            if ui.add_enabled(way.is_open, button).clicked() {
                acts.push(way.act.clone());
            }
        }
        let width = ui.available_width();
        if 300.0 < width {
            ui.add_space(theme::GAP);
            parts::small(ui, language.say(super::words::Care::Line));
        }
    });
    acts
}

/// A way to another screen.
pub(super) struct Way {
    phrase: super::words::Flow,
    care: Option<super::words::Care>,
    /// What it does.
    pub(super) act: Act,
    /// Whether it can be gone.
    pub(super) is_open: bool,
}

impl Way {
    fn text(&self, language: super::words::Language) -> &'static str {
        self.care
            .map_or_else(|| language.say(self.phrase), |care| language.say(care))
    }
}

/// The ways back and on from a screen.
pub(super) fn ways(model: &Model) -> (Option<Way>, Option<Way>) {
    use super::model::Verdict;
    use super::words::{Care, Flow};
    let way = |phrase, screen| Way {
        phrase,
        care: None,
        act: Act::Go(screen),
        is_open: true,
    };
    let back = |screen| Some(way(Flow::Back, screen));
    match model.screen {
        Screen::Start | Screen::Measure => (None, None),
        Screen::Cautions => {
            let named = model.client.is_named();
            let (care, screen, is_open) = match model.cautions.verdict() {
                Verdict::Asking(_) => (Care::GoOn, Screen::Sensors, false),
                Verdict::Stops => (Care::GoOn, Screen::Stopped, true),
                Verdict::Heeded => (Care::GoHeed, Screen::Sensors, named),
                Verdict::Clear => (Care::GoOn, Screen::Sensors, named),
            };
            let next = Way {
                care: Some(care),
                is_open,
                ..way(Flow::ToFlat, screen)
            };
            (back(Screen::Start), Some(next))
        }
        Screen::Stopped => {
            let again = Way {
                care: Some(Care::StoppedBack),
                ..way(Flow::Back, Screen::Cautions)
            };
            let new = Way {
                act: Act::NextClient,
                ..way(Flow::ResultNew, Screen::Cautions)
            };
            (Some(again), Some(new))
        }
        Screen::Sensors => {
            let is_open = !model.sensors.words().is_empty();
            let next = Way {
                is_open,
                ..way(Flow::ToFlat, Screen::Flat)
            };
            (back(Screen::Cautions), Some(next))
        }
        Screen::Flat => {
            let phrase = if model.flat.judged.is_empty() {
                Flow::FlatSkip
            } else {
                Flow::ToFlat
            };
            (back(Screen::Sensors), Some(way(phrase, Screen::Manner)))
        }
        Screen::Manner => (
            back(Screen::Flat),
            Some(way(Flow::MannerGo, Screen::Measure)),
        ),
        Screen::Result => {
            let new = Way {
                act: Act::NextClient,
                ..way(Flow::ResultNew, Screen::Cautions)
            };
            (Some(way(Flow::ResultMore, Screen::Measure)), Some(new))
        }
        Screen::Browse | Screen::Settings => (back(model.before), None),
    }
}
