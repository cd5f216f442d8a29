//! The lying person from the side, the leg at its angle, how sure it is as a fan.

use casebook::Bands;
use eframe::egui::accesskit::Role;
use eframe::egui::{
    Align2, Color32, Painter, Pos2, Rect, Sense, Shape, Stroke, StrokeKind, Ui, Vec2, pos2, vec2,
};
use fusion::CompensationKind;

use super::parts;
use crate::window::model::{Model, Phase};
use crate::window::theme::{self, Palette};
use crate::window::words::{self, Live};

/// A fan narrower than this can't be seen, degrees.
const FAN_DEG_MIN: f64 = 0.4;

/// Parts of the pace that was asked for: slower or faster than this is told; the gauge ends there.
const SLOW: f64 = 0.4;
const BRISK: f64 = 1.6;
const GAUGE_MAX: f64 = 2.5;

/// What is shown of a body.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Pose {
    /// Angle of the raised leg, degrees.
    pub(super) leg_deg: f64,
    /// Its ±, degrees.
    pub(super) plus_minus_deg: f64,
    /// Angle of its thigh, where it is known.
    pub(super) thigh_deg: Option<f64>,
    /// Angle of the other leg, where it is known.
    pub(super) other_deg: Option<f64>,
    /// How far the pelvis has tilted back, where it is known.
    pub(super) pelvis_deg: Option<f64>,
    /// Where the raise counted as over.
    pub(super) end_deg: Option<f64>,
    /// Nothing comes: the last that was known.
    pub(super) is_lost: bool,
}

/// The person as the sensors tell.
pub(super) fn live(ui: &mut Ui, model: &Model, rect: Rect) {
    let colours = Palette::of(ui);
    let language = model.settings.language;
    let response = ui.allocate_rect(rect, Sense::hover());
    ui.painter().rect(
        rect,
        theme::ROUND,
        colours.card,
        Stroke::new(1.0, colours.line),
        StrokeKind::Inside,
    );
    let course = &model.measure.course;
    let mut pose = Pose::default();
    let mut side = model.measure.leg;
    let is_shown = matches!(model.measure.phase, Phase::Running | Phase::Writing);
    if let Some(reading) = course.leading.as_ref().filter(|_| is_shown) {
        side = reading.side;
        pose = Pose {
            leg_deg: reading.angle.degrees(),
            plus_minus_deg: reading.expanded.degrees(),
            thigh_deg: reading.thigh.map(fusion::Angle::degrees),
            other_deg: reading.other.map(fusion::Angle::degrees),
            pelvis_deg: reading.pelvis.map(fusion::Angle::degrees),
            end_deg: course.end().map(|end| end.angle.degrees()),
            is_lost: course.silent_s(model.now).is_some(),
        };
        pace(ui, model, rect);
        let mut lines = gives_way(model, colours.alarm);
        lines.extend(bent(&pose).map(|(phrase, deg)| {
            (
                language.fill(phrase, &[&language.degrees(deg)]),
                colours.soft,
            )
        }));
        beside(ui, rect, &lines);
    }
    let room = rect.shrink2(vec2(20.0, 16.0));
    person(ui, room, &pose, &model.book.bands);
    let deg = language.degrees(pose.leg_deg);
    let mut name = language.fill(Live::Figure, &[words::side(language, side), &deg]);
    if let Some(other) = pose.other_deg {
        name = language.fill(Live::FigureOther, &[&name, &language.degrees(other)]);
    }
    for (phrase, deg) in bent(&pose) {
        name = format!(
            "{name}, {}",
            language.fill(phrase, &[&language.degrees(deg)])
        );
    }
    parts::named(response, Role::Image, &name, true);
}

/// How fast it goes, against what was asked for.
fn pace(ui: &Ui, model: &Model, rect: Rect) {
    use fusion::RaiseState;
    let language = model.settings.language;
    let colours = Palette::of(ui);
    let asked = f64::from(model.manner.pace_deg_s);
    let rate = model.measure.course.rate_deg_s;
    let state = model.measure.course.leading.as_ref().map(|r| r.state);
    let per_second = |rate: f64| language.fill(Live::Pace, &[&language.number(rate, 0)]);
    let asked_for = language.fill(Live::Asked, &[&per_second(asked)]);
    let (first, second, ink) = if state == Some(RaiseState::Rising) {
        let (word, ink) = if crate::window::model::FAST_DEG_S < rate {
            (Live::PaceFast, colours.alarm)
        } else if asked * BRISK < rate {
            (Live::PaceBrisk, colours.ink)
        } else if rate < asked * SLOW {
            (Live::PaceSlow, colours.soft)
        } else {
            (Live::PaceGood, colours.well)
        };
        (per_second(rate), language.say(word).to_owned(), ink)
    } else {
        (String::new(), asked_for, colours.soft)
    };
    // Beside the arc there is room for short lines.
    for (text, down) in [(first, 10.0), (second, 34.0)] {
        let at = rect.left_top() + vec2(16.0, down);
        ui.painter()
            .text(at, Align2::LEFT_TOP, text, theme::text(20.0), ink);
    }
    let track = Rect::from_min_size(rect.left_top() + vec2(16.0, 64.0), vec2(150.0, 10.0));
    gauge(ui.painter(), track, rate.max(0.0) / asked, &colours);
}

/// The pace on a track: the part that is good is filled, the pace itself a needle.
fn gauge(painter: &Painter, track: Rect, part: f64, colours: &Palette) {
    let x = |part: f64| {
        #[expect(clippy::cast_possible_truncation, reason = "pixels")]
        let share = (part / GAUGE_MAX).clamp(0.0, 1.0) as f32;
        track.left() + share * track.width()
    };
    let round = track.height() / 2.0;
    painter.rect(
        track,
        round,
        colours.ground,
        Stroke::new(1.0, colours.body),
        StrokeKind::Inside,
    );
    let good = Rect::from_x_y_ranges(x(SLOW)..=x(BRISK), track.y_range());
    painter.rect_filled(good, 0.0, colours.well.gamma_multiply(0.55));
    let needle = Rect::from_center_size(pos2(x(part), track.center().y), vec2(5.0, 22.0));
    painter.rect_filled(needle, 2.0, colours.ink);
}

/// What gives way in the raise that goes on.
fn gives_way(model: &Model, ink: Color32) -> Vec<(String, Color32)> {
    let Some(round) = model.measure.course.open_round() else {
        return Vec::new();
    };
    let language = model.settings.language;
    let line = |kind: &CompensationKind| {
        let reason = match kind {
            CompensationKind::OppositeLeg => fusion::Reason::OppositeLeg,
            CompensationKind::Knee => fusion::Reason::Knee,
        };
        let text = language.fill(Live::GivesWay, &[words::reason(language, reason)]);
        (format!("! {text}"), ink)
    };
    round.gave_way.iter().map(line).collect()
}

/// How far the knee is bent and the pelvis tilted, where sensors tell.
fn bent(pose: &Pose) -> impl Iterator<Item = (Live, f64)> {
    let knee = pose
        .thigh_deg
        .map(|thigh_deg| (thigh_deg - pose.leg_deg).max(0.0));
    let pelvis = pose.pelvis_deg.map(|deg| (Live::Pelvis, deg));
    knee.map(|deg| (Live::Knee, deg)).into_iter().chain(pelvis)
}

/// Short lines beside the arc, under the pace.
fn beside(ui: &Ui, rect: Rect, lines: &[(String, Color32)]) {
    for (number, (text, ink)) in (0_u8..).zip(lines) {
        let at = rect.left_top() + vec2(16.0, 84.0 + 26.0 * f32::from(number));
        ui.painter()
            .text(at, Align2::LEFT_TOP, text, theme::text(20.0), *ink);
    }
}

/// The sign of the start page.
pub(super) fn emblem(ui: &Ui, rect: Rect) {
    let pose = Pose {
        leg_deg: 62.0,
        plus_minus_deg: 4.0,
        other_deg: Some(0.0),
        ..Pose::default()
    };
    person(ui, rect, &pose, &Bands::default());
}

/// A point so far from another in a direction, degrees above the flat.
fn toward(from: Pos2, length: f32, deg: f64) -> Pos2 {
    #[expect(clippy::cast_possible_truncation, reason = "pixels")]
    let (sin, cos) = (deg.to_radians().sin() as f32, deg.to_radians().cos() as f32);
    from + vec2(cos, -sin) * length
}

/// Draws the person with the hip in the middle, head to the left.
pub(super) fn person(ui: &Ui, rect: Rect, pose: &Pose, bands: &Bands) {
    let colours = Palette::of(ui);
    let painter = ui.painter();
    // Over the arc there is room for its figures.
    let length = ((rect.height() - 66.0) / 1.12).min(rect.width() / 2.2);
    let thick = length * 0.085;
    let table_y = rect.bottom() - 10.0;
    let hip = pos2(rect.center().x - length * 0.08, table_y - thick);
    painter.line_segment(
        [
            pos2(hip.x - length * 1.0, table_y + 4.0),
            pos2(hip.x + length * 1.1, table_y + 4.0),
        ],
        Stroke::new(3.0, colours.body),
    );
    arc(ui, hip, length, bands, &colours);
    let leg_ink = if pose.is_lost {
        colours.body
    } else {
        colours.leg
    };
    if 0.0 < pose.plus_minus_deg && !pose.is_lost {
        fan(
            painter,
            hip,
            length * 1.1,
            pose,
            leg_ink.gamma_multiply(0.45),
        );
    }
    if let Some(end_deg) = pose.end_deg {
        let stroke = Stroke::new(2.5, colours.end);
        painter.line_segment(
            [
                toward(hip, length * 0.25, end_deg),
                toward(hip, length * 1.1, end_deg),
            ],
            stroke,
        );
    }
    trunk(painter, hip, length, colours.body);
    if let Some(deg) = pose.pelvis_deg {
        pelvis(painter, hip, length, deg, &colours);
    }
    let (other, other_ink) = match pose.other_deg {
        Some(deg) => (deg, colours.other),
        None => (0.0, colours.body),
    };
    leg(painter, hip, length, thick, (other, None), other_ink);
    leg(
        painter,
        hip,
        length,
        thick,
        (pose.leg_deg, pose.thigh_deg),
        leg_ink,
    );
    painter.circle(
        hip,
        thick * 0.55,
        colours.card,
        Stroke::new(2.5, colours.ink),
    );
}

/// Trunk, neck and head.
fn trunk(painter: &Painter, hip: Pos2, length: f32, ink: Color32) {
    let thick = length * 0.085;
    let shoulder = hip - vec2(length * 0.56, thick * 0.1);
    limb(painter, hip, shoulder, thick * 2.0, thick * 2.2, ink);
    let head = hip - vec2(length * 0.79, thick * 0.45);
    limb(painter, shoulder, head, thick * 1.1, thick, ink);
    painter.circle_filled(head, length * 0.10, ink);
}

/// The pelvis as its sensor tells, beside the line on which it lay.
fn pelvis(painter: &Painter, hip: Pos2, length: f32, deg: f64, colours: &Palette) {
    let thick = length * 0.085;
    let lay = toward(hip, length * 0.3, 180.0);
    painter.line_segment([hip, lay], Stroke::new(1.5, colours.card));
    // Its upper rim sinks toward the table as the leg rises.
    let rim = toward(hip, length * 0.2, 180.0 + deg);
    limb(painter, hip, rim, thick * 1.5, thick * 1.2, colours.other);
}

/// The arc that the heel describes, with a tick and a figure at each edge of a band.
fn arc(ui: &Ui, hip: Pos2, length: f32, bands: &Bands, colours: &Palette) {
    let painter = ui.painter();
    let radius = length * 1.06;
    let points: Vec<Pos2> = (0..=60)
        .map(|step| toward(hip, radius, f64::from(step) * 2.0))
        .collect();
    painter.add(Shape::line(points, Stroke::new(1.5, colours.line)));
    for deg in bands.edges().iter().map(|edge| edge.degrees()) {
        painter.line_segment(
            [
                toward(hip, radius - 8.0, deg),
                toward(hip, radius + 5.0, deg),
            ],
            Stroke::new(2.0, colours.body),
        );
        let text = format!("{deg:.0}°");
        painter.text(
            toward(hip, radius + 30.0, deg),
            Align2::CENTER_CENTER,
            text,
            theme::text(theme::SMALL),
            colours.soft,
        );
    }
}

/// All directions in which the leg may really be.
fn fan(painter: &Painter, hip: Pos2, length: f32, pose: &Pose, colour: Color32) {
    let half = pose.plus_minus_deg.clamp(FAN_DEG_MIN, 45.0);
    let steps = 12;
    let mut points = vec![hip];
    points.extend((0..=steps).map(|step| {
        let share = f64::from(step) / f64::from(steps) * 2.0 - 1.0;
        toward(hip, length, pose.leg_deg + share * half)
    }));
    painter.add(Shape::convex_polygon(points, colour, Stroke::NONE));
}

/// Thigh, shin and foot; straight where nobody says otherwise.
fn leg(
    painter: &Painter,
    hip: Pos2,
    length: f32,
    thick: f32,
    at: (f64, Option<f64>),
    ink: Color32,
) {
    let (shin_deg, thigh_deg) = at;
    let knee = toward(hip, length * 0.5, thigh_deg.unwrap_or(shin_deg));
    let ankle = toward(knee, length * 0.47, shin_deg);
    limb(painter, hip, knee, thick * 1.7, thick * 1.3, ink);
    limb(painter, knee, ankle, thick * 1.3, thick * 0.85, ink);
    let toes = toward(ankle, length * 0.13, shin_deg + 78.0);
    limb(painter, ankle, toes, thick * 0.85, thick * 0.5, ink);
}

/// A limb that narrows, with round ends.
fn limb(painter: &Painter, from: Pos2, to: Pos2, from_wide: f32, to_wide: f32, ink: Color32) {
    let along: Vec2 = (to - from).normalized();
    let across = vec2(-along.y, along.x);
    let (a, b) = (across * from_wide / 2.0, across * to_wide / 2.0);
    painter.add(Shape::convex_polygon(
        vec![from + a, to + b, to - b, from - a],
        ink,
        Stroke::NONE,
    ));
    painter.circle_filled(from, from_wide / 2.0, ink);
    painter.circle_filled(to, to_wide / 2.0, ink);
}
