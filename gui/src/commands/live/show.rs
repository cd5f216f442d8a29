//! Live readings as JSON lines, as a board rewritten in place, or as some plain lines.

use std::fmt::Write as _;
use std::io::{self, Write};
use std::time::{Duration, Instant};

use fusion::{Flag, Reading};
use sensor::Link;
use serde::Serialize;

use super::big;
use crate::live::{Health, News};
use crate::output::rounded;

/// Between two plain lines, s.
const PLAIN_S: f64 = 0.5;
/// Between two drawings of the board: as often as an eye can follow.
const DRAWN: Duration = Duration::from_millis(80);
/// The other leg is shown once it is so much higher, or this one has been silent for so long.
const HIGHER_DEG: f64 = 3.0;
const SILENT_S: f64 = 0.3;

/// What can be typed while a run goes on.
const KEYS: &str = "Enter marks the first pull; s and Enter: stopped, pain or any other reason; any other words: a note; Ctrl-C ends";

#[derive(Serialize)]
struct Line {
    t_s: f64,
    side: &'static str,
    angle_deg: Option<f64>,
    uncertainty_deg: Option<f64>,
    state: &'static str,
    flags: Vec<&'static str>,
    end_point: Option<EndJson>,
    compensations: Vec<&'static str>,
}

#[derive(Serialize)]
struct EndJson {
    reason: &'static str,
    time_s: f64,
    angle_deg: f64,
    is_settled: bool,
}

/// How readings are shown.
enum Form {
    Json {
        last_s: f64,
    },
    Board {
        drawn: Option<Instant>,
        lines: usize,
    },
    Plain {
        next_s: f64,
    },
}

/// Where readings are shown.
pub(super) struct Show<'a> {
    out: &'a mut dyn Write,
    form: Form,
    /// The last reading of the leg that is shown.
    leading: Option<Reading>,
    health: Vec<Health>,
}

impl<'a> Show<'a> {
    pub(super) fn new(out: &'a mut dyn Write, is_json: bool, is_watched: bool) -> Self {
        let form = match (is_json, is_watched) {
            (true, _) => Form::Json {
                last_s: f64::NEG_INFINITY,
            },
            (_, true) => Form::Board {
                drawn: None,
                lines: 0,
            },
            _ => Form::Plain {
                next_s: f64::NEG_INFINITY,
            },
        };
        Self {
            out,
            form,
            leading: None,
            health: Vec::new(),
        }
    }

    /// Shows news at once. Sentences go to `err`.
    pub(super) fn take(&mut self, news: &News, err: &mut dyn Write) -> io::Result<()> {
        match news {
            News::Told(text) => self.aside(text, err),
            News::Marked {
                at_s,
                kind,
                side,
                value,
            } => {
                let side = side.map(|side| format!(" {side}")).unwrap_or_default();
                let text = format!("{at_s:.2} s: marked {}{side} {value}", kind.as_str());
                self.aside(text.trim_end(), err)
            }
            News::Reading { reading, .. } => self.reading(reading),
            News::Health(health) => {
                self.health.clone_from(health);
                self.draw()
            }
            News::Began if matches!(self.form, Form::Board { .. }) => self.aside(KEYS, err),
            News::Began | News::Guide(_) => Ok(()),
        }
    }

    /// Leaves the last line standing.
    pub(super) fn end(&mut self) -> io::Result<()> {
        if let Form::Board { drawn, .. } = &mut self.form {
            *drawn = None;
        }
        self.draw()?;
        self.out.flush()
    }

    fn reading(&mut self, reading: &Reading) -> io::Result<()> {
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
            Form::Plain { next_s } if *next_s <= reading.t_s => {
                *next_s = reading.t_s + PLAIN_S;
                let words = words(reading);
                writeln!(self.out, "{:7.1} s  {}", reading.t_s, words.trim_end())?;
                self.out.flush()
            }
            _ => self.draw(),
        }
    }

    /// A sentence beside the readings; the board makes room for it.
    fn aside(&mut self, text: &str, err: &mut dyn Write) -> io::Result<()> {
        if let Form::Board { drawn, lines } = &mut self.form {
            if 0 < *lines {
                write!(self.out, "\x1b[{lines}F\x1b[J")?;
                self.out.flush()?;
            }
            (*drawn, *lines) = (None, 0);
        }
        drop(writeln!(err, "{text}")); // nobody listens there
        self.draw()
    }

    /// Draws the board, unless it was drawn just now.
    fn draw(&mut self) -> io::Result<()> {
        let Form::Board { drawn, lines } = &mut self.form else {
            return Ok(());
        };
        if drawn.is_some_and(|at| at.elapsed() < DRAWN) || self.leading.is_none() {
            return Ok(());
        }
        let board = board(self.leading.as_ref(), &self.health);
        let mut text = String::new();
        if 0 < *lines {
            write!(text, "\x1b[{lines}F").map_err(io::Error::other)?;
        }
        for line in &board {
            // The rest of the former line goes away.
            writeln!(text, "{line}\x1b[K").map_err(io::Error::other)?;
        }
        (*drawn, *lines) = (Some(Instant::now()), board.len());
        self.out.write_all(text.as_bytes())?;
        self.out.flush()
    }

    /// Two resting legs don't take turns.
    fn leads(&self, reading: &Reading) -> bool {
        self.leading.as_ref().is_none_or(|leading| {
            leading.side == reading.side
                || reading.angle.degrees() > leading.angle.degrees() + HIGHER_DEG
                || reading.t_s > leading.t_s + SILENT_S
        })
    }
}

/// The board: the angle large, what the leg does, and how the sensors do.
fn board(reading: Option<&Reading>, health: &[Health]) -> Vec<String> {
    let mut lines = vec![String::new()];
    if let Some(reading) = reading {
        let figures = format!("{:5.1}°", reading.angle.degrees());
        lines.extend(big::rows(&figures).map(|row| format!("  {row}")));
        lines.push(String::new());
        lines.push(format!("  {}", words(reading).trim_end()));
        lines.push(format!("  {}", end(reading)));
        let flags = reading.flags.iter().map(|flag| flag.as_str());
        let moving = reading.compensations.iter().map(|c| c.kind.as_str());
        let words: Vec<&str> = moving.chain(flags).collect();
        lines.push(format!("  {}", words.join(", ")));
    }
    lines.extend(health.iter().map(sensor));
    lines
}

/// The end point in words, or nothing.
fn end(reading: &Reading) -> String {
    let Some(end) = reading.end else {
        return String::new();
    };
    let so_far = if end.is_settled { "" } else { ", so far" };
    let (reason, angle_deg) = (end.reason.as_str(), end.angle.degrees());
    format!("END POINT  {angle_deg:.1}°  by {reason}{so_far}")
}

/// A sensor in one line.
fn sensor(health: &Health) -> String {
    let lost = health
        .lost_count
        .map_or("gaps unseen".to_owned(), |count| format!("{count} lost"));
    let battery = health
        .battery_percent
        .map(|percent| format!("   battery {percent} %"))
        .unwrap_or_default();
    let signal = health
        .signal_dbm
        .map(|dbm| format!("   {dbm} dBm"))
        .unwrap_or_default();
    let link = match health.link {
        Link::Streaming => String::new(),
        link => format!("   {}", link.as_str().to_uppercase()),
    };
    format!(
        "  {:<10}  {:5.1} of {:.0} Hz   {lost}{battery}{signal}{link}",
        health.placement.as_str(),
        health.rate_hz,
        health.nominal_hz,
    )
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
        end_point: reading.end.map(|end| EndJson {
            reason: end.reason.as_str(),
            time_s: rounded(end.t_s),
            angle_deg: rounded(end.angle.degrees()),
            is_settled: end.is_settled,
        }),
        compensations: reading
            .compensations
            .iter()
            .map(|c| c.kind.as_str())
            .collect(),
    }
}
