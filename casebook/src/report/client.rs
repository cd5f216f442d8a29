//! For the client: one sheet in plain words. What it says is what the casebook judged, rounded for reading.

use fusion::Reason;
use sensor::Side;

use super::blocks::{
    self, NAME_CHARS_MAX, caution, degrees, footer, heading, lead, plain, small, tidy, with_u,
};
use super::gather::{JudgedVisit, Judgement};
use super::language::Language;
use super::page::{Block, Page};
use super::words::{self, Text};
use super::{Ask, chart};
use crate::change::Change;
use crate::decide::{Finding, Note};

/// Makes the page.
pub(super) fn page(judgement: &Judgement<'_>, ask: &Ask<'_>) -> Page {
    let language = ask.language;
    let mut blocks = Vec::new();
    match judgement.latest() {
        None => blocks.push(lead(language.say(Text::Nothing))),
        Some(latest) => {
            blocks.extend(today(language, latest));
            blocks.push(small(language.say(Text::WhatUMeans)));
            blocks.extend(since(judgement, language));
            blocks
                .extend(chart::course(judgement, language, chart::Edges::Left).map(Block::Figure));
            blocks.extend(practised(latest, language));
            blocks.extend(works_on(judgement, latest, language));
            let stop = words::stop(language);
            blocks.push(heading(language.say(Text::StopWhen)));
            blocks.push(plain(stop.join(" ")));
            blocks.push(method(latest, language));
        }
    }
    blocks.push(caution(language));
    Page {
        language,
        title: language.say(Text::TitleClient).to_owned(),
        subtitle: subtitle(judgement, ask),
        blocks,
        footer: footer(ask),
        day: ask.day,
        program: tidy(ask.program, NAME_CHARS_MAX),
        is_one_sheet: true,
    }
}

/// Name and day.
pub(super) fn subtitle(judgement: &Judgement<'_>, ask: &Ask<'_>) -> String {
    let name = tidy(&judgement.account.client.name, NAME_CHARS_MAX);
    let name = if name.is_empty() {
        ask.language.say(Text::NoName).to_owned()
    } else {
        name
    };
    format!("{name} · {}", ask.language.date(ask.day))
}

fn today(language: Language, latest: &JudgedVisit<'_>) -> Vec<Block> {
    let sides = latest.decision.iter().flat_map(|decision| &decision.sides);
    sides
        .map(|found| {
            let (mean, u) = (found.summary.mean, found.summary.expanded);
            let count = raises(language, found.summary.count);
            let rose = language.fill(
                Text::RoseTo,
                &[
                    words::leg(language, found.summary.side),
                    &degrees(language, mean, u),
                    &blocks::plus_minus(language, u),
                    &count,
                ],
            );
            lead(format!("{rose} {}", language.say(ended(found))))
        })
        .collect()
}

pub(crate) fn raises(language: Language, count: usize) -> String {
    if count == 1 {
        language.say(Text::RaiseOne).to_owned()
    } else {
        language.fill(Text::RaiseMany, &[&count.to_string()])
    }
}

fn ended(found: &Finding) -> Text {
    let reason = found.notes.iter().find_map(|note| match note {
        Note::EndedBy { reason, .. } => Some(*reason),
        _ => None,
    });
    match reason {
        Some(Reason::Pull) => Text::YouPull,
        Some(Reason::OppositeLeg) => Text::YouOpposite,
        Some(Reason::Knee) => Text::YouKnee,
        Some(Reason::Hold) => Text::YouHold,
        Some(Reason::Peak) => Text::YouPeak,
        Some(Reason::Stop) | None => Text::YouMixed,
    }
}

fn since(judgement: &Judgement<'_>, language: Language) -> Vec<Block> {
    let mut said = Vec::new();
    let mut from = None;
    for (side, course) in &judgement.courses {
        let name = &words::capital(words::leg(language, *side));
        if let Some(change) = &course.change {
            from = from.or(course.visits.first().map(|visit| visit.date));
            said.push(changed(language, name, change));
        } else if !course.left_out.is_empty() {
            said.push(language.fill(Text::SinceOther, &[name]));
        }
    }
    if said.is_empty() {
        return Vec::new();
    }
    let mut all = Vec::new();
    if let Some(from) = from {
        all.push(heading(
            language.fill(Text::SinceFirst, &[&language.date(from)]),
        ));
    }
    all.push(Block::List(said));
    all
}

/// A change held against error.
fn changed(language: Language, name: &str, change: &Change) -> String {
    let phrase = if change.is_gain() {
        Text::SinceMore
    } else if change.is_fall() {
        Text::SinceLess
    } else {
        Text::SinceSame
    };
    let (amount, limit) = (change.amount.abs().degrees(), change.limit.degrees());
    let decimals = decimals_beside_limit(change);
    let said = |deg: f64| format!("{}°", language.number(deg, decimals));
    language.fill(phrase, &[name, &said(amount), &said(limit)])
}

fn practised(latest: &JudgedVisit<'_>, language: Language) -> Vec<Block> {
    let Some(drill) = &latest.visit.drill else {
        return Vec::new();
    };
    let name = tidy(&drill.name, NAME_CHARS_MAX);
    let mut all = vec![heading(language.say(Text::YouPractised))];
    let on = language.date(latest.visit.date);
    let mut said = vec![language.fill(Text::PractisedIs, &[&name, &on])];
    if let Some(Ok(recheck)) = &latest.recheck {
        for side in &recheck.sides {
            let change = &side.change;
            let judged = if change.is_beyond_error() {
                Text::MoreThanError
            } else {
                Text::WithinError
            };
            said.push(language.fill(
                Text::RightAfter,
                &[
                    words::leg(language, side.after.side),
                    &signed(language, change),
                    language.say(judged),
                ],
            ));
        }
    }
    all.push(Block::List(said));
    all
}

/// With its sign, to as many decimals as it takes to see whether it is beyond error.
fn signed(language: Language, change: &Change) -> String {
    let amount = change.amount.degrees();
    format!(
        "{}°",
        language.signed(amount, decimals_beside_limit(change))
    )
}

/// Whole degrees, unless that would hide which is larger.
fn decimals_beside_limit(change: &Change) -> usize {
    let (amount, limit) = (change.amount.abs().degrees(), change.limit.degrees());
    usize::from((amount - limit).abs() < 1.0)
}

fn works_on(judgement: &Judgement<'_>, latest: &JudgedVisit<'_>, language: Language) -> Vec<Block> {
    let all = &judgement.account.bands;
    let said = Side::ALL.into_iter().filter_map(|side| {
        let found = latest.finding(side)?;
        let name = words::capital(words::leg(language, side));
        let is = with_band(language, found, all);
        Some(match judgement.plan(side) {
            Some(plan) => {
                let own = words::band(language, plan.band, all);
                language.fill(Text::WorkOnIs, &[&name, &own, &is])
            }
            None => language.fill(Text::WorkOnNone, &[&name, &is]),
        })
    });
    let mut said: Vec<String> = said.collect();
    if said.is_empty() {
        return Vec::new();
    }
    let next = judgement
        .courses
        .iter()
        .map(|(_, course)| course.next_visit);
    if let Some(next) = next.max() {
        said.push(language.fill(Text::NextVisit, &[&language.date(next)]));
    }
    vec![
        heading(language.say(Text::YouWorkOn)),
        Block::List(said),
        small(words::bands_are_policy(language)),
    ]
}

/// The bands a mean may belong to, never without the mean.
fn with_band(language: Language, found: &Finding, all: &crate::bands::Bands) -> String {
    let summary = &found.summary;
    format!(
        "{} ({})",
        words::bands(language, &found.named, all),
        with_u(language, summary.mean, summary.expanded)
    )
}

fn method(latest: &JudgedVisit<'_>, language: Language) -> Block {
    let rounds = || latest.visit.rounds.iter();
    let named: Vec<&str> = rounds().map(|round| round.recording.as_str()).collect();
    let done = latest
        .first
        .as_ref()
        .map(|taken| blocks::done(language, taken.conditions));
    let done = words::sentence(&done.unwrap_or_default());
    small(language.fill(
        Text::ClientMethod,
        &[
            &blocks::sensors(language, rounds()),
            &blocks::methods(language, rounds()),
            &done,
            &tidy(&named.join(", "), blocks::NOTE_CHARS_MAX),
        ],
    ))
}
