//! The simulated people against what people do, and the demo against its plan.

use super::check::{samples, turn, vector};
use super::vector::Vector;
use super::*;
use crate::Side;

#[test]
fn every_run_keeps_the_promises_of_its_type() {
    for seed in 0..12 {
        for make in [
            Scenario::slow,
            Scenario::brisk,
            Scenario::compensating,
            Scenario::seated,
            Scenario::prone,
        ] {
            let scenario = make(seed);
            let simulated = simulate(&scenario);
            let run = &simulated.run;
            assert_eq!(run.tracks.len(), scenario.sensors.len());
            assert!(run.tracks.windows(2).all(|w| w[0].name < w[1].name));
            assert_eq!(
                run.tracks.iter().map(|t| t.samples[0].at).min(),
                Some(RunTime::ZERO)
            );
            for track in &run.tracks {
                assert!(track.samples.windows(2).all(|w| w[0].at < w[1].at));
                assert!(track.stamps.is_empty() || track.stamps.len() == track.samples.len());
                let finite = |s: &Sample| {
                    s.accel_m_s2
                        .iter()
                        .chain(&s.gyro_rad_s)
                        .all(|v| v.is_finite())
                };
                assert!(track.samples.iter().all(finite));
            }
            for raise in &simulated.truth {
                assert!(
                    raise.start_s < raise.peak.time_s && raise.peak.time_s < raise.end_s,
                    "{raise:?}"
                );
                // The strap's own reading stays near the bone's, the net axis near the leg.
                assert!(
                    (raise.strapped_deg.unwrap() - raise.peak.angle_deg).abs() < 0.8,
                    "{raise:?}"
                );
                assert!(
                    (raise.by_net_axis_deg - raise.peak.angle_deg).abs() < 2.0,
                    "{raise:?}"
                );
            }
        }
    }
}

#[test]
fn people_do_what_people_do() {
    let (mut sways_deg, mut landings, mut rises_s, mut peaks_deg) =
        (vec![], vec![], vec![], vec![]);
    for seed in 0..25 {
        let scenario = Scenario::brisk(seed);
        let simulated = simulate(&scenario);
        for (plan, raise) in scenario.raises.iter().zip(&simulated.truth) {
            let sway = |t_s: f64| {
                let other = Placement::shin(raise.side.other());
                let shin = turn(simulated.motion.earth_from_bone_wxyz(other, t_s));
                shin.rotate(Vector::X).z.asin().to_degrees()
            };
            let middle_s = raise.begin_s + 0.5 * plan.up_s;
            sways_deg.push(sway(raise.begin_s) - sway(middle_s));
            peaks_deg.push(raise.peak.angle_deg);
            let swing = simulated
                .motion
                .swings
                .iter()
                .find(|s| s.begin_s <= middle_s && middle_s < s.end_s)
                .unwrap();
            let at = |share: f64| {
                let level = share * raise.peak.angle_deg.to_radians();
                swing
                    .course
                    .reaches(level, raise.begin_s, raise.end_s)
                    .unwrap()
            };
            rises_s.push(at(0.9) - at(0.1));
            if plan.landing.is_some() {
                let track = samples(&simulated.run, Placement::shin(raise.side));
                let near = track
                    .iter()
                    .filter(|s| (s.at.s() - swing.end_s).abs() < 0.1);
                landings.push(
                    near.map(|s| vector(s.accel_m_s2).norm())
                        .fold(0.0, f64::max),
                );
            }
        }
    }
    assert!(
        sways_deg.iter().all(|&s| s > 0.3 && s < 4.9),
        "{sways_deg:?}"
    );
    let inside = sways_deg
        .iter()
        .filter(|&&s| (1.0..=4.0).contains(&s))
        .count();
    assert!(
        inside * 10 > sways_deg.len() * 8,
        "{inside} of {}",
        sways_deg.len()
    );
    assert!(rises_s.iter().all(|&r| r > 0.33 && r < 0.95), "{rises_s:?}");
    assert!(
        peaks_deg.iter().all(|&p| p > 25.0 && p < 125.0),
        "{peaks_deg:?}"
    );
    // Sampling may miss the very top of a stop of 20 ms.
    let hard = landings.iter().filter(|&&a| a > 14.0 && a < 66.0).count();
    assert!(hard * 10 > landings.len() * 9, "{landings:?}");
    assert!(landings.iter().all(|&a| a < 66.0), "{landings:?}");
}

#[test]
fn demo_is_small_and_whole() {
    let demo = demo();
    assert_eq!(demo.people.len(), 4);
    assert!(
        demo.people
            .iter()
            .all(|p| p.label.len() == 6 && p.label.bytes().all(|b| b.is_ascii_lowercase()))
    );
    let mut text_bytes = 0;
    let mut count = |run: &Run| {
        for track in &run.tracks {
            for (i, sample) in track.samples.iter().enumerate() {
                text_bytes += format!("{:.9}", sample.at.s()).len() + 7;
                let values = sample.accel_m_s2.iter().chain(&sample.gyro_rad_s);
                text_bytes += values.map(|v| v.to_string().len()).sum::<usize>();
                text_bytes += track.stamps.get(i).map_or(0, |_| 24);
            }
        }
    };
    for visit in &demo.visits {
        let is_this = |run: &Run| {
            run.id.subject.as_ref() == Some(&visit.subject)
                && run.id.session.as_ref() == Some(&visit.session)
        };
        visit.flat.iter().for_each(&mut count);
        assert!(visit.flat.iter().all(is_this));
        for (i, simulated) in visit.raises.iter().enumerate() {
            count(&simulated.run);
            assert!(is_this(&simulated.run));
            assert_eq!(simulated.run.id.run, Some(format!("{:02}", i + 1)));
            assert_eq!(simulated.truth.len(), 3);
            let side = if i % 2 == 0 { Side::Right } else { Side::Left };
            assert!(simulated.truth.iter().all(|r| r.side == side));
            let gave = simulated
                .truth
                .iter()
                .filter(|r| r.compensation.is_some())
                .count();
            assert_eq!(gave, if visit.subject == "kerudo" { 3 } else { 0 });
        }
    }
    assert!(text_bytes < 5_800_000, "{text_bytes} bytes");
}
