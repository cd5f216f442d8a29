//! What is told of a stream's clock.

/// How a stream's clock did.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ClockReport {
    /// Samples that came and were kept.
    pub sample_count: u64,
    /// Samples taken but not received, where counter or clock can tell; `None` where gaps can't be seen.
    pub lost_count: Option<u64>,
    /// Samples that came again; left out.
    pub repeated_count: u64,
    /// Samples that came after their successors: put in their place by [`fit`](crate::fit), left out by
    /// [`ClockMap`](crate::ClockMap).
    pub late_count: u64,
    /// Samples whose time was set just after the one before, since their clock didn't say so.
    pub nudged_count: u64,
    /// Stretches in which the sensor's clock ran through; 1 without restarts.
    pub segment_count: u64,
    /// Effective rate, samples in a second of this computer; nominal where too short to tell.
    pub rate_hz: f64,
    /// How much faster the sensor's clock runs than this computer's, as a fraction (1e-5: 10 ppm fast).
    pub skew: f64,
    /// Delay of arrival over the least, s, that 95 % of packets stay below; not known at once.
    pub jitter_s: Option<f64>,
}
