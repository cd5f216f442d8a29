//! The bands an angle is sorted into. They are policy, the practitioner's own setting: half-open, on the unrounded
//! mean end point.

use fusion::Angle;
use statrs::distribution::{ContinuousCDF as _, Normal, StudentsT};
use thiserror::Error;

/// Bands of angle: from each edge up to, but without, the next. The first begins at 0°, the last ends at 180°.
#[derive(Clone, Debug, PartialEq)]
pub struct Bands {
    edges: Vec<Angle>,
}

/// Why a list of edges gives no bands.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum BandsError {
    /// Outside the angles a leg can reach, or no number.
    #[error("edge {deg}, expected more than 0 and less than 180 degrees; correct it")]
    OutOfRange {
        /// As given, degrees.
        deg: f64,
    },
    /// Not after the one before.
    #[error("edge {deg} is not above the one before; list the edges from low to high")]
    Unsorted {
        /// As given, degrees.
        deg: f64,
    },
}

impl Default for Bands {
    /// 45°, 60° and 90°: this project's policy.
    fn default() -> Self {
        Self {
            edges: [45.0, 60.0, 90.0].map(Angle::from_degrees).to_vec(),
        }
    }
}

impl Bands {
    /// From the edges between bands, in degrees, from low to high.
    pub fn from_edges_deg(edges_deg: &[f64]) -> Result<Self, BandsError> {
        let mut below_deg = 0.0;
        for &deg in edges_deg {
            if !(deg > 0.0 && deg < 180.0) {
                return Err(BandsError::OutOfRange { deg });
            }
            if deg <= below_deg {
                return Err(BandsError::Unsorted { deg });
            }
            below_deg = deg;
        }
        Ok(Self {
            edges: edges_deg.iter().copied().map(Angle::from_degrees).collect(),
        })
    }

    /// The edges between bands, from low to high.
    pub fn edges(&self) -> &[Angle] {
        &self.edges
    }

    /// How many bands there are: one more than edges.
    pub fn count(&self) -> usize {
        self.edges.len() + 1
    }

    /// The band of an angle, counted from 0. An angle on an edge belongs to the band above.
    pub fn of(&self, angle: Angle) -> usize {
        self.edges.iter().take_while(|edge| angle >= **edge).count()
    }

    /// A band in words: `45-60°`, `under 45°`, `90° and over`.
    pub fn label(&self, band: usize) -> String {
        let edge = |index: usize| self.edges.get(index).map(|edge| whole(edge.degrees()));
        let lower = band.checked_sub(1).and_then(edge);
        match (lower, edge(band)) {
            (Some(from), Some(to)) => format!("{from}-{to}°"),
            (None, Some(to)) => format!("under {to}°"),
            (Some(from), None) => format!("{from}° and over"),
            (None, None) => "any angle".to_owned(),
        }
    }

    /// The chance of each band, low to high, for a normally distributed angle of this standard uncertainty.
    /// They sum to 1. An angle on an edge gives one half on either side.
    pub fn probabilities(&self, angle: Angle, standard: Angle) -> Vec<f64> {
        self.probabilities_with_dof(angle, standard, f64::INFINITY)
    }

    /// The same where the standard uncertainty itself is known with few degrees of freedom: Student's t about the
    /// angle, its degrees cut to a whole number as for the coverage factor, so that chances and expanded uncertainty
    /// say the same.
    pub fn probabilities_with_dof(&self, angle: Angle, standard: Angle, dof: f64) -> Vec<f64> {
        let Some(below) = below(angle, standard, dof) else {
            return (0..self.count())
                .map(|band| if band == self.of(angle) { 1.0 } else { 0.0 })
                .collect();
        };
        let mut lower = 0.0;
        (0..self.count())
            .map(|band| {
                let upper = self.edges.get(band).map_or(1.0, |edge| below(*edge));
                let chance = upper - lower;
                lower = upper;
                chance
            })
            .collect()
    }

    /// The bands an angle may be in, its own among them, low to high: those with an edge within `expanded` of it.
    pub fn possible(&self, angle: Angle, expanded: Angle) -> Vec<usize> {
        (self.of(angle - expanded.abs())..=self.of(angle + expanded.abs())).collect()
    }
}

/// The chance of lying below an edge; `None` where the angle has no uncertainty.
fn below(angle: Angle, standard: Angle, dof: f64) -> Option<Box<dyn Fn(Angle) -> f64>> {
    let (angle_rad, standard_rad) = (angle.radians(), standard.radians());
    if dof < DOF_NORMAL {
        let t = StudentsT::new(angle_rad, standard_rad, dof.floor().max(1.0)).ok()?;
        return Some(Box::new(move |edge| t.cdf(edge.radians())));
    }
    let normal = Normal::new(angle_rad, standard_rad).ok()?;
    Some(Box::new(move |edge| normal.cdf(edge.radians())))
}

/// From so many degrees of freedom on, Student's t is the normal distribution.
const DOF_NORMAL: f64 = 1e5;

/// A number of degrees without needless decimals; degrees kept as radians come back a little off.
fn whole(deg: f64) -> f64 {
    (deg * 1e6).round() * 1e-6
}

#[cfg(test)]
mod tests {
    use approx::assert_abs_diff_eq;

    use super::*;

    fn deg(deg: f64) -> Angle {
        Angle::from_degrees(deg)
    }

    #[test]
    fn an_edge_belongs_to_the_band_above() {
        let bands = Bands::default();
        let rows = [
            (0.0, 0),
            (44.999_999, 0),
            (45.0, 1),
            (59.999_999, 1),
            (60.0, 2),
            (89.9, 2),
            (90.0, 3),
            (180.0, 3),
        ];
        for (angle_deg, band) in rows {
            assert_eq!(bands.of(deg(angle_deg)), band, "{angle_deg}");
        }
        assert_eq!(bands.of(deg(-1.0)), 0);
    }

    #[test]
    fn chances_are_those_of_the_normal_distribution() {
        // (angle, standard uncertainty, chances), degrees. Computed with scipy's normal distribution.
        let rows = [
            (
                58.0,
                1.0,
                [
                    6.117_164_399_549_704e-39,
                    0.977_249_868_051_820_8,
                    0.022_750_131_948_179_21,
                    0.0,
                ],
            ),
            (
                59.5,
                1.0,
                [
                    6.057_494_764_415_047e-48,
                    0.691_462_461_274_013_1,
                    0.308_537_538_725_986_9,
                    0.0,
                ],
            ),
            (60.0, 0.5, [4.906_713_927_147_908e-198, 0.5, 0.5, 0.0]),
            (
                44.0,
                2.0,
                [
                    0.691_462_461_274_013_1,
                    0.308_537_538_725_986_2,
                    6.661_338_147_750_939e-16,
                    0.0,
                ],
            ),
            (
                90.5,
                0.75,
                [0.0, 0.0, 0.252_492_537_546_922_9, 0.747_507_462_453_077_1],
            ),
            (
                70.0,
                3.0,
                [
                    3.929_873_434_851_008e-17,
                    0.000_429_060_333_196_797_9,
                    0.999_570_939_653_719_2,
                    1.308_397_834_520_747e-11,
                ],
            ),
        ];
        for (angle_deg, u_deg, expected) in rows {
            let found = Bands::default().probabilities(deg(angle_deg), deg(u_deg));
            assert_eq!(found.len(), expected.len());
            for (found, expected) in found.iter().zip(expected) {
                assert_abs_diff_eq!(*found, expected, epsilon = 1e-9);
            }
        }
    }

    #[test]
    fn few_degrees_of_freedom_agree_with_the_expanded_uncertainty() {
        // An edge exactly one expanded uncertainty away: 2.5 % beyond it. t for 95 %: GUM table G.2.
        for (dof, k) in [
            (1.0, 12.706_2),
            (2.9, 4.302_65),
            (4.0, 2.776_445),
            (f64::INFINITY, 1.959_964),
        ] {
            let found = Bands::default().probabilities_with_dof(deg(60.0 + 0.3 * k), deg(0.3), dof);
            assert_abs_diff_eq!(found[0] + found[1], 0.025, epsilon = 1e-6);
            assert_abs_diff_eq!(found.iter().sum::<f64>(), 1.0, epsilon = 1e-12);
        }
    }

    #[test]
    fn without_uncertainty_the_band_is_certain() {
        assert_eq!(
            Bands::default().probabilities(deg(60.0), Angle::ZERO),
            [0.0, 0.0, 1.0, 0.0]
        );
    }

    #[test]
    fn labels_and_neighbours() {
        let bands = Bands::default();
        let labels: Vec<String> = (0..bands.count()).map(|band| bands.label(band)).collect();
        assert_eq!(labels, ["under 45°", "45-60°", "60-90°", "90° and over"]);
        assert_eq!(bands.possible(deg(59.5), deg(1.0)), [1, 2]);
        assert_eq!(bands.possible(deg(58.5), deg(1.0)), [1]);
        assert_eq!(
            Bands::from_edges_deg(&[]).map(|b| b.label(0)),
            Ok("any angle".to_owned())
        );
    }

    #[test]
    fn bad_edges_are_refused() {
        assert_eq!(
            Bands::from_edges_deg(&[60.0, 45.0]),
            Err(BandsError::Unsorted { deg: 45.0 })
        );
        assert_eq!(
            Bands::from_edges_deg(&[45.0, 45.0]),
            Err(BandsError::Unsorted { deg: 45.0 })
        );
        assert!(Bands::from_edges_deg(&[f64::NAN]).is_err());
        assert!(Bands::from_edges_deg(&[180.0]).is_err());
    }
}
