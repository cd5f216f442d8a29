//! Earlier recordings: clients, visits and runs on the left, the raises of one on the right.

use eframe::egui::accesskit::Role;
use eframe::egui::{
    Checkbox, Label, RichText, ScrollArea, Sense, Slider, Stroke, Ui, WidgetInfo, vec2,
};
use fusion::{Measured, Raise};
use sensor::bids::RunFiles;

use super::{curve, figure, parts};
use crate::window::model::{Act, Browse, BrowseAct, Look, Model, Recording};
use crate::window::theme::{self, Palette};
use crate::window::words::{self, Flow, Language};

/// Width of the list.
const LIST: f32 = 300.0;

/// The folder, the list, the recording.
pub(super) fn browse(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let language = model.settings.language;
    let mut acts = Vec::new();
    parts::now(ui, language.say(Flow::BrowseNow));
    ui.horizontal_wrapped(|ui| {
        let folder = model.settings.folder.display().to_string();
        if let Some(text) = parts::field(ui, language.say(Flow::BrowseFolder), &folder, "", 420.0) {
            acts.push(Act::Browse(BrowseAct::Folder(text)));
        }
        if parts::plain(ui, language.say(Flow::BrowseOpen)).clicked() {
            acts.push(Act::Browse(BrowseAct::Look));
        }
    });
    ui.add_space(theme::GAP);
    match &model.browse.look {
        Look::Unknown => {}
        Look::Looking => drop(parts::soft(ui, language.say(Flow::BrowseLooking))),
        Look::Failed(text) => parts::fault(ui, text),
        Look::Found(runs) if runs.is_empty() => parts::card(ui, |ui| {
            parts::title(ui, language.say(Flow::BrowseEmpty));
            if parts::plain(ui, language.say(Flow::BrowseDemo)).clicked() {
                acts.push(Act::Browse(BrowseAct::Invent));
            }
        }),
        Look::Found(runs) => {
            let height = ui.available_height();
            ui.horizontal_top(|ui| {
                ui.vertical(|ui| {
                    ui.set_width(LIST);
                    ScrollArea::vertical()
                        .id_salt("runs")
                        .max_height(height)
                        .auto_shrink(false)
                        .show(ui, |ui| {
                            list(ui, language, runs, &model.browse, &mut acts);
                        });
                });
                ui.vertical(|ui| {
                    let width = ui.available_width();
                    ui.set_width(width);
                    chosen(ui, model, &mut acts);
                });
            });
        }
    }
    acts
}

fn list(ui: &mut Ui, language: Language, runs: &[RunFiles], browse: &Browse, acts: &mut Vec<Act>) {
    let mut before: (Option<&str>, Option<&str>) = (None, None);
    for (place, run) in runs.iter().enumerate() {
        let (client, visit) = (run.id.subject.as_deref(), run.id.session.as_deref());
        if before.0 != client || place == 0 {
            parts::title(
                ui,
                &language.fill(Flow::BrowseClient, &[client.unwrap_or("–")]),
            );
            before.1 = None;
        }
        if before.1 != visit || before.0 != client {
            parts::soft(
                ui,
                &language.fill(Flow::BrowseVisit, &[visit.unwrap_or("–")]),
            );
        }
        before = (client, visit);
        let text = language.fill(Flow::BrowseRun, &[run.id.run.as_deref().unwrap_or("–")]);
        let name = run.id.to_string();
        if parts::pick(ui, &text, &name, browse.chosen == Some(place)) {
            acts.push(Act::Browse(BrowseAct::Choose(place)));
        }
    }
}

fn chosen(ui: &mut Ui, model: &Model, acts: &mut Vec<Act>) {
    let (language, browse) = (model.settings.language, &model.browse);
    let recording = match (&browse.recording, browse.chosen) {
        (_, None) => return drop(parts::soft(ui, language.say(Flow::BrowsePick))),
        (None, _) => return drop(parts::soft(ui, language.say(Flow::BrowseReading))),
        (Some(Err(text)), _) => return parts::fault(ui, text),
        (Some(Ok(recording)), _) => recording,
    };
    let outcome = &recording.outcome;
    if let Some(text) = &outcome.error {
        parts::fault(ui, text);
    }
    let Some(raise) = outcome.raises.get(browse.raise) else {
        parts::title(ui, language.say(Flow::BrowseNothing));
        return;
    };
    ui.horizontal_wrapped(|ui| {
        for (place, raise) in outcome.raises.iter().enumerate() {
            let side = words::side(language, raise.side);
            let number = (place + 1).to_string();
            let name = language.fill(Flow::BrowseRaise, &[&number, side]);
            if parts::pick(
                ui,
                &format!("{number} {side}"),
                &name,
                place == browse.raise,
            ) {
                acts.push(Act::Browse(BrowseAct::Raise(place)));
            }
        }
        let mut is_overlaid = browse.is_overlaid;
        if ui
            .add(Checkbox::new(
                &mut is_overlaid,
                language.say(Flow::BrowseOverlay),
            ))
            .changed()
        {
            acts.push(Act::Browse(BrowseAct::Overlay(is_overlaid)));
        }
    });
    let moment_s = raise.start_s + browse.share * (raise.end_s - raise.start_s);
    curves(ui, model, recording, moment_s);
    scrub(ui, language, browse, acts);
    let mut half = |ui: &mut Ui, which: usize| {
        if which == 0 {
            pose(ui, model, recording, moment_s);
        } else {
            figures(ui, language, raise);
        }
    };
    parts::halves(ui, 640.0, &mut half);
    parts::small(ui, language.say(Flow::BrowseCausal));
}

/// The chosen raise, the others behind it if they are wanted.
fn curves(ui: &mut Ui, model: &Model, recording: &Recording, moment_s: f64) {
    let (language, browse, bands) = (model.settings.language, &model.browse, &model.book.bands);
    let colours = Palette::of(ui);
    let raises = &recording.outcome.raises;
    let Some(raise) = raises.get(browse.raise) else {
        return;
    };
    let response =
        curve::base("raise", vec2(ui.available_width(), 150.0), bands).show(ui, |plot| {
            plot.set_plot_bounds_y(-8.0..=peak_deg(raises).max(100.0) + 8.0);
            plot.set_plot_bounds_x(-0.8..=raise.end_s - raise.start_s + 0.8);
            curve::edges(plot, bands, &colours);
            for (place, (one, trace)) in raises.iter().zip(&recording.curves).enumerate() {
                let is_chosen = place == browse.raise;
                if is_chosen || browse.is_overlaid {
                    let ink = if one.side == raise.side {
                        colours.leg
                    } else {
                        colours.other
                    };
                    let stroke = if is_chosen {
                        Stroke::new(3.5, ink)
                    } else {
                        Stroke::new(1.5, ink)
                    };
                    curve::draw(plot, trace, f64::NEG_INFINITY, one.start_s, "", stroke);
                }
            }
            if let Some(end) = &raise.end_point {
                let deg = language.degrees(end.angle.value.degrees());
                let text = format!("{deg} · {}", words::reason(language, end.reason));
                curve::mark(
                    plot,
                    &curve::End {
                        t_s: end.time_s - raise.start_s,
                        text,
                    },
                    &colours,
                );
            }
            let moment = egui_plot::VLine::new("", moment_s - raise.start_s);
            plot.vline(
                moment
                    .stroke(Stroke::new(1.5, colours.accent))
                    .style(egui_plot::LineStyle::dashed_dense()),
            );
        });
    let side = words::side(language, raise.side);
    let name = language.fill(Flow::BrowseRaise, &[&(browse.raise + 1).to_string(), side]);
    response
        .response
        .widget_info(|| WidgetInfo::labeled(Role::Image, true, &name));
}

fn peak_deg(raises: &[Raise]) -> f64 {
    let peaks = raises.iter().filter_map(|r| r.peak.as_ref());
    peaks
        .map(|peak| peak.angle.value.degrees())
        .fold(0.0, f64::max)
}

/// A slider through the raise.
fn scrub(ui: &mut Ui, language: Language, browse: &Browse, acts: &mut Vec<Act>) {
    let mut share = browse.share;
    ui.spacing_mut().slider_width = (ui.available_width() - 20.0).max(100.0);
    // The rail is seen against the ground.
    ui.visuals_mut().widgets.inactive.bg_fill = Palette::of(ui).body;
    let slider = ui.add(Slider::new(&mut share, 0.0..=1.0).show_value(false));
    let label = language.say(Flow::BrowseScrub);
    slider.widget_info(|| WidgetInfo::slider(true, share, label));
    if slider.changed() {
        acts.push(Act::Browse(BrowseAct::Share(share)));
    }
}

/// The person at that moment.
fn pose(ui: &mut Ui, model: &Model, recording: &Recording, moment_s: f64) {
    let (language, browse) = (model.settings.language, &model.browse);
    let raise = recording.outcome.raises.get(browse.raise);
    let deg = recording
        .curves
        .get(browse.raise)
        .and_then(|trace| trace.at(moment_s))
        .unwrap_or(0.0);
    parts::card(ui, |ui| {
        let (rect, response) =
            ui.allocate_exact_size(vec2(ui.available_width(), 180.0), Sense::hover());
        let end_deg = raise
            .and_then(|r| r.end_point.as_ref())
            .map(|end| end.angle.value.degrees());
        let plus_minus_deg = raise
            .and_then(|r| r.peak.as_ref())
            .map_or(0.0, |peak| peak.angle.expanded.degrees());
        figure::person(
            ui,
            rect,
            &figure::Pose {
                leg_deg: deg,
                plus_minus_deg,
                end_deg,
                ..figure::Pose::default()
            },
            &model.book.bands,
        );
        let text = language.degrees(deg);
        ui.painter().text(
            rect.left_top(),
            eframe::egui::Align2::LEFT_TOP,
            &text,
            theme::figures(36.0),
            Palette::of(ui).ink,
        );
        parts::named(response, Role::Image, &text, true);
    });
}

/// End point, peak, and what the ± is made of.
fn figures(ui: &mut Ui, language: Language, raise: &Raise) {
    parts::card(ui, |ui| {
        ui.set_min_width(ui.available_width());
        let line = |name: Flow, angle: Option<&Measured>| {
            let value = angle.map_or_else(
                || "–".to_owned(),
                |a| {
                    format!(
                        "{} ± {}",
                        language.degrees(a.value.degrees()),
                        language.degrees(a.expanded.degrees())
                    )
                },
            );
            format!("{}: {value}", language.say(name))
        };
        parts::title(
            ui,
            &line(Flow::ColEnd, raise.end_point.as_ref().map(|e| &e.angle)),
        );
        ui.label(line(Flow::ColPeak, raise.peak.as_ref().map(|p| &p.angle)));
        let measured = raise
            .end_point
            .as_ref()
            .map(|e| &e.angle)
            .or(raise.peak.as_ref().map(|p| &p.angle));
        if let Some(measured) = measured {
            budget(ui, language, measured);
        }
        if !raise.flags.is_empty() {
            let flags: Vec<&str> = raise
                .flags
                .iter()
                .map(|f| words::flag(language, *f))
                .collect();
            parts::soft(
                ui,
                &format!("{}: {}", language.say(Flow::ColHeed), flags.join("; ")),
            );
        }
    });
}

/// Each part of the uncertainty with a bar.
fn budget(ui: &mut Ui, language: Language, measured: &Measured) {
    let colours = Palette::of(ui);
    parts::soft(ui, language.say(Flow::BrowseBudget));
    let terms = &measured.budget.terms;
    let largest = terms
        .iter()
        .map(|t| t.standard.degrees())
        .fold(1e-9, f64::max);
    for term in terms {
        let deg = format!("{}°", language.number(term.standard.degrees(), 2));
        let text = language.fill(
            Flow::BrowseTerm,
            &[words::source(language, term.source), &deg],
        );
        ui.add(Label::new(RichText::new(text).size(theme::SMALL)));
        #[expect(clippy::cast_possible_truncation, reason = "pixels")]
        let share = (term.standard.degrees() / largest) as f32;
        let (rect, _) = ui.allocate_exact_size(
            vec2(ui.available_width() * share.max(0.01), 6.0),
            Sense::hover(),
        );
        ui.painter().rect_filled(rect, 3, colours.leg);
    }
    let all = language.degrees(measured.expanded.degrees());
    ui.add(Label::new(language.fill(Flow::BrowseTogether, &[&all])).wrap());
}
