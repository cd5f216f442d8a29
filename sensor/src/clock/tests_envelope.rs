//! The lower envelope against least squares, with the figures known for simulated radio links.
//!
//! Goal: the hull's offset error is the least delay and no more, and its slope is as sure as published for
//! such links. Method: many seeds of three links over windows of 5, 30 and 120 s.

#![expect(
    clippy::print_stdout,
    reason = "seeds and figures, for whoever looks into a failure"
)]

use super::envelope::{Point, lower_line};
use super::link::{Link, full};

/// Ordinary least squares: slope, and host time at the mean abscissa.
fn least_squares(points: &[Point]) -> (f64, f64, f64) {
    let n = points.len() as f64;
    let x = points.iter().map(|p| p.device_s).sum::<f64>() / n;
    let y = points.iter().map(|p| p.host_s).sum::<f64>() / n;
    let xy = |p: &Point| (p.device_s - x) * (p.host_s - y);
    let xx = |p: &Point| (p.device_s - x).powi(2);
    let slope = points.iter().map(xy).sum::<f64>() / points.iter().map(xx).sum::<f64>();
    (slope, x, y)
}

fn mean_sd(values: &[f64]) -> (f64, f64) {
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    let var = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (values.len() - 1) as f64;
    (mean, var.sqrt())
}

#[test]
fn offset_and_slope_are_as_sure_as_the_lower_hull_is_known_to_be() {
    const SEEDS: u64 = 40;
    // Rate, samples a packet, interval: least squares' offset and the hull's (mean, sd), ms; then the
    // hull's slope sd, ppm, over 5, 30 and 120 s. From a study of the same links with another program.
    let table = [
        (100.0, 1, 0.030, 21.5, (7.7, 2.6), [23.0, 1.8, 0.3]),
        (200.0, 4, 0.030, 20.0, (7.5, 3.2), [15.0, 1.0, 0.1]),
        (200.0, 4, 0.050, 33.0, (7.8, 3.2), [31.0, 3.3, 0.3]),
        (100.0, 5, 0.015, 11.2, (5.1, 1.4), [10.0, 0.7, 0.05]),
    ];
    for (rate_hz, per_packet, interval_s, squares_ms, (hull_ms, hull_sd_ms), slope_ppm) in table {
        for (window_s, known_ppm) in [5.0, 30.0, 120.0].into_iter().zip(slope_ppm) {
            let (mut squares, mut hull, mut slopes) = (Vec::new(), Vec::new(), Vec::new());
            for seed in 0..SEEDS {
                let mut link = Link::new(seed, full(rate_hz));
                link.skew = if seed % 2 == 0 { 40e-6 } else { -30e-6 };
                link.duration_s = window_s;
                (link.per_packet, link.interval_s) = (per_packet, interval_s);
                let sent = link.send();
                let points: Vec<Point> = sent
                    .packets
                    .iter()
                    .map(|packet| {
                        let newest = packet.samples[per_packet - 1];
                        let taken_s = sent.truth_s[super::link::number_of(newest.accel_m_s2)];
                        Point {
                            device_s: taken_s * (1.0 + link.skew),
                            host_s: packet.arrival.s(),
                        }
                    })
                    .collect();
                let (slope, x, y) = least_squares(&points);
                let true_s = x / (1.0 + link.skew);
                squares.push((y - true_s) * 1e3);
                let line = lower_line(&points, 5e-4).expect("points");
                hull.push((line.host_s(x) - true_s) * 1e3);
                slopes.push((line.slope * (1.0 + link.skew) - 1.0) * 1e6);
                assert!(slope.is_finite());
                assert!(
                    points.iter().all(|p| line.delay_s(p) > -1e-9),
                    "a point below the line"
                );
            }
            let (offset, sd) = mean_sd(&hull);
            let (_, slope_sd) = mean_sd(&slopes);
            let squares = mean_sd(&squares).0;
            println!(
                "{rate_hz} Hz x{per_packet} {interval_s} s, {window_s} s: squares {squares:.1} ms, hull {offset:.1} ± {sd:.1} ms, slope sd {slope_sd:.2} ppm; seeds 0..{SEEDS}"
            );
            assert!(
                (squares - squares_ms).abs() < 4.0,
                "least squares {squares} ms, known {squares_ms}"
            );
            assert!(
                (offset - hull_ms).abs() < 3.0,
                "hull {offset} ms, known {hull_ms}"
            );
            assert!(sd < 1.5 * hull_sd_ms, "hull sd {sd} ms, known {hull_sd_ms}");
            assert!(
                slope_sd < 3.0 * known_ppm + 0.5,
                "slope sd {slope_sd} ppm, known {known_ppm}"
            );
        }
    }
}

#[test]
fn a_line_through_points_without_delay_is_exact() {
    let points: Vec<Point> = (0..100)
        .map(|i| {
            let device_s = f64::from(i) * 0.1;
            Point {
                device_s,
                host_s: 3.0 + device_s * 1.01,
            }
        })
        .collect();
    let line = lower_line(&points, 0.03).expect("points");
    assert!((line.slope - 1.01).abs() < 1e-12);
    assert!((line.host_s(50.0) - 53.5).abs() < 1e-9);
    let clamped = lower_line(&points, 5e-4).expect("points");
    assert!(
        (clamped.slope - 1.0005).abs() < 1e-12,
        "drawn back to what a crystal can do"
    );
}

#[test]
fn few_points_and_points_at_one_moment_are_lines_too() {
    assert!(lower_line(&[], 0.03).is_none());
    let point = |device_s, host_s| Point { device_s, host_s };
    let one = lower_line(&[point(1.0, 2.0)], 0.03).expect("a point");
    assert!((one.slope - 1.0).abs() < 1e-12 && (one.host_s(1.0) - 2.0).abs() < 1e-12);
    let same = lower_line(&[point(1.0, 2.5), point(1.0, 2.0), point(1.0, 3.0)], 0.03);
    assert!((same.expect("points").host_s(1.0) - 2.0).abs() < 1e-12);
}
