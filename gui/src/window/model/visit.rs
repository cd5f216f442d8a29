//! A visit of a client of the casebook: begun, asked, measured into, practised, measured again.

use casebook::Caution;
use casebook::record::Visit;
use casebook::store::may_record;
use sensor::Side;

use super::{
    BandChance, Cautions, Client, Effect, Fault, Flat, Measure, Model, Phase, QUESTIONS, Recorded,
    Screen, Sensors, SideResult, Why,
};
use crate::args::{ForWhom, Form as Shape, MadeArgs};
use crate::book::{BookFault, check_cautions, empty_visit};
use crate::window::desk::{Aside, Ask, Of, Take, Upkeep};
use crate::window::words::{Language, Phrase as _};

/// What else is asked at a visit.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(in crate::window) struct Asked {
    /// Whether the legs feel tight.
    pub(in crate::window) feels_tight: Option<bool>,
    /// Whether other signs are quiet.
    pub(in crate::window) is_quiet: Option<bool>,
    /// Pain, 0 to 10.
    pub(in crate::window) pain: Option<u8>,
    /// Where the pull is felt.
    pub(in crate::window) pull_felt: String,
    /// Warm-up before.
    pub(in crate::window) warm_up: String,
}

/// An answer of these.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::window) enum VisitAct {
    Tight(bool),
    Quiet(bool),
    Pain(u8),
    PullFelt(String),
    WarmUp(String),
}

impl Asked {
    pub(super) fn set(&mut self, act: VisitAct) {
        match act {
            VisitAct::Tight(is) => self.feels_tight = Some(is),
            VisitAct::Quiet(is) => self.is_quiet = Some(is),
            VisitAct::Pain(pain) => self.pain = Some(pain.min(10)),
            VisitAct::PullFelt(text) => self.pull_felt = text,
            VisitAct::WarmUp(text) => self.warm_up = text,
        }
    }

    fn of(visit: &Visit) -> Self {
        Self {
            feels_tight: visit.feels_tight,
            is_quiet: visit.is_quiet,
            pain: visit.pain,
            pull_felt: visit.pull_felt.clone(),
            warm_up: visit.warm_up.clone(),
        }
    }
}

impl Model {
    /// A new visit of the chosen client, from the first question on. Nothing is asked of somebody who didn't agree.
    pub(super) fn begin_visit(&mut self) -> Vec<Effect> {
        let Some(chosen) = &self.book.chosen else {
            return Vec::new();
        };
        if let Err(fault) = may_record(&chosen.account.client, self.civil.date()) {
            self.book.fault = Some(Fault::Command(BookFault::from(fault).into()));
            return Vec::new();
        }
        let (code, next) = (chosen.account.client.code.clone(), chosen.next.clone());
        self.put_client(code, next);
        self.go(Screen::Cautions)
    }

    /// The latest visit again: what was asked is known, what was measured is there.
    pub(super) fn resume_visit(&mut self) -> Vec<Effect> {
        let found = self.book.chosen.as_ref().and_then(|chosen| {
            let visit = chosen.account.visits.last()?;
            Some((chosen.account.client.code.clone(), visit.clone()))
        });
        let Some((code, visit)) = found else {
            return Vec::new();
        };
        self.put_client(code, visit.session.clone());
        self.asked = Asked::of(&visit);
        if visit.has_asked_cautions {
            self.cautions = Cautions::of(&visit.cautions);
            self.reached = if visit.rounds.is_empty() {
                Screen::Sensors
            } else {
                Screen::Result
            };
        }
        self.sum_up_booked();
        self.go(self.reached)
    }

    fn put_client(&mut self, code: String, visit: String) {
        self.client = Client {
            code,
            visit,
            is_try: false,
            is_booked: true,
        };
        self.asked = Asked::default();
        self.cautions = Cautions::default();
        self.sensors = Sensors::of(&self.settings.sensors);
        self.flat = Flat::default();
        self.pace = None;
        self.measure = Measure {
            leg: self.manner.leg,
            ..Measure::default()
        };
        self.reached = Screen::Cautions;
    }

    /// The visit as it was asked, for the casebook.
    fn visit_as_asked(&self, session: &str) -> Visit {
        let known = self.booked().and_then(|chosen| chosen.visit_of(session));
        let mut visit = known
            .cloned()
            .unwrap_or_else(|| empty_visit(session.to_owned(), self.civil.date()));
        visit.has_asked_cautions = true;
        visit.cautions = self.cautions.casebook();
        visit.feels_tight = self.asked.feels_tight;
        visit.is_quiet = self.asked.is_quiet;
        visit.pain = self.asked.pain;
        self.asked.pull_felt.trim().clone_into(&mut visit.pull_felt);
        self.asked.warm_up.trim().clone_into(&mut visit.warm_up);
        // What no drill asks about is a note.
        let marked = QUESTIONS.iter().zip(self.cautions.answers);
        for (question, _) in marked.filter(|(q, a)| *a == Some(true) && q.caution.is_none()) {
            let text = question.then.text(Language::English);
            if !visit.notes.contains(text) {
                let notes = format!("{} {text}", visit.notes);
                notes.trim().clone_into(&mut visit.notes);
            }
        }
        visit
    }

    /// Puts the answers into the casebook once they are complete, or one of them stops the test.
    pub(super) fn keep_answers(&mut self) -> Vec<Effect> {
        use super::Verdict;
        let is_complete = !matches!(self.cautions.verdict(), Verdict::Asking(_));
        let Some(Of { code, session }) = self.of_visit().filter(|_| is_complete) else {
            return Vec::new();
        };
        let visit = self.visit_as_asked(&session);
        let known = self.booked().and_then(|chosen| chosen.visit_of(&session));
        if known == Some(&visit) {
            return Vec::new();
        }
        self.ask(Ask::Visit(code, Box::new(visit)))
    }

    /// Whether anything may be recorded of the client now. Somebody with a bare code is the practitioner's business.
    pub(super) fn may_record(&self) -> Result<(), Fault> {
        let Some(Of { code, session }) = self.of_visit() else {
            return Ok(());
        };
        let chosen = self.booked().ok_or(Fault::NotKept)?;
        let visit = chosen.visit_of(&session).ok_or(Fault::NotKept)?;
        let consent = may_record(&chosen.account.client, self.civil.date());
        consent.map_err(|fault| Fault::Command(BookFault::from(fault).into()))?;
        check_cautions(&code, visit).map_err(Fault::Command)
    }

    /// Whether a round may follow: consent may have ended since the last one. If it has, says so.
    pub(super) fn may_go_on(&mut self) -> bool {
        let Some(chosen) = self.booked() else {
            return true;
        };
        let Err(fault) = may_record(&chosen.account.client, self.civil.date()) else {
            return true;
        };
        let fault = Fault::Command(BookFault::from(fault).into());
        self.tell(self.settings.language.fault(&fault));
        false
    }

    /// Has the casebook take the run that has just been recorded.
    pub(super) fn take_run(&mut self) -> Vec<Effect> {
        let (Some(of), Some(recorded)) = (self.of_visit(), self.measure.recorded.last()) else {
            return Vec::new();
        };
        let outs = recorded.outs.iter().enumerate();
        let asides = outs.filter_map(|(place, out)| Some(aside(recorded, place, Some((*out)?))));
        let asides = asides.collect();
        self.ask(Ask::Take(Take { of, asides }))
    }

    /// Has the casebook set a raise aside, or count it again.
    pub(super) fn keep_aside(&mut self, run: usize, raise: usize, why: Option<Why>) -> Vec<Effect> {
        let recorded = self.measure.recorded.get(run);
        let (Some(of), Some(recorded)) = (self.of_visit(), recorded) else {
            return Vec::new();
        };
        let aside = aside(recorded, raise, why);
        self.ask(Ask::Aside(of, aside))
    }

    /// What the casebook makes of the visit stands in the place of what the window alone would.
    pub(super) fn sum_up_booked(&mut self) {
        let Some(chosen) = self.booked() else {
            return;
        };
        let all = &chosen.account.bands;
        let decision = chosen.decision.as_ref();
        let edge = |at: usize| all.edges().get(at).map(|edge| edge.degrees());
        let of = |side| {
            let mut sides = decision?.sides.iter();
            let found = sides.find(|found| found.summary.side == side)?;
            let chance = |one: &casebook::BandChance| BandChance {
                from_deg: one.band.checked_sub(1).and_then(edge),
                to_deg: edge(one.band),
                chance: one.chance,
            };
            Some(SideResult {
                summary: found.summary,
                bands: found.named.iter().map(chance).collect(),
            })
        };
        self.measure.results = Side::ALL.map(of);
    }

    /// The legs that were raised before the drill, again in their order.
    pub(super) fn begin_recheck(&mut self) -> Vec<Effect> {
        if !self.may_go_on() {
            return Vec::new();
        }
        let order = self.booked().map(super::Chosen::first_round);
        let order = order.unwrap_or_default();
        let Some((leg, _)) = order.first().copied() else {
            return Vec::new();
        };
        let results = self.measure.results.clone();
        self.measure = Measure {
            leg,
            results,
            again: order,
            ..Measure::default()
        };
        self.go(Screen::Measure)
    }

    /// After a run: the next leg, or what came of it.
    pub(super) fn after_run(&mut self) {
        let again = self.measure.again.clone();
        if again.is_empty() {
            if self.measure.is_complete() {
                self.reached = Screen::Result;
                if self.screen == Screen::Measure {
                    self.screen = Screen::Result;
                }
            }
            return;
        }
        match again.iter().find(|(side, _)| !self.measure.has(*side)) {
            Some((side, _)) => self.measure.leg = *side,
            None if self.screen == Screen::Measure && self.measure.phase == Phase::Ready => {
                self.screen = Screen::Recheck;
            }
            None => {}
        }
    }

    pub(super) fn set_plan(&mut self, side: Side, band: usize) -> Vec<Effect> {
        let since = Some(self.civil.date());
        let code = self.book.chosen.as_ref();
        let Some(code) = code.map(|chosen| chosen.account.client.code.clone()) else {
            return Vec::new();
        };
        self.ask(Ask::Plan(
            code,
            side,
            casebook::course::Plan { band, since },
        ))
    }

    pub(super) fn report(&mut self, whom: ForWhom, form: Shape) -> Vec<Effect> {
        let Some(chosen) = &self.book.chosen else {
            return Vec::new();
        };
        let code = chosen.account.client.code.clone();
        let day = self.civil.date();
        let (word, end) = (
            match whom {
                // For other programs.
                _ if form == Shape::Csv => "raises",
                _ if form == Shape::Fhir => "health-record",
                ForWhom::Client => "client",
                ForWhom::File => "file",
                ForWhom::Referrer => "referrer",
            },
            match form {
                Shape::Pdf => "pdf",
                Shape::Html => "html",
                Shape::Csv => "csv",
                Shape::Fhir => "json",
                Shape::Note => "txt",
            },
        );
        // The code, never the name: a name of a file is seen by whoever looks at the folder.
        let out = self.book.reports.join(format!("{code}-{word}-{day}.{end}"));
        let made = MadeArgs {
            whom,
            form,
            out: Some(out),
            visit: None,
            language: self.settings.language.report(),
            day: Some(day),
            // As programs for tables of that language read it.
            semicolon: self.settings.language == Language::German,
        };
        self.book.written = None;
        self.ask(Ask::Report(code, Box::new(made)))
    }

    /// Recordings that may be passed on, beside the reports.
    pub(super) fn share(&mut self) -> Vec<Effect> {
        let Some(chosen) = &self.book.chosen else {
            return Vec::new();
        };
        let code = chosen.account.client.code.clone();
        let folder = format!("{code}-to-pass-on-{}", self.civil.date());
        let to = self.book.reports.join(folder);
        self.book.written = None;
        self.ask(Ask::Upkeep(Upkeep::Share(code, to)))
    }
}

fn aside(recorded: &Recorded, place: usize, why: Option<Why>) -> Aside {
    Aside {
        recording: recorded.id.clone(),
        number: place + 1,
        is_out: why.is_some(),
        reason: why.map_or("counted again", Why::as_str).to_owned(),
    }
}

impl Cautions {
    /// What was answered with yes, as the casebook has it.
    pub(super) fn casebook(&self) -> Vec<Caution> {
        let answered = QUESTIONS.iter().zip(self.answers);
        let yes = answered.filter(|(_, answer)| *answer == Some(true));
        yes.filter_map(|(question, _)| question.caution).collect()
    }

    /// As they were answered before: all of them, these with yes.
    fn of(cautions: &[Caution]) -> Self {
        let is_yes = |question: &super::cautions::Question| {
            question.caution.is_some_and(|own| cautions.contains(&own))
        };
        Self {
            answers: QUESTIONS.each_ref().map(|question| Some(is_yes(question))),
        }
    }
}
