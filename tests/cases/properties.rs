//! What must not change a result: how a sensor is turned on its strap, the compass, the side, saving and reading back.

use fusion::tilt::{TiltParams, TiltState, smooth, step};
use fusion::{Analysis, Imu};
use nalgebra::{UnitQuaternion, Vector3};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use sensor::bids::{DataSet, create, write_run};
use sensor::synthetic::{Scenario, UnitGrade, simulate};
use sensor::{Placement, Run, UnitLimits};

use super::kit::{analyse_alone, analyse_files, run_at};

/// Few cases, each simulates; always the same ones, so that a failure can be had again.
fn few() -> ProptestConfig {
    ProptestConfig {
        cases: 16,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(20_261_125),
        ..ProptestConfig::default()
    }
}

/// A healthy or a compensating person's slow raises, or brisk ones.
fn any_scenario() -> impl Strategy<Value = Scenario> {
    (0..3, 2000_u64..3000).prop_map(|(kind, seed)| match kind {
        0 => Scenario::slow(seed),
        1 => Scenario::brisk(seed),
        _ => Scenario::compensating(seed),
    })
}

fn any_rotation() -> impl Strategy<Value = UnitQuaternion<f64>> {
    (-1.0..1.0, -1.0..1.0, -1.0..1.0, 0.1..std::f64::consts::PI).prop_filter_map(
        "an axis",
        |(x, y, z, angle): (f64, f64, f64, f64)| {
            let axis = Vector3::new(x, y, z).try_normalize(0.1)?;
            Some(UnitQuaternion::from_scaled_axis(axis * angle))
        },
    )
}

/// The same recording from a sensor that sat otherwise on its strap.
fn remounted(run: &Run, placement: Placement, by: &UnitQuaternion<f64>) -> Run {
    let mut run = run.clone();
    let track = run
        .tracks
        .iter_mut()
        .find(|t| t.placement == Some(placement))
        .expect("a track");
    for sample in &mut track.samples {
        let imu = Imu::from(&*sample);
        let turned = super::handmade::sample(imu.t_s, by * imu.accel_m_s2, by * imu.gyro_rad_s);
        (sample.accel_m_s2, sample.gyro_rad_s) = (turned.accel_m_s2, turned.gyro_rad_s);
    }
    run
}

/// Largest difference between the angles of two analyses, degrees; an error where they differ in kind.
fn apart_deg(a: &Analysis, b: &Analysis) -> Result<f64, String> {
    if a.raises.len() != b.raises.len() {
        return Err(format!("{} and {} raises", a.raises.len(), b.raises.len()));
    }
    let mut largest = 0.0_f64;
    for (a, b) in a.raises.iter().zip(&b.raises) {
        let numbers = |raise: &fusion::Raise| {
            [
                raise.peak.as_ref().map(|p| p.angle.value.degrees()),
                raise.hold.as_ref().map(|h| h.angle.value.degrees()),
                raise.end_point.as_ref().map(|e| e.angle.value.degrees()),
            ]
        };
        for (a, b) in numbers(a).into_iter().zip(numbers(b)) {
            match (a, b) {
                (Some(a), Some(b)) => largest = largest.max((a - b).abs()),
                (None, None) => {}
                _ => return Err(format!("{a:?} and {b:?}")),
            }
        }
        if a.side != b.side || a.flags != b.flags {
            return Err(format!(
                "{:?} {:?} and {:?} {:?}",
                a.side, a.flags, b.side, b.flags
            ));
        }
    }
    Ok(largest)
}

/// The same people with noise, bias and drift as ever, but no errors that belong to the chip's own axes: those would
/// turn with it, and make another unit of it.
fn without_errors_of_its_own(mut scenario: Scenario) -> Scenario {
    scenario.unit.grade = UnitGrade::Perfect;
    scenario.unit.states_limits = false;
    scenario
}

/// The same recording from units that say they are nearly without errors.
fn of_a_fine_make(run: &Run) -> Run {
    let limits = UnitLimits {
        accel_offset_m_s2: 0.001,
        accel_scale: 1e-4,
        gyro_scale: 1e-4,
    };
    let mut run = run.clone();
    run.tracks
        .iter_mut()
        .for_each(|track| track.limits = Some(limits));
    run
}

/// The same people with left and right exchanged.
fn mirrored(run: &Run) -> Run {
    let mut run = run.clone();
    for track in &mut run.tracks {
        track.placement = track.placement.map(|p| match p {
            Placement::ShinLeft => Placement::ShinRight,
            Placement::ShinRight => Placement::ShinLeft,
            Placement::ThighLeft => Placement::ThighRight,
            Placement::ThighRight => Placement::ThighLeft,
            Placement::Pelvis => Placement::Pelvis,
        });
        track.name = track.placement.expect("placed").as_str().to_owned();
    }
    run.tracks.sort_by(|a, b| a.name.cmp(&b.name));
    for mark in &mut run.marks {
        mark.side = mark.side.map(sensor::Side::other);
    }
    run
}

proptest! {
    #![proptest_config(few())]

    #[test]
    fn mounting_changes_no_angle(scenario in any_scenario(), by in any_rotation(), which in 0_usize..5) {
        let scenario = without_errors_of_its_own(scenario);
        let run = simulate(&scenario).run;
        let placement = run.tracks[which % run.tracks.len()].placement.expect("placed");
        let turned = remounted(&run, placement, &by);
        let told = format!("seed {}, {placement} turned by {:?}", scenario.seed, by.scaled_axis());

        // Where no axis can have errors to speak of, the mounting says nothing.
        let plain = analyse_alone(&of_a_fine_make(&run));
        prop_assert!(!plain.raises.is_empty());
        let apart = apart_deg(&plain, &analyse_alone(&of_a_fine_make(&turned)));
        prop_assert!(apart.as_ref().is_ok_and(|deg| *deg <= 0.05), "{told}: {apart:?}°");

        // Each axis of an ordinary chip may have an error of scale of its own, and which errors are possible in the
        // leg's axes depends on how it sits: the answer may change, but only well within what is stated.
        let plain = analyse_alone(&run);
        let apart = apart_deg(&plain, &analyse_alone(&turned));
        let least_deg = plain.raises.iter().filter_map(|r| r.peak.as_ref())
            .map(|p| p.angle.expanded.degrees()).fold(f64::INFINITY, f64::min);
        prop_assert!(apart.as_ref().is_ok_and(|deg| *deg <= 0.5 * least_deg), "ordinary, {told}: {apart:?}°");
    }

    #[test]
    fn heading_changes_no_angle(scenario in any_scenario(), headings_deg in [5.0..355.0, 5.0..355.0]) {
        // Turned about up as each shin lies at rest: for the filter, which has no compass, another heading.
        let scenario = without_errors_of_its_own(scenario);
        let plain = simulate(&scenario).run;
        let mut turned = plain.clone();
        for (placement, heading_deg) in [Placement::ShinLeft, Placement::ShinRight].into_iter().zip(headings_deg) {
            let up = Imu::from(&plain.track(placement).expect("a shin").samples[0]).accel_m_s2.normalize();
            let by = UnitQuaternion::from_scaled_axis(up * f64::to_radians(heading_deg));
            turned = remounted(&turned, placement, &by);
        }
        let of = |run: &Run| analyse_alone(&of_a_fine_make(run));
        let apart = apart_deg(&of(&plain), &of(&turned));
        prop_assert!(
            apart.as_ref().is_ok_and(|deg| *deg <= 0.05),
            "seed {}, turned by {headings_deg:?}°: {apart:?}°", scenario.seed
        );
    }

    #[test]
    fn exchanged_sides_exchange_sides_and_nothing_else(scenario in any_scenario()) {
        let run = simulate(&scenario).run;
        let mut there = analyse_alone(&mirrored(&run));
        let plain = analyse_alone(&run);
        prop_assert!(!plain.raises.is_empty());
        prop_assert!(plain.raises.iter().zip(&there.raises).all(|(a, b)| a.side == b.side.other()));
        for raise in &mut there.raises {
            raise.side = raise.side.other();
        }
        prop_assert!(plain.raises == there.raises, "seed {}", scenario.seed);
        prop_assert_eq!(plain.problems.len(), there.problems.len());
    }

    #[test]
    fn chunks_and_saved_states_change_nothing(scenario in any_scenario(), cuts in prop::collection::vec(0.0..1.0, 1..6)) {
        let run = simulate(&scenario).run;
        let imus: Vec<Imu> = run.tracks[0].samples.iter().map(Imu::from).collect();
        let coeffs = TiltParams::default().coeffs(scenario.rate_hz);
        let mut state = TiltState::new(&coeffs, &imus[0]);
        let whole: Vec<_> = imus[1..].iter().map(|imu| step(&coeffs, &mut state, imu)).collect();

        let count = imus.len();
        let mut edges: Vec<usize> = cuts.iter()
            .map(|cut| 1 + (0..count - 1).take_while(|k| (*k as f64) < cut * count as f64).count())
            .collect();
        edges.extend([1, count]);
        edges.sort_unstable();
        let mut saved = TiltState::new(&coeffs, &imus[0]);
        let mut parts = Vec::new();
        for chunk in edges.windows(2) {
            let mut resumed = saved.clone();
            // What goes on with a copy must not reach back into the saved one.
            let mut lost = saved.clone();
            if let Some(imu) = imus.get(chunk[0]) {
                step(&coeffs, &mut lost, imu);
            }
            parts.extend(imus[chunk[0]..chunk[1]].iter().map(|imu| step(&coeffs, &mut resumed, imu)));
            saved = resumed;
        }
        prop_assert!(parts == whole, "seed {}, cut at {edges:?}", scenario.seed);
        prop_assert!(saved == state);
        prop_assert_eq!(smooth(&coeffs, &imus).len(), count);
    }

    #[test]
    fn what_was_written_gives_the_same_result(scenario in any_scenario()) {
        let mut run = simulate(&scenario).run;
        run.id.subject = Some("abc".to_owned());
        run.id.session = Some("01".to_owned());
        run.id.run = Some("01".to_owned());
        let folder = tempfile::tempdir().expect("a folder");
        create(folder.path(), &DataSet::default()).expect("a data set");
        write_run(folder.path(), &run).expect("writes");
        let files = run_at(folder.path());
        let read = sensor::bids::read_run(&files).expect("reads");
        prop_assert!(read.problems.is_empty() && read.unreadable.is_empty(), "{:?}", read.problems);
        prop_assert!(read.run == run, "seed {}: not the run that was written", scenario.seed);
        let live = analyse_alone(&run);
        prop_assert!(!live.raises.is_empty());
        prop_assert!(analyse_files(&files) == live, "seed {}: not the same bit for bit", scenario.seed);
    }
}
