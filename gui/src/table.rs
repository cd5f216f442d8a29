//! The table for people: a block a recording, a line a raise, a line a side. Nothing wider than 100 columns.

use std::io::{self, Write};

use casebook::{Bands, SideSummary, named_bands, summarise, wording};
use fusion::{Flag, Measured, Raise};
use sensor::{Conditions, Side};

use crate::analyse::Outcome;

const HEADINGS: &str =
    "  #  side     start      peak           hold           end point      ended by";

const FOOTER: &str = "\
± is the expanded uncertainty for 95 % coverage; in a mean it also holds how well people repeat a
raise: 2.4° from published studies, weighed with the scatter of these raises.
Bands are the practitioner's own setting (as shipped: edges at 45, 60 and 90°). Where a mean lies
within its uncertainty of an edge, each band it may belong to is named with its chance.
Shows and records the angle to which a straight leg is raised; it does not diagnose, predict, treat
or decide.";

/// Widest line.
const WIDTH: usize = 96;

/// Writes the table of all recordings. The headings come back with each client, the sensors when they change.
pub(crate) fn write_table(out: &mut dyn Write, outcomes: &[Outcome]) -> io::Result<()> {
    let bands = Bands::default();
    let mut client = None;
    let mut sensors: &[String] = &[];
    for outcome in outcomes {
        write_name(out, outcome)?;
        if !outcome.sensors.is_empty()
            && (sensors != outcome.sensors || client != Some(&outcome.id.subject))
        {
            writeln!(out, "  sensors: {}", outcome.sensors.join(", "))?;
            sensors = &outcome.sensors;
        }
        if !outcome.raises.is_empty() && client != Some(&outcome.id.subject) {
            writeln!(out, "{HEADINGS}")?;
            client = Some(&outcome.id.subject);
        }
        write_raises(out, outcome)?;
        for summary in Side::ALL
            .into_iter()
            .filter_map(|side| summarise(&outcome.raises, side))
        {
            write_summary(out, &summary, &bands)?;
        }
        writeln!(out)?;
    }
    if outcomes.len() > 1 {
        writeln!(out, "{}\n", total(outcomes))?;
    }
    writeln!(out, "{FOOTER}")
}

fn write_name(out: &mut dyn Write, outcome: &Outcome) -> io::Result<()> {
    write!(out, "{}", outcome.id)?;
    if let Some(acquired) = &outcome.acquired {
        // The minute tells runs apart; more is noise on a screen.
        write!(
            out,
            "   {}",
            acquired
                .replacen('T', " ", 1)
                .chars()
                .take(16)
                .collect::<String>()
        )?;
    }
    let done = conditions(&outcome.conditions);
    if !done.is_empty() {
        write!(out, "   {done}")?;
    }
    writeln!(out)
}

/// How the raises were done: `active, ankle relaxed, to first pull`.
fn conditions(done: &Conditions) -> String {
    let with =
        |before: &str, text: &Option<String>| text.as_ref().map(|text| format!("{before}{text}"));
    let parts = [
        with("", &done.movement),
        with("ankle ", &done.ankle),
        with("to ", &done.asked_for),
        with("rater ", &done.rater),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

fn write_raises(out: &mut dyn Write, outcome: &Outcome) -> io::Result<()> {
    if let Some(error) = &outcome.error {
        let what = if outcome.raises.is_empty() {
            "not analysed"
        } else {
            "analysed without a part"
        };
        writeln!(out, "  {what}: {error}")?;
    } else if outcome.raises.is_empty() {
        writeln!(out, "  no raise found")?;
    }
    let common = common_flags(&outcome.raises);
    for (number, raise) in (1..).zip(&outcome.raises) {
        let peak = raise.peak.as_ref().map(|peak| &peak.angle);
        let hold = raise.hold.as_ref().map(|hold| &hold.angle);
        let (end, reason) = match &raise.end_point {
            Some(end) => (Some(&end.angle), end.reason.as_str()),
            None => (None, "-"),
        };
        let start = format!("{:.2} s", raise.start_s);
        let line = format!(
            "{number:>3}  {:<7}{start:>9}   {}   {}   {}   {reason}",
            raise.side,
            cell(peak),
            cell(hold),
            cell(end),
        );
        writeln!(out, "{}", line.trim_end())?;
        let own = raise
            .flags
            .iter()
            .copied()
            .filter(|flag| !common.contains(flag));
        write_flags(out, "     ", own)?;
    }
    write_flags(out, "  all raises: ", common.iter().copied())
}

/// An angle and its uncertainty, twelve columns wide.
fn cell(angle: Option<&Measured>) -> String {
    angle.map_or_else(
        || format!("{:<12}", "    -"),
        |angle| {
            let value = format!("{:.1}°", angle.value.degrees());
            let expanded = format!("{:.1}", angle.expanded.degrees());
            format!("{value:>6} ± {expanded:<3}")
        },
    )
}

/// Flags that all of several raises share.
fn common_flags(raises: &[Raise]) -> Vec<Flag> {
    let Some((first, rest)) = raises.split_first() else {
        return Vec::new();
    };
    if rest.is_empty() {
        return Vec::new();
    }
    let is_common = |flag: &Flag| rest.iter().all(|raise| raise.flags.contains(flag));
    first.flags.iter().copied().filter(is_common).collect()
}

/// Flags on lines of their own, wrapped.
fn write_flags(
    out: &mut dyn Write,
    before: &str,
    flags: impl Iterator<Item = Flag>,
) -> io::Result<()> {
    let mut line = before.to_owned();
    let mut is_empty = true;
    for flag in flags {
        let word = flag.as_str();
        if !is_empty && line.chars().count() + word.len() + 2 > WIDTH {
            writeln!(out, "{line},")?;
            line = " ".repeat(before.chars().count());
            is_empty = true;
        }
        line.push_str(if is_empty { "" } else { ", " });
        line.push_str(word);
        is_empty = false;
    }
    if is_empty {
        Ok(())
    } else {
        writeln!(out, "{line}")
    }
}

fn write_summary(out: &mut dyn Write, summary: &SideSummary, bands: &Bands) -> io::Result<()> {
    let raises = if summary.count == 1 {
        "raise"
    } else {
        "raises"
    };
    let left_out = [
        (summary.stopped_count, "ended by stop"),
        (summary.missing_count, "without end point"),
        (summary.other_count, "no leg raise"),
    ];
    let left_out: Vec<String> = left_out
        .iter()
        .filter(|(count, _)| *count > 0)
        .map(|(count, what)| format!(", {count} {what}"))
        .collect();
    let mean = format!(
        "  {} mean end point {:.1}° ± {:.1}° of {} {raises}{}",
        summary.side,
        summary.mean.degrees(),
        summary.expanded.degrees(),
        summary.count,
        if left_out.is_empty() {
            String::new()
        } else {
            format!(" (left out{})", left_out.concat().replacen(',', ":", 1))
        },
    );
    let named = named_bands(summary, bands);
    let band = format!("band {}", wording::bands(&named, bands));
    if mean.chars().count() + band.chars().count() + 2 > WIDTH {
        writeln!(out, "{mean};\n     {band}")
    } else {
        writeln!(out, "{mean}; {band}")
    }
}

/// What a whole data set comes to.
fn total(outcomes: &[Outcome]) -> String {
    let raises: usize = outcomes.iter().map(|outcome| outcome.raises.len()).sum();
    let failed = outcomes
        .iter()
        .filter(|outcome| outcome.error.is_some())
        .count();
    let failed = if failed == 0 {
        String::new()
    } else {
        format!(", {failed} not or only partly analysed")
    };
    format!("{} recordings, {raises} raises{failed}.", outcomes.len())
}

#[cfg(test)]
mod tests;
