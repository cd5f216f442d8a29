//! What an accelerometer reads wrongly, from lying still on a flat surface face after face.
//!
//! A unit at rest feels gravity and nothing else: its reading, corrected by offset and scale, has the length g in
//! whatever direction it lies. That says more than the faces' own directions would, because it is free of the table's
//! slope. The unit's stated limits are the first knowledge, each still face narrows it: two opposite faces give the
//! offset of their axis, six faces offset and scale of all three.

mod guide;

use std::fmt;

use nalgebra::{SMatrix, SVector, Vector3};
use sensor::{Track, UnitLimits};

use crate::imu::Imu;

pub use guide::{FACE_HOLD_S, FacesWanted, Guide, GuideNow};

/// A face was still if its specific force scatters less than this about its mean, m/s².
const STILL_ACCEL_SD: f64 = 0.15;
/// And its angular rate about its mean, rad/s.
const STILL_RATE_SD: f64 = 0.035;
/// Shortest stretch that counts as a face, s.
const FACE_S_MIN: f64 = 1.0;
/// Gravity anywhere on earth, m/s²: 9.78 to 9.83 (WGS 84 normal gravity).
const GRAVITY: f64 = 9.806;
const GRAVITY_SD: f64 = 0.015;
/// A face counts for an axis if that axis feels at least this part of gravity.
const FACE_SHARE: f64 = 0.94;
/// What a face may miss after the fit, m/s², before the recording is not believed.
const RESIDUAL_MAX: f64 = 0.05;
/// What is left in a face's length besides noise (axes not square, a soft table), m/s².
const FACE_SD: f64 = 0.01;

/// How much a flat recording told.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Faces {
    /// No flat recording, or none that could be used: the unit's limits stand.
    #[default]
    None,
    /// At least one pair of opposite faces, not all three.
    Some,
    /// All three pairs.
    Six,
}

/// Errors of one accelerometer and how well they are known.
#[derive(Clone, Debug, PartialEq)]
pub struct Calibration {
    /// What each axis reads at no force, m/s².
    pub offset_m_s2: Vector3<f64>,
    /// By how much each axis reads too much, as a fraction.
    pub scale: Vector3<f64>,
    /// Covariance of offset (first three) and scale.
    pub cov: SMatrix<f64, 6, 6>,
    /// Standard deviation of the gyroscope's scale error, a fraction.
    pub gyro_scale_sd: f64,
    /// What it rests on.
    pub faces: Faces,
    /// Largest miss of a face's length after the fit, m/s²; zero without faces.
    pub residual_m_s2: f64,
}

/// Why a flat recording was not used.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FlatProblem {
    /// Too few still stretches with opposite faces.
    NoOppositeFaces {
        /// How many still stretches were found.
        still: usize,
    },
    /// The faces can't be explained by offset and scale.
    Residual {
        /// Largest miss, m/s².
        m_s2: f64,
    },
    /// The fit needs errors far beyond the unit's limits.
    BeyondLimits {
        /// Largest error as a multiple of its limit.
        times: f64,
    },
}

impl fmt::Display for FlatProblem {
    /// What, and what to do about it.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoOppositeFaces { still } => write!(
                f,
                "{still} still stretches, none on opposite faces; lay the unit on two opposite faces, 3 s each"
            ),
            Self::Residual { m_s2 } => write!(
                f,
                "the faces miss gravity by {m_s2:.2} m/s²; repeat it on a hard table without touching the unit"
            ),
            Self::BeyondLimits { times } => write!(
                f,
                "errors of {times:.0} times the unit's limits; check that it is the same unit, and its limits"
            ),
        }
    }
}

impl Calibration {
    /// From the unit's limits alone. A limit is the edge of equally likely values: its spread is limit / √3.
    pub fn from_limits(limits: UnitLimits) -> Self {
        let third = 3.0_f64.sqrt().recip();
        let mut var = SVector::<f64, 6>::zeros();
        var.fixed_rows_mut::<3>(0)
            .fill((limits.accel_offset_m_s2 * third).powi(2));
        var.fixed_rows_mut::<3>(3)
            .fill((limits.accel_scale * third).powi(2));
        Self {
            offset_m_s2: Vector3::zeros(),
            scale: Vector3::zeros(),
            cov: SMatrix::from_diagonal(&var),
            gyro_scale_sd: limits.gyro_scale * third,
            faces: Faces::None,
            residual_m_s2: 0.0,
        }
    }

    /// A reading with the known errors taken off.
    pub fn corrected(&self, accel_m_s2: Vector3<f64>) -> Vector3<f64> {
        (accel_m_s2 - self.offset_m_s2).component_div(&self.scale.add_scalar(1.0))
    }
}

/// Calibrates a unit from its flat recording.
pub fn calibrate(flat: &Track, limits: UnitLimits) -> Result<Calibration, FlatProblem> {
    let faces = still_faces(flat);
    let paired = (0..3)
        .filter(|&axis| has_face(&faces, axis, 1.0) && has_face(&faces, axis, -1.0))
        .count();
    if paired == 0 {
        return Err(FlatProblem::NoOppositeFaces { still: faces.len() });
    }
    let mut calibration = fit(&faces, &Calibration::from_limits(limits));
    calibration.faces = if paired == 3 { Faces::Six } else { Faces::Some };
    if calibration.residual_m_s2 > RESIDUAL_MAX {
        return Err(FlatProblem::Residual {
            m_s2: calibration.residual_m_s2,
        });
    }
    let times = (calibration.offset_m_s2.amax() / limits.accel_offset_m_s2)
        .max(calibration.scale.amax() / limits.accel_scale);
    // Limits are stated for room temperature and a new unit; three times them is another unit, or moved on the table.
    if times > 3.0 {
        return Err(FlatProblem::BeyondLimits { times });
    }
    Ok(calibration)
}

/// Mean specific force of each still stretch.
fn still_faces(flat: &Track) -> Vec<Vector3<f64>> {
    let imus: Vec<Imu> = flat.samples.iter().map(Imu::from).collect();
    let mut faces = Vec::new();
    let mut begin = 0;
    while begin < imus.len() {
        // Grow in quarter seconds as long as the whole stretch stays still.
        let mut end = begin;
        loop {
            let next = begin + imus[begin..].partition_point(|i| i.t_s < imus[end].t_s + 0.25);
            if next >= imus.len() || next == end || !still(&imus[begin..next]) {
                break;
            }
            end = next;
        }
        if imus[end].t_s - imus[begin].t_s >= FACE_S_MIN {
            faces.push(mean(&imus[begin..end], |i| i.accel_m_s2));
            begin = end;
        }
        let skip_s = imus[begin].t_s + 0.1;
        begin = (begin + imus[begin..].partition_point(|i| i.t_s < skip_s)).max(begin + 1);
    }
    faces
}

fn mean(imus: &[Imu], of: impl Fn(&Imu) -> Vector3<f64>) -> Vector3<f64> {
    imus.iter().map(of).sum::<Vector3<f64>>() / imus.len() as f64
}

fn still(imus: &[Imu]) -> bool {
    let sd = |of: fn(&Imu) -> Vector3<f64>| {
        let centre = mean(imus, of);
        (imus
            .iter()
            .map(|i| (of(i) - centre).norm_squared())
            .sum::<f64>()
            / imus.len() as f64)
            .sqrt()
    };
    sd(|i| i.accel_m_s2) < STILL_ACCEL_SD && sd(|i| i.gyro_rad_s) < STILL_RATE_SD
}

fn has_face(faces: &[Vector3<f64>], axis: usize, sign: f64) -> bool {
    faces
        .iter()
        .any(|face| sign * face[axis] > FACE_SHARE * face.norm())
}

/// Gauss–Newton on |corrected| = g with the limits as prior; unknown are offset, scale and g itself.
fn fit(faces: &[Vector3<f64>], prior: &Calibration) -> Calibration {
    const UNKNOWNS: usize = 7;
    let mut prior_weight = SVector::<f64, UNKNOWNS>::zeros();
    for k in 0..6 {
        prior_weight[k] = prior.cov[(k, k)].recip();
    }
    prior_weight[6] = GRAVITY_SD.powi(-2);
    let mut x = SVector::<f64, UNKNOWNS>::zeros();
    let mut cov = SMatrix::<f64, UNKNOWNS, UNKNOWNS>::zeros();
    let weight = FACE_SD.powi(-2);
    for _ in 0..5 {
        let mut normal = SMatrix::<f64, UNKNOWNS, UNKNOWNS>::from_diagonal(&prior_weight);
        let mut right = -prior_weight.component_mul(&x);
        for face in faces {
            let (residual, row) = length_miss(face, &x);
            normal += row * row.transpose() * weight;
            right -= row * residual * weight;
        }
        let Some(factor) = normal.cholesky() else {
            break;
        };
        x += factor.solve(&right);
        cov = factor.inverse();
    }
    let residual_m_s2 = faces
        .iter()
        .map(|face| length_miss(face, &x).0.abs())
        .fold(0.0, f64::max);
    Calibration {
        offset_m_s2: x.fixed_rows::<3>(0).into(),
        scale: x.fixed_rows::<3>(3).into(),
        cov: cov.fixed_view::<6, 6>(0, 0).into(),
        residual_m_s2,
        gyro_scale_sd: prior.gyro_scale_sd,
        faces: prior.faces,
    }
}

/// |corrected face| − g, and its derivative by offset, scale and g.
fn length_miss(face: &Vector3<f64>, x: &SVector<f64, 7>) -> (f64, SVector<f64, 7>) {
    let scale = Vector3::new(1.0 + x[3], 1.0 + x[4], 1.0 + x[5]);
    let corrected = (face - x.fixed_rows::<3>(0)).component_div(&scale);
    let length = corrected.norm();
    let direction = corrected / length;
    let mut row = SVector::<f64, 7>::zeros();
    for axis in 0..3 {
        row[axis] = -direction[axis] / scale[axis];
        row[3 + axis] = -direction[axis] * corrected[axis] / scale[axis];
    }
    row[6] = -1.0;
    (length - (GRAVITY + x[6]), row)
}
