//! Vectors and turns in space, no more than the simulation needs.

use std::ops::{Add, Mul, Neg, Sub};

/// A vector in whatever frame its name says.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Vector {
    pub(super) x: f64,
    pub(super) y: f64,
    pub(super) z: f64,
}

impl Vector {
    pub(super) const ZERO: Self = Self::new(0.0, 0.0, 0.0);
    pub(super) const X: Self = Self::new(1.0, 0.0, 0.0);
    /// Up, in the earth frame.
    pub(super) const Z: Self = Self::new(0.0, 0.0, 1.0);
    /// The person's right when lying with the feet towards x: a raise turns the leg about it.
    pub(super) const RIGHT: Self = Self::new(0.0, -1.0, 0.0);

    pub(super) const fn new(x: f64, y: f64, z: f64) -> Self {
        Self { x, y, z }
    }

    /// From (distal, anterior, rightward), the order in which a person thinks of a leg.
    pub(super) const fn of_segment(parts: [f64; 3]) -> Self {
        Self::new(parts[0], -parts[2], parts[1])
    }

    pub(super) const fn array(self) -> [f64; 3] {
        [self.x, self.y, self.z]
    }

    pub(super) fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y + self.z * other.z
    }

    pub(super) fn cross(self, other: Self) -> Self {
        Self::new(
            self.y * other.z - self.z * other.y,
            self.z * other.x - self.x * other.z,
            self.x * other.y - self.y * other.x,
        )
    }

    pub(super) fn norm(self) -> f64 {
        self.dot(self).sqrt()
    }

    /// Of length one; `otherwise` if there is no direction in it.
    pub(super) fn unit_or(self, otherwise: Self) -> Self {
        let norm = self.norm();
        if norm > 1e-12 {
            self * (1.0 / norm)
        } else {
            otherwise
        }
    }
}

impl Add for Vector {
    type Output = Self;
    fn add(self, rhs: Self) -> Self {
        Self::new(self.x + rhs.x, self.y + rhs.y, self.z + rhs.z)
    }
}

impl Sub for Vector {
    type Output = Self;
    fn sub(self, rhs: Self) -> Self {
        Self::new(self.x - rhs.x, self.y - rhs.y, self.z - rhs.z)
    }
}

impl Neg for Vector {
    type Output = Self;
    fn neg(self) -> Self {
        Self::new(-self.x, -self.y, -self.z)
    }
}

impl Mul<f64> for Vector {
    type Output = Self;
    fn mul(self, rhs: f64) -> Self {
        Self::new(self.x * rhs, self.y * rhs, self.z * rhs)
    }
}

/// A turn: a unit quaternion. `b_from_a` takes a vector's parts along the axes of a to those along b.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Turn {
    w: f64,
    v: Vector,
}

impl Turn {
    pub(super) const NONE: Self = Self {
        w: 1.0,
        v: Vector::ZERO,
    };

    /// About the direction of `rotation_rad`, by its length.
    pub(super) fn by(rotation_rad: Vector) -> Self {
        let angle_rad = rotation_rad.norm();
        let half = 0.5 * angle_rad;
        // sin(x/2)/x, without dividing by nothing.
        let factor = if angle_rad < 1e-6 {
            0.5 - angle_rad * angle_rad / 48.0
        } else {
            half.sin() / angle_rad
        };
        Self {
            w: half.cos(),
            v: rotation_rad * factor,
        }
    }

    /// About `axis` (of length one).
    pub(super) fn about(axis: Vector, angle_rad: f64) -> Self {
        Self::by(axis * angle_rad)
    }

    /// From w, x, y, z of length one.
    pub(super) const fn of_wxyz(w: f64, x: f64, y: f64, z: f64) -> Self {
        Self {
            w,
            v: Vector::new(x, y, z),
        }
    }

    pub(super) const fn wxyz(self) -> [f64; 4] {
        [self.w, self.v.x, self.v.y, self.v.z]
    }

    pub(super) fn back(self) -> Self {
        Self {
            w: self.w,
            v: -self.v,
        }
    }

    pub(super) fn rotate(self, vector: Vector) -> Vector {
        let t = self.v.cross(vector) * 2.0;
        vector + t * self.w + self.v.cross(t)
    }

    /// The shorter rotation that does the same: direction is the axis, length the angle, rad.
    pub(super) fn rotation_rad(self) -> Vector {
        let sine = self.v.norm();
        let (w, v) = if self.w < 0.0 {
            (-self.w, -self.v)
        } else {
            (self.w, self.v)
        };
        if sine < 1e-9 {
            v * 2.0
        } else {
            v * (2.0 * sine.atan2(w) / sine)
        }
    }
}

impl Mul for Turn {
    type Output = Self;
    /// First `rhs`, then `self`.
    fn mul(self, rhs: Self) -> Self {
        Self {
            w: self.w * rhs.w - self.v.dot(rhs.v),
            v: rhs.v * self.w + self.v * rhs.w + self.v.cross(rhs.v),
        }
    }
}
