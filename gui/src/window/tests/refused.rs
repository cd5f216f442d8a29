//! What the casebook refuses, and how it is told; and a drill without it.

use std::time::Duration;

use casebook::store::{Passphrase, Store};

use super::story::WORDS;
use super::*;
use crate::window::model::{BookAct, PaceAct};

#[test]
fn a_red_flag_goes_into_the_casebook_and_nothing_is_recorded() {
    let mut screen = Screened::new();
    screen.use_sensors("synthetic:slow,fast");
    screen.make_book();
    screen.add_client("Ben Invented", true);
    screen.press("Begin visit 01");
    let question = "Calf pain with swelling, warmth or redness, or a known clot?";
    screen.pick(&format!("Yes: {question}"));
    screen.press("Go on");
    screen.answered();
    assert_eq!(screen.harness.state().model.screen, Screen::Stopped);
    screen.wants("Neither strap nor exercise; refer.");
    screen.wants("The answers are in the casebook");
    let visit = screen.chosen().visit_of("01").unwrap();
    assert_eq!(visit.cautions, [casebook::Caution::Clot]);
    screen.press("Next client");
    screen.wants("stopped by a caution");
    assert!(!screen.folder.path().join("data").exists());
}

#[test]
fn nobody_is_recorded_without_consent_or_after_it_was_taken_back() {
    let mut screen = Screened::new();
    screen.make_book();
    screen.add_client("Cy Invented", false);
    screen.press("Begin visit 01");
    screen.wants("This client has given no consent.");
    assert_eq!(screen.harness.state().model.screen, Screen::Clients);
    screen.press("Change what is written");
    screen.pick("Consent to being recorded: Given today");
    screen.press("Write it down");
    screen.wants("Write to which version of the text consent was given.");
    screen.write("Version of the text that was agreed to", "2026-01");
    screen.press("Write it down");
    screen.answered();
    // Taken back in the middle of a visit: the raises can't begin.
    screen.use_sensors("synthetic:slow,fast");
    screen.begin_visit("01");
    let today = screen.harness.state().model.civil.date();
    let chosen = screen
        .harness
        .state_mut()
        .model
        .book
        .chosen
        .as_mut()
        .unwrap();
    chosen.account.client.consent.as_mut().unwrap().withdrawn = Some(today);
    screen.press("Start");
    screen.wants("This client took consent back on");
    assert_eq!(screen.harness.state().model.running, None);
    screen.press("Casebook");
    screen.press("Change what is written");
    screen.pick("Consent to being recorded: Taken back today");
    screen.write("Name", " or Cyn");
    screen.press("Write it down");
    screen.answered();
    screen.wants("Say why it is changed");
    screen.write("Why it is changed", "asked for it");
    screen.press("Write it down");
    screen.answered();
    screen.wants("nothing is recorded any more");
    screen.press("Begin visit 02");
    screen.wants("This client took consent back on");
    assert!(!screen.folder.path().join("data").exists());
}

#[test]
fn a_wrong_passphrase_and_a_casebook_that_is_open_elsewhere_are_told() {
    let mut screen = Screened::new();
    let path = screen.book_file();
    let other = Store::create(&path, &Passphrase::new(WORDS)).unwrap();
    screen.press("Open the casebook");
    let text = path.display().to_string();
    screen
        .harness
        .state_mut()
        .act(Act::Book(BookAct::Path(text)));
    screen.harness.run_steps(2);
    screen.secret("Passphrase", WORDS);
    screen.press("Open");
    screen.answered();
    screen.wants("The casebook is open in another program");
    drop(other);
    screen.secret("Passphrase", "three wrong words");
    screen.press("Open");
    screen.answered();
    screen.wants("This passphrase doesn't open it.");
    screen.secret("Passphrase", WORDS);
    screen.press("Open");
    screen.answered();
    screen.wants("There are no clients in this casebook yet.");
    // Closed again, others have it.
    screen.press("Close the casebook");
    screen.answered();
    Store::open(&path, &Passphrase::new(WORDS)).unwrap();
    // Too short a passphrase makes no casebook.
    screen.pick("This casebook: Make a new one");
    let text = screen.folder.path().join("new.db").display().to_string();
    screen
        .harness
        .state_mut()
        .act(Act::Book(BookAct::Path(text)));
    screen.harness.run_steps(2);
    screen.secret("Passphrase", "short");
    screen.secret("The same again", "other");
    screen.press("Make the casebook");
    screen.wants("The two passphrases differ.");
    screen.harness.state_mut().model.book.again = screen.harness.state().model.book.phrase.clone();
    screen.press("Make the casebook");
    screen.answered();
    screen.wants("The passphrase must have 10 characters or more.");
}

#[test]
fn a_drill_ended_early_is_noted_as_far_as_it_went() {
    let mut screen = Screened::new();
    let mut window_now = screen.harness.state().model.now;
    let model = &mut screen.harness.state_mut().model;
    model.book.drills = casebook::drill::shipped();
    model.apply(Act::Pace(PaceAct::Choose(
        "calves-up-long-breath".to_owned(),
    )));
    model.apply(Act::Pace(PaceAct::Go));
    model.apply(Act::Pace(PaceAct::Sets(99)));
    let pace = model.pace.clone().unwrap();
    assert_eq!(
        pace.choice.sets, pace.drill.dose.sets.most,
        "not more than the drill allows"
    );
    model.settings.has_sound = true;
    model.apply(Act::Pace(PaceAct::Start));
    let mut heard = Vec::new();
    while !model.pace.as_ref().unwrap().is_done(window_now) {
        window_now += Duration::from_millis(100);
        model.now = window_now;
        for effect in model.tick() {
            if let crate::window::model::Effect::Sound(cue) = effect {
                heard.push(cue);
            }
        }
    }
    // One for each phase, and one for the end.
    assert_eq!(heard.len(), pace.line.phases.len() + 1);
    assert_eq!(heard.last(), Some(&crate::window::model::Cue::Done));
}
