//! The engine of a live run: one loop over what sources send, what a view asks, and time.

use std::sync::mpsc::{Receiver, sync_channel};
use std::thread::{Builder, JoinHandle};
use std::time::{Duration, Instant};

use fusion::calibrate::Guide;
use fusion::{Reading, Reason};
use sensor::live::{Begin, CancellationToken, RunClock, Sink};
use sensor::{Event, Heading, HostTime, Link, MarkKind, Placement, RUN_S_MAX, Status};
use tokio::sync::mpsc;
use tokio::time::{MissedTickBehavior, interval, sleep_until, timeout};

use super::follow::Follow;
use super::health::Watch;
use super::keep::{Keeper, bring_back};
use super::news::{Command, News, Outcome, Outlet, QUEUE_MAX, Waker};
use super::open::{Opened, Pages, TOLD_MAX, open};
use super::plan::{Plan, Task};
use crate::error::CommandError;

/// Commands that may wait.
const COMMANDS_MAX: usize = 64;
/// Between two looks at the health of the sensors.
const TICK: Duration = Duration::from_millis(250);
/// Sources get so long to end, tell their sensors to stop, and disconnect.
const ENDING: Duration = Duration::from_secs(10);

/// A live run as its view has it.
pub(crate) struct Handle {
    /// What it tells. It ends when the run has.
    pub(crate) news: Receiver<News>,
    /// What is asked of it.
    pub(crate) commands: mpsc::Sender<Command>,
    thread: JoinHandle<Result<Outcome, CommandError>>,
}

impl Handle {
    /// Waits for the end. News that nobody read are lost.
    pub(crate) fn join(self) -> Result<Outcome, CommandError> {
        drop(self.news);
        drop(self.commands);
        let gone = || std::io::Error::other("the thread of the sensors has failed");
        let ended = self.thread.join();
        ended.unwrap_or_else(|_| Err(CommandError::Thread(gone())))
    }
}

/// Starts a live run on a thread of its own.
pub(crate) fn start(plan: Plan) -> Result<Handle, CommandError> {
    start_waking(plan, Waker::none())
}

/// The same for a view that sleeps: `waker` is called with news, and once more when the run has ended.
pub(crate) fn start_waking(plan: Plan, waker: Waker) -> Result<Handle, CommandError> {
    let (queue, news) = sync_channel(QUEUE_MAX);
    let (commands, asked) = mpsc::channel(COMMANDS_MAX);
    let thread = Builder::new()
        .name("sensors".to_owned())
        .spawn(move || {
            let ended = run(&plan, Outlet::new(queue, waker.clone()), asked);
            waker.wake();
            ended
        })
        .map_err(CommandError::Thread)?;
    Ok(Handle {
        news,
        commands,
        thread,
    })
}

fn run(
    plan: &Plan,
    outlet: Outlet,
    asked: mpsc::Receiver<Command>,
) -> Result<Outcome, CommandError> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .thread_name("source")
        .enable_all()
        .build()
        .map_err(CommandError::Thread)?;
    let done = runtime.block_on(live(plan, outlet, asked));
    // A source that doesn't end must not keep the program.
    runtime.shutdown_timeout(Duration::from_millis(200));
    done
}

/// From opening to the written recording.
async fn live(
    plan: &Plan,
    mut outlet: Outlet,
    mut asked: mpsc::Receiver<Command>,
) -> Result<Outcome, CommandError> {
    if let Some(visit) = &plan.visit {
        for text in bring_back(visit) {
            outlet.tell(text);
        }
    }
    let signals = signals(plan.heeds_signals);
    tokio::pin!(signals);
    let (tell, mut told) = mpsc::channel(TOLD_MAX);
    let opening = open(plan, tell);
    tokio::pin!(opening);
    let opened = loop {
        tokio::select! {
            opened = &mut opening => break opened?,
            Some(text) = told.recv() => outlet.tell(text),
            () = &mut signals => return Ok(Outcome::default()),
            // Marks before the run are nobody's.
            command = asked.recv() => if !matches!(command, Some(Command::Mark { .. })) {
                return Ok(Outcome::default());
            },
        }
    };
    if opened.is_fast {
        outlet.wait_for_view();
    }
    let mut heading = heading(plan, &opened);
    let clock = RunClock::start();
    let keeper = match &plan.visit {
        Some(visit) => Some(Keeper::create(visit, &mut heading, clock)?),
        None => None,
    };
    let mut engine = Engine::new(plan, &heading, opened.is_fast, clock, keeper, outlet);
    let events = engine.begin(opened);
    engine
        .go_on(
            Inputs {
                events,
                asked,
                told,
            },
            signals,
        )
        .await
}

fn heading(plan: &Plan, opened: &Opened) -> Heading {
    let mut heading = Heading {
        acquired: Some(plan.wall.now().strftime("%Y-%m-%dT%H:%M:%S").to_string()),
        conditions: plan.conditions.clone(),
        streams: opened.sources.iter().flat_map(|s| s.streams()).collect(),
        ..Heading::default()
    };
    plan.task.as_str().clone_into(&mut heading.id.task);
    heading
}

/// Comes back when this computer asks the program to stop.
async fn signals(are_heeded: bool) {
    if !are_heeded {
        std::future::pending::<()>().await;
    }
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        let kinds = [SignalKind::terminate(), SignalKind::hangup()];
        let [Ok(mut terminate), Ok(mut hangup)] = kinds.map(signal) else {
            return std::future::pending().await;
        };
        tokio::select! {
            _ = tokio::signal::ctrl_c() => {}
            _ = terminate.recv() => {}
            _ = hangup.recv() => {}
        }
    }
    #[cfg(not(unix))]
    drop(tokio::signal::ctrl_c().await); // without signals the run ends otherwise
}

/// What comes to the engine.
struct Inputs {
    events: mpsc::Receiver<Event>,
    asked: mpsc::Receiver<Command>,
    /// Sentences of sources.
    told: mpsc::Receiver<String>,
}

struct Engine {
    clock: RunClock,
    is_fast: bool,
    /// No event after this is taken.
    end: HostTime,
    /// Time of the last event that was taken.
    newest: HostTime,
    follow: Follow,
    watch: Watch,
    keeper: Option<Keeper>,
    outlet: Outlet,
    stop: CancellationToken,
    pages: Option<Pages>,
    /// The end point for which phones were last told to stop, s.
    cued_s: Option<f64>,
    running: Vec<Placement>,
    /// Links as they were last told.
    links: Vec<(Placement, Link)>,
    /// While a unit is calibrated: the faces it has lain on.
    guide: Option<Guide>,
}

impl Engine {
    fn new(
        plan: &Plan,
        heading: &Heading,
        is_fast: bool,
        clock: RunClock,
        keeper: Option<Keeper>,
        outlet: Outlet,
    ) -> Self {
        let seconds = plan.seconds.map_or(RUN_S_MAX, f64::from).min(RUN_S_MAX);
        let placements = heading.streams.iter().map(|stream| stream.placement);
        Self {
            clock,
            is_fast,
            end: HostTime::from_s(seconds).unwrap_or(HostTime(0)),
            newest: HostTime(0),
            follow: Follow::new(heading),
            watch: Watch::new(heading),
            keeper,
            outlet,
            stop: CancellationToken::new(),
            pages: None,
            cued_s: None,
            running: placements.collect(),
            links: Vec::new(),
            guide: match plan.task {
                Task::Flat(wanted) => Some(Guide::new(wanted)),
                Task::Raises => None,
            },
        }
    }

    /// Sets all sources going.
    fn begin(&mut self, opened: Opened) -> mpsc::Receiver<Event> {
        let (sink, events) = Sink::channel();
        let begin = Begin {
            clock: self.clock,
            sink,
            stop: self.stop.clone(),
        };
        for source in opened.sources {
            tokio::spawn(source.run(begin.clone()));
        }
        if let Some(pages) = &opened.pages {
            pages.begin_marks(begin.clone());
        }
        self.pages = opened.pages;
        self.outlet.send(News::Began);
        events
    }

    /// The loop, until the end is asked for, or nothing more comes; then the recording is written.
    async fn go_on(
        mut self,
        mut inputs: Inputs,
        mut signals: std::pin::Pin<&mut impl Future<Output = ()>>,
    ) -> Result<Outcome, CommandError> {
        let mut tick = interval(TICK);
        tick.set_missed_tick_behavior(MissedTickBehavior::Skip);
        let mut end = std::pin::pin!(sleep_until(self.clock.instant(self.end).into()));
        while !self.running.is_empty() && !self.outlet.is_closed && !self.is_calibrated() {
            // The first that is ready, in this order, so that a mark isn't kept waiting by samples.
            tokio::select! {
                biased;
                () = &mut signals => break,
                command = inputs.asked.recv() => match command {
                    Some(Command::Mark { kind, side, value }) => {
                        let at = self.clock.now();
                        self.take(Event::Mark { at, kind, side, value });
                    }
                    Some(Command::Stop) | None => break,
                },
                () = &mut end, if !self.is_fast => break,
                _ = tick.tick() => self.tick(),
                Some(text) = inputs.told.recv() => self.outlet.tell(text),
                event = inputs.events.recv() => match event {
                    Some(event) if event.at() < self.end => self.take(event),
                    Some(Event::Ended { placement, .. }) => self.running.retain(|p| *p != placement),
                    Some(_) if self.is_fast => break,
                    Some(_) => {}
                    None => break,
                },
            }
        }
        self.finish(inputs.events).await
    }

    /// Now, on the clock that events are on.
    fn now(&self) -> HostTime {
        if self.is_fast {
            self.newest
        } else {
            self.clock.now()
        }
    }

    fn is_calibrated(&self) -> bool {
        self.guide.as_ref().is_some_and(Guide::is_enough)
    }

    /// Follows and keeps an event.
    fn take(&mut self, event: Event) {
        if let Err(fault) = event.check() {
            let what = format!("an event can't be kept: {fault}; {}", fault.mend());
            self.outlet.tell(what);
            return;
        }
        let at = event.at();
        self.newest = self.newest.max(at);
        let reading = self.follow.take(&event);
        self.watch.take(&event);
        if let Some(reading) = reading {
            self.cue(&reading);
            let arrived = if self.is_fast {
                Instant::now()
            } else {
                self.clock.instant(at)
            };
            self.outlet.send(News::Reading { reading, arrived });
        }
        self.tell(&event);
        let face = self
            .guide
            .as_mut()
            .and_then(|guide| guide.push(self.follow.samples()));
        if let Some(keeper) = &self.keeper {
            keeper.keep(event);
        }
        if let Some(face) = face {
            self.take(Event::Mark {
                at,
                kind: MarkKind::Flat,
                side: None,
                value: face.to_string(),
            });
            self.tell_guide();
        }
    }

    fn tell_guide(&mut self) {
        if let Some(guide) = &self.guide {
            self.outlet.send(News::Guide(guide.now()));
        }
    }

    /// Something has given way, or the raise was stopped: whoever is on the leg hears it too, once.
    fn cue(&mut self, reading: &Reading) {
        let Some((pages, end)) = self.pages.as_ref().zip(reading.end) else {
            return;
        };
        let stops = matches!(
            end.reason,
            Reason::OppositeLeg | Reason::Knee | Reason::Stop
        );
        if stops && self.cued_s.replace(end.t_s) != Some(end.t_s) {
            pages.stop();
        }
    }

    /// What people must hear of an event.
    fn tell(&mut self, event: &Event) {
        match event {
            Event::Ended {
                placement, reason, ..
            } => {
                self.running.retain(|p| p != placement);
                if let Some(text) = crate::wording::ended(*placement, *reason) {
                    self.outlet.tell(text);
                }
            }
            Event::Mark {
                at,
                kind,
                side,
                value,
            } => self.outlet.send(News::Marked {
                at_s: self.follow.run_s(*at),
                kind: *kind,
                side: *side,
                value: value.clone(),
            }),
            Event::Status {
                placement,
                status: Status {
                    link: Some(link), ..
                },
                ..
            } => {
                let known = self.links.iter_mut().find(|(p, _)| p == placement);
                let is_news = if let Some((_, before)) = known {
                    std::mem::replace(before, *link) != *link
                } else {
                    self.links.push((*placement, *link));
                    matches!(link, Link::Silent | Link::Lost)
                };
                if is_news {
                    self.outlet.tell(crate::wording::link(*placement, *link));
                }
            }
            _ => {}
        }
    }

    fn tick(&mut self) {
        let health = self.watch.now(self.now(), &self.follow);
        self.outlet.send(News::Health(health));
        self.tell_guide();
        if let Some(keeper) = &self.keeper {
            let told: Vec<String> = keeper.told().collect();
            for text in told {
                self.outlet.tell(text);
            }
        }
        self.outlet.flush();
    }

    /// Lets the sources end, keeps what they had on the way, and writes the recording.
    async fn finish(mut self, mut events: mpsc::Receiver<Event>) -> Result<Outcome, CommandError> {
        let last = self.now().min(self.end);
        self.tick();
        self.stop.cancel();
        // Said first: the pages are gone with this run.
        if let Some(pages) = &self.pages {
            pages.end();
        }
        let rest = async {
            while let Some(event) = events.recv().await {
                let is_end = matches!(event, Event::Ended { .. });
                if is_end || event.at() < last {
                    self.take(event);
                }
                if self.running.is_empty() {
                    break;
                }
            }
        };
        if timeout(ENDING, rest).await.is_err() {
            self.outlet.tell("a sensor didn't end in time, left as it is; switch it off and on before the next run");
        }
        let mut outcome = Outcome {
            dropped_count: self.outlet.dropped_count,
            recorded: None,
        };
        if let Some(keeper) = self.keeper.take() {
            let (written, told) = tokio::task::block_in_place(|| keeper.finish());
            for text in told {
                self.outlet.tell(text);
            }
            outcome.recorded = written?;
        }
        self.outlet.flush();
        Ok(outcome)
    }
}
