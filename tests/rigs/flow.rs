//! Samples through the whole way: none lost, whatever happens to the others; and what happens when a link, an adapter
//! or the bus goes.

#![expect(
    clippy::print_stdout,
    reason = "what was measured is shown with --nocapture"
)]

use std::time::Duration;

use sensor::Placement;
use serde_json::json;

use super::bluez::{Adapter, Board, Peer, Rig};
use super::child::{Client, Line, told};
use super::judge::{assert_all_came, gaps, latencies, links, of, percentile_ms};

const NAMES: [&str; 4] = ["shin-0001", "shin-0002", "shin-0003", "shin-0004"];
const PLACES: [Placement; 4] = [
    Placement::ShinLeft,
    Placement::ShinRight,
    Placement::ThighLeft,
    Placement::ThighRight,
];

fn rig(count: usize) -> Rig {
    let peers = (0..count).map(|n| {
        let number = u8::try_from(n + 1).expect("few");
        Peer::board(NAMES[n], number, Board::worn(PLACES[n], n as u64 + 1))
    });
    let lamp = Peer::foreign(Some("lamp"), 40);
    Rig::start(Adapter::On, peers.chain([lamp]).collect())
}

fn client(rig: &Rig, count: usize, seconds: f64) -> Client {
    let sensors: Vec<_> = (0..count)
        .map(|n| json!([PLACES[n].as_str(), NAMES[n]]))
        .collect();
    let client = Client::start(
        rig,
        &json!({ "seconds": seconds, "rate_hz": 200, "sensors": sensors }),
    );
    client.wait_until_open();
    client
}

fn wait(seconds: f64) {
    std::thread::sleep(Duration::from_secs_f64(seconds));
}

fn assert_ended(lines: &[Line], at: &str, reason: &str) {
    let ended = of(lines, "ended", at);
    assert_eq!(ended.len(), 1, "{at}: {:?}", told(lines));
    assert_eq!(ended[0]["reason"], reason, "{at}: {:?}", told(lines));
}

fn assert_undisturbed(rig: &Rig, peer: usize, lines: &[Line]) {
    let at = PLACES[peer].as_str();
    assert_all_came(rig, peer, lines, at);
    assert_eq!(gaps(lines, at), [""; 0], "{at}: {:?}", told(lines));
    assert_eq!(links(lines, at), ["streaming"], "{at}");
    assert_eq!(rig.world.connects(peer), 1, "{at}");
    assert_ended(lines, at, "asked");
}

#[test]
fn four_sensors_lose_nothing_and_do_not_disturb_each_other() {
    let seconds = std::env::var("LEGRAISE_RIG_S").map_or(10.0, |s| s.parse().expect("seconds"));
    let rig = rig(4);
    let client = client(&rig, 4, seconds);
    wait(0.35 * seconds);
    rig.world.restart(1);
    rig.world.lose(3, 5);
    wait(0.05 * seconds);
    rig.world.repeat(3);
    rig.world.stall(3, Duration::from_millis(300));
    rig.make(rig.world.drop_link(2));
    let lines = client.finish();
    let mut all = Vec::new();
    let mut count = 0;
    for (peer, place) in PLACES.iter().enumerate() {
        count += assert_all_came(&rig, peer, &lines, place.as_str());
        all.extend(latencies(&rig, peer, &lines, place.as_str()));
        assert_ended(&lines, place.as_str(), "asked");
        assert!(!rig.world.is_connected(peer), "{place} is let go");
        let last = rig.world.writes(peer).pop();
        assert_eq!(last, Some(vec![0]), "{place} is stopped");
    }
    all.sort_unstable();
    println!(
        "{count} samples of 4 sensors in {seconds} s, none lost; from notification to printed event p50 {:.2} p95 {:.2} p99 {:.2} max {:.2} ms",
        percentile_ms(&all, 50),
        percentile_ms(&all, 95),
        percentile_ms(&all, 99),
        percentile_ms(&all, 100)
    );
    let least = 4.0 * 200.0 * (seconds - 3.0);
    assert!(count as f64 > least, "{count} samples, expected {least}");
    assert_undisturbed(&rig, 0, &lines);
    assert_eq!(gaps(&lines, PLACES[1].as_str()), ["restart"]);
    assert_eq!(gaps(&lines, PLACES[2].as_str()), ["link"]);
    assert_eq!(gaps(&lines, PLACES[3].as_str()), ["sensor"]);
    assert_eq!(
        links(&lines, PLACES[2].as_str()),
        ["streaming", "silent", "lost", "connecting", "streaming"]
    );
    let gap = of(&lines, "gap", PLACES[2].as_str())[0];
    let away_s = gap["to_s"].as_f64().expect("s") - gap["from_s"].as_f64().expect("s");
    println!("a dropped link was back after {away_s:.2} s");
    assert!(away_s < 5.0, "{away_s} s");
    for peer in [0, 1, 3] {
        assert_eq!(rig.world.connects(peer), 1);
    }
    assert!(!rig.world.is_scanning() && rig.world.called("StartDiscovery") == 1);
}

#[test]
fn a_sensor_that_falls_silent_is_subscribed_again_and_then_connected_anew() {
    let rig = rig(2);
    let client = client(&rig, 2, 9.0);
    wait(1.5);
    rig.world.mute(1, true);
    client.wait_for("silence", Duration::from_secs(3), |line| {
        line["at"] == "shinright" && line["link"] == "silent"
    });
    client.wait_for("second try", Duration::from_secs(5), |line| {
        line["at"] == "shinright" && line["link"] == "connecting"
    });
    rig.world.mute(1, false);
    let lines = client.finish();
    assert_undisturbed(&rig, 0, &lines);
    assert_eq!(gaps(&lines, "shinright"), ["link"]);
    assert_all_came(&rig, 1, &lines, "shinright");
    let states = links(&lines, "shinright");
    let expected = ["streaming", "silent", "lost", "connecting", "streaming"];
    assert_eq!(states, expected, "{:?}", told(&lines));
    assert_eq!(rig.world.connects(1), 2);
    // Control and data at first, data again, both after connecting again.
    assert_eq!(rig.world.called("StartNotify"), 2 * 2 + 1 + 2);
}

#[test]
fn an_adapter_that_is_switched_off_and_a_device_out_of_reach_are_waited_for() {
    let rig = rig(1);
    let client = client(&rig, 1, 9.0);
    wait(1.0);
    rig.make(rig.world.power_off());
    client.wait_for("loss", Duration::from_secs(4), |line| {
        line["link"] == "lost"
    });
    wait(0.5);
    rig.world.away(0, true);
    rig.world.power_on();
    let tried = rig.world.connects(0);
    while rig.world.connects(0) < tried + 1 {
        wait(0.05);
    }
    rig.world.away(0, false);
    let lines = client.finish();
    assert_all_came(&rig, 0, &lines, "shinleft");
    assert_eq!(gaps(&lines, "shinleft"), ["link"]);
    assert_eq!(links(&lines, "shinleft").last().unwrap(), "streaming");
    assert_ended(&lines, "shinleft", "asked");
    assert_eq!(rig.world.adapter(), Adapter::On);
}

#[test]
fn a_bus_that_dies_is_noticed_and_does_not_hold_up_the_end() {
    let rig = rig(2);
    let client = client(&rig, 2, 8.0);
    wait(1.0);
    rig.make(rig.world.die());
    client.wait_for("loss", Duration::from_secs(5), |line| {
        line["link"] == "lost"
    });
    let lines = client.finish();
    for place in &PLACES[..2] {
        let at = place.as_str();
        assert_all_came_before(&rig, &lines, at);
        let states = links(&lines, at);
        let expected = ["streaming", "silent", "lost"];
        assert_eq!(states[..3], expected, "{:?}", told(&lines));
        assert_ended(&lines, at, "asked");
    }
    let telling = lines.iter().filter(|line| line.value["is"] == "told");
    let texts: Vec<&str> = telling.filter_map(|l| l.value["text"].as_str()).collect();
    let is_told = texts
        .iter()
        .any(|text| text.contains("the connection was lost (the system doesn't answer"));
    assert!(is_told, "{texts:?}");
}

/// Samples came until the bus died; what was on its way then is gone with it.
fn assert_all_came_before(rig: &Rig, lines: &[Line], at: &str) {
    let came = of(lines, "samples", at).len();
    let peer = PLACES
        .iter()
        .position(|place| place.as_str() == at)
        .unwrap();
    let sent = rig.world.sent(peer).len();
    assert!(came > 20 && came <= sent, "{at}: {came} of {sent} packets");
    assert_eq!(gaps(lines, at), [""; 0]);
}
