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
/// Width of the decimal sign and of the degree sign, as a part of their size.
const POINT: f32 = 0.34;
const DEGREE: f32 = 0.56;
/// Height that is kept for words.
const WORDS: f32 = 92.0;
/// Lower than this, words stand beside the angle.
const LOW: f32 = 210.0;

/// The panel of the angle.
pub(super) fn number(ui: &mut Ui, model: &Model, rect: Rect) {
    let colours = Palette::of(ui);
    let language = model.settings.language;
    let response = ui.allocate_rect(rect, Sense::hover());
    let painter = ui.painter();
    painter.rect(
        rect,
        theme::ROUND,
        colours.card,
        Stroke::new(1.0, colours.line),
        StrokeKind::Inside,
    );
    let course = &model.measure.course;
    let is_running = matches!(model.measure.phase, Phase::Running | Phase::Writing);
    let Some(reading) = course.leading.as_ref().filter(|_| is_running) else {
        let size = figure_size(places(rect).figures);
        painter.text(
            rect.center(),
            Align2::CENTER_CENTER,
            "–",
            theme::figures(size),
            colours.line,
        );
        parts::named(response, Role::Image, language.say(Live::AngleNone), true);
        return;
    };
    let silent_s = course
        .silent_s(model.now)
        .filter(|_| model.measure.phase == Phase::Running);
    let ink = if silent_s.is_some() {
        colours.body
    } else {
        colours.ink
    };
    let Places {
        figures: place,
        words: below_it,
    } = places(rect);
    figures(ui, place, reading.angle.degrees(), language, ink);
    let deg = language.degrees(reading.angle.degrees());
    let name = if let Some(silent_s) = silent_s {
        let text = language.fill(Live::NoNumbers, &[&language.number(silent_s, 1)]);
        bar(ui, below_it, &text, colours.alarm, colours.on_alarm);
        language.fill(Live::AngleLost, &[&deg])
    } else {
        below(ui, model, below_it, reading);
        let expanded = language.degrees(reading.expanded.degrees());
        let side = words::side(language, reading.side);
        let state = words::state(language, reading.state);
        language.fill(Live::AngleName, &[side, &deg, &expanded, state])
    };
    parts::named(response, Role::Image, &name, true);
}

/// Where the angle and the words about it stand in the panel.
struct Places {
    figures: Rect,
    words: Rect,
}

/// Words stand under the angle; in a low panel beside it. Their room is kept free, so that nothing jumps.
fn places(rect: Rect) -> Places {
    if rect.height() < LOW {
        let cut = rect.left() + rect.width() * 0.5;
        return Places {
            figures: Rect::from_min_max(rect.min, pos2(cut, rect.bottom())),
            words: Rect::from_min_max(pos2(cut, rect.top()), rect.max),
        };
    }
    let cut = rect.bottom() - WORDS;
    Places {
        figures: Rect::from_min_max(rect.min, pos2(rect.right(), cut)),
        words: Rect::from_min_max(pos2(rect.left(), cut), rect.max),
    }
}

/// As large as its place takes: the height of a figure is 0.73 of its size.
fn figure_size(place: Rect) -> f32 {
    // Three figures before the decimal sign.
    let widths = 3.0 * FIGURE + DECIMAL * (POINT + FIGURE + DEGREE);
    ((place.height() - 12.0) / 0.88).min((place.width() - 28.0) / widths)
}

/// Whole degrees end at a fixed place, so that nothing jumps.
fn figures(ui: &Ui, place: Rect, deg: f64, language: Language, ink: Color32) {
    let size = figure_size(place);
    let small = size * DECIMAL;
    let text = language.degrees(deg);
    let cut = text.find(['.', ',']).unwrap_or(text.len());
    let (whole, rest) = text.split_at(cut);
    let after = small * (POINT + FIGURE + DEGREE);
    // Two figures are the rule: they stand in the middle, a third and a minus have room before them.
    let right = place.center().x + FIGURE * size + after / 2.0;
    let right = right
        .max(place.left() + 14.0 + 3.0 * FIGURE * size + after)
        .min(place.right() - 10.0);
    let line = place.center().y + size * 0.73 / 2.0;
    // All stand on one line: the descent is a part of each size.
    let drop = |size: f32| vec2(0.0, 0.236 * size);
    let painter = ui.painter();
    let at = pos2(right - after, line);
    painter.text(
        at + drop(size),
        Align2::RIGHT_BOTTOM,
        whole,
        theme::figures(size),
        ink,
    );
    // The decimal sign and the degree sign need less room than a figure.
    let mut x = at.x;
    for (sign, width) in rest.chars().zip([POINT, FIGURE, DEGREE]) {
        let middle = pos2(x + small * width / 2.0, line) + drop(small);
        painter.text(
            middle,
            Align2::CENTER_BOTTOM,
            sign,
            theme::figures(small),
            ink,
        );
        x += small * width;
    }
}

/// ± and state; the end point once it is known.
fn below(ui: &Ui, model: &Model, place: Rect, reading: &Reading) {
    let colours = Palette::of(ui);
    let language = model.settings.language;
    let expanded = language.degrees(reading.expanded.degrees());
    let side = words::side(language, reading.side);
    let state = words::state(language, reading.state);
    let text = format!("± {expanded}  ·  {side}  ·  {state}");
    let at = pos2(place.center().x, place.bottom() - 54.0);
    let size = (place.width() / 15.0).clamp(15.0, 26.0);
    ui.painter().text(
        at,
        Align2::CENTER_BOTTOM,
        text,
        theme::text(size),
        colours.ink,
    );
    if let Some(end) = model.measure.course.end() {
        let deg = language.degrees(end.angle.degrees());
        let reason = words::reason(language, end.reason);
        let text = language.fill(Live::EndBanner, &[&deg, reason]);
        let (fill, ink) = if end.reason == fusion::Reason::Stop {
            (colours.alarm, colours.on_alarm)
        } else {
            (colours.end, colours.card)
        };
        bar(ui, place, &text, fill, ink);
    }
}

/// A filled bar along the lower edge: what must be seen from afar.
fn bar(ui: &Ui, rect: Rect, text: &str, fill: Color32, ink: Color32) {
    let bar = Rect::from_min_max(pos2(rect.left(), rect.bottom() - 50.0), rect.max).shrink(4.0);
    let painter = ui.painter();
    painter.rect_filled(bar, theme::ROUND, fill);
    let size = (bar.width() / 20.0).clamp(16.0, 28.0);
    painter.text(
        bar.center(),
        Align2::CENTER_CENTER,
        text,
        theme::text(size),
        ink,
    );
}
