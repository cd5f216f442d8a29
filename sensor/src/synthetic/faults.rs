//! What goes wrong between a sensor and the file, done to good samples.

use super::body::Motion;
use super::random::Random;
use super::truth::TruthRaise;
use super::unit::stored;
use super::vector::Vector;
use crate::{DeviceTicks, Placement, RawStamp, RunTime, Sample, Side, Track};

/// One thing that goes wrong. `None` for a placement means every sensor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fault {
    /// A share of the samples is lost, in bursts. The first sample is kept.
    LostBursts {
        /// Where.
        placement: Option<Placement>,
        /// Share lost.
        share: f64,
        /// Shortest and longest burst, samples.
        length: (usize, usize),
    },
    /// The first packet comes twice; the copy is stamped a quarter of a step later.
    RepeatedFirst {
        /// Where.
        placement: Option<Placement>,
    },
    /// Nothing for a while.
    Gap {
        /// Where.
        placement: Option<Placement>,
        /// From, s.
        from_s: f64,
        /// How long, s.
        length_s: f64,
    },
    /// Nothing around the peak of a raise.
    GapAtPeak {
        /// Where.
        placement: Option<Placement>,
        /// Which raise, from 0.
        raise: usize,
        /// How long, s.
        length_s: f64,
    },
    /// The range of the chip ends.
    Saturation {
        /// Where.
        placement: Option<Placement>,
        /// Of the accelerometer, m/s².
        accel_m_s2: f64,
        /// Of the gyroscope, rad/s.
        gyro_rad_s: f64,
    },
    /// The gyroscope axis next to the axis of the raise reads by this factor: the unit contradicts itself.
    SelfContradiction {
        /// Where.
        placement: Placement,
        /// 1 is sound.
        factor: f64,
    },
    /// The sensor's clock runs fast by this share (0.01: 1 %), and its stamps with it.
    ClockRate {
        /// Where.
        placement: Placement,
        /// Share.
        error: f64,
    },
    /// Stamps are whole multiples of this.
    CoarseStamps {
        /// Where.
        placement: Option<Placement>,
        /// Step of the stamps, s.
        tick_s: f64,
    },
    /// Samples are stamped when their packet came: several almost at once, then a pause.
    StampedOnArrival {
        /// Where.
        placement: Option<Placement>,
        /// Samples a packet.
        per_packet: usize,
    },
    /// The strap slips within 0.3 s.
    Slip {
        /// Where.
        placement: Placement,
        /// When it begins, s.
        at_s: f64,
        /// How far, degrees.
        angle_deg: f64,
        /// About which direction of the segment: distal, anterior, rightward.
        about: [f64; 3],
    },
    /// The left sensors were strapped on the right and the other way round.
    SidesSwapped,
    /// A second sensor delivers the samples of the first.
    SameStream {
        /// Whose samples come.
        of: Placement,
        /// Whose samples should have come.
        instead_of: Placement,
    },
    /// Values are whole multiples of these.
    Quantised {
        /// Steps of the accelerometer in one m/s².
        accel_steps: f64,
        /// Steps of the gyroscope in one rad/s.
        gyro_steps: f64,
    },
}

/// Does one fault to the tracks. Slips are in the motion already.
#[expect(
    clippy::too_many_lines,
    reason = "one arm a fault, each a line or two of its own"
)]
pub(super) fn apply(
    fault: &Fault,
    tracks: &mut [Track],
    motion: Option<&Motion>,
    truth: &[TruthRaise],
    seed: u64,
) {
    match *fault {
        Fault::Slip { .. } => {}
        Fault::SidesSwapped => swap_sides(tracks),
        Fault::SameStream { of, instead_of } => same_stream(tracks, of, instead_of),
        Fault::LostBursts {
            placement,
            share,
            length,
        } => each(tracks, placement, |track| {
            let stream = track.placement.map_or(0, |p| p as u64);
            lose_bursts(
                track,
                share,
                length,
                &mut Random::new(seed, 0x0500 + stream),
            );
        }),
        Fault::RepeatedFirst { placement } => each(tracks, placement, repeat_first),
        Fault::Gap {
            placement,
            from_s,
            length_s,
        } => {
            each(tracks, placement, |track| cut(track, from_s, length_s));
        }
        Fault::GapAtPeak {
            placement,
            raise,
            length_s,
        } => {
            if let Some(raise) = truth.get(raise) {
                each(tracks, placement, |track| {
                    cut(track, raise.peak.time_s - 0.5 * length_s, length_s);
                });
            }
        }
        Fault::Saturation {
            placement,
            accel_m_s2,
            gyro_rad_s,
        } => each_sample(tracks, placement, |sample| {
            let (accel, gyro) = (stored(accel_m_s2), stored(gyro_rad_s));
            sample.accel_m_s2 = sample.accel_m_s2.map(|a| a.clamp(-accel, accel));
            sample.gyro_rad_s = sample.gyro_rad_s.map(|g| g.clamp(-gyro, gyro));
        }),
        Fault::SelfContradiction { placement, factor } => {
            let axis = axis_of_raise(motion, placement);
            each_sample(tracks, Some(placement), |sample| {
                sample.gyro_rad_s[axis] *= stored(factor);
            });
        }
        Fault::ClockRate { placement, error } => {
            each(tracks, Some(placement), |track| run_fast(track, error));
        }
        Fault::CoarseStamps { placement, tick_s } => {
            restamp(tracks, placement, |_, at, _| (at / tick_s).round() * tick_s);
        }
        Fault::StampedOnArrival {
            placement,
            per_packet,
        } => {
            let per_packet = per_packet.max(1);
            restamp(tracks, placement, |i, _, all| {
                all[i - i % per_packet] + 3e-4 * (i % per_packet) as f64
            });
        }
        Fault::Quantised {
            accel_steps,
            gyro_steps,
        } => each_sample(tracks, None, |sample| {
            sample.accel_m_s2 = sample.accel_m_s2.map(|a| in_steps(a, accel_steps));
            sample.gyro_rad_s = sample.gyro_rad_s.map(|g| in_steps(g, gyro_steps));
        }),
    }
}

fn each(tracks: &mut [Track], placement: Option<Placement>, change: impl FnMut(&mut Track)) {
    tracks
        .iter_mut()
        .filter(|t| placement.is_none() || t.placement == placement)
        .for_each(change);
}

fn each_sample(
    tracks: &mut [Track],
    placement: Option<Placement>,
    mut change: impl FnMut(&mut Sample),
) {
    each(tracks, placement, |track| {
        track.samples.iter_mut().for_each(&mut change);
    });
}

fn in_steps(value: f32, steps: f64) -> f32 {
    // Adding nought takes the sign off a negative one.
    stored((f64::from(value) * steps).round() / steps + 0.0)
}

/// Keeps the samples for which `stays` holds, each with its stamp.
fn keep(track: &mut Track, mut stays: impl FnMut(usize, &Sample) -> bool) {
    let staying: Vec<bool> = track
        .samples
        .iter()
        .enumerate()
        .map(|(i, s)| stays(i, s))
        .collect();
    let mut next = staying.iter();
    track.samples.retain(|_| next.next().is_some_and(|&s| s));
    let mut next = staying.iter();
    track.stamps.retain(|_| next.next().is_some_and(|&s| s));
}

fn lose_bursts(track: &mut Track, share: f64, length: (usize, usize), random: &mut Random) {
    let mean_count = 0.5 * (length.0 + length.1) as f64;
    // After each sample kept a burst begins with this chance, so that `share` is lost in the long run.
    let chance = share / (mean_count * (1.0 - share).max(0.01));
    let mut losing = 0;
    keep(track, |i, _| {
        if losing > 0 {
            losing -= 1;
            return false;
        }
        if i > 0 && random.chance(chance) {
            losing = random.count(length.0, length.1).saturating_sub(1);
            return false;
        }
        true
    });
}

fn repeat_first(track: &mut Track) {
    let quarter_ns = RunTime::from_s(0.25 / track.rate_hz).map_or(0, RunTime::ns);
    if let Some(&first) = track.samples.first() {
        track.samples.insert(
            1,
            Sample {
                at: RunTime::from_ns(first.at.ns() + quarter_ns),
                ..first
            },
        );
    }
    if let Some(&first) = track.stamps.first() {
        track.stamps.insert(1, first);
    }
}

fn cut(track: &mut Track, from_s: f64, length_s: f64) {
    keep(track, |_, sample| {
        sample.at.s() < from_s || sample.at.s() > from_s + length_s
    });
}

fn run_fast(track: &mut Track, error: f64) {
    for sample in &mut track.samples {
        sample.at = RunTime::from_s(sample.at.s() * (1.0 + error)).unwrap_or(sample.at);
    }
    for (stamp, sample) in track.stamps.iter_mut().zip(&track.samples) {
        stamp.device = stamp.device.map(|_| ticks(sample.at));
    }
}

/// A microsecond clock that started with the run.
pub(super) fn ticks(at: RunTime) -> DeviceTicks {
    DeviceTicks(u64::try_from(at.ns() / 1000).unwrap_or(0))
}

/// New times for the samples; those that don't go forward are left out.
fn restamp(
    tracks: &mut [Track],
    placement: Option<Placement>,
    stamp: impl Fn(usize, f64, &[f64]) -> f64,
) {
    each(tracks, placement, |track| {
        let before_s: Vec<f64> = track.samples.iter().map(|s| s.at.s()).collect();
        for (i, sample) in track.samples.iter_mut().enumerate() {
            sample.at = RunTime::from_s(stamp(i, before_s[i], &before_s)).unwrap_or(sample.at);
        }
        let mut last = None;
        keep(track, |_, sample| {
            let forward = last.is_none_or(|last| sample.at > last);
            if forward {
                last = Some(sample.at);
            }
            forward
        });
    });
}

/// The sensor axis that lies closest to the segment's own left-right axis.
fn axis_of_raise(motion: Option<&Motion>, placement: Placement) -> usize {
    let strap = motion.and_then(|m| m.straps.iter().find(|s| s.placement == placement));
    let Some(strap) = strap else { return 0 };
    let across = strap
        .bone_from_sensor
        .back()
        .rotate(Vector::RIGHT)
        .array()
        .map(f64::abs);
    (1..3).fold(0, |best, axis| {
        if across[axis] > across[best] {
            axis
        } else {
            best
        }
    })
}

fn swap_sides(tracks: &mut [Track]) {
    for track in tracks {
        let swapped = track.placement.map(|placement| match placement {
            Placement::ShinLeft => Placement::shin(Side::Right),
            Placement::ShinRight => Placement::shin(Side::Left),
            Placement::ThighLeft => Placement::thigh(Side::Right),
            Placement::ThighRight => Placement::thigh(Side::Left),
            Placement::Pelvis => Placement::Pelvis,
        });
        if let Some(placement) = swapped {
            track.placement = swapped;
            placement.as_str().clone_into(&mut track.name);
        }
    }
}

fn same_stream(tracks: &mut [Track], of: Placement, instead_of: Placement) {
    let source = tracks.iter().find(|t| t.placement == Some(of));
    let Some((samples, stamps)): Option<(Vec<Sample>, Vec<RawStamp>)> =
        source.map(|t| (t.samples.clone(), t.stamps.clone()))
    else {
        return;
    };
    each(tracks, Some(instead_of), |track| {
        track.samples.clone_from(&samples);
        track.stamps.clone_from(&stamps);
    });
}
