//! Which devices a profile is for.

use std::fmt;

use super::Uuid;

/// What a device must show to be meant. All that is given must match; at least one is.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Find {
    /// A service it advertises or has.
    pub service: Option<Uuid>,
    /// Its advertised name, with `*` for any characters and `?` for one; upper and lower case differ.
    pub name: Option<String>,
    /// The company number of its manufacturer data.
    pub manufacturer: Option<u16>,
}

/// What a device shows of itself, before or after connecting.
#[derive(Clone, Copy, Debug, Default)]
pub struct Advertisement<'a> {
    /// Its name, if it tells one.
    pub name: Option<&'a str>,
    /// Its services.
    pub services: &'a [Uuid],
    /// The company numbers of its manufacturer data.
    pub manufacturers: &'a [u16],
}

/// Why a device isn't meant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Mismatch {
    /// It lacks the service.
    Service {
        /// As sought.
        expected: Uuid,
    },
    /// It has another name, or none.
    Name {
        /// As told.
        found: Option<String>,
        /// The pattern.
        expected: String,
    },
    /// It lacks the company number.
    Manufacturer {
        /// As sought.
        expected: u16,
    },
}

impl fmt::Display for Mismatch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Service { expected } => write!(f, "no service {expected}"),
            Self::Name {
                found: Some(found),
                expected,
            } => write!(f, "name {found:?}, expected {expected:?}"),
            Self::Name {
                found: None,
                expected,
            } => write!(f, "no name, expected {expected:?}"),
            Self::Manufacturer { expected } => write!(f, "no manufacturer data of {expected:#06x}"),
        }
    }
}

impl Find {
    /// Whether a device is meant.
    pub fn matches(&self, shown: &Advertisement<'_>) -> bool {
        self.mismatches(shown).is_empty()
    }

    /// All reasons why a device isn't meant; none if it is.
    pub fn mismatches(&self, shown: &Advertisement<'_>) -> Vec<Mismatch> {
        let service = self
            .service
            .filter(|service| !shown.services.contains(service))
            .map(|expected| Mismatch::Service { expected });
        let name = self
            .name
            .as_ref()
            .filter(|pattern| !shown.name.is_some_and(|name| is_like(pattern, name)))
            .map(|pattern| Mismatch::Name {
                found: shown.name.map(ToOwned::to_owned),
                expected: pattern.clone(),
            });
        let manufacturer = self
            .manufacturer
            .filter(|company| !shown.manufacturers.contains(company))
            .map(|expected| Mismatch::Manufacturer { expected });
        service
            .into_iter()
            .chain(name)
            .chain(manufacturer)
            .collect()
    }
}

/// Whether a name is like a pattern with `*` and `?`. Takes time in proportion to both lengths.
fn is_like(pattern: &str, name: &str) -> bool {
    let (pattern, name): (Vec<char>, Vec<char>) =
        (pattern.chars().collect(), name.chars().collect());
    let (mut p, mut n) = (0, 0);
    // After a star: where the pattern goes on, and up to where the star reaches so far.
    let mut star: Option<(usize, usize)> = None;
    while n < name.len() {
        match pattern.get(p) {
            Some('*') => {
                star = Some((p + 1, n));
                p += 1;
            }
            Some(c) if *c == '?' || *c == name[n] => {
                p += 1;
                n += 1;
            }
            _ => {
                let Some((after, reach)) = star else {
                    return false;
                };
                star = Some((after, reach + 1));
                p = after;
                n = reach + 1;
            }
        }
    }
    pattern[p..].iter().all(|c| *c == '*')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn patterns() {
        for (pattern, name, expected) in [
            ("imu-*", "imu-12", true),
            ("imu-*", "imu-", true),
            ("imu-*", "IMU-12", false),
            ("imu-*", "ximu-12", false),
            ("*-?", "a-b-c", true),
            ("*-?", "a-b-cd", false),
            ("*a*b*", "xxaxxbxx", true),
            ("*a*b*", "xxbxxaxx", false),
            ("shin", "shin", true),
            ("shin", "shins", false),
            ("", "", true),
            ("*", "", true),
            ("?", "\u{e9}", true),
        ] {
            assert_eq!(is_like(pattern, name), expected, "{pattern} {name}");
        }
    }

    #[test]
    fn all_that_is_given_must_match_and_every_reason_is_told() {
        let service = Uuid::from_u128(7);
        let find = Find {
            service: Some(service),
            name: Some("shin-*".into()),
            manufacturer: Some(0x1234),
        };
        let other = Advertisement {
            name: Some("lamp"),
            ..Advertisement::default()
        };
        let reasons: Vec<String> = find
            .mismatches(&other)
            .iter()
            .map(ToString::to_string)
            .collect();
        assert_eq!(
            reasons,
            [
                "no service 00000000-0000-0000-0000-000000000007",
                "name \"lamp\", expected \"shin-*\"",
                "no manufacturer data of 0x1234"
            ]
        );
        assert_eq!(find.mismatches(&Advertisement::default()).len(), 3);
        assert!(find.matches(&Advertisement {
            name: Some("shin-0a"),
            services: &[service],
            manufacturers: &[1, 0x1234],
        }));
    }
}
