//! A raise as JSON in one cell: every number comes back as the same bits, words are those of the files.

use fusion::{
    Angle, Budget, Compensation, CompensationKind, EndPoint, Flag, Hold, Measured, Moment, Raise,
    Reason, Source, Term,
};
use serde::{Deserialize, Serialize};

use super::error::{Inner, StoreErrorKind};
use super::values::{odd, side};

const REASONS: [Reason; 6] = [
    Reason::Pull,
    Reason::OppositeLeg,
    Reason::Knee,
    Reason::Stop,
    Reason::Hold,
    Reason::Peak,
];
const KINDS: [CompensationKind; 2] = [CompensationKind::OppositeLeg, CompensationKind::Knee];
const SOURCES: [Source; 7] = [
    Source::Sensor,
    Source::Alignment,
    Source::Noise,
    Source::Zero,
    Source::Time,
    Source::Gap,
    Source::Flesh,
];

#[derive(Serialize, Deserialize)]
struct Row {
    side: String,
    start_s: f64,
    end_s: f64,
    peak: Option<MomentRow>,
    hold: Option<HoldRow>,
    end_point: Option<EndRow>,
    compensations: Vec<GaveRow>,
    pelvis_share: Option<f64>,
    rate_max_rad_s: f64,
    flags: Vec<String>,
}

#[derive(Serialize, Deserialize)]
struct AngleRow {
    rad: f64,
    expanded_rad: f64,
    /// Source, standard uncertainty, degrees of freedom (`None`: infinite).
    budget: Vec<(String, f64, Option<f64>)>,
}

#[derive(Serialize, Deserialize)]
struct MomentRow {
    time_s: f64,
    angle: AngleRow,
}

#[derive(Serialize, Deserialize)]
struct HoldRow {
    start_s: f64,
    end_s: f64,
    angle: AngleRow,
}

#[derive(Serialize, Deserialize)]
struct EndRow {
    reason: String,
    time_s: f64,
    pressed_s: Option<f64>,
    angle: AngleRow,
}

#[derive(Serialize, Deserialize)]
struct GaveRow {
    kind: String,
    onset_s: f64,
    rad: f64,
    extent_rad: f64,
}

/// A raise as text. JSON has no word for what is no number, so such a raise is refused.
pub(super) fn to_text(raise: &Raise) -> Inner<String> {
    let row = Row {
        side: raise.side.as_str().to_owned(),
        start_s: raise.start_s,
        end_s: raise.end_s,
        peak: raise.peak.as_ref().map(|peak| MomentRow {
            time_s: peak.time_s,
            angle: angle(&peak.angle),
        }),
        hold: raise.hold.as_ref().map(|hold| HoldRow {
            start_s: hold.start_s,
            end_s: hold.end_s,
            angle: angle(&hold.angle),
        }),
        end_point: raise.end_point.as_ref().map(|end| EndRow {
            reason: end.reason.as_str().to_owned(),
            time_s: end.time_s,
            pressed_s: end.pressed_s,
            angle: angle(&end.angle),
        }),
        compensations: raise.compensations.iter().map(gave).collect(),
        pelvis_share: raise.pelvis_share,
        rate_max_rad_s: raise.rate_max_rad_s,
        flags: raise
            .flags
            .iter()
            .map(|flag| flag.as_str().to_owned())
            .collect(),
    };
    let text = serde_json::to_string(&row).map_err(|e| odd("raise", &e.to_string()))?;
    // Written and read back: what can't be read again is not kept.
    match from_text(&text) {
        Ok(read) if read == *raise => Ok(text),
        _ => Err(StoreErrorKind::Value {
            field: "raise",
            value: format!("from {} s on", raise.start_s),
            expected: "numbers throughout",
        }),
    }
}

/// The raise behind a text.
pub(super) fn from_text(text: &str) -> Inner<Raise> {
    let row: Row = serde_json::from_str(text).map_err(|e| odd("raise", &e.to_string()))?;
    let moment = |row: MomentRow| -> Inner<Moment> {
        Ok(Moment {
            time_s: row.time_s,
            angle: measured(row.angle)?,
        })
    };
    let hold = |row: HoldRow| -> Inner<Hold> {
        Ok(Hold {
            start_s: row.start_s,
            end_s: row.end_s,
            angle: measured(row.angle)?,
        })
    };
    let end = |row: EndRow| -> Inner<EndPoint> {
        Ok(EndPoint {
            reason: word("reason", &REASONS, Reason::as_str, &row.reason)?,
            time_s: row.time_s,
            pressed_s: row.pressed_s,
            angle: measured(row.angle)?,
        })
    };
    let compensation = |row: GaveRow| -> Inner<Compensation> {
        Ok(Compensation {
            kind: word("kind", &KINDS, CompensationKind::as_str, &row.kind)?,
            onset_s: row.onset_s,
            angle: Angle::from_radians(row.rad),
            extent: Angle::from_radians(row.extent_rad),
        })
    };
    Ok(Raise {
        side: side(&row.side)?,
        start_s: row.start_s,
        end_s: row.end_s,
        peak: row.peak.map(moment).transpose()?,
        hold: row.hold.map(hold).transpose()?,
        end_point: row.end_point.map(end).transpose()?,
        compensations: row
            .compensations
            .into_iter()
            .map(compensation)
            .collect::<Inner<_>>()?,
        pelvis_share: row.pelvis_share,
        rate_max_rad_s: row.rate_max_rad_s,
        flags: row
            .flags
            .iter()
            .map(|flag| word("flag", &Flag::ALL, Flag::as_str, flag))
            .collect::<Inner<_>>()?,
    })
}

fn angle(measured: &Measured) -> AngleRow {
    let term = |term: &Term| {
        let dof = term.dof.is_finite().then_some(term.dof);
        (
            term.source.as_str().to_owned(),
            term.standard.radians(),
            dof,
        )
    };
    AngleRow {
        rad: measured.value.radians(),
        expanded_rad: measured.expanded.radians(),
        budget: measured.budget.terms.iter().map(term).collect(),
    }
}

fn measured(row: AngleRow) -> Inner<Measured> {
    let term = |(source, standard_rad, dof): (String, f64, Option<f64>)| -> Inner<Term> {
        Ok(Term {
            source: word("source", &SOURCES, Source::as_str, &source)?,
            standard: Angle::from_radians(standard_rad),
            dof: dof.unwrap_or(f64::INFINITY),
        })
    };
    Ok(Measured {
        value: Angle::from_radians(row.rad),
        expanded: Angle::from_radians(row.expanded_rad),
        budget: Budget {
            terms: row.budget.into_iter().map(term).collect::<Inner<_>>()?,
        },
    })
}

fn gave(found: &Compensation) -> GaveRow {
    GaveRow {
        kind: found.kind.as_str().to_owned(),
        onset_s: found.onset_s,
        rad: found.angle.radians(),
        extent_rad: found.extent.radians(),
    }
}

/// The value of a closed list behind its word.
fn word<T: Copy>(
    what: &str,
    all: &[T],
    as_str: impl Fn(T) -> &'static str,
    text: &str,
) -> Inner<T> {
    let mut known = all.iter().copied();
    known
        .find(|one| as_str(*one) == text)
        .ok_or_else(|| odd(what, text))
}

#[cfg(test)]
mod tests {
    use super::super::tests_kit::raise;
    use super::*;

    #[test]
    fn every_bit_and_word_comes_back() {
        let mut whole = raise(sensor::Side::Left, 55.1);
        whole.flags = Flag::ALL.to_vec();
        whole.compensations = KINDS
            .map(|kind| Compensation {
                kind,
                onset_s: 0.1 + 0.2,
                angle: Angle::from_degrees(50.0),
                extent: Angle::from_degrees(9.3),
            })
            .to_vec();
        for (at, source) in SOURCES.into_iter().enumerate() {
            let dof = if at == 0 { f64::INFINITY } else { 7.5 };
            if let Some(peak) = &mut whole.peak {
                peak.angle.budget.terms.push(Term {
                    source,
                    standard: Angle::from_radians(1e-3 / 3.0),
                    dof,
                });
            }
        }
        for reason in REASONS {
            if let Some(end) = &mut whole.end_point {
                end.reason = reason;
            }
            assert_eq!(from_text(&to_text(&whole).unwrap()).unwrap(), whole);
        }
        whole.peak = None;
        whole.hold = None;
        whole.end_point = None;
        assert_eq!(from_text(&to_text(&whole).unwrap()).unwrap(), whole);
    }

    #[test]
    fn what_is_no_number_or_no_word_is_refused() {
        let mut odd = raise(sensor::Side::Left, 55.0);
        odd.rate_max_rad_s = f64::NAN;
        assert!(to_text(&odd).is_err());
        let text = to_text(&raise(sensor::Side::Left, 55.0)).unwrap();
        assert!(from_text(&text.replace("\"left\"", "\"up\"")).is_err());
        assert!(from_text(&text[..40]).is_err());
    }
}
