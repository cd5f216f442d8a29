//! What a person is told when it doesn't work: each situation its own answer, with what to do about it.

use std::collections::BTreeSet;
use std::sync::Mutex;

use sensor::Placement;
use serde_json::{Value, json};

use super::bluez::{Adapter, Board, Fail, Peer, Rig};
use super::child::{Client, told};

const GOOD: &str = "shin-0001";

fn board() -> Peer {
    Peer::board(GOOD, 1, Board::worn(Placement::ShinRight, 1))
}

fn order(which: Option<&str>) -> Value {
    json!({ "seconds": 0.5, "rate_hz": 200, "sensors": [["shinright", which]] })
}

/// The error of a client; panics if it has none.
fn error_of(client: Client) -> Value {
    let lines = client.finish();
    let errors = lines.iter().filter(|line| line.value["is"] == "error");
    let mut errors: Vec<Value> = errors.map(|line| line.value.clone()).collect();
    assert_eq!(errors.len(), 1, "{:?}", told(&lines));
    let error = errors.remove(0);
    let (text, mend) = (error["text"].as_str(), error["mend"].as_str());
    let (text, mend) = (text.expect("text"), mend.expect("text"));
    assert!(
        text.ends_with(&format!("; {mend}")) && !text.ends_with('.'),
        "{text}"
    );
    error
}

fn failing(member: &'static str, error: &'static str) -> Rig {
    let rig = Rig::start(Adapter::On, vec![board()]);
    rig.world.fail(Fail {
        member,
        error,
        text: "as planned",
        times: usize::MAX,
    });
    rig
}

/// Asserts the word and that the text says so.
fn assert_answer(error: &Value, word: &str, says: &str) {
    assert_eq!(error["word"], word, "{error}");
    let text = error["text"].as_str().expect("text");
    assert!(text.contains(says), "{text}");
}

#[test]
fn what_stands_before_a_scan_has_its_own_answers() {
    let socket = Rig::start(Adapter::On, Vec::new());
    let missing = format!("unix:path={}.not", socket.socket().display());
    let texts = Mutex::new(BTreeSet::new());
    let check = |client: Client, word: &str, says: &str| {
        let error = error_of(client);
        assert_answer(&error, word, says);
        let text = error["text"].as_str().expect("text").to_owned();
        assert!(
            texts.lock().expect("whole").insert(text),
            "told before: {error}"
        );
    };
    check(
        Client::at(&missing, &order(None)),
        "no-adapter",
        "no system bus",
    );
    check(
        Client::at("nonsense", &order(None)),
        "bus-address",
        "DBUS_SYSTEM_BUS_ADDRESS",
    );
    for (member, error, word, says) in [
        (
            "GetManagedObjects",
            "org.freedesktop.DBus.Error.ServiceUnknown",
            "no-adapter",
            "no Bluetooth service runs",
        ),
        (
            "GetManagedObjects",
            "org.freedesktop.DBus.Error.Spawn.ChildExited",
            "no-adapter",
            "doesn't start",
        ),
        (
            "GetManagedObjects",
            "org.freedesktop.DBus.Error.AccessDenied",
            "not-permitted",
            "not permitted",
        ),
        (
            "StartDiscovery",
            "org.bluez.Error.NotAuthorized",
            "not-permitted",
            "not permitted",
        ),
    ] {
        let rig = failing(member, error);
        check(Client::start(&rig, &order(None)), word, says);
    }
    let rig = Rig::start(Adapter::Absent, Vec::new());
    check(
        Client::start(&rig, &order(None)),
        "no-adapter",
        "knows of none",
    );
    let rig = Rig::start(Adapter::Off, vec![board()]);
    check(
        Client::start(&rig, &order(None)),
        "adapter-off",
        "the adapter is off",
    );
    assert_eq!(
        rig.world.adapter(),
        Adapter::Off,
        "it is not switched on unasked"
    );
    assert_eq!(rig.world.called("StartDiscovery"), 0);
}

#[test]
fn nothing_found_names_what_is_only_remembered() {
    let mut remembered = board();
    remembered.is_present = false;
    let rig = Rig::start(Adapter::On, vec![remembered]);
    let error = error_of(Client::start(&rig, &order(None)));
    assert_answer(
        &error,
        "nothing-found",
        "no device found in 10 s, only remembered is \"shin-0001\"",
    );
    assert!(!rig.world.is_scanning(), "the scan is stopped");
}

#[test]
fn what_is_found_and_not_ours_is_listed_with_reasons() {
    let nameless = Peer::foreign(None, 30);
    let rig = Rig::start(Adapter::On, vec![Peer::foreign(Some("lamp"), 20), nameless]);
    let error = error_of(Client::start(&rig, &order(None)));
    let service = "no service ae41a0f0-5d58-4d00-8bc0-307a0928a2a2";
    assert_answer(&error, "not-ours", &format!("\"lamp\" ({service}), "));
    assert_answer(&error, "not-ours", "dev_C0_FF_EE_00_00_1E\" (no service");
    assert_eq!(rig.world.called("Connect"), 0);
}

#[test]
fn two_that_could_be_it_must_be_told_apart() {
    let second = Peer::board("shin-0002", 2, Board::worn(Placement::ShinRight, 2));
    let rig = Rig::start(Adapter::On, vec![board(), second]);
    let error = error_of(Client::start(&rig, &order(None)));
    assert_answer(
        &error,
        "many-found",
        "\"shin-0001\" hci0/dev_C0_FF_EE_00_00_01, \"shin-0002\"",
    );
    // One that is named, by its id this time, is opened.
    let lines = Client::start(&rig, &order(Some("hci0/dev_C0_FF_EE_00_00_02"))).finish();
    let opened = lines.iter().find(|line| line.value["is"] == "opened");
    let device = &opened.expect("opened").value["devices"][0];
    assert_eq!(device["serial"], "0002", "{:?}", told(&lines));
    assert_eq!(device["maker"], "the rig");
    let battery = lines.iter().any(|line| line.value["battery"] == 80);
    let signal = lines.iter().any(|line| line.value["signal_dbm"] == -42);
    assert!(battery && signal, "{:?}", told(&lines));
}

#[test]
fn connections_that_fail_are_tried_three_times_and_told() {
    let rig = failing("Connect", "org.bluez.Error.Failed");
    let client = Client::start(&rig, &order(Some(GOOD)));
    client.wait_for("third try", std::time::Duration::from_secs(10), |line| {
        line["text"]
            .as_str()
            .is_some_and(|text| text.contains("try 3 of 3"))
    });
    assert_answer(
        &error_of(client),
        "not-connected",
        "3 tries to connect failed",
    );
    assert_eq!(rig.world.called("Connect"), 3);
    // One failure is no matter.
    let rig = Rig::start(Adapter::On, vec![board()]);
    rig.world.fail(Fail {
        member: "Connect",
        error: "org.bluez.Error.Failed",
        text: "as planned",
        times: 1,
    });
    let lines = Client::start(&rig, &order(Some(GOOD))).finish();
    assert!(lines.iter().any(|line| line.value["is"] == "samples"));
}

#[test]
fn pairing_and_missing_services_are_told() {
    let rig = failing("ReadValue", "org.bluez.Error.NotAuthorized");
    let error = error_of(Client::start(&rig, &order(Some(GOOD))));
    assert_answer(&error, "needs-pairing", "pair it once");
    let mut hollow = board();
    hollow.has_service = false;
    let rig = Rig::start(Adapter::On, vec![hollow]);
    let error = error_of(Client::start(&rig, &order(Some(GOOD))));
    assert_answer(&error, "not-ours", "shin-0001: has no service ae41a0f0");
    assert!(!rig.world.is_connected(0), "it is let go");
    let rig = Rig::start(Adapter::On, vec![board()]);
    let wanted = json!({ "seconds": 0.5, "rate_hz": 123, "sensors": [["shinright", GOOD]] });
    let error = error_of(Client::start(&rig, &wanted));
    assert_answer(&error, "no-such-rate", "25 Hz, 50 Hz, 100 Hz, 200 Hz");
}

#[test]
fn a_list_tells_what_is_here_and_why_the_rest_is_not_ours() {
    let mut remembered = Peer::board("shin-0009", 9, Board::worn(Placement::ShinRight, 9));
    remembered.is_present = false;
    let rig = Rig::start(
        Adapter::On,
        vec![Peer::foreign(Some("lamp"), 20), remembered, board()],
    );
    let lines = Client::start(&rig, &json!({ "list": 0.5 })).finish();
    let found: Vec<&Value> = lines
        .iter()
        .map(|line| &line.value)
        .filter(|v| v["is"] == "found")
        .collect();
    assert_eq!(found.len(), 3, "{:?}", told(&lines));
    assert_eq!(found[0]["name"], GOOD);
    assert_eq!(found[0]["profiles"], json!(["open-motion"]));
    assert!(found[0]["present"] == true && found[0]["signal_dbm"] == -41);
    assert!(found[1]["name"] == "lamp" && found[1]["profiles"] == json!([]));
    let others = found[1]["others"].as_array().expect("a list");
    assert!(others.len() >= 4 && others.iter().all(|other| other[1] != json!([])));
    assert!(found[2]["name"] == "shin-0009" && found[2]["present"] == false);
    assert_eq!(rig.world.called("Connect"), 0);
}
