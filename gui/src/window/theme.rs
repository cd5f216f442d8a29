//! All colours and sizes of the window.
//!
//! Lines and areas take colours of Okabe and Ito ("Color Universal Design", 2008), those that stand out at least 3:1
//! from the ground of each theme; text stands out at least 4.5:1 (WCAG 2.2, 1.4.3 and 1.4.11). A test reckons it.

use eframe::egui::{
    Color32, Context, CornerRadius, FontFamily, FontId, Margin, Stroke, Style, TextStyle, Theme,
    ThemePreference, Ui, Vec2, Visuals, vec2,
};

use super::settings::{Look, Settings};

/// Colours of a theme.
#[derive(Clone, Copy, Debug)]
pub(super) struct Palette {
    /// Ground of the window.
    pub(super) ground: Color32,
    /// Ground of a card.
    pub(super) card: Color32,
    /// Text, and the angle.
    pub(super) ink: Color32,
    /// Text that explains.
    pub(super) soft: Color32,
    /// Borders and grids, no text.
    pub(super) line: Color32,
    /// What is to be pressed next.
    pub(super) accent: Color32,
    /// Text on it.
    pub(super) on_accent: Color32,
    /// The raised leg.
    pub(super) leg: Color32,
    /// The other leg.
    pub(super) other: Color32,
    /// End points.
    pub(super) end: Color32,
    /// What is well.
    pub(super) well: Color32,
    /// What must be seen: lost, stopped.
    pub(super) alarm: Color32,
    /// Text on it.
    pub(super) on_alarm: Color32,
    /// The body that lies there.
    pub(super) body: Color32,
}

const LIGHT: Palette = Palette {
    ground: Color32::from_rgb(0xF3, 0xF1, 0xEC),
    card: Color32::from_rgb(0xFF, 0xFF, 0xFF),
    ink: Color32::from_rgb(0x15, 0x1B, 0x20),
    soft: Color32::from_rgb(0x4A, 0x52, 0x58),
    line: Color32::from_rgb(0xCF, 0xCA, 0xC0),
    accent: Color32::from_rgb(0x00, 0x5A, 0x8E),
    on_accent: Color32::WHITE,
    leg: Color32::from_rgb(0x00, 0x72, 0xB2),
    other: Color32::from_rgb(0xC0, 0x50, 0x00),
    end: Color32::from_rgb(0x15, 0x1B, 0x20),
    well: Color32::from_rgb(0x00, 0x75, 0x55),
    alarm: Color32::from_rgb(0xA8, 0x3E, 0x00),
    on_alarm: Color32::WHITE,
    body: Color32::from_rgb(0x8C, 0x86, 0x7A),
};

const DARK: Palette = Palette {
    ground: Color32::from_rgb(0x12, 0x16, 0x19),
    card: Color32::from_rgb(0x1C, 0x22, 0x26),
    ink: Color32::from_rgb(0xF4, 0xF2, 0xEE),
    soft: Color32::from_rgb(0xB4, 0xBA, 0xBE),
    line: Color32::from_rgb(0x3C, 0x45, 0x4B),
    accent: Color32::from_rgb(0x56, 0xB4, 0xE9),
    on_accent: Color32::from_rgb(0x06, 0x12, 0x1A),
    leg: Color32::from_rgb(0x56, 0xB4, 0xE9),
    other: Color32::from_rgb(0xE6, 0x9F, 0x00),
    end: Color32::from_rgb(0xF4, 0xF2, 0xEE),
    well: Color32::from_rgb(0x2F, 0xC2, 0x96),
    alarm: Color32::from_rgb(0xE6, 0x9F, 0x00),
    on_alarm: Color32::from_rgb(0x1A, 0x10, 0x00),
    body: Color32::from_rgb(0x7F, 0x88, 0x8E),
};

impl Palette {
    /// Of the theme that is shown.
    pub(super) fn of(ui: &Ui) -> Self {
        if ui.visuals().dark_mode { DARK } else { LIGHT }
    }
}

/// A control is at least so high: a finger hits it.
pub(super) const TOUCH: f32 = 44.0;
/// The buttons of the measuring screen.
pub(super) const BIG: f32 = 64.0;
/// Between things that belong together, and between those that don't.
pub(super) const GAP: f32 = 8.0;
pub(super) const SPACE: f32 = 20.0;
/// Wider than this no text runs.
pub(super) const READ: f32 = 820.0;
/// Roundness of cards and buttons.
pub(super) const ROUND: CornerRadius = CornerRadius::same(10);
/// The window that everything is laid out for, and how fast things grow with a larger one: slower than it does.
const DESIGNED: Vec2 = vec2(1280.0, 720.0);
const GROWTH: f32 = 0.65;
/// Text sizes.
pub(super) const SMALL: f32 = 15.0;
pub(super) const BODY: f32 = 18.0;
pub(super) const LEAD: f32 = 28.0;

/// The face of the angle: figures of one width, heavier than the text's, so that nothing jumps and it carries far.
pub(super) const fn figures(size: f32) -> FontId {
    FontId::new(size, FontFamily::Monospace)
}

/// The face of text.
pub(super) const fn text(size: f32) -> FontId {
    FontId::new(size, FontFamily::Proportional)
}

/// Puts colours and sizes in force.
pub(super) fn apply(ctx: &Context, settings: &Settings) {
    ctx.set_theme(match settings.look {
        Look::System => ThemePreference::System,
        Look::Light => ThemePreference::Light,
        Look::Dark => ThemePreference::Dark,
    });
    ctx.style_mut_of(Theme::Light, |style| dress(style, &LIGHT, Visuals::light()));
    ctx.style_mut_of(Theme::Dark, |style| dress(style, &DARK, Visuals::dark()));
}

/// Scales everything with the text size that was chosen, and a little with the window: on a large screen far away
/// text is larger, too. Asked before each frame.
pub(super) fn scale(ctx: &Context, settings: &Settings) {
    let unscaled = ctx.content_rect().size() * ctx.zoom_factor();
    let ratio = (unscaled.x / DESIGNED.x).min(unscaled.y / DESIGNED.y);
    let zoom = f32::from(settings.text_percent) / 100.0 * ratio.clamp(1.0, 4.0).powf(GROWTH);
    if 0.01 < (zoom - ctx.zoom_factor()).abs() {
        ctx.set_zoom_factor(zoom);
    }
}

fn dress(style: &mut Style, colours: &Palette, usual: Visuals) {
    style.text_styles = [
        (TextStyle::Small, text(SMALL)),
        (TextStyle::Body, text(BODY)),
        (TextStyle::Button, text(BODY)),
        (TextStyle::Heading, text(LEAD)),
        (TextStyle::Monospace, figures(SMALL)),
    ]
    .into();
    let spacing = &mut style.spacing;
    spacing.item_spacing = vec2(GAP, GAP);
    spacing.button_padding = vec2(16.0, 8.0);
    spacing.interact_size = Vec2::new(TOUCH, TOUCH);
    spacing.icon_width = 24.0;
    spacing.icon_width_inner = 14.0;
    spacing.icon_spacing = 10.0;
    spacing.window_margin = Margin::same(16);
    style.interaction.selectable_labels = false;
    style.animation_time = 0.0; // nothing moves but the leg
    let mut visuals = usual;
    visuals.override_text_color = Some(colours.ink);
    visuals.weak_text_color = Some(colours.soft);
    visuals.panel_fill = colours.ground;
    visuals.window_fill = colours.card;
    visuals.extreme_bg_color = colours.card;
    visuals.text_edit_bg_color = Some(colours.card);
    visuals.faint_bg_color = colours.ground;
    visuals.hyperlink_color = colours.accent;
    visuals.selection.bg_fill = colours.accent;
    visuals.selection.stroke = Stroke::new(2.0, colours.on_accent);
    visuals.error_fg_color = colours.alarm;
    visuals.warn_fg_color = colours.alarm;
    let widgets = &mut visuals.widgets;
    for one in [
        &mut widgets.noninteractive,
        &mut widgets.inactive,
        &mut widgets.hovered,
        &mut widgets.active,
        &mut widgets.open,
    ] {
        one.corner_radius = ROUND;
        one.bg_fill = colours.card;
        one.weak_bg_fill = colours.card;
        // What can be pressed or written into is seen by its border: 3:1.
        one.bg_stroke = Stroke::new(1.5, colours.body);
        one.fg_stroke = Stroke::new(2.0, colours.ink);
        one.expansion = 0.0;
    }
    widgets.noninteractive.bg_stroke = Stroke::new(1.0, colours.line);
    widgets.hovered.bg_stroke = Stroke::new(2.0, colours.ink);
    widgets.active.bg_stroke = Stroke::new(3.0, colours.accent);
    style.visuals = visuals;
}

#[cfg(test)]
mod tests {
    use super::*;

    /// WCAG 2.2: relative luminance.
    fn luminance(colour: Color32) -> f64 {
        let part = |value: u8| {
            let c = f64::from(value) / 255.0;
            if c <= 0.040_45 {
                c / 12.92
            } else {
                ((c + 0.055) / 1.055).powf(2.4)
            }
        };
        0.2126 * part(colour.r()) + 0.7152 * part(colour.g()) + 0.0722 * part(colour.b())
    }

    fn contrast(a: Color32, b: Color32) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn text_and_lines_stand_out() {
        assert!((contrast(Color32::BLACK, Color32::WHITE) - 21.0).abs() < 1e-9);
        for p in [LIGHT, DARK] {
            for ground in [p.ground, p.card] {
                for text in [p.ink, p.soft, p.accent, p.well, p.alarm] {
                    assert!(
                        contrast(text, ground) >= 4.5,
                        "{text:?} on {ground:?}: {}",
                        contrast(text, ground)
                    );
                }
                for mark in [p.leg, p.other, p.end, p.body] {
                    assert!(
                        contrast(mark, ground) >= 3.0,
                        "{mark:?} on {ground:?}: {}",
                        contrast(mark, ground)
                    );
                }
            }
            assert!(contrast(p.on_accent, p.accent) >= 4.5);
            assert!(contrast(p.on_alarm, p.alarm) >= 4.5);
        }
    }
}
