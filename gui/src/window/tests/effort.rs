//! What a measurement asks of the practitioner: presses and seconds, for a client and sensors that are known.

use eframe::egui::Key;

use super::*;

/// The user guide says so many.
const PRESSES: usize = 11;
/// Of the two runs together, from the first number to the end of the third raise, s.
const RAISING_S: f64 = 110.0;

#[test]
fn a_known_client_takes_as_few_presses_as_the_guide_says() {
    let mut screen = Screened::new();
    let settings = &mut screen.harness.state_mut().model.settings;
    settings.sensors = ["shinright", "shinleft"]
        .map(|place| format!("{place}=synthetic:compensating,seed=3,fast"))
        .to_vec();
    screen.press("Measure a client");
    screen.write("Client's code", "c07");
    screen.press("All answered No");
    screen.press("Go on");
    screen.press("Check");
    // Fast sensors have said all they say, and the check has ended by itself.
    screen.until("the check", |w| {
        w.model.running.is_none() && w.model.sensors.health.len() == 2
    });
    screen.press("Go on");
    screen.press("Go on without");
    screen.press("To the raises");
    let mut raising_s = 0.0;
    for _ in 0..2 {
        screen.press("Start");
        let over = |w: &Window| {
            let rounds = w.model.measure.course.rounds.iter();
            rounds.filter(|r| !r.is_open).count()
        };
        screen.until("three raises", |w| 3 <= over(w));
        raising_s += screen.harness.state().model.measure.course.rounds[2].last_s;
        screen.harness.key_press(Key::N);
        screen.presses += 1;
        screen.harness.step();
        screen.until("the figures", |w| {
            w.model.measure.phase == Phase::Ready && w.model.running.is_none()
        });
    }
    assert_eq!(screen.harness.state().model.screen, Screen::Result);
    for side in sensor::Side::ALL {
        let result = screen.harness.state().model.measure.result(side).unwrap();
        assert!(3 <= result.summary.count, "{side}");
    }
    assert_eq!(screen.presses, PRESSES);
    assert!(raising_s <= RAISING_S, "{raising_s} s of raising");
}

#[test]
fn one_unit_that_moves_is_calibrated_for_both_legs() {
    let mut screen = Screened::new();
    let settings = &mut screen.harness.state_mut().model.settings;
    settings.sensors = vec!["shinright=synthetic:slow,seed=3,fast".to_owned()];
    screen.press("Measure a client");
    screen.write("Client's code", "c07");
    screen.press("All answered No");
    screen.press("Go on");
    screen.press("Go on");
    screen.press("Begin with the right shin");
    let motion = screen.folder.path().join("data/sub-c07/ses-01/motion");
    let of = |place: &str, run: &str| {
        motion.join(format!(
            "sub-c07_ses-01_task-flat_tracksys-{place}_run-{run}_motion.tsv"
        ))
    };
    screen.until("a flat recording for each leg", |w| {
        w.model.running.is_none() && of("shinleft", "02").exists()
    });
    assert!(of("shinright", "01").exists());
    screen.wants("Good: all six faces");
}
