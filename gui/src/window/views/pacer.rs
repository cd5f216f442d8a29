//! The pacer: a circle that grows with the breath in and shrinks with the breath out, and what is left of it.

use std::f32::consts::{FRAC_PI_2, TAU};

use casebook::drill::{BeatKind, Counted};
use casebook::pacer::{Phase, PhaseKind, Turn};
use eframe::egui::accesskit::Role;
use eframe::egui::{Align2, Painter, Pos2, Sense, Shape, Stroke, Ui, vec2};

use super::parts;
use crate::window::model::{Act, Model, Pace, PaceAct};
use crate::window::theme::{self, Palette};
use crate::window::words::{self, Language, Practice};

/// What the other lines of the screen need.
const REST: f32 = 460.0;
const CIRCLE: f32 = 200.0;
/// The circle when all is out, against all in.
const SMALL: f32 = 0.45;

/// The circle, what stands now, and the buttons.
pub(super) fn pacer(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let language = model.settings.language;
    let mut acts = Vec::new();
    let Some(pace) = &model.pace else {
        return acts;
    };
    let time_s = pace.time_s(model.now);
    let at = pace.line.at(time_s);
    parts::now(ui, language.say(Practice::PacerNow));
    let height = (ui.ctx().content_rect().height() - REST).clamp(CIRCLE, 3.0 * CIRCLE);
    let size = vec2(ui.available_width(), height);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    let shown = if let Some((phase, into_s)) = at {
        let left_s = (phase.length_s - into_s).ceil().max(1.0);
        circle(ui, rect.center(), height / 2.0 - 8.0, phase, into_s);
        let word = words::phase(language, phase.kind);
        let left = language.number(left_s, 0);
        inside(ui, rect.center(), &left, word);
        language.fill(Practice::Left, &[word, &left])
    } else {
        let ink = Palette::of(ui).accent;
        let stroke = Stroke::new(6.0, ink);
        ui.painter()
            .circle_stroke(rect.center(), height / 3.0, stroke);
        let word = language.say(Practice::Done);
        inside(ui, rect.center(), "", word);
        word.to_owned()
    };
    let count = at.map(|(phase, _)| count(language, pace, phase));
    let told = count
        .as_ref()
        .map_or_else(|| shown.clone(), |count| format!("{shown}, {count}"));
    parts::named(response, Role::Image, &told, true);
    ui.vertical_centered(|ui| {
        if let Some((phase, _)) = at
            && !phase.say.is_empty()
        {
            parts::title(ui, &phase.say);
        }
        parts::soft(ui, &count.unwrap_or_default());
    });
    ui.horizontal(|ui| {
        let (text, act) = match (pace.is_running(), pace.has_begun()) {
            (true, _) => (Practice::Pause, PaceAct::Pause),
            (false, true) => (Practice::GoOn, PaceAct::Start),
            (false, false) => (Practice::Start, PaceAct::Start),
        };
        let button = parts::primary(language.say(text));
        if ui.add_enabled(at.is_some(), button).clicked() {
            acts.push(Act::Pace(act));
        }
        let minutes = |s: f64| language.number(s / 60.0, 1);
        let whole = pace.line.length_s;
        let parts_of = [minutes(time_s.min(whole)), minutes(whole)];
        let text = language.fill(Practice::Whole, &[&parts_of[0], &parts_of[1]]);
        parts::soft(ui, &format!("{} · {text}", pace.drill.name));
    });
    acts
}

/// Which set, which repetition, which side.
fn count(language: Language, pace: &Pace, phase: &Phase) -> String {
    let choice = pace.line.choice;
    let [set, sets, rep, reps] =
        [phase.set, choice.sets, phase.rep, choice.reps].map(|n| n.to_string());
    let what = language.say(match pace.drill.dose.counted {
        Counted::Breaths => Practice::Breath,
        Counted::Reps => Practice::Rep,
        Counted::Holds => Practice::Hold,
    });
    let text = if phase.rep == 0 {
        language.fill(Practice::CountSet, &[&set, &sets])
    } else {
        language.fill(Practice::Count, &[&set, &sets, what, &rep, &reps])
    };
    match phase.turn {
        None => text,
        Some(Turn::First) => format!("{text} · {}", language.say(Practice::First)),
        Some(Turn::Second) => format!("{text} · {}", language.say(Practice::Second)),
    }
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

/// Seconds and what to do, in the middle.
fn inside(ui: &Ui, centre: Pos2, number: &str, word: &str) {
    let ink = Palette::of(ui).ink;
    let painter = ui.painter();
    let up = centre - vec2(0.0, 14.0);
    painter.text(up, Align2::CENTER_CENTER, number, theme::figures(64.0), ink);
    let down = centre + vec2(0.0, 40.0);
    painter.text(down, Align2::CENTER_CENTER, word, theme::text(24.0), ink);
}
