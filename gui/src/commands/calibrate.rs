//! `legraise calibrate`: a sensor on a flat surface, face by face, with a verdict and its numbers.

use std::io::{self, Write};

use fusion::Angle;
use fusion::calibrate::{Calibration, FACE_HOLD_S, Faces, GuideNow, calibrate};
use sensor::bids::{RunFiles, read_run};
use sensor::{Conditions, Placement, RecordingId, UnitLimits};

use super::live::{kept, visit};
use crate::args::CalibrateArgs;
use crate::error::{CommandError, Exit};
use crate::live::{self, Handle, News, Plan, Task, Visit, Wall};
use crate::selector::source;

/// A calibrated value stands for 95 of 100 cases within this many standard deviations.
const COVERAGE: f64 = 2.0;
/// Standard gravity, m/s².
const GRAVITY_M_S2: f64 = 9.806_65;

/// Guides through the faces, records them, and says what came of it.
pub(crate) fn run(
    args: &CalibrateArgs,
    out: &mut dyn Write,
    err: &mut dyn Write,
    is_watched: bool,
) -> Result<Exit, CommandError> {
    let asked = source(&args.source)?;
    let placement = asked.placement;
    let Some(visit) = visit(&args.visit) else {
        return Err(CommandError::Unkept(placement));
    };
    let run = live::start(Plan {
        sources: vec![asked],
        task: Task::Flat(args.faces.into()),
        visit: Some(visit.clone()),
        conditions: Conditions::default(),
        seconds: None,
        with_marker: false,
        #[cfg(feature = "phone")]
        page_ip: args.page_address,
        wall: Wall::default(),
        heeds_signals: true,
    })?;
    let guided = Guided { is_watched }.through(&run, out, err);
    let outcome = run.join()?;
    kept(Some(&visit.root), &outcome, err);
    guided.map_err(CommandError::Output)?;
    let Some(id) = outcome.recorded else {
        return Ok(Exit::Incomplete);
    };
    verdict(&visit, &id, placement, out, err)
}

/// What the person is guided by.
struct Guided {
    is_watched: bool,
}

impl Guided {
    /// Until enough faces are done, or the run ends.
    fn through(&self, run: &Handle, out: &mut dyn Write, err: &mut dyn Write) -> io::Result<()> {
        let mut before: Option<GuideNow> = None;
        for news in &run.news {
            match news {
                News::Told(text) => {
                    self.clear(out)?;
                    drop(writeln!(err, "{text}")); // told or not, it goes on
                }
                News::Began => writeln!(
                    out,
                    "Put the sensor on a hard, flat surface and let go; after {FACE_HOLD_S:.0} seconds turn it to another face."
                )?,
                News::Guide(now) => {
                    self.step(&now, before.as_ref(), out)?;
                    before = Some(now);
                }
                News::Reading { .. } | News::Health(_) | News::Marked { .. } => {}
            }
        }
        self.clear(out)
    }

    /// Says where it stands: in place where somebody watches, else a line for each new face.
    fn step(
        &self,
        now: &GuideNow,
        before: Option<&GuideNow>,
        out: &mut dyn Write,
    ) -> io::Result<()> {
        if self.is_watched {
            write!(out, "\r{}\x1b[K", place(now))?;
            return out.flush();
        }
        let known = before.map_or(0, |before| before.done.len());
        for face in &now.done[known.min(now.done.len())..] {
            writeln!(out, "  {face} done")?;
        }
        out.flush()
    }

    fn clear(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.is_watched {
            write!(out, "\r\x1b[K")?;
        }
        out.flush()
    }
}

/// Where it stands, in one line.
fn place(now: &GuideNow) -> String {
    let done: Vec<&str> = now.done.iter().map(|face| face.as_str()).collect();
    let what = match now.face {
        Some(face) if now.done.contains(&face) => format!("{face} up: done, turn it over"),
        Some(face) if now.is_still => {
            let still_s = now.still_s.min(FACE_HOLD_S);
            let lean_deg = now.lean.degrees();
            format!("{face} up: still for {still_s:.0} of {FACE_HOLD_S:.0} s, leans {lean_deg:.1}°")
        }
        Some(face) => format!("{face} up: moving, let go of it"),
        None => "no face is up: lay it flat".to_owned(),
    };
    format!("  {what:<44}  done: {}", done.join(" "))
}

/// Reads the recording back and tells what it is worth: the same as every analysis of the visit will find.
fn verdict(
    visit: &Visit,
    id: &RecordingId,
    placement: Placement,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<Exit, CommandError> {
    let files = RunFiles::in_set(&visit.root, id);
    let run = files
        .as_ref()
        .map(read_run)
        .transpose()?
        .map(|read| read.run);
    let track = run.as_ref().and_then(|run| run.track(placement));
    let Some(track) = track else {
        return Ok(Exit::Incomplete);
    };
    let limits = track.limits.unwrap_or(UnitLimits::PLAIN);
    match calibrate(track, limits) {
        Ok(found) => {
            numbers(placement, &found, limits, out).map_err(CommandError::Output)?;
            Ok(Exit::Done)
        }
        Err(problem) => {
            drop(writeln!(err, "{placement}: can't be used, {problem}"));
            Ok(Exit::Incomplete)
        }
    }
}

/// The verdict and its numbers.
fn numbers(
    placement: Placement,
    found: &Calibration,
    limits: UnitLimits,
    out: &mut dyn Write,
) -> io::Result<()> {
    let faces = match found.faces {
        Faces::Six => "all six faces, offset and scale are known: good",
        _ => "opposite faces, the offset of their axis is known: usable, six faces are better",
    };
    writeln!(out, "{placement}: {faces}")?;
    writeln!(out, "  axis   offset in m/s²        scale in %")?;
    for (axis, name) in ["x", "y", "z"].into_iter().enumerate() {
        let sd = |place: usize| COVERAGE * found.cov[(place, place)].max(0.0).sqrt();
        writeln!(
            out,
            "  {name}      {:+.3} ± {:.3}        {:+.2} ± {:.2}",
            found.offset_m_s2[axis],
            sd(axis),
            100.0 * found.scale[axis],
            100.0 * sd(axis + 3),
        )?;
    }
    let worst = |sd: f64| Angle::from_radians((COVERAGE * sd / GRAVITY_M_S2).atan()).degrees();
    let left = (0..3).map(|axis| found.cov[(axis, axis)].max(0.0).sqrt());
    let before = limits.accel_offset_m_s2 / 3.0_f64.sqrt();
    writeln!(
        out,
        "  a face misses gravity by at most {:.3} m/s²; left of the offset in an angle: ± {:.2}°, before: ± {:.2}°",
        found.residual_m_s2,
        worst(left.fold(0.0, f64::max)),
        worst(before),
    )
}
