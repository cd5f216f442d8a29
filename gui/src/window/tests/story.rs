//! An invented client over several visits, all through the window: from the first passphrase to the report.

use std::path::PathBuf;
use std::time::Duration;

use casebook::record::Purpose;
use sensor::Side;

use super::*;
use crate::window::model::{BookAct, Chosen};

pub(super) const WORDS: &str = "three small words";

impl Screened {
    pub(super) fn book_file(&self) -> PathBuf {
        self.folder.path().join("book/casebook.db")
    }

    /// Until the casebook has answered everything.
    pub(super) fn answered(&mut self) {
        self.until("the casebook's answer", |w| w.model.book.waiting == 0);
    }

    pub(super) fn make_book(&mut self) {
        let path = self.book_file();
        self.press("Open the casebook");
        self.pick("This casebook: Make a new one");
        let window = self.harness.state_mut();
        window.act(Act::Book(BookAct::Path(path.display().to_string())));
        window.model.book.reports = self.folder.path().join("reports");
        self.harness.run_steps(2);
        self.wants("Without the passphrase nobody reads the casebook");
        self.secret("Passphrase", WORDS);
        self.secret("The same again", WORDS);
        self.press("Make the casebook");
        self.answered();
        self.wants("There are no clients in this casebook yet.");
    }

    /// Types where nothing is shown.
    pub(super) fn secret(&mut self, label: &str, text: &str) {
        let role = Role::PasswordInput;
        self.harness.get_by_role_and_label(role, label).focus();
        self.harness.run_steps(2);
        let field = self.harness.get_by_role_and_label(role, label);
        field.type_text(text);
        self.harness.run_steps(2);
        assert!(!self.says(text), "the passphrase is on the screen");
    }

    pub(super) fn add_client(&mut self, name: &str, has_consent: bool) {
        self.press("New client");
        self.write("Name", name);
        self.write("Year of birth", "1988");
        if has_consent {
            self.pick("Consent to being recorded: Given today");
            self.write("Version of the text that was agreed to", "2026-01");
        }
        self.press("Write it down");
        self.answered();
        self.wants(name);
    }

    pub(super) fn use_sensors(&mut self, text: &str) {
        self.harness.state_mut().model.settings.sensors = ["shinright", "shinleft"]
            .map(|place| format!("{place}={text}"))
            .to_vec();
    }

    pub(super) fn chosen(&self) -> &Chosen {
        self.harness.state().model.book.chosen.as_deref().unwrap()
    }

    /// From the client's page to the first raise.
    pub(super) fn begin_visit(&mut self, label: &str) {
        self.press(&format!("Begin visit {label}"));
        self.wants(&format!("visit {label}"));
        self.press_far_button("All answered No");
        self.press_far("Do the legs feel tight?: Yes");
        self.press_far("Are other signs (pain, tingling, sleep) quiet?: Yes");
        self.press_far("Pain, 0 to 10: 2");
        self.press("Go on");
        self.answered();
        self.press("Go on");
        self.press("Go on without");
        self.press("To the raises");
    }

    pub(super) fn press_far_button(&mut self, label: &str) {
        self.harness
            .get_by_role_and_label(Role::Button, label)
            .click_accesskit();
        self.harness.run_steps(4);
    }

    /// Three raises of each leg, and the casebook's word on them.
    pub(super) fn raise_both(&mut self) {
        for _ in Side::ALL {
            self.press("Start");
            self.until("three raises", |w| {
                let rounds = w.model.measure.course.rounds.iter();
                3 <= rounds.filter(|r| !r.is_open).count()
            });
            self.key(eframe::egui::Key::N);
            self.until("the figures", |w| {
                w.model.measure.phase == Phase::Ready && w.model.running.is_none()
            });
            self.answered();
        }
    }
}

#[test]
fn an_invented_client_over_visits_from_the_passphrase_to_the_report() {
    let mut screen = Screened::new();
    screen.use_sensors("synthetic:compensating,seed=3,fast");
    screen.make_book();
    screen.add_client("Ana Invented", true);

    screen.begin_visit("01");
    screen.raise_both();
    assert_eq!(screen.harness.state().model.screen, Screen::Result);
    screen.wants("What the round says");
    screen.wants("the other leg moved");
    screen.wants("usual either way 5.0° ± 3.5°");
    screen.wants("Bands are the practitioner's own setting");
    // What the window shows is what the casebook keeps, and it came from the recordings.
    let decision = screen.chosen().decision.clone().unwrap();
    for found in &decision.sides {
        let mean = found.summary.mean.degrees();
        screen.wants(&Language::English.degrees(mean));
        assert!(3 <= found.summary.count);
    }
    let visit = screen.chosen().visit().unwrap().clone();
    assert_eq!(visit.rounds.len(), 2);
    assert!(visit.has_asked_cautions && visit.pain == Some(2));
    assert_eq!(
        (visit.feels_tight, visit.is_quiet),
        (Some(true), Some(true))
    );

    // A raise is set aside, kept so, and counted again.
    let label = "Leave out left 1";
    screen.press_far_button(label);
    screen.press_far_button("too fast");
    screen.answered();
    let is_aside = |visit: &casebook::record::Visit| {
        let mut rounds = visit.rounds.iter();
        rounds.any(|r| r.set_aside == [(0, "too fast".to_owned())])
    };
    assert!(is_aside(screen.chosen().visit().unwrap()));
    screen.press_far_button("Count left 1 again");
    screen.answered();
    assert_eq!(screen.chosen().decision.as_ref(), Some(&decision));

    practise(&mut screen);
    recheck(&mut screen);
    for label in ["02", "03"] {
        another_week(&mut screen, label);
    }
    course_and_reports(&mut screen);
}

/// A drill is chosen, paced to its end, and noted.
fn practise(screen: &mut Screened) {
    let drill = {
        let model = &screen.harness.state().model;
        let chosen = model.book.chosen.as_deref().unwrap();
        let found = &chosen.decision.as_ref().unwrap().sides[0];
        let proposal =
            casebook::drill::propose(&model.book.drills, found, &[], &chosen.account.bands);
        proposal.drills[0].drill.clone()
    };
    let choose = format!("Look at: {}", drill.name);
    let mut buttons = screen
        .harness
        .query_all_by_role_and_label(Role::Button, &choose);
    buttons
        .next()
        .expect("the drill is proposed")
        .click_accesskit();
    drop(buttons);
    screen.harness.run_steps(4);
    for text in [
        drill.aim.as_str(),
        "Set-up",
        "Held breath.",
        "Drawing of the drill",
    ] {
        screen.wants(text);
    }
    screen.press("To the pacer");
    // The clock is the test's own now, however slow the machine is.
    screen.harness.state_mut().is_still = true;
    screen.press_far_button("Start");
    screen.wants("get ready");
    let pace = screen.harness.state().model.pace.clone().unwrap();
    let second = pace.line.phases[1].clone();
    screen.pass(Duration::from_secs_f64(
        second.start_s + 0.5 * second.length_s,
    ));
    screen.harness.run_steps(3);
    screen.wants(&second.say);
    screen.wants("set 1 of ");
    screen.press_far_button("Pause");
    let stood_s = screen.pace_s();
    screen.pass(Duration::from_mins(1));
    screen.harness.run_steps(3);
    assert!((screen.pace_s() - stood_s).abs() < 1e-9, "a pause is none");
    screen.press_far_button("Go on");
    screen.pass(Duration::from_secs_f64(pace.line.length_s));
    screen.harness.run_steps(3);
    screen.wants("Done.");
    screen.harness.state_mut().is_still = false;
    screen.press("End the drill");
    screen.answered();
    let done = screen.chosen().visit().unwrap().drill.clone().unwrap();
    assert_eq!(done.key, drill.id);
    assert!(done.ended.is_some() && done.notes.starts_with("sets "));
}

impl Screened {
    pub(super) fn pass(&mut self, time: Duration) {
        let window = self.harness.state_mut();
        window.ahead += time;
        window.model.now += time;
        window.model.tick();
        self.harness.run_steps(3);
    }

    fn pace_s(&self) -> f64 {
        let model = &self.harness.state().model;
        model.pace.as_ref().unwrap().time_s(model.now)
    }
}

/// The same again, and what it says.
fn recheck(screen: &mut Screened) {
    let order = screen.chosen().first_round();
    let [(Side::Right, first), (Side::Left, second)] = order[..] else {
        panic!("{order:?}");
    };
    screen.wants(&format!(
        "Measure again now, as before: right leg, raises {first}, then left leg, raises {second}."
    ));
    screen.wants("a gain at once may be gone three minutes after");
    screen.press("Measure again");
    assert_eq!(screen.harness.state().model.screen, Screen::Measure);
    screen.wants(&format!(
        "After the drill: the right leg, raises {first}, as before."
    ));
    screen.raise_both();
    assert_eq!(screen.harness.state().model.screen, Screen::Recheck);
    screen.wants("This is what changed.");
    let found = screen.chosen().recheck.clone().unwrap().unwrap();
    assert_eq!(found.sides.len(), 2);
    for side in &found.sides {
        let word = if side.change.is_beyond_error() {
            "more than measurement error"
        } else {
            "within measurement error"
        };
        screen.wants(word);
        screen.wants(&Language::English.degrees(side.change.amount.degrees()));
    }
    screen.wants("Before the drill, from raise 1 to raise 3");
    let visit = screen.chosen().visit().unwrap();
    let again = visit
        .rounds
        .iter()
        .filter(|r| r.purpose == Purpose::Recheck);
    assert_eq!(again.count(), 2);
}

/// A week later the next visit.
fn another_week(screen: &mut Screened, label: &str) {
    screen.harness.state_mut().model.wall.pass_days(7);
    let seed = 3 + screen.harness.state().model.wall.passed_days();
    screen.use_sensors(&format!("synthetic:compensating,seed={seed},fast"));
    screen.press("Casebook");
    screen.begin_visit(label);
    screen.raise_both();
    assert_eq!(screen.chosen().visit().unwrap().session, label);
}

fn course_and_reports(screen: &mut Screened) {
    screen.press("To the course");
    screen.wants("End points of each leg, visit by visit.");
    screen.wants("Too few visits for a line");
    screen.wants("Proposal: ");
    screen.wants("Next visit ");
    let courses = screen.chosen().courses.clone();
    assert_eq!(courses.len(), 2);
    for (side, course) in &courses {
        assert_eq!(course.visits.len(), 3, "{side}: {:?}", course.left_out);
        let latest = course.visits.last().unwrap().summary.mean.degrees();
        screen.wants(&Language::English.degrees(latest));
    }
    screen.press_far_button("left leg: Move on to 60-90°");
    screen.answered();
    let plans = screen.chosen().account.plans.clone();
    assert!(
        plans
            .iter()
            .any(|(side, plan)| *side == Side::Left && plan.band == 2),
        "{plans:?}"
    );
    screen.press("Reports");
    screen.wants("Line to paste");
    screen.wants("SLR left");
    screen.press("For the file as HTML");
    screen.answered();
    let written = screen.harness.state().model.book.written.clone().unwrap();
    screen.wants(&written.display().to_string());
    let name = written.file_name().unwrap().to_string_lossy().into_owned();
    assert!(
        !name.contains("Ana"),
        "a name of a file holds no name: {name}"
    );
    let text = std::fs::read_to_string(&written).unwrap();
    assert!(text.contains("Ana Invented"));
    for (side, _) in &courses {
        let found = screen.chosen().decision.as_ref().unwrap();
        let mut sides = found.sides.iter();
        let of = sides.find(|f| f.summary.side == *side).unwrap();
        let whole = format!("{:.0}°", of.summary.mean.degrees());
        assert!(text.contains(&whole), "{whole} isn't in the report");
    }
    for visit in &screen.chosen().account.visits {
        for round in &visit.rounds {
            assert!(text.contains(&round.recording), "{}", round.recording);
            let motion = format!("data/{}", round.recording.replace("/run-", "/motion?run-"));
            let folder = motion.split_once('?').unwrap().0;
            assert!(screen.folder.path().join(folder).is_dir(), "{folder}");
        }
    }
    #[cfg(feature = "pdf")]
    {
        screen.press("For the client as PDF");
        screen.answered();
        let written = screen.harness.state().model.book.written.clone().unwrap();
        assert!(std::fs::read(written).unwrap().starts_with(b"%PDF"));
    }
}
