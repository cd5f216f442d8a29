//! One raise's result: peak, hold, compensations, the first reason that ends it, and what to beware of.

use sensor::{MarkKind, Side};

use crate::analysis::{
    Compensation, CompensationKind, EndPoint, Flag, Hold, Moment, Raise, Reason,
};
use crate::second_opinion;
use crate::settings::Settings;
use crate::stream::Stream;
use crate::{Angle, Measured};

use super::companions::{Other, rate};
use super::compensation::{Departure, Limits, departure};
use super::contradiction::contradiction_rad;
use super::lift::Lifted;
use super::measure::Measure;

/// A mark that belongs to this raise.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Cue {
    pub(crate) pressed_s: f64,
    pub(crate) kind: MarkKind,
}

/// The sensors of a raise by role.
#[derive(Clone, Copy)]
pub(crate) struct Roles<'a> {
    pub(crate) raised: &'a Stream,
    pub(crate) opposite: Option<Other<'a>>,
    pub(crate) thigh: Option<Other<'a>>,
    pub(crate) pelvis: Option<Other<'a>>,
}

/// A possible end of the raise.
struct Candidate {
    reason: Reason,
    time_s: f64,
    time_sd_s: f64,
    pressed_s: Option<f64>,
}

/// A gap this long next to a reading leaves it unknown, s.
const GAP_S_MAX: f64 = 0.25;
/// How far around the peak such a gap counts, s.
const NEAR_PEAK_S: f64 = 0.2;
/// A thigh that rises less than this share of the shin's rise is lying still: the knee did the work.
const THIGH_SHARE_MIN: f64 = 0.5;
/// The pelvis' share may grow by this much over the raise; more is a change of slope.
const PELVIS_SHARE_CHANGE: f64 = 0.25;

/// Puts a raise's result together. The side is only passed on.
pub(crate) fn conclude(
    side: Side,
    lifted: &Lifted,
    roles: &Roles<'_>,
    cues: &[Cue],
    settings: &Settings,
) -> Option<Raise> {
    let measure = Measure {
        stream: roles.raised,
        lifted,
        settings,
    };
    let peak = measure.peak()?;
    if peak.angle.value < settings.raise_min {
        return None;
    }
    let hold = measure.hold(&peak);
    let leaves_s = leaves_top_s(lifted, &peak, hold.as_ref(), settings);
    let mut flags = Vec::new();
    let departures = departures(lifted, roles, leaves_s, settings);
    let compensations: Vec<Compensation> = departures
        .iter()
        .filter_map(|(kind, found)| {
            Some(Compensation {
                kind: *kind,
                onset_s: found.onset_s,
                angle: measure.at(found.onset_s, found.onset_sd_s)?.value,
                extent: Angle::from_radians(found.extent_rad),
            })
        })
        .collect();
    let end_point = end_point(
        &measure,
        &peak,
        hold.as_ref(),
        &departures,
        cues,
        leaves_s,
        settings,
        &mut flags,
    );
    let top = lifted.index_at(peak.time_s);
    let rate_max_rad_s = rate(lifted)[lifted.start..=top.max(lifted.start)]
        .iter()
        .copied()
        .fold(0.0, f64::max);
    let pelvis = roles
        .pelvis
        .and_then(|pelvis| pelvis.as_pelvis(roles.raised, lifted, top));
    if pelvis.is_some_and(|(early, late)| late - early > PELVIS_SHARE_CHANGE) {
        flags.push(Flag::PelvisChange);
    }
    if rate_max_rad_s > settings.fast.radians() {
        flags.push(Flag::Fast);
    }
    rest_flags(lifted, settings, &mut flags);
    let trusted = sensor_flags(lifted, roles, &peak, hold.as_ref(), settings, &mut flags);
    flags.sort_unstable();
    flags.dedup();
    Some(Raise {
        side,
        start_s: lifted.start_s,
        end_s: lifted.end_s,
        peak: trusted.then_some(peak),
        hold: hold.filter(|_| trusted),
        end_point: end_point.filter(|_| trusted),
        compensations,
        pelvis_share: pelvis.map(|(early, _)| early),
        rate_max_rad_s,
        flags,
    })
}

/// When the leg has sunk from its top: marks and compensations after it end nothing.
fn leaves_top_s(lifted: &Lifted, peak: &Moment, hold: Option<&Hold>, settings: &Settings) -> f64 {
    let (from_s, level) = match hold {
        Some(hold) => (hold.end_s, hold.angle.value),
        None => (peak.time_s, peak.angle.value),
    };
    let from = lifted.index_at(from_s);
    let last = lifted.t_s.len() - 1;
    let sunk = lifted
        .curve()
        .below_after(from, last, (level - settings.top_left).radians());
    lifted.t_s[sunk.unwrap_or(last)]
}

fn departures(
    lifted: &Lifted,
    roles: &Roles<'_>,
    leaves_s: f64,
    settings: &Settings,
) -> Vec<(CompensationKind, Departure)> {
    let mut found = Vec::new();
    if let Some(opposite) = roles.opposite {
        let limits = Limits {
            confirm_rad: settings.opposite_confirm.radians(),
            onset_rad: settings.opposite_onset.radians(),
        };
        let companion = opposite.as_opposite(roles.raised, lifted);
        found.extend(
            departure(&companion, limits, leaves_s).map(|d| (CompensationKind::OppositeLeg, d)),
        );
    }
    if let Some(thigh) = roles.thigh {
        let limits = Limits {
            confirm_rad: settings.knee_confirm.radians(),
            onset_rad: settings.knee_onset.radians(),
        };
        let companion = thigh.as_thigh(roles.raised, lifted);
        found.extend(departure(&companion, limits, leaves_s).map(|d| (CompensationKind::Knee, d)));
    }
    found.retain(|(_, d)| d.onset_s > lifted.start_s);
    found.sort_by(|(_, a), (_, b)| a.onset_s.total_cmp(&b.onset_s));
    found
}

#[expect(
    clippy::too_many_arguments,
    reason = "each is one thing an end point can come from"
)]
fn end_point(
    measure: &Measure<'_>,
    peak: &Moment,
    hold: Option<&Hold>,
    departures: &[(CompensationKind, Departure)],
    cues: &[Cue],
    leaves_s: f64,
    settings: &Settings,
    flags: &mut Vec<Flag>,
) -> Option<EndPoint> {
    let mut candidates: Vec<Candidate> = cues
        .iter()
        .filter_map(|cue| from_cue(*cue, settings))
        .collect();
    candidates.extend(departures.iter().map(|(kind, found)| Candidate {
        reason: if *kind == CompensationKind::Knee {
            Reason::Knee
        } else {
            Reason::OppositeLeg
        },
        time_s: found.onset_s,
        time_sd_s: found.onset_sd_s,
        pressed_s: None,
    }));
    candidates.sort_by(|a, b| a.time_s.total_cmp(&b.time_s));
    let in_time = |c: &&Candidate| c.time_s >= measure.lifted.start_s && c.time_s <= leaves_s;
    if candidates
        .iter()
        .any(|c| !in_time(&c) && c.pressed_s.is_some())
    {
        flags.push(Flag::UnusedMark);
    }
    let mut valid = candidates.iter().filter(in_time);
    let Some(first) = valid.next() else {
        let (reason, time_s, angle) = match hold {
            Some(hold) => (Reason::Hold, hold.start_s, hold.angle.clone()),
            None => (Reason::Peak, peak.time_s, peak.angle.clone()),
        };
        return Some(EndPoint {
            reason,
            time_s,
            pressed_s: None,
            angle,
        });
    };
    for other in valid {
        if other.reason != first.reason
            && other.time_s - first.time_s < 2.0 * other.time_sd_s.hypot(first.time_sd_s)
        {
            flags.push(Flag::CloseCall);
        }
        if other.pressed_s.is_some() {
            flags.push(Flag::UnusedMark);
        }
    }
    let angle: Measured = measure.at(first.time_s, first.time_sd_s)?;
    if angle.expanded > settings.end_point_max {
        flags.push(Flag::EndPointUncertain);
        return None;
    }
    Some(EndPoint {
        reason: first.reason,
        time_s: first.time_s,
        pressed_s: first.pressed_s,
        angle,
    })
}

fn from_cue(cue: Cue, settings: &Settings) -> Option<Candidate> {
    let reason = match cue.kind {
        MarkKind::Pull => Reason::Pull,
        MarkKind::Stop => Reason::Stop,
        MarkKind::Rest | MarkKind::Flat | MarkKind::Raise | MarkKind::Turn | MarkKind::Note => {
            return None;
        }
    };
    Some(Candidate {
        reason,
        time_s: cue.pressed_s - settings.reaction_s,
        time_sd_s: settings.reaction_sd_s,
        pressed_s: Some(cue.pressed_s),
    })
}

fn rest_flags(lifted: &Lifted, settings: &Settings, flags: &mut Vec<Flag>) {
    if !lifted.own_rest {
        flags.push(Flag::NoOwnRest);
    }
    if lifted.excursion.cut_before {
        flags.push(Flag::BeginsOutside);
    }
    if lifted.excursion.cut_after {
        flags.push(Flag::EndsOutside);
    }
    if let Some(shift_rad) = lifted.rest_shift_rad.map(f64::abs) {
        if shift_rad > settings.strap_slip.radians() {
            flags.push(Flag::StrapSlipped);
        } else if shift_rad > settings.rest_shift.radians() {
            flags.push(Flag::RestShifted);
        }
    }
}

/// Flags about the sensors; `false` if the raise's numbers can't be trusted.
fn sensor_flags(
    lifted: &Lifted,
    roles: &Roles<'_>,
    peak: &Moment,
    hold: Option<&Hold>,
    settings: &Settings,
    flags: &mut Vec<Flag>,
) -> bool {
    let stream = roles.raised;
    // A leg that is still on its way when the recording ends has shown no peak.
    let unfinished =
        lifted.excursion.cut_after && peak.time_s > lifted.t_s[lifted.t_s.len() - 1] - NEAR_PEAK_S;
    let mut trusted = !lifted.excursion.cut_before && !unfinished;
    let mut distrust = |flag, flags: &mut Vec<Flag>| {
        flags.push(flag);
        trusted = false;
    };
    if stream.longest_step_s(peak.time_s - NEAR_PEAK_S, peak.time_s + NEAR_PEAK_S) > GAP_S_MAX {
        distrust(Flag::GapNearPeak, flags);
    }
    let (start, top) = (
        stream.index_at(lifted.start_s),
        stream.index_at(peak.time_s),
    );
    let rising = |k: &usize| (start..=top).contains(k);
    if stream.gyro_saturated.iter().any(rising) {
        distrust(Flag::Saturated, flags);
    } else if stream.accel_saturated.iter().any(rising) {
        // The course is the gyroscope's; the accelerometer only corrects it, and blows are left out there.
        flags.push(Flag::Saturated);
    }
    let zero = (lifted.zero.first, lifted.zero.last);
    let bias = stream.bias_rad_s(top);
    let quiet_top = hold.map(|hold| {
        let middle_s = 0.5 * (hold.start_s + hold.end_s);
        (
            stream.index_at(middle_s - 0.2),
            stream.index_at(middle_s + 0.2),
        )
    });
    let contradiction = quiet_top.and_then(|to| contradiction_rad(stream, zero, to, bias));
    if contradiction.is_some_and(|rad| rad > settings.contradiction.radians()) {
        distrust(Flag::SensorContradiction, flags);
    }
    if let Some(thigh) = roles.thigh {
        let rise = thigh.change_rad(stream, lifted, peak.time_s).abs();
        if rise < THIGH_SHARE_MIN * peak.angle.value.radians() {
            flags.push(Flag::NotStraight);
        }
    }
    let opinion = second_opinion::rise_rad(
        &stream.imus[lifted.zero.last..=top.max(lifted.zero.last)],
        stream.step_s,
        bias,
        lifted.zero.up,
        lifted.zero.distal,
    );
    let agreed_rad = peak.angle.expanded.radians() + second_opinion::EXPANDED_RAD;
    if opinion.is_some_and(|rad| (rad - peak.angle.value.radians()).abs() > agreed_rad) {
        flags.push(Flag::SecondOpinion);
    }
    if stream.calibration.faces == crate::calibrate::Faces::None {
        flags.push(Flag::Uncalibrated);
    }
    trusted
}
