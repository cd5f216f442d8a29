//! States of the window made without waiting: an invented person's numbers, fed into the model as the sensors would.
//!
//! Tests and the pictures of the user guide use it; the program itself doesn't.

use std::time::Duration;

use casebook::store::{Changed, Due, Listed};
use fusion::calibrate::GuideNow;
use fusion::{Angle, SessionContext, Settings, Trial, analyse_run};
use sensor::synthetic::{Scenario, simulate};
use sensor::{Face, Link, Placement, Run, Side};

use super::desk::{Answer, Kept, Known};
use super::model::{
    Act, AffairsAct, BookAct, Chore, Chosen, Done, Finished, Judged, Matter, MeasureAct, Model,
    PaceAct, Phase, Purpose, Screen, SensorsAct, ShelfAct,
};
use crate::analyse::Outcome;
use crate::live::{Health, News};

/// Samples of a packet.
const PACKET: usize = 4;

/// Both shins of an invented person who raises this leg.
pub(super) fn person(leg: Side, seed: u64) -> Run {
    let mut scenario = Scenario::compensating(seed);
    scenario.side = leg;
    scenario.sensors = vec![Placement::shin(leg), Placement::shin(leg.other())];
    simulate(&scenario).run
}

/// Goes on to a screen as if all before it had been done.
pub(super) fn at(model: &mut Model, screen: Screen) {
    model.apply(Act::Try);
    model.apply(Act::AnswerAllNo);
    for step in Screen::STEPS.into_iter().take_while(|step| *step < screen) {
        model.apply(Act::Go(step));
    }
    model.apply(Act::Go(screen));
}

/// Raises of a leg, until it is enough. Returns the numbers.
pub(super) fn raise(model: &mut Model, leg: Side, is_enough: impl Fn(&Model) -> bool) -> Run {
    let run = person(leg, if leg == Side::Right { 3 } else { 8 });
    begin(model, leg);
    let sensors: Vec<_> = run
        .tracks
        .iter()
        .filter_map(|t| Some((t.placement?, t.rate_hz, t.limits)))
        .collect();
    let tracks = run
        .tracks
        .iter()
        .filter_map(|t| Some((t.placement?, &t.samples)));
    let mut packets: Vec<_> = tracks
        .flat_map(|(p, samples)| samples.chunks(PACKET).map(move |s| (p, s)))
        .collect();
    packets.sort_by_key(|(_, samples)| samples.last().map(|s| s.at));
    let mut trial = Trial::new(&sensors, &Settings::default());
    let begun = model.now;
    for (placement, samples) in packets {
        let Some(reading) = trial.push(placement, samples) else {
            continue;
        };
        let now = begun + Duration::from_secs_f64(reading.t_s.max(0.0));
        let news = News::Reading {
            reading,
            arrived: now,
        };
        model.hear(news, now);
        if is_enough(model) {
            break;
        }
    }
    run
}

/// A live run that has begun.
pub(super) fn begin(model: &mut Model, leg: Side) {
    model.apply(Act::Raise(MeasureAct::Leg(leg)));
    model.apply(Act::Raise(MeasureAct::Start));
    model.hear(News::Began, model.now);
    assert_eq!(model.measure.phase, Phase::Running);
}

/// All raises of a leg, with their analysis.
pub(super) fn measured(model: &mut Model, leg: Side) {
    let run = raise(model, leg, |_| false);
    finish(model, leg, run);
}

/// The end of a run, with the analysis of its numbers.
pub(super) fn finish(model: &mut Model, leg: Side, run: Run) {
    model.apply(Act::Raise(MeasureAct::Next));
    let found = analyse_run(&run, &SessionContext::default(), &Settings::default());
    let analysis = Outcome {
        id: run.id,
        raises: found.raises,
        ..Outcome::default()
    };
    let finished = Finished {
        analysis: Some(Box::new(analysis)),
        ..Finished::default()
    };
    model.done(Done::Run(Purpose::Raise(leg), Ok(finished)));
}

/// Sensors that are being checked; the second is not well.
pub(super) fn checking(model: &mut Model) {
    model.apply(Act::Sensors(SensorsAct::Check));
    let health = |placement, link, rate_hz| Health {
        placement,
        rate_hz,
        nominal_hz: 100.0,
        lost_count: Some(if link == Link::Streaming { 0 } else { 37 }),
        sample_count: 4000,
        link,
        battery_percent: Some(84),
        signal_dbm: None,
        agreement: fusion::Agreement {
            still_m_s2: Some(9.79),
            turn: (link == Link::Streaming)
                .then_some((Angle::from_degrees(14.0), Angle::from_degrees(0.4))),
        },
    };
    let all = vec![
        health(Placement::ShinRight, Link::Streaming, 99.8),
        health(Placement::ShinLeft, Link::Silent, 0.0),
    ];
    model.hear(News::Health(all), model.now);
    model.sensors.lifted.push(Placement::ShinRight);
    model.sensors.up = Some(Placement::ShinRight);
}

/// One sensor calibrated, the other on its third face.
pub(super) fn level(model: &mut Model) {
    let good = Judged::Good {
        is_six: true,
        left_deg: 0.07,
        before_deg: 0.66,
    };
    let right = Placement::ShinRight;
    let finished = Finished {
        judged: Some(good),
        ..Finished::default()
    };
    model.apply(Act::FlatBegin(right));
    model.done(Done::Run(Purpose::Flat(right), Ok(finished)));
    model.apply(Act::FlatBegin(Placement::ShinLeft));
    let now = GuideNow {
        is_still: true,
        face: Some(Face::PlusY),
        lean: Angle::from_degrees(2.3),
        still_s: 1.8,
        force_m_s2: 9.81,
        done: vec![Face::PlusX, Face::MinusX],
    };
    model.hear(News::Guide(now), model.now);
}

/// An open casebook with the invented client of the reports, at a screen.
pub(super) fn booked(model: &mut Model, screen: Screen) {
    let chosen = Chosen::of(casebook::invented::account(), "09".to_owned(), None);
    model.book.is_open = true;
    model.book.drills = casebook::drill::shipped();
    model.client.code.clone_from(&chosen.account.client.code);
    model.client.visit = chosen.session.clone().unwrap_or_default();
    model.client.is_booked = true;
    model.book.clients = vec![Listed {
        code: chosen.account.client.code.clone(),
        name: chosen.account.client.name.clone(),
        visit_count: chosen.account.visits.len(),
        latest: chosen.account.visits.last().map(|visit| visit.date),
        has_consent: true,
    }];
    model.book.chosen = Some(Box::new(chosen));
    model.apply(Act::Pace(PaceAct::Choose(
        "calves-up-long-breath".to_owned(),
    )));
    if screen == Screen::Pacer {
        model.apply(Act::Pace(PaceAct::Start));
        model.now += Duration::from_secs(12);
    }
    model.apply(Act::Go(screen));
}

/// What is kept of the invented client, at a matter.
pub(super) fn affairs(model: &mut Model, matter: Matter) {
    booked(model, Screen::Clients);
    model.apply(Act::Book(BookAct::Affairs(AffairsAct::Open)));
    model.apply(Act::Book(BookAct::Affairs(AffairsAct::Matter(matter))));
    let (code, name) = (model.client.code.clone(), "Mia Invented".to_owned());
    let recordings = model.book.chosen.as_ref().map_or(0, |chosen| {
        let visits = chosen.account.visits.iter();
        visits.map(|visit| visit.rounds.len()).sum()
    });
    let other = Listed {
        code: "k4t9".to_owned(),
        name: "Mia Inventd".to_owned(),
        visit_count: 1,
        latest: None,
        has_consent: true,
    };
    model.done(Done::Book(Box::new(Answer {
        affairs: Some(Known {
            code,
            changes: vec![changed("client", "name", Some(name))],
            recordings,
            others: vec![other],
        }),
        ..Answer::default()
    })));
}

/// The casebook's care, at a chore.
pub(super) fn shelf(model: &mut Model, chore: Chore) {
    booked(model, Screen::Clients);
    model.book.path = "/home/practice/casebook.db".into();
    model.apply(Act::Book(BookAct::Shelf(ShelfAct::Open)));
    model.apply(Act::Book(BookAct::Shelf(ShelfAct::Chore(chore))));
    let due = Due {
        code: "k4t9".to_owned(),
        name: "Otto Invented".to_owned(),
        latest: jiff::civil::date(2020, 3, 2),
        is_withdrawn: true,
    };
    model.done(Done::Book(Box::new(Answer {
        shelf: Some(Kept {
            due: vec![due],
            months: Some(36),
            rules: casebook::Rules::default(),
            changes: vec![changed("bands", "value", Some("45 60 90".to_owned()))],
        }),
        ..Answer::default()
    })));
    model.apply(Act::Book(BookAct::Shelf(ShelfAct::Rule(
        "recheck_within_s",
    ))));
}

fn changed(place: &str, field: &str, former: Option<String>) -> Changed {
    Changed {
        at: jiff::Timestamp::UNIX_EPOCH,
        place: place.to_owned(),
        field: field.to_owned(),
        former,
        reason: "told so".to_owned(),
    }
}
