//! The pacer's timeline: a drill's dose as phases with a beginning and a length. It reads no clock: whoever shows it
//! asks what stands at a time.

use crate::drill::{Amount, BeatKind, Drill};
use crate::rules::Rules;

/// How much of what a drill allows is done. What lies outside is drawn to the nearest that it allows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Choice {
    /// Sets.
    pub sets: u32,
    /// Repetitions in a set.
    pub reps: u32,
    /// Lengths: 0 for the shortest, 1 for the longest.
    pub share: f64,
}

impl Choice {
    /// The least of everything: how to begin.
    pub fn least(drill: &Drill) -> Self {
        Self {
            sets: drill.dose.sets.least,
            reps: drill.dose.reps.least,
            share: 0.0,
        }
    }

    /// The most of everything.
    pub fn most(drill: &Drill) -> Self {
        Self {
            sets: drill.dose.sets.most,
            reps: drill.dose.reps.most,
            share: 1.0,
        }
    }

    fn within(self, drill: &Drill) -> Self {
        let draw = |number: u32, to: Amount<u32>| number.clamp(to.least, to.most);
        Self {
            sets: draw(self.sets, drill.dose.sets),
            reps: draw(self.reps, drill.dose.reps),
            share: if self.share.is_nan() {
                0.0
            } else {
                self.share.clamp(0.0, 1.0)
            },
        }
    }
}

/// What a phase is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PhaseKind {
    /// Get ready.
    Ready,
    /// A part of a repetition.
    Beat(BeatKind),
    /// Rest between sets.
    SetRest,
    /// Change to the other side.
    Change,
}

/// Which side, where one is done after the other. The practitioner says which is first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turn {
    /// The side that begins.
    First,
    /// The other.
    Second,
}

/// One stretch of the timeline.
#[derive(Clone, Debug, PartialEq)]
pub struct Phase {
    /// What.
    pub kind: PhaseKind,
    /// What is shown and said; empty where the kind says it.
    pub say: String,
    /// Since the beginning, s.
    pub start_s: f64,
    /// How long, s.
    pub length_s: f64,
    /// Which set, from 1.
    pub set: u32,
    /// Which repetition of the set, from 1; 0 between repetitions.
    pub rep: u32,
    /// Which side.
    pub turn: Option<Turn>,
}

/// All phases of a drill, one after the other without a gap.
#[derive(Clone, Debug, PartialEq)]
pub struct Timeline {
    /// In order.
    pub phases: Vec<Phase>,
    /// When the last one ends, s.
    pub length_s: f64,
    /// Sets and repetitions as they are done.
    pub choice: Choice,
}

impl Timeline {
    /// The timeline of a drill.
    pub fn of(drill: &Drill, choice: Choice, rules: &Rules) -> Self {
        let choice = choice.within(drill);
        let mut line = Self {
            phases: Vec::new(),
            length_s: 0.0,
            choice,
        };
        line.add(PhaseKind::Ready, "", rules.lead_in_s, (1, 0), None);
        let turns: &[Option<Turn>] = if drill.dose.is_each_side {
            &[Some(Turn::First), Some(Turn::Second)]
        } else {
            &[None]
        };
        for set in 1..=choice.sets {
            if set > 1 {
                line.add(
                    PhaseKind::SetRest,
                    "",
                    drill.dose.rest_s,
                    (set, 0),
                    turns[0],
                );
            }
            for turn in turns {
                if *turn == Some(Turn::Second) {
                    line.add(PhaseKind::Change, "", rules.lead_in_s, (set, 0), *turn);
                }
                line.add_reps(drill, set, *turn);
            }
        }
        line
    }

    fn add_reps(&mut self, drill: &Drill, set: u32, turn: Option<Turn>) {
        let Choice { reps, share, .. } = self.choice;
        for rep in 1..=reps {
            let is_last = rep == reps;
            let ends = drill.beats.len();
            for (at, beat) in (1..).zip(&drill.beats) {
                // What follows the last repetition is a rest of its own, or the end.
                if is_last && at == ends && beat.kind == BeatKind::Rest && ends > 1 {
                    continue;
                }
                let kind = PhaseKind::Beat(beat.kind);
                self.add(kind, &beat.say, between(beat.s, share), (set, rep), turn);
            }
        }
    }

    fn add(
        &mut self,
        kind: PhaseKind,
        say: &str,
        length_s: f64,
        (set, rep): (u32, u32),
        turn: Option<Turn>,
    ) {
        if length_s <= 0.0 {
            return;
        }
        self.phases.push(Phase {
            kind,
            say: say.to_owned(),
            start_s: self.length_s,
            length_s,
            set,
            rep,
            turn,
        });
        self.length_s += length_s;
    }

    /// What stands at a time since the beginning, and how long that has lasted, s. `None` before and after.
    pub fn at(&self, time_s: f64) -> Option<(&Phase, f64)> {
        // Also turns away what is no number.
        if !(time_s >= 0.0 && time_s < self.length_s) {
            return None;
        }
        let after = self.phases.partition_point(|phase| phase.start_s <= time_s);
        let phase = self.phases.get(after.checked_sub(1)?)?;
        Some((phase, time_s - phase.start_s))
    }
}

/// How long a drill takes without getting ready, s, counted without laying it out.
pub fn length_s(drill: &Drill, choice: &Choice) -> f64 {
    let choice = choice.within(drill);
    let turns = if drill.dose.is_each_side { 2.0 } else { 1.0 };
    let rep_s: f64 = drill.beats.iter().map(|b| between(b.s, choice.share)).sum();
    let sets = f64::from(choice.sets);
    sets * turns * f64::from(choice.reps) * rep_s + (sets - 1.0).max(0.0) * drill.dose.rest_s
}

fn between(amount: Amount<f64>, share: f64) -> f64 {
    amount.least + share * (amount.most - amount.least)
}

#[cfg(test)]
mod tests;
