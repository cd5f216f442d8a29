//! What is kept of a client and where it goes; the casebook's own care. With what is refused.

use std::path::{Path, PathBuf};

use casebook::store::{Passphrase, Store};
use sensor::bids::recordings_of;

use super::story::WORDS;
use super::*;
use crate::window::model::{AffairsAct, BookAct, PaceAct, ShelfAct};

impl Screened {
    fn matter(&mut self, name: &str) {
        self.press_far(&format!("What is to be done: {name}"));
    }

    fn pick_starting(&mut self, start: &str) {
        let label = {
            let nodes = self.harness.query_all_by_role(Role::RadioButton);
            let labels = nodes.filter_map(|n| n.accesskit_node().label());
            labels.into_iter().find(|label| label.starts_with(start))
        };
        self.press_far(&label.unwrap_or_else(|| panic!("{start}\n{}", self.all())));
    }

    /// Presses, and waits for the casebook's word.
    fn does(&mut self, label: &str) {
        self.press_far_button(label);
        self.answered();
    }

    fn write_far(&mut self, label: &str, text: &str) {
        let node = |harness: &Harness<'static, Window>| {
            let node = harness.get_by_role_and_label(Role::TextInput, label);
            node.focus();
        };
        node(&self.harness);
        self.harness.run_steps(3);
        let field = self.harness.get_by_role_and_label(Role::TextInput, label);
        field.type_text(text);
        self.harness.run_steps(2);
    }

    fn set_folder(&mut self, folder: &Path) {
        let text = folder.display().to_string();
        let act = AffairsAct::Folder(text);
        self.harness
            .state_mut()
            .act(Act::Book(BookAct::Affairs(act)));
        self.harness.run_steps(2);
    }

    fn on_shelf(&mut self, act: ShelfAct) {
        self.harness.state_mut().act(Act::Book(BookAct::Shelf(act)));
        self.harness.run_steps(2);
    }

    fn data(&self) -> PathBuf {
        self.folder.path().join("data")
    }

    /// A client with a visit of two runs; the code.
    fn measured_client(&mut self, name: &str) -> String {
        self.add_client(name, true);
        self.begin_visit("01");
        self.raise_both();
        let code = self.chosen().account.client.code.clone();
        self.press("Casebook");
        code
    }
}

#[test]
fn what_is_kept_is_shown_moved_handed_over_joined_and_forgotten() {
    let mut screen = Screened::new();
    screen.use_sensors("synthetic:compensating,seed=3,fast");
    screen.make_book();
    screen.add_client("Bo Other", true);
    let other = screen.chosen().account.client.code.clone();
    let code = screen.measured_client("Ana Invented");
    screen.press("Change what is written");
    screen.write("Name", " Ruiz");
    screen.write("Why it is changed", "married");
    screen.press("Write it down");
    screen.answered();
    exports(&mut screen, &code);
    screen.press("Back");
    screen.does("What is kept");
    screen.wants("was: Ana Invented");
    screen.wants("why: married");
    moves(&mut screen, [&code, &other]);
    hands_over(&mut screen, &code);
    takes_consent_back(&mut screen);
    joins(&mut screen, [&code, &other]);
    forgets(&mut screen, &code);
}

/// Files for other programs; the same folder isn't written into twice.
fn exports(screen: &mut Screened, code: &str) {
    screen.press("Reports");
    let written = |screen: &Screened| {
        let path = screen.harness.state().model.book.written.clone().unwrap();
        screen.wants(&path.display().to_string());
        std::fs::read_to_string(path).unwrap()
    };
    screen.does("Table of all raises, as CSV");
    let table = written(screen);
    let visit = screen.chosen().visit().unwrap().clone();
    let raises: usize = visit.rounds.iter().map(|r| r.raises.len()).sum();
    assert_eq!(table.trim_end().lines().count(), 1 + raises);
    screen.does("Results for a health record, as FHIR");
    let bundle = written(screen);
    assert!(bundle.contains("\"Bundle\"") && bundle.contains(code) && !bundle.contains("Ruiz"));
    screen.does("Recordings to pass on");
    screen.wants("Recordings to pass on: 2, in ");
    screen.does("Recordings to pass on");
    screen.wants("There is something in the folder");
}

fn moves(screen: &mut Screened, [code, other]: [&str; 2]) {
    screen.matter("Move a recording");
    screen.does("Move it");
    screen.wants("Choose the recording first.");
    screen.pick_starting("Recording: Visit 01, run 02");
    screen.does("Move it");
    screen.wants("Choose the other client first.");
    screen.pick_starting("The other client: Bo Other");
    screen.does("Move it");
    screen.wants("Say why it is changed");
    assert_eq!(recordings_of(&screen.data(), other).len(), 0);
    screen.write_far("Why it is changed", "the wrong page was open");
    screen.does("Move it");
    screen.wants(&format!("Moved: it is sub-{other}/ses-01/run-01 now."));
    assert_eq!(screen.chosen().visit_of("01").unwrap().rounds.len(), 1);
    for code in [code, other] {
        assert_eq!(recordings_of(&screen.data(), code).len(), 1);
    }
}

fn hands_over(screen: &mut Screened, code: &str) {
    screen.matter("Hand everything over");
    screen.wants("It names the client and isn't encrypted.");
    let data = screen.data();
    screen.set_folder(&data);
    screen.does("Write everything");
    screen.wants("There is something in the folder");
    let folder = screen.folder.path().join("handed");
    screen.set_folder(&folder);
    screen.does("Write everything");
    screen.wants("Everything is in ");
    let record = std::fs::read_to_string(folder.join("record.json")).unwrap();
    assert!(record.contains("Ana Invented Ruiz") && record.contains("married"));
    assert!(folder.join("raises.csv").is_file() && folder.join("report.html").is_file());
    assert_eq!(recordings_of(&folder.join("recordings"), code).len(), 1);
}

fn takes_consent_back(screen: &mut Screened) {
    screen.matter("Take consent back");
    screen.wants("From today on nothing is recorded of this client.");
    screen.write_far("Why it is changed", "asked for it");
    screen.does("Take consent back today");
    screen.wants("Consent was taken back on ");
    screen.matter("Look at changes");
    screen.wants("why: asked for it");
    screen.press("Back");
    screen.press("Begin visit 02");
    screen.wants("This client took consent back on");
    screen.does("What is kept");
}

fn joins(screen: &mut Screened, [code, other]: [&str; 2]) {
    screen.matter("Join two entries");
    screen.does("Join them");
    screen.wants("Choose the other client first.");
    screen.write_far("The other client", "nobody of this name");
    screen.wants("There is no other client that these words fit.");
    screen.matter("Look at changes");
    screen.matter("Join two entries");
    screen.pick_starting("The other client: Bo Other");
    screen.wants(&format!(
        "Bo Other ({other}) would become part of Ana Invented Ruiz ({code})."
    ));
    screen.write_far("Why it is changed", "entered twice");
    screen.does("Join them");
    screen.wants(&format!("{other} is part of this client now"));
    assert_eq!(screen.harness.state().model.book.clients.len(), 1);
    assert_eq!(recordings_of(&screen.data(), code).len(), 2);
    assert_eq!(recordings_of(&screen.data(), other).len(), 0);
}

fn forgets(screen: &mut Screened, code: &str) {
    screen.matter("Forget the client");
    screen.wants("Erased for good: recordings 2, visits 2");
    screen.wants("Not reached from here: backups");
    let field = format!("To be sure, type {code} or Ana Invented Ruiz");
    screen.write_far(&field, "Ana");
    screen.does("Erase for good");
    screen.wants("What is typed is neither the code nor the name");
    assert_eq!(recordings_of(&screen.data(), code).len(), 2);
    screen.write_far(&field, " Invented Ruiz");
    screen.does("Erase for good");
    assert_eq!(screen.harness.state().model.screen, Screen::Clients);
    screen.wants(&format!("{code} is erased: recordings 2"));
    screen.wants("Not reached from here: backups");
    screen.wants("There are no clients in this casebook yet.");
    assert!(!screen.data().join(format!("sub-{code}")).exists());
}

#[test]
fn the_casebook_is_copied_restored_and_set_as_its_owner_wants() {
    let mut screen = Screened::new();
    screen.make_book();
    screen.add_client("Ana Invented", true);
    screen.does("Look after the casebook");
    let copy = screen.folder.path().join("apart/copy.db");
    std::fs::create_dir_all(copy.parent().unwrap()).unwrap();
    screen.on_shelf(ShelfAct::To(copy.display().to_string()));
    screen.wants("Who is forgotten here stays in it.");
    screen.does("Make the copy");
    screen.wants("A checked copy is in ");
    screen.does("Make the copy");
    screen.wants("There is a file at ");
    drop(Store::open(&copy, &Passphrase::new(WORDS)).unwrap());
    bands(&mut screen);
    rules(&mut screen);
    due(&mut screen);
    restores(&mut screen, &copy);
}

fn bands(screen: &mut Screened) {
    screen.matter("Bands");
    screen.wants("These are your own settings, not norms");
    screen.on_shelf(ShelfAct::Edges("45 sixty".to_owned()));
    screen.does("Set it");
    screen.wants("These are no numbers.");
    screen.on_shelf(ShelfAct::Edges("70 40".to_owned()));
    screen.does("Set it");
    screen.wants("The edge at 40° isn't above the one before.");
    screen.on_shelf(ShelfAct::Edges("40, 70".to_owned()));
    screen.does("Set it");
    screen.wants("It is set");
    screen.wants("Band 3: ");
    assert!(!screen.says("Band 4: "));
    screen.on_shelf(ShelfAct::Edges("40 75".to_owned()));
    screen.does("Set it");
    screen.wants("Say why it is changed");
    screen.write_far("Why it is changed", "own clients");
    screen.does("Set it");
    screen.wants("was: 40 70");
    screen.wants("why: own clients");
    let model = &screen.harness.state().model;
    let chosen = model.book.chosen.as_ref().unwrap();
    for bands in [&model.book.bands, &chosen.account.bands] {
        let edges: Vec<f64> = bands.edges().iter().map(|e| e.degrees()).collect();
        assert!(
            (edges[1] - 75.0).abs() < 1e-9 && edges.len() == 2,
            "{edges:?}"
        );
    }
}

fn rules(screen: &mut Screened) {
    screen.matter("Rules");
    let about = "A re-check begins within this time after the drill";
    screen.wants(&format!("{about} = 180 s"));
    screen.wants("DePino et al.");
    screen.press_far_button(&format!("Change {about}"));
    screen.on_shelf(ShelfAct::Value("9999".to_owned()));
    screen.does("Set it");
    screen.wants("may be from 30 to 3600 s. Correct the number.");
    screen.on_shelf(ShelfAct::Value("240".to_owned()));
    screen.does("Set it");
    screen.wants(&format!("{about} = 240 s (as shipped 180)"));
    let rules = screen.chosen().account.rules;
    assert_eq!(rules.get("recheck_within_s"), Some(240.0));
}

fn due(screen: &mut Screened) {
    screen.matter("Whose time is over");
    screen.wants("No time is set after which clients are due.");
    screen.wants("Nobody is due.");
    screen.on_shelf(ShelfAct::Months("a year".to_owned()));
    screen.does("Set it");
    screen.wants("This is no number of months.");
    screen.on_shelf(ShelfAct::Months("12".to_owned()));
    screen.harness.state_mut().model.wall.pass_days(400);
    screen.harness.run_steps(2);
    screen.does("Set it");
    screen.wants("Now kept for 12 months.");
    let code = screen.chosen().account.client.code.clone();
    screen.does(&format!("Look at Ana Invented ({code})"));
    assert_eq!(screen.harness.state().model.screen, Screen::Clients);
    screen.does("Look after the casebook");
}

fn restores(screen: &mut Screened, copy: &Path) {
    screen.matter("Restore a backup");
    screen.wants("put aside under another name, not erased");
    screen.on_shelf(ShelfAct::From(copy.display().to_string()));
    screen.secret("Passphrase of the backup", "three wrong words");
    screen.does("Put it in the casebook's place");
    screen.wants("This passphrase doesn't open it.");
    assert!(screen.harness.state().model.book.is_open, "it stays open");
    screen.secret("Passphrase of the backup", WORDS);
    screen.does("Put it in the casebook's place");
    screen.wants("The backup is the casebook now. The former one is ");
    let model = &screen.harness.state().model;
    assert_eq!(model.screen, Screen::Clients);
    assert_eq!(model.book.bands, casebook::Bands::default());
    assert_eq!(model.book.clients.len(), 1);
    // Also where the casebook can't be opened.
    screen.does("Close the casebook");
    screen.press("Restore a backup");
    screen.on_shelf(ShelfAct::From("/nowhere/copy.db".to_owned()));
    screen.secret("Passphrase of the backup", WORDS);
    screen.does("Put it in the casebook's place");
    screen.wants("There is no casebook at /nowhere/copy.db.");
    screen.press("Back");
    assert_eq!(screen.harness.state().model.screen, Screen::Book);
}

#[test]
fn no_round_follows_after_consent_ended() {
    let mut screen = Screened::new();
    for act in [Act::Go(Screen::Measure), Act::Pace(PaceAct::Recheck)] {
        screen.stage(|model| {
            staged::booked(model, Screen::Weeks);
            model.apply(Act::AnswerAllNo);
            let chosen = model.book.chosen.as_mut().unwrap();
            let client = &mut chosen.account.client;
            client.consent.as_mut().unwrap().withdrawn = Some(model.civil.date());
        });
        screen.harness.state_mut().act(act);
        screen.harness.run_steps(2);
        let model = &screen.harness.state().model;
        assert_eq!(model.screen, Screen::Weeks);
        assert!(model.measure.again.is_empty());
        screen.wants("This client took consent back on");
    }
}

#[test]
fn the_time_for_a_recheck_is_that_of_the_rules() {
    let mut screen = Screened::new();
    let ago = |seconds: i64| {
        move |model: &mut model::Model| {
            staged::booked(model, Screen::Recheck);
            let civil = model.civil;
            let chosen = model.book.chosen.as_mut().unwrap();
            chosen.account.rules.set("recheck_within_s", 60.0).unwrap();
            chosen.recheck = None;
            let session = chosen.session.clone();
            let mut visits = chosen.account.visits.iter_mut();
            let visit = visits.find(|v| Some(&v.session) == session.as_ref());
            let ended = civil.saturating_sub(jiff::Span::new().seconds(seconds));
            visit.unwrap().drill = Some(casebook::record::DrillDone {
                key: "calves-up-long-breath".to_owned(),
                name: "Calves up".to_owned(),
                ended: Some(ended),
                notes: String::new(),
            });
        }
    };
    screen.stage(ago(20));
    screen.wants("Begin within 40 s");
    screen.stage(ago(70));
    screen.wants("More than 60 s have passed since the drill");
}

#[test]
fn a_client_is_forgotten_by_keys_alone_and_not_while_a_recording_goes_on() {
    use crate::window::model::{Matter, Purpose};
    let mut screen = Screened::new();
    screen.stage(|model| staged::affairs(model, Matter::Forget));
    screen.tab_to("Erase for good");
    screen.key(eframe::egui::Key::Enter);
    screen.wants("What is typed is neither the code nor the name");
    let model = &mut screen.harness.state_mut().model;
    let code = model.book.affairs.known.as_ref().unwrap().code.clone();
    model.book.affairs.typed = code;
    model.running = Some(Purpose::Check);
    // The focus stays on the button, whatever is told above it.
    model.tell("a: b; c".to_owned());
    screen.harness.run_steps(3);
    screen.key(eframe::egui::Key::Enter);
    screen.wants("A recording goes on. End it first");
    screen.key(eframe::egui::Key::Escape);
    assert_eq!(screen.harness.state().model.screen, Screen::Clients);
}
