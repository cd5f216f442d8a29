//! What the window knows. No type of the drawing library is in here, so that all of it can be tried without a screen.
//!
//! Views read the model and hand back [`Act`]s; [`Model::apply`] takes them and hands back [`Effect`]s, which are what
//! the world outside must do. News of the sensors come in through [`Model::hear`].

mod browse;
mod cautions;
mod course;
mod cues;
mod flat;
mod manner;
mod measure;
mod result;
mod sensors;

use std::path::PathBuf;
use std::time::Instant;

use sensor::bids::RunFiles;

use super::settings::Settings;
use crate::live::{Command, News, Plan};

pub(super) use browse::{Browse, BrowseAct, Look, Recording};
pub(super) use cautions::{Cautions, QUESTIONS, Verdict, Weight};
pub(super) use course::{Course, Round, Trace, Why};
pub(super) use cues::Cue;
pub(super) use flat::{Flat, Judged};
pub(super) use manner::{FAST_DEG_S, Manner, MannerAct, PACES_DEG_S};
pub(super) use measure::{Measure, MeasureAct, Phase};
pub(super) use result::{BandChance, Recorded, SideResult};
#[cfg(feature = "ble")]
pub(super) use sensors::{Near, Search};
pub(super) use sensors::{Row, Sensors, SensorsAct};

/// Sentences that are shown at a time.
const TOLD_MAX: usize = 4;

/// What is on the screen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Screen {
    /// What can be done.
    Start,
    /// Questions before a test.
    Cautions,
    /// An answer stands against it.
    Stopped,
    /// Sensors, placed and checked.
    Sensors,
    /// Sensors on a flat surface.
    Flat,
    /// How the raise is done.
    Manner,
    /// The raise.
    Measure,
    /// What came of it.
    Result,
    /// Earlier recordings.
    Browse,
    /// Settings.
    Settings,
}

impl Screen {
    /// The steps of a measurement, in order.
    pub(super) const STEPS: [Self; 6] = [
        Self::Cautions,
        Self::Sensors,
        Self::Flat,
        Self::Manner,
        Self::Measure,
        Self::Result,
    ];
}

/// What a live run is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Purpose {
    /// To see whether the sensors do.
    Check,
    /// To calibrate one.
    Flat(sensor::Placement),
    /// To measure raises of a leg.
    Raise(sensor::Side),
}

/// What the person at the screen wants.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Act {
    /// Another screen.
    Go(Screen),
    /// A whole measurement with an invented client.
    Try,
    /// A measurement of a client.
    Measure,
    /// Another client: answers and results are put away.
    NextClient,
    /// The client's pseudonym.
    Client(String),
    /// The visit's label.
    Visit(String),
    /// An answer to a question of the cautions.
    Answer(usize, bool),
    /// All of them with No.
    AnswerAllNo,
    /// About the sensors.
    Sensors(SensorsAct),
    /// Calibrate the sensor of this place.
    FlatBegin(sensor::Placement),
    /// Enough faces.
    FlatEnd,
    /// How the raise is done.
    Manner(MannerAct),
    /// While measuring.
    Raise(MeasureAct),
    /// About recordings.
    Browse(BrowseAct),
    /// A sound, to know it.
    Hear(Cue),
    /// Settings as they are now.
    Set(Box<Settings>),
    /// The message of this place was read.
    Heard(usize),
}

/// What the world outside must do.
#[derive(Debug)]
pub(super) enum Effect {
    /// Begin a live run, after the one that goes on, if one does.
    Begin(Purpose, Plan),
    /// Ask the live run for something.
    Ask(Command),
    /// Look for recordings.
    Look(PathBuf),
    /// Read and analyse one.
    Read(RunFiles),
    /// Write an invented data set.
    Invent(PathBuf),
    /// Keep the settings.
    Keep,
    /// Let it be heard.
    Sound(Cue),
    /// Look for Bluetooth sensors.
    #[cfg(feature = "ble")]
    Search,
    /// Keep a recording on a flat surface for the other place of the unit, too.
    Share(Box<RunFiles>, sensor::Placement),
}

/// What came of an effect.
#[derive(Debug)]
pub(super) enum Done {
    /// A live run has ended.
    Run(Purpose, Result<Finished, String>),
    /// Recordings were looked for.
    Looked(Result<Vec<RunFiles>, String>),
    /// One was read.
    Read(Result<Box<Recording>, String>),
    /// Bluetooth sensors were looked for.
    #[cfg(feature = "ble")]
    Searched(Result<Vec<Near>, String>),
    /// A recording could not be kept for another place.
    NotShared(String),
    /// Or it could.
    Shared,
}

/// What is known of a run that has ended.
#[derive(Debug, Default)]
pub(super) struct Finished {
    /// Its analysis, if it holds raises.
    pub(super) analysis: Option<Box<crate::analyse::Outcome>>,
    /// What a calibration is worth.
    pub(super) judged: Option<Judged>,
    /// The recording, where it is one of a calibration.
    pub(super) files: Option<Box<RunFiles>>,
}

/// Whose measurement it is.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Client {
    /// The pseudonym.
    pub(super) code: String,
    /// The visit's label.
    pub(super) visit: String,
    /// Invented.
    pub(super) is_try: bool,
}

impl Client {
    /// Whether both labels may stand in file names.
    pub(super) fn is_named(&self) -> bool {
        let is_label = |text: &str| {
            !text.is_empty() && text.len() <= 32 && text.bytes().all(|b| b.is_ascii_alphanumeric())
        };
        is_label(&self.code) && is_label(&self.visit)
    }
}

/// What the window knows.
#[derive(Debug)]
pub(super) struct Model {
    pub(super) settings: Settings,
    pub(super) screen: Screen,
    /// Where to go back to from recordings and settings.
    pub(super) before: Screen,
    /// The furthest step that was reached.
    pub(super) reached: Screen,
    /// Sentences that must be read.
    pub(super) told: Vec<String>,
    pub(super) client: Client,
    pub(super) cautions: Cautions,
    pub(super) sensors: Sensors,
    pub(super) flat: Flat,
    pub(super) manner: Manner,
    pub(super) measure: Measure,
    pub(super) browse: Browse,
    /// What the live run that goes on is for.
    pub(super) running: Option<Purpose>,
    /// Where invented clients are recorded: a folder that goes away with the program.
    pub(super) scratch: PathBuf,
    /// The time, as far as the model knows.
    pub(super) now: Instant,
}

impl Model {
    /// At the start page.
    pub(super) fn new(settings: Settings, scratch: PathBuf, now: Instant) -> Self {
        Self {
            sensors: Sensors::of(&settings.sensors),
            browse: Browse::default(),
            settings,
            screen: Screen::Start,
            before: Screen::Start,
            reached: Screen::Start,
            told: Vec::new(),
            client: Client::default(),
            cautions: Cautions::default(),
            flat: Flat::default(),
            manner: Manner::default(),
            measure: Measure::default(),
            running: None,
            scratch,
            now,
        }
    }

    /// Does what is wanted.
    pub(super) fn apply(&mut self, act: Act) -> Vec<Effect> {
        match act {
            Act::Go(screen) => return self.go(screen),
            Act::Try => return self.begin_with(true),
            Act::Measure => return self.begin_with(false),
            Act::NextClient => return self.begin_with(self.client.is_try),
            Act::Client(code) => self.client.code = code,
            Act::Visit(visit) => self.client.visit = visit,
            Act::Answer(question, is_yes) => self.cautions.answer(question, is_yes),
            Act::AnswerAllNo => self.cautions.answer_rest_no(),
            Act::Sensors(act) => return self.on_sensors(act),
            Act::FlatBegin(placement) => return self.begin_flat(placement),
            Act::FlatEnd => return vec![Effect::Ask(Command::Stop)],
            Act::Manner(act) => {
                self.manner.set(act);
                self.measure.leg = self.manner.leg;
            }
            Act::Raise(act) => return self.on_measure(act),
            Act::Browse(act) => return self.on_browse(act),
            Act::Hear(cue) => return vec![Effect::Sound(cue)],
            Act::Set(settings) => {
                self.settings = *settings;
                return vec![Effect::Keep];
            }
            Act::Heard(place) => {
                if place < self.told.len() {
                    self.told.remove(place);
                }
            }
        }
        Vec::new()
    }

    /// Whether nothing stands against this screen: no test before all cautions were asked, or against them.
    pub(super) fn may_go(&self, screen: Screen) -> bool {
        let is_after = Screen::STEPS.contains(&screen) && screen != Screen::Cautions;
        !is_after
            || matches!(self.cautions.verdict(), Verdict::Heeded | Verdict::Clear)
                && self.client.is_named()
    }

    /// Shows another screen. A live run that belongs to the former one ends; nothing that was entered is lost.
    fn go(&mut self, screen: Screen) -> Vec<Effect> {
        let screen = match self.cautions.verdict() {
            _ if self.may_go(screen) => screen,
            Verdict::Stops => Screen::Stopped,
            _ => Screen::Cautions,
        };
        let mut effects = Vec::new();
        if screen != self.screen && self.running.is_some() && !self.measure.is_writing() {
            effects.push(Effect::Ask(Command::Stop));
        }
        if matches!(screen, Screen::Browse | Screen::Settings)
            && !matches!(self.screen, Screen::Browse | Screen::Settings)
        {
            self.before = self.screen;
        }
        if Screen::STEPS.contains(&screen) {
            self.reached = self.reached.max(screen);
        }
        self.screen = screen;
        if screen == Screen::Browse && self.browse.is_unknown() {
            effects.extend(self.look());
        }
        effects
    }

    /// A new measurement from the first question on.
    fn begin_with(&mut self, is_try: bool) -> Vec<Effect> {
        if !is_try
            && !self.client.is_try
            && self.screen == Screen::Start
            && self.reached > Screen::Cautions
        {
            // A measurement that was left is gone on with.
            return self.go(self.reached);
        }
        self.client = Client {
            code: if is_try {
                "trial".to_owned()
            } else {
                String::new()
            },
            visit: "01".to_owned(),
            is_try,
        };
        self.cautions = Cautions::default();
        self.sensors = if is_try {
            Sensors::invented()
        } else {
            Sensors::of(&self.settings.sensors)
        };
        self.flat = Flat::default();
        self.measure = Measure {
            leg: self.manner.leg,
            ..Measure::default()
        };
        self.reached = Screen::Cautions;
        self.go(Screen::Cautions)
    }

    /// Takes what the sensors tell.
    pub(super) fn hear(&mut self, news: News, now: Instant) -> Vec<Effect> {
        self.now = now;
        match news {
            News::Told(text) => self.tell(text),
            News::Health(health) => self.sensors.health = health,
            News::Guide(guide) => {
                self.flat.now = Some(guide);
            }
            News::Began => {
                // Phones are there; a hand marker may still come.
                self.told
                    .retain(|text| !text.contains('\n') || text.starts_with("hand marker"));
                if let Some(Purpose::Raise(_)) = self.running {
                    self.measure.phase = Phase::Running;
                }
            }
            News::Reading { reading, arrived } => match self.running {
                Some(Purpose::Check) => self.sensors.see(&reading),
                Some(Purpose::Raise(_)) => self.measure.course.take(&reading, arrived),
                _ => {}
            },
            News::Marked {
                at_s, kind, value, ..
            } => self.measure.marked(at_s, kind, &value),
        }
        self.cue().into_iter().collect()
    }

    /// What is to be heard of what is new.
    fn cue(&mut self) -> Option<Effect> {
        let measure = &mut self.measure;
        if measure.phase != Phase::Running {
            return None;
        }
        let cue = measure.cues.next(&measure.course, self.now)?;
        self.settings.has_sound.then_some(Effect::Sound(cue))
    }

    /// Has a sentence read: each once, the newest ones.
    pub(super) fn tell(&mut self, text: String) {
        let is_known = self.client.is_try && text == crate::live::NOT_MEASURED;
        if is_known || self.told.contains(&text) {
            return;
        }
        if TOLD_MAX <= self.told.len() {
            self.told.remove(0);
        }
        self.told.push(text);
    }

    /// Takes what came of an effect.
    pub(super) fn done(&mut self, done: Done) -> Vec<Effect> {
        match done {
            Done::Run(purpose, finished) => {
                if self.running == Some(purpose) {
                    self.running = None;
                }
                return self.ended(purpose, finished).into_iter().collect();
            }
            Done::Looked(found) => return self.looked(found),
            Done::Read(recording) => self.browse.take(recording),
            #[cfg(feature = "ble")]
            Done::Searched(found) => self.sensors.near = Search::Done(found),
            Done::NotShared(text) => self.tell(text),
            Done::Shared => {}
        }
        Vec::new()
    }

    fn ended(&mut self, purpose: Purpose, finished: Result<Finished, String>) -> Option<Effect> {
        match (purpose, finished) {
            (Purpose::Check, Ok(_)) => {}
            (Purpose::Check, Err(text)) => self.sensors.fault = Some(text),
            (Purpose::Flat(placement), finished) => {
                let files = self.flat.ended(placement, finished)?;
                let other = self.sensors.other_place(placement)?;
                return Some(Effect::Share(files, other));
            }
            (Purpose::Raise(_), finished) => {
                let language = self.settings.language;
                self.measure.ended(finished, language);
                if self.measure.is_complete() {
                    self.reached = Screen::Result;
                    if self.screen == Screen::Measure {
                        self.screen = Screen::Result;
                    }
                }
            }
        }
        None
    }

    /// A live run with the sensors as they are named.
    fn plan(&self, purpose: Purpose) -> Result<Plan, String> {
        use crate::live::{Task, Visit};
        use fusion::calibrate::FacesWanted;
        let (leg, only) = match purpose {
            Purpose::Raise(side) => (side, None),
            Purpose::Flat(placement) => {
                (placement.side().unwrap_or(self.manner.leg), Some(placement))
            }
            Purpose::Check => (self.manner.leg, None),
        };
        let mut sources = self.sensors.asked(leg).map_err(|e| e.to_string())?;
        sources.retain(|asked| only.is_none_or(|only| only == asked.placement));
        let root = if self.client.is_try {
            &self.scratch
        } else {
            &self.settings.folder
        };
        let visit = Visit {
            root: root.clone(),
            client: self.client.code.clone(),
            session: self.client.visit.clone(),
        };
        Ok(Plan {
            sources,
            task: only.map_or(Task::Raises, |_| Task::Flat(FacesWanted::Six)),
            visit: (purpose != Purpose::Check).then_some(visit),
            conditions: self.manner.conditions(),
            seconds: None,
            with_marker: self.manner.with_marker && only.is_none() && purpose != Purpose::Check,
            #[cfg(feature = "phone")]
            page_ip: None,
            heeds_signals: false,
        })
    }

    /// Begins a live run.
    fn begin(&mut self, purpose: Purpose) -> Result<Effect, String> {
        let plan = self.plan(purpose)?;
        self.running = Some(purpose);
        Ok(Effect::Begin(purpose, plan))
    }
}

#[cfg(test)]
mod tests;
