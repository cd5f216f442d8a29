use jiff::civil::date;
use sensor::{Conditions, Side};

use super::*;
use crate::course::{Advice, Hint, Step, StepReason};
use crate::decide::{Round, decide};
use crate::rules::Rules;
use crate::summary::tests::raise;

fn deg(deg: f64) -> Angle {
    Angle::from_degrees(deg)
}

/// Words that would be a verdict on a person, or promise what can't be.
const VERDICTS: [&str; 12] = [
    "positive",
    "negative",
    "normal",
    "abnormal",
    "pathological",
    "healthy",
    "bad",
    "good",
    "diagnosis",
    "improved",
    "proved",
    "injured",
];

fn all_sentences() -> Vec<String> {
    let bands = Bands::default();
    let change = |amount, limit_kind| Change {
        amount: deg(amount),
        expanded: deg(3.0),
        limit: deg(3.84),
        limit_kind,
    };
    let reasons = [
        Reason::Pull,
        Reason::OppositeLeg,
        Reason::Knee,
        Reason::Stop,
        Reason::Hold,
        Reason::Peak,
    ];
    let mut all: Vec<String> = STOP.iter().map(|&s| s.to_owned()).collect();
    all.extend([BANDS, DRILLS].map(str::to_owned));
    for reason in reasons {
        all.push(note(&Note::EndedBy {
            reason,
            count: 2,
            of: 3,
        }));
    }
    all.extend(
        [
            Note::MixedEnds,
            Note::FewRaises { count: 1, asked: 3 },
            Note::Stopped { count: 1 },
            Note::Flexible { chance: 0.8 },
            Note::FlexibleYetTight { chance: 0.999 },
        ]
        .iter()
        .map(note),
    );
    for kind in [
        LimitKind::Mdc95,
        LimitKind::OwnScatter,
        LimitKind::OtherRater,
    ] {
        all.extend([5.0, -5.0, 1.0].map(|amount| self::change(&change(amount, kind))));
    }
    let advice = Advice {
        step: Step::MoveOn { to: 2 },
        reasons: vec![
            StepReason::TopBand,
            StepReason::NotQuiet,
            StepReason::QuietUnknown,
            StepReason::TooSoon { days: 1, needed: 7 },
            StepReason::ClearFall {
                from: date(2026, 3, 1),
                change: change(-5.0, LimitKind::Mdc95),
            },
        ],
        hints: vec![
            Hint::Plateau { weeks: 4.0 },
            Hint::Review {
                weeks: 6.0,
                is_due: true,
            },
        ],
    };
    all.extend(self::advice(&advice, &bands));
    all.extend(Caution::ALL.map(|what| caution(what).to_owned()));
    all.extend(Condition::ALL.map(|what| recheck_note(&RecheckNote::Unsaid(what))));
    all
}

#[test]
fn no_sentence_is_a_verdict() {
    for sentence in all_sentences() {
        let words = sentence.to_lowercase();
        let mut words = words.split(|c: char| !c.is_alphabetic());
        let verdict = words.find(|word| VERDICTS.contains(word));
        assert_eq!(verdict, None, "{sentence}");
        assert!(!sentence.contains("NaN") && !sentence.contains("inf°"));
        assert!(sentence.chars().count() < 200, "{sentence}");
    }
    assert!(ADVICE.contains("does not diagnose"));
}

#[test]
fn changes_are_said_with_what_they_had_to_exceed() {
    let found = Change {
        amount: deg(-4.25),
        expanded: deg(3.1),
        limit: deg(3.84),
        limit_kind: LimitKind::Mdc95,
    };
    assert_eq!(
        change(&found),
        "change -4.2° ± 3.1°: more than measurement error (3.8°, smallest change beyond error for so many raises)"
    );
    let within = Change {
        amount: deg(3.84),
        ..found
    };
    assert!(change(&within).contains("within measurement error"));
}

#[test]
fn a_finding_reads_well() {
    let rules = Rules::default();
    let raises: Vec<_> = [58.5, 58.7, 58.9]
        .map(|deg| raise(Side::Left, Some((Reason::OppositeLeg, deg))))
        .to_vec();
    let conditions = Conditions::default();
    let round = Round {
        raises: &raises,
        conditions: &conditions,
    };
    let bands_set = Bands::default();
    let known = Repeatability::published(&rules);
    let found = decide(&round, known, None, &bands_set, &rules);
    let side = &found.sides[0];
    let mean = mean(&side.summary);
    assert!(
        mean.starts_with("left mean end point 58.7° ± 2.8° of 3 raises"),
        "{mean}"
    );
    let bands = bands(&side.named, &bands_set);
    assert!(bands.starts_with("45-60° ("), "{bands}");
    assert!(bands.contains(") or 60-90° ("), "{bands}");
    assert_eq!(
        repeatability(&known),
        "a person repeats one raise to 2.4° (standard error, from published studies)"
    );
    assert!(note(&side.notes[0]).starts_with("3 of 3: the other leg moved; "));
}

#[test]
fn doses_and_chances_are_said_in_words() {
    let drills = crate::drill::shipped();
    assert_eq!(
        dose(&drills[0].dose),
        "2 to 4 sets of 4 to 5 breaths; a day: 1 to 2; days a week: 7; effort 3 to 4 of 10"
    );
    assert_eq!(
        dose(&drills[6].dose),
        "4 holds a side; a day: 1; days a week: 3 to 4; effort 5 to 7 of 10"
    );
    assert_eq!(percent(0.001), "under 1 %");
    assert_eq!(percent(0.999), "over 99 %");
    assert_eq!(percent(0.5), "50 %");
}

/// The sides of a difference, and which is higher.
#[test]
fn a_difference_names_the_higher_side() {
    let of = |amount| SideDifference {
        left_less_right: deg(amount),
        standard: deg(1.0),
        expanded: deg(2.0),
        usual: (deg(5.0), deg(3.5)),
        is_beyond_error: amount.abs() > 2.0,
        is_noted: amount.abs() >= 11.0,
    };
    assert_eq!(
        difference(&of(-12.0)),
        "right higher by 12.0° ± 2.0°, more than its uncertainty; usual either way 5.0° ± 3.5°; worth noting"
    );
    assert!(difference(&of(1.0)).starts_with("left higher by 1.0° ± 2.0°, within its"));
}
