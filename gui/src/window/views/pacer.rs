//! The pacer: a circle that grows with the breath in and shrinks with the breath out, and what is left of it.

use std::f32::consts::{FRAC_PI_2, TAU};

use casebook::drill::BeatKind;
use casebook::pacer::{Phase, PhaseKind};
use casebook::report::said;
use eframe::egui::accesskit::Role;
use eframe::egui::{Align2, Painter, Pos2, RichText, Sense, Shape, Stroke, Ui, vec2};

use super::parts;
use crate::window::model::{Act, Model, Pace, PaceAct};
use crate::window::theme::{self, Palette};
use crate::window::words::{Language, Live, Practice};

/// What stands under the circle: what to do and which repetition it is.
const BELOW: f32 = 96.0;
const CIRCLE: f32 = 200.0;
/// The circle when all is out, against all in.
const SMALL: f32 = 0.45;

/// The buttons, the circle, and what stands now.
pub(super) fn pacer(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let language = model.settings.language;
    let report = language.report();
    let Some(pace) = &model.pace else {
        return Vec::new();
    };
    let time_s = pace.time_s(model.now);
    let at = pace.line.at(time_s);
    parts::now(ui, language.say(Practice::PacerNow));
    // Above the circle, so that nothing can push it out of sight.
    let acts = buttons(ui, language, pace, time_s);
    let room = ui.clip_rect().bottom() - ui.cursor().top() - BELOW;
    let height = room.clamp(CIRCLE, 3.0 * CIRCLE);
    let size = vec2(ui.available_width(), height);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    let most = height / 2.0 - 8.0;
    let (word, told) = if let Some((phase, into_s)) = at {
        let left_s = (phase.length_s - into_s).ceil().max(1.0);
        circle(ui, rect.center(), most, phase, into_s);
        let word = said::phase(report, phase.kind);
        let left = language.number(left_s, 0);
        inside(ui, rect.center(), most, &left);
        (
            word.to_owned(),
            language.fill(Practice::Left, &[word, &left]),
        )
    } else {
        let stroke = Stroke::new(6.0, Palette::of(ui).accent);
        ui.painter().circle_stroke(rect.center(), most, stroke);
        let word = said::sentence(said::paced_out(report));
        (word.clone(), word)
    };
    let counted = pace.drill.dose.counted;
    let count = at.map(|(phase, _)| said::count(report, counted, pace.line.choice, phase));
    let told = count
        .as_ref()
        .map_or_else(|| told.clone(), |count| format!("{told}, {count}"));
    parts::named(response, Role::Image, &told, true);
    ui.vertical_centered(|ui| {
        let say = at.map_or("", |(phase, _)| phase.say.as_str());
        // Most sentences of a drill say the word themselves.
        let text = if say.starts_with(&word) {
            say.to_owned()
        } else if say.is_empty() {
            word
        } else {
            format!("{word}: {say}")
        };
        ui.label(RichText::new(text).font(theme::text(32.0)));
        parts::soft(ui, &count.unwrap_or_default());
    });
    acts
}

/// Start or pause, and how much of the whole is done.
fn buttons(ui: &mut Ui, language: Language, pace: &Pace, time_s: f64) -> Vec<Act> {
    let mut acts = Vec::new();
    ui.horizontal(|ui| {
        let (text, act) = match (pace.is_running(), pace.has_begun()) {
            (true, _) => (Practice::Pause, PaceAct::Pause),
            (false, true) => (Practice::GoOn, PaceAct::Start),
            (false, false) => (Practice::Start, PaceAct::Start),
        };
        let button = parts::primary(language.say(text)).with_key(language.say(Live::KeySpace));
        let is_open = pace.line.at(time_s).is_some();
        if ui.add_enabled(is_open, button).clicked() {
            acts.push(Act::Pace(act));
        }
        #[cfg(feature = "phone")]
        if parts::plain(ui, language.say(Practice::OnPhone)).clicked() {
            acts.push(Act::Pace(PaceAct::OnPhone));
        }
        let minutes = |s: f64| language.number(s / 60.0, 1);
        let whole = pace.line.length_s;
        let parts_of = [minutes(time_s.min(whole)), minutes(whole)];
        let text = language.fill(Practice::Whole, &[&parts_of[0], &parts_of[1]]);
        parts::soft(ui, &format!("{} · {text}", pace.drill.name));
    });
    acts
}

/// How full it is, from 0 to 1.
fn fullness(phase: &Phase, into_s: f64) -> f64 {
    let share = (into_s / phase.length_s).clamp(0.0, 1.0);
    match phase.kind {
        PhaseKind::Beat(BeatKind::In) => share,
        PhaseKind::Beat(BeatKind::Out) => 1.0 - share,
        // A movement goes there and comes back with the next.
        PhaseKind::Beat(BeatKind::Move) => (std::f64::consts::PI * share).sin(),
        PhaseKind::Beat(BeatKind::Hold) => 1.0,
        _ => 0.0,
    }
}

fn circle(ui: &Ui, centre: Pos2, most: f32, phase: &Phase, into_s: f64) {
    let colours = Palette::of(ui);
    #[expect(clippy::cast_possible_truncation, reason = "shares for drawing")]
    let (full, share) = (
        fullness(phase, into_s) as f32,
        (into_s / phase.length_s).clamp(0.0, 1.0) as f32,
    );
    let radius = (most - 14.0) * (SMALL + (1.0 - SMALL) * full);
    let painter = ui.painter();
    painter.circle_filled(centre, radius, colours.line);
    painter.circle_stroke(centre, radius, Stroke::new(3.0, colours.leg));
    painter.circle_stroke(centre, most, Stroke::new(2.0, colours.line));
    ring(
        painter,
        centre,
        most,
        1.0 - share,
        Stroke::new(8.0, colours.accent),
    );
}

/// What is left, as a part of a ring from the top on.
fn ring(painter: &Painter, centre: Pos2, radius: f32, share: f32, stroke: Stroke) {
    const STEPS: u16 = 90;
    let points: Vec<Pos2> = (0..=STEPS)
        .map(|step| {
            let angle = TAU * share * f32::from(step) / f32::from(STEPS) - FRAC_PI_2;
            centre + radius * vec2(angle.cos(), angle.sin())
        })
        .collect();
    painter.add(Shape::line(points, stroke));
}

/// Seconds, in the middle, small enough for the smallest circle.
fn inside(ui: &Ui, centre: Pos2, most: f32, number: &str) {
    let font = theme::figures((SMALL * most).clamp(24.0, 96.0));
    let ink = Palette::of(ui).ink;
    ui.painter()
        .text(centre, Align2::CENTER_CENTER, number, font, ink);
}
