//! States of the screens, and the ways between them.

use std::time::Duration;

use eframe::egui::Key;
use fusion::Angle;
use sensor::Side;

use super::*;
use crate::window::model::{Look as Found, Model};
use crate::window::settings::Settings;

fn angle_deg(model: &Model) -> f64 {
    let leading = model.measure.course.leading.as_ref();
    leading.map_or(0.0, |reading| reading.angle.degrees())
}

#[test]
fn a_red_flag_stops_the_flow_with_the_usual_words() {
    let mut screen = Screened::new();
    screen.press("Measure a client");
    screen.write("Client's code", "c07");
    let question = "Calf pain with swelling, warmth or redness, or a known clot?";
    screen.pick(&format!("Yes: {question}"));
    screen.wants("Neither strap nor exercise; refer.");
    screen.press("Go on");
    assert_eq!(screen.harness.state().model.screen, Screen::Stopped);
    screen.wants("Not today: do not raise this leg.");
    screen.wants("Neither strap nor exercise; refer.");
    screen.press("Back to the questions");
    screen.pick(&format!("No: {question}"));
    screen.press("All answered No");
    screen.press("Go on");
    screen.wants("Strap a sensor to each shin");
}

#[test]
fn the_whole_way_goes_by_keys_alone() {
    let mut screen = Screened::new();
    screen.tab_to("Try it without a sensor");
    screen.key(Key::Enter);
    screen.wants("Ask each question aloud");
    screen.tab_to("All answered No");
    screen.key(Key::Space);
    screen.wants("Nothing stands against a raise");
    for sentence in [
        "These two sensors are invented",
        "Lay one sensor on the table",
        "Agree with the client",
        "right leg: client on the back",
    ] {
        let next = match sentence {
            "Agree with the client" => "Go on without",
            "right leg: client on the back" => "To the raises",
            _ => "Go on",
        };
        screen.tab_to(next);
        screen.key(Key::Enter);
        screen.wants(sentence);
    }
    staged::begin(&mut screen.harness.state_mut().model, Side::Right);
    screen.key(Key::Space);
    screen.key(Key::S);
    screen.key(Key::N);
    assert_eq!(screen.harness.state().model.measure.phase, Phase::Writing);
}

#[test]
fn a_raise_is_told_as_it_goes() {
    let mut screen = Screened::new();
    screen.stage(|model| {
        staged::at(model, Screen::Measure);
        staged::raise(model, Side::Right, |m| angle_deg(m) > 38.0);
    });
    let deg = Language::English.degrees(angle_deg(&screen.harness.state().model));
    screen.wants(&format!("Angle of the right leg: {deg}, plus or minus"));
    screen.wants(&format!("Side view: right leg at {deg}, other leg at"));
    screen.wants("Space at the first pull.");
    screen.wants("right 1: highest");
    for button in ["First pull", "Stop: pain", "Undo mark", "This leg is done"] {
        screen.harness.get_by_role_and_label(Role::Button, button);
    }
    screen.stage(|model| {
        staged::at(model, Screen::Measure);
        staged::raise(model, Side::Right, |m| m.measure.course.end().is_some());
    });
    screen.wants("End point. Lower the leg.");
    screen.wants(", end point ");
    screen.wants("by opposite leg");
    // Nothing comes any more.
    screen.harness.state_mut().model.now += Duration::from_secs(2);
    screen.harness.run_steps(2);
    screen.wants("No numbers from the sensor");
    screen.wants("the sensor is lost");
}

#[test]
fn a_round_is_left_out_with_a_reason() {
    let mut screen = Screened::new();
    screen.stage(|model| {
        staged::at(model, Screen::Measure);
        staged::raise(model, Side::Right, |m| m.measure.course.rounds.len() == 3);
    });
    screen.press("Leave out right 1");
    screen.wants("Why leave it out?");
    screen.press("a practice raise");
    screen.wants("left out: a practice raise");
    screen.press("Count right 1 again");
    assert!(!screen.says("left out: "));
}

#[test]
fn every_screen_is_drawn_in_both_languages_and_up_to_twice_the_size() {
    for (language, text_percent, width, height) in [
        (Language::English, 200, 1296.0, 736.0),
        (Language::English, 100, 3840.0, 2160.0),
        (Language::German, 100, 1296.0, 736.0),
    ] {
        let mut screen = Screened::sized(width, height);
        screen.stage(|model| {
            let settings = Settings {
                text_percent,
                language,
                ..model.settings.clone()
            };
            model.apply(Act::Set(Box::new(settings)));
            staged::at(model, Screen::Measure);
            staged::measured(model, Side::Right);
        });
        let others = [Screen::Settings, Screen::Start];
        for place in Screen::STEPS.into_iter().chain(others) {
            screen.harness.state_mut().act(Act::Go(place));
            // Fails where a control has no name, or a sign no glyph.
            screen.harness.run();
            assert_eq!(screen.harness.state().model.screen, place);
        }
    }
}

#[test]
fn an_empty_folder_and_a_full_one_are_looked_through() {
    let mut screen = Screened::new();
    screen.press("Open recordings");
    let is_found = |w: &Window| matches!(w.model.browse.look, Found::Found(_));
    screen.until("the folder", is_found);
    screen.wants("There are no recordings in this folder yet.");
    screen.wants("Make an invented data set");
    let data = screen.folder.path().join("data");
    for (client, leg) in [("a1", Side::Right), ("b2", Side::Left)] {
        let mut run = staged::person(leg, 3);
        run.id.subject = Some(client.to_owned());
        run.id.session = Some("01".to_owned());
        run.id.run = Some("01".to_owned());
        sensor::bids::write_run(&data, &run).unwrap();
    }
    screen.press("Open");
    screen.until("a recording", |w| w.model.browse.recording.is_some());
    screen.wants("Client a1");
    screen.wants("What the ± is made of");
    screen.wants("flesh under the strap: ±");
    screen.press_far("sub-b2/ses-01/run-01");
    screen.until("another one", |w| {
        w.model.browse.chosen != Some(0) && w.model.browse.recording.is_some()
    });
    screen.wants("Moment of the raise");
    screen.wants("Raise 1, left");
}

#[test]
fn sensors_tell_how_they_do_and_which_one_moved() {
    let mut screen = Screened::new();
    screen.stage(|model| {
        staged::at(model, Screen::Sensors);
        staged::checking(model);
    });
    screen.wants("Lift one leg a hand's breadth");
    screen.wants("sending");
    screen.wants("this one moved");
    screen.wants("100 of 100 samples a second · 0 lost · battery 84 %");
    screen.wants("silent");
    screen.wants("37 lost");
    screen.wants("agrees with itself");
    let health = &mut screen.harness.state_mut().model.sensors.health;
    health[0].agreement.turn = Some((Angle::from_degrees(14.0), Angle::from_degrees(28.0)));
    health[1].agreement.still_m_s2 = Some(1.0);
    screen.harness.run_steps(2);
    screen.wants("its two parts tell of different turns (28° apart): don't use it");
    screen.wants("feels 1.0 m/s² lying still, expected 9.8: don't use it");
}

#[test]
fn the_table_is_told_face_by_face_with_a_verdict() {
    let mut screen = Screened::new();
    screen.stage(|model| {
        staged::at(model, Screen::Flat);
        staged::level(model);
    });
    screen.wants("Good: all six faces. What is left in an angle: ± 0.07°");
    screen.wants("Level: leans 2.3°");
    screen.wants("Lies still for 1.8 of 3 s");
    screen.wants("2 of 6 faces done");
}

#[test]
fn damaged_settings_are_told() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("window.toml");
    std::fs::write(&path, "look = 7").unwrap();
    let window = Window::new(Some(path), Waker::none(), folder.path().join("scratch"));
    let told = window.model.told;
    assert!(
        told.len() == 1 && told[0].contains("could not be read"),
        "{told:?}"
    );
}

#[test]
fn a_message_stays_until_it_is_read_and_a_code_is_a_picture() {
    let mut screen = Screened::new();
    let rim = "█".repeat(29);
    let code = format!("hand marker: scan this\n{rim}\n{rim}\nhttps://192.168.0.2/#t=1");
    screen.stage(|model| {
        model.tell("a: b; c".to_owned());
        model.tell("a: b; c".to_owned());
        model.tell(code);
    });
    screen.wants("a: b; c");
    screen.wants("https://192.168.0.2/#t=1");
    let image = "Code for the phone's camera";
    screen.harness.get_by_role_and_label(Role::Image, image);
    assert_eq!(screen.harness.state().model.told.len(), 2);
    screen.press("Close message 2");
    screen.press("Close message 1");
    assert!(screen.harness.state().model.told.is_empty());
}

#[test]
fn every_screen_of_the_casebook_is_drawn_in_both_languages_and_up_to_twice_the_size() {
    for (language, text_percent) in [(Language::English, 200), (Language::German, 100)] {
        let mut screen = Screened::new();
        for place in [
            Screen::Clients,
            Screen::Drill,
            Screen::Pacer,
            Screen::Recheck,
            Screen::Weeks,
            Screen::Report,
        ] {
            screen.stage(|model| {
                let settings = Settings {
                    text_percent,
                    language,
                    ..model.settings.clone()
                };
                model.apply(Act::Set(Box::new(settings)));
                staged::booked(model, place);
            });
            // Fails where a control has no name, or a sign no glyph.
            screen.harness.run_steps(4);
            assert_eq!(screen.harness.state().model.screen, place);
        }
    }
}

#[test]
fn every_matter_and_chore_is_drawn_in_both_languages_and_up_to_twice_the_size() {
    use crate::window::model::{Chore, Matter};
    for (language, text_percent) in [(Language::English, 200), (Language::German, 100)] {
        let mut screen = Screened::new();
        let dress = |model: &mut Model| {
            let settings = Settings {
                text_percent,
                language,
                ..model.settings.clone()
            };
            model.apply(Act::Set(Box::new(settings)));
        };
        for matter in Matter::ALL {
            screen.stage(|model| {
                dress(model);
                staged::affairs(model, matter);
            });
            // Fails where a control has no name, or a sign no glyph.
            screen.harness.run_steps(4);
            assert_eq!(screen.harness.state().model.screen, Screen::Affairs);
        }
        for chore in Chore::ALL {
            screen.stage(|model| {
                dress(model);
                staged::shelf(model, chore);
            });
            screen.harness.run_steps(4);
            assert_eq!(screen.harness.state().model.screen, Screen::Shelf);
        }
    }
}
