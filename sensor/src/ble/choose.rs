//! Which of the devices that were found is meant. Matching is done here and not by the system, which mixes the filters
//! of all programs.

use std::time::Duration;

use super::air::Seen;
use super::error::{BleError, Other};
use crate::Placement;
use crate::profile::Profile;

/// A sensor to be opened.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    /// Where it sits.
    pub placement: Placement,
    /// What kind it is.
    pub profile: Profile,
    /// Its advertised name or its id, where several of the kind may be here.
    pub which: Option<String>,
    /// The rate it shall use, Hz; the profile's nominal one if `None`.
    pub rate_hz: Option<f64>,
}

impl Wanted {
    /// The rate it shall use, Hz.
    pub fn rate(&self) -> f64 {
        self.rate_hz.unwrap_or(self.profile.rate.nominal_hz)
    }

    /// For messages.
    fn sought(&self) -> String {
        match &self.which {
            Some(which) => format!("{which:?} of kind {}", self.profile.name),
            None => format!("a sensor of kind {}", self.profile.name),
        }
    }

    /// Whether a device is called as wanted, if a name is wanted.
    fn is_named<U>(&self, seen: &Seen<U>) -> bool {
        let Some(which) = &self.which else {
            return true;
        };
        seen.name.as_ref() == Some(which) || seen.id.eq_ignore_ascii_case(which)
    }

    /// All reasons why a device isn't meant.
    fn against<U>(&self, seen: &Seen<U>) -> Vec<String> {
        let mismatches = self.profile.find.mismatches(&seen.shown());
        let mut reasons: Vec<String> = mismatches.iter().map(ToString::to_string).collect();
        if !self.is_named(seen) {
            reasons.push("not the one that was named".to_owned());
        }
        reasons
    }

    fn is_meant<U>(&self, seen: &Seen<U>) -> bool {
        seen.is_present() && self.against(seen).is_empty()
    }
}

/// Whether nothing is gained by scanning on: all named ones are found, and the others, and there was time for a second
/// of a kind to show itself.
pub(super) fn is_settled<U>(wanted: &[Wanted], seen: &[Seen<U>], since_change: Duration) -> bool {
    const SECOND: Duration = Duration::from_secs(2);
    let all = wanted
        .iter()
        .all(|one| seen.iter().any(|seen| one.is_meant(seen)));
    let all_named = wanted.iter().all(|one| one.which.is_some());
    all && (all_named || SECOND <= since_change)
}

/// The device for each that is wanted, in their order.
pub(super) fn choose<'a, U>(
    wanted: &[Wanted],
    seen: &'a [Seen<U>],
    scanned_s: f64,
) -> Result<Vec<&'a Seen<U>>, BleError> {
    let remembered: Vec<String> = seen
        .iter()
        .filter(|one| !one.is_present())
        .filter(|one| wanted.iter().any(|wanted| wanted.against(one).is_empty()))
        .map(|one| format!("{:?}", one.called()))
        .collect();
    if !seen.iter().any(Seen::is_present) {
        return Err(BleError::Nothing {
            scanned_s,
            remembered,
        });
    }
    let mut chosen: Vec<&Seen<U>> = Vec::new();
    for one in wanted {
        // Those that others name are theirs.
        let is_free = |seen: &&Seen<U>| {
            one.which.is_some()
                || !wanted
                    .iter()
                    .any(|other| other.which.is_some() && other.is_named(seen))
        };
        let meant = seen.iter().filter(|seen| one.is_meant(seen));
        let meant: Vec<&Seen<U>> = meant.filter(is_free).collect();
        match meant[..] {
            [] => return Err(not_ours(one, seen, remembered)),
            [only] => chosen.push(only),
            _ => {
                let name = |seen: &&Seen<U>| format!("{:?} {}", seen.called(), seen.id);
                return Err(BleError::Many {
                    placement: one.placement,
                    found: meant.iter().map(name).collect(),
                });
            }
        }
    }
    for (place, one) in chosen.iter().enumerate() {
        if chosen[..place].iter().any(|other| other.id == one.id) {
            let what = format!("{:?}", one.called());
            return Err(BleError::Twice { what });
        }
    }
    Ok(chosen)
}

fn not_ours<U>(wanted: &Wanted, seen: &[Seen<U>], remembered: Vec<String>) -> BleError {
    let present = seen.iter().filter(|seen| seen.is_present());
    BleError::NotOurs {
        placement: wanted.placement,
        sought: wanted.sought(),
        found: present
            .map(|seen| Other {
                name: seen.called().to_owned(),
                reasons: wanted.against(seen),
            })
            .collect(),
        remembered,
    }
}

/// What can be said before anything is found.
pub(super) fn check(wanted: &[Wanted]) -> Result<(), BleError> {
    for (place, one) in wanted.iter().enumerate() {
        if wanted[..place].iter().any(|w| w.placement == one.placement) {
            let what = one.placement.to_string();
            return Err(BleError::Twice { what });
        }
        let (rate, rate_hz) = (&one.profile.rate, one.rate());
        let offered = if rate.choices_hz.is_empty() {
            std::slice::from_ref(&rate.nominal_hz)
        } else {
            &rate.choices_hz[..]
        };
        if !offered.iter().any(|hz| (hz - rate_hz).abs() < 1e-9) {
            return Err(BleError::Rate {
                placement: one.placement,
                fault: crate::profile::RateNotOffered {
                    asked_hz: rate_hz,
                    offered_hz: offered.to_vec(),
                },
            });
        }
    }
    Ok(())
}
