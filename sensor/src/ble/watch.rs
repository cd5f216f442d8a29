//! What is done beside decoding while samples should come: the writes that start it, what keeps it awake, and the
//! watchdog.
//!
//! A stream of notifications neither ends nor fails when the link, or even the bus, has died. Only the silence tells.

use std::sync::atomic::Ordering;
use std::time::Duration;

use tokio::time::{Instant, sleep_until};

use super::air::{Unit, limit, within};
use super::error::BleError;
use super::keeper::Keeper;
use super::line::{Voice, now};
use super::steps::answering;
use crate::event::{Event, Link, Status};
use crate::live::{RunClock, Sink};
use crate::profile::When;
use crate::{HostTime, Placement};

/// The shortest silence that is told.
const SILENT: Duration = Duration::from_millis(500);
/// And the shortest after which something is done about it.
const ACT: Duration = Duration::from_secs(2);
/// So long samples may be away after subscribing again.
const AGAIN: Duration = Duration::from_millis(1500);
/// How often the battery is asked for.
const BATTERY_EVERY: Duration = Duration::from_mins(1);
/// Values are read again this often at most.
const READ_EVERY: Duration = Duration::from_secs(1);

/// What the watchdog has done about a silence.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Stage {
    Flowing,
    Told,
    Subscribed(Instant),
}

/// Watches over one session with a sensor.
pub(super) struct Watch<'a, U> {
    pub(super) keeper: &'a Keeper<U>,
    pub(super) placement: Placement,
    pub(super) clock: RunClock,
    pub(super) sink: &'a mut Sink,
}

impl<U: Unit> Watch<'_, U> {
    /// Starts the flow and keeps it up. Comes back only when the link has to be made anew, with the reason.
    pub(super) async fn keep(&mut self, voice: &mut Voice, is_again: bool) -> String {
        match self.start(voice, is_again).await {
            Ok(()) => self.stay(voice).await,
            Err(error) => error.to_string(),
        }
    }

    async fn start(&self, voice: &mut Voice, is_again: bool) -> Result<(), BleError> {
        let hand = self.keeper.hand();
        let occasions = [When::Connect, When::Start, When::Stop, When::Keepalive];
        hand.subscribe(&answering(hand.profile, &occasions)).await?;
        if is_again {
            hand.perform(When::Connect, &mut voice.answers, &voice.reads)
                .await?;
            self.read_again(voice).await?;
        }
        hand.subscribe(&hand.profile.notifying()).await?;
        hand.perform(When::Start, &mut voice.answers, &voice.reads)
            .await?;
        // From here on samples are waited for.
        let moment = now(self.clock).max(voice.pulse.last());
        voice.pulse.beat(moment);
        Ok(())
    }

    async fn read_again(&self, voice: &Voice) -> Result<(), BleError> {
        for note in self.keeper.hand().read_all().await? {
            drop(voice.reads.send(note).await);
        }
        Ok(())
    }

    async fn stay(&mut self, voice: &mut Voice) -> String {
        let began = Instant::now();
        let keeper = self.keeper;
        let steps: Vec<_> = keeper.profile.writes_when(When::Keepalive).collect();
        let every = |step: usize| steps.get(step).and_then(|s| s.every_s).unwrap_or(1.0);
        let mut due: Vec<Instant> = (0..steps.len())
            .map(|step| began + Duration::from_secs_f64(every(step)))
            .collect();
        let mut battery = keeper.has_battery.then(|| began + BATTERY_EVERY);
        let mut readable = began;
        let (mut stage, mut stalled) = (Stage::Flowing, voice.pulse.last());
        loop {
            let wake = self.next(stage, voice);
            let wake = due.iter().copied().chain(battery).fold(wake, Instant::min);
            tokio::select! {
                () = sleep_until(wake) => {}
                () = voice.pulse.stale.notified() => {
                    let at = Instant::now();
                    if readable <= at {
                        readable = at + READ_EVERY;
                        if let Err(error) = self.read_again(voice).await {
                            return error.to_string();
                        }
                    }
                }
            }
            let at = Instant::now();
            for (step, due) in due.iter_mut().enumerate().filter(|(_, due)| **due <= at) {
                *due = at + Duration::from_secs_f64(every(step));
                if let Err(error @ BleError::Lost { .. }) = keeper.hand().write(steps[step]).await {
                    return error.to_string();
                }
            }
            if battery.is_some_and(|due| due <= at) {
                battery = Some(at + BATTERY_EVERY);
                self.ask_battery().await;
            }
            if voice.pulse.last() != stalled {
                (stage, stalled) = (Stage::Flowing, voice.pulse.last());
            }
            if self.next(stage, voice) <= Instant::now() {
                match self.act(stage, voice).await {
                    Ok(next) => stage = next,
                    Err(reason) => return reason,
                }
            }
        }
    }

    /// When something is to be done about the silence, if it lasts.
    fn next(&self, stage: Stage, voice: &Voice) -> Instant {
        let last = Instant::from_std(self.clock.instant(voice.pulse.last()));
        let silent = SILENT.max(10 * voice.pulse.packet());
        match stage {
            Stage::Flowing => last + silent,
            Stage::Told => last + ACT.max(silent + AGAIN),
            Stage::Subscribed(at) => at + AGAIN.max(silent),
        }
    }

    /// Does it. An error is the reason why the link has to be made anew.
    async fn act(&mut self, stage: Stage, voice: &Voice) -> Result<Stage, String> {
        match stage {
            Stage::Flowing => {
                voice.pulse.is_silent.store(true, Ordering::Relaxed);
                self.tell(Status {
                    link: Some(Link::Silent),
                    ..Status::default()
                });
                // A link that is known to be down need not be waited for.
                match self.ask().await {
                    Err(reason) if voice.pulse.is_silent.load(Ordering::Relaxed) => Err(reason),
                    _ => Ok(Stage::Told),
                }
            }
            Stage::Told => {
                self.ask().await?;
                let hand = self.keeper.hand();
                let again = hand.subscribe(&hand.profile.notifying()).await;
                again.map_err(|error| error.to_string())?;
                Ok(Stage::Subscribed(Instant::now()))
            }
            Stage::Subscribed(_) => Err("connected, but it sends nothing".to_owned()),
        }
    }

    /// Whether it is connected; if not, or if nobody knows, an error says so.
    async fn ask(&self) -> Result<(), String> {
        match within(limit::ASK, self.keeper.unit.is_connected()).await {
            Ok(true) => Ok(()),
            Ok(false) => Err("the link is down".to_owned()),
            Err(fault) => Err(format!("the system doesn't answer ({fault})")),
        }
    }

    async fn ask_battery(&mut self) {
        if let Some(percent) = self.keeper.battery().await {
            self.tell(Status {
                battery_percent: Some(percent),
                ..Status::default()
            });
        }
    }

    fn tell(&mut self, status: Status) {
        let at: HostTime = now(self.clock);
        // That nobody reads any more is noticed where samples are sent.
        let _is_read = self.sink.push(Event::Status {
            placement: self.placement,
            at,
            status,
        });
    }
}
