//! A drill as it is shown and paced: what stands at a moment, what is heard, and when it ended.

use std::time::{Duration, Instant};

use casebook::drill::{BeatKind, Drill};
use casebook::pacer::{Choice, PhaseKind, Timeline};
use casebook::record::DrillDone;

use super::{Cue, Effect, Model, Screen};
#[cfg(feature = "phone")]
use crate::pacing::{self, Paged};
use crate::window::desk::Ask;

/// What is wanted of a drill.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::window) enum PaceAct {
    /// Look at this one.
    Choose(String),
    /// One set more or fewer.
    Sets(u32),
    /// One repetition more or fewer.
    Reps(u32),
    /// To the pacer.
    Go,
    /// Show it on a phone, too.
    #[cfg(feature = "phone")]
    OnPhone,
    /// Begin, or go on.
    Start,
    /// Stand still.
    Pause,
    /// It is over: noted with the time.
    End,
    /// The round after it.
    Recheck,
}

/// A drill with its timeline.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::window) struct Pace {
    pub(in crate::window) drill: Drill,
    pub(in crate::window) choice: Choice,
    pub(in crate::window) line: Timeline,
    /// Done before the last pause.
    before: Duration,
    /// Since when it runs.
    since: Option<Instant>,
    /// The phase that was sounded last, by its beginning.
    sounded_s: Option<f64>,
    /// Its end was sounded.
    is_over: bool,
    /// What the phone was told last: which stretch, and whether time went on.
    #[cfg(feature = "phone")]
    told: Option<(Option<f64>, bool)>,
}

impl Pace {
    /// How long it has run, s.
    pub(in crate::window) fn time_s(&self, now: Instant) -> f64 {
        let running = self
            .since
            .map_or(Duration::ZERO, |since| now.saturating_duration_since(since));
        (self.before + running).as_secs_f64()
    }

    /// Whether it runs.
    pub(in crate::window) const fn is_running(&self) -> bool {
        self.since.is_some()
    }

    /// Whether it has begun.
    pub(in crate::window) fn has_begun(&self) -> bool {
        self.since.is_some() || !self.before.is_zero()
    }

    /// Whether all of it is done.
    pub(in crate::window) fn is_done(&self, now: Instant) -> bool {
        self.line.length_s <= self.time_s(now)
    }

    fn pause(&mut self, now: Instant) {
        if let Some(since) = self.since.take() {
            self.before += now.saturating_duration_since(since);
        }
    }

    /// What is to be heard now: once for each phase.
    fn cue(&mut self, now: Instant) -> Option<Cue> {
        self.since?;
        if self.is_done(now) {
            self.pause(now);
            return (!std::mem::replace(&mut self.is_over, true)).then_some(Cue::Done);
        }
        let (phase, _) = self.line.at(self.time_s(now))?;
        let (start_s, kind) = (phase.start_s, phase.kind);
        if self.sounded_s == Some(start_s) {
            return None;
        }
        self.sounded_s = Some(start_s);
        Some(match kind {
            PhaseKind::Beat(BeatKind::In) => Cue::In,
            PhaseKind::Beat(BeatKind::Out) => Cue::Out,
            PhaseKind::Beat(BeatKind::Pause | BeatKind::Hold) => Cue::Stay,
            PhaseKind::Beat(BeatKind::Move) => Cue::Move,
            PhaseKind::Beat(BeatKind::Rest)
            | PhaseKind::Ready
            | PhaseKind::SetRest
            | PhaseKind::Change => Cue::Rest,
        })
    }

    /// What was done, in words for the casebook.
    fn notes(&self, now: Instant) -> String {
        let Choice { sets, reps, .. } = self.line.choice;
        if self.is_done(now) {
            return format!("sets {sets}, of {reps} each");
        }
        let at = self.line.at(self.time_s(now)).filter(|_| self.has_begun());
        at.map_or_else(
            || "without the pacer".to_owned(),
            |(phase, _)| {
                format!(
                    "ended in set {} of {sets}, at {} of {reps}",
                    phase.set, phase.rep
                )
            },
        )
    }
}

impl Model {
    pub(super) fn on_pace(&mut self, act: PaceAct) -> Vec<Effect> {
        let now = self.now;
        match act {
            PaceAct::Choose(id) => return self.show_drill(&id),
            PaceAct::Sets(sets) => self.re_lay(|choice| choice.sets = sets),
            PaceAct::Reps(reps) => self.re_lay(|choice| choice.reps = reps),
            PaceAct::Go if self.pace.is_some() => return self.go(Screen::Pacer),
            PaceAct::Start => {
                if let Some(pace) = &mut self.pace
                    && !pace.is_done(now)
                {
                    pace.since.get_or_insert(now);
                }
            }
            PaceAct::Pause => {
                if let Some(pace) = &mut self.pace {
                    pace.pause(now);
                }
            }
            #[cfg(feature = "phone")]
            PaceAct::OnPhone => {
                self.is_on_phone = true;
                if let Some(pace) = &mut self.pace {
                    pace.told = None;
                }
                return vec![Effect::PacerPage(true)];
            }
            PaceAct::End => return self.end_drill(),
            PaceAct::Recheck => return self.begin_recheck(),
            PaceAct::Go => {}
        }
        Vec::new()
    }

    fn show_drill(&mut self, id: &str) -> Vec<Effect> {
        let found = self.book.drills.iter().find(|drill| drill.id == id);
        let Some(drill) = found else {
            return Vec::new();
        };
        let drill = drill.told_in(self.settings.language.report().code());
        let choice = Choice::least(&drill);
        self.pace = Some(self.laid(drill, choice));
        self.go(Screen::Drill)
    }

    fn laid(&self, drill: Drill, choice: Choice) -> Pace {
        let rules = self.book.chosen.as_ref();
        let rules = rules.map(|chosen| chosen.account.rules).unwrap_or_default();
        let line = Timeline::of(&drill, choice, &rules);
        Pace {
            choice: line.choice,
            line,
            drill,
            before: Duration::ZERO,
            since: None,
            sounded_s: None,
            is_over: false,
            #[cfg(feature = "phone")]
            told: None,
        }
    }

    /// More or less of it, as long as it hasn't begun.
    fn re_lay(&mut self, change: impl FnOnce(&mut Choice)) {
        let Some(pace) = self.pace.take() else {
            return;
        };
        if pace.has_begun() {
            self.pace = Some(pace);
            return;
        }
        let mut choice = pace.choice;
        change(&mut choice);
        self.pace = Some(self.laid(pace.drill, choice));
    }

    /// The drill is noted with the time at which it ended.
    fn end_drill(&mut self) -> Vec<Effect> {
        let now = self.now;
        let ended = self.civil;
        let (Some(of), Some(pace)) = (self.of_visit(), &mut self.pace) else {
            return Vec::new();
        };
        pace.pause(now);
        let done = DrillDone {
            key: pace.drill.id.clone(),
            name: pace.drill.name.clone(),
            ended: Some(ended),
            notes: pace.notes(now),
        };
        let mut effects = self.ask(Ask::Drill(of, done));
        effects.extend(self.go(Screen::Recheck));
        #[cfg(feature = "phone")]
        if std::mem::take(&mut self.is_on_phone) {
            effects.push(Effect::PacerPage(false));
        }
        effects
    }

    /// Time has passed: the pacer may have something to be heard.
    pub(in crate::window) fn tick(&mut self) -> Vec<Effect> {
        let now = self.now;
        let has_sound = self.settings.has_sound;
        let cue = self.pace.as_mut().and_then(|pace| pace.cue(now));
        let heard = cue.filter(|_| has_sound).map(Effect::Sound);
        #[cfg(not(feature = "phone"))]
        return heard.into_iter().collect();
        #[cfg(feature = "phone")]
        heard.into_iter().chain(self.beat()).collect()
    }

    /// What the phone is to show, once for each change.
    #[cfg(feature = "phone")]
    fn beat(&mut self) -> Option<Effect> {
        let language = self.settings.language.report();
        let pace = self.pace.as_mut().filter(|_| self.is_on_phone)?;
        let time_s = pace.time_s(self.now);
        let stretch = pace.line.at(time_s).map(|(phase, _)| phase.start_s);
        let now = (stretch, pace.is_running());
        if pace.told.replace(now) == Some(now) {
            return None;
        }
        let counted = pace.drill.dose.counted;
        let beat = pacing::beat(language, counted, &pace.line, time_s, pace.is_running());
        Some(Effect::Beat(Box::new(beat)))
    }

    /// What becomes of the page.
    #[cfg(feature = "phone")]
    pub(super) fn paged(&mut self, paged: Paged) {
        match paged {
            Paged::Code(text) | Paged::Told(text) => self.tell(text),
            // The code was used: it is good for nobody else.
            Paged::Linked => self.told.retain(|text| !text.starts_with("pacer: scan")),
        }
    }
}
