//! The pictures of the user guide: the real window, shown in one state after the other and saved.
//!
//! `LEGRAISE_PICTURES=DIR` says where to, `LEGRAISE_PICTURES_LOOK=dark` in which colours, `LEGRAISE_PICTURES_SIZE=WxH`
//! how large. Only in builds with the feature `pictures`, which are not given to anybody.

use std::fmt::Write as _;
use std::fs;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::{Duration, Instant};

use eframe::egui::{ColorImage, Ui, ViewportBuilder, ViewportCommand};
use sensor::Side;

use super::model::{Act, BrowseAct, Chore, Look as Found, Matter, Model, Screen};
use super::settings::{Look, Settings};
use super::shell::{Window, waker};
use super::staged;
use super::words::Language;

/// A state that is shown.
type Stage = (&'static str, fn(&mut Model));

/// Frames before a picture is taken: sizes settle.
const FRAMES: usize = 4;

const STAGES: [Stage; 29] = [
    ("start", |_| {}),
    ("cautions", |model| {
        model.apply(Act::Measure);
        model.apply(Act::Client("c07".to_owned()));
        for place in 0..7 {
            model.apply(Act::Answer(place, false));
        }
        model.apply(Act::Answer(7, true));
    }),
    ("stopped", |model| {
        model.apply(Act::Measure);
        model.apply(Act::Answer(0, true));
        model.apply(Act::Go(Screen::Stopped));
    }),
    ("sensors", |model| staged::at(model, Screen::Sensors)),
    ("sensors-check", |model| {
        staged::at(model, Screen::Sensors);
        staged::checking(model);
    }),
    ("table", |model| {
        staged::at(model, Screen::Flat);
        staged::level(model);
    }),
    ("agree", |model| staged::at(model, Screen::Manner)),
    ("ready", |model| staged::at(model, Screen::Measure)),
    ("rising", |model| {
        staged::at(model, Screen::Measure);
        let is_up = |m: &Model| {
            m.measure
                .course
                .leading
                .as_ref()
                .is_some_and(|r| r.angle.degrees() > 38.0)
        };
        staged::raise(model, Side::Right, is_up);
    }),
    ("end-point", |model| {
        staged::at(model, Screen::Measure);
        let is_ended = |m: &Model| {
            m.measure.course.end().is_some()
                && m.measure.course.open_round().is_some_and(|r| r.number == 2)
        };
        staged::raise(model, Side::Right, is_ended);
    }),
    ("lost", |model| {
        staged::at(model, Screen::Measure);
        let is_up = |m: &Model| {
            m.measure
                .course
                .leading
                .as_ref()
                .is_some_and(|r| r.angle.degrees() > 52.0)
        };
        staged::raise(model, Side::Right, is_up);
        model.now += Duration::from_millis(1400);
    }),
    ("leave-out", |model| {
        staged::at(model, Screen::Measure);
        staged::raise(model, Side::Right, |m| m.measure.course.rounds.len() == 3);
        model.apply(Act::Raise(super::model::MeasureAct::Out(
            0,
            Some(super::model::Why::Practice),
        )));
        model.apply(Act::Raise(super::model::MeasureAct::Ask(Some(1))));
    }),
    ("result", result),
    ("german", |model| {
        result(model);
        let settings = Settings {
            language: Language::German,
            ..model.settings.clone()
        };
        model.apply(Act::Set(Box::new(settings)));
    }),
    ("large-text", |model| {
        staged::at(model, Screen::Measure);
        let is_up = |m: &Model| {
            m.measure
                .course
                .leading
                .as_ref()
                .is_some_and(|r| r.angle.degrees() > 38.0)
        };
        staged::raise(model, Side::Right, is_up);
        let settings = Settings {
            text_percent: 200,
            ..model.settings.clone()
        };
        model.apply(Act::Set(Box::new(settings)));
    }),
    ("settings", |model| {
        drop(model.apply(Act::Go(Screen::Settings)));
    }),
    ("casebook", |model| {
        model.book.is_new = true;
        drop(model.apply(Act::Go(Screen::Book)));
    }),
    ("clients", |model| staged::booked(model, Screen::Clients)),
    ("drill", |model| staged::booked(model, Screen::Drill)),
    ("pacer", |model| staged::booked(model, Screen::Pacer)),
    ("recheck", |model| staged::booked(model, Screen::Recheck)),
    ("course", |model| staged::booked(model, Screen::Weeks)),
    ("report", |model| staged::booked(model, Screen::Report)),
    ("changes", |model| staged::affairs(model, Matter::History)),
    ("forget", |model| staged::affairs(model, Matter::Forget)),
    ("backup", |model| staged::shelf(model, Chore::BackUp)),
    ("rules", |model| staged::shelf(model, Chore::Rules)),
    ("no-recordings", |_| {}),
    ("recordings", |_| {}),
];

fn result(model: &mut Model) {
    staged::at(model, Screen::Measure);
    staged::measured(model, Side::Right);
    staged::measured(model, Side::Left);
    model.apply(Act::Go(Screen::Result));
}

/// Shows one state after the other.
struct Pictures {
    window: Window,
    folder: PathBuf,
    name: String,
    place: usize,
    frame: usize,
    is_asked: bool,
}

impl Pictures {
    fn stage(&mut self) {
        let mut settings = Settings {
            language: Language::English,
            text_percent: 100,
            ..self.window.model.settings.clone()
        };
        let (name, make) = STAGES[self.place];
        if name == "no-recordings" {
            settings.folder = self.folder.join("empty");
        }
        if name == "recordings" {
            settings.folder = self.folder.join("data");
        }
        self.window.model = Model::new(settings, self.folder.join("scratch"), Instant::now());
        make(&mut self.window.model);
        if name == "no-recordings" {
            self.window.act(Act::Go(Screen::Browse));
        } else if name == "recordings" {
            self.window.act(Act::Go(Screen::Browse));
            self.window.act(Act::Browse(BrowseAct::Invent));
        }
        self.frame = 0;
        self.is_asked = false;
    }

    /// Whether all that is read from disk is there.
    fn is_there(&self) -> bool {
        let browse = &self.window.model.browse;
        match (STAGES[self.place].0, &browse.look) {
            ("no-recordings", Found::Found(_)) => true,
            ("recordings", Found::Found(runs)) => !runs.is_empty() && browse.recording.is_some(),
            ("no-recordings" | "recordings", _) => false,
            _ => true,
        }
    }
}

impl eframe::App for Pictures {
    fn ui(&mut self, ui: &mut Ui, _: &mut eframe::Frame) {
        if matches!(self.window.model.screen, Screen::Browse) {
            self.window.drain(Instant::now());
        }
        self.window.draw(ui);
        let ctx = ui.ctx().clone();
        ctx.request_repaint();
        self.frame += 1;
        if self.frame < FRAMES || !self.is_there() {
            return;
        }
        let path = self
            .folder
            .join(format!("window-{}-{}.ppm", STAGES[self.place].0, self.name));
        if !self.is_asked {
            self.is_asked = true;
            let again = ctx.clone();
            ctx.request_screenshot(move |image: Arc<ColorImage>| {
                drop(save(&path, &image)); // the script misses it
                again.request_repaint();
            });
        } else if path.exists() {
            self.place += 1;
            if self.place == STAGES.len() {
                ctx.send_viewport_cmd(ViewportCommand::Close);
                self.place = 0;
            } else {
                self.stage();
            }
        }
    }
}

/// Writes a picture in the plainest form there is.
fn save(path: &std::path::Path, image: &ColorImage) -> std::io::Result<()> {
    let mut head = String::new();
    writeln!(head, "P6 {} {} 255", image.size[0], image.size[1]).map_err(std::io::Error::other)?;
    let mut bytes = head.into_bytes();
    bytes.extend(image.pixels.iter().flat_map(|p| [p.r(), p.g(), p.b()]));
    let beside = path.with_extension("part");
    fs::write(&beside, bytes)?;
    fs::rename(beside, path)
}

/// Where pictures are wanted, takes them instead of opening the window.
pub(super) fn wanted() -> Option<Result<(), eframe::Error>> {
    let folder = PathBuf::from(std::env::var_os("LEGRAISE_PICTURES")?);
    let look = if std::env::var("LEGRAISE_PICTURES_LOOK").is_ok_and(|l| l == "dark") {
        Look::Dark
    } else {
        Look::Light
    };
    let size = std::env::var("LEGRAISE_PICTURES_SIZE").unwrap_or_else(|_| "1280x720".to_owned());
    let (width, height) = size
        .split_once('x')
        .and_then(|(w, h)| Some((w.parse().ok()?, h.parse().ok()?)))?;
    let viewport = ViewportBuilder::default()
        .with_inner_size([width, height])
        .with_decorations(false);
    let options = eframe::NativeOptions {
        viewport,
        persist_window: false,
        ..Default::default()
    };
    let name = format!(
        "{}-{size}",
        if look == Look::Dark { "dark" } else { "light" }
    );
    let made = move |creation: &eframe::CreationContext<'_>| {
        let mut window = Window::new(None, waker(&creation.egui_ctx), folder.join("scratch"));
        window.model.settings.look = look;
        let mut pictures = Pictures {
            window,
            folder,
            name,
            place: 0,
            frame: 0,
            is_asked: false,
        };
        pictures.stage();
        Ok(Box::new(pictures) as Box<dyn eframe::App>)
    };
    Some(eframe::run_native("legraise", options, Box::new(made)))
}
