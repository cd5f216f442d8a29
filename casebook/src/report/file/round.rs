//! One round in the file: its raises, and what the uncertainty of each is made of.

use fusion::{EndPoint, Raise, Source};

use super::super::blocks::{NAME_CHARS_MAX, dash, done, measured, part, sensors, tidy};
use super::super::curve::{self, Curve};
use super::super::language::Language;
use super::super::page::{Block, Column, Table};
use super::super::words::{self, Text};
use crate::record::{KeptRound, Purpose};

/// All of it.
pub(super) fn blocks(language: Language, round: &KeptRound, curves: &[Curve]) -> Vec<Block> {
    let purpose = language.say(match round.purpose {
        Purpose::First => Text::RoundFirst,
        Purpose::Recheck => Text::RoundAgain,
        Purpose::Further => Text::RoundFurther,
    });
    let mut blocks = vec![part(purpose), raises(language, round, purpose)];
    blocks.extend(budget(language, round));
    for curve in curves.iter().filter(|c| c.recording == round.recording) {
        let raise = round.raises.get(curve.raise);
        let figure = raise.and_then(|raise| curve::figure(language, curve, raise));
        blocks.extend(figure.map(Block::Figure));
    }
    blocks
}

fn raises(language: Language, round: &KeptRound, purpose: &str) -> Block {
    let recording = tidy(&round.recording, NAME_CHARS_MAX);
    let began = round.began.map_or_else(String::new, |began| {
        let time = began.time();
        format!("{:02}:{:02}, ", time.hour(), time.minute())
    });
    let how = format!(
        "{began}{}; {}",
        done(language, &round.conditions),
        sensors(language, std::iter::once(round))
    );
    let words_of = |text: Text, share| Column::words(language.say(text), share);
    let number_of = |text: Text, share| Column::numbers(language.say(text), share);
    Block::Table(Table {
        caption: words::sentence(&language.fill(Text::RoundOf, &[purpose, &recording, &how])),
        columns: vec![
            number_of(Text::Number, 0.5),
            words_of(Text::Side, 0.8),
            number_of(Text::EndPoint, 1.5),
            number_of(Text::At, 0.8),
            words_of(Text::Reason, 1.5),
            number_of(Text::Peak, 1.5),
            number_of(Text::Held, 1.5),
            words_of(Text::Heed, 2.4),
        ],
        rows: round
            .raises
            .iter()
            .enumerate()
            .map(|(at, raise)| row(language, round, at, raise))
            .collect(),
    })
}

fn row(language: Language, round: &KeptRound, at: usize, raise: &Raise) -> Vec<String> {
    let end = raise.end_point.as_ref();
    let mut heed: Vec<String> = raise
        .flags
        .iter()
        .map(|flag| words::flag(language, *flag).to_owned())
        .collect();
    let aside = round.set_aside.iter().filter(|(place, _)| *place == at);
    heed.extend(aside.map(|(_, why)| language.fill(Text::Aside, &[&tidy(why, NAME_CHARS_MAX)])));
    vec![
        (at + 1).to_string(),
        words::side(language, raise.side).to_owned(),
        measured(language, end.map(|end| &end.angle)),
        end.map_or_else(dash, |end| language.number(end.time_s, 1)),
        end.map_or_else(dash, |end| words::reason(language, end.reason).to_owned()),
        measured(language, raise.peak.as_ref().map(|peak| &peak.angle)),
        measured(language, raise.hold.as_ref().map(|hold| &hold.angle)),
        if heed.is_empty() {
            dash()
        } else {
            heed.join("; ")
        },
    ]
}

/// Parts of each end point's uncertainty; `None` where no raise has one.
fn budget(language: Language, round: &KeptRound) -> Option<Block> {
    let ends: Vec<(usize, &Raise, &EndPoint)> = round
        .raises
        .iter()
        .enumerate()
        .filter_map(|(at, raise)| Some((at, raise, raise.end_point.as_ref()?)))
        .collect();
    let mut sources: Vec<Source> = ends
        .iter()
        .flat_map(|(_, _, end)| end.angle.budget.terms.iter().map(|term| term.source))
        .collect();
    sources.sort_unstable();
    sources.dedup();
    if sources.is_empty() {
        return None;
    }
    let number_of = |title: &str| Column::numbers(title, 1.0);
    let mut columns = vec![
        Column::numbers(language.say(Text::Number), 0.5),
        Column::words(language.say(Text::Side), 0.8),
    ];
    columns.extend(
        sources
            .iter()
            .map(|source| number_of(words::source(language, *source))),
    );
    columns.push(number_of(language.say(Text::Combined)));
    columns.push(Column::numbers(language.say(Text::Factor), 0.7));
    let rows = ends.into_iter().map(|(at, raise, end)| {
        let mut row = vec![
            (at + 1).to_string(),
            words::side(language, raise.side).to_owned(),
        ];
        row.extend(sources.iter().map(|source| part_of(language, end, *source)));
        let combined = end.angle.budget.combined();
        row.push(language.number(combined.degrees(), 2));
        let k = end.angle.expanded.radians() / combined.radians();
        row.push(if k.is_finite() {
            language.number(k, 2)
        } else {
            dash()
        });
        row
    });
    let recording = tidy(&round.recording, NAME_CHARS_MAX);
    Some(Block::Table(Table {
        caption: language.fill(Text::BudgetOf, &[&recording]),
        rows: rows.collect(),
        columns,
    }))
}

/// One source's share; several terms of one source together.
fn part_of(language: Language, end: &EndPoint, source: Source) -> String {
    let terms = end
        .angle
        .budget
        .terms
        .iter()
        .filter(|term| term.source == source);
    let square: f64 = terms.map(|term| term.standard.degrees().powi(2)).sum();
    if square > 0.0 {
        language.number(square.sqrt(), 2)
    } else {
        dash()
    }
}
