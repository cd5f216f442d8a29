use approx::assert_abs_diff_eq;

use super::*;
use crate::drill::shipped;

fn drill(id: &str) -> Drill {
    shipped().into_iter().find(|drill| drill.id == id).unwrap()
}

fn timeline(id: &str, choice: impl Fn(&Drill) -> Choice) -> Timeline {
    let drill = drill(id);
    Timeline::of(&drill, choice(&drill), &Rules::default())
}

/// Two sets of four breaths of 4 + 2 + 4 s, 30 s of rest between, 5 s to get ready.
#[test]
fn breaths_follow_each_other() {
    let line = timeline("calves-up-long-breath", Choice::least);
    assert_abs_diff_eq!(line.length_s, 5.0 + 2.0 * 4.0 * 10.0 + 30.0, epsilon = 1e-9);
    assert_eq!(line.phases.len(), 1 + 2 * 4 * 3 + 1);
    assert_eq!(line.phases[0].kind, PhaseKind::Ready);
    let first: Vec<(PhaseKind, f64)> = line.phases[1..4]
        .iter()
        .map(|phase| (phase.kind, phase.length_s))
        .collect();
    assert_eq!(
        first,
        [
            (PhaseKind::Beat(BeatKind::Out), 4.0),
            (PhaseKind::Beat(BeatKind::Pause), 2.0),
            (PhaseKind::Beat(BeatKind::In), 4.0)
        ]
    );
    assert_eq!(line.phases[13].kind, PhaseKind::SetRest);
    assert_eq!((line.phases[14].set, line.phases[14].rep), (2, 1));
}

/// Four holds of 15 s a side, moves of 3 s, rest of 20 s after each but the last, 5 s to change sides.
#[test]
fn holds_of_each_side_with_a_change_between() {
    let line = timeline("one-leg-bridge-hold", Choice::least);
    let side = 4.0 * (3.0 + 15.0 + 3.0) + 3.0 * 20.0;
    assert_abs_diff_eq!(line.length_s, 5.0 + side + 5.0 + side, epsilon = 1e-9);
    let change = line.phases.iter().find(|p| p.kind == PhaseKind::Change);
    assert_abs_diff_eq!(change.unwrap().start_s, 5.0 + side, epsilon = 1e-9);
    let last = line.phases.last().unwrap();
    assert_eq!(last.turn, Some(Turn::Second));
    assert_eq!(last.kind, PhaseKind::Beat(BeatKind::Move));
}

#[test]
fn phases_have_no_gaps_and_every_time_has_one() {
    let rules = Rules::default();
    for drill in shipped() {
        for choice in [Choice::least(&drill), Choice::most(&drill)] {
            let line = Timeline::of(&drill, choice, &rules);
            let mut end_s = 0.0;
            for phase in &line.phases {
                assert_abs_diff_eq!(phase.start_s, end_s, epsilon = 1e-9);
                assert!(phase.length_s > 0.0);
                let (found, lasted_s) = line.at(phase.start_s).unwrap();
                assert_eq!(found, phase);
                assert_abs_diff_eq!(lasted_s, 0.0, epsilon = 1e-9);
                end_s = phase.start_s + phase.length_s;
            }
            assert_abs_diff_eq!(line.length_s, end_s, epsilon = 1e-9);
            for outside in [-0.1, line.length_s, f64::NAN, f64::INFINITY] {
                assert_eq!(line.at(outside), None);
            }
            let reps = line.phases.iter().filter(|p| p.rep > 0);
            let sides = if drill.dose.is_each_side { 2 } else { 1 };
            let done = reps.map(|p| (p.set, p.rep, p.turn == Some(Turn::Second)));
            let done: std::collections::BTreeSet<_> = done.collect();
            let expected = (choice.sets * choice.reps * sides) as usize;
            assert_eq!(done.len(), expected);
        }
    }
}

#[test]
fn a_choice_is_drawn_to_what_the_drill_allows() {
    let line = timeline("heel-dug-bridge-hold", |_| Choice {
        sets: u32::MAX,
        reps: 0,
        share: f64::NAN,
    });
    assert_eq!((line.choice.sets, line.choice.reps), (1, 4));
    let longest = |phase: &&Phase| phase.kind == PhaseKind::Beat(BeatKind::Hold);
    let hold = |share| {
        let line = timeline("heel-dug-bridge-hold", |drill| Choice {
            share,
            ..Choice::least(drill)
        });
        line.phases.iter().find(longest).map(|p| p.length_s)
    };
    assert_eq!(hold(f64::NAN), Some(20.0));
    assert_eq!(hold(0.5), Some(25.0));
    assert_eq!(hold(7.0), Some(30.0));
}

#[test]
fn the_longest_drill_allowed_is_still_laid_out() {
    let mut drill = drill("calves-up-long-breath");
    drill.dose.sets = Amount {
        least: 20,
        most: 20,
    };
    drill.dose.reps = Amount {
        least: 100,
        most: 100,
    };
    drill.dose.is_each_side = true;
    let line = Timeline::of(&drill, Choice::most(&drill), &Rules::default());
    assert_eq!(line.phases.len(), 1 + 19 + 20 + 20 * 2 * 100 * 3);
    assert!(line.at(line.length_s - 0.1).is_some());
}

/// No rests left over: a drill of one beat that is a rest still has its beats.
#[test]
fn a_drill_of_rest_alone_is_rest() {
    let mut drill = drill("calves-up-long-breath");
    drill.beats.truncate(1);
    drill.beats[0].kind = BeatKind::Rest;
    let line = Timeline::of(&drill, Choice::least(&drill), &Rules::default());
    assert_eq!(line.phases.len(), 1 + 2 * 4 + 1);
}
