//! The demo recordings' results, number by number, against those kept. `UPDATE_GOLDEN=1` writes them anew.

use std::fs;

use fusion::{Analysis, Measured, Raise};
use sensor::bids::find_runs;
use serde_json::{Map, Value, json};

use super::kit::{analyse_files, data, root};

/// Angles and times may differ by this between machines; everything else not at all.
const ANGLE_DEG: f64 = 0.02;
const TIME_S: f64 = 0.01;

fn measured(at: &Measured) -> [(&'static str, Value); 2] {
    [
        ("angle_deg", json!(at.value.degrees())),
        ("uncertainty_deg", json!(at.expanded.degrees())),
    ]
}

fn object(fields: impl IntoIterator<Item = (&'static str, Value)>) -> Value {
    Value::Object(
        fields
            .into_iter()
            .map(|(key, value)| (key.to_owned(), value))
            .collect(),
    )
}

fn raise(raise: &Raise) -> Value {
    let peak = raise.peak.as_ref().map(|p| {
        object(
            [("time_s", json!(p.time_s))]
                .into_iter()
                .chain(measured(&p.angle)),
        )
    });
    let hold = raise.hold.as_ref().map(|h| {
        object(
            [("start_s", json!(h.start_s)), ("end_s", json!(h.end_s))]
                .into_iter()
                .chain(measured(&h.angle)),
        )
    });
    let end_point = raise.end_point.as_ref().map(|e| {
        let known = [
            ("reason", json!(e.reason.as_str())),
            ("time_s", json!(e.time_s)),
            ("pressed_s", json!(e.pressed_s)),
        ];
        object(known.into_iter().chain(measured(&e.angle)))
    });
    let compensations: Vec<Value> = raise
        .compensations
        .iter()
        .map(|c| {
            object([
                ("kind", json!(c.kind.as_str())),
                ("onset_s", json!(c.onset_s)),
                ("angle_deg", json!(c.angle.degrees())),
                ("extent_deg", json!(c.extent.degrees())),
            ])
        })
        .collect();
    object([
        ("side", json!(raise.side.as_str())),
        ("start_s", json!(raise.start_s)),
        ("end_s", json!(raise.end_s)),
        ("peak", json!(peak)),
        ("hold", json!(hold)),
        ("end_point", json!(end_point)),
        ("compensations", json!(compensations)),
        (
            "flags",
            json!(
                raise
                    .flags
                    .iter()
                    .map(|flag| flag.as_str())
                    .collect::<Vec<_>>()
            ),
        ),
    ])
}

fn told(analysis: &Analysis) -> Value {
    let problems: Vec<String> = analysis
        .problems
        .iter()
        .map(|problem| format!("{problem:?}"))
        .collect();
    json!({ "raises": analysis.raises.iter().map(raise).collect::<Vec<_>>(), "problems": problems })
}

/// Where two results differ by more than they may.
fn differences(place: &str, found: &Value, kept: &Value, off: &mut Vec<String>) {
    match (found, kept) {
        (Value::Object(a), Value::Object(b)) => {
            let mut keys: Vec<&String> = a.keys().chain(b.keys()).collect();
            keys.sort();
            keys.dedup();
            for key in keys {
                let (a, b) = (
                    a.get(key).unwrap_or(&Value::Null),
                    b.get(key).unwrap_or(&Value::Null),
                );
                differences(&format!("{place}/{key}"), a, b, off);
            }
        }
        (Value::Array(a), Value::Array(b)) if a.len() == b.len() => {
            for (n, (a, b)) in a.iter().zip(b).enumerate() {
                differences(&format!("{place}/{n}"), a, b, off);
            }
        }
        (Value::Number(a), Value::Number(b)) => {
            let tolerance = match place {
                _ if place.ends_with("_deg") => ANGLE_DEG,
                _ if place.ends_with("_s") => TIME_S,
                _ => 0.0,
            };
            let apart = a
                .as_f64()
                .zip(b.as_f64())
                .map_or(f64::INFINITY, |(a, b)| (a - b).abs());
            if apart.is_nan() || apart > tolerance {
                off.push(format!("{place}: {a}, kept {b}"));
            }
        }
        _ if found == kept => {}
        _ => off.push(format!("{place}: {found}, kept {kept}")),
    }
}

#[test]
fn the_demo_gives_what_it_gave() {
    let demo = root().join("recordings-demo");
    let path = data("golden-demo.json");
    let runs = find_runs(&demo).unwrap_or_else(|e| panic!("{e}"));
    let found: Map<String, Value> = runs
        .iter()
        .map(|files| (files.id.to_string(), told(&analyse_files(files))))
        .collect();
    assert_eq!(
        found.len(),
        runs.len(),
        "every recording has a name of its own"
    );
    let found = Value::Object(found);
    if std::env::var_os("UPDATE_GOLDEN").is_some_and(|v| v == "1") {
        let text = serde_json::to_string_pretty(&found).expect("text") + "\n";
        fs::write(&path, text).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    }
    let text = fs::read_to_string(&path)
        .unwrap_or_else(|e| panic!("{}: {e}; run once with UPDATE_GOLDEN=1", path.display()));
    let kept: Value = serde_json::from_str(&text).expect("JSON");
    let mut off = Vec::new();
    differences("", &found, &kept, &mut off);
    assert!(
        off.is_empty(),
        "{} differences; the first:\n{}",
        off.len(),
        off[..off.len().min(20)].join("\n")
    );
}

#[test]
fn the_comparison_sees_what_differs() {
    let kept = json!({ "angle_deg": 60.0, "time_s": 1.0, "flags": ["fast"], "peak": null });
    let count = |found: Value| {
        let mut off = Vec::new();
        differences("", &found, &kept, &mut off);
        off.len()
    };
    assert_eq!(
        count(json!({ "angle_deg": 60.019, "time_s": 0.991, "flags": ["fast"], "peak": null })),
        0
    );
    assert_eq!(
        count(json!({ "angle_deg": 60.021, "time_s": 1.011, "flags": [], "peak": 1.0 })),
        4
    );
    assert_eq!(
        count(json!({ "angle_deg": null, "flags": ["fast"], "peak": null })),
        2
    );
}
