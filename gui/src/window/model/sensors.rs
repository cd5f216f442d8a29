//! Which sensors sit where, and how they do.

use std::time::Instant;

use fusion::Reading;
use sensor::{Placement, Side};

use super::{Effect, Model, Purpose};
use crate::live::{Command, Health};
use crate::selector::{Asked, SelectorError, source, sources};

/// A lift of so much tells which sensor is which, degrees.
const LIFT_DEG: f64 = 8.0;
/// A leg that is lower than this lies, degrees.
const LYING_DEG: f64 = 4.0;

/// One place of the form.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::window) struct Row {
    /// Where.
    pub(in crate::window) placement: Placement,
    /// Whether a sensor sits there.
    pub(in crate::window) is_used: bool,
    /// What it is: the text after `placement=`.
    pub(in crate::window) text: String,
}

/// What is wanted of the sensors.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::window) enum SensorsAct {
    /// One sits here, or doesn't.
    Use(Placement, bool),
    /// What it is.
    Text(Placement, String),
    /// See how they do.
    Check,
    /// Seen.
    EndCheck,
    /// Look for Bluetooth sensors.
    #[cfg(feature = "ble")]
    Search,
}

/// A Bluetooth sensor that is near, and of a known kind.
#[cfg(feature = "ble")]
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::window) struct Near {
    /// As a person calls it.
    pub(in crate::window) name: String,
    /// What is written for it.
    pub(in crate::window) text: String,
    /// Strength of its signal, dBm.
    pub(in crate::window) signal_dbm: Option<i16>,
}

/// A search for Bluetooth sensors.
#[cfg(feature = "ble")]
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(in crate::window) enum Search {
    /// Nobody asked for one.
    #[default]
    None,
    /// It goes on.
    Going,
    /// What it found, or why it could not be.
    Done(Result<Vec<Near>, String>),
}

/// All places, and what is known of the sensors there.
#[derive(Clone, Debug)]
pub(in crate::window) struct Sensors {
    /// Shins first.
    pub(in crate::window) rows: Vec<Row>,
    /// How they do, of late.
    pub(in crate::window) health: Vec<Health>,
    /// The sensors that were lifted during the check, and the ones that are now.
    pub(in crate::window) lifted: Vec<Placement>,
    /// The one that is up now.
    pub(in crate::window) up: Option<Placement>,
    /// Why the check could not be.
    pub(in crate::window) fault: Option<String>,
    /// Bluetooth sensors that are near.
    #[cfg(feature = "ble")]
    pub(in crate::window) near: Search,
    /// Since when they have been on the skin: from the first check on.
    pub(in crate::window) strapped: Option<Instant>,
}

/// Shins first: at least one is needed.
const ORDER: [Placement; 5] = [
    Placement::ShinRight,
    Placement::ShinLeft,
    Placement::ThighRight,
    Placement::ThighLeft,
    Placement::Pelvis,
];

impl Sensors {
    /// From texts as they are remembered, `placement=text`.
    pub(super) fn of(remembered: &[String]) -> Self {
        let row = |placement: Placement| {
            let of_place = |word: &&String| {
                word.split_once('=')
                    .is_some_and(|(place, _)| place == placement.as_str())
            };
            let known = remembered
                .iter()
                .find(of_place)
                .and_then(|word| word.split_once('='));
            Row {
                placement,
                is_used: known.is_some()
                    || remembered.is_empty() && placement == Placement::ShinRight,
                text: known.map_or_else(String::new, |(_, text)| text.to_owned()),
            }
        };
        Self {
            rows: ORDER.into_iter().map(row).collect(),
            health: Vec::new(),
            lifted: Vec::new(),
            up: None,
            fault: None,
            #[cfg(feature = "ble")]
            near: Search::default(),
            strapped: None,
        }
    }

    /// Both shins of an invented person whose other leg gives way.
    pub(super) fn invented() -> Self {
        let word = |side| format!("{}=synthetic:compensating,seed=3", Placement::shin(side));
        Self::of(&[word(Side::Right), word(Side::Left)])
    }

    /// As they are remembered.
    pub(in crate::window) fn words(&self) -> Vec<String> {
        let used = self.rows.iter().filter(|row| row.is_used);
        used.map(|row| format!("{}={}", row.placement, row.text.trim()))
            .collect()
    }

    /// As the engine takes them, the shin of this leg first. A single shin sensor moves with the leg.
    pub(super) fn asked(&self, leg: Side) -> Result<Vec<Asked>, SelectorError> {
        let mut asked = sources(&self.words())?;
        let is_shin = |a: &Asked| Side::ALL.map(Placement::shin).contains(&a.placement);
        if asked.iter().filter(|a| is_shin(a)).count() == 1 {
            for one in asked.iter_mut().filter(|a| is_shin(a)) {
                one.placement = Placement::shin(leg);
            }
        }
        asked.sort_by_key(|a| a.placement != Placement::shin(leg));
        Ok(asked)
    }

    /// Whether there is one shin sensor, which has to be moved from leg to leg.
    pub(in crate::window) fn moves(&self) -> bool {
        let shins = Side::ALL.map(Placement::shin);
        self.rows
            .iter()
            .filter(|row| row.is_used && shins.contains(&row.placement))
            .count()
            == 1
    }

    /// The other shin, where the unit of this one is moved to it.
    pub(super) fn other_place(&self, placement: Placement) -> Option<Placement> {
        let mut sides = Side::ALL.into_iter();
        let side = sides.find(|side| Placement::shin(*side) == placement)?;
        self.moves().then_some(Placement::shin(side.other()))
    }

    /// What is wrong with the text of a place, if something is.
    pub(in crate::window) fn text_fault(row: &Row) -> Option<String> {
        if row.text.trim().is_empty() {
            return None;
        }
        source(&format!("{}={}", row.placement, row.text.trim()))
            .err()
            .map(|e| e.to_string())
    }

    /// How the sensor of a place does.
    pub(in crate::window) fn health_of(&self, placement: Placement) -> Option<&Health> {
        self.health.iter().find(|h| h.placement == placement)
    }

    /// Follows which leg is lifted.
    pub(super) fn see(&mut self, reading: &Reading) {
        let placement = Placement::shin(reading.side);
        let deg = reading.angle.degrees();
        if LIFT_DEG < deg {
            self.up = Some(placement);
            if !self.lifted.contains(&placement) {
                self.lifted.push(placement);
            }
        } else if deg < LYING_DEG && self.up == Some(placement) {
            self.up = None;
        }
    }
}

impl Model {
    pub(super) fn on_sensors(&mut self, act: SensorsAct) -> Vec<Effect> {
        let row = |rows: &mut Vec<Row>, place| rows.iter().position(|r| r.placement == place);
        match act {
            SensorsAct::Use(place, is_used) => {
                if let Some(at) = row(&mut self.sensors.rows, place) {
                    self.sensors.rows[at].is_used = is_used;
                }
            }
            SensorsAct::Text(place, text) => {
                if let Some(at) = row(&mut self.sensors.rows, place) {
                    self.sensors.rows[at].text = text;
                }
            }
            SensorsAct::Check => return self.check(),
            #[cfg(feature = "ble")]
            SensorsAct::Search if self.sensors.near != Search::Going => {
                self.sensors.near = Search::Going;
                return vec![Effect::Search];
            }
            #[cfg(feature = "ble")]
            SensorsAct::Search => {}
            SensorsAct::EndCheck => return vec![Effect::Ask(Command::Stop)],
        }
        Vec::new()
    }

    fn check(&mut self) -> Vec<Effect> {
        self.sensors.fault = None;
        self.sensors.health.clear();
        self.sensors.lifted.clear();
        self.sensors.up = None;
        match self.begin(Purpose::Check) {
            Ok(effect) => {
                self.sensors.strapped.get_or_insert(self.now);
                if self.client.is_try {
                    return vec![effect];
                }
                self.settings.sensors = self.sensors.words();
                vec![effect, Effect::Keep]
            }
            Err(text) => {
                self.sensors.fault = Some(text);
                Vec::new()
            }
        }
    }
}
