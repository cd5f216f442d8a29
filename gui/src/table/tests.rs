use fusion::{Angle, Budget, EndPoint, Hold, Moment, Reason, Source};
use sensor::RecordingId;

use super::*;

fn measured(deg: f64, standard_deg: f64) -> Measured {
    Budget::default()
        .with(Source::Sensor, Angle::from_degrees(standard_deg))
        .measured(Angle::from_degrees(deg))
}

fn raise(start_s: f64, deg: f64, reason: Reason) -> Raise {
    Raise {
        side: Side::Right,
        start_s,
        end_s: start_s + 8.0,
        peak: Some(Moment {
            time_s: start_s + 4.0,
            angle: measured(deg + 0.5, 0.2),
        }),
        hold: Some(Hold {
            start_s: start_s + 4.0,
            end_s: start_s + 5.0,
            angle: measured(deg, 0.2),
        }),
        end_point: Some(EndPoint {
            reason,
            time_s: start_s + 4.0,
            pressed_s: None,
            angle: measured(deg, 0.25),
        }),
        compensations: Vec::new(),
        pelvis_share: None,
        rate_max_rad_s: 0.3,
        flags: vec![Flag::Uncalibrated],
    }
}

fn outcome(raises: Vec<Raise>) -> Outcome {
    Outcome {
        id: RecordingId {
            subject: Some("tessok".into()),
            session: Some("01".into()),
            task: "legraise".into(),
            acquisition: None,
            run: Some("02".into()),
        },
        acquired: Some("2026-02-10T14:08:00".into()),
        conditions: Conditions {
            movement: Some("active".into()),
            ankle: Some("relaxed".into()),
            ..Conditions::default()
        },
        sensors: vec!["shinleft".into(), "shinright".into()],
        raises,
        ..Outcome::default()
    }
}

fn written(outcomes: &[Outcome]) -> String {
    let mut out = Vec::new();
    write_table(&mut out, outcomes).unwrap();
    String::from_utf8(out).unwrap()
}

#[test]
fn a_recording_is_a_block() {
    let mut gap = raise(23.456, 59.9, Reason::Stop);
    gap.peak = None;
    gap.flags.push(Flag::GapNearPeak);
    let text = written(&[outcome(vec![
        raise(2.61, 58.9, Reason::Hold),
        raise(13.0, 60.3, Reason::OppositeLeg),
        gap,
    ])]);
    let expected = "\
sub-tessok/ses-01/run-02   2026-02-10 14:08   active, ankle relaxed
  sensors: shinleft, shinright
  #  side     start      peak           hold           end point      ended by
  1  right     2.61 s    59.4° ± 0.4    58.9° ± 0.4    58.9° ± 0.5   hold
  2  right    13.00 s    60.8° ± 0.4    60.3° ± 0.4    60.3° ± 0.5   opposite-leg
  3  right    23.46 s       -           59.9° ± 0.4    59.9° ± 0.5   stop
     gap-near-peak
  all raises: uncalibrated
";
    assert!(text.starts_with(expected), "{text}");
}

#[test]
fn a_mean_near_an_edge_names_both_bands_and_what_was_left_out() {
    let text = written(&[outcome(vec![
        raise(1.0, 59.4, Reason::Hold),
        raise(11.0, 59.8, Reason::Hold),
        raise(21.0, 30.0, Reason::Stop),
    ])]);
    let line = text
        .lines()
        .find(|line| line.contains("mean end point"))
        .unwrap();
    assert!(
        line.starts_with("  right mean end point 59.6° ± "),
        "{line}"
    );
    assert!(
        line.contains(" of 2 raises (left out: 1 ended by stop);"),
        "{line}"
    );
    assert!(
        text.contains("band 45-60° (") && text.contains(") or 60-90° ("),
        "{text}"
    );
}

#[test]
fn a_mean_far_from_an_edge_names_one_band() {
    let text = written(&[outcome(vec![raise(1.0, 71.0, Reason::Hold)])]);
    assert!(
        text.contains("right mean end point 71.0° ± 6.7° of 1 raise; band 60-90°\n"),
        "{text}"
    );
}

#[test]
fn headings_come_once_a_client_and_the_footer_once() {
    let first = outcome(vec![raise(1.0, 71.0, Reason::Hold)]);
    let mut other = first.clone();
    other.id.subject = Some("olivan".into());
    let text = written(&[first.clone(), first, other]);
    assert_eq!(text.matches(HEADINGS).count(), 2, "{text}");
    assert_eq!(text.matches("does not diagnose").count(), 1);
    assert_eq!(text.matches("practitioner's own setting").count(), 1);
    assert!(text.contains("3 recordings, 3 raises."));
}

#[test]
fn an_error_stands_where_the_raises_would() {
    let mut failed = outcome(Vec::new());
    failed.error = Some("a_motion.tsv: empty recording; record it again".into());
    assert!(
        written(&[failed])
            .contains("  not analysed: a_motion.tsv: empty recording; record it again\n")
    );
    assert!(written(&[outcome(Vec::new())]).contains("  no raise found\n"));
}

#[test]
fn many_flags_are_wrapped_within_the_page() {
    let mut flagged = raise(1.0, 50.0, Reason::Hold);
    flagged.flags = Flag::ALL.to_vec();
    let text = written(&[outcome(vec![flagged])]);
    let flags: usize = Flag::ALL
        .iter()
        .filter(|flag| text.contains(flag.as_str()))
        .count();
    assert_eq!(flags, Flag::ALL.len());
    let widest = text.lines().map(|line| line.chars().count()).max();
    assert!(widest.is_some_and(|width| width <= 100), "{text}");
}
