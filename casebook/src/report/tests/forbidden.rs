//! No report claims more than it measures: every text of every report, of an account with everything in it.

use fusion::{Flag, Reason};

use super::*;
use crate::caution::Caution;
use crate::record::Account;

/// Beginnings of words, in small letters.
const FORBIDDEN: [&str; 24] = [
    "diagnos",
    "treat",
    "prevent",
    "injury risk",
    "risk of injury",
    "normal",
    "abnormal",
    "clinically proven",
    "medical grade",
    "medical-grade",
    "certified",
    "cure",
    "heal",
    "pathological",
    "behandl",
    "vorbeug",
    "verhinder",
    "verletzungsrisiko",
    "klinisch erwiesen",
    "klinisch bewährt",
    "medizinprodukt",
    "zertifizier",
    "heilt",
    "krankhaft",
];

/// The first forbidden word in a text, the fixed sentences left out.
fn forbidden(text: &str) -> Option<&'static str> {
    let mut text = text.to_owned();
    for language in Language::ALL {
        for fixed in [words::intended_use(language), words::advice(language)] {
            text = text.replace(fixed, " ");
        }
        for caution in Caution::ALL {
            text = text.replace(words::cautious(language, caution), " ");
        }
    }
    let small = text.to_lowercase();
    FORBIDDEN.into_iter().find(|word| {
        small.match_indices(word).any(|(at, _)| {
            let before = small[..at].chars().next_back();
            before.is_none_or(|c| !c.is_alphabetic())
        })
    })
}

/// The invented client with every flag, reason and caution, and with nothing known of how it was done.
fn accounts() -> Vec<Account> {
    let plain = invented::account();
    let mut full = plain.clone();
    let reasons = [
        Reason::Pull,
        Reason::OppositeLeg,
        Reason::Knee,
        Reason::Stop,
        Reason::Hold,
        Reason::Peak,
    ];
    for visit in &mut full.visits {
        visit.cautions = Caution::ALL.to_vec();
        visit.feels_tight = None;
        for (at, raise) in visit
            .rounds
            .iter_mut()
            .flat_map(|r| &mut r.raises)
            .enumerate()
        {
            let kept = |flag: &&Flag| !matches!(flag, Flag::OtherTask | Flag::NotStraight);
            raise.flags = Flag::ALL.iter().filter(kept).copied().collect();
            if let Some(end) = &mut raise.end_point {
                end.reason = reasons[at % reasons.len()];
            }
        }
    }
    let mut unsaid = plain.clone();
    for round in unsaid.visits.iter_mut().flat_map(|visit| &mut visit.rounds) {
        round.conditions = sensor::Conditions::default();
        for raise in &mut round.raises {
            if let Some(end) = &mut raise.end_point {
                end.angle.value = end.angle.value + Angle::from_degrees(40.0);
            }
        }
    }
    let mut fallen = plain.clone();
    fallen.visits.truncate(6);
    vec![plain, full, unsaid, fallen]
}

#[test]
fn no_text_claims_more_than_is_measured() {
    assert_eq!(forbidden("this treats nothing"), Some("treat"));
    assert_eq!(forbidden("Eine Vorbeugung"), Some("vorbeug"));
    assert_eq!(forbidden("retreat"), None);
    assert_eq!(forbidden(crate::wording::ADVICE), None);
    let mut count = 0;
    for account in accounts() {
        for language in Language::ALL {
            for audience in AUDIENCES {
                let page = made(&account, audience, language);
                for text in page.texts() {
                    assert_eq!(forbidden(text), None, "{audience:?}: {text}");
                    count += 1;
                }
            }
            let note = crate::export::note::lines(&account, None, language);
            assert_eq!(forbidden(&note), None, "{note}");
        }
        let bundle =
            crate::export::fhir::text(&account, None, &crate::export::fhir::Codes::default());
        assert_eq!(forbidden(&bundle), None);
    }
    assert!(count > 5_000, "{count}");
}

#[test]
fn the_referrer_gets_no_bands() {
    for language in Language::ALL {
        let page = made(&invented::account(), Audience::Referrer, language);
        for text in page.texts() {
            let text = text.to_lowercase();
            for word in [
                "band ",
                "bands",
                "45-60",
                "45–60",
                "bereich",
                "proposal",
                "vorschlag",
            ] {
                assert!(!text.contains(word), "{text}");
            }
        }
    }
}
