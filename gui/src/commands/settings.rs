//! The practitioner's own settings in the casebook: `legraise bands`, `legraise rules`, and folders.

use std::io::Write;

use casebook::store::{Setting, Store};
use casebook::{Rules, wording};
use serde_json::json;

use crate::args::{BandsArgs, RulesArgs};
use crate::book::{self, json};
use crate::error::{CommandError, Exit};

/// `legraise bands`.
pub(crate) fn bands(
    args: &BandsArgs,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<Exit, CommandError> {
    let store = book::open(&args.file, err)?;
    if !args.edges.is_empty() {
        book::set_bands(&store, &args.edges, &args.because)?;
    }
    let bands = store.bands()?;
    if args.json {
        let edges: Vec<_> = bands.edges().iter().map(|e| json::degrees(*e)).collect();
        json::write(
            out,
            &json!({"schema": "legraise/bands/1", "edges_deg": edges}),
        )?;
    } else {
        let labels: Vec<String> = (0..bands.count())
            .map(|band| format!("{}: {}", band + 1, bands.label(band)))
            .collect();
        writeln!(out, "{}\n{}", labels.join("\n"), wording::BANDS).map_err(CommandError::Output)?;
    }
    Ok(Exit::Done)
}

/// `legraise rules`.
pub(crate) fn rules(
    args: &RulesArgs,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<Exit, CommandError> {
    let store = book::open(&args.file, err)?;
    if let (Some(key), Some(value)) = (&args.key, args.value) {
        book::set_rule(&store, key, value, &args.because)?;
    }
    let rules = store.rules()?;
    let all = Rules::ALL.iter().map(|info| {
        let value = rules.get(info.key).unwrap_or(info.default);
        (info, value)
    });
    if args.json {
        let all: Vec<_> = all
            .map(|(info, value)| {
                json!({
                    "rule": info.key,
                    "value": value,
                    "unit": info.unit,
                    "default": info.default,
                    "about": info.about,
                    "source": info.source,
                })
            })
            .collect();
        json::write(out, &json!({"schema": "legraise/rules/1", "rules": all}))?;
    } else {
        for (info, value) in all {
            let changed = if value.total_cmp(&info.default).is_ne() {
                format!(" (as shipped {})", info.default)
            } else {
                String::new()
            };
            writeln!(
                out,
                "{} = {value} {}{changed}\n    {}; {}",
                info.key, info.unit, info.about, info.source
            )
            .map_err(CommandError::Output)?;
        }
    }
    Ok(Exit::Done)
}

/// Sets what is said.
pub(super) fn set(
    store: &Store,
    wanted: [(Setting, Option<String>); 3],
    because: &str,
) -> Result<(), CommandError> {
    store.together(|store| {
        for (setting, value) in wanted {
            if let Some(value) = value {
                store.set_setting(setting, &value, book::why(because))?;
            }
        }
        Ok(())
    })?;
    Ok(())
}

/// Shows where things lie.
pub(super) fn show(store: &Store, is_json: bool, out: &mut dyn Write) -> Result<(), CommandError> {
    let data = store.setting(Setting::DataFolder)?;
    let drills = store.setting(Setting::DrillsFolder)?;
    let months = store.setting(Setting::RetentionMonths)?;
    if is_json {
        let months = months.and_then(|text| text.parse::<u32>().ok());
        return json::write(
            out,
            &json!({"schema": "legraise/settings/1", "data": data, "drills": drills, "months": months}),
        );
    }
    let or = |text: Option<String>, other: &str| text.unwrap_or_else(|| other.to_owned());
    writeln!(
        out,
        "recordings: {}\nown drills: {}\nclients are due after: {}",
        or(data, "not said"),
        or(drills, "none"),
        or(months.map(|n| format!("{n} months")), "not said"),
    )
    .map_err(CommandError::Output)
}
