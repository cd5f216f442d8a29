//! How well a person repeats a raise, apart from how well the instrument reads it.

use fusion::Angle;

use crate::rules::Rules;
use crate::statistics::{mdc95_of_means, pooled_sd};
use crate::way::Way;

/// Where a standard error of measurement comes from. Always shown beside it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// From the literature, as in [`Rules`].
    Published,
    /// From this casebook's own raises.
    Own {
        /// How many rounds of one side.
        round_count: usize,
        /// Raises less rounds.
        dof: usize,
    },
}

/// The person's part: the standard deviation of one raise about the person's mean, same rater and set-up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Repeatability {
    /// Standard error of measurement of one raise.
    pub sem: Angle,
    /// How much it weighs beside a client's own scatter, degrees of freedom.
    pub dof: f64,
    /// Where it comes from.
    pub origin: Origin,
}

/// The end points of one side in one round, and how they were taken.
#[derive(Clone, Debug, PartialEq)]
pub struct RoundAngles {
    /// How the raises were done.
    pub way: Way,
    /// In order.
    pub angles: Vec<Angle>,
}

impl Repeatability {
    /// The published value.
    pub fn published(rules: &Rules) -> Self {
        Self {
            sem: Angle::from_degrees(rules.sem_deg),
            dof: rules.sem_dof,
            origin: Origin::Published,
        }
    }

    /// The casebook's own value from rounds of all clients done this way, each about its own mean; the published one
    /// until there are enough. Rounds done otherwise are passed over.
    pub fn own(rounds: &[RoundAngles], way: &Way, rules: &Rules) -> Self {
        let groups: Vec<Vec<f64>> = rounds
            .iter()
            .filter(|round| round.way == *way && round.angles.len() > 1)
            .map(|round| round.angles.iter().map(|angle| angle.radians()).collect())
            .collect();
        match pooled_sd(&groups) {
            // Nobody repeats without any scatter: raises all alike are copies.
            Ok(pooled) if pooled.dof as f64 >= rules.own_dof_least && pooled.sd > 0.0 => Self {
                sem: Angle::from_radians(pooled.sd),
                dof: (pooled.dof as f64).min(rules.own_dof_most),
                origin: Origin::Own {
                    round_count: groups.len(),
                    dof: pooled.dof,
                },
            },
            _ => Self::published(rules),
        }
    }

    /// The same between visits: what changes from day to day is not in the scatter of a round, so the standard error
    /// is not taken to be less than the rules have it.
    #[must_use]
    pub fn between_visits(self, rules: &Rules) -> Self {
        let least = Angle::from_degrees(rules.sem_between_visits_deg);
        if self.sem < least {
            Self { sem: least, ..self }
        } else {
            self
        }
    }

    /// Smallest change beyond error, 95 %, between means of `n1` and `n2` raises; `None` for a mean of none. It is the
    /// best case: errors shared within a day don't grow less by repeating.
    pub fn mdc95(&self, n1: usize, n2: usize) -> Option<Angle> {
        mdc95_of_means(self.sem.radians(), n1, n2)
            .ok()
            .map(Angle::from_radians)
    }
}

#[cfg(test)]
mod tests {
    use approx::assert_abs_diff_eq;

    use super::*;

    fn round(movement: &str, angles: &[f64]) -> RoundAngles {
        RoundAngles {
            way: Way::new(Some(movement), Some("relaxed"), Some("limit")),
            angles: angles.iter().copied().map(Angle::from_degrees).collect(),
        }
    }

    #[test]
    fn the_published_value_holds_until_ten_degrees_of_freedom() {
        let rules = Rules::default();
        let mut rounds = vec![round("active", &[60.0, 62.0, 64.0]); 4];
        rounds.push(round("active", &[40.0, 41.0]));
        rounds.push(round("active", &[90.0]));
        rounds.extend(vec![round("passive", &[10.0, 80.0, 10.0]); 9]);
        let way = rounds[0].way.clone();
        let nine = Repeatability::own(&rounds, &way, &rules);
        assert_eq!(nine, Repeatability::published(&rules));
        assert_abs_diff_eq!(nine.sem.degrees(), 2.4, epsilon = 1e-12);
        rounds.push(round("active", &[70.0, 71.0]));
        let ten = Repeatability::own(&rounds, &way, &rules);
        assert_eq!(
            ten.origin,
            Origin::Own {
                round_count: 6,
                dof: 10
            }
        );
        // Four rounds of squares 8 and two of 0.5, over 10.
        assert_abs_diff_eq!(ten.sem.degrees(), 3.3_f64.sqrt(), epsilon = 1e-9);
        assert_abs_diff_eq!(ten.dof, 10.0, epsilon = 0.0);
    }

    #[test]
    fn many_clients_weigh_no_more_than_the_rules_allow() {
        let rules = Rules::default();
        let rounds = vec![round("active", &[60.0, 61.0, 62.0]); 200];
        let found = Repeatability::own(&rounds, &rounds[0].way, &rules);
        assert_abs_diff_eq!(found.sem.degrees(), 1.0, epsilon = 1e-9);
        assert_abs_diff_eq!(found.dof, 10.0, epsilon = 0.0);
        assert_abs_diff_eq!(
            found.between_visits(&rules).sem.degrees(),
            2.4,
            epsilon = 1e-12
        );
    }

    #[test]
    fn raises_all_alike_and_no_raises_say_nothing() {
        let rules = Rules::default();
        let copies = vec![round("active", &[60.0; 3]); 20];
        let published = Repeatability::published(&rules);
        assert_eq!(
            Repeatability::own(&copies, &copies[0].way, &rules),
            published
        );
        assert_eq!(Repeatability::own(&[], &copies[0].way, &rules), published);
        let broken = vec![round("active", &[60.0, f64::NAN, 61.0]); 20];
        assert_eq!(
            Repeatability::own(&broken, &broken[0].way, &rules),
            published
        );
        assert_eq!(published.mdc95(0, 3), None);
        assert_abs_diff_eq!(
            published.mdc95(3, 3).unwrap().degrees(),
            3.840_799_916_684_023,
            epsilon = 1e-9
        );
    }
}
