//! Raises of one leg after the other: what goes on, marks, rounds that are left out.

use sensor::{MarkKind, Side, WITHDRAWN};

use super::cues::Cues;
use super::{Course, Effect, Finished, Model, Purpose, Recorded, Screen, SideResult, Why};
use crate::live::Command;
use crate::window::words::{Language, Live};

/// Where it stands.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(in crate::window) enum Phase {
    /// Nothing runs.
    #[default]
    Ready,
    /// Sensors are called.
    Opening,
    /// Readings come.
    Running,
    /// The recording is written and analysed.
    Writing,
}

/// What is wanted while measuring.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::window) enum MeasureAct {
    /// Begin with the leg that is asked for.
    Start,
    /// The first pull was felt.
    Pull,
    /// Stopped: pain, or any other reason.
    Stop,
    /// The last mark was none.
    Undo,
    /// This leg is done.
    Next,
    /// Another leg.
    Leg(Side),
    /// To leave out the round of this place, it is asked why; or not any more.
    Ask(Option<usize>),
    /// Leave a round out, or count it again.
    Out(usize, Option<Why>),
    /// The same for a raise of a recording: which recording, which raise.
    RaiseOut(usize, usize, Option<Why>),
}

/// A mark as it came.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::window) struct Marked {
    /// When, s of the run.
    pub(in crate::window) at_s: f64,
    /// What it says.
    pub(in crate::window) kind: MarkKind,
}

/// The raises of a client.
#[derive(Clone, Debug)]
pub(in crate::window) struct Measure {
    /// The leg that is asked for.
    pub(in crate::window) leg: Side,
    /// Where it stands.
    pub(in crate::window) phase: Phase,
    /// The run that goes on, or the last one.
    pub(in crate::window) course: Course,
    /// What has been heard of that run.
    pub(super) cues: Cues,
    /// Marks of that run.
    pub(in crate::window) marks: Vec<Marked>,
    /// The round that is to be left out, while it is asked why.
    pub(in crate::window) asked: Option<usize>,
    /// Runs that are done, with their analysis.
    pub(in crate::window) recorded: Vec<Recorded>,
    /// What they come to, left and right.
    pub(in crate::window) results: [Option<SideResult>; 2],
    /// Why the last run came to nothing.
    pub(in crate::window) fault: Option<String>,
    /// After a drill: the legs that were raised before it, in their order, and how often.
    pub(in crate::window) again: Vec<(Side, usize)>,
}

/// Marks of a run that are listed.
const MARKS_MAX: usize = 1000;

impl Default for Measure {
    fn default() -> Self {
        Self {
            leg: Side::Right,
            phase: Phase::Ready,
            course: Course::default(),
            cues: Cues::default(),
            marks: Vec::new(),
            asked: None,
            recorded: Vec::new(),
            results: [None, None],
            fault: None,
            again: Vec::new(),
        }
    }
}

impl Measure {
    /// Whether figures are being worked out.
    pub(super) fn is_writing(&self) -> bool {
        self.phase == Phase::Writing
    }

    /// Whether a leg has been measured.
    pub(in crate::window) fn has(&self, side: Side) -> bool {
        self.recorded
            .iter()
            .any(|r| r.raises.iter().any(|raise| raise.side == side))
    }

    /// Whether both have been.
    pub(in crate::window) fn is_complete(&self) -> bool {
        Side::ALL.into_iter().all(|side| self.has(side))
    }

    /// The last mark that can be taken back.
    pub(in crate::window) fn last_mark(&self) -> Option<Marked> {
        let is_of_raise = |m: &&Marked| matches!(m.kind, MarkKind::Pull | MarkKind::Stop);
        self.marks.iter().rfind(is_of_raise).copied()
    }

    pub(super) fn marked(&mut self, at_s: f64, kind: MarkKind, value: &str) {
        if kind == MarkKind::Note && value == WITHDRAWN {
            let is_of_raise = |m: &Marked| matches!(m.kind, MarkKind::Pull | MarkKind::Stop);
            if let Some(last) = self.marks.iter().rposition(is_of_raise) {
                self.marks.remove(last);
            }
        } else if self.marks.len() < MARKS_MAX {
            self.marks.push(Marked { at_s, kind });
        }
    }

    /// Takes the analysis of a run that has ended, with what was left out while it went on.
    pub(super) fn ended(
        &mut self,
        finished: Result<Finished, String>,
        language: Language,
        is_booked: bool,
    ) {
        self.phase = Phase::Ready;
        self.asked = None;
        let analysis = match finished {
            Ok(finished) => finished.analysis,
            Err(text) => {
                self.fault = Some(text);
                return;
            }
        };
        let Some(analysis) = analysis else {
            self.fault = Some(language.say(Live::NothingCame).to_owned());
            return;
        };
        let recorded = Recorded::of(*analysis, &self.course);
        self.fault = recorded.error.clone().or_else(|| {
            recorded
                .raises
                .is_empty()
                .then(|| language.say(Live::NoRaise).to_owned())
        });
        if !recorded.raises.is_empty() {
            self.recorded.push(recorded);
            if !is_booked {
                self.sum_up(); // else the casebook does
            }
            if self.has(self.leg) && !self.has(self.leg.other()) {
                self.leg = self.leg.other();
            }
        }
    }

    /// Works out what the raises come to.
    pub(super) fn sum_up(&mut self) {
        self.results = Side::ALL.map(|side| SideResult::of(&self.recorded, side));
    }

    /// What a leg's raises come to.
    pub(in crate::window) const fn result(&self, side: Side) -> Option<&SideResult> {
        match side {
            Side::Left => self.results[0].as_ref(),
            Side::Right => self.results[1].as_ref(),
        }
    }
}

impl Model {
    pub(super) fn on_measure(&mut self, act: MeasureAct) -> Vec<Effect> {
        let is_running = self.measure.phase == Phase::Running;
        let mark = |kind, value: &str| {
            let value = value.to_owned();
            vec![Effect::Ask(Command::Mark {
                kind,
                side: None,
                value,
            })]
        };
        match act {
            MeasureAct::Start if self.measure.phase == Phase::Ready => return self.begin_raises(),
            MeasureAct::Pull if is_running => return mark(MarkKind::Pull, ""),
            MeasureAct::Stop if is_running => return mark(MarkKind::Stop, ""),
            MeasureAct::Undo if is_running && self.measure.last_mark().is_some() => {
                return mark(MarkKind::Note, WITHDRAWN);
            }
            MeasureAct::Next => return self.next_leg(),
            MeasureAct::Leg(side) if self.measure.phase == Phase::Ready => self.measure.leg = side,
            MeasureAct::Ask(place) => self.measure.asked = place,
            MeasureAct::Out(place, why) => return self.leave_out(place, why),
            MeasureAct::RaiseOut(run, raise, why) => {
                let outs = self.measure.recorded.get_mut(run).map(|r| &mut r.outs);
                if let Some(out) = outs.and_then(|outs| outs.get_mut(raise)) {
                    *out = why;
                }
                self.measure.asked = None;
                if self.client.is_booked {
                    return self.keep_aside(run, raise, why);
                }
                self.measure.sum_up();
            }
            _ => {}
        }
        Vec::new()
    }

    fn begin_raises(&mut self) -> Vec<Effect> {
        if self.screen != Screen::Measure || !self.may_go(Screen::Measure) {
            return Vec::new();
        }
        match self.begin(Purpose::Raise(self.measure.leg)) {
            Ok(effect) => {
                self.measure.phase = Phase::Opening;
                self.measure.course = Course::default();
                self.measure.cues = Cues::default();
                self.measure.marks.clear();
                self.measure.fault = None;
                vec![effect]
            }
            Err(text) => {
                self.measure.fault = Some(text);
                Vec::new()
            }
        }
    }

    /// Ends the run of this leg; without one, goes on to the result.
    fn next_leg(&mut self) -> Vec<Effect> {
        match self.measure.phase {
            Phase::Opening | Phase::Running => {
                self.measure.phase = Phase::Writing;
                vec![Effect::Ask(Command::Stop)]
            }
            Phase::Writing => Vec::new(),
            Phase::Ready if self.measure.recorded.is_empty() => Vec::new(),
            Phase::Ready if !self.measure.again.is_empty() => self.go(Screen::Recheck),
            Phase::Ready => self.go(Screen::Result),
        }
    }

    /// A round is left out of the mean; the recording keeps it, with a note.
    fn leave_out(&mut self, place: usize, why: Option<Why>) -> Vec<Effect> {
        self.measure.asked = None;
        let Some(round) = self.measure.course.rounds.get_mut(place) else {
            return Vec::new();
        };
        round.out = why;
        let what = why.map_or("counted again", Why::as_str);
        let value = format!("raise at {:.1} s: {what}", round.start_s);
        let is_running = self.measure.phase == Phase::Running;
        let note = Command::Mark {
            kind: MarkKind::Note,
            side: None,
            value,
        };
        if is_running {
            vec![Effect::Ask(note)]
        } else {
            Vec::new()
        }
    }
}
