//! The window without a display: found by what a screen reader says.

use std::time::Instant;

use eframe::egui::accesskit::Role;
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use tempfile::TempDir;

use super::model::{Act, Phase, Screen};
use super::settings::Look;
use super::shell::Window;
use super::words::Language;
use super::{model, staged};
use crate::live::Waker;

mod effort;
mod eight_weeks;
mod refused;
mod stalled;
mod states;
mod story;
mod upkeep;

/// Frames until something must have come.
const FRAMES_MAX: usize = 50_000;

struct Screened {
    harness: Harness<'static, Window>,
    folder: TempDir,
    /// Buttons that were pressed.
    presses: usize,
}

impl Screened {
    fn new() -> Self {
        // With the rim that the harness leaves, the window is 1280 by 720.
        Self::sized(1296.0, 736.0)
    }

    fn sized(width: f32, height: f32) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let mut window = Window::new(None, Waker::none(), folder.path().join("scratch"));
        window.model.settings.folder = folder.path().join("data");
        window.model.settings.look = Look::Light;
        window.model.settings.has_sound = false;
        let mut harness = Harness::builder()
            .with_size([width, height])
            .build_ui_state(
                |ui, window: &mut Window| {
                    if !window.is_still {
                        window.drain(Instant::now());
                    }
                    window.draw(ui);
                },
                window,
            );
        harness.run();
        Self {
            harness,
            folder,
            presses: 0,
        }
    }

    fn press(&mut self, label: &str) {
        self.presses += 1;
        self.harness
            .get_by_role_and_label(Role::Button, label)
            .click();
        self.harness.run_steps(4);
    }

    fn pick(&mut self, label: &str) {
        self.harness
            .get_by_role_and_label(Role::RadioButton, label)
            .click();
        self.harness.run_steps(4);
    }

    /// As a screen reader presses it, also where it has to be scrolled to.
    fn press_far(&mut self, label: &str) {
        self.harness
            .get_by_role_and_label(Role::RadioButton, label)
            .click_accesskit();
        self.harness.run_steps(4);
    }

    fn key(&mut self, key: eframe::egui::Key) {
        self.harness.key_press(key);
        self.harness.run_steps(4);
    }

    /// Tab after Tab until this has the focus.
    fn tab_to(&mut self, label: &str) {
        for _ in 0..60 {
            let node = self.harness.get_by_role_and_label(Role::Button, label);
            if node.accesskit_node().is_focused() {
                return;
            }
            self.key(eframe::egui::Key::Tab);
        }
        panic!("{label} isn't reached by Tab");
    }

    /// Another state, made without waiting.
    fn stage(&mut self, make: impl FnOnce(&mut model::Model)) {
        let scratch = self.folder.path().join("scratch");
        let window = self.harness.state_mut();
        let settings = window.model.settings.clone();
        window.model = model::Model::new(settings, scratch, Instant::now());
        make(&mut window.model);
        window.is_still = true;
        self.harness.run_steps(3);
    }

    fn write(&mut self, label: &str, text: &str) {
        self.harness
            .get_by_role_and_label(Role::TextInput, label)
            .focus();
        self.harness.run_steps(2);
        self.harness
            .get_by_role_and_label(Role::TextInput, label)
            .type_text(text);
        self.harness.run_steps(2);
    }

    fn says(&self, text: &str) -> bool {
        self.harness
            .query_all_by_label_contains(text)
            .next()
            .is_some()
    }

    fn wants(&self, text: &str) {
        assert!(
            self.says(text),
            "{text:?} isn't on the screen:\n{}",
            self.all()
        );
    }

    /// All that a screen reader could say.
    fn all(&self) -> String {
        let nodes = self.harness.root().children_recursive();
        let lines = nodes.filter_map(|n| {
            let node = n.accesskit_node();
            let text = node.label().or_else(|| node.value())?;
            Some(format!("{:?} {text}", node.role()))
        });
        lines.collect::<Vec<_>>().join("\n")
    }

    fn until(&mut self, what: &str, is_so: impl Fn(&Window) -> bool) {
        for _ in 0..FRAMES_MAX {
            self.harness.step();
            if is_so(self.harness.state()) {
                self.harness.run_steps(2);
                return;
            }
            std::thread::yield_now();
        }
        panic!("never came: {what}\n{}", self.all());
    }

    /// Up to the measuring screen, with these words for both shins.
    fn walk_to_measure(&mut self, text: &str) {
        self.press("Measure a client");
        self.write("Client's code", "c07");
        self.press("All answered No");
        self.wants("Nothing stands against a raise");
        self.press("Go on");
        let window = self.harness.state_mut();
        for placement in [sensor::Placement::ShinRight, sensor::Placement::ShinLeft] {
            window.act(Act::Sensors(super::model::SensorsAct::Use(placement, true)));
            window.act(Act::Sensors(super::model::SensorsAct::Text(
                placement,
                text.to_owned(),
            )));
        }
        self.harness.run_steps(2);
        self.press("Go on");
        self.press("Go on without");
        self.press("To the raises");
        assert_eq!(self.harness.state().model.screen, Screen::Measure);
    }
}

#[test]
fn a_client_is_measured_from_the_cautions_to_the_result() {
    let mut screen = Screened::new();
    screen.wants("How far does a straight leg rise?");
    screen.walk_to_measure("synthetic:compensating,seed=3,fast");
    for leg in ["right", "left"] {
        screen.wants(&format!("{leg} leg: client on the back"));
        screen.press("Start");
        screen.until("two raises", |w| {
            w.model
                .measure
                .course
                .rounds
                .iter()
                .filter(|r| !r.is_open)
                .count()
                >= 2
        });
        if leg == "right" {
            screen.wants("right 1: ");
        }
        screen.harness.key_press(eframe::egui::Key::N);
        screen.harness.step();
        screen.until("the figures", |w| {
            w.model.measure.phase == Phase::Ready && w.model.running.is_none()
        });
    }
    assert_eq!(screen.harness.state().model.screen, Screen::Result);
    screen.wants("This is what was measured.");
    for text in [
        "left leg",
        "right leg",
        "Mean of ",
        "Band ",
        "opposite leg",
        "It does not diagnose",
    ] {
        screen.wants(text);
    }
    let data = screen.folder.path().join("data/sub-c07/ses-01/motion");
    assert!(data.is_dir());
    let mean = screen
        .harness
        .state()
        .model
        .measure
        .result(sensor::Side::Right)
        .unwrap()
        .summary;
    screen.wants(&Language::English.degrees(mean.mean.degrees()));
    assert!(mean.count >= 2);
}
