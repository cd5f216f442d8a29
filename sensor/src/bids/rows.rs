//! The rows of a file of samples: one walk over its bytes, without an allocation a line.
//!
//! A row of plain numbers takes the fast way; anything else about it (a missing value, a blank too many,
//! damage) is judged by the slow way, which has the same outcome for a plain row.

use super::error::{ReadErrorKind, RowFault};
use super::layout::{Clock, Layout, Role, Separator, StampKind, is_decimal_comma, is_missing};
use super::number::{parse_f32, parse_ns};
use super::sidecar::shortened;
use crate::{DeviceTicks, HostTime, RawStamp, RunTime, Sample};

/// No line may be longer.
pub(crate) const LINE_BYTES_MAX: usize = 64 << 10;

/// How many, and where the first was.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Tally {
    pub(crate) count: u64,
    pub(crate) first_line: u64,
}

impl Tally {
    pub(crate) fn add(&mut self, line: u64) {
        if self.count == 0 {
            self.first_line = line;
        }
        self.count += 1;
    }
}

/// The samples of one tracked point.
#[derive(Debug, Default)]
pub(crate) struct PointRows {
    pub(crate) samples: Vec<Sample>,
    pub(crate) stamps: Vec<RawStamp>,
}

/// What a file's rows gave.
#[derive(Debug, Default)]
pub(crate) struct Rows {
    pub(crate) points: Vec<PointRows>,
    pub(crate) missing: Tally,
    pub(crate) not_later: Tally,
    pub(crate) bad: Tally,
    pub(crate) first_fault: Option<RowFault>,
    /// The line that was cut, if the last one was.
    pub(crate) cut_line: Option<u64>,
    pub(crate) has_cr: bool,
    pub(crate) row_count: u64,
}

/// One row, as far as it was read.
struct Scratch {
    ns: Option<i64>,
    values: Vec<[f32; 6]>,
    stamps: Vec<RawStamp>,
}

/// Reads all rows. An error comes with its line.
pub(crate) fn read_rows(bytes: &[u8], layout: &Layout<'_>) -> Result<Rows, (u64, ReadErrorKind)> {
    let mut rows = Rows::default();
    let first_len = bytes
        .iter()
        .position(|&b| b == b'\n')
        .unwrap_or(bytes.len());
    let capacity = bytes.len() / first_len.max(2 * layout.roles.len()).max(1) + 1;
    for &has_stamps in layout.has_stamps {
        rows.points.push(PointRows {
            samples: Vec::with_capacity(capacity),
            stamps: Vec::with_capacity(if has_stamps { capacity } else { 0 }),
        });
    }
    let mut row = Scratch {
        ns: None,
        values: vec![[f32::NAN; 6]; layout.point_count],
        stamps: vec![RawStamp::default(); layout.point_count],
    };
    let mut at = 0;
    let mut line = layout.lines_before;
    while at < bytes.len() {
        line += 1;
        if let Some(end) = fast_row(bytes, at, layout, &mut row) {
            if end - at > LINE_BYTES_MAX {
                return Err((
                    line,
                    ReadErrorKind::LineTooLong {
                        limit: LINE_BYTES_MAX,
                    },
                ));
            }
            at = end;
        } else {
            let rest = &bytes[at..];
            let reach = rest.len().min(LINE_BYTES_MAX + 1);
            let newline = rest[..reach].iter().position(|&b| b == b'\n');
            if newline.is_none() && reach > LINE_BYTES_MAX {
                return Err((
                    line,
                    ReadErrorKind::LineTooLong {
                        limit: LINE_BYTES_MAX,
                    },
                ));
            }
            let len = newline.unwrap_or(rest.len());
            at += len + 1;
            let text = &rest[..len];
            if text.trim_ascii().is_empty() {
                continue;
            }
            if let Err(fault) = slow_row(text, layout, &mut row) {
                rows.note_fault(fault, line, newline.is_none(), text)?;
                continue;
            }
        }
        rows.accept(&row, line, layout);
    }
    rows.has_cr = bytes[..bytes.len().min(LINE_BYTES_MAX)]
        .windows(2)
        .any(|w| w == b"\r\n");
    Ok(rows)
}

/// Reads a row of plain numbers; `None` where it is not one. The end is after its newline.
#[inline]
fn fast_row(bytes: &[u8], start: usize, layout: &Layout<'_>, row: &mut Scratch) -> Option<usize> {
    let Separator::Byte(separator) = layout.separator else {
        return None;
    };
    let mut at = start;
    let last = layout.roles.len() - 1;
    for (column, role) in layout.roles.iter().enumerate() {
        let rest = &bytes[at..];
        match *role {
            Role::Value { point, axis } => {
                let (value, len) = parse_f32(rest)?;
                row.values[point][axis] = value;
                at += len;
            }
            Role::Time => {
                let (ns, len) = parse_ns(rest)?;
                row.ns = Some(ns);
                at += len;
            }
            Role::Stamp { point, kind } => {
                let len = rest
                    .iter()
                    .position(|&b| b == separator || b == b'\n' || b == b'\r')
                    .unwrap_or(rest.len());
                set_stamp(&mut row.stamps[point], kind, &rest[..len]);
                at += len;
            }
            Role::Skip => {
                at += rest
                    .iter()
                    .position(|&b| b == separator || b == b'\n' || b == b'\r')
                    .unwrap_or(rest.len());
            }
        }
        if column < last {
            if *bytes.get(at)? != separator {
                return None;
            }
            at += 1;
        }
    }
    row_end(bytes, at)
}

/// Where the next row begins, if this one ends here.
#[inline]
fn row_end(bytes: &[u8], at: usize) -> Option<usize> {
    match bytes.get(at) {
        Some(b'\n') => Some(at + 1),
        Some(b'\r') if bytes.get(at + 1) == Some(&b'\n') => Some(at + 2),
        None => Some(at),
        _ => None,
    }
}

/// Reads any row. A missing value is left as NaN, a missing time as `None`.
#[cold]
fn slow_row(line: &[u8], layout: &Layout<'_>, row: &mut Scratch) -> Result<(), RowFault> {
    let expected = layout.roles.len();
    let mut found = 0;
    for (column, cell) in layout.separator.cells(line).enumerate() {
        // An empty cell after the last column comes from a separator at the end of the line.
        if column >= expected && cell.is_empty() {
            continue;
        }
        found = column + 1;
        let Some(role) = layout.roles.get(column) else {
            continue;
        };
        let bad = || RowFault::NotANumber {
            column: column + 1,
            text: shortened(&String::from_utf8_lossy(cell)),
        };
        match *role {
            Role::Skip => {}
            Role::Stamp { point, kind } => set_stamp(&mut row.stamps[point], kind, cell),
            Role::Time if is_missing(cell) => row.ns = None,
            Role::Time => {
                let (ns, len) = parse_ns(cell).ok_or_else(bad)?;
                row.ns = Some(ns);
                if len != cell.len() {
                    return Err(bad());
                }
            }
            Role::Value { point, axis } => {
                row.values[point][axis] = if is_missing(cell) {
                    f32::NAN
                } else {
                    fast_float2::parse::<f32, _>(cell).map_err(|_refused| bad())?
                };
            }
        }
    }
    // The last cells may be missing values that left only their tabs, which were trimmed with the line.
    if found < expected
        && line
            .iter()
            .filter(|&&b| layout.separator == Separator::Byte(b))
            .count()
            + 1
            >= expected
    {
        clear_from(found, layout, row);
        found = expected;
    }
    if found == expected {
        Ok(())
    } else {
        Err(RowFault::Cells { found, expected })
    }
}

/// Marks the cells from a column on as missing.
fn clear_from(column: usize, layout: &Layout<'_>, row: &mut Scratch) {
    for role in &layout.roles[column..] {
        match *role {
            Role::Skip => {}
            Role::Time => row.ns = None,
            Role::Value { point, axis } => row.values[point][axis] = f32::NAN,
            Role::Stamp { point, kind } => set_stamp(&mut row.stamps[point], kind, b""),
        }
    }
}

/// A stamp that is missing or no number is none.
fn set_stamp(stamp: &mut RawStamp, kind: StampKind, cell: &[u8]) {
    let whole = || std::str::from_utf8(cell).ok()?.trim().parse::<u64>().ok();
    match kind {
        StampKind::Sequence => stamp.sequence = whole(),
        StampKind::Device => stamp.device = whole().map(DeviceTicks),
        StampKind::Arrival => {
            let ns = parse_ns(cell.trim_ascii()).filter(|(_, len)| *len == cell.trim_ascii().len());
            stamp.arrival = ns.map(|(ns, _)| HostTime(ns));
        }
    }
}

impl Rows {
    /// Counts a row that can't be read. A line that wasn't finished is a recording that was stopped.
    fn note_fault(
        &mut self,
        fault: RowFault,
        line: u64,
        is_unfinished: bool,
        text: &[u8],
    ) -> Result<(), (u64, ReadErrorKind)> {
        if let RowFault::NotANumber { column, text: cell } = &fault
            && is_decimal_comma(cell.as_bytes())
        {
            return Err((
                line,
                ReadErrorKind::DecimalComma {
                    column: *column,
                    text: cell.clone(),
                },
            ));
        }
        if is_unfinished {
            self.cut_line = Some(line);
            return Ok(());
        }
        if self.bad.count == 0 && std::str::from_utf8(text).is_err() {
            return Err((line, ReadErrorKind::NotText));
        }
        self.bad.add(line);
        self.first_fault.get_or_insert(fault);
        self.row_count += 1;
        Ok(())
    }

    /// Takes a row's samples, point by point.
    #[inline]
    fn accept(&mut self, row: &Scratch, line: u64, layout: &Layout<'_>) {
        let ns = match layout.clock {
            Clock::Column { divisor: 1 } => row.ns,
            Clock::Column { divisor } => row
                .ns
                .map(|ns| (ns + ns.signum() * (divisor / 2)) / divisor),
            #[expect(
                clippy::cast_possible_truncation,
                reason = "a row count over a rate; saturates"
            )]
            Clock::Rate { hz } => Some((self.row_count as f64 / hz * 1e9).round() as i64),
        };
        self.row_count += 1;
        let Some(ns) = ns else {
            self.missing.add(line);
            return;
        };
        let at = RunTime::from_ns(ns);
        for ((point, values), (stamp, has_stamps)) in self
            .points
            .iter_mut()
            .zip(&row.values)
            .zip(row.stamps.iter().zip(layout.has_stamps))
        {
            let [ax, ay, az, gx, gy, gz] = *values;
            if !values.iter().all(|v| v.is_finite()) {
                self.missing.add(line);
                continue;
            }
            let sample = Sample {
                at,
                accel_m_s2: [ax, ay, az],
                gyro_rad_s: [gx, gy, gz],
            };
            if !point.is_next(at) {
                self.not_later.add(line);
                if !point.ran_ahead(at) {
                    continue;
                }
                point.samples.pop();
                point.stamps.pop();
            }
            point.samples.push(sample);
            if *has_stamps {
                point.stamps.push(*stamp);
            }
        }
    }
}

impl PointRows {
    /// Whether a time comes after the last one, within the longest run.
    fn is_next(&self, at: RunTime) -> bool {
        match (self.samples.first(), self.samples.last()) {
            (Some(first), Some(last)) => at > last.at && at - first.at <= RunTime::LIMIT_S,
            _ => true,
        }
    }

    /// Whether the last time kept was a lone stamp far ahead, and not this one late: or one damaged
    /// stamp would cost all rows after it.
    fn ran_ahead(&self, at: RunTime) -> bool {
        match self.samples.as_slice() {
            [only] => only.at - at > 1.0,
            [.., before, last] => {
                at > before.at && last.at - before.at > 1.0_f64.max(20.0 * (at - before.at))
            }
            [] => false,
        }
    }
}
