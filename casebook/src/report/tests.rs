mod forbidden;

use fusion::{Angle, Reason};
use jiff::civil::date;
use sensor::Side;

use super::*;
use crate::course::Course;
use crate::decide::{Round, decide};
use crate::invented;
use crate::record::Purpose;

pub(super) const AUDIENCES: [Audience; 3] = [Audience::Client, Audience::File, Audience::Referrer];

pub(super) fn made(account: &Account, audience: Audience, language: Language) -> Page {
    let ask = Ask {
        audience,
        language,
        day: date(2026, 4, 22),
        program: "legraise 0.1.0",
        session: None,
        curves: &invented::curves(account),
    };
    page(account, &ask)
}

fn tables(page: &Page) -> impl Iterator<Item = &Table> {
    page.blocks.iter().filter_map(|block| match block {
        Block::Table(table) => Some(table),
        _ => None,
    })
}

fn figures(page: &Page) -> impl Iterator<Item = &Figure> {
    page.blocks.iter().filter_map(|block| match block {
        Block::Figure(figure) => Some(figure),
        _ => None,
    })
}

/// Whole degrees: all means of the invented client are known to 3°.
fn whole(value: Angle, u: Angle) -> String {
    format!("{}° ± {}°", value.degrees().round(), u.degrees().round())
}

#[test]
fn the_numbers_of_the_file_are_those_of_the_decision_and_name_their_recording() {
    let account = invented::account();
    let file = made(&account, Audience::File, Language::English);
    for visit in &account.visits {
        let round = visit
            .rounds
            .iter()
            .find(|r| r.purpose == Purpose::First)
            .unwrap();
        let counted = round.counted();
        let decision = decide(
            &Round {
                raises: &counted,
                conditions: &round.conditions,
            },
            account.repeatability,
            visit.feels_tight,
            &account.bands,
            &account.rules,
        );
        let caption = format!(
            "Mean end points; from left: {0}, right: {0}",
            round.recording
        );
        let mut found = tables(&file).filter(|table| table.caption == caption);
        let table = found.next().unwrap_or_else(|| panic!("no {caption}"));
        for (row, side) in table.rows.iter().zip(&decision.sides) {
            let summary = &side.summary;
            assert_eq!(row[0], summary.side.as_str());
            assert_eq!(row[1], whole(summary.mean, summary.expanded));
            assert_eq!(row[2], summary.count.to_string());
            assert_eq!(row[3], format!("{:.1}", summary.scatter.unwrap()));
        }
        assert_eq!(table.rows.len(), decision.sides.len());
    }
}

#[test]
fn every_raise_is_in_the_file_with_end_point_reason_and_flags() {
    let account = invented::account();
    let file = made(&account, Audience::File, Language::English);
    for round in account.visits.iter().flat_map(|visit| &visit.rounds) {
        let is_of = |table: &&Table| {
            table.columns.len() == 8 && table.caption.contains(&format!(": {}.", round.recording))
        };
        let table = tables(&file).find(is_of).unwrap();
        assert_eq!(table.rows.len(), round.raises.len());
        for (row, raise) in table.rows.iter().zip(&round.raises) {
            match &raise.end_point {
                Some(end) => {
                    assert_eq!(row[2], whole(end.angle.value, end.angle.expanded));
                    assert_eq!(row[4].contains("pull"), end.reason == Reason::Pull);
                }
                None => assert_eq!([&row[2], &row[7]], ["–", "numbers missing at the top"]),
            }
        }
    }
    let aside = tables(&file)
        .flat_map(|t| &t.rows)
        .filter(|row| row.iter().any(|c| c == "set aside: laughed"));
    assert_eq!(aside.count(), 1);
}

#[test]
fn the_course_is_the_casebooks_own() {
    let account = invented::account();
    let judgement = Judgement::of(&account, None);
    let visits: Vec<crate::course::Visit> = account
        .visits
        .iter()
        .filter_map(|visit| {
            let counted = visit.rounds[0].counted();
            let round = Round {
                raises: &counted,
                conditions: &visit.rounds[0].conditions,
            };
            let mut found = crate::course::Visit::of(
                visit.date,
                &round,
                Side::Right,
                &account.repeatability,
                &account.rules,
            )?;
            found.is_quiet = visit.is_quiet;
            Some(found)
        })
        .collect();
    let plan = account.plans[1].1;
    let course = Course::of(
        &visits,
        plan,
        &account.repeatability,
        &account.bands,
        &account.rules,
    );
    let course = course.unwrap();
    assert_eq!(judgement.course(Side::Right), Some(&course));
    let file = made(&account, Audience::File, Language::English);
    let change = crate::wording::change(course.change.as_ref().unwrap());
    let trend = crate::wording::trend(course.trend.as_ref().unwrap());
    let texts = file.texts().join("\n");
    assert!(texts.contains(&change) && texts.contains(&trend));
    assert!(
        texts.contains(&format!("Next visit {}", course.next_visit)),
        "{texts}"
    );
}

#[test]
fn every_table_of_angles_names_a_recording() {
    let account = invented::account();
    for language in Language::ALL {
        for audience in AUDIENCES {
            let page = made(&account, audience, language);
            for table in tables(&page) {
                let has_angle = table.rows.iter().flatten().any(|cell| cell.contains("° ±"));
                let named = |text: &String| text.contains("sub-kelumo/ses-");
                let is_traced =
                    named(&table.caption) || table.rows.iter().all(|row| row.iter().any(named));
                assert!(!has_angle || is_traced, "{}", table.caption);
            }
        }
    }
}

#[test]
fn each_report_says_what_made_it_and_what_it_is_not() {
    let account = invented::account();
    for language in Language::ALL {
        for audience in AUDIENCES {
            let page = made(&account, audience, language);
            let texts = page.texts().join("\n");
            for wanted in [
                "legraise 0.1.0",
                "00c0ffee",
                "±",
                &language.date(date(2026, 4, 22)),
                words::intended_use(language),
                words::advice(language),
            ] {
                assert!(
                    texts.contains(wanted),
                    "{audience:?} {language:?}: {wanted}"
                );
            }
            let sensor = if language == Language::English {
                "left shin"
            } else {
                "Schienbein links"
            };
            assert!(texts.contains(sensor));
        }
    }
}

#[test]
fn near_an_edge_both_bands_are_named_and_never_without_the_angle() {
    let mut account = invented::account();
    // Left: 44.9° ± 3°, at the edge of 45°.
    account.visits.truncate(2);
    let client = made(&account, Audience::Client, Language::English);
    let said: Vec<&str> = client
        .texts()
        .into_iter()
        .filter(|t| t.contains("your mean belongs"))
        .collect();
    assert!(
        said[0].contains("under 45°")
            && said[0].contains("or 45-60°")
            && said[0].contains("45° ± 3°"),
        "{said:?}"
    );
}

#[test]
fn a_line_is_drawn_from_four_visits_on() {
    let mut account = invented::account();
    let has_line = |account: &Account| {
        let page = made(account, Audience::File, Language::English);
        let figure = figures(&page).next().unwrap().clone();
        figure.shapes.iter().any(
            |shape| matches!(shape, Shape::Path { line: Some(line), .. } if line.ink == Ink::Fit),
        )
    };
    assert!(has_line(&account));
    account.visits.truncate(4);
    assert!(has_line(&account));
    account.visits.truncate(3);
    assert!(!has_line(&account));
    let page = made(&account, Audience::File, Language::English);
    assert!(
        page.texts()
            .join(" ")
            .contains("Fewer visits than a line needs")
    );
    assert!(
        figures(&page)
            .next()
            .unwrap()
            .shapes
            .iter()
            .any(|shape| matches!(
                shape,
                Shape::Path {
                    fill: Some(Ink::Band),
                    ..
                }
            ))
    );
}

#[test]
fn all_that_is_drawn_lies_within_the_drawing() {
    let account = invented::account();
    let page = made(&account, Audience::File, Language::German);
    assert_eq!(figures(&page).count(), 3);
    for figure in figures(&page) {
        assert!(!figure.alternative.is_empty());
        for shape in &figure.shapes {
            let points = match shape {
                Shape::Path { points, .. } => points.clone(),
                Shape::Label { at, .. } => vec![*at],
            };
            for (x, y) in points {
                assert!(
                    (0.0..=figure.width).contains(&x) && (0.0..=figure.height).contains(&y),
                    "{x} {y}"
                );
            }
        }
    }
}

#[test]
fn one_visit_and_no_visit() {
    let account = invented::account();
    let of = |session| {
        let ask = Ask {
            audience: Audience::File,
            language: Language::English,
            day: date(2026, 4, 22),
            program: "legraise 0.1.0",
            session: Some(session),
            curves: &[],
        };
        page(&account, &ask).texts().join("\n")
    };
    let one = of("03");
    assert!(one.contains("Visit 03") && !one.contains("Visit 02") && !one.contains("ses-04"));
    assert!(of("99").contains("Nothing has been measured"));
    let empty = Account {
        visits: Vec::new(),
        ..account
    };
    for audience in AUDIENCES {
        let texts = made(&empty, audience, Language::German).texts().join("\n");
        assert!(texts.contains("Noch wurde nichts gemessen"), "{texts}");
    }
}

#[test]
fn hostile_texts_are_contained() {
    let mut account = invented::account();
    let hostile = format!("<script>alert(1)</script>\u{202E}{}", "x".repeat(10_000));
    account.client.name.clone_from(&hostile);
    account.client.notes.clone_from(&hostile);
    account.client.contact.clone_from(&hostile);
    for visit in &mut account.visits {
        visit.notes.clone_from(&hostile);
        visit.pull_felt.clone_from(&hostile);
        visit.session.clone_from(&hostile);
        for round in &mut visit.rounds {
            round.recording.clone_from(&hostile);
            round.sensors = vec![hostile.clone()];
            round.conditions.rater = Some(hostile.clone());
            round.conditions.ankle = Some(hostile.clone());
            round.set_aside = vec![(0, hostile.clone())];
        }
        if let Some(drill) = &mut visit.drill {
            drill.name.clone_from(&hostile);
        }
    }
    for audience in AUDIENCES {
        let page = made(&account, audience, Language::English);
        let longest = page.texts().into_iter().map(|t| t.chars().count()).max();
        assert!(
            longest.unwrap() <= 4 * blocks::NOTE_CHARS_MAX,
            "{longest:?}"
        );
        assert!(page.subtitle.chars().count() < 100);
        let html = html::render(&page);
        assert!(!html.contains("<script") && html.contains("&lt;script&gt;"));
        assert!(!html.contains('\u{202E}'));
    }
}

#[test]
fn the_same_account_gives_the_same_page() {
    let account = invented::account();
    for audience in AUDIENCES {
        let made = || html::render(&made(&account, audience, Language::English));
        assert_eq!(made(), made());
    }
}

#[test]
fn raises_done_otherwise_stand_apart() {
    let mut account = invented::account();
    for round in &mut account.visits[1].rounds {
        round.conditions.movement = Some("passive".to_owned());
    }
    let file = made(&account, Audience::File, Language::English);
    let texts = file.texts().join("\n");
    assert!(texts.contains("done another way than at the latest visit: whether active or passive"));
    assert!(texts.contains("Rings: done otherwise"));
}

#[test]
fn sides_measured_in_rounds_of_their_own_are_taken_together() {
    let mut account = invented::account();
    let visit = &mut account.visits[0];
    let mut right = visit.rounds[0].clone();
    right.raises.retain(|raise| raise.side == Side::Right);
    right.recording = "sub-kelumo/ses-01/run-07".to_owned();
    visit.rounds[0]
        .raises
        .retain(|raise| raise.side == Side::Left);
    visit.rounds.insert(1, right);
    let judgement = Judgement::of(&account, None);
    let judged = &judgement.visits[0];
    assert_eq!(
        judged.recording(Side::Left),
        Some("sub-kelumo/ses-01/run-01")
    );
    assert_eq!(
        judged.recording(Side::Right),
        Some("sub-kelumo/ses-01/run-07")
    );
    assert_eq!(judged.finding(Side::Right).unwrap().summary.count, 3);
    assert!(judged.decision.as_ref().unwrap().difference.is_some());
}
