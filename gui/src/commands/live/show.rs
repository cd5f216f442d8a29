//! Live readings as JSON lines, as one line rewritten in place, or as some plain lines.

use std::io::{self, Write};

use fusion::{Flag, Reading};
use serde::Serialize;

use crate::output::rounded;

/// Between two plain lines, s.
const PLAIN_S: f64 = 0.5;
/// The other leg is shown once it is so much higher, or this one has been silent for so long.
const HIGHER_DEG: f64 = 3.0;
const SILENT_S: f64 = 0.3;

#[derive(Serialize)]
struct Line {
    t_s: f64,
    side: &'static str,
    angle_deg: Option<f64>,
    uncertainty_deg: Option<f64>,
    state: &'static str,
    flags: Vec<&'static str>,
}

/// How readings are shown.
enum Form {
    Json { last_s: f64 },
    InPlace,
    Plain { next_s: f64 },
}

/// Where readings are shown.
pub(super) struct Show<'a> {
    out: &'a mut dyn Write,
    form: Form,
    /// The last reading of the leg that is shown.
    leading: Option<Reading>,
}

impl<'a> Show<'a> {
    pub(super) fn new(out: &'a mut dyn Write, is_json: bool, is_watched: bool) -> Self {
        let form = match (is_json, is_watched) {
            (true, _) => Form::Json {
                last_s: f64::NEG_INFINITY,
            },
            (_, true) => Form::InPlace,
            _ => Form::Plain {
                next_s: f64::NEG_INFINITY,
            },
        };
        Self {
            out,
            form,
            leading: None,
        }
    }

    /// Shows a reading at once.
    pub(super) fn reading(&mut self, reading: &Reading) -> io::Result<()> {
        if let Form::Json { last_s } = &mut self.form {
            let line = line(reading);
            // Lines are in order of time: of two resting legs, the packet that was overtaken is passed over.
            if line.t_s <= *last_s {
                return Ok(());
            }
            *last_s = line.t_s;
            serde_json::to_writer(&mut *self.out, &line)?;
            self.out.write_all(b"\n")?;
            return self.out.flush();
        }
        if !self.leads(reading) {
            return Ok(());
        }
        self.leading = Some(reading.clone());
        match &mut self.form {
            Form::Plain { next_s } if reading.t_s < *next_s => return Ok(()),
            Form::Plain { next_s } => {
                *next_s = reading.t_s + PLAIN_S;
                writeln!(
                    self.out,
                    "{:7.1} s  {}",
                    reading.t_s,
                    words(reading).trim_end()
                )?;
            }
            _ => write!(self.out, "\r{}", words(reading))?,
        }
        self.out.flush()
    }

    /// Leaves the last line standing.
    pub(super) fn end(&mut self) -> io::Result<()> {
        if matches!(self.form, Form::InPlace) && self.leading.is_some() {
            self.out.write_all(b"\n")?;
        }
        self.out.flush()
    }

    /// Two resting legs don't take turns on one line.
    fn leads(&self, reading: &Reading) -> bool {
        self.leading.as_ref().is_none_or(|leading| {
            leading.side == reading.side
                || reading.angle.degrees() > leading.angle.degrees() + HIGHER_DEG
                || reading.t_s > leading.t_s + SILENT_S
        })
    }
}

/// As many characters each time, so that nothing of the former is left.
fn words(reading: &Reading) -> String {
    format!(
        "{:<5}  {:5.1}° ± {:4.1}°  {:<8}",
        reading.side.as_str().to_uppercase(),
        reading.angle.degrees(),
        reading.expanded.degrees(),
        reading.state.as_str().to_uppercase()
    )
}

fn line(reading: &Reading) -> Line {
    let number = |value: f64| value.is_finite().then(|| rounded(value));
    Line {
        t_s: rounded(reading.t_s),
        side: reading.side.as_str(),
        angle_deg: number(reading.angle.degrees()),
        uncertainty_deg: number(reading.expanded.degrees()),
        state: reading.state.as_str(),
        flags: reading.flags.iter().copied().map(Flag::as_str).collect(),
    }
}
