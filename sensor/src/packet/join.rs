//! Acc and gyro that come apart, joined at the times of acc.

use std::collections::VecDeque;

use super::take::Motion;
use super::{Decoded, DecodedSample, PacketFault, is_possible, single};
use crate::profile::{Pair, PairMethod};

/// Half of a sample.
#[derive(Clone, Copy, Debug)]
pub(super) struct Half {
    /// On what both are joined by, s.
    at_s: f64,
    sample: DecodedSample,
    values: [f64; 3],
}

/// Halves that wait for the others.
#[derive(Clone, Debug, Default)]
pub(super) struct Joiner {
    accs: VecDeque<Half>,
    gyros: VecDeque<Half>,
}

impl Joiner {
    /// The most halves of one kind that wait.
    const WAITING_COUNT_MAX: usize = 1024;
    /// An acc that is older than the newest by this much gets no gyro any more, s.
    const WAIT_S_MAX: f64 = 0.5;
    /// Between gyros further apart than this many samples nothing is interpolated.
    const STEPS_COUNT_MAX: f64 = 2.5;

    pub(super) fn push(
        &mut self,
        at_s: Option<f64>,
        sample: DecodedSample,
        motion: &Motion,
        out: &mut Vec<Decoded>,
    ) {
        let (queue, values) = match (motion.accel, motion.gyro) {
            (Some(values), None) => (&mut self.accs, values),
            (None, Some(values)) => (&mut self.gyros, values),
            _ => return,
        };
        let Some(at_s) = at_s.filter(|at_s| at_s.is_finite()) else {
            out.push(Decoded::Fault(PacketFault::Unpaired));
            return;
        };
        if queue.len() >= Self::WAITING_COUNT_MAX {
            queue.pop_front();
            out.push(Decoded::Fault(PacketFault::Unpaired));
        }
        queue.push_back(Half {
            at_s,
            sample,
            values,
        });
    }

    /// Gives what is complete; at the end also what waits in vain.
    pub(super) fn drain(
        &mut self,
        pair: &Pair,
        rate_hz: f64,
        is_end: bool,
        out: &mut Vec<Decoded>,
    ) {
        while let (Some(acc), Some(newest)) = (self.accs.front(), self.accs.back()) {
            let is_late = is_end || newest.at_s - acc.at_s > Self::WAIT_S_MAX;
            let after = self.gyros.iter().position(|gyro| gyro.at_s >= acc.at_s);
            if after.is_none() && !is_late {
                return;
            }
            let first_after = after.unwrap_or(self.gyros.len());
            let before = first_after.checked_sub(1);
            let gyro = between(
                acc.at_s,
                before.and_then(|before| self.gyros.get(before)),
                after.and_then(|after| self.gyros.get(after)),
                pair,
                Self::STEPS_COUNT_MAX / rate_hz,
            );
            out.push(gyro.map_or(Decoded::Fault(PacketFault::Unpaired), |gyro| {
                joined(acc, gyro)
            }));
            self.accs.pop_front();
            self.gyros.drain(..before.unwrap_or(0));
        }
    }
}

/// The rate at a time, and whether it was at full scale.
fn between(
    at_s: f64,
    before: Option<&Half>,
    after: Option<&Half>,
    pair: &Pair,
    apart_s_max: f64,
) -> Option<([f64; 3], bool)> {
    let away = |half: &Half| (half.at_s - at_s).abs();
    let candidates = [before, after].into_iter().flatten();
    let nearest = candidates.min_by(|a, b| away(a).total_cmp(&away(b)))?;
    // Times are whole ticks; a tolerance of five of them means five.
    if away(nearest) > pair.tolerance_s + 1e-9 {
        return None;
    }
    let whole = (nearest.values, nearest.sample.is_at_full_scale);
    let (PairMethod::Linear, Some(before), Some(after)) = (pair.method, before, after) else {
        return Some(whole);
    };
    let apart_s = after.at_s - before.at_s;
    if apart_s <= 0.0 || apart_s > apart_s_max {
        return Some(whole);
    }
    let share = (at_s - before.at_s) / apart_s;
    let mut values = before.values;
    for (value, next) in values.iter_mut().zip(after.values) {
        *value += share * (next - *value);
    }
    let is_at_full_scale = before.sample.is_at_full_scale || after.sample.is_at_full_scale;
    Some((values, is_at_full_scale))
}

fn joined(acc: &Half, (gyro, is_gyro_at_full_scale): ([f64; 3], bool)) -> Decoded {
    let sample = DecodedSample {
        gyro_rad_s: single(Some(gyro)),
        is_at_full_scale: acc.sample.is_at_full_scale || is_gyro_at_full_scale,
        ..acc.sample
    };
    if is_possible(&sample) {
        Decoded::Sample(sample)
    } else {
        Decoded::Fault(PacketFault::Impossible)
    }
}
