//! The course over weeks as a drawing: a panel for each leg, on one scale of angles and one of time.

mod panel;

use jiff::civil::Date;
use sensor::Side;

use super::blocks::{NAME_CHARS_MAX, tidy, with_u};
use super::gather::{Judgement, is_done_otherwise};
use super::language::Language;
use super::page::{Figure, Shape};
use super::words::{self, Text};

use panel::{Panel, Scale};
pub(super) use panel::{label, line, mark};

/// Width of a sheet's text, points.
pub(super) const WIDTH: f64 = 495.0;
const HEIGHT: f64 = 176.0;
const GAP: f64 = 15.0;

/// Whether the edges of bands are drawn: they are the practitioner's, no finding.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Edges {
    /// Drawn.
    Drawn,
    /// Left out.
    Left,
}

/// Drills that were practised, each once, in order: their number in the drawing.
pub(super) fn drills(judgement: &Judgement<'_>) -> Vec<(String, String)> {
    let mut known: Vec<(String, String)> = Vec::new();
    for drill in judgement
        .visits
        .iter()
        .filter_map(|v| v.visit.drill.as_ref())
    {
        if !known.iter().any(|(key, _)| *key == drill.key) {
            known.push((drill.key.clone(), tidy(&drill.name, NAME_CHARS_MAX)));
        }
    }
    known
}

/// The drawing; `None` where nothing has been measured.
pub(super) fn course(
    judgement: &Judgement<'_>,
    language: Language,
    edges: Edges,
) -> Option<Figure> {
    let count = judgement.courses.len();
    let scale = Scale::over(judgement)?;
    let drills = drills(judgement);
    let width = (WIDTH - GAP * (count as f64 - 1.0)) / count as f64;
    let mut shapes: Vec<Shape> = Vec::new();
    for (at, (side, course)) in judgement.courses.iter().enumerate() {
        let panel = Panel {
            language,
            scale: &scale,
            left: at as f64 * (width + GAP),
            width,
            height: HEIGHT,
        };
        panel.draw(judgement, *side, course, &drills, edges, &mut shapes);
    }
    Some(Figure {
        caption: caption(judgement, language, &drills, edges),
        alternative: alternative(judgement, language),
        width: WIDTH,
        height: HEIGHT,
        shapes,
    })
}

fn caption(
    judgement: &Judgement<'_>,
    language: Language,
    drills: &[(String, String)],
    edges: Edges,
) -> String {
    let mut more = Vec::new();
    let courses = || judgement.courses.iter().map(|(_, course)| course);
    if courses().any(|course| {
        course
            .left_out
            .iter()
            .any(|(_, why)| is_done_otherwise(why))
    }) {
        more.push(language.say(Text::ChartApart).to_owned());
    }
    if courses().any(|course| course.trend.is_some()) {
        more.push(language.say(Text::ChartLines).to_owned());
    }
    if judgement
        .visits
        .iter()
        .any(|v| matches!(v.recheck, Some(Ok(_))))
    {
        more.push(language.say(Text::ChartRechecks).to_owned());
    }
    if !drills.is_empty() {
        let named: Vec<String> = drills
            .iter()
            .enumerate()
            .map(|(at, (_, name))| format!("{} {name}", at + 1))
            .collect();
        more.push(language.fill(Text::ChartDrills, &[&named.join(", ")]));
    }
    let phrase = match edges {
        Edges::Drawn => Text::ChartCaption,
        Edges::Left => Text::ChartPlain,
    };
    language.fill(phrase, &[&more.join(" ")])
}

/// What is drawn, in words.
fn alternative(judgement: &Judgement<'_>, language: Language) -> String {
    let legs: Vec<String> = judgement
        .courses
        .iter()
        .map(|(side, course)| {
            let points: Vec<String> = course
                .visits
                .iter()
                .map(|visit| {
                    let angle = with_u(language, visit.summary.mean, visit.summary.expanded);
                    format!("{} {angle}", language.date(visit.date))
                })
                .collect();
            let leg = words::capital(words::leg(language, *side));
            language.fill(Text::ChartAlternative, &[&leg, &points.join(", ")])
        })
        .collect();
    legs.join(" ")
}

/// The re-check's mean of a side on a day, if it was compared.
fn after(judgement: &Judgement<'_>, side: Side, date: Date) -> Option<fusion::Angle> {
    let judged = judgement.visit_on(date, side)?;
    let recheck = judged.recheck.as_ref()?.as_ref().ok()?;
    let mut sides = recheck.sides.iter();
    let found = sides.find(|found| found.after.side == side)?;
    Some(found.after.mean)
}
