//! The model without a screen.

use std::time::{Duration, Instant};

use sensor::{MarkKind, Placement, Side, WITHDRAWN};

use super::*;
use crate::live::Command;
use crate::window::staged;
use crate::window::words::Care;

fn model() -> Model {
    Model::new(
        Settings::default(),
        PathBuf::from("scratch"),
        Instant::now(),
    )
}

/// What a mark asks the sensors' thread for.
fn marked(effects: &[Effect]) -> Vec<(MarkKind, String)> {
    let asked = effects.iter().filter_map(|effect| match effect {
        Effect::Ask(Command::Mark { kind, value, .. }) => Some((*kind, value.clone())),
        _ => None,
    });
    asked.collect()
}

#[test]
fn a_red_flag_stops_the_flow_and_its_answer_can_be_changed() {
    for (place, question) in QUESTIONS.iter().enumerate() {
        let mut model = model();
        model.apply(Act::Measure);
        model.apply(Act::Client("c07".to_owned()));
        model.apply(Act::Answer(place, true));
        model.apply(Act::AnswerAllNo);
        model.apply(Act::Go(Screen::Measure));
        match question.weight {
            Weight::Stops => {
                assert_eq!(model.screen, Screen::Stopped, "{question:?}");
                model.sensors = Sensors::invented();
                assert!(model.apply(Act::Raise(MeasureAct::Start)).is_empty());
                assert_eq!(model.running, None);
                model.apply(Act::Answer(place, false));
                model.apply(Act::Go(Screen::Sensors));
                assert_eq!(model.screen, Screen::Sensors);
            }
            Weight::Heeded => assert_eq!(model.screen, Screen::Measure, "{question:?}"),
        }
    }
    assert_eq!(QUESTIONS[0].then, Care::DoEmergency);
}

#[test]
fn no_test_before_all_questions_and_a_code() {
    let mut model = model();
    model.apply(Act::Measure);
    model.apply(Act::Go(Screen::Sensors));
    assert_eq!(model.screen, Screen::Cautions);
    model.apply(Act::AnswerAllNo);
    for code in ["", "Zoë Meier", "c-7", &"x".repeat(33)] {
        model.apply(Act::Client(code.to_owned()));
        model.apply(Act::Go(Screen::Sensors));
        assert_eq!(model.screen, Screen::Cautions, "{code:?}");
    }
    model.apply(Act::Client("c7".to_owned()));
    model.apply(Act::Go(Screen::Sensors));
    assert_eq!(model.screen, Screen::Sensors);
}

#[test]
fn rounds_are_listed_with_their_end_points_as_they_come() {
    let mut model = model();
    staged::at(&mut model, Screen::Measure);
    staged::raise(&mut model, Side::Right, |_| false);
    let rounds = &model.measure.course.rounds;
    assert_eq!(rounds.len(), 3, "{rounds:?}");
    for (place, round) in rounds.iter().enumerate() {
        assert_eq!(
            (round.side, round.number, round.is_open),
            (Side::Right, place + 1, false)
        );
        let end = round.end.expect("each has an end point");
        assert_eq!(end.reason, fusion::Reason::OppositeLeg);
        assert!(end.angle.degrees() < round.peak_deg);
        assert!((round.start_s..round.last_s).contains(&end.t_s));
    }
    let other = model.measure.course.trace(Side::Left);
    let highest = other
        .stretches(0.0)
        .flatten()
        .map(|p| p[1])
        .fold(0.0, f64::max);
    assert!(
        highest > 5.0,
        "the other leg's curve shows that it gave way: {highest}"
    );
}

#[test]
fn what_is_left_out_live_stays_out_of_the_mean() {
    let mut model = model();
    staged::at(&mut model, Screen::Measure);
    staged::measured(&mut model, Side::Right);
    let all = model.measure.result(Side::Right).expect("a mean").summary;
    assert_eq!(all.count, 3);
    model.apply(Act::Raise(MeasureAct::Leg(Side::Right)));
    let mut again = self::model();
    staged::at(&mut again, Screen::Measure);
    let run = staged::raise(&mut again, Side::Right, |_| false);
    let effects = again.apply(Act::Raise(MeasureAct::Out(1, Some(Why::TooFast))));
    let notes = marked(&effects);
    assert!(
        notes[0].1.ends_with("too fast") && notes[0].0 == MarkKind::Note,
        "{notes:?}"
    );
    staged::finish(&mut again, Side::Right, run);
    let fewer = again.measure.result(Side::Right).expect("a mean").summary;
    assert_eq!(fewer.count, 2);
    assert_eq!(
        again.measure.recorded[0].outs,
        [None, Some(Why::TooFast), None]
    );
    // Counted again, it is as if nothing had been.
    again.apply(Act::Raise(MeasureAct::RaiseOut(0, 1, None)));
    assert_eq!(
        again.measure.result(Side::Right).expect("a mean").summary,
        all
    );
}

#[test]
fn a_mark_is_sent_once_and_can_be_taken_back() {
    let mut model = model();
    staged::at(&mut model, Screen::Measure);
    assert!(
        model.apply(Act::Raise(MeasureAct::Pull)).is_empty(),
        "nothing runs"
    );
    staged::begin(&mut model, Side::Right);
    assert!(
        model.apply(Act::Raise(MeasureAct::Undo)).is_empty(),
        "nothing was marked"
    );
    let pull = model.apply(Act::Raise(MeasureAct::Pull));
    assert_eq!(marked(&pull), [(MarkKind::Pull, String::new())]);
    let hear = |model: &mut Model, kind, value: &str| {
        let (at_s, value) = (3.0, value.to_owned());
        let now = model.now;
        model.hear(
            News::Marked {
                at_s,
                kind,
                side: None,
                value,
            },
            now,
        );
    };
    hear(&mut model, MarkKind::Pull, "");
    let undo = model.apply(Act::Raise(MeasureAct::Undo));
    assert_eq!(marked(&undo), [(MarkKind::Note, WITHDRAWN.to_owned())]);
    hear(&mut model, MarkKind::Note, WITHDRAWN);
    assert!(model.measure.last_mark().is_none());
}

#[test]
fn a_sensor_that_falls_silent_is_told_after_half_a_second() {
    let mut model = model();
    staged::at(&mut model, Screen::Measure);
    staged::raise(&mut model, Side::Right, |m| {
        m.measure.course.leading.is_some()
    });
    let course = &model.measure.course;
    assert_eq!(
        course.silent_s(model.now + Duration::from_millis(450)),
        None
    );
    assert!(
        course
            .silent_s(model.now + Duration::from_millis(550))
            .is_some()
    );
}

#[test]
fn one_shin_sensor_moves_with_the_leg_and_its_shin_comes_first() {
    let sensors = Sensors::of(&[
        "shinright=synthetic:slow".to_owned(),
        "pelvis=synthetic:slow".to_owned(),
    ]);
    assert!(sensors.moves());
    for leg in Side::ALL {
        let places: Vec<_> = sensors
            .asked(leg)
            .unwrap()
            .iter()
            .map(|a| a.placement)
            .collect();
        assert_eq!(places, [Placement::shin(leg), Placement::Pelvis]);
    }
    let both = Sensors::invented();
    assert!(!both.moves());
    let places: Vec<_> = both
        .asked(Side::Left)
        .unwrap()
        .iter()
        .map(|a| a.placement)
        .collect();
    assert_eq!(places, [Placement::ShinLeft, Placement::ShinRight]);
}

#[test]
fn going_back_loses_nothing_and_another_client_begins_anew() {
    let mut model = model();
    staged::at(&mut model, Screen::Measure);
    staged::measured(&mut model, Side::Right);
    model.apply(Act::Manner(MannerAct::Rater("r1".to_owned())));
    for step in Screen::STEPS {
        model.apply(Act::Go(step));
    }
    assert!(model.measure.result(Side::Right).is_some());
    assert_eq!(model.cautions.verdict(), Verdict::Clear);
    model.apply(Act::NextClient);
    assert!(model.measure.recorded.is_empty());
    assert!(matches!(model.cautions.verdict(), Verdict::Asking(_)));
    assert_eq!(model.manner.rater, "r1", "who measures stays the same");
}

#[test]
fn a_curve_keeps_its_holes_and_its_peaks() {
    let mut trace = Trace::default();
    for step in 0..400_u32 {
        let t_s = f64::from(step) * 0.01;
        if !(1.0..2.0).contains(&t_s) {
            trace.push(t_s, if step == 333 { 70.0 } else { 10.0 });
        }
    }
    trace.push(3.0, 5.0); // earlier than the last: passed over
    trace.push(f64::NAN, 5.0);
    trace.push(9.0, f64::NAN);
    let stretches: Vec<_> = trace.stretches(0.0).collect();
    assert_eq!(stretches.len(), 2);
    assert!(
        stretches
            .concat()
            .iter()
            .any(|p| (p[1] - 70.0).abs() < 1e-9)
    );
    assert!(stretches.concat().is_sorted_by(|a, b| a[0] < b[0]));
    assert_eq!(trace.stretches(2.5).count(), 1);
}

#[test]
fn an_hour_of_curve_is_the_limit() {
    let mut trace = Trace::default();
    for step in 0..300_000_u32 {
        trace.push(f64::from(step) * 0.02, 1.0);
    }
    let kept: usize = trace.stretches(0.0).map(<[_]>::len).sum();
    assert!((200_000..=250_000).contains(&kept), "{kept}");
}

#[test]
#[cfg(feature = "phone")]
fn a_phone_is_told_each_change_of_the_pace_once() {
    let mut model = model();
    model.book.drills = casebook::drill::shipped();
    model.apply(Act::Pace(PaceAct::Choose(
        "calves-up-long-breath".to_owned(),
    )));
    model.apply(Act::Pace(PaceAct::Go));
    model.apply(Act::Pace(PaceAct::Start));
    let begun = model.now;
    let mut told = Vec::new();
    let mut listen = |model: &mut Model, at: Duration| {
        model.now = begun + at;
        for effect in model.tick() {
            if let Effect::Beat(beat) = effect {
                told.push((beat.word.clone(), beat.is_running));
            }
        }
    };
    listen(&mut model, Duration::from_millis(100));
    let asked = model.apply(Act::Pace(PaceAct::OnPhone));
    assert!(matches!(asked[..], [Effect::PacerPage(true)]), "{asked:?}");
    // As the window draws: many times in each stretch.
    let line = model.pace.as_ref().unwrap().line.clone();
    for step in 2..200 {
        listen(&mut model, Duration::from_millis(100 * step));
    }
    let until_s = 19.9;
    let due = line.phases.iter().filter(|phase| phase.start_s <= until_s);
    let words: Vec<_> = due
        .map(|phase| casebook::report::said::phase(casebook::report::Language::English, phase.kind))
        .collect();
    assert!(3 < words.len(), "{words:?}");
    model.apply(Act::Pace(PaceAct::Pause));
    listen(&mut model, Duration::from_secs(20));
    let (last, runs) = told.split_last().unwrap();
    assert!(!last.1 && runs.iter().all(|(_, is_running)| *is_running));
    assert_eq!(
        runs.iter()
            .map(|(word, _)| word.as_str())
            .collect::<Vec<_>>(),
        words
    );
}
