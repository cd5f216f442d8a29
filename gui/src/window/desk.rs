//! The desk at which the casebook lies: a thread of its own opens it, asks it and writes into it, one thing after the
//! other. Deriving the key alone takes longer than a frame may.

mod upkeep;

use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, SyncSender, TrySendError, sync_channel};
use std::thread::{Builder, JoinHandle};

use casebook::Bands;
use casebook::course::Plan;
use casebook::drill::Drill;
use casebook::record::{Client, DrillDone, Visit};
use casebook::store::{Listed, Passphrase, Setting, Store, StoreErrorKind, account};
use sensor::Side;

use super::model::{Chosen, Done};
use crate::args::MadeArgs;
use crate::book;
use crate::contain::contained;
use crate::error::CommandError;
use crate::live::Waker;

pub(super) use upkeep::{Deed, Kept, Known, Own, Upkeep};

/// Questions that may wait. A person asks one after the other.
const ASKS_MAX: usize = 16;

/// What is asked of the casebook.
#[derive(Debug)]
pub(super) enum Ask {
    /// Open the file, or make it. Where it doesn't know a data set it takes this one.
    Open {
        path: PathBuf,
        passphrase: Passphrase,
        data: PathBuf,
        is_new: bool,
    },
    /// A backup in its place, then open that.
    Restore {
        from: PathBuf,
        path: PathBuf,
        passphrase: Passphrase,
        data: PathBuf,
    },
    /// Let others have it.
    Close,
    /// What isn't of a visit.
    Upkeep(Upkeep),
    /// Clients that these words fit.
    Find(String),
    /// A client as they are to be written down; one without a code is new.
    Save(Box<Client>, String),
    /// All of one client.
    Choose(String),
    /// What was asked at a visit; begins it where there is none.
    Visit(String, Box<Visit>),
    /// Results of recordings.
    Take(Take),
    /// A raise set aside, or counted again.
    Aside(Of, Aside),
    /// A drill that was practised.
    Drill(Of, DrillDone),
    /// What a client works on.
    Plan(String, Side, Plan),
    /// A report into a file.
    Report(String, Box<MadeArgs>),
}

/// Whose visit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Of {
    pub(super) code: String,
    pub(super) session: String,
}

/// A raise set aside with the reason, or counted again.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Aside {
    /// The run, as in the analysis.
    pub(super) recording: String,
    /// The raise, from 1.
    pub(super) number: usize,
    pub(super) is_out: bool,
    pub(super) reason: String,
}

/// A visit whose new recordings are taken, and what was left out while they were made.
#[derive(Debug)]
pub(super) struct Take {
    pub(super) of: Of,
    pub(super) asides: Vec<Aside>,
}

/// What the casebook says.
#[derive(Debug, Default)]
pub(super) struct Answer {
    /// It is open.
    pub(super) opened: Option<Opened>,
    /// It is closed again.
    pub(super) is_closed: bool,
    /// Clients that were found.
    pub(super) clients: Option<Vec<Listed>>,
    /// All of one client as it is now.
    pub(super) chosen: Option<Box<Chosen>>,
    /// A client that was written down.
    pub(super) saved: bool,
    /// A file that was written.
    pub(super) written: Option<PathBuf>,
    /// What is kept of a client.
    pub(super) affairs: Option<Known>,
    /// How the casebook is kept.
    pub(super) shelf: Option<Kept>,
    /// The practitioner's bands.
    pub(super) bands: Option<Bands>,
    /// What was done.
    pub(super) deed: Option<Deed>,
    /// What must be read.
    pub(super) told: Vec<String>,
    /// Why it wasn't done.
    pub(super) fault: Option<CommandError>,
}

/// A casebook that has been opened.
#[derive(Debug)]
pub(super) struct Opened {
    pub(super) path: PathBuf,
    /// The data set with its recordings.
    pub(super) data: PathBuf,
    /// Drills to choose from.
    pub(super) drills: Vec<Drill>,
    /// The practitioner's bands.
    pub(super) bands: Bands,
}

/// The thread, from outside.
pub(super) struct Desk {
    asks: SyncSender<Ask>,
    thread: JoinHandle<()>,
}

impl Desk {
    /// Begins the thread. Answers go where all jobs tell theirs.
    pub(super) fn new(tell: SyncSender<Done>, waker: Waker) -> Result<Self, CommandError> {
        let (asks, waiting) = sync_channel(ASKS_MAX);
        let thread = Builder::new()
            .name("casebook".to_owned())
            .spawn(move || answer_all(&waiting, &tell, &waker))
            .map_err(CommandError::Thread)?;
        Ok(Self { asks, thread })
    }

    /// Asks; whether there was room for the question.
    pub(super) fn ask(&self, ask: Ask) -> bool {
        !matches!(self.asks.try_send(ask), Err(TrySendError::Full(_)))
    }

    /// Waits until what was asked is written. Nobody may listen to the answers any more.
    pub(super) fn end(self) {
        drop(self.asks);
        drop(self.thread.join()); // the database keeps itself whole
    }
}

fn answer_all(waiting: &Receiver<Ask>, tell: &SyncSender<Done>, waker: &Waker) {
    let mut store = None;
    for ask in waiting {
        let answer = contained(|| answer(&mut store, ask)).unwrap_or_else(|place| Answer {
            told: vec![format!(
                "casebook: broken off at a fault of the program ({place}); nothing was changed, please report it"
            )],
            ..Answer::default()
        });
        drop(tell.send(Done::Book(Box::new(answer)))); // a window that is gone hears nothing
        waker.wake();
    }
}

fn answer(store: &mut Option<Store>, ask: Ask) -> Answer {
    let mut told = Vec::new();
    let done = match ask {
        Ask::Open {
            path,
            passphrase,
            data,
            is_new,
        } => {
            *store = None;
            match open(&path, &passphrase, &data, is_new, &mut told) {
                Ok((opened, answer)) => {
                    *store = Some(opened);
                    Ok(answer)
                }
                Err(e) => Err(e),
            }
        }
        Ask::Restore {
            from,
            path,
            passphrase,
            data,
        } => restore(store, &from, &path, &passphrase, &data, &mut told),
        Ask::Close => {
            *store = None;
            Ok(Answer {
                is_closed: true,
                ..Answer::default()
            })
        }
        ask => match store {
            Some(store) => of_store(store, ask, &mut told),
            None => Ok(Answer::default()),
        },
    };
    let mut answer = done.unwrap_or_else(|fault| Answer {
        fault: Some(fault),
        ..Answer::default()
    });
    answer.told.append(&mut told);
    answer
}

fn open(
    path: &Path,
    passphrase: &Passphrase,
    data: &Path,
    is_new: bool,
    told: &mut Vec<String>,
) -> Result<(Store, Answer), CommandError> {
    let store = if is_new {
        Store::create(path, passphrase)?
    } else {
        Store::open(path, passphrase)?
    };
    let mut err = Vec::new();
    if let Err(e) = book::finish_moves(&store, &mut err) {
        told.push(e.to_string());
    }
    let drills = book::drills(&store, &mut err)?;
    told.extend(String::from_utf8_lossy(&err).lines().map(str::to_owned));
    if store.setting(Setting::DataFolder)?.is_none() {
        let folder = book::whole(data).display().to_string();
        store.set_setting(Setting::DataFolder, &folder, book::why(""))?;
    }
    let opened = Opened {
        path: path.to_owned(),
        data: book::data_folder(&store, None)?,
        drills,
        bands: store.bands()?,
    };
    let answer = Answer {
        opened: Some(opened),
        clients: Some(store.find("")?),
        ..Answer::default()
    };
    Ok((store, answer))
}

/// Puts a backup in the casebook's place and opens it. One that is no good leaves the casebook open, as it is.
fn restore(
    store: &mut Option<Store>,
    from: &Path,
    path: &Path,
    passphrase: &Passphrase,
    data: &Path,
    told: &mut Vec<String>,
) -> Result<Answer, CommandError> {
    // The backup is checked before the casebook is asked for: only a good one comes so far that this program itself
    // stands in the way.
    let was_open = store.is_some();
    let aside = match book::put_back(from, path, passphrase) {
        Err(e) if was_open && matches!(e.kind, StoreErrorKind::Held { .. }) => {
            *store = None;
            book::put_back(from, path, passphrase)
        }
        done => done,
    };
    let opened = aside.map_err(CommandError::from).and_then(|aside| {
        *store = None;
        let (opened, answer) = open(path, passphrase, data, false, told)?;
        *store = Some(opened);
        Ok(Answer {
            is_closed: true,
            deed: Some(Deed::Restored(aside)),
            ..answer
        })
    });
    // A casebook that was closed for it, and not opened again, is told as closed.
    opened.or_else(|fault| {
        Ok(Answer {
            is_closed: was_open && store.is_none(),
            fault: Some(fault),
            ..Answer::default()
        })
    })
}

fn of_store(store: &Store, ask: Ask, told: &mut Vec<String>) -> Result<Answer, CommandError> {
    let all_of = |code: &str, session: Option<&str>| chosen(store, code, session);
    match ask {
        Ask::Open { .. } | Ask::Restore { .. } | Ask::Close => Ok(Answer::default()),
        Ask::Upkeep(ask) => upkeep::upkeep(store, ask, told),
        Ask::Find(words) => Ok(Answer {
            clients: Some(store.find(&words)?),
            ..Answer::default()
        }),
        Ask::Save(client, reason) => {
            let code = if client.code.is_empty() {
                store.add_client(&client, book::why(&reason))?
            } else {
                store.edit_client(&client, book::why(&reason))?;
                client.code.clone()
            };
            Ok(Answer {
                clients: Some(store.find("")?),
                saved: true,
                ..all_of(&code, None)?
            })
        }
        Ask::Choose(code) => all_of(&code, None),
        Ask::Visit(code, visit) => {
            if store.sessions(&code)?.contains(&visit.session) {
                store.edit_visit(&code, &visit, book::why("asked again"))?;
            } else {
                store.add_visit(&code, &visit, book::why(""))?;
            }
            all_of(&code, Some(&visit.session))
        }
        Ask::Take(take) => {
            let Of { code, session } = &take.of;
            let root = book::data_folder(store, None)?;
            let (taken, problems) = book::take(store, &root, (code, session), &[], None)?;
            told.extend(problems);
            told.extend(taken.iter().filter_map(|one| one.outcome.error.clone()));
            for aside in &take.asides {
                put_aside(store, &take.of, aside)?;
            }
            all_of(code, Some(session))
        }
        Ask::Aside(of, aside) => {
            put_aside(store, &of, &aside)?;
            all_of(&of.code, Some(&of.session))
        }
        Ask::Drill(of, done) => {
            store.set_drill(&of.code, &of.session, &done, book::why("practised again"))?;
            all_of(&of.code, Some(&of.session))
        }
        Ask::Plan(code, side, plan) => {
            store.set_plan(&code, side, plan, book::why("chosen at the course"))?;
            all_of(&code, None)
        }
        Ask::Report(code, made) => {
            let account = account(store, &code)?;
            if let Some(out) = &made.out {
                upkeep::folder_of(out)?;
            }
            crate::commands::report::of(&account, &[], &made, &mut std::io::sink())?;
            Ok(Answer {
                written: made.out,
                ..Answer::default()
            })
        }
    }
}

fn put_aside(store: &Store, of: &Of, aside: &Aside) -> Result<(), CommandError> {
    let why = book::why(&aside.reason);
    Ok(store.set_aside(
        &of.code,
        &of.session,
        &aside.recording,
        aside.number,
        aside.is_out,
        why,
    )?)
}

/// All of one client, judged at a visit: the one that is named, or the latest.
fn chosen(store: &Store, code: &str, session: Option<&str>) -> Result<Answer, CommandError> {
    let account = account(store, code)?;
    let next = book::next_label(store, code)?;
    Ok(Answer {
        chosen: Some(Box::new(Chosen::of(account, next, session))),
        ..Answer::default()
    })
}
