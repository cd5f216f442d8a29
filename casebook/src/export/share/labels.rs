//! Labels and codes of a set, replaced where they could tell more than they should: the same by the same.

use std::collections::{BTreeMap, BTreeSet};

use sensor::bids::RunFiles;

use super::{Dates, ShareError};

/// Numbers given in the order in which they are asked for.
#[derive(Debug, Default)]
pub(super) struct Pseudonyms(BTreeMap<String, String>);

impl Pseudonyms {
    /// The same for the same.
    pub(super) fn of(&mut self, word: &str, stem: &str) -> String {
        let next = self.0.len() + 1;
        let known = self.0.entry(word.to_owned());
        known.or_insert_with(|| format!("{stem}{next:02}")).clone()
    }
}

/// All labels and codes of one set.
#[derive(Debug, Default)]
pub(super) struct Labels {
    clients: BTreeMap<String, String>,
    /// How far each client's dates are moved.
    secrets: BTreeMap<String, u32>,
    /// By client and visit.
    visits: BTreeMap<(String, String), String>,
    pub(super) acquisitions: Pseudonyms,
    pub(super) serials: Pseudonyms,
    pub(super) raters: Pseudonyms,
    pub(super) sensors: Pseudonyms,
}

impl Labels {
    /// Clients and visits of these runs.
    pub(super) fn of(runs: &[RunFiles], dates: Dates<'_>) -> Result<Self, ShareError> {
        let mut visits: BTreeMap<&String, BTreeSet<&String>> = BTreeMap::new();
        for run in runs {
            if let Some(client) = &run.id.subject {
                visits.entry(client).or_default().extend(&run.id.session);
            }
        }
        let mut labels = Self::default();
        for (at, (client, sessions)) in visits.into_iter().enumerate() {
            let own = match dates {
                Dates::Shifted(secret) => {
                    let days = secret(client).map_err(ShareError::Secret)?;
                    labels.secrets.insert(client.clone(), days);
                    client.clone()
                }
                Dates::Year | Dates::Left => format!("{:04}", at + 1),
            };
            labels.clients.insert(client.clone(), own);
            let is_telling = sessions.iter().any(|session| may_hold_a_date(session));
            for (at, session) in sessions.into_iter().enumerate() {
                let own = if is_telling {
                    format!("{:02}", at + 1)
                } else {
                    session.clone()
                };
                labels.visits.insert((client.clone(), session.clone()), own);
            }
        }
        Ok(labels)
    }

    /// The client's secret number.
    pub(super) fn secret(&self, client: &str) -> Option<u32> {
        self.secrets.get(client).copied()
    }

    /// A client's label in the new set.
    pub(super) fn client(&self, client: &str) -> Option<&String> {
        self.clients.get(client)
    }

    /// A visit's label in the new set.
    pub(super) fn visit(&self, client: &str, session: &str) -> Option<&String> {
        self.visits.get(&(client.to_owned(), session.to_owned()))
    }
}

/// Anything but letters and at most three digits in a row might.
fn may_hold_a_date(label: &str) -> bool {
    label
        .split(|c: char| !c.is_ascii_digit())
        .any(|digits| digits.len() > 3)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_word_has_the_same_pseudonym() {
        let mut known = Pseudonyms::default();
        assert_eq!(known.of("E0026", "unit"), "unit01");
        assert_eq!(known.of("E0001", "unit"), "unit02");
        assert_eq!(known.of("E0026", "unit"), "unit01");
    }

    #[test]
    fn labels_with_many_digits_may_hold_a_date() {
        for label in ["20260304", "v2026", "a0304"] {
            assert!(may_hold_a_date(label), "{label}");
        }
        for label in ["01", "baseline", "week012"] {
            assert!(!may_hold_a_date(label), "{label}");
        }
    }
}
