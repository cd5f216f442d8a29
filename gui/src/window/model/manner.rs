//! How the raise is done: an angle without it can't be compared with another.

use sensor::{Conditions, Side};

use crate::args::{Ankle, AskedFor, Movement};

/// As it was agreed with the client.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::window) struct Manner {
    /// Who moves the leg.
    pub(in crate::window) movement: Movement,
    /// How the ankle is held.
    pub(in crate::window) ankle: Ankle,
    /// What the raise goes to.
    pub(in crate::window) asked_for: AskedFor,
    /// The leg that is raised first.
    pub(in crate::window) leg: Side,
    /// Pace asked for, degrees a second.
    pub(in crate::window) pace_deg_s: u8,
    /// Who measures, a code.
    pub(in crate::window) rater: String,
    /// Whether the client has a hand marker: a phone with one button.
    pub(in crate::window) with_marker: bool,
}

/// A change to it.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::window) enum MannerAct {
    /// Who moves the leg.
    Movement(Movement),
    /// How the ankle is held.
    Ankle(Ankle),
    /// What the raise goes to.
    AskedFor(AskedFor),
    /// The leg that is raised first.
    Leg(Side),
    /// Pace asked for.
    Pace(u8),
    /// Who measures.
    Rater(String),
    /// A hand marker, or none.
    Marker(bool),
}

/// Paces that can be asked for, degrees a second.
pub(in crate::window) const PACES_DEG_S: [u8; 3] = [10, 12, 15];
/// Faster than this is too fast for a slow test, degrees a second: this project's policy.
pub(in crate::window) const FAST_DEG_S: f64 = 30.0;

impl Default for Manner {
    fn default() -> Self {
        Self {
            movement: Movement::Active,
            ankle: Ankle::Relaxed,
            asked_for: AskedFor::FirstPull,
            leg: Side::Right,
            pace_deg_s: 12,
            rater: String::new(),
            with_marker: false,
        }
    }
}

impl Manner {
    pub(super) fn set(&mut self, act: MannerAct) {
        match act {
            MannerAct::Movement(movement) => self.movement = movement,
            MannerAct::Ankle(ankle) => self.ankle = ankle,
            MannerAct::AskedFor(asked_for) => self.asked_for = asked_for,
            MannerAct::Leg(leg) => self.leg = leg,
            MannerAct::Pace(pace_deg_s) => self.pace_deg_s = pace_deg_s,
            MannerAct::Rater(rater) => self.rater = rater,
            MannerAct::Marker(with_marker) => self.with_marker = with_marker,
        }
    }

    /// As the files have it.
    pub(super) fn conditions(&self) -> Conditions {
        let rater = self.rater.trim();
        Conditions {
            movement: Some(self.movement.as_str().to_owned()),
            ankle: Some(self.ankle.as_str().to_owned()),
            asked_for: Some(self.asked_for.as_str().to_owned()),
            rater: (!rater.is_empty()).then(|| rater.to_owned()),
        }
    }
}
