//! The JSON object `legraise/analysis/1`. The only place where it is spelt; `docs/formats.md` describes it.
//!
//! Degrees and seconds are rounded to four decimals; what is absent or no number is `null`.

use std::io::{self, Write};

use fusion::{
    Angle, Budget, Compensation, EndPoint, Flag, Hold, Measured, Moment, Raise, Settings,
};
use serde::Serialize;

use crate::analyse::Outcome;

/// The name of the format. Its number goes up when a reader of the former one would misunderstand it.
const SCHEMA: &str = "legraise/analysis/1";
/// Goes up when the method gives other numbers from the same recording.
pub(crate) const METHOD_VERSION: u32 = 2;
/// The share of cases in which the stated uncertainty holds the true value.
const COVERAGE: f64 = 0.95;

/// What stands before the recordings.
#[derive(Serialize)]
struct Head {
    schema: &'static str,
    method: Method,
    coverage: f64,
}

#[derive(Serialize)]
struct Method {
    version: u32,
    program: String,
    settings: String,
}

#[derive(Serialize)]
struct RecordingJson<'a> {
    recording: String,
    task: &'a str,
    path: &'a str,
    sensors: &'a [String],
    error: Option<&'a str>,
    problems: &'a [String],
    raises: Vec<RaiseJson>,
}

#[derive(Serialize)]
struct RaiseJson {
    side: &'static str,
    start_s: f64,
    end_s: f64,
    peak: Option<PeakJson>,
    hold: Option<HoldJson>,
    end_point: Option<EndPointJson>,
    compensations: Vec<CompensationJson>,
    rate_max_deg_s: f64,
    pelvis_share: Option<f64>,
    flags: Vec<&'static str>,
}

#[derive(Serialize)]
struct AngleJson {
    angle_deg: f64,
    uncertainty_deg: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    budget: Option<Vec<TermJson>>,
}

#[derive(Serialize)]
struct TermJson {
    source: &'static str,
    standard_deg: f64,
    /// Null where it is known by its limits.
    degrees_of_freedom: Option<f64>,
}

#[derive(Serialize)]
struct PeakJson {
    time_s: f64,
    #[serde(flatten)]
    angle: AngleJson,
}

#[derive(Serialize)]
struct HoldJson {
    start_s: f64,
    end_s: f64,
    #[serde(flatten)]
    angle: AngleJson,
}

#[derive(Serialize)]
struct EndPointJson {
    reason: &'static str,
    time_s: f64,
    pressed_s: Option<f64>,
    #[serde(flatten)]
    angle: AngleJson,
}

#[derive(Serialize)]
struct CompensationJson {
    kind: &'static str,
    onset_s: f64,
    angle_deg: f64,
    extent_deg: f64,
}

/// Writes the object, a recording a line. With `with_budget` each angle carries the parts of its uncertainty.
pub(crate) fn write_json(
    out: &mut dyn Write,
    outcomes: &[Outcome],
    settings: &Settings,
    with_budget: bool,
) -> io::Result<()> {
    let head = Head {
        schema: SCHEMA,
        method: Method {
            version: METHOD_VERSION,
            program: program(),
            settings: settings.fingerprint(),
        },
        coverage: COVERAGE,
    };
    let head = serde_json::to_string(&head)?;
    // The object stays open, so that recordings can be written one by one.
    write!(out, "{},\n \"recordings\": [", head.trim_end_matches('}'))?;
    for (index, outcome) in outcomes.iter().enumerate() {
        out.write_all(if index == 0 { b"\n  " } else { b",\n  " })?;
        serde_json::to_writer(&mut *out, &recording(outcome, with_budget))?;
    }
    out.write_all(b"]}\n")
}

/// The program and its version.
pub(crate) fn program() -> String {
    format!("legraise {}", env!("CARGO_PKG_VERSION"))
}

fn recording(outcome: &Outcome, with_budget: bool) -> RecordingJson<'_> {
    RecordingJson {
        recording: outcome.id.to_string(),
        task: &outcome.id.task,
        path: &outcome.path,
        sensors: &outcome.sensors,
        error: outcome.error.as_deref(),
        problems: &outcome.problems,
        raises: outcome
            .raises
            .iter()
            .map(|r| raise(r, with_budget))
            .collect(),
    }
}

/// A raise as a value, spelt as in the analysis.
#[cfg(feature = "book")]
pub(crate) fn raise_value(one: &Raise) -> serde_json::Value {
    // Plain text and numbers: it can't fail.
    serde_json::to_value(raise(one, false)).unwrap_or_default()
}

fn raise(raise: &Raise, with_budget: bool) -> RaiseJson {
    let angle = |measured: &Measured| AngleJson {
        angle_deg: degrees(measured.value),
        uncertainty_deg: degrees(measured.expanded),
        budget: with_budget.then(|| terms(&measured.budget)),
    };
    let peak = |peak: &Moment| PeakJson {
        time_s: rounded(peak.time_s),
        angle: angle(&peak.angle),
    };
    let hold = |hold: &Hold| HoldJson {
        start_s: rounded(hold.start_s),
        end_s: rounded(hold.end_s),
        angle: angle(&hold.angle),
    };
    let end_point = |end: &EndPoint| EndPointJson {
        reason: end.reason.as_str(),
        time_s: rounded(end.time_s),
        pressed_s: end.pressed_s.map(rounded),
        angle: angle(&end.angle),
    };
    let compensation = |found: &Compensation| CompensationJson {
        kind: found.kind.as_str(),
        onset_s: rounded(found.onset_s),
        angle_deg: degrees(found.angle),
        extent_deg: degrees(found.extent),
    };
    RaiseJson {
        side: raise.side.as_str(),
        start_s: rounded(raise.start_s),
        end_s: rounded(raise.end_s),
        peak: raise.peak.as_ref().map(peak),
        hold: raise.hold.as_ref().map(hold),
        end_point: raise.end_point.as_ref().map(end_point),
        compensations: raise.compensations.iter().map(compensation).collect(),
        rate_max_deg_s: degrees(Angle::from_radians(raise.rate_max_rad_s)),
        pelvis_share: raise.pelvis_share.map(rounded),
        flags: raise.flags.iter().copied().map(Flag::as_str).collect(),
    }
}

fn terms(budget: &Budget) -> Vec<TermJson> {
    let term = |term: &fusion::Term| TermJson {
        source: term.source.as_str(),
        standard_deg: degrees(term.standard),
        degrees_of_freedom: term.dof.is_finite().then(|| rounded(term.dof)),
    };
    budget.terms.iter().map(term).collect()
}

fn degrees(angle: Angle) -> f64 {
    rounded(angle.degrees())
}

/// To four decimals, never a negative nought.
pub(crate) fn rounded(value: f64) -> f64 {
    (value * 1e4).round() / 1e4 + 0.0
}

#[cfg(test)]
mod tests {
    use fusion::{CompensationKind, Reason, Source};
    use sensor::{RecordingId, Side};
    use serde_json::{Value, json};

    use super::*;

    fn written(outcomes: &[Outcome], with_budget: bool) -> Value {
        let mut out = Vec::new();
        write_json(&mut out, outcomes, &Settings::default(), with_budget).unwrap();
        serde_json::from_slice(&out).unwrap()
    }

    fn measured(deg: f64, standard_deg: f64) -> Measured {
        Budget::default()
            .with(Source::Sensor, Angle::from_degrees(standard_deg))
            .measured(Angle::from_degrees(deg))
    }

    fn outcome() -> Outcome {
        let raise = Raise {
            side: Side::Right,
            start_s: 2.5,
            end_s: 11.000_000_001,
            peak: Some(Moment {
                time_s: 6.9,
                angle: measured(62.3, 0.2),
            }),
            hold: Some(Hold {
                start_s: 6.8,
                end_s: 8.1,
                angle: measured(61.7, 0.2),
            }),
            end_point: Some(EndPoint {
                reason: Reason::OppositeLeg,
                time_s: 6.1,
                pressed_s: None,
                angle: measured(55.000_04, 0.45),
            }),
            compensations: vec![Compensation {
                kind: CompensationKind::OppositeLeg,
                onset_s: 6.1,
                angle: Angle::from_degrees(55.0),
                extent: Angle::from_degrees(14.2),
            }],
            pelvis_share: None,
            rate_max_rad_s: 0.5,
            flags: vec![Flag::GapNearPeak],
        };
        Outcome {
            id: RecordingId {
                subject: Some("X".into()),
                session: Some("01".into()),
                task: "legraise".into(),
                acquisition: None,
                run: Some("01".into()),
            },
            path: "sub-X/ses-01/motion".into(),
            sensors: vec!["shinleft".into(), "shinright".into()],
            raises: vec![raise],
            ..Outcome::default()
        }
    }

    #[test]
    fn a_recording_is_spelt_as_agreed() {
        let found = written(&[outcome()], false);
        assert_eq!(found["schema"], "legraise/analysis/1");
        assert_eq!(found["method"]["version"], 2);
        assert_eq!(found["coverage"], 0.95);
        let expected = json!({
            "recording": "sub-X/ses-01/run-01", "task": "legraise", "path": "sub-X/ses-01/motion",
            "sensors": ["shinleft", "shinright"], "error": null, "problems": [],
            "raises": [{
                "side": "right", "start_s": 2.5, "end_s": 11.0,
                "peak": {"time_s": 6.9, "angle_deg": 62.3, "uncertainty_deg": 0.392},
                "hold": {"start_s": 6.8, "end_s": 8.1, "angle_deg": 61.7, "uncertainty_deg": 0.392},
                "end_point": {"reason": "opposite-leg", "time_s": 6.1, "pressed_s": null, "angle_deg": 55.0,
                    "uncertainty_deg": 0.882},
                "compensations": [{"kind": "opposite-leg", "onset_s": 6.1, "angle_deg": 55.0, "extent_deg": 14.2}],
                "rate_max_deg_s": 28.6479, "pelvis_share": null, "flags": ["gap-near-peak"],
            }],
        });
        assert_eq!(found["recordings"][0], expected);
    }

    #[test]
    fn what_is_absent_or_no_number_is_null() {
        let mut odd = outcome();
        odd.raises[0].peak = None;
        odd.raises[0].start_s = f64::NAN;
        odd.error = Some("a: b; c".into());
        let found = written(&[odd.clone(), odd], false);
        assert_eq!(found["recordings"][1]["raises"][0]["peak"], Value::Null);
        assert_eq!(found["recordings"][1]["raises"][0]["start_s"], Value::Null);
        assert_eq!(found["recordings"][1]["error"], "a: b; c");
    }

    #[test]
    fn nothing_found_is_still_an_object() {
        assert_eq!(written(&[], false)["recordings"], json!([]));
    }

    #[test]
    fn the_budget_comes_when_asked_for() {
        let term = &written(&[outcome()], true)["recordings"][0]["raises"][0]["peak"]["budget"][0];
        assert_eq!(
            *term,
            json!({"source": "sensor", "standard_deg": 0.2, "degrees_of_freedom": null})
        );
    }

    #[test]
    fn numbers_are_rounded_without_a_negative_nought() {
        assert_eq!(serde_json::to_string(&rounded(-0.000_01)).unwrap(), "0.0");
        assert_eq!(serde_json::to_string(&rounded(62.300_04)).unwrap(), "62.3");
    }
}
