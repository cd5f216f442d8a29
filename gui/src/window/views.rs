//! What is drawn: functions of the model that hand back what the person wants.

mod affairs;
mod book;
mod browse;
mod cautions;
mod client_bar;
mod clients;
mod curve;
mod drill;
mod drill_figure;
mod figure;
mod findings;
mod flat;
mod manner;
mod measure;
mod number;
mod pacer;
mod parts;
mod recheck;
mod report;
mod result;
mod rounds;
mod sensors;
mod settings;
mod shelf;
mod start;
mod told;
mod trail;
mod visit;
mod ways;
mod weeks;

use eframe::egui::{CentralPanel, Frame, Margin, Panel, ScrollArea, Ui};

use super::model::{Act, Model, Screen};
use super::theme::{self, Palette};

pub(super) use ways::ways;

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
        parts::aside(ui, model.told.is_empty(), |ui| {
            acts.extend(told::told(ui, model));
        });
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
    if model.screen.is_of_client() {
        return of_client(ui, model);
    }
    match model.screen {
        Screen::Start => start::start(ui, model),
        Screen::Cautions => cautions::cautions(ui, model),
        Screen::Stopped => cautions::stopped(ui, model),
        Screen::Sensors => sensors::sensors(ui, model),
        Screen::Flat => flat::flat(ui, model),
        Screen::Manner => manner::manner(ui, model),
        Screen::Result => result::result(ui, model),
        Screen::Browse => browse::browse(ui, model),
        Screen::Settings => settings::settings(ui, model),
        Screen::Book => book::book(ui, model),
        Screen::Clients => clients::clients(ui, model),
        Screen::Shelf => shelf::shelf(ui, model),
        // It has no scrolling; the others are of a client.
        Screen::Measure
        | Screen::Drill
        | Screen::Pacer
        | Screen::Recheck
        | Screen::Weeks
        | Screen::Report
        | Screen::Affairs => Vec::new(),
    }
}

/// Screens of one client, with the line that says whose they are.
fn of_client(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let mut acts = client_bar::client_bar(ui, model);
    acts.extend(match model.screen {
        Screen::Drill => drill::drill(ui, model),
        Screen::Pacer => pacer::pacer(ui, model),
        Screen::Recheck => recheck::recheck(ui, model),
        Screen::Weeks => weeks::weeks(ui, model),
        Screen::Affairs => affairs::affairs(ui, model),
        _ => report::report(ui, model),
    });
    acts
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
            && parts::back(ui, way.text).clicked()
        {
            acts.push(way.act.clone());
        }
        if let Some(way) = &next {
            let button = parts::primary(way.text);
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
