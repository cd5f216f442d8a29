//! What the columns of a file of samples are, from `_channels.tsv` or, without it, from their number.

use super::error::ReadErrorKind;
use super::layout::{Role, StampKind};
use super::problem::ProblemKind;
use super::table::{Row, Table};
use super::units::{accel_factor, gyro_factor, is_absent, time_divisor};

/// More columns than this are not looked at.
pub(crate) const CHANNELS_MAX: usize = 4096;

/// The names of the six axes of a motion sensor, in the order of a sample.
const AXES: [&str; 6] = [
    "ACCEL x", "ACCEL y", "ACCEL z", "GYRO x", "GYRO y", "GYRO z",
];

/// One motion sensor among the columns.
#[derive(Clone, Debug)]
pub(crate) struct Point {
    /// Its `tracked_point`; empty if not said.
    pub(crate) name: String,
    /// The column of each axis.
    columns: [Option<usize>; 6],
    /// What each axis is to be multiplied by.
    pub(crate) factors: [f64; 6],
    /// The accelerometer's unit as described.
    pub(crate) accel_units: String,
    /// Whether sequence, device ticks or arrival come with each sample.
    pub(crate) has_stamps: bool,
}

impl Point {
    fn new(name: &str) -> Self {
        Self {
            name: name.to_owned(),
            columns: [None; 6],
            factors: [1.0; 6],
            accel_units: String::new(),
            has_stamps: false,
        }
    }

    fn missing(&self) -> Option<&'static str> {
        AXES.into_iter()
            .zip(self.columns)
            .find(|(_, column)| column.is_none())
            .map(|(axis, _)| axis)
    }
}

/// The meaning of all columns.
#[derive(Debug)]
pub(crate) struct Channels {
    pub(crate) roles: Vec<Role>,
    pub(crate) points: Vec<Point>,
    /// `None` without a LATENCY column.
    pub(crate) time_divisor: Option<i64>,
    /// As a column of the table says.
    pub(crate) rate_hz: Option<f64>,
    pub(crate) problems: Vec<ProblemKind>,
}

impl Channels {
    /// Seven columns are time and one sensor, six the sensor alone.
    pub(crate) fn assumed(columns: usize) -> Result<Self, ReadErrorKind> {
        let shift = match columns {
            7 => 1,
            6 => 0,
            _ => return Err(ReadErrorKind::NoChannels { columns }),
        };
        let mut point = Point::new("");
        point.columns = std::array::from_fn(|axis| Some(axis + shift));
        let mut channels = Self {
            roles: vec![Role::Skip; columns],
            points: vec![point],
            time_divisor: (shift == 1).then_some(1),
            rate_hz: None,
            problems: vec![ProblemKind::NoChannels { columns }],
        };
        if shift == 1 {
            channels.roles[0] = Role::Time;
        }
        channels.assign_axes();
        Ok(channels)
    }

    /// From the table's rows, in the order of the columns.
    pub(crate) fn from_table(table: &Table) -> Result<Self, ReadErrorKind> {
        let count = table.rows.len();
        if count > CHANNELS_MAX {
            return Err(ReadErrorKind::TooManyChannels {
                count,
                limit: CHANNELS_MAX,
            });
        }
        let mut channels = Self {
            roles: vec![Role::Skip; count],
            points: Vec::new(),
            time_divisor: None,
            rate_hz: None,
            problems: Vec::new(),
        };
        for (column, row) in table.rows.iter().enumerate() {
            channels.take(table, row, column)?;
        }
        channels.join_unnamed();
        channels.leave_incomplete()?;
        channels.assign_axes();
        channels.take_stamps(table);
        channels.note_order(table);
        Ok(channels)
    }

    /// Takes one row as the time or an axis; others wait.
    fn take(&mut self, table: &Table, row: &Row, column: usize) -> Result<(), ReadErrorKind> {
        let kind = table.get(row, "type").to_ascii_uppercase();
        let name = table.get(row, "name");
        let units = table.get(row, "units");
        let unknown = |expected| ReadErrorKind::UnknownUnits {
            channel: name.to_owned(),
            units: units.to_owned(),
            expected,
        };
        let mut assumed = None;
        let mut of = |factor: Option<f64>, si: &'static str, known: &'static str| {
            if is_absent(units) {
                assumed = Some(ProblemKind::UnitsAssumed {
                    channel: kind.clone(),
                    assumed: si,
                });
                return Ok(1.0);
            }
            factor.ok_or_else(|| unknown(known))
        };
        let (first_axis, factor) = match kind.as_str() {
            "LATENCY" if self.time_divisor.is_none() => {
                let divisor = if is_absent(units) {
                    Some(1)
                } else {
                    time_divisor(units)
                };
                self.time_divisor = Some(divisor.ok_or_else(|| unknown("s or ms"))?);
                self.roles[column] = Role::Time;
                return Ok(());
            }
            "ACCEL" => (0, of(accel_factor(units), "m/s^2", "m/s^2 or g")),
            "GYRO" => (3, of(gyro_factor(units), "rad/s", "rad/s or deg/s")),
            _ => return Ok(()),
        };
        let axis = match table.get(row, "component").to_ascii_lowercase().as_str() {
            "x" => first_axis,
            "y" => first_axis + 1,
            "z" => first_axis + 2,
            _ => return Ok(()),
        };
        if self.rate_hz.is_none() {
            let rate = table.get(row, "sampling_frequency").parse::<f64>().ok();
            self.rate_hz = rate.filter(|hz| hz.is_finite() && *hz > 0.0);
        }
        let point = self.point(table.get(row, "tracked_point"));
        if self.points[point].columns[axis].is_some() {
            self.note(ProblemKind::SecondChannel {
                channel: AXES[axis].to_owned(),
            });
            return Ok(());
        }
        let point = &mut self.points[point];
        point.columns[axis] = Some(column);
        point.factors[axis] = factor?;
        if axis == 0 {
            units.clone_into(&mut point.accel_units);
        }
        if let Some(problem) = assumed {
            self.note(problem);
        }
        Ok(())
    }

    /// The index of a tracked point, new or known.
    fn point(&mut self, name: &str) -> usize {
        self.points
            .iter()
            .position(|p| p.name == name)
            .unwrap_or_else(|| {
                self.points.push(Point::new(name));
                self.points.len() - 1
            })
    }

    fn note(&mut self, problem: ProblemKind) {
        if !self.problems.contains(&problem) {
            self.problems.push(problem);
        }
    }

    /// Axes without a tracked point belong to the only one that is named.
    fn join_unnamed(&mut self) {
        if let [a, b] = self.points.as_mut_slice()
            && a.name.is_empty() != b.name.is_empty()
        {
            let (unnamed, named) = if a.name.is_empty() { (a, b) } else { (b, a) };
            for axis in 0..6 {
                if named.columns[axis].is_none() {
                    named.columns[axis] = unnamed.columns[axis].take();
                    named.factors[axis] = unnamed.factors[axis];
                }
            }
            if named.accel_units.is_empty() {
                named.accel_units = std::mem::take(&mut unnamed.accel_units);
            }
            self.points
                .retain(|p| p.columns.iter().any(Option::is_some));
        }
    }

    /// Only points with all six axes can be used.
    fn leave_incomplete(&mut self) -> Result<(), ReadErrorKind> {
        let (whole, broken): (Vec<Point>, Vec<Point>) = std::mem::take(&mut self.points)
            .into_iter()
            .partition(|p| p.missing().is_none());
        self.points = whole;
        if self.points.is_empty() {
            let missing = broken
                .first()
                .and_then(Point::missing)
                .unwrap_or(AXES[0])
                .to_owned();
            return Err(ReadErrorKind::NoSensor { missing });
        }
        for point in broken {
            let missing = point.missing().unwrap_or_default().to_owned();
            self.note(ProblemKind::PointIncomplete {
                point: point.name,
                missing,
            });
        }
        Ok(())
    }

    fn assign_axes(&mut self) {
        for (index, point) in self.points.iter().enumerate() {
            for (axis, column) in point.columns.iter().enumerate() {
                if let Some(column) = *column {
                    self.roles[column] = Role::Value { point: index, axis };
                }
            }
        }
    }

    /// Finds what came with each sample; a channel of no point serves a file of one point.
    fn take_stamps(&mut self, table: &Table) {
        for (column, row) in table.rows.iter().enumerate() {
            if !table.get(row, "type").eq_ignore_ascii_case("MISC") {
                continue;
            }
            let Some(kind) = stamp_kind(table.get(row, "name"), table.get(row, "description"))
            else {
                continue;
            };
            let name = table.get(row, "tracked_point");
            let named = self.points.iter().position(|p| p.name == name);
            let only = (self.points.len() == 1 && name.is_empty()).then_some(0);
            if let Some(point) = named.or(only) {
                self.points[point].has_stamps = true;
                self.roles[column] = Role::Stamp { point, kind };
            }
        }
    }

    /// Says so where columns are in another order than usual, or are not needed.
    fn note_order(&mut self, table: &Table) {
        let time = self.roles.iter().position(|r| *r == Role::Time);
        let is_usual = self.points.iter().all(|point| {
            let columns: Vec<usize> = time
                .into_iter()
                .chain(point.columns.into_iter().flatten())
                .collect();
            columns.is_sorted()
        });
        if !is_usual {
            self.note(ProblemKind::OtherOrder);
        }
        let is_extra = |(role, row): &(&Role, &Row)| {
            **role == Role::Skip && !table.get(row, "type").eq_ignore_ascii_case("MISC")
        };
        let count = self.roles.iter().zip(&table.rows).filter(is_extra).count();
        if count > 0 {
            self.note(ProblemKind::ExtraChannels { count });
        }
    }
}

/// The names of the channels that hold what came with a sample.
pub(crate) const STAMP_NAMES: [(&str, StampKind); 3] = [
    ("sequence", StampKind::Sequence),
    ("device_ticks", StampKind::Device),
    ("arrival_s", StampKind::Arrival),
];

fn stamp_kind(name: &str, description: &str) -> Option<StampKind> {
    STAMP_NAMES
        .into_iter()
        .find(|(word, _)| name == *word || description == *word)
        .map(|(_, kind)| kind)
}
