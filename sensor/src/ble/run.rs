//! One sensor for one run: sessions with it, and what is done between them.

use std::future::Future;
use std::pin::Pin;
use std::time::Duration;

use tokio::time::{Instant, sleep, timeout};

use super::air::{Unit, limit, within};
use super::desk::Desk;
use super::keeper::Keeper;
use super::line::{Intake, Voice, line, now};
use super::watch::Watch;
use crate::Stream;
use crate::event::{Event, Link, Status, Stop};
use crate::live::{Begin, RunClock, Sink, Source};
use crate::packet::Decoder;
use crate::profile::When;

/// Pauses between tries to connect again; the last goes on.
const BACK_OFF: [Duration; 5] = [
    Duration::ZERO,
    Duration::from_millis(500),
    Duration::from_secs(1),
    Duration::from_secs(2),
    Duration::from_secs(5),
];
/// How long a try may take. Others wait their turn, so the first are short.
const CONNECT: [Duration; 3] = [
    Duration::from_secs(10),
    Duration::from_secs(20),
    limit::CONNECT,
];
/// So long the system itself may be away before the sensor is given up.
const SYSTEM_GONE: Duration = Duration::from_mins(1);
/// So long notifications may be on their way that were sent before it was told to stop.
const SETTLE: Duration = Duration::from_millis(50);
/// How long farewells may take.
const FAREWELL: Duration = Duration::from_secs(3);

/// A sensor that has been opened.
pub(super) struct Sensor<U: Unit> {
    /// Gone once it runs or is closed.
    opened: Option<Opened<U>>,
    stream: Stream,
}

struct Opened<U> {
    keeper: Keeper<U>,
    decoder: Decoder,
    status: Status,
}

impl<U: Unit> Sensor<U> {
    pub(super) const fn new(
        keeper: Keeper<U>,
        decoder: Decoder,
        stream: Stream,
        status: Status,
    ) -> Self {
        Self {
            opened: Some(Opened {
                keeper,
                decoder,
                status,
            }),
            stream,
        }
    }

    /// Lets go of it.
    pub(super) async fn close(mut self) {
        if let Some(opened) = self.opened.take() {
            drop(within(limit::DISCONNECT, opened.keeper.unit.disconnect()).await);
        }
    }
}

impl<U: Unit> Drop for Sensor<U> {
    /// One that never ran is let go of as well, if there is still somebody to do it.
    fn drop(&mut self) {
        if let (Some(opened), Ok(runtime)) =
            (self.opened.take(), tokio::runtime::Handle::try_current())
        {
            let unit = opened.keeper.unit;
            runtime.spawn(async move { drop(within(limit::DISCONNECT, unit.disconnect()).await) });
        }
    }
}

impl<U: Unit> Source for Sensor<U> {
    fn streams(&self) -> Vec<Stream> {
        vec![self.stream.clone()]
    }

    fn run(mut self: Box<Self>, begin: Begin) -> Pin<Box<dyn Future<Output = ()> + Send>> {
        let opened = self.opened.take();
        let stream = self.stream.clone();
        Box::pin(async move {
            if let Some(opened) = opened {
                run(opened, stream, begin).await;
            }
        })
    }
}

async fn run<U: Unit>(opened: Opened<U>, stream: Stream, begin: Begin) {
    let Begin { clock, sink, stop } = begin;
    let placement = stream.placement;
    let keeper = &opened.keeper;
    let rate_hz = keeper.rate_hz;
    let desk = Desk::new(placement, opened.decoder, rate_hz, clock, sink.clone());
    let mut life = Life {
        keeper,
        clock,
        sink,
        placement,
        desk,
    };
    life.desk.tell(opened.status);
    let mut session = None;
    let reason = tokio::select! {
        biased;
        () = stop.cancelled() => Stop::Asked,
        reason = life.live(&mut session) => reason,
    };
    life.part(session, reason).await;
}

/// Both sides of a session.
type Session = (Intake, Voice);

/// How often it was tried in vain, and since when the system itself doesn't answer.
#[derive(Default)]
struct Failing {
    tries: usize,
    gone_since: Option<Instant>,
}

struct Life<'a, U> {
    keeper: &'a Keeper<U>,
    clock: RunClock,
    sink: Sink,
    placement: crate::Placement,
    desk: Desk,
}

impl<U: Unit> Life<'_, U> {
    /// Until it can't go on. `session` is what there is of one when this is dropped.
    async fn live(&mut self, session: &mut Option<Session>) -> Stop {
        let mut failing = Failing::default();
        let mut is_again = false;
        loop {
            let made = if is_again {
                self.reconnect(&mut failing).await
            } else {
                self.listen().await
            };
            let reason = match made {
                Ok(made) => {
                    let reason = self.converse(session.insert(made), is_again).await;
                    *session = None;
                    if !self.desk.is_read() {
                        return Stop::Asked;
                    }
                    reason
                }
                Err(reason) => reason,
            };
            if self.desk.has_come() || !is_again {
                failing = Failing::default();
                self.keeper.tell(&format!(
                    "the connection was lost ({reason}); it is tried again until the run is stopped"
                ));
                self.desk.tell(Status {
                    link: Some(Link::Lost),
                    ..Status::default()
                });
                self.desk.lost();
            }
            is_again = true;
            if let Some(since) = failing.gone_since
                && SYSTEM_GONE <= since.elapsed()
            {
                self.keeper.tell(&format!(
                    "given up: the system's Bluetooth service doesn't know it any more ({reason}); start the service, then a new run"
                ));
                return Stop::Lost;
            }
            sleep(BACK_OFF[failing.tries.min(BACK_OFF.len() - 1)]).await;
            failing.tries += 1;
        }
    }

    /// Decodes and watches at once, until the link has to be made anew or nobody reads.
    async fn converse(&mut self, session: &mut Session, is_again: bool) -> String {
        let (intake, voice) = session;
        let mut watch = Watch {
            keeper: self.keeper,
            placement: self.placement,
            clock: self.clock,
            sink: &mut self.sink,
        };
        tokio::select! {
            biased;
            () = self.desk.take(intake) => "its notifications ended".to_owned(),
            reason = watch.keep(voice, is_again) => reason,
        }
    }

    async fn listen(&self) -> Result<Session, String> {
        let notes = within(limit::SUBSCRIBE, self.keeper.unit.listen()).await;
        let notes = notes.map_err(|fault| fault.to_string())?;
        Ok(line(notes, self.clock))
    }

    /// One try: connect, find services, listen. The rest is the same as at first.
    async fn reconnect(&mut self, failing: &mut Failing) -> Result<Session, String> {
        self.desk.tell(Status {
            link: Some(Link::Connecting),
            ..Status::default()
        });
        let keeper = self.keeper;
        let _turn = keeper.connecting.lock().await;
        // What is left of the former connection would be in the way.
        drop(within(limit::DISCONNECT, keeper.unit.disconnect()).await);
        let limit = CONNECT[failing.tries.saturating_sub(1).min(CONNECT.len() - 1)];
        let made = async {
            let connected = within(limit, keeper.unit.connect()).await;
            connected.map_err(|fault| fault.to_string())?;
            let offer = keeper.discover().await;
            offer.map_err(|error| error.to_string())?;
            self.listen().await
        };
        let made = made.await;
        // A device out of reach fails too; but then the system still answers.
        let is_gone = made.is_err()
            && within(limit::ASK, keeper.unit.is_connected())
                .await
                .is_err();
        if is_gone {
            failing.gone_since.get_or_insert_with(Instant::now);
        } else {
            failing.gone_since = None;
        }
        made
    }

    /// The end: what came is given, the sensor told and let go.
    async fn part(mut self, session: Option<Session>, reason: Stop) {
        if let Some((mut intake, mut voice)) = session {
            self.desk.drain(&mut intake);
            let hand = self.keeper.hand();
            let told = hand.perform(When::Stop, &mut voice.answers, &voice.reads);
            let told = timeout(FAREWELL, told);
            tokio::select! {
                // That it can't be told is no matter: it stops when the link is gone.
                _ = told => {}
                () = forever(self.desk.take(&mut intake)) => {}
            }
            drop(timeout(SETTLE, self.desk.take(&mut intake)).await);
            self.desk.drain(&mut intake);
        }
        drop(within(limit::DISCONNECT, self.keeper.unit.disconnect()).await);
        self.desk.finish();
        let ended = Event::Ended {
            placement: self.placement,
            at: now(self.clock),
            reason,
        };
        // A reader that reads no more must not hold up the others' end.
        drop(timeout(FAREWELL, self.sink.send(ended)).await);
    }
}

/// Does it, and then waits for ever.
async fn forever(done: impl Future<Output = ()>) {
    done.await;
    std::future::pending::<()>().await;
}
