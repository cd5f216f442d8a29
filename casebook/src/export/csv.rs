//! All raises as a table for spreadsheets: RFC 4180, UTF-8 with a byte order mark, one row a raise.
//!
//! A spreadsheet takes a cell that begins with `=` and the like for a formula, and runs it. So a *text* that begins so
//! gets a leading apostrophe; numbers never do, for −3.2 must stay one. Angles are to four decimals, as analysed.

use fusion::{CompensationKind, Flag, Measured, Raise};
use thiserror::Error;

use super::rounded;
use crate::record::{Account, KeptRound, Purpose, Visit};

/// What stands between cells, and with it the decimal sign.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Separator {
    /// `,` and a decimal point.
    #[default]
    Comma,
    /// `;` and a decimal comma, for spreadsheets of languages that write numbers so.
    Semicolon,
}

/// The table could not be made.
#[derive(Debug, Error)]
#[error("table of raises: {0}; free memory and try again")]
pub struct CsvError(String);

/// One cell.
enum Cell<'a> {
    Text(&'a str),
    Number(Option<f64>),
    Count(u64),
}

const COLUMNS: [&str; 31] = [
    "client",
    "name",
    "visit",
    "date",
    "recording",
    "round",
    "began",
    "raise",
    "side",
    "movement",
    "ankle",
    "asked_for",
    "rater",
    "start_s",
    "end_s",
    "end_point_deg",
    "end_point_uncertainty_deg",
    "end_point_s",
    "reason",
    "peak_deg",
    "peak_uncertainty_deg",
    "hold_deg",
    "hold_uncertainty_deg",
    "compensations",
    "flags",
    "set_aside",
    "calibrated",
    "drill",
    "method_version",
    "program",
    "settings",
];

/// The table of every raise of an account, or of one visit by its label.
pub fn raises(
    account: &Account,
    session: Option<&str>,
    separator: Separator,
) -> Result<Vec<u8>, CsvError> {
    let delimiter = match separator {
        Separator::Comma => b',',
        Separator::Semicolon => b';',
    };
    let mut table = csv::WriterBuilder::new()
        .delimiter(delimiter)
        .terminator(csv::Terminator::CRLF)
        .from_writer(b"\xEF\xBB\xBF".to_vec());
    let failed = |e: csv::Error| CsvError(e.to_string());
    table.write_record(COLUMNS).map_err(failed)?;
    let is_wanted = |visit: &&Visit| session.is_none_or(|label| visit.session == label);
    for visit in account.visits.iter().filter(is_wanted) {
        for round in &visit.rounds {
            for (at, raise) in round.raises.iter().enumerate() {
                row(account, visit, round, at, raise, &mut |cells| {
                    let cells = cells.iter().map(|cell| text(cell, separator));
                    table.write_record(cells).map_err(failed)
                })?;
            }
        }
    }
    table.into_inner().map_err(|e| CsvError(e.to_string()))
}

fn row(
    account: &Account,
    visit: &Visit,
    round: &KeptRound,
    at: usize,
    raise: &Raise,
    write: &mut dyn FnMut(&[Cell<'_>]) -> Result<(), CsvError>,
) -> Result<(), CsvError> {
    use Cell::{Count, Number, Text};
    let [date, began] = [
        visit.date.to_string(),
        round
            .began
            .map_or_else(String::new, |began| began.to_string()),
    ];
    let gave_way: Vec<String> = raise
        .compensations
        .iter()
        .map(|found| {
            let deg = rounded(found.angle.degrees(), 1);
            format!("{} at {deg} deg", CompensationKind::as_str(found.kind))
        })
        .collect();
    let gave_way = gave_way.join(" ");
    let flags: Vec<&str> = raise.flags.iter().copied().map(Flag::as_str).collect();
    let flags = flags.join(" ");
    let aside = round.set_aside.iter().find(|(place, _)| *place == at);
    let word = |word: &'_ Option<String>| word.clone().unwrap_or_default();
    let conditions = &round.conditions;
    let how = [
        word(&conditions.movement),
        word(&conditions.ankle),
        word(&conditions.asked_for),
        word(&conditions.rater),
    ];
    let [movement, ankle, asked_for, rater] = &how;
    let end = raise.end_point.as_ref();
    let [end_deg, end_u_deg] = pair(end.map(|end| &end.angle));
    let [peak_deg, peak_u_deg] = pair(raise.peak.as_ref().map(|peak| &peak.angle));
    let [hold_deg, hold_u_deg] = pair(raise.hold.as_ref().map(|hold| &hold.angle));
    write(&[
        Text(&account.client.code),
        Text(&account.client.name),
        Text(&visit.session),
        Text(&date),
        Text(&round.recording),
        Text(purpose(round.purpose)),
        Text(&began),
        Count(at as u64 + 1),
        Text(raise.side.as_str()),
        Text(movement),
        Text(ankle),
        Text(asked_for),
        Text(rater),
        Number(Some(raise.start_s)),
        Number(Some(raise.end_s)),
        Number(end_deg),
        Number(end_u_deg),
        Number(end.map(|end| end.time_s)),
        Text(end.map_or("", |end| end.reason.as_str())),
        Number(peak_deg),
        Number(peak_u_deg),
        Number(hold_deg),
        Number(hold_u_deg),
        Text(&gave_way),
        Text(&flags),
        Text(aside.map_or("", |(_, why)| why)),
        Text(if round.is_calibrated { "yes" } else { "no" }),
        Text(visit.drill.as_ref().map_or("", |drill| &drill.key)),
        Count(u64::from(round.method.version)),
        Text(&round.method.program),
        Text(&round.method.settings),
    ])
}

const fn purpose(purpose: Purpose) -> &'static str {
    match purpose {
        Purpose::First => "first",
        Purpose::Recheck => "recheck",
        Purpose::Further => "further",
    }
}

/// A value and its uncertainty, degrees.
fn pair(angle: Option<&Measured>) -> [Option<f64>; 2] {
    let of = |part: fn(&Measured) -> fusion::Angle| angle.map(|angle| part(angle).degrees());
    [of(|angle| angle.value), of(|angle| angle.expanded)]
}

fn text(cell: &Cell<'_>, separator: Separator) -> String {
    match cell {
        Cell::Text(text) => guarded(text),
        Cell::Count(count) => count.to_string(),
        Cell::Number(value) => match value.filter(|value| value.is_finite()) {
            None => String::new(),
            Some(value) => {
                let text = rounded(value, 4).to_string();
                match separator {
                    Separator::Comma => text,
                    Separator::Semicolon => text.replace('.', ","),
                }
            }
        },
    }
}

/// A text that no spreadsheet takes for a formula.
fn guarded(text: &str) -> String {
    let is_risky = |c| matches!(c, '=' | '+' | '-' | '@' | '\t' | '\r' | '\0');
    if text.starts_with(is_risky) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::invented;

    #[test]
    fn a_text_is_no_formula_and_a_number_stays_one() {
        for risky in ["=1+1", "+1", "-1", "@a", "\tx", "\rx", "\0x"] {
            assert_eq!(guarded(risky), format!("'{risky}"));
        }
        assert_eq!(guarded("a=1"), "a=1");
        let below = Cell::Number(Some(-3.2));
        assert_eq!(text(&below, Separator::Comma), "-3.2");
        assert_eq!(text(&below, Separator::Semicolon), "-3,2");
        assert_eq!(text(&Cell::Number(Some(f64::NAN)), Separator::Comma), "");
    }

    #[test]
    fn one_row_a_raise_with_as_many_cells_as_columns() {
        let account = invented::account();
        let bytes = raises(&account, None, Separator::Comma).unwrap();
        let text = String::from_utf8(bytes).unwrap();
        let text = text.strip_prefix('\u{FEFF}').unwrap();
        assert!(text.lines().count() == 1 + 8 * 2 * 6 && text.ends_with("\r\n"));
        assert_eq!(text.matches("\r\n").count(), text.matches('\n').count());
        let mut table = csv::Reader::from_reader(text.as_bytes());
        let rows: Vec<csv::StringRecord> = table.records().map(Result::unwrap).collect();
        let deg: f64 = rows[0][15].parse().unwrap();
        let angle = account.visits[0].rounds[0].raises[0].end_point.as_ref();
        assert!((deg - angle.unwrap().angle.value.degrees()).abs() < 1e-4);
    }
}
