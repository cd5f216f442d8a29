//! What is worth a sound, for whoever doesn't look at the screen. Each has something to be seen beside it.

use std::time::Instant;

use fusion::{RaiseState, Reason};

use super::Course;

/// A sound.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(in crate::window) enum Cue {
    /// The zero is taken: the leg may rise.
    Ready,
    /// The raise counts as over.
    EndPoint,
    /// It counts as over, for something gave way, or it was stopped.
    GivesWay,
    /// The sensor tells nothing any more.
    Lost,
    /// Breathe in.
    In,
    /// Breathe out.
    Out,
    /// Stay as you are.
    Stay,
    /// Move.
    Move,
    /// Rest, or get ready.
    Rest,
    /// The drill is done.
    Done,
}

impl Cue {
    /// All of them.
    #[cfg(test)]
    pub(in crate::window) const ALL: [Self; 10] = [
        Self::Ready,
        Self::EndPoint,
        Self::GivesWay,
        Self::Lost,
        Self::In,
        Self::Out,
        Self::Stay,
        Self::Move,
        Self::Rest,
        Self::Done,
    ];
}

/// What has been sounded of a run.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Cues {
    is_ready: bool,
    is_lost: bool,
    /// Rounds seen, and whether the end of the last one was sounded.
    round_count: usize,
    is_ended: bool,
}

impl Cues {
    /// What is new since the last call. Of several at once the gravest.
    pub(super) fn next(&mut self, course: &Course, now: Instant) -> Option<Cue> {
        let is_lost = course.silent_s(now).is_some();
        if is_lost != std::mem::replace(&mut self.is_lost, is_lost) && is_lost {
            return Some(Cue::Lost);
        }
        if self.round_count < course.rounds.len() {
            self.round_count = course.rounds.len();
            self.is_ended = false;
        }
        let last = course.rounds.last();
        if let Some(end) = last.and_then(|round| round.end).filter(|_| !self.is_ended) {
            self.is_ended = true;
            return Some(match end.reason {
                Reason::OppositeLeg | Reason::Knee | Reason::Stop => Cue::GivesWay,
                Reason::Pull | Reason::Hold | Reason::Peak => Cue::EndPoint,
            });
        }
        let rests = (course.leading.as_ref()).is_some_and(|r| r.state != RaiseState::Settling);
        if rests && !std::mem::replace(&mut self.is_ready, true) {
            return Some(Cue::Ready);
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use fusion::{Angle, LiveEnd, Reading};
    use sensor::Side;

    use super::*;

    fn reading(t_s: f64, deg: f64, state: RaiseState, reason: Option<Reason>) -> Reading {
        let angle = Angle::from_degrees(deg);
        let end = |reason| LiveEnd {
            reason,
            t_s,
            angle,
            is_settled: true,
        };
        Reading {
            t_s,
            side: Side::Right,
            angle,
            expanded: Angle::from_degrees(0.5),
            state,
            other: None,
            thigh: None,
            pelvis: None,
            end: reason.map(end),
            compensations: Vec::new(),
            flags: Vec::new(),
        }
    }

    #[test]
    fn each_thing_sounds_once_and_in_its_time() {
        use RaiseState::{Resting, Rising, Settling};
        let (mut cues, mut course) = (Cues::default(), Course::default());
        let begin = Instant::now();
        let mut heard = Vec::new();
        let told = [
            (0.1, 0.0, Settling, None),
            (0.5, 0.0, Resting, None),
            (0.6, 0.0, Resting, None),
            (2.0, 30.0, Rising, None),
            (2.5, 50.0, Rising, Some(Reason::OppositeLeg)),
            (2.6, 51.0, Rising, Some(Reason::OppositeLeg)),
            (5.0, 0.0, Resting, Some(Reason::OppositeLeg)),
            (7.0, 40.0, Rising, None),
            (7.5, 45.0, Rising, Some(Reason::Pull)),
            (7.6, 45.0, Rising, Some(Reason::Pull)),
        ];
        for (t_s, deg, state, reason) in told {
            let now = begin + Duration::from_secs_f64(t_s);
            course.take(&reading(t_s, deg, state, reason), now);
            heard.extend(cues.next(&course, now));
        }
        assert_eq!(heard, [Cue::Ready, Cue::GivesWay, Cue::EndPoint]);
        let mut later = |s| cues.next(&course, begin + Duration::from_secs_f64(s));
        assert_eq!(later(8.0), None);
        assert_eq!(later(8.2), Some(Cue::Lost));
        assert_eq!(later(9.0), None);
    }
}
