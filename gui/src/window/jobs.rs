//! What the window has done outside of it: live runs, recordings found and analysed, settings kept.
//!
//! Nothing here waits on the window's thread: runs have a thread of their own, and so has what reads files.

use std::path::Path;
use std::sync::mpsc::{Receiver, SyncSender, TryRecvError, sync_channel};
use std::thread::Builder;

use fusion::calibrate::{Faces, calibrate};
use fusion::{Angle, Settings as Method, Trial};
use sensor::bids::{FindError, RunFiles, free_run_label, read_run, search, write_run};
use sensor::{Run, UnitLimits};

use super::desk::{Ask, Desk};
#[cfg(feature = "ble")]
use super::model::Near;
use super::model::{Done, Effect, Finished, Judged, Purpose, Recording, Trace};
use crate::analyse::{Outcome, analyse};
use crate::contain::contained;
use crate::error::CommandError;
use crate::live::{Command, Handle, News, Plan, Task, Waker, start_waking};
#[cfg(feature = "phone")]
use crate::pacing::PacedPage;

/// Jobs that may be done and not yet heard of.
const DONE_MAX: usize = 16;
/// News that are taken in one go: the window is drawn in between.
const NEWS_MAX: usize = 8192;
/// Standard gravity, m/s².
const GRAVITY_M_S2: f64 = 9.806_65;
/// The curve of a raise begins so long before it and ends so long after, s.
const AROUND_S: f64 = 0.8;
/// Bluetooth sensors are looked for so long.
#[cfg(feature = "ble")]
const LOOKING: std::time::Duration = std::time::Duration::from_secs(5);
/// Samples that are followed at a time, as in a packet.
const PACKET: usize = 4;

/// A live run with what it is for.
struct Going {
    purpose: Purpose,
    plan: Plan,
    handle: Handle,
}

/// All that is being done.
pub(super) struct Jobs {
    going: Option<Going>,
    /// Begins when the one that goes on has ended.
    next: Option<(Purpose, Plan)>,
    /// Where the casebook lies, once it was asked for.
    desk: Option<Desk>,
    /// The pacer on a phone.
    #[cfg(feature = "phone")]
    page: Option<PacedPage>,
    done: Receiver<Done>,
    tell: SyncSender<Done>,
    waker: Waker,
}

/// What came in.
pub(super) enum Heard {
    News(News),
    Done(Box<Done>),
}

impl Jobs {
    pub(super) fn new(waker: Waker) -> Self {
        let (tell, done) = sync_channel(DONE_MAX);
        Self {
            going: None,
            next: None,
            desk: None,
            #[cfg(feature = "phone")]
            page: None,
            done,
            tell,
            waker,
        }
    }

    /// Does it, or sets it going.
    pub(super) fn run(&mut self, effect: Effect) -> Result<(), String> {
        match effect {
            Effect::Begin(purpose, plan) if self.going.is_some() => {
                self.ask(Command::Stop);
                self.next = Some((purpose, plan));
                Ok(())
            }
            Effect::Begin(purpose, plan) => self.begin(purpose, plan),
            Effect::Ask(command) => {
                if matches!(command, Command::Stop) {
                    self.next = None;
                }
                self.ask(command);
                Ok(())
            }
            Effect::Look(folder) => self.aside("search", move || Done::Looked(look(&folder))),
            Effect::Invent(folder) => self.aside("search", move || {
                Done::Looked(invent(&folder).and_then(|()| look(&folder)))
            }),
            Effect::Read(files) => {
                self.aside("analysis", move || {
                    let read = contained(|| recording(&files));
                    Done::Read(read.unwrap_or_else(|place| {
                        Err(crate::wording::program_fault(&files.id, &place))
                    }))
                })
            }
            #[cfg(feature = "ble")]
            Effect::Search => self.aside("search", || Done::Searched(near())),
            Effect::Share(files, placement) => {
                self.aside("share", move || match share(&files, placement) {
                    Ok(()) => Done::Shared,
                    Err(text) => Done::NotShared(text),
                })
            }
            Effect::Book(ask) => self.at_desk(*ask),
            #[cfg(feature = "phone")]
            Effect::PacerPage(is_wanted) => self.page(is_wanted),
            #[cfg(feature = "phone")]
            Effect::Beat(beat) => {
                if let Some(page) = &self.page {
                    page.show(*beat);
                }
                Ok(())
            }
            Effect::Keep | Effect::Sound(_) => Ok(()), // the window's own
        }
    }

    /// A page that is there already gives way to a new one with a new code.
    #[cfg(feature = "phone")]
    fn page(&mut self, is_wanted: bool) -> Result<(), String> {
        self.page = None;
        if is_wanted {
            let (tell, waker) = (self.tell.clone(), self.waker.clone());
            let page = PacedPage::open(None, move |paged| {
                drop(tell.try_send(Done::Paged(paged))); // a window that is gone hears nothing
                waker.wake();
            });
            self.page = Some(page.map_err(|e| e.to_string())?);
        }
        Ok(())
    }

    /// The first question begins the desk's thread.
    fn at_desk(&mut self, ask: Ask) -> Result<(), String> {
        let desk = match self.desk.take() {
            Some(desk) => desk,
            None => Desk::new(self.tell.clone(), self.waker.clone()).map_err(|e| e.to_string())?,
        };
        let is_taken = self.desk.insert(desk).ask(ask);
        let busy = "casebook: it has much to do; wait a moment and do it again";
        is_taken.then_some(()).ok_or_else(|| busy.to_owned())
    }

    fn begin(&mut self, purpose: Purpose, plan: Plan) -> Result<(), String> {
        let started = start_waking(plan.clone(), self.waker.clone());
        let handle = started.map_err(|e| e.to_string())?;
        self.going = Some(Going {
            purpose,
            plan,
            handle,
        });
        Ok(())
    }

    fn ask(&self, command: Command) {
        if let Some(going) = &self.going {
            drop(going.handle.commands.try_send(command)); // a run that has ended hears nothing
        }
    }

    /// Does something on a thread of its own.
    fn aside(
        &self,
        name: &str,
        work: impl FnOnce() -> Done + Send + 'static,
    ) -> Result<(), String> {
        let (tell, waker) = (self.tell.clone(), self.waker.clone());
        let thread = Builder::new().name(name.to_owned()).spawn(move || {
            drop(tell.send(work())); // a window that is gone hears nothing
            waker.wake();
        });
        thread
            .map(drop)
            .map_err(|e| CommandError::Thread(e).to_string())
    }

    /// What has come in since.
    pub(super) fn heard(&mut self) -> Vec<Heard> {
        let mut heard: Vec<Heard> = {
            let done = self.done.try_iter();
            done.map(|done| Heard::Done(Box::new(done))).collect()
        };
        let mut has_ended = false;
        if let Some(going) = &self.going {
            for _ in 0..NEWS_MAX {
                match going.handle.news.try_recv() {
                    Ok(news) => heard.push(Heard::News(news)),
                    Err(TryRecvError::Empty) => break,
                    Err(TryRecvError::Disconnected) => {
                        has_ended = true;
                        break;
                    }
                }
            }
        }
        if has_ended && let Some(going) = self.going.take() {
            let Going {
                purpose,
                plan,
                handle,
            } = going;
            let ended = self.aside("analysis", move || {
                Done::Run(
                    purpose,
                    contained(|| finished(purpose, &plan, handle)).unwrap_or_else(Err),
                )
            });
            if let Err(text) = ended {
                heard.push(Heard::Done(Box::new(Done::Run(purpose, Err(text)))));
            }
            if let Some((purpose, plan)) = self.next.take()
                && let Err(text) = self.begin(purpose, plan)
            {
                heard.push(Heard::Done(Box::new(Done::Run(purpose, Err(text)))));
            }
        }
        heard
    }
}

impl Drop for Jobs {
    /// What was recorded is written before the program ends.
    fn drop(&mut self) {
        // Nobody listens any more, so that no thread waits for it.
        self.done = sync_channel(1).1;
        if let Some(desk) = self.desk.take() {
            desk.end();
        }
        if let Some(going) = self.going.take() {
            drop(going.handle.commands.try_send(Command::Stop));
            drop(going.handle.join()); // the journal has it, if this fails
        }
    }
}

/// What is known of a run that has ended.
fn finished(purpose: Purpose, plan: &Plan, handle: Handle) -> Result<Finished, String> {
    let outcome = handle.join().map_err(|e| e.to_string())?;
    let recorded = plan.visit.as_ref().zip(outcome.recorded);
    let Some((visit, id)) = recorded else {
        return Ok(Finished::default());
    };
    let Some(files) = RunFiles::in_set(&visit.root, &id) else {
        return Ok(Finished::default());
    };
    match (plan.task, purpose) {
        (Task::Flat(_), Purpose::Flat(placement)) => {
            let run = read_run(&files).map_err(|e| e.to_string())?.run;
            let judged = judged(&run, placement);
            Ok(Finished {
                judged,
                files: Some(Box::new(files)),
                ..Finished::default()
            })
        }
        _ => Ok(Finished {
            analysis: one(&files)?.map(Box::new),
            ..Finished::default()
        }),
    }
}

/// Writes a unit's recording on a flat surface once more, for another place at which it sits.
fn share(files: &RunFiles, placement: sensor::Placement) -> Result<(), String> {
    let mut run = read_run(files).map_err(|e| e.to_string())?.run;
    for track in &mut run.tracks {
        track.placement = Some(placement);
        placement.as_str().clone_into(&mut track.name);
    }
    let Some(root) = &files.root else {
        return Err(format!("{}: no data set above it; measure again", files.id));
    };
    run.id.run = Some(free_run_label(root, &run.id));
    write_run(root, &run).map_err(|e| e.to_string())
}

/// Bluetooth sensors of the kinds that come with the program.
#[cfg(feature = "ble")]
fn near() -> Result<Vec<Near>, String> {
    use crate::commands::sensors;
    let listing = sensors::near(&sensor::profile::shipped(), LOOKING).map_err(|e| e.to_string())?;
    let usable = listing.found.iter().filter(|found| found.is_present);
    let near = usable.filter_map(|found| {
        let name = sensors::name(found).to_owned();
        let text = format!("ble:{},name={name}", found.profiles.first()?);
        Some(Near {
            name,
            text,
            signal_dbm: found.signal_dbm,
        })
    });
    Ok(near.collect())
}

/// The analysis of one run: the same as every other command makes of it.
fn one(files: &RunFiles) -> Result<Option<Outcome>, String> {
    let outcomes = analyse(std::slice::from_ref(files), &Method::default(), None, false);
    Ok(outcomes.map_err(|e| e.to_string())?.pop())
}

/// What a unit's recording on a flat surface is worth.
fn judged(run: &Run, placement: sensor::Placement) -> Option<Judged> {
    let track = run.track(placement)?;
    let limits = track.limits.unwrap_or(UnitLimits::PLAIN);
    let found = match calibrate(track, limits) {
        Ok(found) => found,
        Err(problem) => return Some(Judged::Bad(problem.to_string())),
    };
    // Two standard deviations stand for 95 of 100 cases.
    let worst_deg = |sd: f64| Angle::from_radians((2.0 * sd / GRAVITY_M_S2).atan()).degrees();
    let left = (0..3).map(|axis| found.cov[(axis, axis)].max(0.0).sqrt());
    Some(Judged::Good {
        is_six: found.faces == Faces::Six,
        left_deg: worst_deg(left.fold(0.0, f64::max)),
        before_deg: worst_deg(limits.accel_offset_m_s2 / 3.0_f64.sqrt()),
    })
}

/// Recordings in a folder; none in one that isn't there.
fn look(folder: &Path) -> Result<Vec<RunFiles>, String> {
    match search(folder) {
        Ok(found) => Ok(found.runs),
        Err(FindError::Missing { .. } | FindError::NothingHere { .. }) => Ok(Vec::new()),
        Err(e) => Err(e.to_string()),
    }
}

/// An invented data set.
fn invent(folder: &Path) -> Result<(), String> {
    let args = crate::args::SimulateArgs {
        folder: folder.to_owned(),
        quiet: true,
    };
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let done = crate::commands::simulate::run(&args, &mut out, &mut err, false);
    done.map(drop).map_err(|e| e.to_string())
}

/// A recording with the curves of its raises.
fn recording(files: &RunFiles) -> Result<Box<Recording>, String> {
    let Some(outcome) = one(files)? else {
        return Err(crate::wording::program_fault(&files.id, ""));
    };
    let curves = match read_run(files) {
        Ok(read) => curves(&read.run, &outcome),
        Err(_) => Vec::new(), // why is in the outcome
    };
    Ok(Box::new(Recording { outcome, curves }))
}

/// Each raise as it would have been seen.
fn curves(run: &Run, outcome: &Outcome) -> Vec<Trace> {
    let placed = run.tracks.iter().filter_map(|t| Some((t.placement?, t)));
    let sensors: Vec<_> = placed
        .clone()
        .map(|(p, t)| (p, t.rate_hz, t.limits))
        .collect();
    let mut packets: Vec<_> = placed
        .flat_map(|(p, t)| t.samples.chunks(PACKET).map(move |samples| (p, samples)))
        .collect();
    packets.sort_by_key(|(_, samples)| samples.last().map(|s| s.at));
    let mut trial = Trial::new(&sensors, &Method::default());
    let mut traces = [Trace::default(), Trace::default()];
    for (placement, samples) in packets {
        if let Some(reading) = trial.push(placement, samples) {
            traces[reading.side as usize].push(reading.t_s, reading.angle.degrees());
        }
    }
    let of = |raise: &fusion::Raise| {
        traces[raise.side as usize].between(raise.start_s - AROUND_S, raise.end_s + AROUND_S)
    };
    outcome.raises.iter().map(of).collect()
}
