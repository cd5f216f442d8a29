//! Every threshold of the analysis, with its unit, its default and where that comes from.
//! Thresholds are this project's policy unless a source is named.

use crate::{Angle, tilt::TiltParams};

/// All settings of an analysis. Shown wherever a result is, by their [`Settings::fingerprint`].
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// The tilt filter.
    pub tilt: TiltParams,
    /// Smallest raise, from rest to peak. Less finds twitches, more misses stiff clients.
    pub raise_min: Angle,
    /// A raise begins and ends this far off its rest (contract of the output).
    pub edge: Angle,
    /// A pause shorter than this is no rest, s.
    pub rest_min_s: f64,
    /// Spread of the angle within a hold, from highest to lowest.
    pub hold_spread: Angle,
    /// Shortest hold, s.
    pub hold_min_s: f64,
    /// How late a mark is pressed, s. Simple visual reaction 0.21–0.23 s (Woods et al., Front. Hum. Neurosci. 2015,
    /// 9:131), rounded up for a felt cue.
    pub reaction_s: f64,
    /// Standard uncertainty of that, s.
    pub reaction_sd_s: f64,
    /// Size the other leg's tilt must reach to count. Healthy sway stays below 4.4° in 95 of 100 raises.
    pub opposite_confirm: Angle,
    /// How far the other leg has left its course at the onset.
    pub opposite_onset: Angle,
    /// Size a knee bend must reach to count.
    pub knee_confirm: Angle,
    /// How far the knee has left its course at the onset.
    pub knee_onset: Angle,
    /// The leg has left its top when it has sunk this far; later reasons don't end the raise.
    pub top_left: Angle,
    /// Largest expanded uncertainty with which an end point is still given.
    pub end_point_max: Angle,
    /// Standard uncertainty that flesh adds to one reading of the bone's direction.
    pub flesh: Angle,
    /// Disagreement of accelerometer and gyroscope over a raise beyond which the sensor isn't believed.
    pub contradiction: Angle,
    /// Faster rises are flagged, as rate a second.
    pub fast: Angle,
    /// Change of resting direction over a raise beyond which it is flagged. People move by 0.3–4.7° between raises.
    pub rest_shift: Angle,
    /// Change beyond which the strap is suspected.
    pub strap_slip: Angle,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            tilt: TiltParams::default(),
            raise_min: Angle::from_degrees(8.0),
            edge: Angle::from_degrees(1.0),
            rest_min_s: 0.5,
            hold_spread: Angle::from_degrees(3.0),
            hold_min_s: 0.5,
            reaction_s: 0.25,
            reaction_sd_s: 0.10,
            opposite_confirm: Angle::from_degrees(6.0),
            opposite_onset: Angle::from_degrees(1.0),
            knee_confirm: Angle::from_degrees(8.0),
            knee_onset: Angle::from_degrees(2.0),
            top_left: Angle::from_degrees(5.0),
            end_point_max: Angle::from_degrees(5.0),
            flesh: Angle::from_degrees(0.12),
            contradiction: Angle::from_degrees(8.0),
            fast: Angle::from_degrees(60.0),
            rest_shift: Angle::from_degrees(4.0),
            strap_slip: Angle::from_degrees(8.0),
        }
    }
}

impl Settings {
    /// A short text that changes whenever a setting does (FNV-1a of all of them).
    pub fn fingerprint(&self) -> String {
        let text = format!("{self:?}");
        let hash = text.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
        });
        format!("{hash:016x}")
    }
}
