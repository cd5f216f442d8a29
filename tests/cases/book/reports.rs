//! What the reports of a client say, traced back to the recordings that they name.

use std::fs;

use serde_json::Value;

use super::kit::{Desk, replayed};

/// The reports of a client of eight visits, by the commands that make them.
pub(super) fn trace(desk: &Desk, code: &str) {
    let fresh = replayed(desk, &desk.data().join(format!("sub-{code}")));
    table(desk, &fresh);
    bundle(desk, &fresh);
    papers(desk, code);
}

fn raise_of(fresh: &[Value], recording: &str, number: usize) -> Value {
    let run = fresh.iter().find(|one| one["recording"] == recording);
    run.unwrap_or_else(|| panic!("{recording} isn't on disk"))["raises"][number - 1].clone()
}

/// Every row of the table is a raise of a recording, digit by digit.
fn table(desk: &Desk, fresh: &[Value]) {
    let text = desk.does(&["report", "moser", "--as", "csv"]);
    let text = text.trim_start_matches('\u{feff}');
    let mut lines = text.split("\r\n").filter(|line| !line.is_empty());
    let head: Vec<&str> = lines.next().expect("a head").split(',').collect();
    let place = |name: &str| head.iter().position(|one| *one == name).expect(name);
    let mut count = 0;
    for line in lines {
        // No cell of these has a comma of its own.
        let cells: Vec<&str> = line.split(',').collect();
        assert_eq!(cells.len(), head.len(), "{line}");
        let cell = |name: &str| cells[place(name)];
        let number = cell("raise").parse().expect("a number");
        let raise = raise_of(fresh, cell("recording"), number);
        for (column, value) in [
            ("start_s", &raise["start_s"]),
            ("end_point_deg", &raise["end_point"]["angle_deg"]),
            (
                "end_point_uncertainty_deg",
                &raise["end_point"]["uncertainty_deg"],
            ),
            ("peak_deg", &raise["peak"]["angle_deg"]),
            ("hold_deg", &raise["hold"]["angle_deg"]),
        ] {
            let printed: f64 = cell(column).parse().expect(column);
            let measured = value.as_f64().expect(column);
            assert!((printed - measured).abs() < 1e-3, "{column}: {line}");
        }
        assert_eq!(cell("reason"), raise["end_point"]["reason"]);
        assert_eq!(cell("side"), raise["side"]);
        count += 1;
    }
    assert_eq!(count, 72, "three raises of three runs at eight visits");
}

/// Every angle of a raise in the health record is one of a recording.
fn bundle(desk: &Desk, fresh: &[Value]) {
    let text = desk.does(&["report", "moser", "--as", "fhir"]);
    assert!(!text.contains("Anneli"), "a name in the health record");
    let bundle: Value = serde_json::from_str(&text).expect("JSON");
    let measured: Vec<f64> = fresh
        .iter()
        .flat_map(|run| run["raises"].as_array().expect("raises"))
        .filter_map(|raise| raise["end_point"]["angle_deg"].as_f64())
        .collect();
    let mut count = 0;
    for entry in bundle["entry"].as_array().expect("entries") {
        let one = &entry["resource"];
        let is_of_raise = one["code"]["text"]
            .as_str()
            .is_some_and(|text| !text.to_lowercase().contains("mean"));
        if one["resourceType"] != "Observation" || !is_of_raise {
            continue;
        }
        let value = one["valueQuantity"]["value"].as_f64().expect("an angle");
        let is_measured = |m: &f64| (value - m).abs() < 0.0501;
        assert!(measured.iter().any(is_measured), "{one}");
        count += 1;
    }
    assert_eq!(count, 72);
}

/// Each means on paper is that of the visit, and the file names the recording that it comes from.
fn papers(desk: &Desk, code: &str) {
    let course = desk.shows(&["course", "moser"]);
    let path = desk.path("file.html");
    let out = path.display().to_string();
    desk.does(&[
        "report", "moser", "--for", "file", "--as", "html", "--out", &out,
    ]);
    let html = fs::read_to_string(&path).expect("a report");
    assert!(html.contains("Anneli Möser") && html.contains(code));
    for side in course["sides"].as_array().expect("sides") {
        for visit in side["visits"].as_array().expect("visits") {
            let mean = visit["mean_deg"].as_f64().expect("a mean");
            // On paper to whole degrees, for ± is more than half of one.
            for text in [
                format!("{mean:.0}°"),
                visit["recording"].as_str().expect("a name").to_owned(),
            ] {
                assert!(html.contains(&text), "{text} of {visit}");
            }
        }
    }
    let decision = desk.shows(&["decide", "moser"]);
    let note = desk.does(&["report", "moser", "--as", "note"]);
    for (line, side) in note
        .lines()
        .zip(decision["sides"].as_array().expect("sides"))
    {
        let mean = side["mean_deg"].as_f64().expect("a mean");
        assert!(line.contains(&format!("{mean:.1}°")), "{line}");
        assert!(!line.contains("Möser"), "a name in {line}");
    }
    for whom in ["client", "file", "referrer"] {
        let path = desk.path(&format!("{whom}.pdf"));
        let out = path.display().to_string();
        desk.does(&[
            "report", "moser", "--for", whom, "--as", "pdf", "--out", &out,
        ]);
        assert!(fs::read(&path).expect("a report").starts_with(b"%PDF-"));
    }
}
