//! From the text of a drill to a drill that can be used.

use std::ops::Range;

use toml::Spanned;

use super::text::{BeatText, CautionText, Count, DoseText, DrillText, Seconds, Text, WordsText};
use super::{
    Amount, Beat, BeatKind, Dose, Drill, DrillCaution, DrillError, DrillErrorKind, DrillPlace,
    DrillWords, SCHEMA,
};
use crate::pacer::{Choice, length_s};
use DrillErrorKind as K;

type Done<T> = Result<T, DrillError>;

/// The longest sentence, characters.
const SENTENCE_CHARS_MAX: usize = 400;
/// The longest name or cue, characters: it is read from afar.
const CUE_CHARS_MAX: usize = 60;
/// The most of each list.
const LIST_COUNT_MAX: usize = 12;
/// A breath is stopped no longer, s: nothing here is done with held breath.
const PAUSE_S_MAX: f64 = 5.0;

pub(super) fn drill(text: &str, id: &str) -> Done<Drill> {
    let check = Check { text, id };
    let letters = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    if id.is_empty() || id.len() > CUE_CHARS_MAX || !id.chars().all(letters) {
        return Err(check.whole(K::Id { id: id.to_owned() }));
    }
    if text.len() > Drill::BYTES_MAX {
        return Err(check.whole(K::TooLarge {
            bytes: text.len(),
            limit: Drill::BYTES_MAX,
        }));
    }
    let source: DrillText = toml::from_str(text).map_err(|e| {
        let words: Vec<&str> = e.message().split_whitespace().collect();
        let message = words.join(" ");
        check.error(e.span(), K::Toml { message })
    })?;
    if source.schema.get_ref() != SCHEMA {
        let found = source.schema.get_ref().clone();
        return Err(check.at(&source.schema, K::Schema { found }));
    }
    let from_deg = check.number("from_deg", &source.from_deg, 0.0, 179.0)?;
    let to_deg = check.number("to_deg", &source.to_deg, from_deg + 1.0, 180.0)?;
    let mut drill = Drill {
        id: id.to_owned(),
        name: check.words("name", &source.name, CUE_CHARS_MAX)?,
        kind: source.kind,
        from_deg,
        to_deg,
        aim: check.words("aim", &source.aim, SENTENCE_CHARS_MAX)?,
        set_up: check.list("set_up", &source.set_up)?,
        steps: check.list("steps", &source.steps)?,
        faults: check.list("faults", &source.faults)?,
        stop: match &source.stop {
            Some(stop) => check.list("stop", stop)?,
            None => Vec::new(),
        },
        sources: check.list("sources", &source.sources)?,
        dose: check.dose(&source.dose)?,
        beats: check.beats(&source.beat)?,
        cautions: check.cautions(&source.caution)?,
        words: Vec::new(),
    };
    for (language, words) in &source.words {
        let words = check.translated(language, words, &drill)?;
        drill.words.push(words);
    }
    let found_s = length_s(&drill, &Choice::most(&drill));
    if found_s > Drill::LENGTH_S_MAX {
        let limit_s = Drill::LENGTH_S_MAX;
        return Err(check.at(&source.dose.sets, K::TooLong { found_s, limit_s }));
    }
    Ok(drill)
}

/// What checks need: the text for lines, the name for messages.
struct Check<'a> {
    text: &'a str,
    id: &'a str,
}

impl Check<'_> {
    fn error(&self, span: Option<Range<usize>>, kind: DrillErrorKind) -> DrillError {
        let line = span.map(|span| {
            let before = self.text.as_bytes().iter().take(span.start);
            1 + before.filter(|byte| **byte == b'\n').count()
        });
        let id = self.id.to_owned();
        DrillError {
            place: DrillPlace { id, line },
            kind,
        }
    }

    fn whole(&self, kind: DrillErrorKind) -> DrillError {
        self.error(None, kind)
    }

    fn at<T>(&self, place: &Spanned<T>, kind: DrillErrorKind) -> DrillError {
        self.error(Some(place.span()), kind)
    }

    fn words(&self, key: &'static str, text: &Text, most: usize) -> Done<String> {
        let words = text.get_ref().trim();
        let chars = words.chars().count();
        if chars == 0 || chars > most || words.chars().any(char::is_control) {
            return Err(self.at(text, K::Text { key, chars, most }));
        }
        Ok(words.to_owned())
    }

    fn list(&self, key: &'static str, list: &Spanned<Vec<Text>>) -> Done<Vec<String>> {
        self.few(key, list, list.get_ref().len())?;
        let each = list.get_ref().iter();
        each.map(|text| self.words(key, text, SENTENCE_CHARS_MAX))
            .collect()
    }

    fn few<T>(&self, key: &'static str, place: &Spanned<T>, count: usize) -> Done<()> {
        let (least, most) = (1, LIST_COUNT_MAX);
        if (least..=most).contains(&count) {
            return Ok(());
        }
        Err(self.at(
            place,
            K::Count {
                key,
                count,
                least,
                most,
            },
        ))
    }

    fn number(&self, key: &'static str, number: &Spanned<f64>, least: f64, most: f64) -> Done<f64> {
        self.within(key, number, *number.get_ref(), least, most)
    }

    fn within<T>(
        &self,
        key: &'static str,
        place: &Spanned<T>,
        found: f64,
        least: f64,
        most: f64,
    ) -> Done<f64> {
        if (least..=most).contains(&found) {
            return Ok(found);
        }
        Err(self.at(
            place,
            K::Range {
                key,
                found,
                least,
                most,
            },
        ))
    }

    fn seconds(&self, seconds: &Seconds, limit_s: f64) -> Done<Amount<f64>> {
        let Amount { least, most } = *seconds.get_ref();
        for found in [least, most] {
            self.within("s", seconds, found, 0.5, limit_s)?;
        }
        self.ordered("s", seconds, least, most)?;
        Ok(Amount { least, most })
    }

    fn ordered<T>(&self, key: &'static str, place: &Spanned<T>, least: f64, most: f64) -> Done<()> {
        if least <= most {
            return Ok(());
        }
        Err(self.at(place, K::Reversed { key, least, most }))
    }

    fn count(&self, key: &'static str, count: &Count, limit: u32) -> Done<Amount<u32>> {
        let Amount { least, most } = *count.get_ref();
        let one = |number: i64| {
            let found = number as f64;
            self.within(key, count, found, 1.0, f64::from(limit))?;
            // It has just been found to be within 1 and the limit.
            Ok(u32::try_from(number).unwrap_or(limit))
        };
        self.ordered(key, count, least as f64, most as f64)?;
        Ok(Amount {
            least: one(least)?,
            most: one(most)?,
        })
    }

    fn dose(&self, dose: &DoseText) -> Done<Dose> {
        Ok(Dose {
            sets: self.count("sets", &dose.sets, 20)?,
            reps: self.count("reps", &dose.reps, 100)?,
            counted: dose.of,
            is_each_side: dose.a_side,
            rest_s: self.number("rest_s", &dose.rest_s, 0.0, 600.0)?,
            times_a_day: self.count("times_a_day", &dose.times_a_day, 6)?,
            days_a_week: self.count("days_a_week", &dose.days_a_week, 7)?,
            effort: self.count("effort", &dose.effort, 10)?,
        })
    }

    fn beats(&self, beats: &[Spanned<BeatText>]) -> Done<Vec<Beat>> {
        match beats.first() {
            Some(first) => self.few("beat", first, beats.len())?,
            None => {
                return Err(self.whole(K::Count {
                    key: "beat",
                    count: 0,
                    least: 1,
                    most: LIST_COUNT_MAX,
                }));
            }
        }
        let beat = |beat: &Spanned<BeatText>| {
            let beat = beat.get_ref();
            let limit_s = if beat.kind == BeatKind::Pause {
                PAUSE_S_MAX
            } else {
                300.0
            };
            Ok(Beat {
                kind: beat.kind,
                s: self.seconds(&beat.s, limit_s)?,
                say: self.words("say", &beat.say, CUE_CHARS_MAX)?,
            })
        };
        beats.iter().map(beat).collect()
    }

    /// The same number of sentences in every place: which is which is known by its order.
    fn translated(
        &self,
        language: &str,
        words: &Spanned<WordsText>,
        drill: &Drill,
    ) -> Done<DrillWords> {
        if language.len() != 2 || !language.bytes().all(|b| b.is_ascii_lowercase()) {
            let found = language.to_owned();
            return Err(self.at(words, K::Language { found }));
        }
        let text = words.get_ref();
        let as_many = |key, list: Option<&Spanned<Vec<Text>>>, expected, most| {
            let texts = list.map_or(&[][..], |list| list.get_ref());
            let found = texts.len();
            if found != expected {
                let kind = K::Untold {
                    key,
                    found,
                    expected,
                };
                return Err(list.map_or_else(
                    || self.at(words, kind.clone()),
                    |list| self.at(list, kind.clone()),
                ));
            }
            let each = texts.iter();
            each.map(|text| self.words(key, text, most)).collect()
        };
        let (short, long) = (CUE_CHARS_MAX, SENTENCE_CHARS_MAX);
        Ok(DrillWords {
            language: language.to_owned(),
            name: self.words("name", &text.name, short)?,
            aim: self.words("aim", &text.aim, long)?,
            set_up: as_many("set_up", Some(&text.set_up), drill.set_up.len(), long)?,
            steps: as_many("steps", Some(&text.steps), drill.steps.len(), long)?,
            faults: as_many("faults", Some(&text.faults), drill.faults.len(), long)?,
            stop: as_many("stop", text.stop.as_ref(), drill.stop.len(), long)?,
            say: as_many("say", Some(&text.say), drill.beats.len(), short)?,
            why: as_many("why", text.why.as_ref(), drill.cautions.len(), long)?,
        })
    }

    fn cautions(&self, cautions: &[Spanned<CautionText>]) -> Done<Vec<DrillCaution>> {
        let mut found: Vec<DrillCaution> = Vec::new();
        for place in cautions {
            let text = place.get_ref();
            if found.iter().any(|known| known.caution == text.caution) {
                let word = text.caution.as_str();
                return Err(self.at(place, K::Twice { word }));
            }
            found.push(DrillCaution {
                caution: text.caution,
                action: text.action,
                why: self.words("why", &text.why, SENTENCE_CHARS_MAX)?,
            });
        }
        Ok(found)
    }
}
