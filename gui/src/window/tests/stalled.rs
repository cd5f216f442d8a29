//! A window that is covered, hidden or held up: what the sensors send is recorded all the same.

use std::time::Duration;

use sensor::bids::{read_run, search};

use super::*;

/// The window takes nothing and draws nothing for so long.
const STALL: Duration = Duration::from_secs(3);
/// Of the invented sensors, samples a second.
const RATE_HZ: f64 = 200.0;

#[test]
fn a_stalled_window_loses_no_sample() {
    let mut screen = Screened::new();
    screen.walk_to_measure("synthetic:slow,seed=3,hz=200");
    screen.press("Start");
    let has_reading = |w: &Window| w.model.measure.course.leading.is_some();
    screen.until("a reading", has_reading);
    std::thread::sleep(STALL);
    screen.key(eframe::egui::Key::N);
    let is_done = |w: &Window| w.model.measure.phase == Phase::Ready && w.model.running.is_none();
    screen.until("the figures", is_done);
    let found = search(&screen.folder.path().join("data")).unwrap().runs;
    let run = read_run(&found[0]).unwrap().run;
    assert_eq!(run.tracks.len(), 2);
    for track in run.tracks {
        let at_s: Vec<f64> = track.samples.iter().map(|s| s.at.s()).collect();
        let length_s = at_s.last().unwrap() - at_s[0];
        assert!(STALL.as_secs_f64() < length_s, "{length_s}");
        let widest_s = at_s.windows(2).map(|w| w[1] - w[0]).fold(0.0, f64::max);
        assert!(widest_s < 1.5 / RATE_HZ, "a hole of {widest_s} s");
    }
}
