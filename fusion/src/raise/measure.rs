//! Numbers of one raise with their uncertainty: peak, hold, and the angle at any instant.

use crate::Angle;
use crate::analysis::{Hold, Measured, Moment};
use crate::settings::Settings;
use crate::stream::Stream;
use crate::uncertainty::{Budget, Source};

use super::curve::{HALF_WIDTH_S, Plateau};
use super::lift::Lifted;

/// A hold lies at the top: within this of the peak, rad, or a third of the height if that is less.
const HOLD_BELOW_PEAK_RAD: f64 = 0.26;
/// Spread of where a leg rests from one raise to the next, rad: what a zero without a rest of its own may be off.
const REST_SPREAD_RAD: f64 = 0.0087;
/// Flesh wobbles within a second or so: the mean over a zero keeps about this part of it.
const FLESH_AT_ZERO: f64 = 0.5;
/// Part of the change of rate across a gap by which the mean rate in it may be off.
const GAP_SHARE: f64 = 0.1;
/// A step between readings longer than this is a gap, s.
const GAP_S: f64 = 0.1;

/// Reads angles off one raise.
pub(crate) struct Measure<'a> {
    pub(crate) stream: &'a Stream,
    pub(crate) lifted: &'a Lifted,
    pub(crate) settings: &'a Settings,
}

impl Measure<'_> {
    /// The highest point.
    pub(crate) fn peak(&self) -> Option<Moment> {
        let lifted = self.lifted;
        let (time_s, local) = lifted.curve().peak(lifted.start, lifted.end)?;
        let budget = self.budget(lifted.index_at(time_s), time_s).with_dof(
            Source::Noise,
            Angle::from_radians(local.sd_rad),
            local.dof,
        );
        Some(Moment {
            time_s,
            angle: budget.measured(Angle::from_radians(local.angle_rad)),
        })
    }

    /// The longest steady stretch at the top.
    pub(crate) fn hold(&self, peak: &Moment) -> Option<Hold> {
        let plateau = self.plateau(peak)?;
        let lifted = self.lifted;
        let middle = usize::midpoint(plateau.first, plateau.last);
        let budget = self.budget(middle, lifted.t_s[middle]);
        Some(Hold {
            start_s: lifted.t_s[plateau.first],
            end_s: lifted.t_s[plateau.last],
            angle: budget.measured(Angle::from_radians(plateau.mean_rad)),
        })
    }

    fn plateau(&self, peak: &Moment) -> Option<Plateau> {
        let (lifted, settings) = (self.lifted, self.settings);
        let peak_rad = peak.angle.value.radians();
        let floor = peak_rad - HOLD_BELOW_PEAK_RAD.min(peak_rad / 3.0);
        let high = |k: &usize| lifted.angle_rad[*k] >= floor;
        let top = lifted.index_at(peak.time_s);
        let first = (0..=top).rev().take_while(high).last()?;
        let last = (top..lifted.angle_rad.len()).take_while(high).last()?;
        lifted.curve().plateau(
            first,
            last,
            settings.hold_spread.radians(),
            settings.hold_min_s,
        )
    }

    /// The angle at an instant known to `time_sd_s`.
    pub(crate) fn at(&self, time_s: f64, time_sd_s: f64) -> Option<Measured> {
        let lifted = self.lifted;
        let local = lifted.curve().local(time_s, HALF_WIDTH_S)?;
        let budget = self
            .budget(lifted.index_at(time_s), time_s)
            .with_dof(Source::Noise, Angle::from_radians(local.sd_rad), local.dof)
            .with(
                Source::Time,
                Angle::from_radians(self.slope(time_s, time_sd_s) * time_sd_s),
            );
        Some(budget.measured(Angle::from_radians(local.angle_rad)))
    }

    /// Mean steepness of the course over the stretch in which the instant lies, rad/s, without sign.
    fn slope(&self, time_s: f64, time_sd_s: f64) -> f64 {
        let lifted = self.lifted;
        let at = |t_s: f64| lifted.angle_rad[lifted.index_at(t_s)];
        let half_s = time_sd_s.max(0.05);
        let across = (at(time_s + half_s) - at(time_s - half_s)).abs() / (2.0 * half_s);
        let local = lifted
            .curve()
            .local(time_s, HALF_WIDTH_S)
            .map_or(0.0, |l| l.rate_rad_s.abs());
        across.max(local)
    }

    /// What every reading of this raise shares.
    fn budget(&self, index: usize, time_s: f64) -> Budget {
        let lifted = self.lifted;
        let zero = if lifted.own_rest {
            0.0
        } else {
            REST_SPREAD_RAD
        };
        Budget::default()
            .with(
                Source::Sensor,
                Angle::from_radians(lifted.sensor_sd_rad(index)),
            )
            .with(
                Source::Alignment,
                Angle::from_radians(lifted.heading_sd_rad(index)),
            )
            .with(Source::Zero, Angle::from_radians(zero))
            .with(Source::Gap, Angle::from_radians(self.gap_sd_rad(time_s)))
            // The reading carries it whole, the zero what its mean leaves of it.
            .with(
                Source::Flesh,
                self.settings.flesh * 1.0_f64.hypot(FLESH_AT_ZERO),
            )
    }

    /// What gaps between the zero and the instant leave open, rad: the rate between may be off by half the change of
    /// rate across the gap.
    fn gap_sd_rad(&self, time_s: f64) -> f64 {
        let stream = self.stream;
        let last = stream.index_at(time_s);
        let limit_s = GAP_S.min(3.0 * stream.step_s);
        stream.imus[self.lifted.zero.last..=last.max(self.lifted.zero.last)]
            .windows(2)
            .filter(|w| w[1].t_s - w[0].t_s > limit_s)
            .map(|w| {
                (GAP_SHARE * (w[1].gyro_rad_s - w[0].gyro_rad_s).norm() * (w[1].t_s - w[0].t_s))
                    .powi(2)
            })
            .sum::<f64>()
            .sqrt()
    }
}
