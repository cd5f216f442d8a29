//! What the casebook says of a round: notes of each leg, how the legs differ, and drills to choose from.

use casebook::Finding;
use casebook::drill::{Excluded, Exclusion, Proposal, propose};
use casebook::report::said;
use eframe::egui::{Label, Ui};

use super::parts;
use crate::window::model::{Act, Chosen, Model, PaceAct};
use crate::window::theme;
use crate::window::words::{self, Language, Practice};

/// All of it, below the means.
pub(super) fn findings(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let language = model.settings.language;
    let mut acts = Vec::new();
    let Some(chosen) = model.booked() else {
        return acts;
    };
    let Some(decision) = &chosen.decision else {
        parts::soft(ui, language.say(Practice::Keeping));
        return acts;
    };
    let mut half = |ui: &mut Ui, which: usize| {
        let Some(finding) = decision.sides.get(which) else {
            return;
        };
        parts::card(ui, |ui| {
            ui.set_min_width(ui.available_width());
            acts.extend(leg(ui, model, chosen, finding));
        });
    };
    parts::halves(ui, 900.0, &mut half);
    ui.add_space(theme::GAP);
    let report = language.report();
    let mut lines = Vec::new();
    if let Some(difference) = &decision.difference {
        let text = said::difference(report, difference);
        lines.push(language.fill(Practice::Sides, &[&text]));
    }
    let unsaid = decision.unsaid.iter();
    lines.extend(unsaid.map(|what| said::sentence(said::condition(report, *what))));
    lines.push(said::sentence(&said::repeatability(
        report,
        &decision.repeatability,
    )));
    for line in lines {
        ui.add(Label::new(line).wrap());
    }
    for line in [
        said::bands_are_policy(report),
        said::drills_are_unproven(report),
        language.say(Practice::ChosenBy),
    ] {
        parts::small(ui, line);
    }
    acts
}

fn leg(ui: &mut Ui, model: &Model, chosen: &Chosen, finding: &Finding) -> Vec<Act> {
    let language = model.settings.language;
    let report = language.report();
    let side = words::side(language, finding.summary.side);
    let mut acts = Vec::new();
    let notes: Vec<String> = finding
        .notes
        .iter()
        .map(|note| said::sentence(&said::note(report, note)))
        .collect();
    parts::list(ui, language.say(Practice::Says), &notes);
    let Some(visit) = chosen.visit() else {
        return acts;
    };
    if !visit.has_asked_cautions {
        parts::soft(ui, language.say(Practice::NotAsked));
        return acts;
    }
    let bands = &chosen.account.bands;
    let code = report.code();
    let drills: Vec<_> = model.book.drills.iter().map(|d| d.told_in(code)).collect();
    let proposal = propose(&drills, finding, &visit.cautions, bands);
    parts::title(ui, &language.fill(Practice::Proposed, &[side]));
    acts.extend(proposed(ui, language, &proposal));
    acts
}

fn proposed(ui: &mut Ui, language: Language, proposal: &Proposal<'_>) -> Vec<Act> {
    let mut acts = Vec::new();
    for caution in &proposal.stopped_by {
        let text = language.fill(Practice::NoDrill, &[language.caution(*caution)]);
        parts::fault(ui, &text);
    }
    if proposal.drills.is_empty() && proposal.stopped_by.is_empty() {
        parts::soft(ui, language.say(Practice::NoneSuits));
    }
    for found in &proposal.drills {
        let name = language.fill(Practice::Choose, &[&found.drill.name]);
        let button = parts::plain(ui, &found.drill.name);
        let role = eframe::egui::accesskit::Role::Button;
        if parts::named(button, role, &name, true).clicked() {
            acts.push(Act::Pace(PaceAct::Choose(found.drill.id.clone())));
        }
        parts::soft(ui, &found.drill.aim);
        for (_, how) in &found.adapt {
            parts::soft(ui, &language.fill(Practice::Adapt, &[how]));
        }
    }
    for left in &proposal.excluded {
        parts::small(ui, &left_out(language, left));
    }
    acts
}

fn left_out(language: Language, left: &Excluded<'_>) -> String {
    let because: Vec<String> = left
        .because
        .iter()
        .map(|why| match why {
            Exclusion::Caution(what, words) => format!("{}. {words}", language.caution(*what)),
            Exclusion::NotLength => language.say(Practice::NotLength).to_owned(),
        })
        .collect();
    language.fill(Practice::LeftOut, &[&left.drill.name, &because.join("; ")])
}
