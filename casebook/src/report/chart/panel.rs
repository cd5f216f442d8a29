//! One leg's panel of the course.

use std::f64::consts::TAU;

use fusion::Angle;
use jiff::civil::Date;
use sensor::Side;

use super::super::gather::{Judgement, is_done_otherwise};
use super::super::language::Language;
use super::super::page::{Anchor, Dash, Ink, Line, Shape};
use super::super::words;
use super::{Edges, after};
use crate::course::{Course, Trend, Visit};

const AXIS: Line = Line {
    ink: Ink::Text,
    width: 0.6,
    dash: Dash::Whole,
};
const GRID: Line = Line {
    ink: Ink::Faint,
    width: 0.4,
    dash: Dash::Whole,
};
const EDGE: Line = Line {
    ink: Ink::Text,
    width: 0.6,
    dash: Dash::Broken,
};
const POINT: Line = Line {
    ink: Ink::Point,
    width: 1.1,
    dash: Dash::Whole,
};
const FIT: Line = Line {
    ink: Ink::Fit,
    width: 1.3,
    dash: Dash::Whole,
};
const TEXT_SIZE: f64 = 7.5;

/// What both panels share: the days and the angles they reach from and to.
pub(super) struct Scale {
    first: Date,
    last: Date,
    days: f64,
    low_deg: f64,
    high_deg: f64,
    step_deg: f64,
}

impl Scale {
    /// Over all that is drawn.
    pub(super) fn over(judgement: &Judgement<'_>) -> Option<Self> {
        let courses = || judgement.courses.iter().map(|(_, course)| course);
        let drawn = || {
            courses().flat_map(|course| {
                let apart = course.left_out.iter().map(|(visit, _)| visit);
                course.visits.iter().chain(apart)
            })
        };
        let (first, last) = (
            drawn().map(|v| v.date).min()?,
            drawn().map(|v| v.date).max()?,
        );
        let mut angles: Vec<f64> = Vec::new();
        for visit in drawn() {
            let (mean, u) = (visit.summary.mean, visit.summary.expanded);
            angles.extend([(mean - u).degrees(), (mean + u).degrees()]);
            angles.extend(after(judgement, visit.summary.side, visit.date).map(Angle::degrees));
        }
        for course in courses() {
            angles.extend([course.error_band.0.degrees(), course.error_band.1.degrees()]);
        }
        let low = angles
            .iter()
            .copied()
            .fold(f64::INFINITY, f64::min)
            .max(0.0);
        let high = angles.iter().copied().fold(0.0, f64::max).min(180.0);
        let step_deg = if high - low > 60.0 { 20.0 } else { 10.0 };
        let low_deg = (low / step_deg).floor() * step_deg;
        let high_deg = ((high / step_deg).ceil() * step_deg).max(low_deg + step_deg);
        Some(Self {
            first,
            last,
            days: f64::from((last - first).get_days()),
            low_deg,
            high_deg,
            step_deg,
        })
    }
}

/// Where a panel lies.
pub(super) struct Panel<'a> {
    pub(super) language: Language,
    pub(super) scale: &'a Scale,
    pub(super) left: f64,
    pub(super) width: f64,
    pub(super) height: f64,
}

impl Panel<'_> {
    /// From the axis to the right, points.
    fn inner(&self) -> (f64, f64) {
        (self.left + 24.0, self.left + self.width - 4.0)
    }

    /// From the top to the axis, points.
    fn upright(&self) -> (f64, f64) {
        (16.0, self.height - 26.0)
    }

    fn x(&self, date: Date) -> f64 {
        let (from, to) = self.inner();
        // Marks at either end stay within.
        let (from, to) = (from + 8.0, to - 10.0);
        let days = f64::from((date - self.scale.first).get_days());
        if self.scale.days > 0.0 {
            from + (to - from) * days / self.scale.days
        } else {
            f64::midpoint(from, to)
        }
    }

    fn y(&self, angle: Angle) -> f64 {
        self.y_deg(angle.degrees())
    }

    fn y_deg(&self, deg: f64) -> f64 {
        let (top, bottom) = self.upright();
        let share = (deg - self.scale.low_deg) / (self.scale.high_deg - self.scale.low_deg);
        bottom - (bottom - top) * share.clamp(0.0, 1.0)
    }

    /// Draws all of it.
    pub(super) fn draw(
        &self,
        judgement: &Judgement<'_>,
        side: Side,
        course: &Course,
        drills: &[(String, String)],
        edges: Edges,
        shapes: &mut Vec<Shape>,
    ) {
        self.ground(course, shapes);
        self.axes(side, shapes);
        if edges == Edges::Drawn {
            self.edges(judgement, shapes);
        }
        if let (Some(trend), Some(first), Some(last)) =
            (&course.trend, course.visits.first(), course.visits.last())
        {
            self.trend(trend, first.date, last.date, shapes);
        }
        for (visit, why) in &course.left_out {
            if is_done_otherwise(why) {
                self.point(visit, Some(Ink::Paper), shapes);
            }
        }
        for visit in &course.visits {
            self.point(visit, Some(Ink::Point), shapes);
            if let Some(mean) = after(judgement, side, visit.date) {
                let at = (self.x(visit.date) + 5.0, self.y(mean));
                shapes.push(mark(at, 3.2, 4, Some(Ink::Paper)));
            }
        }
        self.practised(judgement, drills, shapes);
    }

    /// The band of measurement error about the first visit.
    fn ground(&self, course: &Course, shapes: &mut Vec<Shape>) {
        let (from, to) = self.inner();
        let (low, high) = course.error_band;
        let (low, high) = (self.y(low), self.y(high));
        shapes.push(Shape::Path {
            points: vec![(from, low), (to, low), (to, high), (from, high)],
            is_closed: true,
            fill: Some(Ink::Band),
            line: None,
        });
    }

    fn axes(&self, side: Side, shapes: &mut Vec<Shape>) {
        let ((from, to), (top, bottom)) = (self.inner(), self.upright());
        let steps = ((self.scale.high_deg - self.scale.low_deg) / self.scale.step_deg).round();
        for step in 0_u32..=18 {
            if f64::from(step) > steps {
                break;
            }
            let deg = self.scale.low_deg + f64::from(step) * self.scale.step_deg;
            let y = self.y_deg(deg);
            shapes.push(line(vec![(from, y), (to, y)], GRID));
            let text = format!("{}°", self.language.number(deg, 0));
            shapes.push(label((from - 3.0, y + 2.5), text, Anchor::End));
        }
        shapes.push(line(vec![(from, top), (from, bottom), (to, bottom)], AXIS));
        let name = words::capital(words::leg(self.language, side));
        shapes.push(Shape::Label {
            at: (from, 10.0),
            text: name,
            anchor: Anchor::Start,
            size: 9.0,
            ink: Ink::Text,
        });
        let first = self.language.date(self.scale.first);
        if self.scale.days > 0.0 {
            shapes.push(label((from, self.height - 4.0), first, Anchor::Start));
            let last = self.language.date(self.scale.last);
            shapes.push(label((to, self.height - 4.0), last, Anchor::End));
        } else {
            let middle = f64::midpoint(from, to);
            shapes.push(label((middle, self.height - 4.0), first, Anchor::Middle));
        }
    }

    fn edges(&self, judgement: &Judgement<'_>, shapes: &mut Vec<Shape>) {
        let (from, to) = self.inner();
        for edge in judgement.account.bands.edges() {
            let deg = edge.degrees();
            if deg > self.scale.low_deg && deg < self.scale.high_deg {
                let y = self.y_deg(deg);
                shapes.push(line(vec![(from, y), (to, y)], EDGE));
            }
        }
    }

    fn trend(&self, trend: &Trend, first: Date, last: Date, shapes: &mut Vec<Shape>) {
        // The interval bends: it is narrowest in the middle.
        const STEPS: i64 = 12;
        let days = i64::from((last - first).get_days());
        let (mut upper, mut lower, mut middle) = (Vec::new(), Vec::new(), Vec::new());
        for step in 0..=STEPS {
            let date = first.saturating_add(jiff::Span::new().days(days * step / STEPS));
            let (value, u) = trend.at(date);
            let x = self.x(date);
            middle.push((x, self.y(value)));
            upper.push((x, self.y(value + u)));
            lower.push((x, self.y(value - u)));
        }
        let thin = Line { width: 0.5, ..FIT };
        shapes.push(line(upper, thin));
        shapes.push(line(lower, thin));
        shapes.push(line(middle, FIT));
        let robust = [first, last].map(|date| (self.x(date), self.y(trend.robust_at(date))));
        let dotted = Line {
            dash: Dash::Dotted,
            ..FIT
        };
        shapes.push(line(robust.to_vec(), dotted));
    }

    /// A mean with its uncertainty.
    fn point(&self, visit: &Visit, fill: Option<Ink>, shapes: &mut Vec<Shape>) {
        let x = self.x(visit.date);
        let (mean, u) = (visit.summary.mean, visit.summary.expanded);
        let (low, high) = (self.y(mean - u), self.y(mean + u));
        shapes.push(line(vec![(x, low), (x, high)], POINT));
        for y in [low, high] {
            shapes.push(line(vec![(x - 2.0, y), (x + 2.0, y)], POINT));
        }
        shapes.push(mark((x, self.y(mean)), 2.6, 16, fill));
    }

    /// A triangle on the axis for each visit with a drill, numbered where the drill changes.
    fn practised(
        &self,
        judgement: &Judgement<'_>,
        drills: &[(String, String)],
        shapes: &mut Vec<Shape>,
    ) {
        let (_, bottom) = self.upright();
        let mut before = None;
        for judged in &judgement.visits {
            let Some(drill) = &judged.visit.drill else {
                continue;
            };
            let x = self.x(judged.visit.date);
            shapes.push(Shape::Path {
                points: vec![
                    (x - 2.5, bottom + 6.0),
                    (x + 2.5, bottom + 6.0),
                    (x, bottom + 1.5),
                ],
                is_closed: true,
                fill: Some(Ink::Text),
                line: None,
            });
            let number = drills.iter().position(|(key, _)| *key == drill.key);
            if number != before {
                let text = number.map_or_else(String::new, |at| (at + 1).to_string());
                shapes.push(label((x, bottom + 13.5), text, Anchor::Middle));
            }
            before = number;
        }
    }
}

/// A line through points.
pub(in crate::report) fn line(points: Vec<(f64, f64)>, line: Line) -> Shape {
    Shape::Path {
        points,
        is_closed: false,
        fill: None,
        line: Some(line),
    }
}

/// A few small words.
pub(in crate::report) fn label(at: (f64, f64), text: String, anchor: Anchor) -> Shape {
    Shape::Label {
        at,
        text,
        anchor,
        size: TEXT_SIZE,
        ink: Ink::Text,
    }
}

/// A regular mark with so many corners: 4 a diamond, many a dot.
pub(in crate::report) fn mark(
    at: (f64, f64),
    radius: f64,
    corners: u32,
    fill: Option<Ink>,
) -> Shape {
    let corner = |n: u32| {
        let turn = TAU * f64::from(n) / f64::from(corners);
        (at.0 + radius * turn.cos(), at.1 + radius * turn.sin())
    };
    Shape::Path {
        points: (0..corners).map(corner).collect(),
        is_closed: true,
        fill,
        line: Some(POINT),
    }
}
