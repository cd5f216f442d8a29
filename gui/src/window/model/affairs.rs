//! What is kept of a client, and where it goes: history, consent, handed over, moved, joined, forgotten.

use std::path::PathBuf;

use casebook::store::Listed;

use super::{Effect, Fault, Model, Screen};
use crate::book::Moving;
use crate::window::desk::{Ask, Known, Upkeep};

/// What is done with it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(in crate::window) enum Matter {
    /// What was changed, when and why.
    #[default]
    History,
    /// Consent is taken back.
    Consent,
    /// Everything is handed over.
    Give,
    /// A recording goes to the right client.
    Move,
    /// Another entry of the same person becomes part of this one.
    Merge,
    /// The client is erased.
    Forget,
}

impl Matter {
    /// All, in the order in which they are offered.
    pub(in crate::window) const ALL: [Self; 6] = [
        Self::History,
        Self::Consent,
        Self::Give,
        Self::Move,
        Self::Merge,
        Self::Forget,
    ];
}

/// What is wanted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::window) enum AffairsAct {
    /// Look at them.
    Open,
    /// This one.
    Matter(Matter),
    /// Why.
    Reason(String),
    /// Words that another client fits.
    Words(String),
    /// That client.
    Other(String),
    /// The recording.
    Run(String),
    /// The folder.
    Folder(String),
    /// The client's code or name, to be sure.
    Typed(String),
    /// Do it.
    Do,
}

/// The affairs of the chosen client.
#[derive(Clone, Debug, Default)]
pub(in crate::window) struct Affairs {
    pub(in crate::window) matter: Matter,
    /// As the casebook has them.
    pub(in crate::window) known: Option<Known>,
    pub(in crate::window) reason: String,
    pub(in crate::window) words: String,
    pub(in crate::window) other: Option<String>,
    pub(in crate::window) run: Option<String>,
    pub(in crate::window) folder: PathBuf,
    pub(in crate::window) typed: String,
}

impl Affairs {
    /// Other clients that the words fit.
    pub(in crate::window) fn others(&self) -> impl Iterator<Item = &Listed> {
        let words = self.words.to_lowercase();
        let all = self.known.iter().flat_map(|known| &known.others);
        all.filter(move |one| one.name.to_lowercase().contains(&words) || one.code.contains(&words))
    }

    /// What belongs to one matter isn't taken over into the next.
    fn clear(&mut self) {
        self.reason.clear();
        self.words.clear();
        self.typed.clear();
        self.other = None;
        self.run = None;
    }
}

impl Model {
    pub(super) fn on_affairs(&mut self, act: AffairsAct) -> Vec<Effect> {
        let affairs = &mut self.book.affairs;
        match act {
            AffairsAct::Open => return self.open_affairs(),
            AffairsAct::Matter(matter) => {
                affairs.clear();
                affairs.matter = matter;
                self.book.fault = None;
                self.book.deed = None;
            }
            AffairsAct::Reason(text) => affairs.reason = text,
            AffairsAct::Words(text) => affairs.words = text,
            AffairsAct::Other(code) => affairs.other = Some(code),
            AffairsAct::Run(recording) => affairs.run = Some(recording),
            AffairsAct::Folder(text) => affairs.folder = PathBuf::from(text),
            AffairsAct::Typed(text) => affairs.typed = text,
            AffairsAct::Do if self.book.waiting == 0 => return self.do_matter(),
            AffairsAct::Do => {}
        }
        Vec::new()
    }

    fn open_affairs(&mut self) -> Vec<Effect> {
        let Some(chosen) = &self.book.chosen else {
            return Vec::new();
        };
        let code = chosen.account.client.code.clone();
        self.book.affairs = Affairs {
            folder: self.book.reports.join(format!("{code}-everything")),
            ..Affairs::default()
        };
        let mut effects = self.go(Screen::Affairs);
        effects.extend(self.ask(Ask::Upkeep(Upkeep::Affairs(code))));
        effects
    }

    fn do_matter(&mut self) -> Vec<Effect> {
        match self.matter() {
            Ok(asks) => asks.into_iter().flat_map(|ask| self.ask(ask)).collect(),
            Err(fault) => {
                self.book.deed = None;
                self.book.fault = Some(fault);
                Vec::new()
            }
        }
    }

    /// What is to be asked of the casebook, or what is missing.
    fn matter(&self) -> Result<Vec<Ask>, Fault> {
        let affairs = &self.book.affairs;
        let client = self.book.chosen.as_ref().map(|c| &c.account.client);
        let client = client.ok_or(Fault::NotKept)?;
        let code = client.code.clone();
        let because = affairs.reason.trim().to_owned();
        let other = || affairs.other.clone().ok_or(Fault::NoOther);
        let moves = [Matter::Move, Matter::Merge, Matter::Forget];
        if moves.contains(&affairs.matter) && self.running.is_some() {
            return Err(Fault::Running); // its files would be missed
        }
        let upkeep = match affairs.matter {
            Matter::History => return Ok(Vec::new()),
            Matter::Consent => {
                let mut client = client.clone();
                let today = self.civil.date();
                let consent = client.consent.as_mut();
                let consent = consent.filter(|consent| consent.withdrawn.is_none());
                consent.ok_or(Fault::NoConsent)?.withdrawn = Some(today);
                let save = Ask::Save(Box::new(client), because);
                return Ok(vec![save, Ask::Upkeep(Upkeep::Affairs(code))]);
            }
            Matter::Give => Upkeep::Give(code, affairs.folder.clone()),
            Matter::Move => {
                let recording = affairs.run.as_ref().ok_or(Fault::NoRun)?;
                let id = crate::book::id_of(recording).ok_or(Fault::NoRun)?;
                let moving = Moving {
                    code,
                    visit: id.session.unwrap_or_default(),
                    run: id.run.unwrap_or_default(),
                    to: other()?,
                    to_visit: None,
                };
                Upkeep::MoveRun(moving, because)
            }
            Matter::Merge => Upkeep::Merge([code, other()?], because),
            Matter::Forget => {
                let typed = affairs.typed.trim();
                if typed != code && typed != client.name {
                    return Err(Fault::NotTyped);
                }
                Upkeep::Forget(code)
            }
        };
        Ok(vec![Ask::Upkeep(upkeep)])
    }

    /// Nobody of this code is known any more, nor measured.
    pub(super) fn forgotten(&mut self, code: &str) {
        self.book.chosen = None;
        self.book.affairs = Affairs::default();
        self.book.words.clear();
        if self.client.is_booked && self.client.code == code {
            self.client = super::Client::default();
            self.reached = Screen::Start;
        }
        self.screen = Screen::Clients;
    }
}
