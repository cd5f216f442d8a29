//! Blocks that several reports share: texts from outside made harmless, angles, how it was measured, the last words.

use std::collections::BTreeSet;

use fusion::{Angle, Measured};
use sensor::Conditions;

use super::Ask;
use super::gather::Judgement;
use super::language::{Language, decimals};
use super::page::{Block, Column, Table, Tone};
use super::words::{self, Text};
use crate::record::{KeptRound, Method};
use crate::way::{Condition, Way};

/// The longest name that is shown, characters.
pub(super) const NAME_CHARS_MAX: usize = 80;
/// The longest remark that is shown, characters; the casebook has all of it.
pub(super) const NOTE_CHARS_MAX: usize = 2_000;

/// A text from outside on one line, without what no font draws or what turns the text around it, and cut to length.
pub(crate) fn tidy(text: &str, chars_max: usize) -> String {
    let harmless = |c: char| match c {
        '\u{200B}'..='\u{200F}'
        | '\u{202A}'..='\u{202E}'
        | '\u{2060}'..='\u{206F}'
        | '\u{FE00}'..='\u{FE0F}'
        | '\u{FEFF}'
        | '\u{FFF9}'..='\u{FFFF}' => None,
        '\u{E000}'..='\u{F8FF}' | '\u{F0000}'..='\u{10FFFF}' => Some('?'),
        c if c.is_control() || c.is_whitespace() => Some(' '),
        c => Some(c),
    };
    let words: String = text.chars().filter_map(harmless).collect();
    let mut short = String::new();
    let mut count = 0;
    for word in words.split(' ').filter(|word| !word.is_empty()) {
        let gap = usize::from(count > 0);
        let length = word.chars().count();
        if count + gap + length > chars_max {
            let room = chars_max.saturating_sub(count + gap + 1);
            if gap == 1 {
                short.push(' ');
            }
            short.extend(word.chars().take(room));
            short.push('…');
            return short;
        }
        if gap == 1 {
            short.push(' ');
        }
        short.push_str(word);
        count += gap + length;
    }
    short
}

/// A paragraph.
pub(super) fn plain(text: impl Into<String>) -> Block {
    Block::Paragraph {
        tone: Tone::Plain,
        text: text.into(),
    }
}

/// A paragraph that stands back.
pub(super) fn small(text: impl Into<String>) -> Block {
    Block::Paragraph {
        tone: Tone::Small,
        text: text.into(),
    }
}

/// What the report is about.
pub(super) fn lead(text: impl Into<String>) -> Block {
    Block::Paragraph {
        tone: Tone::Lead,
        text: text.into(),
    }
}

/// A section's heading.
pub(super) fn heading(text: impl Into<String>) -> Block {
    Block::Heading {
        level: 1,
        text: text.into(),
    }
}

/// A part's heading.
pub(super) fn part(text: impl Into<String>) -> Block {
    Block::Heading {
        level: 2,
        text: text.into(),
    }
}

/// `62°`, or `62.3°` where it is known that well.
pub(super) fn degrees(language: Language, value: Angle, u: Angle) -> String {
    format!(
        "{}°",
        language.number(value.degrees(), decimals(u.degrees()))
    )
}

/// Its uncertainty, to the same decimals; never nought.
pub(super) fn plus_minus(language: Language, u: Angle) -> String {
    let least = Angle::from_degrees(0.1);
    format!(
        "± {}",
        degrees(language, if u < least { least } else { u }, u)
    )
}

/// Value and uncertainty in one.
pub(super) fn with_u(language: Language, value: Angle, u: Angle) -> String {
    format!(
        "{} {}",
        degrees(language, value, u),
        plus_minus(language, u)
    )
}

/// The same of one raise, or a dash.
pub(super) fn measured(language: Language, angle: Option<&Measured>) -> String {
    angle.map_or_else(dash, |angle| with_u(language, angle.value, angle.expanded))
}

/// Where there is no value.
pub(super) fn dash() -> String {
    "–".to_owned()
}

/// How the raises were done, as one text.
pub(super) fn done(language: Language, conditions: &Conditions) -> String {
    let way = Way::of(conditions);
    let said = Condition::ALL.into_iter().map(|condition| {
        way.word(condition).map_or_else(
            || language.fill(Text::Unsaid, &[words::condition(language, condition)]),
            |word| {
                words::condition_word(language, condition, &tidy(word, NAME_CHARS_MAX)).to_owned()
            },
        )
    });
    let mut said: Vec<String> = said.collect();
    if let Some(rater) = &conditions.rater {
        said.push(language.fill(Text::RaterIs, &[&tidy(rater, NAME_CHARS_MAX)]));
    }
    said.join(", ")
}

/// The sensors of rounds, in words.
pub(super) fn sensors<'a>(
    language: Language,
    rounds: impl Iterator<Item = &'a KeptRound> + Clone,
) -> String {
    let names: BTreeSet<&str> = rounds
        .clone()
        .flat_map(|round| round.sensors.iter().map(String::as_str))
        .collect();
    let names: Vec<String> = names
        .into_iter()
        .map(|name| tidy(words::placement(language, name), NAME_CHARS_MAX))
        .collect();
    let (mut all, mut any) = (true, false);
    for round in rounds {
        all &= round.is_calibrated;
        any |= round.is_calibrated;
    }
    let calibrated = match (all, any) {
        (true, true) => Text::CalibratedAll,
        (false, true) => Text::CalibratedSome,
        _ => Text::CalibratedNone,
    };
    format!("{}; {}", names.join(", "), language.say(calibrated))
}

/// What worked the results out: each method once.
pub(super) fn methods<'a>(
    language: Language,
    rounds: impl Iterator<Item = &'a KeptRound>,
) -> String {
    let mut known: Vec<&Method> = Vec::new();
    for round in rounds {
        if !known.contains(&&round.method) {
            known.push(&round.method);
        }
    }
    let said: Vec<String> = known
        .into_iter()
        .map(|method| {
            language.fill(
                Text::MethodIs,
                &[
                    &tidy(&method.program, NAME_CHARS_MAX),
                    &method.version.to_string(),
                    &tidy(&method.settings, NAME_CHARS_MAX),
                ],
            )
        })
        .collect();
    said.join("; ")
}

/// A table of words under one heading each: what, and what of it.
pub(super) fn facts(language: Language, caption: Text, rows: Vec<[String; 2]>) -> Block {
    Block::Table(Table {
        caption: language.say(caption).to_owned(),
        columns: vec![
            Column::words(language.say(Text::What), 1.0),
            Column::words(language.say(Text::Detail), 3.2),
        ],
        rows: rows.into_iter().map(Vec::from).collect(),
    })
}

/// How it was measured, in a table.
pub(super) fn method_table(
    judgement: &Judgement<'_>,
    ask: &Ask<'_>,
    rounds: &[&KeptRound],
) -> Block {
    let language = ask.language;
    let row = |what: Text, text: String| [language.say(what).to_owned(), text];
    let mut ways: Vec<String> = Vec::new();
    for round in rounds {
        let way = done(language, &round.conditions);
        if !ways.contains(&way) {
            ways.push(way);
        }
    }
    let known = words::repeatability(language, &judgement.account.repeatability);
    facts(
        language,
        Text::MethodFacts,
        vec![
            row(Text::Measurand, language.say(Text::MeasurandIs).to_owned()),
            row(Text::Position, language.say(Text::PositionIs).to_owned()),
            row(Text::Raises, ways.join("; ")),
            row(Text::Sensors, sensors(language, rounds.iter().copied())),
            row(Text::Method, methods(language, rounds.iter().copied())),
            row(
                Text::Uncertainty,
                format!(
                    "{} {}",
                    language.say(Text::CoverageIs),
                    words::sentence(&known)
                ),
            ),
            row(Text::ReportMade, made(ask)),
        ],
    )
}

/// When and by what the report was made.
pub(super) fn made(ask: &Ask<'_>) -> String {
    format!(
        "{}, {}",
        ask.language.date(ask.day),
        tidy(ask.program, NAME_CHARS_MAX)
    )
}

/// The standing caution.
pub(super) fn caution(language: Language) -> Block {
    small(words::advice(language))
}

/// The foot of every sheet.
pub(super) fn footer(ask: &Ask<'_>) -> String {
    format!("{} {}", words::intended_use(ask.language), made(ask))
}

/// Rounds of the visits that a report is about.
pub(super) fn rounds_of<'a>(judgement: &Judgement<'a>) -> Vec<&'a KeptRound> {
    let visits = judgement.visits.iter().map(|judged| judged.visit);
    visits.flat_map(|visit| visit.rounds.iter()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_from_outside_are_made_harmless() {
        assert_eq!(tidy("  Zoë\n\tÅ\u{202E}b\0c ", 80), "Zoë Åb c");
        assert_eq!(tidy("a\u{E001}", 80), "a?");
        assert_eq!(tidy("one two three", 9), "one two …");
        assert_eq!(tidy(&"x".repeat(100), 10), "xxxxxxxxx…");
        assert_eq!(tidy("one two", 7), "one two");
        assert_eq!(tidy("", 7), "");
    }

    #[test]
    fn an_angle_is_whole_unless_known_better() {
        let deg = Angle::from_degrees;
        let said = |v, u| with_u(Language::English, deg(v), deg(u));
        assert_eq!(said(62.34, 0.94), "62° ± 1°");
        assert_eq!(said(62.34, 0.44), "62.3° ± 0.4°");
        assert_eq!(said(62.34, 0.5), "62° ± 1°");
    }
}
