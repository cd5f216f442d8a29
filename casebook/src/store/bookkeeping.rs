//! The practitioner's own settings: bands, rules, where recordings and drills lie, how long clients are kept; and what
//! each client works on.

use rusqlite::{Connection, OptionalExtension as _, params};
use sensor::Side;

use super::changes::{Field, Place, Why, note};
use super::clients::{check_text, id_of};
use super::error::{Inner, StoreError, StoreErrorKind};
use super::{Store, values};
use crate::bands::Bands;
use crate::course::Plan;
use crate::rules::Rules;

/// A setting that is text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Setting {
    /// The data set with the recordings.
    DataFolder,
    /// The folder of the practitioner's own drills.
    DrillsFolder,
    /// After so many months without a visit a client is due to be looked at.
    RetentionMonths,
}

impl Setting {
    const fn key(self) -> &'static str {
        match self {
            Self::DataFolder => "data folder",
            Self::DrillsFolder => "drills folder",
            Self::RetentionMonths => "retention months",
        }
    }
}

const BANDS: &str = "bands";
/// Longest time a client may be kept without a visit.
const MONTHS_MAX: u32 = 1200;

impl Store {
    /// The practitioner's bands; those shipped where none were set.
    pub fn bands(&self) -> Result<Bands, StoreError> {
        self.read(bands)
    }

    /// Sets the bands.
    pub fn set_bands(&self, bands: &Bands, why: Why<'_>) -> Result<(), StoreError> {
        let degrees: Vec<f64> = bands.edges().iter().map(|edge| edge.degrees()).collect();
        let text: Vec<String> = degrees.iter().map(ToString::to_string).collect();
        self.change(|db| put(db, BANDS, &text.join(" "), why))
    }

    /// The rules in force.
    pub fn rules(&self) -> Result<Rules, StoreError> {
        self.read(rules)
    }

    /// Sets the rules that differ.
    pub fn set_rules(&self, rules: &Rules, why: Why<'_>) -> Result<(), StoreError> {
        self.change(|db| {
            let before = self::rules(db)?;
            for info in Rules::ALL {
                let (former, now) = (before.get(info.key), rules.get(info.key));
                if let Some(now) = now.filter(|_| former != now) {
                    put(db, &rule_key(info.key), &now.to_string(), why)?;
                }
            }
            Ok(())
        })
    }

    /// A setting; `None` where it was never set.
    pub fn setting(&self, setting: Setting) -> Result<Option<String>, StoreError> {
        self.read(|db| get(db, setting.key()))
    }

    /// Sets a setting.
    pub fn set_setting(
        &self,
        setting: Setting,
        value: &str,
        why: Why<'_>,
    ) -> Result<(), StoreError> {
        self.change(|db| {
            check_text("setting", value)?;
            if setting == Setting::RetentionMonths
                && !value.parse().is_ok_and(|m| (1..=MONTHS_MAX).contains(&m))
            {
                return Err(StoreErrorKind::Value {
                    field: "retention months",
                    value: value.chars().take(40).collect(),
                    expected: "a whole number from 1 to 1200",
                });
            }
            put(db, setting.key(), value, why)
        })
    }

    /// Sets what a client works on with one leg.
    pub fn set_plan(
        &self,
        code: &str,
        side: Side,
        plan: Plan,
        why: Why<'_>,
    ) -> Result<(), StoreError> {
        self.change(|db| {
            let count = bands(db)?.count();
            if plan.band >= count {
                return Err(StoreErrorKind::Value {
                    field: "band",
                    value: (plan.band + 1).to_string(),
                    expected: "one of the bands, counted from 1",
                });
            }
            let client = id_of(db, code)?;
            let former = plans(db, client)?.into_iter().find(|(s, _)| *s == side);
            let text = |plan: Plan| {
                let since = plan
                    .since
                    .map(|d| format!(", since {d}"))
                    .unwrap_or_default();
                format!("band {}{since}", plan.band + 1)
            };
            let name = match side {
                Side::Left => "left",
                Side::Right => "right",
            };
            let field = Field::new(name, former.map(|(_, plan)| text(plan)), Some(text(plan)));
            let place = Place {
                client: Some(client),
                place: "plan",
            };
            note(db, place, &[field], why)?;
            db.execute(
                "INSERT OR REPLACE INTO plans (client, side, band, since) VALUES (?1, ?2, ?3, ?4)",
                params![
                    client,
                    side.as_str(),
                    plan.band,
                    plan.since.map(|d| d.to_string())
                ],
            )?;
            Ok(())
        })
    }
}

fn rule_key(key: &str) -> String {
    format!("rule {key}")
}

fn get(db: &Connection, key: &str) -> Inner<Option<String>> {
    let mut one = db.prepare_cached("SELECT value FROM settings WHERE key = ?1")?;
    Ok(one.query_row([key], |row| row.get(0)).optional()?)
}

fn put(db: &Connection, key: &str, value: &str, why: Why<'_>) -> Inner<()> {
    let field = Field::new("value", get(db, key)?, Some(value.to_owned()));
    let place = Place {
        client: None,
        place: key,
    };
    note(db, place, &[field], why)?;
    db.execute(
        "INSERT OR REPLACE INTO settings (key, value) VALUES (?1, ?2)",
        params![key, value],
    )?;
    Ok(())
}

pub(super) fn bands(db: &Connection) -> Inner<Bands> {
    let Some(text) = get(db, BANDS)? else {
        return Ok(Bands::default());
    };
    let edges: Vec<f64> = text
        .split_whitespace()
        .map(|edge| values::parsed("edge of a band", edge))
        .collect::<Inner<_>>()?;
    Bands::from_edges_deg(&edges).map_err(|e| values::odd("bands", &e.to_string()))
}

pub(super) fn rules(db: &Connection) -> Inner<Rules> {
    let mut rules = Rules::default();
    for info in Rules::ALL {
        if let Some(text) = get(db, &rule_key(info.key))? {
            rules
                .set(info.key, values::parsed("rule", &text)?)
                .map_err(|e| values::odd("rule", &e.to_string()))?;
        }
    }
    Ok(rules)
}

pub(super) fn plans(db: &Connection, client: i64) -> Inner<Vec<(Side, Plan)>> {
    let mut all = db.prepare_cached("SELECT side, band, since FROM plans WHERE client = ?1")?;
    let rows = all.query_map([client], |row| {
        Ok((
            row.get::<_, String>(0)?,
            row.get(1)?,
            row.get::<_, Option<String>>(2)?,
        ))
    })?;
    let mut plans = rows
        .map(|row| {
            let (side, band, since) = row?;
            let since = since.map(|text| values::date(&text)).transpose()?;
            Ok((values::side(&side)?, Plan { band, since }))
        })
        .collect::<Inner<Vec<_>>>()?;
    plans.sort_by_key(|(side, _)| *side == Side::Right);
    Ok(plans)
}

pub(super) fn retention_months(db: &Connection) -> Inner<Option<u32>> {
    let text = get(db, Setting::RetentionMonths.key())?;
    text.map(|text| values::parsed("retention", &text))
        .transpose()
}
