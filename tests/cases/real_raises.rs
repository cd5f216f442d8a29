//! Real people's leg raises (A. Yurtman, B. Barshan, doi:10.24432/C5JK60, CC BY 4.0; `data/real-slr/README.md`).
#![allow(
    clippy::print_stdout,
    reason = "measured numbers, shown with --nocapture"
)]

use std::fs;

use fusion::tilt::{TiltParams, smooth};
use fusion::{Analysis, CompensationKind, Flag, Imu, Raise, RunProblem};
use nalgebra::Vector3;
use sensor::bids::{RunFiles, find_runs, read_run};
use sensor::{Placement, Side};

use super::kit::{analyse_alone, analyse_files, data, mean, quantile, rms, run_at};

const PEOPLE: [&str; 3] = ["PT1", "PT3", "PT4"];

fn template_session(person: &str) -> RunFiles {
    run_at(&data(&format!("real-slr/sub-{person}")))
}

/// Columns of a reference table, by name.
fn reference(person: &str, kind: &str, columns: &[&str]) -> Vec<Vec<f64>> {
    let path = data(&format!(
        "real-slr/derivatives/reference/sub-{person}_task-legraise_run-02_{kind}.tsv"
    ));
    let text = fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    let mut lines = text.lines();
    let header: Vec<&str> = lines.next().expect("a header").split('\t').collect();
    let place = |name: &&str| header.iter().position(|h| h == name).expect("a column");
    let places: Vec<usize> = columns.iter().map(place).collect();
    lines
        .map(|line| {
            let cells: Vec<&str> = line.split('\t').collect();
            places
                .iter()
                .map(|&p| cells[p].parse().expect("a number"))
                .collect()
        })
        .collect()
}

#[test]
fn the_raises_of_three_people_are_found() {
    for person in PEOPLE {
        let analysis = analyse_files(&template_session(person));
        let at_the_end = |raise: &&Raise| raise.flags.contains(&Flag::EndsOutside);
        let whole = analysis
            .raises
            .iter()
            .filter(|raise| !at_the_end(raise))
            .count();
        let cut = analysis.raises.len() - whole;
        let told = format!(
            "{person}: {whole} whole raises and {cut} cut, from {:?}",
            analysis
                .raises
                .iter()
                .map(|r| (r.side, r.start_s, r.end_s))
                .collect::<Vec<_>>()
        );
        println!("{told}");
        // Published: 3 correct, 3 fast, 3 low ones. Whatever is under way when the recording ends is flagged.
        assert!((whole == 9 || whole + cut == 9) && cut <= 1, "{told}");
        assert!(
            analysis
                .raises
                .iter()
                .all(|raise| raise.side == Side::Right),
            "{told}"
        );
        for peak in reference(person, "raises", &["peak_s"]) {
            let inside = |raise: &&Raise| raise.start_s <= peak[0] && peak[0] <= raise.end_s;
            assert_eq!(
                analysis.raises.iter().filter(inside).count(),
                1,
                "peak at {} s; {told}",
                peak[0]
            );
        }
    }
}

#[test]
fn a_compensation_of_the_other_leg_shows_in_its_slope() {
    // The sensor's x axis points along the shin (measured, see the README). A knee that bends tilts it; a leg that only
    // rolls over does not. Everybody was told to keep that leg straight and down.
    let mut unseen = Vec::new();
    let mut count = 0;
    for person in PEOPLE {
        let files = template_session(person);
        let run = read_run(&files).unwrap_or_else(|e| panic!("{e}")).run;
        let other = run.track(Placement::ShinLeft).expect("a shin");
        let imus: Vec<Imu> = other.samples.iter().map(Imu::from).collect();
        let tilt = smooth(&TiltParams::default().coeffs(25.0), &imus);
        let slopes_deg = |from_s: f64, to_s: f64| -> Vec<f64> {
            let inside = imus
                .iter()
                .zip(&tilt)
                .filter(|(i, _)| i.t_s >= from_s && i.t_s <= to_s);
            let slope = |up: Vector3<f64>| up.x.atan2(up.y.hypot(up.z)).to_degrees();
            inside
                .map(|(_, t)| slope(t.earth_from_sensor.inverse() * Vector3::z()))
                .collect()
        };
        for raise in &analyse_files(&files).raises {
            let rest_deg = mean(&slopes_deg(raise.start_s - 0.6, raise.start_s - 0.1));
            let farthest_deg = slopes_deg(raise.start_s, raise.end_s)
                .iter()
                .map(|s| (s - rest_deg).abs())
                .fold(0.0, f64::max);
            for found in raise
                .compensations
                .iter()
                .filter(|c| c.kind == CompensationKind::OppositeLeg)
            {
                count += 1;
                let extent_deg = found.extent.degrees();
                let told = format!(
                    "{person} raise at {:.1} s: said to be {extent_deg:.1}°, the slope changes by {farthest_deg:.1}° at most",
                    raise.start_s
                );
                println!("{told}");
                if farthest_deg < 0.5 * extent_deg {
                    unseen.push(told);
                }
            }
        }
    }
    println!("{count} compensations of the other leg in 27 raises");
    assert!(unseen.is_empty(), "\n{}", unseen.join("\n"));
}

/// Rows of the hold tables: rest from, to, hold from, to (s), angle (degrees). Windows before the leg rose are left out.
fn quiet_holds(person: &str) -> Vec<[f64; 5]> {
    let columns = [
        "rest_start_s",
        "rest_end_s",
        "hold_start_s",
        "hold_end_s",
        "angle_deg",
    ];
    reference(person, "shinright_holds", &columns)
        .into_iter()
        .map(|row| <[f64; 5]>::try_from(row).expect("five columns"))
        .filter(|row| row[4] > 5.0)
        .collect()
}

#[test]
fn smoothed_tilt_agrees_with_the_accelerometer_where_it_is_quiet() {
    let mut all = Vec::new();
    for person in PEOPLE {
        let run = read_run(&template_session(person))
            .unwrap_or_else(|e| panic!("{e}"))
            .run;
        let track = run.track(Placement::ShinRight).expect("a shin");
        let imus: Vec<Imu> = track.samples.iter().map(Imu::from).collect();
        let tilt = smooth(&TiltParams::default().coeffs(25.0), &imus);
        // How far the sensor's x axis, which the reference follows, points above the horizon, over a stretch.
        let slope_deg = |from_s: f64, to_s: f64| {
            let inside = imus
                .iter()
                .zip(&tilt)
                .filter(|(i, _)| i.t_s >= from_s - 1e-6 && i.t_s <= to_s + 1e-6);
            let slopes = inside.map(|(_, t)| {
                let up = t.earth_from_sensor.inverse() * Vector3::z();
                up.x.atan2(up.y.hypot(up.z)).to_degrees()
            });
            mean(&slopes.collect::<Vec<_>>())
        };
        let off: Vec<f64> = quiet_holds(person)
            .into_iter()
            .map(|[rest, rest_end, hold, hold_end, angle]| {
                slope_deg(hold, hold_end) - slope_deg(rest, rest_end) - angle
            })
            .collect();
        println!(
            "{person}: tilt less accelerometer, RMS {:.3}° over {}: {off:.2?}",
            rms(&off),
            off.len()
        );
        all.extend(off);
    }
    let largest: Vec<f64> = all.iter().map(|o| o.abs()).collect();
    let told = format!(
        "RMS {:.3}°, 95th percentile {:.3}° over {}",
        rms(&all),
        quantile(&largest, 0.95),
        all.len()
    );
    println!("{told}");
    // A good general-purpose filter comes to RMS 0.48°, 95th percentile 1.14° on all 137 holds of the set (VQF 2.1.2
    // offline, Laidig, Seel, Information Fusion 91:187-204, 2023, doi:10.1016/j.inffus.2022.10.014).
    assert!(all.len() >= 18, "{told}");
    assert!(
        rms(&all) < 0.48 && quantile(&largest, 0.95) < 1.14,
        "{told}"
    );
}

#[test]
fn holds_lie_where_the_accelerometer_shows_them() {
    let mut all = Vec::new();
    for person in PEOPLE {
        let analysis = analyse_files(&template_session(person));
        let mut off = Vec::new();
        for [_, _, from_s, to_s, angle_deg] in quiet_holds(person) {
            let hold = analysis
                .raises
                .iter()
                .filter_map(|raise| raise.hold.as_ref())
                .find(|hold| hold.start_s < to_s && hold.end_s > from_s);
            let Some(hold) = hold else {
                panic!("{person}: no hold in {from_s} to {to_s} s")
            };
            off.push(hold.angle.value.degrees() - angle_deg);
        }
        println!(
            "{person}: hold less slope of the sensor, RMS {:.2}° over {}: {off:.2?}",
            rms(&off),
            off.len()
        );
        all.extend(off);
    }
    // The reference follows the slope of the sensor's x axis over windows of its own, not the leg in its vertical plane
    // over our hold: a strap aside and a leaning raise make degrees between the two. No finer comparison than this.
    let largest = all.iter().map(|o| o.abs()).fold(0.0, f64::max);
    assert!(
        all.len() >= 18 && rms(&all) < 2.0 && largest < 6.0,
        "RMS {:.2}°, largest {largest:.2}°",
        rms(&all)
    );
}

#[test]
fn a_thigh_sensor_that_contradicts_itself_is_not_used() {
    // PT3's right thigh: the gyroscope misses the accelerometer by 42 to 47° from rest to hold; PT1's and PT4's are sound.
    for (person, contradicts) in [("PT1", false), ("PT3", true), ("PT4", false)] {
        let analysis = analyse_files(&template_session(person));
        let problem = RunProblem::Contradicts {
            placement: Placement::ThighRight,
        };
        assert_eq!(
            analysis.problems.contains(&problem),
            contradicts,
            "{person}: {:?}",
            analysis.problems
        );
    }
}

/// Runs of another task, which count only when named one by one.
fn other_task(task: &str) -> (RunFiles, Analysis) {
    let name = format!("sub-PT1_ses-01_task-{task}_tracksys-shinright_run-01_motion.tsv");
    let files = run_at(&data("real-slr/sub-PT1/ses-01/motion").join(name));
    let analysis = analyse_files(&files);
    (files, analysis)
}

#[test]
fn other_exercises_are_not_taken_for_leg_raises() {
    let listed = find_runs(&data("real-slr")).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(listed.len(), 3, "only leg raises are found below a folder");
    for task in ["kneeextension", "proneraise"] {
        let (files, analysis) = other_task(task);
        assert_eq!((files.id.task.as_str(), files.motions.len()), (task, 3));
        println!(
            "{task}: {:?}",
            analysis
                .raises
                .iter()
                .map(|raise| &raise.flags)
                .collect::<Vec<_>>()
        );
        assert!(!analysis.raises.is_empty(), "{task}: the shin does rise");
        for raise in &analysis.raises {
            let telling = raise.flags.iter().any(|flag| *flag != Flag::Uncalibrated);
            assert!(
                telling,
                "{task}: a raise at {} s without a warning: {:?}",
                raise.start_s, raise.flags
            );
        }
    }
}

#[test]
fn a_seated_knee_extension_is_recognised_without_its_name() {
    // The same recording, called a leg raise by mistake: the thigh gives it away.
    let (files, _) = other_task("kneeextension");
    let mut run = read_run(&files).unwrap_or_else(|e| panic!("{e}")).run;
    run.id.task = "legraise".to_owned();
    let analysis = analyse_alone(&run);
    assert!(!analysis.raises.is_empty());
    for raise in &analysis.raises {
        assert!(
            raise.flags.contains(&Flag::NotStraight),
            "at {} s: {:?}",
            raise.start_s,
            raise.flags
        );
    }
}
