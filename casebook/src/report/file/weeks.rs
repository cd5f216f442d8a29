//! The course over weeks in the file: the drawing, each side's visits, and what the rules propose.

use sensor::Side;

use super::super::blocks::{NAME_CHARS_MAX, dash, heading, part, plain, small, tidy, with_u};
use super::super::chart::{self, Edges};
use super::super::gather::Judgement;
use super::super::language::Language;
use super::super::page::{Block, Column, Table};
use super::super::words::{self, Text};
use crate::course::{Course, Visit};

/// All of it; nothing where nothing was measured.
pub(super) fn blocks(judgement: &Judgement<'_>, language: Language) -> Vec<Block> {
    if judgement.courses.is_empty() {
        return Vec::new();
    }
    let mut blocks = vec![heading(language.say(Text::CourseHead))];
    blocks.extend(chart::course(judgement, language, Edges::Drawn).map(Block::Figure));
    for (side, course) in &judgement.courses {
        let leg = words::leg(language, *side);
        blocks.push(part(language.fill(Text::CourseOf, &[leg])));
        blocks.push(visits(judgement, language, *side, course));
        blocks.push(Block::List(said(judgement, language, *side, course)));
        if course.trend.is_none() {
            blocks.push(small(language.say(Text::FewVisits)));
        }
    }
    if blocks.is_empty() {
        blocks.push(plain(language.say(Text::Nothing)));
    }
    blocks
}

fn visits(judgement: &Judgement<'_>, language: Language, side: Side, course: &Course) -> Block {
    let mut rows: Vec<(jiff::civil::Date, Vec<String>)> = Vec::new();
    for visit in &course.visits {
        rows.push((visit.date, row(judgement, language, side, visit, dash())));
    }
    for (visit, why) in &course.left_out {
        let why = words::left_out(language, why);
        rows.push((visit.date, row(judgement, language, side, visit, why)));
    }
    rows.sort_by_key(|(date, _)| *date);
    Block::Table(Table {
        caption: language.say(Text::CourseTable).to_owned(),
        columns: vec![
            Column::words(language.say(Text::Date), 1.2),
            Column::numbers(language.say(Text::Mean), 1.3),
            Column::numbers(language.say(Text::Count), 1.0),
            Column::words(language.say(Text::Recording), 2.8),
            Column::words(language.say(Text::Drill), 2.2),
            Column::words(language.say(Text::Remark), 2.0),
        ],
        rows: rows.into_iter().map(|(_, row)| row).collect(),
    })
}

fn row(
    judgement: &Judgement<'_>,
    language: Language,
    side: Side,
    visit: &Visit,
    remark: String,
) -> Vec<String> {
    // Of several visits on one day the mean tells which it was.
    let judged = judgement.visits.iter().find(|judged| {
        let is_same = |found: &crate::Finding| found.summary.mean == visit.summary.mean;
        judged.visit.date == visit.date && judged.finding(side).is_some_and(is_same)
    });
    let recording = judged.and_then(|judged| judged.recording(side));
    let drill = judged.and_then(|judged| judged.visit.drill.as_ref());
    vec![
        language.date(visit.date),
        with_u(language, visit.summary.mean, visit.summary.expanded),
        visit.summary.count.to_string(),
        recording.map_or_else(dash, |recording| tidy(recording, NAME_CHARS_MAX)),
        drill.map_or_else(dash, |drill| tidy(&drill.name, NAME_CHARS_MAX)),
        remark,
    ]
}

fn said(judgement: &Judgement<'_>, language: Language, side: Side, course: &Course) -> Vec<String> {
    let all = &judgement.account.bands;
    let mut said = Vec::new();
    if let Some(plan) = judgement.plan(side) {
        let since = plan
            .since
            .map(|since| language.fill(Text::Since, &[&language.date(since)]));
        let band = words::band(language, plan.band, all);
        said.push(language.fill(Text::PlanIs, &[&band, &since.unwrap_or_default()]));
    }
    if let Some(change) = &course.change {
        let change = words::change(language, change);
        said.push(words::sentence(
            &language.fill(Text::FirstToLast, &[&change]),
        ));
    }
    if let Some(trend) = &course.trend {
        let trend = words::trend(language, trend);
        said.push(words::sentence(&language.fill(Text::Trend, &[&trend])));
    }
    let steps = words::advice_steps(language, &course.advice, all, course.next_visit);
    said.extend(steps.iter().map(|step| words::sentence(step)));
    said
}
