//! Curves: the one that comes in, and those of recorded raises.

use casebook::Bands;
use eframe::egui::accesskit::Role;
use eframe::egui::{Align2, RichText, Stroke, Ui, WidgetInfo};
use egui_plot::{
    Corner, GridMark, HLine, Legend, Line, LineStyle, Plot, PlotPoint, PlotPoints, PlotUi, Text,
    VLine,
};

use super::parts;
use crate::window::model::{Model, Trace};
use crate::window::theme::{self, Palette};
use crate::window::words::{self, Live};

/// So much of the past is shown, s.
const PAST_S: f64 = 30.0;
/// Room for one figure beside a plot, one above the other.
const FIGURE: f32 = 22.0;
/// The axis reaches so high at least, degrees.
const TOP_DEG: f64 = 100.0;

/// A marked end on a curve.
#[derive(Clone, Debug)]
pub(super) struct End {
    /// When, s.
    pub(super) t_s: f64,
    /// What stands beside it.
    pub(super) text: String,
}

/// The last half minute.
pub(super) fn live(ui: &mut Ui, model: &Model) {
    let language = model.settings.language;
    let course = &model.measure.course;
    let leading = course.leading.as_ref();
    let Some(reading) = leading else {
        let text = language.say(Live::CurveEmpty);
        parts::card(ui, |ui| {
            ui.set_min_size(ui.available_size());
            parts::soft(ui, text);
        });
        return;
    };
    let now_s = [reading.side, reading.side.other()]
        .into_iter()
        .filter_map(|side| course.trace(side).newest_s())
        .fold(0.0, f64::max);
    // It grows from the left until the stretch is full, then it moves on.
    let from_s = (now_s - PAST_S).max(0.0);
    let colours = Palette::of(ui);
    let end = course.end().map(|end| {
        let (deg, reason) = (
            language.degrees(end.angle.degrees()),
            words::reason(language, end.reason),
        );
        let phrase = if end.is_settled {
            Live::EndAt
        } else {
            Live::EndSoFar
        };
        End {
            t_s: end.t_s,
            text: language.fill(phrase, &[&deg, reason]),
        }
    });
    let side = words::side(language, reading.side);
    let this = language.fill(Live::CurveThis, &[side]);
    let bands = &model.book.bands;
    let plot = base("live", ui.available_size(), bands).legend(legend());
    let response = plot.show(ui, |plot| {
        plot.set_plot_bounds_x(from_s..=from_s + PAST_S);
        plot.set_plot_bounds_y(-8.0..=TOP_DEG.max(reading.angle.degrees() + 12.0));
        edges(plot, bands, &colours);
        draw(
            plot,
            course.trace(reading.side),
            from_s,
            0.0,
            &this,
            Stroke::new(4.0, colours.leg),
        );
        let other = course.trace(reading.side.other());
        draw(
            plot,
            other,
            from_s,
            0.0,
            language.say(Live::CurveOther),
            Stroke::new(2.0, colours.other),
        );
        if let Some(end) = &end {
            mark(plot, end, &colours);
        }
    });
    let told = end.map_or_else(String::new, |end| {
        let (deg, reason) = end.text.split_once(" · ").unwrap_or((&end.text, ""));
        language.fill(Live::CurveEnd, &[deg, reason])
    });
    let name = language.fill(Live::CurveName, &[&language.number(PAST_S, 0), side, &told]);
    response
        .response
        .widget_info(|| WidgetInfo::labeled(Role::Image, true, &name));
}

/// Legends never cover the newest end.
pub(super) fn legend() -> Legend {
    Legend::default()
        .follow_insertion_order(true)
        .position(Corner::LeftTop)
}

/// A plot that no touch moves, with the edges of bands named beside it.
pub(super) fn base<'a>(id: &'a str, size: eframe::egui::Vec2, bands: &Bands) -> Plot<'a> {
    let rungs = rungs(size.y, bands);
    Plot::new(id)
        .width(size.x)
        .height(size.y)
        .allow_drag(false)
        .allow_zoom(false)
        .allow_scroll(false)
        .allow_boxed_zoom(false)
        .allow_double_click_reset(false)
        .show_crosshair(false)
        .show_x(false)
        .show_y(false)
        .show_grid(false)
        .y_grid_spacer(move |_| rungs.clone())
        .y_axis_min_width(40.0)
        .y_axis_formatter(|mark, _| format!("{:.0}°", mark.value))
        .x_axis_formatter(|mark, _| format!("{:.0} s", mark.value))
}

/// Angles that are named beside a plot: the flat and the edges of the bands, nothing else.
fn rungs(height: f32, bands: &Bands) -> Vec<GridMark> {
    let step_size = 100.0; // as large as makes its figure stand out
    // The figures of two near edges would touch: the upper one stands for both.
    let apart_deg = f64::from(FIGURE / height.max(1.0)) * TOP_DEG;
    let mut named = vec![0.0];
    let edges_deg: Vec<f64> = bands.edges().iter().map(|edge| edge.degrees()).collect();
    for (place, edge) in edges_deg.iter().enumerate() {
        let next = edges_deg.get(place + 1);
        if next.is_none_or(|next| apart_deg <= next - edge) {
            named.push(*edge);
        }
    }
    let mark = |value| GridMark { value, step_size };
    named.into_iter().map(mark).collect()
}

/// Where bands begin.
pub(super) fn edges(plot: &mut PlotUi<'_>, bands: &Bands, colours: &Palette) {
    plot.hline(HLine::new("", 0.0).stroke(Stroke::new(1.0, colours.body)));
    for edge in bands.edges() {
        let style = LineStyle::dashed_loose();
        plot.hline(
            HLine::new("", edge.degrees())
                .stroke(Stroke::new(1.0, colours.body))
                .style(style),
        );
    }
}

/// A curve in as many pieces as it has.
pub(super) fn draw(
    plot: &mut PlotUi<'_>,
    trace: &Trace,
    from_s: f64,
    zero_s: f64,
    name: &str,
    stroke: Stroke,
) {
    for stretch in trace.stretches(from_s) {
        let points: Vec<PlotPoint> = stretch
            .iter()
            .map(|[t_s, deg]| PlotPoint::new(t_s - zero_s, *deg))
            .collect();
        plot.line(Line::new(name, PlotPoints::Owned(points)).stroke(stroke));
    }
}

/// The end point with its reason.
pub(super) fn mark(plot: &mut PlotUi<'_>, end: &End, colours: &Palette) {
    plot.vline(VLine::new("", end.t_s).stroke(Stroke::new(2.0, colours.end)));
    let bounds = plot.plot_bounds();
    let is_late = bounds.min()[0] + bounds.width() * 0.6 < end.t_s;
    let anchor = if is_late {
        Align2::RIGHT_TOP
    } else {
        Align2::LEFT_TOP
    };
    let text = RichText::new(format!(" {} ", end.text))
        .size(theme::BODY)
        .color(colours.end);
    let top = bounds.max()[1] - bounds.height() * 0.03;
    plot.text(Text::new("", PlotPoint::new(end.t_s, top), text).anchor(anchor));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edges_beside_a_plot_are_those_of_the_bands_and_never_touch() {
        let named = |height, edges_deg: &[f64]| -> Vec<f64> {
            let bands = Bands::from_edges_deg(edges_deg).unwrap();
            rungs(height, &bands)
                .iter()
                .map(|r| r.value.round())
                .collect()
        };
        assert_eq!(named(400.0, &[30.0, 80.0]), [0.0, 30.0, 80.0]);
        assert_eq!(named(400.0, &[45.0, 60.0, 90.0]), [0.0, 45.0, 60.0, 90.0]);
        assert_eq!(named(112.0, &[45.0, 60.0, 90.0]), [0.0, 60.0, 90.0]);
    }
}
