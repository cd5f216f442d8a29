//! Angles that can't be mistaken: radians inside, degrees for people, never bare.

use std::fmt;
use std::ops::{Add, Mul, Neg, Sub};

/// An angle. Degrees or radians have to be asked for by name.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Angle(f64);

impl Angle {
    /// No angle.
    pub const ZERO: Self = Self(0.0);

    /// From degrees.
    pub const fn from_degrees(deg: f64) -> Self {
        Self(deg.to_radians())
    }

    /// From radians.
    pub const fn from_radians(rad: f64) -> Self {
        Self(rad)
    }

    /// In degrees.
    pub const fn degrees(self) -> f64 {
        self.0.to_degrees()
    }

    /// In radians.
    pub const fn radians(self) -> f64 {
        self.0
    }

    /// Without its sign.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self(self.0.abs())
    }
}

impl Add for Angle {
    type Output = Self;
    fn add(self, rhs: Self) -> Self {
        Self(self.0 + rhs.0)
    }
}

impl Sub for Angle {
    type Output = Self;
    fn sub(self, rhs: Self) -> Self {
        Self(self.0 - rhs.0)
    }
}

impl Neg for Angle {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl Mul<f64> for Angle {
    type Output = Self;
    fn mul(self, rhs: f64) -> Self {
        Self(self.0 * rhs)
    }
}

impl fmt::Display for Angle {
    /// `62.3°`, or as many decimals as asked for.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.*}°", f.precision().unwrap_or(1), self.degrees())
    }
}
