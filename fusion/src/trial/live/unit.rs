//! One strapped unit as it is followed: its tilt, where it last lay, and how far it has turned from there.

use nalgebra::{Matrix3, SymmetricEigen, UnitQuaternion, Vector3};
use sensor::UnitLimits;

use crate::Angle;
use crate::imu::Imu;
use crate::tilt::{TiltCoeffs, TiltOutput, TiltState, step};

/// A segment below this angle may be lying.
pub(super) const LYING: Angle = Angle::from_degrees(5.0);
/// A resting segment's zero follows it over this long, s.
const ZERO_S: f64 = 0.5;
/// A segment must have turned this far before its axis is believed, rad.
const LEARNED_RAD: f64 = 0.35;

/// A unit that is followed.
#[derive(Clone, Debug)]
pub(super) struct Unit {
    coeffs: TiltCoeffs,
    pub(super) limits: UnitLimits,
    state: Option<TiltState>,
    zero: Option<Zero>,
    /// How gravity has turned in the sensor so far: its principal axis is the raise's.
    turning: Matrix3<f64>,
    turned_rad: f64,
    last_up: Vector3<f64>,
    /// As of the last packet.
    angle_rad: f64,
}

/// Where the segment last lay.
#[derive(Clone, Copy, Debug)]
struct Zero {
    up: Vector3<f64>,
    earth_from_sensor: UnitQuaternion<f64>,
}

impl Unit {
    pub(super) fn new(coeffs: TiltCoeffs, limits: UnitLimits) -> Self {
        Self {
            coeffs,
            limits,
            state: None,
            zero: None,
            turning: Matrix3::zeros(),
            turned_rad: 0.0,
            last_up: Vector3::zeros(),
            angle_rad: 0.0,
        }
    }

    /// Takes a packet; readings that aren't later than the one before are passed over.
    pub(super) fn take(&mut self, imus: impl Iterator<Item = Imu>) {
        for imu in imus {
            self.one(&imu);
        }
        if let Some((zero, tilt)) = self.zero.zip(self.tilt()) {
            self.angle_rad = self.angle_from(zero, &tilt);
        }
    }

    fn one(&mut self, imu: &Imu) {
        let Some(state) = &mut self.state else {
            let state = TiltState::new(&self.coeffs, imu);
            self.last_up = state.output(&self.coeffs).earth_from_sensor.inverse() * Vector3::z();
            self.state = Some(state);
            return;
        };
        if imu.t_s <= state.t_s() {
            return;
        }
        let dt_s = imu.t_s - state.t_s();
        let tilt = step(&self.coeffs, state, imu);
        let up = tilt.earth_from_sensor.inverse() * Vector3::z();
        let turn = up.cross(&self.last_up);
        self.turning += turn * turn.transpose() / dt_s;
        self.turned_rad += turn.norm();
        self.last_up = up;
        self.follow_zero(&tilt, up, dt_s);
    }

    /// While the segment lies still, the zero follows it; one held up in the air is not lying.
    fn follow_zero(&mut self, tilt: &TiltOutput, up: Vector3<f64>, dt_s: f64) {
        if !tilt.trust.at_rest || LYING.radians() <= self.angle_rad {
            return;
        }
        let zero = self.zero.get_or_insert(Zero {
            up,
            earth_from_sensor: tilt.earth_from_sensor,
        });
        let share = (dt_s / ZERO_S).min(1.0);
        zero.up = (zero.up + (up - zero.up) * share).normalize();
        zero.earth_from_sensor = tilt.earth_from_sensor;
    }

    /// Its newest reading, s.
    pub(super) fn t_s(&self) -> Option<f64> {
        self.state.as_ref().map(TiltState::t_s)
    }

    pub(super) fn tilt(&self) -> Option<TiltOutput> {
        let state = self.state.as_ref()?;
        Some(state.output(&self.coeffs))
    }

    /// Whether it has ever lain still.
    pub(super) const fn has_zero(&self) -> bool {
        self.zero.is_some()
    }

    /// Whether its axis is known from how it has turned.
    pub(super) fn has_axis(&self) -> bool {
        LEARNED_RAD < self.turned_rad
    }

    /// How far it has turned from where it last lay, without sign.
    pub(super) const fn angle_rad(&self) -> f64 {
        self.angle_rad
    }

    /// How it has turned from where it last lay: axis times sine of the angle, sensor axes. A unit that has never
    /// lain still has not turned.
    pub(super) fn turn(&self) -> Vector3<f64> {
        self.zero
            .map_or(Vector3::zeros(), |zero| zero.up.cross(&self.last_up))
    }

    /// The raise angle with what is known of its axis: see the final one in `raise::trace`.
    fn angle_from(&self, zero: Zero, tilt: &TiltOutput) -> f64 {
        let up = tilt.earth_from_sensor.inverse() * Vector3::z();
        let plain = zero.up.cross(&up).norm().atan2(zero.up.dot(&up));
        if !self.has_axis() {
            return plain;
        }
        let eigen = SymmetricEigen::new(self.turning);
        let axis: Vector3<f64> = eigen.eigenvectors.column(eigen.eigenvalues.imax()).into();
        let level = axis - zero.up * axis.dot(&zero.up);
        let Some(axis) = level.try_normalize(0.3) else {
            return plain;
        };
        let distal = zero.up.cross(&axis);
        let forward = zero.earth_from_sensor * distal;
        let foot = tilt.earth_from_sensor * distal;
        // Which way along the leg the foot is isn't known of an axis; but a lying leg can only rise.
        foot.z.atan2(foot.dot(&forward)).abs()
    }
}
