//! The result: a card for each leg with its mean, its band and its raises, and their curves over each other.

use eframe::egui::accesskit::Role;
use eframe::egui::{Button, Grid, Label, Popup, RichText, Stroke, Ui, WidgetInfo, vec2};
use fusion::{Flag, Raise};
use sensor::Side;

use super::{client_bar, curve, findings, parts, rounds};
use crate::window::model::{Act, BandChance, MeasureAct, Model, Recorded, SideResult};
use crate::window::theme::{self, Palette};
use crate::window::words::{self, Flow, Language, Live, Practice};

/// Height of the curves, and what the rest of the screen needs.
const CURVES: f32 = 112.0;
const REST: f32 = 610.0;

/// Both legs.
pub(super) fn result(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let language = model.settings.language;
    let mut acts = Vec::new();
    if model.client.is_booked {
        acts.extend(client_bar::client_bar(ui, model));
    }
    parts::now(ui, language.say(Flow::ResultNow));
    let mut half = |ui: &mut Ui, which: usize| {
        let side = Side::ALL[which.min(1)];
        parts::card(ui, |ui| {
            ui.set_min_width(ui.available_width());
            acts.extend(leg(ui, model, side));
        });
    };
    parts::halves(ui, 900.0, &mut half);
    ui.add_space(theme::GAP);
    if model.client.is_booked {
        acts.extend(findings::findings(ui, model));
        return acts;
    }
    let kept = if model.client.is_try {
        language.say(Flow::ResultTried).to_owned()
    } else {
        language.fill(
            Flow::ResultKept,
            &[&model.settings.folder.display().to_string()],
        )
    };
    parts::soft(ui, &format!("{kept} {}", language.say(Flow::ResultBands)));
    let problems = model.measure.recorded.iter().flat_map(|run| &run.problems);
    for problem in problems {
        parts::small(ui, problem);
    }
    acts
}

fn leg(ui: &mut Ui, model: &Model, side: Side) -> Vec<Act> {
    let language = model.settings.language;
    let name = words::side(language, side);
    let mut acts = Vec::new();
    parts::soft(ui, &language.fill(Flow::ResultSide, &[name]));
    match model.measure.result(side) {
        Some(result) => mean(ui, language, result),
        None if 0 < model.book.waiting && model.client.is_booked => {
            parts::title(ui, language.say(Practice::Keeping));
        }
        None if model.measure.has(side) => {
            parts::title(ui, language.say(Flow::ResultNone));
        }
        None => {
            parts::title(ui, language.say(Flow::ResultMissing));
            return acts;
        }
    }
    if !model.measure.has(side) {
        return acts; // of a visit that is gone on with
    }
    curves(ui, model, side);
    let width = ui.available_width();
    let is_wide = 480.0 < width;
    Grid::new(("raises", name))
        .num_columns(if is_wide { 5 } else { 4 })
        .striped(false)
        .spacing(vec2(18.0, 4.0))
        .show(ui, |ui| {
            let colour = Palette::of(ui).soft;
            let head = |ui: &mut Ui, phrase| {
                ui.add(Label::new(RichText::new(language.say(phrase)).color(colour)).extend());
            };
            for phrase in [Flow::ColRound, Flow::ColEnd, Flow::ColBy] {
                head(ui, phrase);
            }
            if is_wide {
                head(ui, Flow::ColPeak);
            }
            ui.label("");
            ui.end_row();
            let mut number = 0;
            for (run, recorded) in model.measure.recorded.iter().enumerate() {
                for (place, raise) in recorded
                    .raises
                    .iter()
                    .enumerate()
                    .filter(|(_, r)| r.side == side)
                {
                    number += 1;
                    acts.extend(row(
                        ui,
                        language,
                        (run, place, number),
                        recorded,
                        raise,
                        is_wide,
                    ));
                }
            }
        });
    heed(ui, model, side);
    acts
}

/// The mean, large, with its band in words.
fn mean(ui: &mut Ui, language: Language, result: &SideResult) {
    let summary = &result.summary;
    let deg = language.degrees(summary.mean.degrees());
    let expanded = language.degrees(summary.expanded.degrees());
    ui.horizontal_wrapped(|ui| {
        ui.label(RichText::new(deg).font(theme::figures(56.0)));
        ui.label(RichText::new(format!("± {expanded}")).font(theme::figures(26.0)));
    });
    parts::title(ui, &band(language, &result.bands));
    let count = if summary.count == 1 {
        language.say(Flow::ResultMeanOne).to_owned()
    } else {
        language.fill(Flow::ResultMean, &[&summary.count.to_string()])
    };
    let spread = summary.scatter.map_or_else(String::new, |scatter| {
        format!(
            " {}",
            language.fill(Flow::ResultSpread, &[&language.degrees(scatter.degrees())])
        )
    });
    parts::soft(ui, &format!("{count}.{spread}"));
}

/// A band, or all that it may be, each with its chance.
pub(super) fn band(language: Language, bands: &[BandChance]) -> String {
    let words: Vec<String> = bands
        .iter()
        .map(|one| {
            let edge = |deg: Option<f64>| deg.map(|deg| language.number(deg, 0));
            let name = match (edge(one.from_deg), edge(one.to_deg)) {
                (Some(from), Some(to)) => language.fill(Flow::Between, &[&from, &to]),
                (None, Some(to)) => language.fill(Flow::Under, &[&to]),
                (Some(from), None) => language.fill(Flow::Over, &[&from]),
                (None, None) => language.say(Flow::AnyAngle).to_owned(),
            };
            if bands.len() < 2 {
                return name;
            }
            let percent = 100.0 * one.chance;
            let chance = if percent < 1.0 {
                language.say(Flow::UnderOne).to_owned()
            } else if 99.0 < percent {
                language.say(Flow::OverNinetyNine).to_owned()
            } else {
                format!("{} %", language.number(percent, 0))
            };
            language.fill(Flow::ResultBandChance, &[&name, &chance])
        })
        .collect();
    let or = format!(" {} ", language.say(Flow::ResultOr));
    language.fill(Flow::ResultBand, &[&words.join(&or)])
}

/// Numbers of a raise, and the button that leaves it out.
fn row(
    ui: &mut Ui,
    language: Language,
    (run, place, number): (usize, usize, usize),
    recorded: &Recorded,
    raise: &Raise,
    is_wide: bool,
) -> Vec<Act> {
    let colours = Palette::of(ui);
    let out = recorded.outs.get(place).copied().flatten();
    let ink = if out.is_some() {
        colours.soft
    } else {
        colours.ink
    };
    let cell = |ui: &mut Ui, text: String| {
        let mut text = RichText::new(text).color(ink);
        if out.is_some() {
            text = text.strikethrough();
        }
        ui.add(Label::new(text).extend());
    };
    let angle = |angle: &fusion::Measured| {
        let expanded = language.number(angle.expanded.degrees(), 1);
        format!("{} ± {expanded}", language.degrees(angle.value.degrees()))
    };
    cell(ui, number.to_string());
    cell(
        ui,
        raise
            .end_point
            .as_ref()
            .map_or_else(|| "–".to_owned(), |end| angle(&end.angle)),
    );
    let reason = raise
        .end_point
        .as_ref()
        .map_or("–", |end| words::reason(language, end.reason));
    cell(ui, reason.to_owned());
    if is_wide {
        cell(
            ui,
            raise
                .peak
                .as_ref()
                .map_or_else(|| "–".to_owned(), |peak| angle(&peak.angle)),
        );
    }
    let acts = out_button(ui, language, (run, place, number), raise, out.is_some());
    ui.end_row();
    acts
}

/// The button that leaves a raise out, after asking why, or counts it again.
fn out_button(
    ui: &mut Ui,
    language: Language,
    (run, place, number): (usize, usize, usize),
    raise: &Raise,
    is_out: bool,
) -> Vec<Act> {
    let side = words::side(language, raise.side);
    let (sign, phrase) = if is_out {
        ("+", Live::TakeBack)
    } else {
        ("×", Live::LeaveOut)
    };
    let name = language.fill(phrase, &[side, &number.to_string()]);
    let button =
        Button::new(RichText::new(sign).size(22.0)).min_size(vec2(theme::TOUCH, theme::TOUCH));
    let response = parts::named(ui.add(button), Role::Button, &name, true);
    if is_out {
        let again = Act::Raise(MeasureAct::RaiseOut(run, place, None));
        return response.clicked().then_some(again).into_iter().collect();
    }
    let mut acts = Vec::new();
    Popup::menu(&response).show(|ui| {
        ui.set_max_width(360.0);
        let out = |why| MeasureAct::RaiseOut(run, place, Some(why));
        acts.extend(rounds::why(ui, language, out, MeasureAct::Ask(None)));
    });
    acts
}

/// What must be known of the raises, each thing once.
fn heed(ui: &mut Ui, model: &Model, side: Side) {
    let language = model.settings.language;
    let raises = model.measure.recorded.iter().flat_map(|run| &run.raises);
    let mut flags: Vec<Flag> = raises
        .filter(|r| r.side == side)
        .flat_map(|r| r.flags.clone())
        .collect();
    flags.sort_unstable();
    flags.dedup();
    if flags.is_empty() {
        return;
    }
    let words: Vec<&str> = flags
        .into_iter()
        .map(|flag| words::flag(language, flag))
        .collect();
    parts::soft(
        ui,
        &format!("{}: {}", language.say(Flow::ColHeed), words.join("; ")),
    );
}

/// The raises of one leg over each other.
fn curves(ui: &mut Ui, model: &Model, side: Side) {
    let language = model.settings.language;
    let colours = Palette::of(ui);
    let name = words::side(language, side);
    let id = format!("raises {name}");
    let bands = &model.book.bands;
    let height = (ui.ctx().content_rect().height() - REST).clamp(CURVES, 2.5 * CURVES);
    let response = curve::base(&id, vec2(ui.available_width(), height), bands).show(ui, |plot| {
        plot.set_plot_bounds_y(-8.0..=105.0);
        curve::edges(plot, bands, &colours);
        let mut longest: f64 = 5.0;
        for recorded in &model.measure.recorded {
            let both = recorded
                .raises
                .iter()
                .zip(&recorded.curves)
                .zip(&recorded.outs);
            for ((raise, trace), out) in both.filter(|((raise, _), _)| raise.side == side) {
                longest = longest.max(raise.end_s - raise.start_s + 0.8);
                let ink = if out.is_some() {
                    colours.line
                } else {
                    colours.leg
                };
                curve::draw(
                    plot,
                    trace,
                    f64::NEG_INFINITY,
                    raise.start_s,
                    "",
                    Stroke::new(2.5, ink),
                );
                if let Some(end) = raise.end_point.as_ref().filter(|_| out.is_none()) {
                    let at = [end.time_s - raise.start_s, end.angle.value.degrees()];
                    let points = egui_plot::Points::new("", vec![at])
                        .radius(6.0)
                        .color(colours.end);
                    plot.points(points.shape(egui_plot::MarkerShape::Diamond));
                }
            }
        }
        plot.set_plot_bounds_x(-0.8..=longest);
    });
    let label = language.fill(Flow::ResultSide, &[name]);
    response
        .response
        .widget_info(|| WidgetInfo::labeled(Role::Image, true, &label));
}
