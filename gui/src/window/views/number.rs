//! The angle, so large that it is read from three metres away, with its ± and what the leg does.

use eframe::egui::accesskit::Role;
use eframe::egui::{Align2, Color32, Rect, Sense, Stroke, StrokeKind, Ui, pos2, vec2};
use fusion::Reading;

use super::parts;
use crate::window::model::{Model, Phase};
use crate::window::theme::{self, Palette};
use crate::window::words::{self, Language, Live};

/// Width of a figure, as a part of its size.
const FIGURE: f32 = 0.602;
/// The decimal is so much smaller than the whole degrees.
const DECIMAL: f32 = 0.5;

/// The panel of the angle.
pub(super) fn number(ui: &mut Ui, model: &Model, rect: Rect) {
    let colours = Palette::of(ui);
    let language = model.settings.language;
    let response = ui.allocate_rect(rect, Sense::hover());
    let painter = ui.painter();
    painter.rect(rect, theme::ROUND, colours.card, Stroke::new(1.0, colours.line), StrokeKind::Inside);
    let course = &model.measure.course;
    let is_running = matches!(model.measure.phase, Phase::Running | Phase::Writing);
    let Some(reading) = course.leading.as_ref().filter(|_| is_running) else {
        let size = figure_size(rect);
        painter.text(rect.center(), Align2::CENTER_CENTER, "–", theme::figures(size), colours.line);
        parts::named(response, Role::Image, language.say(Live::AngleNone), true);
        return;
    };
    let silent_s = course.silent_s(model.now).filter(|_| model.measure.phase == Phase::Running);
    let ink = if silent_s.is_some() { colours.body } else { colours.ink };
    figures(ui, rect, reading.angle.degrees(), language, ink);
    let deg = language.degrees(reading.angle.degrees());
    let name = if let Some(silent_s) = silent_s {
        let text = language.fill(Live::NoNumbers, &[&language.number(silent_s, 1)]);
        bar(ui, rect, &text, colours.alarm, colours.on_alarm);
        language.fill(Live::AngleLost, &[&deg])
    } else {
        below(ui, model, rect, reading);
        let expanded = language.degrees(reading.expanded.degrees());
        let side = words::side(language, reading.side);
        let state = words::state(language, reading.state);
        language.fill(Live::AngleName, &[side, &deg, &expanded, state])
    };
    parts::named(response, Role::Image, &name, true);
}

/// As large as the panel takes.
fn figure_size(rect: Rect) -> f32 {
    // Three figures before the decimal sign; the sign, a decimal and the degree sign after it.
    let widths = 3.0 + 3.0 * DECIMAL;
    (rect.height() * 0.72).min((rect.width() - 24.0) / (widths * FIGURE))
}

/// Whole degrees end at a fixed place, so that nothing jumps.
fn figures(ui: &Ui, rect: Rect, deg: f64, language: Language, ink: Color32) {
    let size = figure_size(rect);
    let text = language.degrees(deg);
    let cut = text.find(['.', ',']).unwrap_or(text.len());
    let (whole, rest) = text.split_at(cut);
    let after = 3.0 * DECIMAL * FIGURE * size;
    let right = rect.center().x + (3.0 * FIGURE * size + after) / 2.0;
    let line = rect.top() + (rect.height() - 92.0).max(size) / 2.0 + size * 0.36;
    let painter = ui.painter();
    let at = pos2(right - after, line);
    // Both stand on one line: the descent is a part of each size.
    let descent = 0.236;
    let drop = |size: f32| vec2(0.0, descent * size);
    painter.text(at + drop(size), Align2::RIGHT_BOTTOM, whole, theme::figures(size), ink);
    let small = size * DECIMAL;
    painter.text(at + drop(small), Align2::LEFT_BOTTOM, rest, theme::figures(small), ink);
}

/// ± and state; the end point once it is known.
fn below(ui: &Ui, model: &Model, rect: Rect, reading: &Reading) {
    let colours = Palette::of(ui);
    let language = model.settings.language;
    let expanded = language.degrees(reading.expanded.degrees());
    let side = words::side(language, reading.side);
    let state = words::state(language, reading.state);
    let text = format!("± {expanded}   ·   {side}   ·   {state}");
    let at = pos2(rect.center().x, rect.bottom() - 56.0);
    ui.painter().text(at, Align2::CENTER_BOTTOM, text, theme::text(24.0), colours.ink);
    if let Some(end) = model.measure.course.end() {
        let deg = language.degrees(end.angle.degrees());
        let reason = words::reason(language, end.reason);
        let text = language.fill(Live::EndBanner, &[&deg, reason]);
        let (fill, ink) = if end.reason == fusion::Reason::Stop {
            (colours.alarm, colours.on_alarm)
        } else {
            (colours.end, colours.card)
        };
        bar(ui, rect, &text, fill, ink);
    }
}

/// A filled bar along the lower edge: what must be seen from afar.
fn bar(ui: &Ui, rect: Rect, text: &str, fill: Color32, ink: Color32) {
    let bar = Rect::from_min_max(pos2(rect.left(), rect.bottom() - 50.0), rect.max).shrink(4.0);
    let painter = ui.painter();
    painter.rect_filled(bar, theme::ROUND, fill);
    let size = (bar.width() / 20.0).clamp(16.0, 28.0);
    painter.text(bar.center(), Align2::CENTER_CENTER, text, theme::text(size), ink);
}
