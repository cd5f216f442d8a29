//! `legraise pace`: a drill stretch by stretch, when each is due, and on a phone if wanted.

use std::io::Write;
use std::thread::sleep;
use std::time::{Duration, Instant};

use casebook::Rules;
use casebook::drill::{Drill, shipped};
use casebook::pacer::{Choice, Phase, Timeline};
use casebook::report::{Language, said};
use casebook::wording;
use serde_json::json;

use crate::args::PaceArgs;
use crate::drills;
use crate::error::{CommandError, Exit};

/// Prints each stretch when it is due, or all of them at once.
pub(crate) fn run(
    args: &PaceArgs,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<Exit, CommandError> {
    let Some(name) = &args.drill else {
        return list(out).map_err(CommandError::Output);
    };
    let drill = drills::named(name).map_err(CommandError::Drill)?;
    let drill = drill.told_in(args.language.code());
    let least = Choice::least(&drill);
    let choice = Choice {
        sets: args.sets.unwrap_or(least.sets),
        reps: args.reps.unwrap_or(least.reps),
        share: 0.0,
    };
    let line = Timeline::of(&drill, choice, &Rules::default());
    let is_changed = (line.choice.sets, line.choice.reps) != (choice.sets, choice.reps);
    if is_changed {
        let Choice { sets, reps, .. } = line.choice;
        drop(writeln!(
            err,
            "{}: allows other numbers; {sets} sets of {reps} are taken",
            drill.id
        ));
    }
    if !args.json {
        head(args.language, &drill, &line, out).map_err(CommandError::Output)?;
    }
    #[cfg(feature = "phone")]
    let page = args.phone.then(|| paged(args, err)).transpose()?;
    let begun = Instant::now();
    for phase in &line.phases {
        if !args.at_once {
            sleep(until(begun, phase.start_s));
        }
        #[cfg(feature = "phone")]
        if let Some(page) = &page {
            let counted = drill.dose.counted;
            let beat = crate::pacing::beat(args.language, counted, &line, phase.start_s, true);
            page.show(beat);
        }
        stretch(args, &drill, &line, phase, out).map_err(CommandError::Output)?;
    }
    if !args.at_once {
        sleep(until(begun, line.length_s));
    }
    #[cfg(feature = "phone")]
    if let Some(page) = page {
        page.end();
    }
    if !args.json {
        let word = said::sentence(said::paced_out(args.language));
        writeln!(out, "{word}").map_err(CommandError::Output)?;
    }
    Ok(Exit::Done)
}

fn until(begun: Instant, time_s: f64) -> Duration {
    // A timeline is two hours at most.
    let due = begun + Duration::from_secs_f64(time_s.max(0.0));
    due.saturating_duration_since(Instant::now())
}

/// All drills that come with the program.
fn list(out: &mut dyn Write) -> std::io::Result<Exit> {
    for drill in shipped() {
        writeln!(out, "{:<28}  {}", drill.id, drill.name)?;
    }
    writeln!(out, "{}", wording::DRILLS)?;
    Ok(Exit::Done)
}

/// What the person must know before it begins.
fn head(
    language: Language,
    drill: &Drill,
    line: &Timeline,
    out: &mut dyn Write,
) -> std::io::Result<()> {
    let minutes = line.length_s / 60.0;
    writeln!(out, "{}, {minutes:.1} min", drill.name)?;
    for (what, sentences) in [("set-up", &drill.set_up), ("steps", &drill.steps)] {
        writeln!(out, "{what}:")?;
        for sentence in sentences {
            writeln!(out, "  {sentence}")?;
        }
    }
    writeln!(out, "stop at:")?;
    for sentence in said::stop(language).iter().chain(&drill.stop) {
        writeln!(out, "  {sentence}")?;
    }
    writeln!(out, "{}", wording::ADVICE)?;
    out.flush()
}

fn stretch(
    args: &PaceArgs,
    drill: &Drill,
    line: &Timeline,
    phase: &Phase,
    out: &mut dyn Write,
) -> std::io::Result<()> {
    let language: Language = args.language;
    let word = said::phase(language, phase.kind);
    let count = said::count(language, drill.dose.counted, line.choice, phase);
    let Phase {
        start_s, length_s, ..
    } = phase;
    if args.json {
        let found = json!({
            "start_s": start_s, "length_s": length_s, "word": word, "say": phase.say,
            "set": phase.set, "rep": phase.rep,
        });
        writeln!(out, "{found}")?;
    } else {
        writeln!(
            out,
            "{start_s:>7.1} s  {count:<36}  {word:<20} {length_s:>5.1} s  {}",
            phase.say
        )?;
    }
    out.flush()
}

/// The page, once a phone has come.
#[cfg(feature = "phone")]
fn paged(args: &PaceArgs, err: &mut dyn Write) -> Result<crate::pacing::PacedPage, CommandError> {
    use crate::pacing::{PacedPage, Paged};
    let (tell, told) = std::sync::mpsc::sync_channel(16);
    let page = PacedPage::open(args.page_address, move |paged| {
        drop(tell.try_send(paged)); // once the drill goes on nobody listens
    })?;
    loop {
        match told.recv() {
            Ok(Paged::Linked) => return Ok(page),
            Ok(Paged::Code(text) | Paged::Told(text)) => drop(writeln!(err, "{text}")),
            // Why has been told.
            Err(_) => return Err(CommandError::Phone(sensor::phone::PhoneError::Stopped)),
        }
    }
}
