//! A drill, to look at before it is done.

use casebook::drill::{Action, Amount, Counted, Dose, Drill};
use casebook::report::said;
use eframe::egui::accesskit::Role;
use eframe::egui::{Label, Ui};

use super::{drill_figure, parts};
use crate::window::model::{Act, Model, Pace, PaceAct};
use crate::window::theme;
use crate::window::words::{Language, Practice};

/// Its card.
pub(super) fn drill(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let language = model.settings.language;
    let mut acts = Vec::new();
    let Some(pace) = &model.pace else {
        parts::soft(ui, language.say(Practice::NoneSuits));
        return acts;
    };
    parts::now(ui, language.say(Practice::DrillNow));
    let mut half = |ui: &mut Ui, which: usize| {
        parts::card(ui, |ui| {
            ui.set_min_width(ui.available_width());
            if which == 0 {
                how(ui, language, &pace.drill);
            } else {
                acts.extend(how_much(ui, language, pace));
                with_care(ui, model, &pace.drill);
            }
        });
    };
    parts::halves(ui, 900.0, &mut half);
    parts::small(ui, said::drills_are_unproven(language.report()));
    acts
}

fn how(ui: &mut Ui, language: Language, drill: &Drill) {
    parts::title(ui, &drill.name);
    ui.add(Label::new(&drill.aim).wrap());
    if language != Language::English && !drill.speaks(language.report().code()) {
        parts::small(ui, language.say(Practice::OnlyEnglish));
    }
    drill_figure::drill_figure(ui, language, drill);
    parts::list(ui, language.say(Practice::SetUp), &drill.set_up);
    parts::list(ui, language.say(Practice::Steps), &drill.steps);
    parts::list(ui, language.say(Practice::Faults), &drill.faults);
}

/// The dose, and how much of it is done now.
fn how_much(ui: &mut Ui, language: Language, pace: &Pace) -> Vec<Act> {
    let mut acts = Vec::new();
    let dose = &pace.drill.dose;
    parts::title(ui, language.say(Practice::Dose));
    ui.add(Label::new(dose_text(language, dose)).wrap());
    let counted = language.say(counted(dose.counted));
    let rows = [
        (
            language.say(Practice::Sets),
            pace.choice.sets,
            dose.sets,
            PaceAct::Sets as fn(u32) -> PaceAct,
        ),
        (counted, pace.choice.reps, dose.reps, PaceAct::Reps),
    ];
    for (what, now, limits, act) in rows {
        ui.horizontal(|ui| {
            let button = |ui: &mut Ui, sign: &str, name: Practice, to: u32| {
                let is_open = (limits.least..=limits.most).contains(&to) && !pace.has_begun();
                let size = eframe::egui::vec2(theme::TOUCH, theme::TOUCH);
                let response = parts::with_key(ui, sign, "", size, is_open);
                let name = language.fill(name, &[what]);
                parts::named(response, Role::Button, &name, is_open).clicked()
            };
            if button(ui, "\u{2212}", Practice::Fewer, now.saturating_sub(1)) {
                acts.push(Act::Pace(act(now.saturating_sub(1))));
            }
            ui.label(format!("{now} {what}"));
            if button(ui, "+", Practice::More, now + 1) {
                acts.push(Act::Pace(act(now + 1)));
            }
        });
    }
    let minutes = language.number(pace.line.length_s / 60.0, 1);
    parts::soft(ui, &language.fill(Practice::Takes, &[&minutes]));
    ui.add_space(theme::GAP);
    acts
}

/// When to stop, and who must not.
fn with_care(ui: &mut Ui, model: &Model, drill: &Drill) {
    let language = model.settings.language;
    let mut stops = said::stop(language.report());
    stops.extend(drill.stop.iter().cloned());
    parts::list(ui, language.say(Practice::Stops), &stops);
    let care: Vec<String> = drill
        .cautions
        .iter()
        .map(|own| {
            let phrase = match own.action {
                Action::LeaveOut => Practice::Not,
                Action::Adapt => Practice::Adapt,
            };
            let what = format!("{}. {}", language.caution(own.caution), own.why);
            language.fill(phrase, &[&what])
        })
        .collect();
    parts::list(ui, language.say(Practice::NotFor), &care);
}

/// What the repetitions are called.
const fn counted(counted: Counted) -> Practice {
    match counted {
        Counted::Breaths => Practice::Breaths,
        Counted::Reps => Practice::Reps,
        Counted::Holds => Practice::Holds,
    }
}

fn dose_text(language: Language, dose: &Dose) -> String {
    let amount = |amount: Amount<u32>| {
        if amount.least == amount.most {
            amount.least.to_string()
        } else {
            let parts = [amount.least.to_string(), amount.most.to_string()];
            language.fill(Practice::To, &[&parts[0], &parts[1]])
        }
    };
    let side = if dose.is_each_side {
        language.say(Practice::ASide)
    } else {
        ""
    };
    language.fill(
        Practice::DoseIs,
        &[
            &amount(dose.sets),
            &amount(dose.reps),
            language.say(counted(dose.counted)),
            side,
            &amount(dose.times_a_day),
            &amount(dose.days_a_week),
            &amount(dose.effort),
        ],
    )
}
