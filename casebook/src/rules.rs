//! Every rule by which the casebook decides, as a number that is shown and can be changed, with its unit, default and
//! source. A rule without a published value is this project's policy and says so.

use thiserror::Error;

/// What is said of one rule wherever rules are shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RuleInfo {
    /// The word it is set by.
    pub key: &'static str,
    /// What it is.
    pub about: &'static str,
    /// Unit; for counts, of what.
    pub unit: &'static str,
    /// As shipped.
    pub default: f64,
    /// The least it may be.
    pub least: f64,
    /// The most it may be.
    pub most: f64,
    /// Whether it must be a whole number.
    pub is_whole: bool,
    /// Where the default comes from.
    pub source: &'static str,
}

/// Why a rule can't be set so.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum RuleError {
    /// No rule of this name.
    #[error("rule {key:?} is unknown; take one of the list of rules")]
    Unknown {
        /// As given.
        key: String,
    },
    /// Outside its limits, or no number.
    #[error("{key} is {value}, expected {least} to {most} {unit}; correct it")]
    Range {
        /// Which rule.
        key: &'static str,
        /// As given.
        value: f64,
        /// The lowest.
        least: f64,
        /// The highest.
        most: f64,
        /// Of what.
        unit: &'static str,
    },
    /// A part of a thing that can only be counted.
    #[error("{key} is {value}, expected a whole number of {unit}; correct it")]
    NotWhole {
        /// Which rule.
        key: &'static str,
        /// As given.
        value: f64,
        /// Of what.
        unit: &'static str,
    },
}

/// One list makes the fields, their defaults and what is said of them, so that no rule is left out of any.
macro_rules! rules {
    ($($key:ident = $default:literal $unit:literal, $least:literal to $most:literal, $whole:literal: $about:literal, $source:literal;)*) => {
        /// The rules in force. Fields can be read; [`Rules::set`] changes one and checks it.
        #[derive(Clone, Copy, Debug, PartialEq)]
        pub struct Rules {
            $(#[doc = $about] #[doc = concat!(" (", $unit, ").")] pub(crate) $key: f64,)*
        }

        impl Default for Rules {
            fn default() -> Self {
                Self { $($key: $default,)* }
            }
        }

        impl Rules {
            /// What is said of every rule, in the order in which they are shown.
            pub const ALL: &'static [RuleInfo] = &[$(RuleInfo {
                key: stringify!($key),
                about: $about,
                unit: $unit,
                default: $default,
                least: $least,
                most: $most,
                is_whole: $whole,
                source: $source,
            },)*];

            /// The value of a rule.
            pub fn get(&self, key: &str) -> Option<f64> {
                match key {
                    $(stringify!($key) => Some(self.$key),)*
                    _ => None,
                }
            }

            fn place(&mut self, key: &str) -> Option<&mut f64> {
                match key {
                    $(stringify!($key) => Some(&mut self.$key),)*
                    _ => None,
                }
            }
        }
    };
}

rules! {
    raise_count = 3.0 "raises", 1.0 to 20.0, true:
        "Raises asked for on each side in a round", "trials differ: J Orthop Sports Phys Ther 1994;19:168";
    sem_deg = 2.4 "°", 0.1 to 20.0, false:
        "Standard error of measurement of one raise, same rater, until own raises say better",
        "Neto et al., J Sport Rehabil 2015, doi:10.1123/jsr.2014-0220: 2.2 to 2.6°";
    sem_dof = 4.0 "degrees of freedom", 1.0 to 100.0, true:
        "How much that published value weighs against the client's own scatter",
        "policy, from the spread of published values: docs/decisions/011";
    own_dof_least = 10.0 "degrees of freedom", 2.0 to 1000.0, true:
        "From so many on, own raises replace the published value", "policy";
    own_dof_most = 10.0 "degrees of freedom", 2.0 to 1000.0, true:
        "The most that own raises of all clients weigh against one client's scatter",
        "policy, persons differ: docs/decisions/011";
    sem_between_visits_deg = 2.4 "°", 0.0 to 20.0, false:
        "Between visits the standard error is taken to be at least this",
        "policy: scatter within a round leaves out what changes from day to day";
    other_rater_mdc_deg = 10.0 "°", 0.0 to 40.0, false:
        "Smallest change beyond error where another person measured",
        "J Bodyw Mov Ther 2024, doi:10.1016/j.jbmt.2024.05.033: 10.2°";
    side_usual_deg = 5.0 "°", 0.0 to 40.0, false:
        "Usual difference between sides, either way, mean of healthy adults",
        "Boyd and Villa, BMC Musculoskelet Disord 2012;13:245";
    side_usual_sd_deg = 3.5 "°", 0.0 to 40.0, false:
        "Standard deviation of that difference", "Boyd and Villa, BMC Musculoskelet Disord 2012;13:245";
    side_note_deg = 11.0 "°", 0.0 to 60.0, false:
        "A difference between sides is noted from here on", "Boyd and Villa, BMC Musculoskelet Disord 2012;13:245";
    flexible_deg = 90.0 "°", 45.0 to 180.0, false:
        "Above this a leg that feels tight needs control and strength, not more length",
        "policy; Rheumatol Int 2021 (Malek et al.) on what a mobile joint does and doesn't say";
    recheck_within_s = 180.0 "s", 30.0 to 3600.0, false:
        "A re-check begins within this time after the drill",
        "DePino et al., J Athl Train 2000;35:56: gains at 3 min, gone by 6 min";
    trend_visit_count = 4.0 "visits", 3.0 to 20.0, true:
        "From so many visits on a line is drawn", "policy";
    fit_chance = 0.05 "", 0.0 to 0.5, false:
        "Points that scatter about the line by less chance than this are noted", "policy";
    move_on_visit_count = 2.0 "visits", 1.0 to 10.0, true:
        "Visits above the band's edge by more than the uncertainty, before moving on", "policy";
    move_on_days = 7.0 "days", 0.0 to 60.0, true:
        "Least time between the first and the last of them", "policy";
    plateau_weeks = 4.0 "weeks", 1.0 to 26.0, false:
        "No change beyond error for so long, after a gain, is a plateau",
        "Gribble et al., J Sport Rehabil 1999;8:195: between weeks 4 and 5 of 6";
    review_weeks_from = 4.0 "weeks", 1.0 to 52.0, false:
        "No change beyond error since the beginning: think of another drill", "policy";
    review_weeks_to = 6.0 "weeks", 1.0 to 52.0, false:
        "The same, by now: change the drill or refer", "policy";
    visit_days = 7.0 "days", 1.0 to 180.0, true:
        "Time to the next visit", "policy";
    lead_in_s = 5.0 "s", 0.0 to 60.0, false:
        "Time to get ready before the pacer begins, and to change sides", "policy";
}

impl Rules {
    /// Changes one rule, within its limits.
    pub fn set(&mut self, key: &str, value: f64) -> Result<(), RuleError> {
        let known = Self::ALL.iter().find(|info| info.key == key);
        let (Some(info), Some(place)) = (known, self.place(key)) else {
            return Err(RuleError::Unknown {
                key: key.to_owned(),
            });
        };
        if !(info.least..=info.most).contains(&value) {
            return Err(RuleError::Range {
                key: info.key,
                value,
                least: info.least,
                most: info.most,
                unit: info.unit,
            });
        }
        if info.is_whole && value.fract() != 0.0 {
            return Err(RuleError::NotWhole {
                key: info.key,
                value,
                unit: info.unit,
            });
        }
        *place = value;
        Ok(())
    }

    /// The rules that differ from those shipped: what and how much.
    pub fn changed(&self) -> Vec<(&'static RuleInfo, f64)> {
        let values = Self::ALL.iter().map(|info| (info, self.get(info.key)));
        values
            .filter_map(|(info, value)| Some((info, value?)))
            .filter(|(info, value)| value.total_cmp(&info.default).is_ne())
            .collect()
    }
}

/// A rule that counts, as a count. Rules are whole where they say so, and small.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "within 0 to 1000 by the limits of the list"
)]
pub(crate) fn count(rule: f64) -> usize {
    rule.clamp(0.0, 1000.0) as usize
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_rule_has_a_default_within_its_limits_and_a_source() {
        let rules = Rules::default();
        for info in Rules::ALL {
            assert_eq!(rules.get(info.key), Some(info.default), "{}", info.key);
            assert!((info.least..=info.most).contains(&info.default), "{info:?}");
            assert!(!info.source.is_empty() && !info.about.is_empty());
            assert!(!info.is_whole || info.default.fract() == 0.0, "{info:?}");
        }
        let mut keys: Vec<_> = Rules::ALL.iter().map(|info| info.key).collect();
        keys.sort_unstable();
        keys.dedup();
        assert_eq!(keys.len(), Rules::ALL.len());
    }

    #[test]
    fn a_rule_is_changed_within_its_limits_only() {
        let mut rules = Rules::default();
        assert!(rules.changed().is_empty());
        rules.set("sem_deg", 3.0).unwrap();
        assert_eq!(rules.get("sem_deg"), Some(3.0));
        assert_eq!(rules.changed().len(), 1);
        let kept = rules;
        assert!(matches!(
            rules.set("sem_deg", f64::NAN),
            Err(RuleError::Range { .. })
        ));
        assert!(matches!(
            rules.set("sem_deg", 0.0),
            Err(RuleError::Range { .. })
        ));
        assert!(matches!(
            rules.set("raise_count", 2.5),
            Err(RuleError::NotWhole { .. })
        ));
        let unknown = rules.set("sem", 1.0).unwrap_err();
        assert_eq!(
            unknown.to_string(),
            "rule \"sem\" is unknown; take one of the list of rules"
        );
        assert_eq!(rules, kept);
    }

    /// The page on the casebook tells every rule with its default.
    #[test]
    fn every_rule_is_documented() {
        let page = include_str!("../../docs/casebook.md");
        for info in Rules::ALL {
            let row = format!("| `{}` | {}", info.key, info.default);
            assert!(page.contains(&row), "docs/casebook.md lacks {row:?}");
        }
    }
}
