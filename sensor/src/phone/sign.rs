//! Which way a phone counts its acceleration: most give +9.8 on the axis that points up, some the opposite.
//!
//! It can't be told from acceleration and turning together, not even in motion: both signs obey the same laws. The
//! phone's own orientation tells it in any pose, for its up is up.

/// Cosine of the angle between both ups from which they are believed.
const COSINE_MIN: f64 = 0.9;
/// Readings that are compared.
const COUNT: usize = 10;

/// Finds the sign of a phone's acceleration.
#[derive(Clone, Debug, Default)]
pub(super) struct SignRule {
    up: Option<[f64; 3]>,
    sum: f64,
    count: usize,
}

impl SignRule {
    /// Takes an orientation, degrees.
    pub(super) fn orientation(&mut self, beta_deg: f64, gamma_deg: f64) {
        let up = up(beta_deg, gamma_deg);
        self.up = up.iter().all(|part| part.is_finite()).then_some(up);
    }

    /// Takes an acceleration, and gives the sign once it is known.
    pub(super) fn accel(&mut self, accel_m_s2: [f64; 3]) -> Option<f64> {
        let up = self.up?;
        let length = accel_m_s2
            .iter()
            .map(|part| part * part)
            .sum::<f64>()
            .sqrt();
        if length < 1.0 {
            return None;
        }
        let along: f64 = accel_m_s2.iter().zip(up).map(|(a, u)| a * u).sum();
        self.sum += along / length;
        self.count += 1;
        if self.count < COUNT {
            return None;
        }
        let cosine = self.sum / self.count as f64;
        (self.sum, self.count) = (0.0, 0);
        (COSINE_MIN < cosine.abs()).then_some(cosine.signum())
    }
}

/// Up in the phone's axes (W3C Device Orientation: turned about z, then x by beta, then y by gamma).
fn up(beta_deg: f64, gamma_deg: f64) -> [f64; 3] {
    let (b, g) = (beta_deg.to_radians(), gamma_deg.to_radians());
    [-b.cos() * g.sin(), b.sin(), b.cos() * g.cos()]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn settled(beta: f64, gamma: f64, accel: [f64; 3]) -> Option<f64> {
        let mut rule = SignRule::default();
        rule.orientation(beta, gamma);
        (0..30).find_map(|_| rule.accel(accel))
    }

    #[test]
    fn up_is_as_measured_in_a_browser() {
        // Quaternion (-0.5, 0, 0, 0.8660) gave beta -60, gamma 0 in Chromium 156: up (0, -0.866, 0.5).
        let [x, y, z] = up(-60.0, 0.0);
        assert!(x.abs() < 1e-12 && (y + 0.866).abs() < 1e-3 && (z - 0.5).abs() < 1e-3);
    }

    #[test]
    fn both_signs_are_found_in_any_pose_and_nonsense_in_none() {
        for theta_deg in [0.0_f64, 30.0, 60.0, 90.0] {
            let theta = theta_deg.to_radians();
            let accel = [0.0, -9.8 * theta.sin(), 9.8 * theta.cos()];
            assert_eq!(settled(-theta_deg, 0.0, accel), Some(1.0), "{theta_deg}");
            assert_eq!(
                settled(-theta_deg, 0.0, accel.map(|a| -a)),
                Some(-1.0),
                "{theta_deg}"
            );
        }
        assert_eq!(settled(0.0, 0.0, [9.8, 0.0, 0.0]), None);
        assert_eq!(settled(f64::NAN, 0.0, [0.0, 0.0, 9.8]), None);
        assert_eq!(SignRule::default().accel([0.0, 0.0, 9.8]), None);
    }
}
