//! A drill's pace on a phone: what its page shows at a moment, and the thread that serves it.

use std::net::IpAddr;
use std::sync::Arc;
use std::thread::{Builder, JoinHandle};
use std::time::{Duration, Instant};

use casebook::drill::{BeatKind, Counted};
use casebook::pacer::{PhaseKind, Timeline};
use casebook::report::{Language, said};
use sensor::phone::{Beat, Circle, Cue, Role};
use tokio::runtime;
use tokio::sync::watch;

use crate::error::CommandError;
use crate::pages::serve;

/// The page gets so long to hear that it is over.
const FAREWELL: Duration = Duration::from_millis(300);

/// What becomes of the page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Paged {
    /// A code to be scanned, in words and squares.
    Code(String),
    /// A phone is there.
    Linked,
    /// Something to know: a page that was turned away, or why there can't be one.
    Told(String),
}

/// The page, served as long as this is held.
#[derive(Debug)]
pub(crate) struct PacedPage {
    beats: watch::Sender<Option<Beat>>,
    thread: JoinHandle<()>,
}

impl PacedPage {
    /// Begins to serve it, at this address or the likeliest one.
    pub(crate) fn open(
        ip: Option<IpAddr>,
        tell: impl Fn(Paged) + Send + Sync + 'static,
    ) -> Result<Self, CommandError> {
        let runtime = runtime::Builder::new_current_thread()
            .enable_all()
            .build()
            .map_err(CommandError::Thread)?;
        let (beats, shown) = watch::channel(None);
        let work = move || {
            let tell = Arc::new(tell);
            if let Err(e) = runtime.block_on(page(ip, shown, Arc::clone(&tell))) {
                tell(Paged::Told(e.to_string()));
            }
        };
        let thread = Builder::new().name("pacer page".to_owned()).spawn(work);
        let thread = thread.map_err(CommandError::Thread)?;
        Ok(Self { beats, thread })
    }

    /// Says goodbye to the phone, and waits until that is said.
    pub(crate) fn end(self) {
        drop(self.beats);
        drop(self.thread.join()); // a thread that failed has told why
    }

    /// From now on it shows this.
    pub(crate) fn show(&self, beat: Beat) {
        self.beats.send_replace(Some(beat));
    }
}

async fn page(
    ip: Option<IpAddr>,
    mut shown: watch::Receiver<Option<Beat>>,
    tell: Arc<impl Fn(Paged) + Send + Sync + 'static>,
) -> Result<(), CommandError> {
    let later = Arc::clone(&tell);
    let served = serve(ip, Arc::new(move |text| later(Paged::Told(text)))).await?;
    if let Some(text) = served.invite(Role::Pacer) {
        tell(Paged::Code(text));
    }
    let mut is_linked = false;
    loop {
        tokio::select! {
            () = served.server.met(Role::Pacer), if !is_linked => {
                is_linked = true;
                tell(Paged::Linked);
            }
            changed = shown.changed() => {
                if changed.is_err() {
                    break;
                }
                let beat = shown.borrow_and_update().clone();
                if let Some(beat) = beat {
                    served.server.pace(beat);
                }
            }
        }
    }
    served.server.cue(Cue::End);
    tokio::time::sleep(FAREWELL).await;
    Ok(())
}

/// What the page shows of a drill at a time.
pub(crate) fn beat(
    language: Language,
    counted: Counted,
    line: &Timeline,
    time_s: f64,
    is_running: bool,
) -> Beat {
    let at = Instant::now();
    let Some((phase, into_s)) = line.at(time_s) else {
        return Beat {
            circle: Circle::Small,
            length_s: 0.0,
            left_s: 0.0,
            at,
            is_running: false,
            word: said::paced_out(language).to_owned(),
            say: String::new(),
            count: String::new(),
        };
    };
    Beat {
        circle: circle(phase.kind),
        length_s: phase.length_s,
        left_s: phase.length_s - into_s,
        at,
        is_running,
        word: said::phase(language, phase.kind).to_owned(),
        say: phase.say.clone(),
        count: said::count(language, counted, line.choice, phase),
    }
}

const fn circle(kind: PhaseKind) -> Circle {
    match kind {
        PhaseKind::Beat(BeatKind::In) => Circle::Grow,
        PhaseKind::Beat(BeatKind::Out) => Circle::Shrink,
        // A movement goes there and comes back with the next.
        PhaseKind::Beat(BeatKind::Move) => Circle::Swing,
        PhaseKind::Beat(BeatKind::Hold) => Circle::Large,
        _ => Circle::Small,
    }
}
