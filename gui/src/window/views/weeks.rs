//! The course over the visits: a chart for each leg, what the rules propose, and the plan.

use casebook::course::{Course, Step, Visit};
use casebook::record::Account;
use casebook::report::said;
use eframe::egui::accesskit::Role;
use eframe::egui::{Color32, Label, Stroke, Ui, WidgetInfo, vec2};
use egui_plot::{HLine, Line, LineStyle, MarkerShape, PlotPoints, PlotUi, Points, Polygon};
use sensor::Side;

use super::{curve, parts};
use crate::window::model::{Act, BookAct, Chosen, Model};
use crate::window::theme::{self, Palette};
use crate::window::words::{self, Language, Weeks};

/// Height of a chart.
const CHART: f32 = 240.0;

/// Both legs.
pub(super) fn weeks(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let language = model.settings.language;
    let mut acts = Vec::new();
    let Some(chosen) = &model.book.chosen else {
        return acts;
    };
    if chosen.courses.is_empty() {
        parts::now(ui, language.say(Weeks::CourseNone));
        return acts;
    }
    parts::now(ui, language.say(Weeks::CourseNow));
    let mut half = |ui: &mut Ui, which: usize| {
        if let Some((side, course)) = chosen.courses.get(which) {
            parts::card(ui, |ui| {
                ui.set_min_width(ui.available_width());
                acts.extend(leg(ui, language, chosen, *side, course));
            });
        }
    };
    parts::halves(ui, 900.0, &mut half);
    parts::small(ui, language.say(Weeks::Legend));
    parts::small(ui, said::bands_are_policy(language.report()));
    acts
}

fn leg(ui: &mut Ui, language: Language, chosen: &Chosen, side: Side, course: &Course) -> Vec<Act> {
    let report = language.report();
    let account = &chosen.account;
    let name = words::side(language, side);
    parts::soft(ui, &language.fill(words::Flow::ResultSide, &[name]));
    chart(ui, language, account, side, course);
    let mut said_of: Vec<String> = Vec::new();
    if let Some(change) = &course.change {
        said_of.push(said::change(report, change));
    }
    match &course.trend {
        Some(trend) => said_of.push(said::trend(report, trend)),
        None => said_of.push(language.say(Weeks::NoLine).to_owned()),
    }
    for (visit, why) in &course.left_out {
        let day = report.date(visit.date);
        let why = said::left_out(report, why);
        said_of.push(language.fill(Weeks::Apart, &[&day, &why]));
    }
    let bands = &account.bands;
    said_of.extend(said::advice_steps(
        report,
        &course.advice,
        bands,
        course.next_visit,
    ));
    for text in said_of {
        ui.add(Label::new(said::sentence(&text)).wrap());
    }
    ui.add_space(theme::GAP);
    plan(ui, language, account, side, course)
}

/// What the client works on, and the buttons that change it.
fn plan(
    ui: &mut Ui,
    language: Language,
    account: &Account,
    side: Side,
    course: &Course,
) -> Vec<Act> {
    let report = language.report();
    let bands = &account.bands;
    let label = |band: usize| said::band(report, band, bands);
    let found = account.plans.iter().find(|(own, _)| *own == side);
    let first = || course.visits.first().map(|v| bands.of(v.summary.mean));
    let now = found.map_or_else(|| first().unwrap_or(0), |(_, plan)| plan.band);
    let text = match found {
        None => language.fill(Weeks::PlanNone, &[&label(now)]),
        Some((_, plan)) => {
            let since = plan.since.map_or_else(
                || language.say(Weeks::First).to_owned(),
                |day| report.date(day),
            );
            language.fill(Weeks::Plan, &[&label(now), &since])
        }
    };
    parts::title(ui, &text);
    let proposed = match course.advice.step {
        Step::Stay => now,
        Step::MoveOn { to } | Step::Return { to } => to,
    };
    let mut acts = Vec::new();
    ui.horizontal_wrapped(|ui| {
        let up = proposed.max(now + 1).min(bands.count() - 1);
        let down = if proposed < now {
            Some(proposed)
        } else {
            now.checked_sub(1)
        };
        let ways = [
            (Weeks::Stay, Some(now)),
            (Weeks::Move, (now < up).then_some(up)),
            (Weeks::Return, down),
        ];
        for (phrase, to) in ways {
            let Some(band) = to else { continue };
            let text = language.fill(phrase, &[&label(band)]);
            let name = language.fill(Weeks::PlanOf, &[words::side(language, side), &text]);
            let button = if band == proposed {
                ui.add(parts::primary(&text).sized(vec2(150.0, theme::TOUCH)))
            } else {
                parts::plain(ui, &text)
            };
            if parts::named(button, Role::Button, &name, true).clicked() {
                acts.push(Act::Book(BookAct::Plan(side, band)));
            }
        }
    });
    acts
}

/// Days since the first visit.
fn days(course: &Course, visit: &Visit) -> f64 {
    let first = course.visits.first().map_or(visit.date, |first| first.date);
    f64::from((visit.date - first).get_days())
}

fn chart(ui: &mut Ui, language: Language, account: &Account, side: Side, course: &Course) {
    let colours = Palette::of(ui);
    let report = language.report();
    let name = words::side(language, side);
    let first = course.visits.first().map(|visit| visit.date);
    let last = course
        .visits
        .last()
        .map_or(0.0, |visit| days(course, visit));
    let id = format!("weeks {name}");
    let plot = curve::base(&id, vec2(ui.available_width(), CHART), &account.bands)
        .x_axis_formatter(move |mark, _| {
            #[expect(clippy::cast_possible_truncation, reason = "days of a course")]
            let days = jiff::Span::new().days(mark.value as i64);
            first.map_or_else(String::new, |first| {
                first.saturating_add(days).strftime("%d.%m.").to_string()
            })
        });
    let response = plot.show(ui, |plot| {
        let tops = course.visits.iter();
        let top = tops.map(|v| (v.summary.mean + v.summary.expanded).degrees());
        plot.set_plot_bounds_y(-5.0..=top.fold(100.0, f64::max) + 5.0);
        let (from, to) = (-3.0, last.max(14.0) + 3.0);
        plot.set_plot_bounds_x(from..=to);
        band(plot, course, (from, to), colours.line);
        for edge in account.bands.edges() {
            let line = HLine::new("", edge.degrees()).stroke(Stroke::new(1.0, colours.body));
            plot.hline(line.style(LineStyle::dashed_loose()));
        }
        trend(plot, course, last, colours.leg);
        points(plot, course, colours.leg);
    });
    let told: Vec<String> = course
        .visits
        .iter()
        .map(|visit| {
            let [mean, expanded] = [visit.summary.mean, visit.summary.expanded]
                .map(|angle| language.degrees(angle.degrees()));
            let day = report.date(visit.date);
            language.fill(Weeks::ChartPoint, &[&day, &mean, &expanded])
        })
        .collect();
    let label = language.fill(Weeks::Chart, &[name, &told.join("; ")]);
    response
        .response
        .widget_info(|| WidgetInfo::labeled(Role::Image, true, &label));
}

/// Means within it don't differ from the first by more than measurement error.
fn band(plot: &mut PlotUi<'_>, course: &Course, (from, to): (f64, f64), ink: Color32) {
    let (low, high) = course.error_band;
    let (low, high) = (low.degrees(), high.degrees());
    let corners = vec![[from, low], [to, low], [to, high], [from, high]];
    let area = Polygon::new("", PlotPoints::from(corners))
        .fill_color(ink.gamma_multiply(0.6))
        .stroke(Stroke::NONE);
    plot.polygon(area);
}

/// The line, through the weighted mean of the visits.
fn trend(plot: &mut PlotUi<'_>, course: &Course, last: f64, ink: Color32) {
    let Some(found) = &course.trend else {
        return;
    };
    let weight = |visit: &Visit| visit.summary.standard.degrees().powi(-2);
    let sum: f64 = course.visits.iter().map(weight).sum();
    let mean = |of: &dyn Fn(&Visit) -> f64| -> f64 {
        let all = course.visits.iter().map(|v| weight(v) * of(v));
        all.sum::<f64>() / sum
    };
    let middle = mean(&|visit| days(course, visit));
    let height = mean(&|visit| visit.summary.mean.degrees());
    let slope = found.per_week.degrees() / 7.0;
    let at = |day: f64| [day, height + slope * (day - middle)];
    let line = Line::new("", PlotPoints::from(vec![at(0.0), at(last)]));
    plot.line(line.stroke(Stroke::new(2.0, ink)));
}

fn points(plot: &mut PlotUi<'_>, course: &Course, ink: Color32) {
    for visit in &course.visits {
        let day = days(course, visit);
        let (mean, expanded) = (
            visit.summary.mean.degrees(),
            visit.summary.expanded.degrees(),
        );
        let bar = vec![[day, mean - expanded], [day, mean + expanded]];
        plot.line(Line::new("", PlotPoints::from(bar)).stroke(Stroke::new(2.0, ink)));
        let dot = Points::new("", vec![[day, mean]]).radius(5.0).color(ink);
        plot.points(dot.shape(MarkerShape::Circle));
    }
    for (visit, _) in &course.left_out {
        let at = [days(course, visit), visit.summary.mean.degrees()];
        let ring = Points::new("", vec![at]).radius(5.0).color(ink);
        plot.points(ring.shape(MarkerShape::Circle).filled(false));
    }
}
