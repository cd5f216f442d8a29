//! One line a side, for pasting into a file kept elsewhere. Plain text, no name.

use fusion::Raise;
use sensor::Side;

use crate::decide::{Finding, Note};
use crate::record::Account;
use crate::report::{JudgedVisit, Judgement, Language, Text, condition_word, raises, reason, side};
use crate::way::{Condition, Way};

/// The lines of the latest visit with a mean, or of the visit named; empty where there is none. Each ends with a line
/// break. Angles are to 0.1°, for they go into a file.
pub fn lines(account: &Account, session: Option<&str>, language: Language) -> String {
    let judgement = Judgement::of(account, session);
    let judged = match session {
        None => judgement.latest(),
        Some(_) => judgement.visits.last(),
    };
    let Some(judged) = judged else {
        return String::new();
    };
    let sides = judged.decision.iter().flat_map(|decision| &decision.sides);
    sides
        .map(|found| line(language, judged, found) + "\n")
        .collect()
}

fn line(language: Language, judged: &JudgedVisit<'_>, found: &Finding) -> String {
    let summary = &found.summary;
    let tenths = |deg: f64| language.number(deg, 1);
    let ended = found.notes.iter().find_map(|note| match note {
        Note::EndedBy { reason: why, .. } => {
            Some(language.fill(Text::NoteEnded, &[reason(language, *why)]))
        }
        _ => None,
    });
    let ended = ended.unwrap_or_else(|| language.say(Text::NoteMixed).to_owned());
    let degrees = |deg: Option<f64>| deg.map_or_else(|| "–".to_owned(), |deg| tenths(deg) + "°");
    let peak = peak_deg(judged, summary.side);
    let is_calibrated = judged.first.as_ref().is_some_and(|taken| {
        let mut rounds = taken.rounds.iter();
        rounds.any(|(known, round)| *known == summary.side && round.is_calibrated)
    });
    let sensor = if is_calibrated {
        Text::NoteSensor
    } else {
        Text::NoteSensorPlain
    };
    language.fill(
        Text::NoteLine,
        &[
            side(language, summary.side),
            &tenths(summary.mean.degrees()),
            &tenths(summary.expanded.degrees().max(0.1)),
            &way(language, judged),
            &ended,
            &degrees(peak),
            &raises(language, summary.count),
            &degrees(summary.scatter.map(fusion::Angle::degrees)),
            &language.date(judged.visit.date),
            language.say(sensor),
        ],
    )
}

/// How they were raised; what nobody said is left out.
fn way(language: Language, judged: &JudgedVisit<'_>) -> String {
    let Some(taken) = &judged.first else {
        return String::new();
    };
    let way = Way::of(taken.conditions);
    let said = Condition::ALL.into_iter().filter_map(|condition| {
        let word = crate::report::tidy(way.word(condition)?, 40);
        Some(condition_word(language, condition, &word).to_owned())
    });
    let said: Vec<String> = said.collect();
    if said.is_empty() {
        "SLR".to_owned()
    } else {
        said.join(", ")
    }
}

/// The greatest peak of the raises in the mean.
fn peak_deg(judged: &JudgedVisit<'_>, side: Side) -> Option<f64> {
    let taken = judged.first.as_ref()?;
    let own = taken.in_mean(side);
    let peaks = own.filter_map(|raise: &Raise| raise.peak.as_ref());
    peaks
        .map(|peak| peak.angle.value.degrees())
        .reduce(f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::invented;

    #[test]
    fn a_line_says_side_angle_why_and_how() {
        let account = invented::account();
        assert_eq!(
            lines(&account, None, Language::English),
            "SLR left 53.4° ± 3.0° (95 %), active, ankle relaxed, to the first pull, ended by opposite leg, peak 58.9°; \
             3 raises, spread 1.3°; 2026-04-22, shin sensor.\n\
             SLR right 66.8° ± 3.0° (95 %), active, ankle relaxed, to the first pull, ended by first pull, peak 72.2°; \
             3 raises, spread 1.3°; 2026-04-22, shin sensor.\n"
        );
        let german = lines(&account, Some("03"), Language::German);
        assert!(
            german.starts_with("SLR links 47,7° ± ") && german.contains("2 Hebungen"),
            "{german}"
        );
        assert_eq!(lines(&account, Some("99"), Language::English), "");
    }
}
