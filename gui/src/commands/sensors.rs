//! `legraise sensors`: which Bluetooth sensors are near, and how to call each; nothing is opened.

use std::io::{self, Write};
use std::time::Duration;

use sensor::ble::{Found, Listing, list};
use sensor::profile::{Profile, shipped};

use crate::args::SensorsArgs;
use crate::error::{CommandError, Exit};
use crate::profiles::load;

/// Lists what is near.
pub(crate) fn run(args: &SensorsArgs, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let mut profiles: Vec<(String, Profile)> = Vec::new();
    for path in &args.profiles {
        profiles.push((path.display().to_string(), load(path)?));
    }
    let of_program = shipped()
        .into_iter()
        .map(|profile| (profile.name.clone(), profile));
    profiles.extend(of_program);
    let kinds: Vec<Profile> = profiles
        .iter()
        .map(|(_, profile)| profile.clone())
        .collect();
    let listing = near(&kinds, Duration::from_secs(args.seconds.into()))?;
    write(out, &listing, &profiles).map_err(CommandError::Output)?;
    Ok(Exit::Done)
}

/// What is near, after looking for so long.
pub(crate) fn near(kinds: &[Profile], looking: Duration) -> Result<Listing, CommandError> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(1)
        .enable_all()
        .build()
        .map_err(CommandError::Thread)?;
    let listing = runtime.block_on(list(kinds, looking));
    runtime.shutdown_timeout(Duration::from_millis(200));
    Ok(listing?)
}

fn write(out: &mut dyn Write, listing: &Listing, profiles: &[(String, Profile)]) -> io::Result<()> {
    let usable = |found: &&Found| found.is_present && !found.profiles.is_empty();
    let mine: Vec<&Found> = listing.found.iter().filter(usable).collect();
    for found in &mine {
        let signal = found
            .signal_dbm
            .map(|dbm| format!("{dbm} dBm"))
            .unwrap_or_default();
        writeln!(out, "{}   {signal}", name(found))?;
        for kind in &found.profiles {
            let called = profiles.iter().find(|(_, profile)| profile.name == *kind);
            let called = called.map_or(kind, |(called, _)| called);
            writeln!(
                out,
                "  legraise live shinright=ble:{called},name={}",
                name(found)
            )?;
        }
    }
    let others: Vec<&Found> = listing.found.iter().filter(|f| !usable(f)).collect();
    if mine.is_empty() {
        writeln!(
            out,
            "no sensor of a known kind is near; switch it on, free it from other programs, or name its profile with --profile FILE"
        )?;
    }
    if !others.is_empty() {
        writeln!(out, "others, of no use here:")?;
    }
    for found in others {
        let why = if found.is_present {
            "of no known kind"
        } else {
            "remembered, not here now"
        };
        writeln!(out, "  {}   {why}", name(found))?;
    }
    Ok(())
}

/// What a person calls it: its name where it has one.
pub(crate) fn name(found: &Found) -> &str {
    found.name.as_deref().unwrap_or(&found.id)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_near_is_listed_with_the_word_that_opens_it() {
        let found = |name: &str, is_present, profiles: &[&str]| Found {
            id: format!("id-{name}"),
            name: (!name.is_empty()).then(|| name.to_owned()),
            signal_dbm: Some(-50),
            is_present,
            profiles: profiles.iter().map(|p| (*p).to_owned()).collect(),
            others: Vec::new(),
        };
        let listing = Listing {
            found: vec![
                found("shin-01", true, &["open-motion"]),
                found("lamp", true, &[]),
                found("shin-02", false, &["open-motion"]),
            ],
        };
        let profiles: Vec<_> = shipped().into_iter().map(|p| (p.name.clone(), p)).collect();
        let mut out = Vec::new();
        write(&mut out, &listing, &profiles).unwrap();
        let out = String::from_utf8(out).unwrap();
        assert!(
            out.contains("shinright=ble:open-motion,name=shin-01"),
            "{out}"
        );
        assert!(out.contains("lamp   of no known kind"), "{out}");
        assert!(out.contains("shin-02   remembered"), "{out}");
        let mut out = Vec::new();
        write(&mut out, &Listing::default(), &profiles).unwrap();
        assert!(String::from_utf8(out).unwrap().contains("; switch it on"));
    }
}
