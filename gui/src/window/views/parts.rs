//! The pieces of which all screens are made.

use eframe::egui::accesskit::Role;
use eframe::egui::{
    Align, Align2, Button, Color32, Frame, Label, Layout, Margin, Pos2, Response, RichText, Sense,
    Shape, Stroke, TextEdit, Ui, Vec2, WidgetInfo, vec2,
};

use super::measure::NARROW;
use crate::window::theme::{self, Palette};

/// The sentence that says what to do now.
pub(super) fn now(ui: &mut Ui, text: &str) -> Response {
    let response = ui.add(Label::new(RichText::new(text).size(theme::LEAD)).wrap());
    ui.add_space(theme::GAP);
    response
}

/// Text that explains.
pub(super) fn soft(ui: &mut Ui, text: &str) -> Response {
    let colour = Palette::of(ui).soft;
    ui.add(Label::new(RichText::new(text).color(colour)).wrap())
}

/// A line under everything.
pub(super) fn small(ui: &mut Ui, text: &str) -> Response {
    let colour = Palette::of(ui).soft;
    ui.add(Label::new(RichText::new(text).size(13.0).color(colour)).wrap())
}

/// The title of a card.
pub(super) fn title(ui: &mut Ui, text: &str) -> Response {
    ui.add(Label::new(RichText::new(text).size(21.0)).wrap())
}

/// A sheet on which things that belong together lie.
pub(super) fn card<R>(ui: &mut Ui, add: impl FnOnce(&mut Ui) -> R) -> R {
    let colours = Palette::of(ui);
    let frame = Frame::new()
        .fill(colours.card)
        .stroke(Stroke::new(1.0, colours.line))
        .corner_radius(theme::ROUND)
        .inner_margin(Margin::symmetric(16, 12));
    frame.show(ui, add).inner
}

/// What is pressed next.
pub(super) fn primary(text: &str) -> Primary<'_> {
    Primary {
        text,
        key: None,
        is_alarm: false,
        size: vec2(180.0, 52.0),
    }
}

/// A filled button.
pub(super) struct Primary<'a> {
    text: &'a str,
    key: Option<&'a str>,
    is_alarm: bool,
    size: Vec2,
}

impl<'a> Primary<'a> {
    /// With the key that does the same.
    pub(super) const fn with_key(mut self, key: &'a str) -> Self {
        self.key = Some(key);
        self
    }

    /// Of this size.
    pub(super) const fn sized(mut self, size: Vec2) -> Self {
        self.size = size;
        self
    }

    /// What stops something.
    pub(super) const fn alarm(mut self) -> Self {
        self.is_alarm = true;
        self
    }
}

impl eframe::egui::Widget for Primary<'_> {
    fn ui(self, ui: &mut Ui) -> Response {
        let colours = Palette::of(ui);
        let (fill, ink) = if self.is_alarm {
            (colours.alarm, colours.on_alarm)
        } else {
            (colours.accent, colours.on_accent)
        };
        let is_enabled = ui.is_enabled();
        let (fill, ink) = if is_enabled {
            (fill, ink)
        } else {
            (colours.line, colours.soft)
        };
        let is_narrow = self.size.x < NARROW;
        let text = RichText::new(self.text)
            .size(if is_narrow { 16.0 } else { 20.0 })
            .color(ink);
        let button = Button::new(text).fill(fill).min_size(self.size);
        let response = match self.key.filter(|_| !is_narrow) {
            Some(key) => {
                ui.add(button.right_text(RichText::new(key).size(theme::SMALL).color(ink)))
            }
            None => ui.add_sized(self.size, button),
        };
        named(response, Role::Button, self.text, is_enabled)
    }
}

/// A button that isn't the next thing to press.
pub(super) fn plain(ui: &mut Ui, text: &str) -> Response {
    ui.add(Button::new(text).min_size(vec2(theme::TOUCH, theme::TOUCH)))
}

/// The way back, as high as the way on.
pub(super) fn back(ui: &mut Ui, text: &str) -> Response {
    ui.add(Button::new(RichText::new(text).size(20.0)).min_size(vec2(120.0, 52.0)))
}

/// One with the key that does the same.
pub(super) fn with_key(ui: &mut Ui, text: &str, key: &str, size: Vec2, is_open: bool) -> Response {
    let colour = Palette::of(ui).soft;
    let is_narrow = size.x < NARROW;
    let text_size = if is_narrow { 16.0 } else { 20.0 };
    let mut button = Button::new(RichText::new(text).size(text_size)).min_size(size);
    if !is_narrow && !key.is_empty() {
        button = button.right_text(RichText::new(key).size(theme::SMALL).color(colour));
    }
    let response = ui
        .add_enabled_ui(is_open, |ui| ui.add_sized(size, button))
        .inner;
    named(response, Role::Button, text, is_open)
}

/// Gives what is drawn the name that a screen reader says.
pub(super) fn named(response: Response, role: Role, name: &str, is_enabled: bool) -> Response {
    response.widget_info(|| WidgetInfo::labeled(role, is_enabled, name));
    response
}

/// One of several; what is chosen is filled and ticked, so that it doesn't depend on colour.
pub(super) fn pick(ui: &mut Ui, text: &str, name: &str, is_chosen: bool) -> bool {
    let colours = Palette::of(ui);
    // The tick is painted: the face of text has none.
    let shown = if is_chosen {
        format!("      {text}")
    } else {
        text.to_owned()
    };
    let ink = if is_chosen {
        colours.on_accent
    } else {
        colours.ink
    };
    let fill = if is_chosen {
        colours.accent
    } else {
        colours.card
    };
    let button = Button::new(RichText::new(shown).color(ink))
        .fill(fill)
        .min_size(vec2(theme::TOUCH * 2.0, theme::TOUCH));
    let response = ui.add(button);
    if is_chosen {
        let at = response.rect.left_center() + vec2(24.0, 0.0);
        tick(ui, at, colours.on_accent);
    }
    response.widget_info(|| WidgetInfo::selected(Role::RadioButton, true, is_chosen, name));
    response.clicked()
}

/// One of many small ones, such as numbers; what is chosen is filled and underlined.
pub(super) fn pick_small(ui: &mut Ui, text: &str, name: &str, is_chosen: bool) -> bool {
    let colours = Palette::of(ui);
    let (fill, ink) = if is_chosen {
        (colours.accent, colours.on_accent)
    } else {
        (colours.card, colours.ink)
    };
    let mut shown = RichText::new(text).color(ink);
    if is_chosen {
        shown = shown.underline();
    }
    let size = vec2(theme::TOUCH - 6.0, theme::TOUCH);
    let response = ui.add(Button::new(shown).fill(fill).min_size(size));
    response.widget_info(|| WidgetInfo::selected(Role::RadioButton, true, is_chosen, name));
    response.clicked()
}

/// A tick.
pub(super) fn tick(ui: &Ui, at: Pos2, ink: Color32) {
    let points = [vec2(-6.0, 0.0), vec2(-2.0, 5.0), vec2(6.0, -5.0)].map(|off| at + off);
    ui.painter()
        .add(Shape::line(points.to_vec(), Stroke::new(2.5, ink)));
}

/// A tick or an exclamation mark before a line of text: well or not is never told by colour alone.
pub(super) fn sign(ui: &mut Ui, is_well: bool) {
    let colours = Palette::of(ui);
    let (rect, _) = ui.allocate_exact_size(vec2(20.0, 24.0), Sense::hover());
    if is_well {
        tick(ui, rect.center(), colours.well);
    } else {
        let ink = colours.alarm;
        ui.painter().text(
            rect.center(),
            Align2::CENTER_CENTER,
            "!",
            theme::text(22.0),
            ink,
        );
    }
}

/// A question with its answers in a row. Gives what was chosen anew.
pub(super) fn choice<T: Copy + PartialEq>(
    ui: &mut Ui,
    question: &str,
    answers: &[(T, &str)],
    chosen: T,
) -> Option<T> {
    soft(ui, question);
    let mut picked = None;
    ui.horizontal_wrapped(|ui| {
        for (answer, text) in answers {
            let name = format!("{question}: {text}");
            if pick(ui, text, &name, *answer == chosen) {
                picked = Some(*answer);
            }
        }
    });
    ui.add_space(theme::GAP);
    picked
}

/// A field with its label before it. Gives the text if it was changed.
pub(super) fn field(
    ui: &mut Ui,
    label: &str,
    text: &str,
    hint: &str,
    width: f32,
) -> Option<String> {
    let mut now = text.to_owned();
    let name = soft(ui, label);
    let colour = Palette::of(ui).soft;
    let edit = TextEdit::singleline(&mut now)
        .hint_text(RichText::new(hint).color(colour))
        .desired_width(width)
        .char_limit(200)
        .margin(Margin::symmetric(10, 10));
    let response = ui.add(edit).labelled_by(name.id);
    response.changed().then_some(now)
}

/// A field whose text isn't shown. Gives the text if it was changed, and whether Enter was pressed in it.
pub(super) fn secret(ui: &mut Ui, label: &str, text: &str, width: f32) -> (Option<String>, bool) {
    let mut now = text.to_owned();
    let name = soft(ui, label);
    let edit = TextEdit::singleline(&mut now)
        .password(true)
        .desired_width(width)
        .char_limit(1024)
        .margin(Margin::symmetric(10, 10));
    let response = ui.add(edit).labelled_by(name.id);
    let is_entered = response.lost_focus() && ui.input(|i| i.key_pressed(eframe::egui::Key::Enter));
    (response.changed().then_some(now), is_entered)
}

/// Sentences under a heading, each on a line of its own.
pub(super) fn list(ui: &mut Ui, heading: &str, lines: &[String]) {
    if lines.is_empty() {
        return;
    }
    title(ui, heading);
    for line in lines {
        ui.add(Label::new(format!("· {line}")).wrap());
    }
    ui.add_space(theme::GAP);
}

/// A sentence that says what went wrong, marked by a sign and not by colour alone.
pub(super) fn fault(ui: &mut Ui, text: &str) {
    let colours = Palette::of(ui);
    let frame = Frame::new()
        .stroke(Stroke::new(2.0, colours.alarm))
        .corner_radius(theme::ROUND)
        .inner_margin(Margin::symmetric(12, 10));
    frame.show(ui, |ui| {
        ui.horizontal(|ui| {
            ui.label(RichText::new("!").size(26.0).strong().color(colours.alarm));
            ui.add(Label::new(text).wrap());
        });
    });
}

/// What comes and goes above other things. Those keep their places in the order, and so the focus, whether it is there or
/// not.
pub(super) fn aside(ui: &mut Ui, is_empty: bool, add: impl FnOnce(&mut Ui)) {
    if is_empty {
        ui.skip_ahead_auto_ids(1);
    } else {
        ui.scope(add);
    }
}

/// Sentences that say what was done, marked by a tick and not by colour alone.
pub(super) fn done(ui: &mut Ui, sentences: &[String]) {
    for text in sentences {
        ui.horizontal(|ui| {
            sign(ui, true);
            ui.add(Label::new(text).wrap());
        });
    }
}

/// Two halves beside each other, or one below the other where there is no room.
pub(super) fn halves(ui: &mut Ui, room: f32, add: impl FnMut(&mut Ui, usize)) {
    let mut add = add;
    if ui.available_width() < room {
        for half in 0..2 {
            add(ui, half);
            ui.add_space(theme::GAP);
        }
        return;
    }
    columns(ui, 2, add);
}

/// Something on the left that takes what is left of a row, and something so wide on the right.
pub(super) fn row(
    ui: &mut Ui,
    right: f32,
    left_add: impl FnOnce(&mut Ui),
    right_add: impl FnOnce(&mut Ui),
) {
    ui.horizontal(|ui| {
        let width = (ui.available_width() - right - theme::GAP).max(80.0);
        ui.vertical(|ui| {
            ui.set_width(width);
            left_add(ui);
        });
        right_add(ui);
    });
}

/// Columns of one width; text in them keeps its own spacing.
pub(super) fn columns(ui: &mut Ui, count: usize, mut add: impl FnMut(&mut Ui, usize)) {
    ui.columns(count, |columns| {
        for (place, column) in columns.iter_mut().enumerate() {
            column.with_layout(Layout::top_down(Align::Min), |ui| add(ui, place));
        }
    });
}
