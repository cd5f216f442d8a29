//! What the window knows. No type of the drawing library is in here, so that all of it can be tried without a screen.
//!
//! Views read the model and hand back [`Act`]s; [`Model::apply`] takes them and hands back [`Effect`]s, which are what
//! the world outside must do. News of the sensors come in through [`Model::hear`].

mod acts;
mod affairs;
mod book;
mod browse;
mod cautions;
mod course;
mod cues;
mod flat;
mod form;
mod manner;
mod measure;
mod pace;
mod plan;
mod result;
mod sensors;
mod shelf;
mod visit;

use std::path::PathBuf;
use std::time::Instant;

use jiff::civil::DateTime;

use super::settings::Settings;
use crate::live::{Command, News, Wall};

pub(super) use acts::{Act, Done, Effect, Finished, Purpose, Screen};
pub(super) use affairs::{Affairs, AffairsAct, Matter};
pub(super) use book::{Book, BookAct, Chosen, Fault, Secret};
pub(super) use browse::{Browse, BrowseAct, Look, Recording};
pub(super) use cautions::{Cautions, QUESTIONS, Verdict, Weight};
pub(super) use course::{Course, Round, Trace, Why};
pub(super) use cues::Cue;
pub(super) use flat::{Flat, Judged};
pub(super) use form::{Agreed, Form, FormAct};
pub(super) use manner::{FAST_DEG_S, Manner, MannerAct, PACES_DEG_S};
pub(super) use measure::{Measure, MeasureAct, Phase};
pub(super) use pace::{Pace, PaceAct};
pub(super) use result::{BandChance, Recorded, SideResult};
#[cfg(feature = "ble")]
pub(super) use sensors::{Near, Search};
pub(super) use sensors::{Row, Sensors, SensorsAct};
pub(super) use shelf::{Chore, Shelf, ShelfAct};
pub(super) use visit::{Asked, VisitAct};

/// Sentences that are shown at a time.
const TOLD_MAX: usize = 4;

/// Whose measurement it is.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Client {
    /// The pseudonym.
    pub(super) code: String,
    /// The visit's label.
    pub(super) visit: String,
    /// Invented.
    pub(super) is_try: bool,
    /// Of the open casebook.
    pub(super) is_booked: bool,
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
    pub(super) book: Book,
    pub(super) asked: Asked,
    /// The drill that is looked at or done.
    pub(super) pace: Option<Pace>,
    /// Whether it is shown on a phone, too.
    #[cfg(feature = "phone")]
    is_on_phone: bool,
    /// What the live run that goes on is for.
    pub(super) running: Option<Purpose>,
    /// Where invented clients are recorded: a folder that goes away with the program.
    pub(super) scratch: PathBuf,
    /// The time, as far as the model knows.
    pub(super) now: Instant,
    /// The clock on the wall.
    pub(super) wall: Wall,
    /// Day and time where this computer is.
    pub(super) civil: DateTime,
}

impl Model {
    /// At the start page.
    pub(super) fn new(settings: Settings, scratch: PathBuf, now: Instant) -> Self {
        Self {
            sensors: Sensors::of(&settings.sensors),
            browse: Browse::default(),
            book: Book {
                reports: settings.folder.with_file_name("legraise-reports"),
                ..Book::default()
            },
            asked: Asked::default(),
            pace: None,
            #[cfg(feature = "phone")]
            is_on_phone: false,
            wall: Wall::default(),
            civil: Wall::default().now(),
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
            Act::Measure if self.book.is_open => return self.go(Screen::Clients),
            Act::Measure => return self.begin_with(false),
            Act::NextClient if self.client.is_booked => return self.go(Screen::Clients),
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
            Act::Book(act) => return self.on_book(act),
            Act::Asked(act) => self.asked.set(act),
            Act::Pace(act) => return self.on_pace(act),
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
        if screen == Screen::Measure && !self.may_go_on() {
            return Vec::new();
        }
        let mut effects = Vec::new();
        if self.screen == Screen::Cautions && screen != Screen::Cautions {
            effects.extend(self.keep_answers());
        }
        if self.screen == Screen::Shelf {
            self.book.shelf.phrase = Secret::default();
        }
        if self.screen == Screen::Pacer && screen != Screen::Pacer {
            effects.extend(self.on_pace(PaceAct::Pause));
        }
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
            is_booked: false,
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
                return self.ended(purpose, finished);
            }
            Done::Looked(found) => return self.looked(found),
            Done::Read(recording) => self.browse.take(recording),
            Done::Book(answer) => return self.answered(*answer),
            #[cfg(feature = "ble")]
            Done::Searched(found) => self.sensors.near = Search::Done(found),
            Done::NotShared(text) => self.tell(text),
            #[cfg(feature = "phone")]
            Done::Paged(paged) => self.paged(paged),
            Done::Shared => {}
        }
        Vec::new()
    }

    fn ended(&mut self, purpose: Purpose, finished: Result<Finished, String>) -> Vec<Effect> {
        match (purpose, finished) {
            (Purpose::Check, Ok(_)) => {}
            (Purpose::Check, Err(text)) => self.sensors.fault = Some(text),
            (Purpose::Flat(placement), finished) => {
                let files = self.flat.ended(placement, finished);
                let other = self.sensors.other_place(placement);
                let shared = files.zip(other);
                let share = shared.map(|(files, other)| Effect::Share(files, other));
                return share.into_iter().collect();
            }
            (Purpose::Raise(_), finished) => {
                let language = self.settings.language;
                let count = self.measure.recorded.len();
                let is_booked = self.client.is_booked;
                self.measure.ended(finished, language, is_booked);
                let is_more = count < self.measure.recorded.len();
                self.after_run();
                if is_more {
                    return self.take_run();
                }
            }
        }
        Vec::new()
    }
}

#[cfg(test)]
mod tests;
