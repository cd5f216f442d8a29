//! What came against what was sent.

use std::time::Duration;

use serde_json::Value;

use super::bluez::{Rig, Sent, steps};
use super::child::{Line, told};

/// Lines of one kind about one sensor.
pub(super) fn of<'a>(lines: &'a [Line], is: &str, at: &str) -> Vec<&'a Value> {
    let values = lines.iter().map(|line| &line.value);
    values
        .filter(|value| value["is"] == is && value["at"] == at)
        .collect()
}

/// Causes of the gaps of one sensor, in order.
pub(super) fn gaps(lines: &[Line], at: &str) -> Vec<String> {
    let gaps = of(lines, "gap", at);
    let cause = |gap: &&Value| gap["cause"].as_str().expect("text").to_owned();
    gaps.iter().map(cause).collect()
}

/// States of the link of one sensor, in order.
pub(super) fn links(lines: &[Line], at: &str) -> Vec<String> {
    let all = of(lines, "status", at).into_iter();
    all.filter_map(|status| status["link"].as_str().map(ToOwned::to_owned))
        .collect()
}

/// Number and values of every sample, in order.
type Samples = Vec<(u64, [f32; 6])>;

fn came(lines: &[Line], at: &str) -> Samples {
    let number = |value: &Value| value.as_u64().expect("a number");
    #[expect(
        clippy::cast_possible_truncation,
        reason = "it was single before it was text"
    )]
    let single = |value: &Value| value.as_f64().expect("a number") as f32;
    of(lines, "samples", at)
        .into_iter()
        .flat_map(|line| line["samples"].as_array().expect("a list"))
        .map(|sample| {
            let values = std::array::from_fn(|axis| single(&sample[2 + axis]));
            (number(&sample[0]), values)
        })
        .collect()
}

fn sent(packets: &[Sent]) -> Samples {
    let [acc, gyro] = steps().map(f64::from);
    #[expect(clippy::cast_possible_truncation, reason = "as samples are kept")]
    let values = |raw: &[i16; 6]| {
        std::array::from_fn(|axis| {
            let step = if axis < 3 { acc } else { gyro };
            (f64::from(raw[axis]) * step) as f32
        })
    };
    let each = |packet: &Sent| {
        let first = packet.number;
        let numbered = (0_u16..).zip(packet.values.clone());
        numbered
            .map(|(n, raw)| (u64::from(first.wrapping_add(n)), values(&raw)))
            .collect::<Samples>()
    };
    packets.iter().flat_map(each).collect()
}

/// That every sample came that was sent, once, in order, and nothing else. Gives how many.
pub(super) fn assert_all_came(rig: &Rig, peer: usize, lines: &[Line], at: &str) -> usize {
    let (sent, came) = (sent(&rig.world.sent(peer)), came(lines, at));
    let differs = sent.iter().zip(&came).position(|(s, c)| s != c);
    assert!(
        differs.is_none() && sent.len() == came.len(),
        "{at}: {} sent, {} came, first differing {differs:?}; {:?}",
        sent.len(),
        came.len(),
        told(lines)
    );
    let wraps = came.windows(2).filter(|w| w[1].0 < w[0].0).count();
    assert!(wraps > 0, "{at}: the counter never wrapped");
    sent.len()
}

/// From the played notification to the line read from the client, sorted. A packet is found by its clock.
pub(super) fn latencies(rig: &Rig, peer: usize, lines: &[Line], at: &str) -> Vec<Duration> {
    let lines = lines
        .iter()
        .filter(|line| line.value["is"] == "samples" && line.value["at"] == at);
    let sent = rig.world.sent(peer);
    let mut sent = sent.iter();
    let mut found: Vec<Duration> = lines
        .filter_map(|line| {
            let ticks = line.value["samples"][0][1].as_u64()?;
            let sent = sent.find(|sent| u64::from(sent.ticks) == ticks)?;
            Some(line.at.saturating_duration_since(sent.at.into_std()))
        })
        .collect();
    found.sort_unstable();
    found
}

/// Of sorted durations, ms.
pub(super) fn percentile_ms(sorted: &[Duration], percent: usize) -> f64 {
    let place = (sorted.len() * percent / 100).min(sorted.len().saturating_sub(1));
    sorted
        .get(place)
        .map_or(f64::NAN, |d| d.as_secs_f64() * 1e3)
}
