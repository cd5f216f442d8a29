//! What is kept of a client, and where it goes: one matter at a time, with what it does before it is done.

use casebook::store::Changed;
use eframe::egui::{Label, Ui};

use super::parts;
use crate::window::model::{Act, AffairsAct, BookAct, Chosen, Matter, Model};
use crate::window::theme;
use crate::window::words::{Desk, Language, Upkeep};

/// Changes that are listed, the latest first.
const CHANGES_MAX: usize = 60;
/// Other clients that are listed; words find them.
const OTHERS_MAX: usize = 8;
/// So much of a former value is shown.
const CHARS_MAX: usize = 200;
/// Width of the fields.
const FIELD: f32 = 420.0;

/// The choice, and the matter that was chosen.
pub(super) fn affairs(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let language = model.settings.language;
    let say = |phrase| language.say(phrase);
    let Some(chosen) = &model.book.chosen else {
        parts::now(ui, language.say(Desk::PickOne));
        return Vec::new();
    };
    let mut wanted = Vec::new();
    parts::now(ui, say(Upkeep::AffairsNow));
    let matters = Matter::ALL.map(|matter| (matter, say(name(matter))));
    let now = model.book.affairs.matter;
    if let Some(matter) = parts::choice(ui, say(Upkeep::Which), &matters, now) {
        wanted.push(AffairsAct::Matter(matter));
    }
    parts::card(ui, |ui| {
        ui.set_min_width(ui.available_width());
        let mut page = Page {
            ui,
            model,
            chosen,
            wanted: &mut wanted,
        };
        match now {
            Matter::History => page.history(),
            Matter::Consent => page.consent(),
            Matter::Give => page.give(),
            Matter::Move => page.move_run(),
            Matter::Merge => page.merge(),
            Matter::Forget => page.forget(),
        }
    });
    let act = |act| Act::Book(BookAct::Affairs(act));
    wanted.into_iter().map(act).collect()
}

const fn name(matter: Matter) -> Upkeep {
    match matter {
        Matter::History => Upkeep::History,
        Matter::Consent => Upkeep::Consent,
        Matter::Give => Upkeep::Give,
        Matter::Move => Upkeep::Move,
        Matter::Merge => Upkeep::Merge,
        Matter::Forget => Upkeep::Forget,
    }
}

/// What every matter draws with.
struct Page<'a> {
    ui: &'a mut Ui,
    model: &'a Model,
    chosen: &'a Chosen,
    wanted: &'a mut Vec<AffairsAct>,
}

impl Page<'_> {
    fn language(&self) -> Language {
        self.model.settings.language
    }

    fn say(&self, phrase: Upkeep) -> &'static str {
        self.language().say(phrase)
    }

    fn line(&mut self, text: &str) {
        self.ui.add(Label::new(text).wrap());
    }

    /// What the matter is, before anything else.
    fn about(&mut self, phrase: Upkeep) {
        let text = self.say(phrase);
        self.line(text);
        self.ui.add_space(theme::GAP);
    }

    fn reason(&mut self) {
        let label = self.language().say(Desk::Reason);
        let text = &self.model.book.affairs.reason;
        if let Some(text) = parts::field(self.ui, label, text, "", FIELD) {
            self.wanted.push(AffairsAct::Reason(text));
        }
        self.ui.add_space(theme::GAP);
    }

    /// The button that does it.
    fn press(&mut self, phrase: Upkeep, is_alarm: bool) {
        let is_free = self.model.book.waiting == 0;
        let button = parts::primary(self.say(phrase)).sized(eframe::egui::vec2(280.0, 52.0));
        let button = if is_alarm { button.alarm() } else { button };
        if self.ui.add_enabled(is_free, button).clicked() {
            self.wanted.push(AffairsAct::Do);
        }
    }

    fn history(&mut self) {
        let language = self.language();
        self.about(Upkeep::HistoryBody);
        let known = self.model.book.affairs.known.as_ref();
        let changes = known.map(|known| &*known.changes).unwrap_or_default();
        changed(self.ui, language, changes);
    }

    fn consent(&mut self) {
        let language = self.language();
        let Some(consent) = &self.chosen.account.client.consent else {
            return self.about(Upkeep::ConsentNever);
        };
        if let Some(day) = consent.withdrawn {
            let day = language.report().date(day);
            self.line(&language.fill(Upkeep::ConsentOver, &[&day]));
            return;
        }
        self.about(Upkeep::ConsentBody);
        self.reason();
        self.press(Upkeep::ConsentDo, false);
    }

    fn give(&mut self) {
        self.about(Upkeep::GiveBody);
        let folder = self.model.book.affairs.folder.display().to_string();
        let width = self.ui.available_width().min(theme::READ) - 20.0;
        let label = self.say(Upkeep::Folder);
        if let Some(text) = parts::field(self.ui, label, &folder, "", width) {
            self.wanted.push(AffairsAct::Folder(text));
        }
        self.ui.add_space(theme::GAP);
        self.press(Upkeep::GiveDo, false);
    }

    fn move_run(&mut self) {
        let language = self.language();
        self.about(Upkeep::MoveBody);
        let label = self.say(Upkeep::Recording);
        parts::soft(self.ui, label);
        let visits = &self.chosen.account.visits;
        if visits.iter().all(|visit| visit.rounds.is_empty()) {
            let text = self.say(Upkeep::RecordingNone);
            self.line(text);
        }
        for visit in visits.iter().rev() {
            let day = language.report().date(visit.date);
            for round in &visit.rounds {
                let run = round.recording.rsplit_once("run-");
                let run = run.map_or(round.recording.as_str(), |(_, run)| run);
                let text = language.fill(Upkeep::RunLine, &[&visit.session, run, &day]);
                let is_chosen = self.model.book.affairs.run.as_ref() == Some(&round.recording);
                let name = format!("{label}: {text}");
                if parts::pick(self.ui, &text, &name, is_chosen) {
                    let recording = round.recording.clone();
                    self.wanted.push(AffairsAct::Run(recording));
                }
            }
        }
        self.other();
        self.reason();
        self.press(Upkeep::MoveDo, false);
    }

    /// Another client, found by words and chosen: nobody is meant by a word that happens to fit.
    fn other(&mut self) {
        let language = self.language();
        let affairs = &self.model.book.affairs;
        self.ui.add_space(theme::GAP);
        let label = self.say(Upkeep::Other);
        let hint = language.say(Desk::FindHint);
        if let Some(text) = parts::field(self.ui, label, &affairs.words, hint, FIELD) {
            self.wanted.push(AffairsAct::Words(text));
        }
        let found: Vec<_> = affairs.others().take(OTHERS_MAX).collect();
        if found.is_empty() {
            let text = self.say(Upkeep::OtherNone);
            parts::soft(self.ui, text);
        }
        for one in found {
            let text = language.fill(Desk::Row, &[&one.name, &one.code]);
            let is_chosen = affairs.other.as_ref() == Some(&one.code);
            if parts::pick(self.ui, &text, &format!("{label}: {text}"), is_chosen) {
                self.wanted.push(AffairsAct::Other(one.code.clone()));
            }
        }
    }

    fn merge(&mut self) {
        let language = self.language();
        self.about(Upkeep::MergeBody);
        self.other();
        let affairs = &self.model.book.affairs;
        let other = affairs.known.iter().flat_map(|known| &known.others);
        let mut other = other.filter(|one| affairs.other.as_ref() == Some(&one.code));
        if let Some(other) = other.next() {
            let client = &self.chosen.account.client;
            let parts = [&*other.name, &other.code, &client.name, &client.code];
            self.line(&language.fill(Upkeep::MergeWhat, &parts));
        }
        self.reason();
        self.press(Upkeep::MergeDo, false);
    }

    fn forget(&mut self) {
        let language = self.language();
        let client = &self.chosen.account.client;
        let known = self.model.book.affairs.known.as_ref();
        let recordings = known.map_or(0, |known| known.recordings).to_string();
        let visits = self.chosen.account.visits.len().to_string();
        parts::title(
            self.ui,
            &language.fill(Desk::Row, &[&client.name, &client.code]),
        );
        self.line(&language.fill(Upkeep::ForgetBody, &[&recordings, &visits]));
        self.about(Upkeep::NotReached);
        let label = language.fill(Upkeep::ForgetTyped, &[&client.code, &client.name]);
        let typed = &self.model.book.affairs.typed;
        if let Some(text) = parts::field(self.ui, &label, typed, "", FIELD) {
            self.wanted.push(AffairsAct::Typed(text));
        }
        self.ui.add_space(theme::GAP);
        self.press(Upkeep::ForgetDo, true);
    }
}

/// Changes with what was before, when and why; the latest first.
pub(super) fn changed(ui: &mut Ui, language: Language, changes: &[Changed]) {
    if changes.is_empty() {
        parts::soft(ui, language.say(Upkeep::HistoryNone));
    }
    for one in changes.iter().rev().take(CHANGES_MAX) {
        let at = one.at.strftime("%Y-%m-%d %H:%M UTC").to_string();
        let text = language.fill(Upkeep::Changed, &[&at, &one.place, &one.field]);
        ui.add(Label::new(text).wrap());
        if let Some(former) = &one.former {
            let short: String = former.chars().take(CHARS_MAX).collect();
            let more = if short.len() < former.len() {
                "…"
            } else {
                ""
            };
            let text = language.fill(Upkeep::Was, &[&format!("{short}{more}")]);
            parts::soft(ui, &text);
        }
        if !one.reason.is_empty() {
            parts::soft(ui, &language.fill(Upkeep::Because, &[&one.reason]));
        }
    }
    let older = changes.len().saturating_sub(CHANGES_MAX);
    if 0 < older {
        parts::small(ui, &language.fill(Upkeep::Older, &[&older.to_string()]));
    }
}
