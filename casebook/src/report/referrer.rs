//! For whoever sent the client or will see them next: what was measured, how, how sure, under which circumstances.
//! Bands and proposals are left out: they are the practitioner's own setting, no finding.

use sensor::Side;

use super::Ask;
use super::blocks::{
    NAME_CHARS_MAX, NOTE_CHARS_MAX, caution, dash, done, footer, heading, lead, measured,
    method_table, small, tidy, with_u,
};
use super::chart::{self, Edges};
use super::client::subtitle;
use super::file::visit_facts;
use super::gather::{JudgedVisit, Judgement};
use super::language::Language;
use super::page::{Block, Column, Page, Table};
use super::words::{self, Text};
use crate::decide::Finding;
use crate::record::KeptRound;

/// Makes the page.
pub(super) fn page(judgement: &Judgement<'_>, ask: &Ask<'_>) -> Page {
    let language = ask.language;
    let mut blocks = Vec::new();
    match judgement.latest() {
        None => blocks.push(lead(language.say(Text::Nothing))),
        Some(latest) => {
            let shown = shown(judgement, latest);
            blocks.push(heading(language.say(Text::ResultsHead)));
            blocks.push(results(language, &shown));
            blocks.extend(changes(judgement, language));
            blocks.extend(chart::course(judgement, language, Edges::Left).map(Block::Figure));
            blocks.push(heading(language.say(Text::HowMeasured)));
            blocks.push(method_table(judgement, ask, &rounds(&shown)));
            blocks.push(heading(language.say(Text::ConditionsHead)));
            blocks.push(visit_facts(language, latest.visit));
            blocks.extend(practised(judgement, language));
        }
    }
    blocks.push(small(language.say(Text::NotThis)));
    blocks.push(caution(language));
    Page {
        language,
        title: language.say(Text::TitleReferrer).to_owned(),
        subtitle: subtitle(judgement, ask),
        blocks,
        footer: footer(ask),
        day: ask.day,
        program: tidy(ask.program, NAME_CHARS_MAX),
        is_one_sheet: false,
    }
}

/// The first visit with a mean, and the latest.
fn shown<'b, 'a>(
    judgement: &'b Judgement<'a>,
    latest: &'b JudgedVisit<'a>,
) -> Vec<&'b JudgedVisit<'a>> {
    let has_mean = |judged: &&JudgedVisit<'_>| {
        let decision = judged.decision.as_ref();
        decision.is_some_and(|decision| !decision.sides.is_empty())
    };
    match judgement.visits.iter().find(has_mean) {
        Some(first) if first.visit.session != latest.visit.session => vec![first, latest],
        _ => vec![latest],
    }
}

fn rounds<'a>(shown: &[&JudgedVisit<'a>]) -> Vec<&'a KeptRound> {
    let visits = shown.iter().map(|judged| judged.visit);
    visits.flat_map(|visit| visit.rounds.iter()).collect()
}

fn results(language: Language, shown: &[&JudgedVisit<'_>]) -> Block {
    let words_of = |text: Text, share| Column::words(language.say(text), share);
    let number_of = |text: Text, share| Column::numbers(language.say(text), share);
    let rows = shown.iter().flat_map(|judged| {
        let sides = judged.decision.iter().flat_map(|decision| &decision.sides);
        sides.map(|found| row(language, judged, found))
    });
    Block::Table(Table {
        caption: language.say(Text::ResultsOf).to_owned(),
        columns: vec![
            words_of(Text::Date, 1.2),
            words_of(Text::Side, 0.8),
            number_of(Text::Mean, 1.2),
            number_of(Text::Count, 1.1),
            number_of(Text::Peak, 1.3),
            words_of(Text::Reason, 1.6),
            words_of(Text::Asked, 2.2),
            words_of(Text::Recording, 2.3),
        ],
        rows: rows.collect(),
    })
}

fn row(language: Language, judged: &JudgedVisit<'_>, found: &Finding) -> Vec<String> {
    let summary = &found.summary;
    let ended: Vec<String> = found
        .ends
        .iter()
        .map(|(reason, count)| format!("{} ({count})", words::reason(language, *reason)))
        .collect();
    let how = judged
        .first
        .as_ref()
        .map(|taken| done(language, taken.conditions));
    let recording = judged.recording(summary.side);
    vec![
        language.date(judged.visit.date),
        words::side(language, summary.side).to_owned(),
        with_u(language, summary.mean, summary.expanded),
        summary.count.to_string(),
        highest(language, judged, summary.side),
        ended.join(", "),
        how.unwrap_or_else(dash),
        recording.map_or_else(dash, |recording| tidy(recording, NAME_CHARS_MAX)),
    ]
}

/// The greatest peak of the raises in the mean.
fn highest(language: Language, judged: &JudgedVisit<'_>, side: Side) -> String {
    let taken = judged.first.iter().flat_map(|taken| taken.in_mean(side));
    let peaks = taken.filter_map(|raise| raise.peak.as_ref());
    let highest = peaks.max_by(|a, b| {
        let (a, b) = (a.angle.value.radians(), b.angle.value.radians());
        a.total_cmp(&b)
    });
    measured(language, highest.map(|peak| &peak.angle))
}

fn changes(judgement: &Judgement<'_>, language: Language) -> Vec<Block> {
    let said: Vec<String> = judgement
        .courses
        .iter()
        .filter_map(|(side, course)| {
            let change = words::change(language, course.change.as_ref()?);
            let (first, latest) = (course.visits.first()?, course.visits.last()?);
            Some(language.fill(
                Text::ChangeIs,
                &[
                    &words::capital(words::side(language, *side)),
                    &language.date(first.date),
                    &language.date(latest.date),
                    &words::sentence(&change),
                ],
            ))
        })
        .collect();
    if said.is_empty() {
        return Vec::new();
    }
    vec![heading(language.say(Text::ChangesHead)), Block::List(said)]
}

fn practised(judgement: &Judgement<'_>, language: Language) -> Vec<Block> {
    let visits = judgement.visits.iter();
    let said: Vec<String> = visits
        .filter_map(|judged| {
            let drill = judged.visit.drill.as_ref()?;
            let date = language.date(judged.visit.date);
            let name = tidy(&drill.name, NAME_CHARS_MAX);
            Some(language.fill(Text::Practised, &[&date, &name]))
        })
        .collect();
    if said.is_empty() {
        return Vec::new();
    }
    vec![
        heading(language.say(Text::PractisedHead)),
        super::blocks::plain(tidy(&said.join("; "), NOTE_CHARS_MAX)),
    ]
}
