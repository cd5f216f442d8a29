//! For the file: everything of the visits, each number beside the recording it comes from.

mod round;
mod weeks;

use fusion::Angle;
use sensor::Side;

use super::Ask;
use super::blocks::{
    NAME_CHARS_MAX, NOTE_CHARS_MAX, caution, dash, facts, footer, heading, lead, method_table,
    part, plain, rounds_of, small, tidy, with_u,
};
use super::client::subtitle;
use super::gather::{JudgedVisit, Judgement};
use super::language::Language;
use super::page::{Block, Column, Page, Table};
use super::words::{self, Text};
use crate::decide::{Decision, Finding};
use crate::recheck::{Recheck, RecheckError};
use crate::record::{Client, Visit};

/// Makes the page.
pub(super) fn page(judgement: &Judgement<'_>, ask: &Ask<'_>) -> Page {
    let language = ask.language;
    let mut blocks = client(language, &judgement.account.client);
    let rounds = rounds_of(judgement);
    if rounds.is_empty() {
        blocks.push(lead(language.say(Text::Nothing)));
    } else {
        blocks.push(heading(language.say(Text::HowMeasured)));
        blocks.push(method_table(judgement, ask, &rounds));
    }
    blocks.extend(weeks::blocks(judgement, language));
    let from = if judgement.is_one_visit {
        judgement.visits.len().saturating_sub(1)
    } else {
        0
    };
    for judged in judgement.visits.iter().skip(from) {
        blocks.extend(visit(judgement, ask, judged));
    }
    blocks.push(small(words::bands_are_policy(language)));
    blocks.push(small(words::drills_are_unproven(language)));
    blocks.push(caution(language));
    Page {
        language,
        title: language.say(Text::TitleFile).to_owned(),
        subtitle: subtitle(judgement, ask),
        blocks,
        footer: footer(ask),
        day: ask.day,
        program: tidy(ask.program, NAME_CHARS_MAX),
        is_one_sheet: false,
    }
}

fn client(language: Language, client: &Client) -> Vec<Block> {
    let row = |what: Text, text: String| {
        let text = if text.is_empty() { dash() } else { text };
        [language.say(what).to_owned(), text]
    };
    let consent = client.consent.as_ref().map_or_else(
        || language.say(Text::ConsentNone).to_owned(),
        |consent| {
            let (given, text) = (
                language.date(consent.given),
                tidy(&consent.text_version, NAME_CHARS_MAX),
            );
            match consent.withdrawn {
                None => language.fill(Text::ConsentIs, &[&given, &text]),
                Some(day) => language.fill(
                    Text::ConsentWithdrawn,
                    &[&given, &text, &language.date(day)],
                ),
            }
        },
    );
    let birth_year = client.birth_year.map_or_else(dash, |year| year.to_string());
    vec![
        heading(language.say(Text::Client)),
        facts(
            language,
            Text::Identity,
            vec![
                row(Text::Name, tidy(&client.name, NAME_CHARS_MAX)),
                row(Text::Code, tidy(&client.code, NAME_CHARS_MAX)),
                row(Text::BirthYear, birth_year),
                row(Text::Contact, tidy(&client.contact, NOTE_CHARS_MAX)),
                row(Text::Consent, consent),
                row(Text::Notes, tidy(&client.notes, NOTE_CHARS_MAX)),
            ],
        ),
    ]
}

fn visit(judgement: &Judgement<'_>, ask: &Ask<'_>, judged: &JudgedVisit<'_>) -> Vec<Block> {
    let language = ask.language;
    let visit = judged.visit;
    let session = tidy(&visit.session, NAME_CHARS_MAX);
    let mut blocks = vec![
        heading(language.fill(Text::VisitOf, &[&session, &language.date(visit.date)])),
        visit_facts(language, visit),
    ];
    for kept in &visit.rounds {
        blocks.extend(round::blocks(language, kept, ask.curves));
    }
    if let Some(decision) = &judged.decision {
        blocks.extend(decided(judgement, language, judged, decision));
    }
    if let Some(found) = &judged.recheck {
        blocks.extend(rechecked(language, judged, found));
    }
    blocks
}

/// What was asked and noted.
pub(super) fn visit_facts(language: Language, visit: &Visit) -> Block {
    let answer = |known: Option<bool>| {
        language
            .say(match known {
                Some(true) => Text::Yes,
                Some(false) => Text::No,
                None => Text::NotAsked,
            })
            .to_owned()
    };
    let text = |text: &str| {
        let text = tidy(text, NOTE_CHARS_MAX);
        if text.is_empty() { dash() } else { text }
    };
    let pain = visit.pain.map_or_else(
        || language.say(Text::NotAsked).to_owned(),
        |pain| language.fill(Text::PainIs, &[&pain.to_string()]),
    );
    let drill = visit.drill.as_ref().map_or_else(dash, |drill| {
        let name = tidy(&drill.name, NAME_CHARS_MAX);
        let notes = tidy(&drill.notes, NOTE_CHARS_MAX);
        if notes.is_empty() {
            name
        } else {
            language.fill(Text::DrillIs, &[&name, &notes])
        }
    });
    let row = |what: Text, text: String| [language.say(what).to_owned(), text];
    facts(
        language,
        Text::VisitFacts,
        vec![
            row(Text::Cautions, cautions(language, visit)),
            row(Text::Pain, pain),
            row(Text::PullFelt, text(&visit.pull_felt)),
            row(Text::WarmUp, text(&visit.warm_up)),
            row(Text::FeelsTight, answer(visit.feels_tight)),
            row(Text::IsQuiet, answer(visit.is_quiet)),
            row(Text::Drill, drill),
            row(Text::Notes, text(&visit.notes)),
        ],
    )
}

/// Cautions answered with yes.
pub(super) fn cautions(language: Language, visit: &Visit) -> String {
    if !visit.has_asked_cautions {
        return language.say(Text::CautionsNotAsked).to_owned();
    }
    if visit.cautions.is_empty() {
        return language.say(Text::CautionsNone).to_owned();
    }
    let said: Vec<&str> = visit
        .cautions
        .iter()
        .map(|caution| words::cautious(language, *caution))
        .collect();
    said.join("; ")
}

fn decided(
    judgement: &Judgement<'_>,
    language: Language,
    judged: &JudgedVisit<'_>,
    decision: &Decision,
) -> Vec<Block> {
    let mut blocks = vec![part(language.say(Text::WhatRoundSays))];
    if decision.sides.is_empty() {
        blocks.push(plain(language.say(Text::NoMean)));
        return blocks;
    }
    let from: Vec<String> = Side::ALL
        .into_iter()
        .filter_map(|side| {
            let recording = tidy(judged.recording(side)?, NAME_CHARS_MAX);
            let name = words::side(language, side);
            Some(language.fill(Text::SideFrom, &[name, &recording]))
        })
        .collect();
    let words_of = |text: Text, share| Column::words(language.say(text), share);
    let number_of = |text: Text, share| Column::numbers(language.say(text), share);
    blocks.push(Block::Table(Table {
        caption: language.fill(Text::MeanOf, &[&from.join(", ")]),
        columns: vec![
            words_of(Text::Side, 1.0),
            number_of(Text::Mean, 1.5),
            number_of(Text::Count, 1.1),
            number_of(Text::Spread, 1.1),
            number_of(Text::Person, 1.0),
            number_of(Text::Instrument, 1.2),
            words_of(Text::Band, 3.2),
        ],
        rows: decision
            .sides
            .iter()
            .map(|found| mean_row(judgement, language, found))
            .collect(),
    }));
    let mut said: Vec<String> = decision
        .sides
        .iter()
        .flat_map(|found| {
            found.notes.iter().map(|note| {
                let side = words::side(language, found.summary.side);
                words::sentence(&format!("{side}: {}", words::note(language, note)))
            })
        })
        .collect();
    if let Some(found) = &decision.difference {
        let difference = words::difference(language, found);
        said.push(words::sentence(&language.fill(Text::Sides, &[&difference])));
    }
    said.extend(decision.unsaid.iter().map(|condition| {
        language.fill(Text::UnsaidNote, &[words::condition(language, *condition)])
    }));
    if !said.is_empty() {
        blocks.push(Block::List(said));
    }
    blocks
}

fn mean_row(judgement: &Judgement<'_>, language: Language, found: &Finding) -> Vec<String> {
    let summary = &found.summary;
    let tenths = |angle: Angle| format!("{}°", language.number(angle.degrees(), 1));
    vec![
        words::side(language, summary.side).to_owned(),
        with_u(language, summary.mean, summary.expanded),
        summary.count.to_string(),
        summary.scatter.map_or_else(dash, tenths),
        tenths(summary.person),
        tenths(summary.instrument),
        words::bands(language, &found.named, &judgement.account.bands),
    ]
}

fn rechecked(
    language: Language,
    judged: &JudgedVisit<'_>,
    found: &Result<Recheck, RecheckError>,
) -> Vec<Block> {
    let mut blocks = vec![part(language.say(Text::RecheckHead))];
    let recheck = match found {
        Ok(recheck) => recheck,
        Err(why) => {
            let why = match why {
                RecheckError::OtherWay { .. } => Text::RecheckOtherWay,
                RecheckError::NoSide => Text::RecheckNoSide,
            };
            let why = language.say(why);
            blocks.push(plain(words::sentence(
                &language.fill(Text::RecheckWhy, &[why]),
            )));
            return blocks;
        }
    };
    let after = judged.again.iter().flat_map(|taken| &taken.rounds);
    let from: Vec<String> = after
        .map(|(side, round)| {
            let recording = tidy(&round.recording, NAME_CHARS_MAX);
            language.fill(Text::SideFrom, &[words::side(language, *side), &recording])
        })
        .collect();
    let number_of = |text: Text| Column::numbers(language.say(text), 1.5);
    blocks.push(Block::Table(Table {
        caption: language.fill(Text::RecheckOf, &[&from.join(", ")]),
        columns: vec![
            Column::words(language.say(Text::Side), 1.0),
            number_of(Text::Before),
            number_of(Text::After),
            number_of(Text::Change),
        ],
        rows: recheck
            .sides
            .iter()
            .map(|side| {
                let change = &side.change;
                vec![
                    words::side(language, side.after.side).to_owned(),
                    with_u(language, side.before.mean, side.before.expanded),
                    with_u(language, side.after.mean, side.after.expanded),
                    format!("{}°", language.signed(change.amount.degrees(), 1)),
                ]
            })
            .collect(),
    }));
    let mut said = Vec::new();
    for side in &recheck.sides {
        let name = words::side(language, side.after.side);
        let change = words::change(language, &side.change);
        said.push(words::sentence(&format!("{name}: {change}")));
        let warm_ups = [
            (Text::Before, &side.warm_up_before),
            (Text::After, &side.warm_up_after),
        ];
        for (when, warm_up) in warm_ups {
            if let Some(warm_up) = warm_up {
                let (when, warm_up) = (language.say(when), words::warm_up(language, warm_up));
                said.push(words::sentence(&format!("{name}, {when}: {warm_up}")));
            }
        }
    }
    let notes = recheck.notes.iter();
    said.extend(notes.map(|note| words::sentence(&words::recheck_note(language, note))));
    blocks.push(Block::List(said));
    blocks
}
