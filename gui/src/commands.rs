//! What each command does, from its arguments to its exit status.

pub(crate) mod app;
#[cfg(feature = "book")]
pub(crate) mod book;
pub(crate) mod calibrate;
#[cfg(feature = "book")]
pub(crate) mod client;
#[cfg(feature = "book")]
pub(crate) mod course;
#[cfg(feature = "book")]
pub(crate) mod decide;
pub(crate) mod live;
pub(crate) mod pace;
#[cfg(feature = "book")]
pub(crate) mod plan;
pub(crate) mod profile;
#[cfg(feature = "book")]
pub(crate) mod recheck;
pub(crate) mod replay;
pub(crate) mod report;
#[cfg(feature = "ble")]
pub(crate) mod sensors;
#[cfg(feature = "book")]
pub(crate) mod settings;
pub(crate) mod share;
pub(crate) mod simulate;
pub(crate) mod tilt;
#[cfg(feature = "book")]
pub(crate) mod visit;

use std::io::Write;

use crate::error::{CommandError, Exit};

/// What is said where the window can't be opened.
const NO_WINDOW: &str = "\
The same work is done by commands:
  legraise replay PATH…    analyse recordings
  legraise live …          show the angle while a leg is raised
  legraise calibrate …     calibrate a sensor on a flat surface
  legraise tilt FILE       print one sensor's orientation
  legraise simulate DIR    write an invented data set to try things on
  legraise report …        a client's course on paper, or for other programs
  legraise share DATA OUT  recordings that may be passed on
  legraise pace DRILL      a drill, stretch by stretch
  legraise profile         list, check and try out sensor profiles
  legraise cautions        when not to test, and when to stop
  legraise book, client, visit, decide, recheck, course, plan, bands, rules    the casebook
`legraise --help` says more.";

/// When not to test. The first paragraph stands on every screen that shows advice.
const CAUTIONS: &str = "\
This is a measuring and exercise aid. It does not diagnose. Follow your licence, your local law
and your professional code, and the instructions of the treating clinician. If in doubt, stop and
refer.

Do not test, and refer the same day as an emergency:
  - new trouble with bladder or bowel, numbness between the legs, weakness in both legs, or new
    sexual dysfunction, with back or leg pain

Do not test; refer:
  - possible fracture, cancer or infection of the spine: after a fall or blow, with long steroid
    use, fever, weight loss, a history of cancer, or pain at night
  - calf pain with swelling, warmth or redness, or a known clot: neither strap nor exercise
  - acute hamstring tear: sudden pain, bruising, a gap, loss of power: no raise to the end of the
    range

Clearance first:
  - recent fracture, or surgery of spine, hip, knee or hamstring; hip replacement: only within the
    surgeon's limits
  - resting blood pressure of 180/110 or more, chest pain, fainting

Stop the raise, mark it `stop`, note the angle and what was felt; refer or hand over to licensed
practice:
  - pain, tingling or numbness that runs below the knee
  - raising the good leg brings pain in the bad one
  - dizziness, or the client wants to stop

Take care:
  - high blood pressure, glaucoma, hernia, late pregnancy: no held breath, no all-out effort
  - pregnancy: only short spells on the back, on the side or propped up if dizzy
  - very mobile joints, or a raise beyond 90 degrees that still feels tight: no stretching to the
    end of the range
  - pain at the sit bone when sitting: no long stretches and deep hinges at first
  - broken skin, swelling or lost feeling under the strap: no strap there
  - no consent, or unable to follow: no test

The raise as a test of nerves belongs to licensed practice. This program reports an angle, a
reason and a mark, never \"positive\" or \"negative\". Licensed practice and local rules come before
anything said here.
";

/// Says why there is no window, and what there is.
pub(crate) fn no_window(err: &mut dyn Write, why: &str) -> Exit {
    drop(writeln!(err, "legraise: {why}\n{NO_WINDOW}")); // nowhere else to tell it
    Exit::Usage
}

/// Prints the cautions.
pub(crate) fn cautions(out: &mut dyn Write) -> Result<Exit, CommandError> {
    out.write_all(CAUTIONS.as_bytes())
        .map_err(CommandError::Output)?;
    Ok(Exit::Done)
}

/// Tells sentences on standard error, each once.
pub(crate) fn tell<'a>(err: &mut dyn Write, sentences: impl IntoIterator<Item = &'a String>) {
    let mut told = std::collections::BTreeSet::new();
    for sentence in sentences {
        if told.insert(sentence) {
            drop(writeln!(err, "{sentence}")); // a closed standard error stops no analysis
        }
    }
}
