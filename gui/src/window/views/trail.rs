//! The steps of a measurement along the top: a line that lies there, with a knot for each step.

use eframe::egui::accesskit::Role;
use eframe::egui::{Align2, Button, Layout, Rect, RichText, Sense, Stroke, Ui, WidgetInfo, vec2};

use super::parts;
use crate::window::model::{Act, Model, Screen};
use crate::window::theme::{self, Palette};
use crate::window::words::{Desk, Flow, Language};

/// Narrower than this the steps are told in a word.
const ROOM: f32 = 940.0;

/// Steps, and the ways to recordings and settings.
pub(super) fn trail(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let language = model.settings.language;
    let mut acts = Vec::new();
    ui.horizontal(|ui| {
        let title = RichText::new(language.say(Flow::Title)).size(21.0);
        let home = ui.add(
            Button::new(title)
                .frame(false)
                .min_size(vec2(theme::TOUCH, theme::TOUCH)),
        );
        if parts::named(home, Role::Button, language.say(Flow::Home), true).clicked() {
            acts.push(Act::Go(Screen::Start));
        }
        let is_flow = Screen::STEPS.contains(&model.screen) || model.screen == Screen::Stopped;
        if is_flow && ROOM < ui.available_width() {
            ui.add_space(theme::SPACE);
            acts.extend(steps(ui, model));
        } else if is_flow {
            let number = Screen::STEPS
                .iter()
                .position(|s| *s == model.screen)
                .unwrap_or(0)
                + 1;
            let name = language.say(word(Screen::STEPS[number - 1]));
            parts::soft(ui, &format!("{number}/{} {name}", Screen::STEPS.len()));
        }
        ui.with_layout(Layout::right_to_left(eframe::egui::Align::Center), |ui| {
            let book = if model.book.is_open {
                Screen::Clients
            } else {
                Screen::Book
            };
            for (text, screen) in [
                (language.say(Flow::Settings), Screen::Settings),
                (language.say(Flow::Recordings), Screen::Browse),
                (language.say(Desk::Book), book),
            ] {
                ui.add_space(theme::GAP);
                let button = Button::new(text).min_size(vec2(theme::TOUCH, theme::TOUCH));
                if ui.add(button.frame(false)).clicked() {
                    acts.push(Act::Go(screen));
                }
            }
        });
    });
    acts
}

const fn word(screen: Screen) -> Flow {
    match screen {
        Screen::Sensors => Flow::StepSensors,
        Screen::Flat => Flow::StepFlat,
        Screen::Manner => Flow::StepManner,
        Screen::Measure => Flow::StepMeasure,
        Screen::Result => Flow::StepResult,
        _ => Flow::StepCautions,
    }
}

fn steps(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let mut acts = Vec::new();
    ui.spacing_mut().item_spacing.x = 0.0;
    let now = if model.screen == Screen::Stopped {
        Screen::Cautions
    } else {
        model.screen
    };
    for (place, screen) in Screen::STEPS.into_iter().enumerate() {
        let is_reached = screen <= model.reached && model.may_go(screen);
        if step(ui, model.settings.language, place, screen, now, is_reached) {
            acts.push(Act::Go(screen));
        }
    }
    ui.spacing_mut().item_spacing.x = theme::GAP;
    acts
}

/// A knot on the line with its name under it. It can be gone back to.
fn step(
    ui: &mut Ui,
    language: Language,
    place: usize,
    screen: Screen,
    now: Screen,
    is_reached: bool,
) -> bool {
    let colours = Palette::of(ui);
    let name = language.say(word(screen));
    let sense = if is_reached && screen != now {
        Sense::click()
    } else {
        Sense::hover()
    };
    let (rect, response) = ui.allocate_exact_size(vec2(112.0, theme::TOUCH + 4.0), sense);
    let knot = rect.center_top() + vec2(0.0, 13.0);
    let is_now = screen == now;
    let ink = if is_reached {
        colours.ink
    } else {
        colours.soft
    };
    draw_knot(ui, rect, place, is_now, is_reached);
    let below = knot + vec2(0.0, 14.0);
    let painter = ui.painter();
    painter.text(
        below,
        Align2::CENTER_TOP,
        name,
        theme::text(theme::SMALL),
        ink,
    );
    if response.has_focus() {
        let ring = Stroke::new(3.0, colours.accent);
        painter.rect_stroke(rect, theme::ROUND, ring, eframe::egui::StrokeKind::Inside);
    }
    let told = match (is_now, is_reached) {
        (true, _) => Flow::StepNow,
        (_, true) => Flow::StepDone,
        _ => Flow::StepLater,
    };
    let label = language.fill(told, &[name]);
    let is_open = is_reached && !is_now;
    response.widget_info(|| WidgetInfo::labeled(Role::Button, is_open, &label));
    response.clicked()
}

/// The knot, and the line to its neighbours.
fn draw_knot(ui: &Ui, rect: Rect, place: usize, is_now: bool, is_reached: bool) {
    let colours = Palette::of(ui);
    let down = vec2(0.0, 13.0);
    let knot = rect.center_top() + down;
    let painter = ui.painter();
    let line = Stroke::new(2.0, colours.body);
    if 0 < place {
        painter.line_segment([rect.left_top() + down, knot - vec2(11.0, 0.0)], line);
    }
    if place + 1 < Screen::STEPS.len() {
        painter.line_segment([knot + vec2(11.0, 0.0), rect.right_top() + down], line);
    }
    if is_now {
        painter.circle_filled(knot, 11.0, colours.accent);
    } else {
        let ring = if is_reached {
            colours.accent
        } else {
            colours.body
        };
        painter.circle(knot, 10.0, colours.card, Stroke::new(2.0, ring));
    }
    if is_reached && !is_now {
        parts::tick(ui, knot, colours.ink);
        return;
    }
    let ink = match (is_now, is_reached) {
        (true, _) => colours.on_accent,
        (_, true) => colours.ink,
        _ => colours.soft,
    };
    let sign = (place + 1).to_string();
    painter.text(knot, Align2::CENTER_CENTER, sign, theme::text(14.0), ink);
}
