//! The casebook's own care: copies, whose time is over, and the practitioner's own settings.

use casebook::Rules;
use casebook::report::said;
use eframe::egui::accesskit::Role;
use eframe::egui::{Label, Ui, vec2};

use super::{affairs, book, parts};
use crate::window::model::{Act, BookAct, Chore, Model, Secret, ShelfAct};
use crate::window::theme;
use crate::window::words::{Desk, Language, Upkeep};

/// Clients that are listed.
const DUE_MAX: usize = 100;
/// Width of the fields.
const FIELD: f32 = 420.0;
/// Room for the button beside a rule.
const CHANGE: f32 = 130.0;

/// The choice, and the chore that was chosen.
pub(super) fn shelf(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let language = model.settings.language;
    let say = |phrase| language.say(phrase);
    let now = model.book.shelf.chore;
    let mut acts = Vec::new();
    parts::now(ui, say(Upkeep::ShelfNow));
    parts::soft(ui, &model.book.path.display().to_string());
    book::state(ui, model);
    if model.book.is_open {
        let chores = Chore::ALL.map(|chore| (chore, say(name(chore))));
        if let Some(chore) = parts::choice(ui, say(Upkeep::Which), &chores, now) {
            acts.push(Act::Book(BookAct::Shelf(ShelfAct::Chore(chore))));
        }
    }
    parts::card(ui, |ui| {
        ui.set_min_width(ui.available_width());
        let mut page = Page {
            ui,
            model,
            acts: &mut acts,
        };
        match now {
            Chore::BackUp => page.back_up(),
            Chore::Restore => page.restore(),
            Chore::Due => page.due(),
            Chore::Bands => page.bands(),
            Chore::Rules => page.rules(),
        }
    });
    acts
}

const fn name(chore: Chore) -> Upkeep {
    match chore {
        Chore::BackUp => Upkeep::BackUp,
        Chore::Restore => Upkeep::Restore,
        Chore::Due => Upkeep::Due,
        Chore::Bands => Upkeep::Bands,
        Chore::Rules => Upkeep::Rules,
    }
}

/// What every chore draws with.
struct Page<'a> {
    ui: &'a mut Ui,
    model: &'a Model,
    acts: &'a mut Vec<Act>,
}

impl Page<'_> {
    fn language(&self) -> Language {
        self.model.settings.language
    }

    fn want(&mut self, act: ShelfAct) {
        self.acts.push(Act::Book(BookAct::Shelf(act)));
    }

    fn line(&mut self, text: &str) {
        self.ui.add(Label::new(text).wrap());
    }

    fn about(&mut self, phrase: Upkeep) {
        let text = self.language().say(phrase);
        self.line(text);
        self.ui.add_space(theme::GAP);
    }

    fn field(&mut self, label: &str, text: &str, width: f32, act: fn(String) -> ShelfAct) {
        if let Some(text) = parts::field(self.ui, label, text, "", width) {
            self.want(act(text));
        }
    }

    fn path(&mut self, phrase: Upkeep, path: &std::path::Path, act: fn(String) -> ShelfAct) {
        let width = self.ui.available_width().min(theme::READ) - 20.0;
        let label = self.language().say(phrase);
        self.field(label, &path.display().to_string(), width, act);
    }

    fn press(&mut self, phrase: Upkeep) {
        self.ui.add_space(theme::GAP);
        let is_free = self.model.book.waiting == 0;
        let button = parts::primary(self.language().say(phrase)).sized(vec2(280.0, 52.0));
        if self.ui.add_enabled(is_free, button).clicked() {
            self.want(ShelfAct::Do);
        }
    }

    fn back_up(&mut self) {
        self.about(Upkeep::BackUpBody);
        self.path(Upkeep::CopyTo, &self.model.book.shelf.to, ShelfAct::To);
        self.press(Upkeep::BackUpDo);
    }

    fn restore(&mut self) {
        let shelf = &self.model.book.shelf;
        self.about(Upkeep::RestoreBody);
        self.path(Upkeep::CopyFrom, &shelf.from, ShelfAct::From);
        let label = self.language().say(Upkeep::CopyPhrase);
        let (typed, _) = parts::secret(self.ui, label, &shelf.phrase.0, FIELD);
        if let Some(text) = typed {
            self.want(ShelfAct::Phrase(Secret(text)));
        }
        self.press(Upkeep::RestoreDo);
    }

    fn due(&mut self) {
        let language = self.language();
        let shelf = &self.model.book.shelf;
        self.about(Upkeep::DueBody);
        let kept = shelf.kept.as_ref();
        let due = kept.map(|kept| &*kept.due).unwrap_or_default();
        let months = kept.and_then(|kept| kept.months);
        if months.is_none() {
            self.line(language.say(Upkeep::DueUnset));
        }
        if due.is_empty() {
            self.line(language.say(Upkeep::DueNone));
        }
        for one in due.iter().take(DUE_MAX) {
            let day = language.report().date(one.latest);
            let mut text = language.fill(Upkeep::DueLine, &[&day]);
            if one.is_withdrawn {
                text = format!("{text} · {}", language.say(Upkeep::DueWithdrawn));
            }
            let row = language.fill(Desk::Row, &[&one.name, &one.code]);
            self.ui.horizontal_wrapped(|ui| {
                let button = parts::plain(ui, language.say(Upkeep::Look));
                let name = language.fill(Upkeep::OpenClient, &[&one.name, &one.code]);
                if parts::named(button, Role::Button, &name, true).clicked() {
                    let act = BookAct::Choose(one.code.clone());
                    self.acts.push(Act::Book(act));
                    self.acts
                        .push(Act::Go(crate::window::model::Screen::Clients));
                }
                ui.add(Label::new(format!("{row} · {text}")).wrap());
            });
        }
        self.ui.add_space(theme::GAP);
        if let Some(months) = months {
            self.line(&language.fill(Upkeep::MonthsNow, &[&months.to_string()]));
        }
        let label = language.say(Upkeep::Months);
        self.field(label, &shelf.months, 160.0, ShelfAct::Months);
        self.reason();
        self.press(Upkeep::Set);
    }

    fn reason(&mut self) {
        let label = self.language().say(Desk::Reason);
        let text = &self.model.book.shelf.reason;
        self.field(label, text, FIELD, ShelfAct::Reason);
    }

    fn bands(&mut self) {
        let language = self.language();
        self.about(Upkeep::BandsBody);
        let bands = &self.model.book.bands;
        for band in 0..bands.count() {
            let label = said::band(language.report(), band, bands);
            let text = language.fill(Upkeep::BandLine, &[&(band + 1).to_string(), &label]);
            self.line(&text);
        }
        let label = language.say(Upkeep::Edges);
        let text = &self.model.book.shelf.edges;
        self.field(label, text, FIELD, ShelfAct::Edges);
        self.reason();
        self.press(Upkeep::Set);
        self.former("bands");
    }

    fn rules(&mut self) {
        let language = self.language();
        let shelf = &self.model.book.shelf;
        self.about(Upkeep::RulesBody);
        let rules = shelf.kept.as_ref().map(|kept| kept.rules);
        let rules = rules.unwrap_or_default();
        for info in Rules::ALL {
            let (unit, about) = language.rule(info);
            let number = |value| language.plain(value);
            let value = rules.get(info.key).unwrap_or(info.default);
            let mut text = language.fill(Upkeep::RuleLine, &[about, &number(value), unit]);
            if value.total_cmp(&info.default).is_ne() {
                let shipped = language.fill(Upkeep::RuleShipped, &[&number(info.default)]);
                text = format!("{text} ({shipped})");
            }
            let mut is_wanted = false;
            parts::row(
                self.ui,
                CHANGE,
                |ui| {
                    ui.add(Label::new(&text).wrap());
                    parts::small(ui, info.source);
                },
                |ui| {
                    let button = parts::plain(ui, language.say(Upkeep::Change));
                    let name = language.fill(Upkeep::RuleChange, &[about]);
                    is_wanted = parts::named(button, Role::Button, &name, true).clicked();
                },
            );
            if is_wanted {
                self.want(ShelfAct::Rule(info.key));
            }
            if shelf.rule == Some(info.key) {
                let limits = [number(info.least), number(info.most)];
                let limits = language.fill(Upkeep::RuleLimits, &[&limits[0], &limits[1]]);
                let label = language.fill(Upkeep::Value, &[about, &limits]);
                self.field(&label, &shelf.value, 160.0, ShelfAct::Value);
                self.reason();
                self.press(Upkeep::Set);
            }
            self.ui.add_space(theme::GAP);
        }
        self.former("rule");
    }

    /// What was set before.
    fn former(&mut self, place: &str) {
        let language = self.language();
        let kept = self.model.book.shelf.kept.as_ref();
        let changes = kept.map(|kept| &*kept.changes).unwrap_or_default();
        let own: Vec<_> = changes
            .iter()
            .filter(|one| one.place.starts_with(place))
            .cloned()
            .collect();
        self.ui.add_space(theme::GAP);
        parts::title(self.ui, language.say(Upkeep::Former));
        affairs::changed(self.ui, language, &own);
    }
}
