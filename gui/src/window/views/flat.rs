//! Sensors on a flat surface: a live level, the faces that are done, a verdict.

use eframe::egui::accesskit::Role;
use eframe::egui::{Align2, Pos2, Sense, Stroke, Ui, vec2};
use fusion::calibrate::{FACE_HOLD_S, GuideNow};
use sensor::{Face, Placement};

use super::parts;
use crate::window::model::{Act, Judged, Model, Purpose};
use crate::window::theme::{self, Palette};
use crate::window::words::{self, Flow, Language};

/// A lean of so much brings the bubble to the rim, degrees.
const RIM_DEG: f64 = 12.0;

/// One sensor after the other.
pub(super) fn flat(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let language = model.settings.language;
    let mut acts = Vec::new();
    parts::now(ui, language.say(Flow::FlatNow));
    parts::soft(ui, language.say(Flow::FlatWhy));
    ui.add_space(theme::GAP);
    let going = match model.running {
        Some(Purpose::Flat(placement)) => Some(placement),
        _ => None,
    };
    for row in model.sensors.rows.iter().filter(|row| row.is_used) {
        parts::card(ui, |ui| {
            ui.set_min_width(ui.available_width());
            sensor(ui, model, row.placement, going, &mut acts);
        });
        ui.add_space(theme::GAP);
    }
    acts
}

fn sensor(
    ui: &mut Ui,
    model: &Model,
    placement: Placement,
    going: Option<Placement>,
    acts: &mut Vec<Act>,
) {
    let language = model.settings.language;
    let name = words::placement(language, placement);
    parts::title(ui, name);
    if going == Some(placement) {
        if let Some(now) = &model.flat.now {
            ui.horizontal(|ui| {
                level(ui, now, language);
                ui.vertical(|ui| {
                    parts::title(ui, &doing(now, language));
                    faces(ui, &now.done, language);
                    if parts::plain(ui, language.say(Flow::FlatEnd)).clicked() {
                        acts.push(Act::FlatEnd);
                    }
                });
            });
        } else {
            parts::soft(ui, language.say(Flow::FlatWriting));
        }
        return;
    }
    if let Some(judged) = model.flat.of(placement) {
        verdict(ui, judged, language);
    }
    let button = language.fill(Flow::FlatStart, &[name]);
    let button = eframe::egui::Button::new(button).min_size(vec2(theme::TOUCH, theme::TOUCH));
    if ui.add_enabled(going.is_none(), button).clicked() {
        acts.push(Act::FlatBegin(placement));
    }
}

/// What to do with the unit.
fn doing(now: &GuideNow, language: Language) -> String {
    match now.face {
        Some(face) if now.done.contains(&face) => language.say(Flow::FlatDone).to_owned(),
        Some(_) if now.is_still => {
            let still = language.number(now.still_s.min(FACE_HOLD_S), 1);
            language.fill(Flow::FlatLies, &[&still, &language.number(FACE_HOLD_S, 0)])
        }
        Some(_) => language.say(Flow::FlatMoves).to_owned(),
        None => language.say(Flow::FlatNoFace).to_owned(),
    }
}

/// A bubble in a ring: in the middle where the face is level.
fn level(ui: &mut Ui, now: &GuideNow, language: Language) {
    let colours = Palette::of(ui);
    let (rect, response) = ui.allocate_exact_size(vec2(150.0, 150.0), Sense::hover());
    let (middle, radius) = (rect.center(), 66.0);
    let painter = ui.painter();
    painter.circle(
        middle,
        radius,
        colours.ground,
        Stroke::new(2.0, colours.body),
    );
    painter.circle_stroke(middle, 20.0, Stroke::new(2.0, colours.body));
    let lean_deg = now.lean.degrees();
    if now.face.is_some() {
        #[expect(clippy::cast_possible_truncation, reason = "pixels")]
        let off = (lean_deg / RIM_DEG).clamp(0.0, 1.0) as f32 * (radius - 16.0);
        let at = Pos2::new(middle.x, middle.y - off);
        let colour = if now.is_still {
            colours.well
        } else {
            colours.other
        };
        painter.circle_filled(at, 16.0, colour);
        // Filled up with the seconds that are still wanted: not by colour alone.
        let share = (now.still_s / FACE_HOLD_S).clamp(0.0, 1.0);
        let text = format!("{}%", language.number(share * 100.0, 0));
        painter.text(
            middle + vec2(0.0, 40.0),
            Align2::CENTER_CENTER,
            text,
            theme::text(theme::SMALL),
            colours.ink,
        );
    }
    let lean = language.fill(Flow::FlatLean, &[&language.degrees(lean_deg)]);
    let name = language.fill(Flow::LevelName, &[&lean]);
    parts::named(response, Role::Image, &name, true);
}

/// Six boxes; those that are done are ticked.
fn faces(ui: &mut Ui, done: &[Face], language: Language) {
    let colours = Palette::of(ui);
    let (rect, response) = ui.allocate_exact_size(vec2(6.0 * 52.0, 48.0), Sense::hover());
    let painter = ui.painter();
    for (place, face) in (0_u8..).zip(Face::ALL) {
        let corner = rect.left_top() + vec2(f32::from(place) * 52.0, 2.0);
        let cell = eframe::egui::Rect::from_min_size(corner, vec2(44.0, 44.0));
        let is_done = done.contains(&face);
        let (fill, ink) = if is_done {
            (colours.accent, colours.on_accent)
        } else {
            (colours.card, colours.soft)
        };
        painter.rect(
            cell,
            6,
            fill,
            Stroke::new(1.5, colours.body),
            eframe::egui::StrokeKind::Inside,
        );
        if is_done {
            parts::tick(ui, cell.center(), ink);
        } else {
            let text = face.as_str().replace('-', "\u{2212}");
            painter.text(
                cell.center(),
                Align2::CENTER_CENTER,
                text,
                theme::text(theme::BODY),
                ink,
            );
        }
    }
    let name = language.fill(Flow::FlatFaces, &[&done.len().to_string()]);
    parts::named(response, Role::Image, &name, true);
}

fn verdict(ui: &mut Ui, judged: &Judged, language: Language) {
    match judged {
        Judged::Good {
            is_six,
            left_deg,
            before_deg,
        } => {
            let phrase = if *is_six {
                Flow::FlatGood
            } else {
                Flow::FlatUsable
            };
            let degrees = |deg: f64| format!("{}°", language.number(deg, 2));
            let text = language.fill(phrase, &[&degrees(*left_deg), &degrees(*before_deg)]);
            let colours = Palette::of(ui);
            ui.horizontal_wrapped(|ui| {
                parts::sign(ui, true);
                ui.colored_label(colours.well, text);
            });
        }
        Judged::Bad(why) => parts::fault(ui, &language.fill(Flow::FlatBad, &[why])),
    }
}
