//! The casebook as the window knows it: open or not, who was found, who is chosen. What it holds comes from the desk;
//! nothing here waits for it.

use std::path::PathBuf;

use casebook::course::Course;
use casebook::drill::Drill;
use casebook::record::{Account, Purpose, Visit};
use casebook::report::Judgement;
use casebook::store::{Listed, Passphrase};
use casebook::{Bands, Decision, Recheck, RecheckError, Taken};
use sensor::Side;

use super::{Affairs, AffairsAct, Effect, Form, FormAct, Model, Screen, Shelf, ShelfAct};
use crate::args::{ForWhom, Form as Shape};
use crate::error::CommandError;
use crate::window::desk::{Answer, Ask, Deed, Of};

/// What is wanted of the casebook.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::window) enum BookAct {
    /// Its file.
    Path(String),
    /// A new one, or one that is there.
    Make(bool),
    /// The passphrase as it is typed.
    Phrase(Secret),
    /// The same again, of a new one.
    Again(Secret),
    /// Open or make it.
    Open,
    /// Let others have it.
    Close,
    /// Words that a client fits.
    Find(String),
    /// The form for a new client.
    New,
    /// The form for the chosen one.
    Edit,
    /// What is entered there.
    Form(FormAct),
    /// The form is done.
    Save,
    /// It is put away.
    Cancel,
    /// This client.
    Choose(String),
    /// A new visit of the chosen client.
    Begin,
    /// The latest visit is gone on with.
    Resume,
    /// What a client works on: the band.
    Plan(Side, usize),
    /// Where reports are put.
    Reports(String),
    /// A report.
    Report(ForWhom, Shape),
    /// Recordings that may be passed on.
    Share,
    /// What is kept of the client.
    Affairs(AffairsAct),
    /// The casebook's own care.
    Shelf(ShelfAct),
}

/// What is typed and not shown.
#[derive(Clone, Default, PartialEq, Eq)]
pub(in crate::window) struct Secret(pub(in crate::window) String);

impl std::fmt::Debug for Secret {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Secret(…)")
    }
}

/// Why something of the casebook isn't done.
#[derive(Debug)]
pub(in crate::window) enum Fault {
    /// The casebook says so.
    Command(CommandError),
    /// The two passphrases differ.
    Differs,
    /// The form lacks a name.
    NoName,
    /// The year of birth is none.
    NotAYear,
    /// Consent without the version of its text.
    NoVersion,
    /// The visit isn't in the casebook yet.
    NotKept,
    /// A recording goes on.
    Running,
    /// Nobody was chosen as the other client.
    NoOther,
    /// No recording was chosen.
    NoRun,
    /// No consent that could be taken back.
    NoConsent,
    /// What was typed is neither the code nor the name.
    NotTyped,
    /// No numbers.
    NotNumbers,
    /// Not a number of months.
    NotMonths,
}

/// The casebook.
#[derive(Debug, Default)]
pub(in crate::window) struct Book {
    /// Its file.
    pub(in crate::window) path: PathBuf,
    /// Whether it is open.
    pub(in crate::window) is_open: bool,
    /// Whether a new one is to be made.
    pub(in crate::window) is_new: bool,
    pub(in crate::window) phrase: Secret,
    pub(in crate::window) again: Secret,
    /// Questions that aren't answered yet.
    pub(in crate::window) waiting: usize,
    /// Why the last thing wasn't done.
    pub(in crate::window) fault: Option<Fault>,
    /// The data set with its recordings.
    pub(in crate::window) data: PathBuf,
    /// Drills to choose from.
    pub(in crate::window) drills: Vec<Drill>,
    /// The practitioner's bands; as shipped where none is open.
    pub(in crate::window) bands: Bands,
    /// What is looked for.
    pub(in crate::window) words: String,
    /// Who was found.
    pub(in crate::window) clients: Vec<Listed>,
    /// The form, while it is filled in.
    pub(in crate::window) form: Option<Form>,
    /// The chosen client.
    pub(in crate::window) chosen: Option<Box<Chosen>>,
    /// Where reports are put.
    pub(in crate::window) reports: PathBuf,
    pub(in crate::window) affairs: Affairs,
    pub(in crate::window) shelf: Shelf,
    /// What was done last.
    pub(in crate::window) deed: Option<Deed>,
    /// The report that was written last.
    pub(in crate::window) written: Option<PathBuf>,
}

/// All of one client, and what is said of them.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::window) struct Chosen {
    /// As kept.
    pub(in crate::window) account: Account,
    /// The label of the next visit.
    pub(in crate::window) next: String,
    /// The visit that is judged; none where there are no visits.
    pub(in crate::window) session: Option<String>,
    /// What its first round says.
    pub(in crate::window) decision: Option<Decision>,
    /// The round after the drill against it.
    pub(in crate::window) recheck: Option<Result<Recheck, RecheckError>>,
    /// The course of each leg.
    pub(in crate::window) courses: Vec<(Side, Course)>,
}

impl Chosen {
    /// Judges one visit, or the latest, and the course.
    pub(in crate::window) fn of(account: Account, next: String, session: Option<&str>) -> Self {
        let judgement = Judgement::of(&account, None);
        let mut visits = judgement.visits.iter().rev();
        let judged = visits.find(|v| session.is_none_or(|label| v.visit.session == label));
        Self {
            next,
            session: judged.map(|v| v.visit.session.clone()),
            decision: judged.and_then(|v| v.decision.clone()),
            recheck: judged.and_then(|v| v.recheck.clone()),
            courses: judgement.courses.clone(),
            account,
        }
    }

    /// The visit that is judged.
    pub(in crate::window) fn visit(&self) -> Option<&Visit> {
        self.visit_of(self.session.as_deref()?)
    }

    /// A visit by its label.
    pub(in crate::window) fn visit_of(&self, session: &str) -> Option<&Visit> {
        let mut visits = self.account.visits.iter();
        visits.find(|visit| visit.session == session)
    }

    /// How many raises of each leg the first round has, in the order in which the legs were raised.
    pub(in crate::window) fn first_round(&self) -> Vec<(Side, usize)> {
        let taken = self.visit().and_then(|v| Taken::of(v, Purpose::First));
        let mut order: Vec<(Side, usize)> = Vec::new();
        let raises = taken.map(|taken| taken.raises).unwrap_or_default();
        for raise in raises.iter().filter(|raise| raise.is_leg_raise()) {
            match order.iter_mut().find(|(side, _)| *side == raise.side) {
                Some((_, count)) => *count += 1,
                None => order.push((raise.side, 1)),
            }
        }
        order
    }
}

impl Model {
    pub(super) fn on_book(&mut self, act: BookAct) -> Vec<Effect> {
        let book = &mut self.book;
        match act {
            BookAct::Path(path) => book.path = PathBuf::from(path),
            BookAct::Make(is_new) => book.is_new = is_new,
            BookAct::Phrase(phrase) => book.phrase = phrase,
            BookAct::Again(again) => book.again = again,
            BookAct::Open => return self.open_book(),
            BookAct::Close => return self.ask(Ask::Close),
            BookAct::Find(words) => {
                book.words.clone_from(&words);
                return self.ask(Ask::Find(words));
            }
            BookAct::New => book.form = Some(Form::default()),
            BookAct::Edit => {
                let chosen = book.chosen.as_ref();
                book.form = chosen.map(|chosen| Form::of(&chosen.account.client));
            }
            BookAct::Form(act) => {
                if let Some(form) = &mut book.form {
                    form.set(act);
                }
            }
            BookAct::Save => return self.save_client(),
            BookAct::Cancel => book.form = None,
            BookAct::Choose(code) => return self.ask(Ask::Choose(code)),
            BookAct::Begin => return self.begin_visit(),
            BookAct::Resume => return self.resume_visit(),
            BookAct::Plan(side, band) => return self.set_plan(side, band),
            BookAct::Reports(folder) => book.reports = PathBuf::from(folder),
            BookAct::Report(whom, shape) => return self.report(whom, shape),
            BookAct::Share => return self.share(),
            BookAct::Affairs(act) => return self.on_affairs(act),
            BookAct::Shelf(act) => return self.on_shelf(act),
        }
        Vec::new()
    }

    /// Asks the casebook for something.
    pub(super) fn ask(&mut self, ask: Ask) -> Vec<Effect> {
        self.book.waiting += 1;
        self.book.fault = None;
        self.book.deed = None;
        vec![Effect::Book(Box::new(ask))]
    }

    fn open_book(&mut self) -> Vec<Effect> {
        let book = &mut self.book;
        if 0 < book.waiting {
            return Vec::new();
        }
        if book.is_new && book.phrase != book.again {
            book.fault = Some(Fault::Differs);
            return Vec::new();
        }
        let ask = Ask::Open {
            path: book.path.clone(),
            passphrase: Passphrase::new(&book.phrase.0),
            data: self.settings.folder.clone(),
            is_new: book.is_new,
        };
        // It isn't kept longer than it takes.
        book.phrase = Secret::default();
        book.again = Secret::default();
        self.ask(ask)
    }

    /// Takes what the casebook says.
    pub(super) fn answered(&mut self, answer: Answer) -> Vec<Effect> {
        self.book.waiting = self.book.waiting.saturating_sub(1);
        if answer.is_closed {
            self.closed();
        }
        let book = &mut self.book;
        if let Some(opened) = answer.opened {
            book.is_open = true;
            book.is_new = false;
            book.path = opened.path;
            book.data = opened.data;
            book.drills = opened.drills;
            book.bands = opened.bands;
            if self.screen == Screen::Book {
                self.screen = Screen::Clients;
            }
        }
        let book = &mut self.book;
        if let Some(clients) = answer.clients {
            book.clients = clients;
        }
        if answer.saved {
            book.form = None;
            book.words.clear();
        }
        book.written = answer.written.or(book.written.take());
        if let Some(fault) = answer.fault {
            book.fault = Some(Fault::Command(fault));
        }
        if let Some(chosen) = answer.chosen {
            book.bands.clone_from(&chosen.account.bands);
            book.chosen = Some(chosen);
            self.sum_up_booked();
        }
        let book = &mut self.book;
        book.affairs.known = answer.affairs.or(book.affairs.known.take());
        book.shelf.kept = answer.shelf.or(book.shelf.kept.take());
        let mut effects = Vec::new();
        if let Some(bands) = answer.bands {
            book.bands = bands;
            // What is said of the chosen client is by the settings of now.
            let code = book.chosen.as_ref().map(|c| c.account.client.code.clone());
            let is_set = answer.deed == Some(Deed::Set);
            effects = code
                .filter(|_| is_set)
                .map(|code| self.ask(Ask::Choose(code)))
                .unwrap_or_default();
        }
        if let Some(deed) = answer.deed {
            self.was_done(deed);
        }
        for text in answer.told {
            self.tell(text);
        }
        effects
    }

    fn closed(&mut self) {
        let book = &mut self.book;
        *book = Book {
            path: std::mem::take(&mut book.path),
            reports: std::mem::take(&mut book.reports),
            waiting: book.waiting,
            ..Book::default()
        };
        self.screen = Screen::Book;
        if self.client.is_booked {
            self.client = super::Client::default();
            self.reached = Screen::Start;
        }
    }

    /// What follows from it, and that it is told.
    fn was_done(&mut self, deed: Deed) {
        let affairs = &mut self.book.affairs;
        affairs.reason.clear();
        affairs.run = None;
        self.book.shelf.reason.clear();
        match &deed {
            Deed::Forgotten(code, _) => self.forgotten(code),
            // Their code is no longer anybody's.
            Deed::Merged(former, _) if *former == self.client.code => {
                self.client = super::Client::default();
                self.reached = Screen::Start;
            }
            _ => {}
        }
        self.book.deed = Some(deed);
    }

    /// Whose visit is measured, where the casebook knows.
    pub(in crate::window) fn of_visit(&self) -> Option<Of> {
        self.client.is_booked.then(|| Of {
            code: self.client.code.clone(),
            session: self.client.visit.clone(),
        })
    }

    /// The chosen client, where it is theirs that is measured.
    pub(in crate::window) fn booked(&self) -> Option<&Chosen> {
        let chosen = self.book.chosen.as_deref()?;
        let is_theirs = self.client.is_booked && chosen.account.client.code == self.client.code;
        is_theirs.then_some(chosen)
    }
}
