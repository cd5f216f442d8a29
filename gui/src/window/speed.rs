//! How fast the window is, measured with the real one: `LEGRAISE_SPEED=` one of the words of [`wanted`].
//!
//! Only in builds with the feature `pictures`. What is measured is printed on standard error, by `tests/speed.sh`.

use std::io::Write as _;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use eframe::egui::{Ui, ViewportBuilder, ViewportCommand};
use rustix::time::{ClockId, clock_gettime};
use sensor::{Placement, Side};

use super::jobs::Heard;
use super::model::{Act, MeasureAct, Model, Phase, Screen, SensorsAct};
use super::settings::Look;
use super::shell::{Window, waker};
use super::staged;
use crate::live::{News, Waker};

/// A run is followed for so long.
const FOLLOWED: Duration = Duration::from_secs(30);
/// And then the window is left alone.
const IDLE: Duration = Duration::from_secs(10);
/// Before that, what has been set going comes to its end.
const CALM: Duration = Duration::from_secs(3);
/// The four sensors that are followed.
const PLACES: [Placement; 4] = [
    Placement::ShinRight,
    Placement::ShinLeft,
    Placement::ThighRight,
    Placement::Pelvis,
];

/// Median, 95 and 99 of 100, longest.
fn shares(mut taken_ms: Vec<f64>) -> String {
    taken_ms.sort_by(f64::total_cmp);
    let at = |share: usize| {
        let place = (taken_ms.len() * share / 100).min(taken_ms.len().saturating_sub(1));
        taken_ms.get(place).copied().unwrap_or(f64::NAN)
    };
    format!(
        "median {:.2} ms, 95 of 100 {:.2} ms, 99 of 100 {:.2} ms, longest {:.2} ms, of {}",
        at(50),
        at(95),
        at(99),
        at(100),
        taken_ms.len()
    )
}

/// How much the window's own work of a frame is, in processor time and without painting: an hour of curve behind, readings coming.
fn frames() -> String {
    use eframe::egui::{Context as Egui, RawInput, Rect, pos2, vec2};
    let mut window = Window::new(
        None,
        Waker::none(),
        std::env::temp_dir().join("legraise-frames"),
    );
    window.model.settings.look = Look::Dark;
    let model = &mut window.model;
    staged::at(model, Screen::Measure);
    let is_up = |m: &Model| {
        let leading = m.measure.course.leading.as_ref();
        leading.is_some_and(|r| r.angle.degrees() > 40.0)
    };
    staged::raise(model, Side::Right, is_up);
    let Some(mut reading) = model.measure.course.leading.clone() else {
        return "no reading".to_owned();
    };
    let mut next = |model: &mut Model, step_s: f64| {
        reading.t_s += step_s;
        reading.angle = fusion::Angle::from_degrees(40.0 + 20.0 * (reading.t_s * 0.7).sin());
        let news = News::Reading {
            reading: reading.clone(),
            arrived: Instant::now(),
        };
        model.hear(news, Instant::now());
    };
    for _ in 0..180_000 {
        next(&mut window.model, 0.02);
    }
    let ctx = Egui::default();
    let screen_rect = Some(Rect::from_min_size(pos2(0.0, 0.0), vec2(1280.0, 720.0)));
    let mut taken_ms: Vec<f64> = Vec::new();
    for frame in 0..600 {
        // Four sensors at 200 Hz: the two shins tell.
        for _ in 0..7 {
            next(&mut window.model, 1.0 / 400.0);
        }
        let input = RawInput {
            screen_rect,
            time: Some(f64::from(frame) / 60.0),
            ..RawInput::default()
        };
        let begun = worked_ms();
        window.model.now = Instant::now();
        let mut drawn = ctx.run_ui(input, |ui| window.draw(ui));
        drawn.textures_delta.clear(); // nobody paints
        let painted = ctx.tessellate(drawn.shapes, drawn.pixels_per_point);
        if 60 < frame && !painted.is_empty() {
            taken_ms.push(worked_ms() - begun);
        }
    }
    format!("frames: {}", shares(taken_ms))
}

/// Closes after the first frame, to see how long that takes.
struct First(Window);

impl eframe::App for First {
    fn ui(&mut self, ui: &mut Ui, _: &mut eframe::Frame) {
        self.0.draw(ui);
        ui.ctx().send_viewport_cmd(ViewportCommand::Close);
    }
}

/// A window with nothing in it, that closes after its first frame.
struct Empty;

impl eframe::App for Empty {
    fn ui(&mut self, ui: &mut Ui, _: &mut eframe::Frame) {
        ui.ctx().send_viewport_cmd(ViewportCommand::Close);
    }
}

/// A run of four sensors followed in the real window: from the arrival of each packet to the end of the painting of the
/// first frame that shows it, or a later one.
struct Followed {
    window: Window,
    scratch: PathBuf,
    begun: Instant,
    /// Arrivals that the next frame will show, and those of the frame that is being painted, with when it was begun.
    taken: Vec<Instant>,
    painting: Option<(Instant, Vec<Instant>)>,
    latencies_ms: Vec<f64>,
    frame_count: u32,
    /// Since when nothing is asked any more, and the time of the processor then.
    idle: Option<(Instant, Option<f64>)>,
}

impl Followed {
    fn new(mut window: Window, scratch: PathBuf) -> Self {
        let model = &mut window.model;
        model.settings.has_sound = false;
        staged::at(model, Screen::Measure);
        for placement in PLACES {
            let text = "synthetic:slow,seed=3,hz=200".to_owned();
            model.apply(Act::Sensors(SensorsAct::Use(placement, true)));
            model.apply(Act::Sensors(SensorsAct::Text(placement, text)));
        }
        window.act(Act::Raise(MeasureAct::Start));
        Self {
            window,
            scratch,
            begun: Instant::now(),
            taken: Vec::new(),
            painting: None,
            latencies_ms: Vec::new(),
            frame_count: 0,
            idle: None,
        }
    }

    /// The former frame has been painted: that took so long.
    fn painted(&mut self, frame: &eframe::Frame) {
        let Some((begun, arrivals)) = self.painting.take() else {
            return;
        };
        let Some(work_s) = frame.info().cpu_usage else {
            return;
        };
        let shown = begun + Duration::from_secs_f32(work_s);
        let since = |at: Instant| shown.saturating_duration_since(at).as_secs_f64() * 1e3;
        self.latencies_ms.extend(arrivals.into_iter().map(since));
    }

    /// What was found.
    fn told(&self) -> String {
        let seconds = self.begun.elapsed().min(FOLLOWED).as_secs_f64();
        let shown = shares(self.latencies_ms.clone());
        let rate = f64::from(self.frame_count) / seconds;
        format!("shown: {shown} packets; {rate:.1} frames a second")
    }
}

impl eframe::App for Followed {
    fn logic(&mut self, ctx: &eframe::egui::Context, _: &mut eframe::Frame) {
        let now = Instant::now();
        self.window.model.now = now;
        for heard in self.window.jobs.heard() {
            if let Heard::News(News::Reading { arrived, .. }) = &heard {
                self.taken.push(*arrived);
            }
            self.window.take(heard, now);
        }
        if let Some(fault) = &self.window.model.measure.fault {
            drop(writeln!(
                std::io::stderr(),
                "it could not be measured: {fault}"
            ));
            ctx.send_viewport_cmd(ViewportCommand::Close);
            return;
        }
        let is_over = FOLLOWED < self.begun.elapsed();
        if is_over && self.window.model.measure.phase == Phase::Running {
            drop(writeln!(std::io::stderr(), "{}", self.told()));
            self.window.act(Act::Raise(MeasureAct::Next));
        }
        let is_done = is_over && self.window.model.measure.phase == Phase::Ready;
        if !is_done {
            return;
        }
        match self.idle {
            None => {
                self.idle = Some((now, None));
                ctx.request_repaint_after(CALM);
            }
            Some((since, None)) if CALM < since.elapsed() => {
                self.idle = Some((now, processor_s()));
                ctx.request_repaint_after(IDLE + Duration::from_millis(50));
            }
            Some((since, Some(before_s))) if IDLE < since.elapsed() => {
                let used_s = processor_s().map_or(f64::NAN, |now_s| now_s - before_s);
                drop(writeln!(
                    std::io::stderr(),
                    "idle: {:.0} ms of processor time in {:.1} s",
                    used_s * 1e3,
                    since.elapsed().as_secs_f64()
                ));
                ctx.send_viewport_cmd(ViewportCommand::Close);
                self.idle = Some((now, None));
            }
            Some(_) => {}
        }
    }

    fn ui(&mut self, ui: &mut Ui, frame: &mut eframe::Frame) {
        self.painted(frame);
        let begun = Instant::now();
        self.window.draw(ui);
        if self.window.model.measure.phase == Phase::Running {
            self.frame_count += 1;
            self.painting = Some((begun, std::mem::take(&mut self.taken)));
        }
    }
}

impl Drop for Followed {
    fn drop(&mut self) {
        drop(std::fs::remove_dir_all(&self.scratch)); // a folder for temporary files
    }
}

/// Processor time of this thread so far, ms: what else the machine does has no part in it.
fn worked_ms() -> f64 {
    let worked = clock_gettime(ClockId::ThreadCPUTime);
    worked.tv_sec as f64 * 1e3 + worked.tv_nsec as f64 / 1e6
}

/// Processor time of this process so far, s: user and system, as Linux tells it in hundredths.
fn processor_s() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/self/stat").ok()?;
    let after_name = text.rsplit_once(')')?.1;
    let mut fields = after_name.split_whitespace().skip(11);
    let user: f64 = fields.next()?.parse().ok()?;
    let system: f64 = fields.next()?.parse().ok()?;
    Some((user + system) / 100.0)
}

/// Where a measurement is wanted, makes it instead of opening the window: `frames` (an hour of curve), `empty` and
/// `first` (a window with nothing in it, and ours, closed after one frame), `followed` (four sensors).
pub(super) fn wanted() -> Option<Result<(), eframe::Error>> {
    let what = std::env::var("LEGRAISE_SPEED").ok()?;
    let options = eframe::NativeOptions {
        viewport: ViewportBuilder::default().with_inner_size([1280.0, 720.0]),
        persist_window: false,
        ..Default::default()
    };
    let scratch = std::env::temp_dir().join(format!("legraise-speed-{}", std::process::id()));
    match what.as_str() {
        "frames" => {
            drop(writeln!(std::io::stderr(), "{}", frames()));
            Some(Ok(()))
        }
        "empty" => Some(eframe::run_native(
            "x",
            options,
            Box::new(|_| Ok(Box::new(Empty))),
        )),
        "first" => {
            let made = |creation: &eframe::CreationContext<'_>| {
                let path = super::settings::usual_path();
                let window = Window::new(path, waker(&creation.egui_ctx), scratch);
                Ok(Box::new(First(window)) as Box<dyn eframe::App>)
            };
            Some(eframe::run_native("x", options, Box::new(made)))
        }
        "followed" => {
            let made = |creation: &eframe::CreationContext<'_>| {
                let window = Window::new(None, waker(&creation.egui_ctx), scratch.clone());
                Ok(Box::new(Followed::new(window, scratch)) as Box<dyn eframe::App>)
            };
            Some(eframe::run_native("x", options, Box::new(made)))
        }
        _ => None,
    }
}
