//! One raise over time as a drawing.

use fusion::Raise;

use super::blocks::{NAME_CHARS_MAX, degrees, tidy, with_u};
use super::chart::{WIDTH, label, line, mark};
use super::language::Language;
use super::page::{Anchor, Dash, Figure, Ink, Line, Shape};
use super::words::{self, Text};

/// The angle of one raise over time, if the caller has it: results alone don't hold it.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// The run it is from, as in the account.
    pub recording: String,
    /// Its place among the run's raises, from 0.
    pub raise: usize,
    /// Seconds since the run began, and the angle then in degrees; in order of time.
    pub samples: Vec<(f64, f64)>,
}

const HEIGHT: f64 = 120.0;
/// More points than these can't be told apart on paper.
const POINTS_MAX: usize = 600;

/// The drawing; `None` without two samples that are numbers.
pub(super) fn figure(language: Language, curve: &Curve, raise: &Raise) -> Option<Figure> {
    let is_number = |(s, deg): &(f64, f64)| s.is_finite() && deg.is_finite();
    let samples: Vec<(f64, f64)> = curve.samples.iter().copied().filter(is_number).collect();
    let (first, last) = (samples.first()?, samples.last()?);
    if last.0 <= first.0 {
        return None;
    }
    let top = samples.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1))?;
    let high_deg = ((top.1 / 20.0).ceil() * 20.0).clamp(20.0, 180.0);
    let (left, right, upper, lower) = (24.0, WIDTH - 4.0, 6.0, HEIGHT - 16.0);
    let x = |s: f64| left + (right - left) * (s - first.0) / (last.0 - first.0);
    let y = |deg: f64| lower - (lower - upper) * (deg / high_deg).clamp(0.0, 1.0);
    let axis = Line {
        ink: Ink::Text,
        width: 0.6,
        dash: Dash::Whole,
    };
    let grid = Line {
        ink: Ink::Faint,
        ..axis
    };
    let drawn = Line {
        ink: Ink::Point,
        width: 1.2,
        dash: Dash::Whole,
    };
    let mut shapes: Vec<Shape> = Vec::new();
    for deg in (0_u32..=180).step_by(20).map(f64::from) {
        if deg <= high_deg {
            shapes.push(line(vec![(left, y(deg)), (right, y(deg))], grid));
            let text = format!("{}°", language.number(deg, 0));
            shapes.push(label((left - 3.0, y(deg) + 2.5), text, Anchor::End));
        }
    }
    shapes.push(line(
        vec![(left, upper), (left, lower), (right, lower)],
        axis,
    ));
    for (s, anchor) in [(first.0, Anchor::Start), (last.0, Anchor::End)] {
        let text = format!("{} s", language.number(s, 1));
        shapes.push(label((x(s), HEIGHT - 4.0), text, anchor));
    }
    let points = thinned(&samples);
    shapes.push(line(points.map(|(s, deg)| (x(s), y(deg))).collect(), drawn));
    if let Some(end) = &raise.end_point {
        let at = (
            x(end.time_s).clamp(left, right),
            y(end.angle.value.degrees()),
        );
        shapes.push(mark(at, 3.0, 16, Some(Ink::Point)));
    }
    Some(Figure {
        caption: caption(language, curve, raise),
        alternative: alternative(language, [*first, top, *last]),
        width: WIDTH,
        height: HEIGHT,
        shapes,
    })
}

fn thinned(samples: &[(f64, f64)]) -> impl Iterator<Item = (f64, f64)> {
    let step = samples.len().div_ceil(POINTS_MAX).max(1);
    samples
        .iter()
        .copied()
        .step_by(step)
        .chain(samples.last().copied())
}

fn caption(language: Language, curve: &Curve, raise: &Raise) -> String {
    let number = (curve.raise + 1).to_string();
    let recording = tidy(&curve.recording, NAME_CHARS_MAX);
    let side = words::side(language, raise.side);
    match &raise.end_point {
        Some(end) => {
            let angle = with_u(language, end.angle.value, end.angle.expanded);
            language.fill(Text::CurveCaption, &[&number, side, &recording, &angle])
        }
        None => language.fill(Text::CurveNoEnd, &[&number, side, &recording]),
    }
}

fn alternative(language: Language, points: [(f64, f64); 3]) -> String {
    let parts: Vec<String> = points
        .iter()
        .flat_map(|(s, deg)| {
            let angle = fusion::Angle::from_degrees(*deg);
            let whole = fusion::Angle::from_degrees(1.0);
            [degrees(language, angle, whole), language.number(*s, 1)]
        })
        .collect();
    let parts: Vec<&str> = parts.iter().map(String::as_str).collect();
    language.fill(Text::CurveAlternative, &parts)
}
