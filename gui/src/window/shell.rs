//! The window on a real screen: opened, drawn when something has come, closed; or why it can't be.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use eframe::egui::{Context, Ui, ViewportBuilder};

use super::jobs::{Heard, Jobs};
use super::model::{Act, BookAct, Cue, Effect, Model, Pace, Secret};
use super::scratch::Scratch;
use super::settings::{self, Settings};
use super::sound::Sound;
use super::words::Flow;
use super::{keys, theme, views};
use crate::args::BookFile;
use crate::contain::contained;
use crate::error::{CommandError, Exit};
use crate::live::Waker;

/// Between two drawings: 60 a second.
const FRAME: Duration = Duration::from_micros(16_667);

/// Between two drawings while a drill is paced.
const BEAT: Duration = Duration::from_millis(50);

/// What is seen and what is being done.
pub(super) struct Window {
    pub(super) model: Model,
    pub(super) jobs: Jobs,
    sound: Option<Sound>,
    /// Where settings are kept.
    path: Option<PathBuf>,
    /// Those that are in force.
    dressed: Option<Settings>,
    /// Time that a test has let pass.
    #[cfg(test)]
    pub(super) ahead: Duration,
    /// A staged state: its time stands still.
    #[cfg(test)]
    pub(super) is_still: bool,
}

impl Window {
    /// With the settings of this file.
    pub(super) fn new(path: Option<PathBuf>, waker: Waker, scratch: PathBuf) -> Self {
        let (settings, told) = path
            .as_deref()
            .map_or_else(Default::default, Settings::read);
        let language = settings.language;
        let mut model = Model::new(settings, scratch, Instant::now());
        if let Some(text) = told {
            model.tell(language.fill(Flow::SetDamaged, &[&text]));
        }
        Self {
            model,
            jobs: Jobs::new(waker),
            sound: None,
            path,
            dressed: None,
            #[cfg(test)]
            ahead: Duration::ZERO,
            #[cfg(test)]
            is_still: false,
        }
    }

    /// The casebook as the commands find it: as said, by the environment, or the usual one. With a passphrase in the
    /// environment it is opened at once.
    pub(super) fn find_book(&mut self, said: Option<&Path>) {
        let file = BookFile {
            book: said
                .map(PathBuf::from)
                .or_else(|| std::env::var_os("LEGRAISE_BOOK").map(PathBuf::from)),
            passphrase_file: None,
        };
        match crate::book::path(&file) {
            Ok(path) => self.model.book.path = path,
            Err(e) => self.model.tell(e.to_string()),
        }
        let is_there = self.model.book.path.exists();
        self.model.book.is_new = !is_there;
        if let Ok(phrase) = std::env::var("LEGRAISE_PASSPHRASE")
            && is_there
        {
            self.act(Act::Book(BookAct::Phrase(Secret(phrase))));
            self.act(Act::Book(BookAct::Open));
        }
    }

    /// Takes what has come in.
    pub(super) fn drain(&mut self, now: Instant) {
        self.model.now = now;
        self.model.civil = self.model.wall.now();
        #[cfg(test)]
        {
            self.model.now += self.ahead;
        }
        let now = self.model.now;
        let heard = self.model.tick();
        self.run(heard);
        for heard in self.jobs.heard() {
            self.take(heard, now);
        }
        if let Some(fault) = self.sound.as_ref().and_then(Sound::fault) {
            let language = self.model.settings.language;
            self.model.tell(language.fill(Flow::NoSound, &[&fault]));
        }
    }

    /// Takes one of them.
    pub(super) fn take(&mut self, heard: Heard, now: Instant) {
        let effects = match heard {
            Heard::News(news) => self.model.hear(news, now),
            Heard::Done(done) => self.model.done(*done),
        };
        self.run(effects);
    }

    /// Does what is wanted.
    pub(super) fn act(&mut self, act: Act) {
        let effects = self.model.apply(act);
        self.run(effects);
    }

    fn run(&mut self, effects: Vec<Effect>) {
        for effect in effects {
            let done = match effect {
                Effect::Keep => {
                    self.keep();
                    Ok(())
                }
                Effect::Sound(cue) => self.sound(cue),
                effect => self.jobs.run(effect),
            };
            if let Err(text) = done {
                self.model.tell(text);
            }
        }
    }

    /// The first sound looks for a player.
    fn sound(&mut self, cue: Cue) -> Result<(), String> {
        if self.sound.is_none() {
            let sound = Sound::new(Sound::usual_folders());
            self.sound = Some(sound.map_err(|e| CommandError::Thread(e).to_string())?);
        }
        if let Some(sound) = &self.sound {
            sound.play(cue);
        }
        Ok(())
    }

    fn keep(&mut self) {
        let Some(path) = &self.path else {
            return;
        };
        if let Err(e) = self.model.settings.write(path) {
            let language = self.model.settings.language;
            self.model
                .tell(language.fill(Flow::SetUnsaved, &[&e.to_string()]));
        }
    }

    /// Draws everything, and does what the person wants.
    pub(super) fn draw(&mut self, ui: &mut Ui) {
        if self.dressed.as_ref() != Some(&self.model.settings) {
            theme::apply(ui.ctx(), &self.model.settings);
            self.dressed = Some(self.model.settings.clone());
        }
        theme::scale(ui.ctx(), &self.model.settings);
        let mut acts = keys::keys(ui, &self.model);
        acts.extend(views::window(ui, &self.model));
        let has_acts = !acts.is_empty();
        for act in acts {
            self.act(act);
        }
        if has_acts {
            ui.ctx().request_repaint(); // what came of it is drawn at once
        }
        if self.model.pace.as_ref().is_some_and(Pace::is_running) {
            ui.ctx().request_repaint_after(BEAT);
        }
    }
}

impl eframe::App for Window {
    fn logic(&mut self, _: &Context, _: &mut eframe::Frame) {
        self.drain(Instant::now());
    }

    fn ui(&mut self, ui: &mut Ui, _: &mut eframe::Frame) {
        self.draw(ui);
    }
}

/// Wakes the window, at most 60 times a second.
pub(super) fn waker(ctx: &Context) -> Waker {
    let ctx = ctx.clone();
    Waker::new(move || ctx.request_repaint_after(FRAME))
}

/// Opens the window and comes back when it is closed. Where it can't be opened, says why and what to do.
pub(crate) fn open(book: Option<&Path>, err: &mut dyn Write) -> Exit {
    let why = match contained(|| show(book)) {
        Ok(Ok(())) => return Exit::Done,
        Ok(Err(eframe::Error::WinitEventLoop(_))) if may_fall_back() => match without_wayland() {
            Ok(exit) => return exit,
            Err(e) => {
                format!("the display named by WAYLAND_DISPLAY doesn't answer ({e}); unset it")
            }
        },
        Ok(Err(e)) => why(&e),
        // The only library whose lack isn't told as an error.
        Err(place) if place.contains("xkbcommon") => {
            "the keyboard library can't be loaded; install libxkbcommon0 and libxkbcommon-x11-0"
                .to_owned()
        }
        Err(place) => {
            format!("the window broke off at a fault of the program ({place}); please report it")
        }
    };
    crate::commands::no_window(err, &why)
}

/// Whether the one display that was tried may be the wrong one of two.
fn may_fall_back() -> bool {
    is_set("WAYLAND_DISPLAY") && is_set("DISPLAY")
}

/// Starts the program again without the display that doesn't answer: a window can't be opened twice in one process.
fn without_wayland() -> std::io::Result<Exit> {
    let mut again = std::process::Command::new(std::env::current_exe()?);
    let ended = again
        .env_remove("WAYLAND_DISPLAY")
        .env_remove("WAYLAND_SOCKET")
        .status()?;
    Ok(match ended.code() {
        Some(0) => Exit::Done,
        Some(2) => Exit::Usage,
        _ => Exit::Incomplete,
    })
}

fn is_set(name: &str) -> bool {
    std::env::var_os(name).is_some_and(|value| !value.is_empty())
}

fn show(book: Option<&Path>) -> Result<(), eframe::Error> {
    #[cfg(feature = "pictures")]
    if let Some(done) = super::pictures::wanted().or_else(super::speed::wanted) {
        return done;
    }
    let scratch = Scratch::new();
    let folder = scratch.folder();
    let viewport = ViewportBuilder::default()
        .with_title("legraise")
        .with_app_id("legraise")
        .with_inner_size([1280.0, 720.0])
        .with_min_inner_size([800.0, 560.0]);
    let options = eframe::NativeOptions {
        viewport,
        persist_window: false,
        ..Default::default()
    };
    let made = |creation: &eframe::CreationContext<'_>| {
        let mut window = Window::new(settings::usual_path(), waker(&creation.egui_ctx), folder);
        window.find_book(book);
        Ok(Box::new(window) as Box<dyn eframe::App>)
    };
    let shown = eframe::run_native("legraise", options, Box::new(made));
    drop(scratch); // after the last run has been written
    shown
}

/// What is missing, and the mend.
fn why(e: &eframe::Error) -> String {
    match e {
        eframe::Error::WinitEventLoop(e) => {
            // What the system said, without the place in the library that said it.
            let text = e.to_string();
            let text = text.rsplit(": ").next().unwrap_or(&text);
            if !is_set("DISPLAY") && !is_set("WAYLAND_DISPLAY") && !is_set("WAYLAND_SOCKET") {
                "no display; start it from a desktop, or with `ssh -X`".to_owned()
            } else if text.contains("LibraryOpen") || text.contains("ibrary") {
                format!(
                    "a library of the display can't be loaded ({text}); install libx11-6, libx11-xcb1, libxcursor1 and libxi6"
                )
            } else {
                format!(
                    "the display doesn't answer ({text}); check DISPLAY, or start it from a desktop"
                )
            }
        }
        eframe::Error::Glutin(_)
        | eframe::Error::NoGlutinConfigs(..)
        | eframe::Error::OpenGL(_) => {
            "no OpenGL that can be used; install libgl1, libegl1 and libgl1-mesa-dri".to_owned()
        }
        other => format!("the window can't be opened ({other}); use the commands"),
    }
}
