//! All wording of reports, in every language. What the casebook says elsewhere is taken from [`crate::wording`] in
//! English, and said again here in German.
//!
//! Forbidden anywhere in a report, the fixed sentences [`INTENDED_USE`] and [`advice`] aside: a finding about a
//! person's health, a promise, a verdict. A test reads every text for them.

mod facts;
mod german;
mod judged;
mod paced;
mod text;

use super::language::{Language, Phrase, phrases};

pub use facts::{cautious, flag, place, reason, side, source};
pub(crate) use facts::{condition_word, leg, placement};
pub use judged::{
    advice_steps, band, bands, change, condition, difference, left_out, note, recheck_note,
    repeatability, trend, warm_up,
};
pub use paced::{count, paced_out, phase};
pub(crate) use text::Text;

/// What the program is for; stands in every report.
pub const INTENDED_USE: [&str; 2] = [
    "legraise shows and records the angle to which a straight leg is raised; it doesn't diagnose, predict, treat, or decide.",
    "legraise zeigt und speichert den Winkel, bis zu dem ein gestrecktes Bein gehoben wird; es stellt keine Diagnose, sagt nichts voraus, behandelt nicht und entscheidet nicht.",
];

const ADVICE_GERMAN: &str = "Dies ist eine Mess- und Übungshilfe. Sie stellt keine Diagnose. Es gelten Zulassung, örtliches Recht und \
    Berufsordnung und die Anweisungen der behandelnden Fachleute. Im Zweifel aufhören und überweisen.";

/// The program's intended use.
pub(crate) const fn intended_use(language: Language) -> &'static str {
    INTENDED_USE[language as usize]
}

/// The standing caution.
pub(crate) const fn advice(language: Language) -> &'static str {
    match language {
        Language::English => crate::wording::ADVICE,
        Language::German => ADVICE_GERMAN,
    }
}

/// When every drill is stopped.
pub fn stop(language: Language) -> Vec<String> {
    match language {
        Language::English => crate::wording::STOP.map(str::to_owned).to_vec(),
        Language::German => german::STOP.map(str::to_owned).to_vec(),
    }
}

/// Stands wherever bands are shown.
pub const fn bands_are_policy(language: Language) -> &'static str {
    match language {
        Language::English => crate::wording::BANDS,
        Language::German => german::BANDS,
    }
}

/// Stands wherever drills are shown.
pub const fn drills_are_unproven(language: Language) -> &'static str {
    match language {
        Language::English => crate::wording::DRILLS,
        Language::German => german::DRILLS,
    }
}

/// The first letter large.
pub fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    let first: String = chars
        .next()
        .map(|c| c.to_uppercase().collect())
        .unwrap_or_default();
    let end = if text.ends_with(['.', ':', '!', '?']) {
        ""
    } else {
        "."
    };
    format!("{first}{}{end}", chars.as_str())
}

/// The first letter large, without an end.
pub(crate) fn capital(text: &str) -> String {
    let whole = sentence(text);
    whole.strip_suffix('.').unwrap_or(&whole).to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    pub(super) fn is_sound(phrase: impl Phrase + std::fmt::Debug) {
        let texts = Language::ALL.map(|language| phrase.text(language));
        let gaps = texts.map(|text| text.matches("{}").count());
        assert_eq!(gaps[0], gaps[1], "{phrase:?}");
        assert!(
            texts.iter().all(|text| !text.trim().is_empty()),
            "{phrase:?}"
        );
    }

    #[test]
    fn both_languages_fill_the_same_gaps() {
        Text::ALL.iter().copied().for_each(is_sound);
        facts::Fact::ALL.iter().copied().for_each(is_sound);
        paced::Paced::ALL.iter().copied().for_each(is_sound);
    }
}
