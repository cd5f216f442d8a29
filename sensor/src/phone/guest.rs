//! One page: what it has sent, how its clock stands, and whether it says too much.

use std::collections::VecDeque;
use std::time::{Duration, Instant};

use tokio::sync::{broadcast, mpsc};

use super::clock::PageClock;
use super::desk::{Cue, Role};
use super::message::{Raw, Readings, Said, Say};
use crate::MarkKind;
use crate::event::Event;
use crate::live::Begin;

/// Messages a second that a page may send for long, and so many at once.
const MESSAGES_HZ: f64 = 80.0;
const MESSAGES_BURST: f64 = 240.0;
/// Questions that may be unanswered.
const QUESTIONS_MAX: usize = 32;

/// What comes from a phone, as its source gets it.
#[derive(Clone, Debug)]
pub(super) enum Arrived {
    /// Readings in order; the first has this number.
    Readings {
        /// When the message came.
        at: Instant,
        /// Number of the first.
        first: u64,
        /// The readings.
        readings: Vec<Raw>,
    },
    /// Orientations, beta and gamma in degrees.
    Up(Vec<(f64, f64)>),
    /// The page was loaded anew: counter and clock begin at zero.
    Reloaded(Instant),
    /// A connection is there.
    Linked,
    /// The connection has gone.
    Unlinked(Instant),
    /// The page was hidden, once more.
    Hidden,
    /// The page's clock read so many milliseconds between these two.
    Echo {
        /// When it was asked.
        asked: Instant,
        /// When the answer came.
        answered: Instant,
        /// The clock.
        page_ms: f64,
    },
}

/// One page.
#[derive(Debug)]
pub(super) struct Guest {
    pub(super) role: Role,
    /// For one page that hasn't come yet.
    pub(super) token: Option<String>,
    /// For the page that has.
    pub(super) key: Option<String>,
    sender: mpsc::Sender<Arrived>,
    pub(super) receiver: Option<mpsc::Receiver<Arrived>>,
    /// When the page was loaded, as it says.
    loaded: Option<f64>,
    /// Number of the first reading that hasn't come.
    next: u64,
    hides: u64,
    clock: PageClock,
    questions: VecDeque<(u64, Instant)>,
    asked_count: u64,
    /// The last press that was taken.
    pressed: Option<u64>,
    /// Messages it may still send, and as of when.
    allowance: Option<(f64, Instant)>,
    connections: usize,
    /// Cues, for a page that pushes.
    cues: broadcast::Receiver<Cue>,
}

impl Guest {
    pub(super) fn new(
        role: Role,
        token: String,
        sender: mpsc::Sender<Arrived>,
        receiver: mpsc::Receiver<Arrived>,
        cues: broadcast::Receiver<Cue>,
    ) -> Self {
        Self {
            role,
            token: Some(token),
            key: None,
            sender,
            receiver: Some(receiver),
            loaded: None,
            next: 0,
            hides: 0,
            clock: PageClock::default(),
            questions: VecDeque::new(),
            asked_count: 0,
            pressed: None,
            allowance: None,
            connections: 0,
            cues,
        }
    }

    /// It has said hello. A page that was loaded at another time counts and reads its clock from the beginning.
    pub(super) fn arrive(&mut self, loaded: f64) {
        let before = self.loaded.replace(loaded);
        if before.is_some_and(|before| (before - loaded).abs() > 1.0) {
            (self.next, self.hides, self.pressed) = (0, 0, None);
            self.clock.forget();
            self.questions.clear();
            self.pass_on(Arrived::Reloaded(Instant::now()));
        }
    }

    /// A connection has come or gone.
    pub(super) fn connected(&mut self, at: Instant, is_there: bool) {
        let before = self.connections;
        self.connections = if is_there {
            before + 1
        } else {
            before.saturating_sub(1)
        };
        match (before, self.connections) {
            (0, 1) => self.pass_on(Arrived::Linked),
            (1, 0) => self.pass_on(Arrived::Unlinked(at)),
            _ => {}
        }
    }

    /// Whether it may send another message now.
    pub(super) fn may_speak(&mut self, at: Instant) -> bool {
        let (left, since) = self.allowance.unwrap_or((MESSAGES_BURST, at));
        let earned = at.saturating_duration_since(since).as_secs_f64() * MESSAGES_HZ;
        let left = (left + earned).min(MESSAGES_BURST) - 1.0;
        self.allowance = Some((left.max(-1.0), at));
        0.0 <= left
    }

    /// Takes what it says.
    pub(super) fn take(&mut self, at: Instant, said: Said, marks: Option<Begin>) -> Option<Say> {
        match said {
            Said::Readings(readings) => self.readings(at, readings),
            Said::Orientation { u } => self.pass_on(Arrived::Up(u)),
            Said::Answer { q, c } => self.answer(at, q, c),
            Said::Press { mk, t } => {
                self.press(at, mk, t, marks);
                return Some(Say::Pressed { mk });
            }
        }
        None
    }

    /// What a page that pushes is to tell its person.
    pub(super) fn cue(&mut self) -> Option<Cue> {
        self.cues.try_recv().ok()
    }

    /// What is asked now and then: the page's clock; and told, which readings have come.
    pub(super) fn question(&mut self, at: Instant) -> Say {
        self.asked_count += 1;
        if self.questions.len() == QUESTIONS_MAX {
            self.questions.pop_front();
        }
        self.questions.push_back((self.asked_count, at));
        Say::Question {
            q: self.asked_count,
            a: self.next,
        }
    }

    fn readings(&mut self, at: Instant, readings: Readings) {
        if self.hides < readings.h {
            self.hides = readings.h;
            self.pass_on(Arrived::Hidden);
        }
        let Readings { s, mut d, .. } = readings;
        // After a connection that broke some come again.
        let known = usize::try_from(self.next.saturating_sub(s)).unwrap_or(usize::MAX);
        d.drain(..known.min(d.len()));
        if d.is_empty() {
            return;
        }
        let first = s.max(self.next);
        self.next = first.saturating_add(d.len() as u64);
        self.pass_on(Arrived::Readings {
            at,
            first,
            readings: d,
        });
    }

    fn answer(&mut self, at: Instant, question: u64, page_ms: f64) {
        let Some(place) = self.questions.iter().position(|(q, _)| *q == question) else {
            return;
        };
        if let Some((_, asked)) = self.questions.remove(place) {
            self.clock.answer(asked, at, page_ms);
            self.pass_on(Arrived::Echo {
                asked,
                answered: at,
                page_ms,
            });
        }
    }

    /// A mark is of the moment it was pressed, not of when that was heard.
    fn press(&mut self, at: Instant, number: u64, page_ms: f64, marks: Option<Begin>) {
        let Role::Marker(side) = self.role else {
            return;
        };
        if self.pressed.is_some_and(|before| number <= before) {
            return;
        }
        self.pressed = Some(number);
        let Some(mut begin) = marks else { return };
        let mapped = self.clock.moment(page_ms).map(|(moment, _)| moment);
        // A press can't be later than its message, nor older than a page keeps it.
        let oldest = at.checked_sub(PRESS_KEPT).unwrap_or(at);
        let moment = mapped.map_or(at, |moment| moment.clamp(oldest, at));
        begin.sink.push(Event::Mark {
            at: begin.clock.at(moment),
            kind: MarkKind::Pull,
            side,
            value: String::new(),
        });
    }

    /// To the source. What finds no room shows as missing numbers.
    fn pass_on(&self, arrived: Arrived) {
        drop(self.sender.try_send(arrived)); // a source that has ended wants nothing more
    }
}

/// A page keeps a press that wasn't heard for so long.
const PRESS_KEPT: Duration = Duration::from_mins(1);

#[cfg(test)]
mod tests {
    use super::*;
    use crate::live::{CancellationToken, RunClock, Sink};
    use crate::{Placement, Side};

    fn guest(role: Role) -> (Guest, mpsc::Receiver<Arrived>) {
        let (sender, receiver) = mpsc::channel(64);
        let (_, unused) = mpsc::channel(1);
        (
            Guest::new(
                role,
                "t".into(),
                sender,
                unused,
                broadcast::Sender::new(1).subscribe(),
            ),
            receiver,
        )
    }

    fn some(first: u64, count: usize) -> Said {
        Said::Readings(Readings {
            s: first,
            h: 0,
            d: vec![(0.0, None, None, None, None, None, None); count],
        })
    }

    #[test]
    fn readings_that_come_again_are_known_by_their_numbers() {
        let (mut guest, mut arrived) = guest(Role::Sensor(Placement::ShinLeft));
        let now = Instant::now();
        for said in [some(0, 4), some(2, 4), some(0, 3), some(9, 1)] {
            guest.take(now, said, None);
        }
        let mut seen = Vec::new();
        while let Ok(Arrived::Readings {
            first, readings, ..
        }) = arrived.try_recv()
        {
            seen.push((first, readings.len()));
        }
        assert_eq!(seen, [(0, 4), (4, 2), (9, 1)]);
        assert!(matches!(guest.question(now), Say::Question { a: 10, .. }));
        guest.arrive(1.0);
        guest.arrive(1.5);
        guest.arrive(5000.0);
        assert!(matches!(arrived.try_recv(), Ok(Arrived::Reloaded(_))));
        assert!(matches!(guest.question(now), Say::Question { a: 0, .. }));
    }

    #[test]
    fn whoever_says_too_much_is_stopped_and_may_go_on_later() {
        let (mut guest, _arrived) = guest(Role::Marker(None));
        let now = Instant::now();
        let said = (0..1000).filter(|_| guest.may_speak(now)).count();
        assert_eq!(said, 240);
        assert!(guest.may_speak(now + Duration::from_secs(1)));
        // Thirty a second for ever are welcome.
        let mut at = now + Duration::from_secs(2);
        for _ in 0..3000 {
            at += Duration::from_millis(33);
            assert!(guest.may_speak(at));
        }
    }

    #[tokio::test]
    async fn a_press_counts_once_and_when_it_was_made() {
        let (mut guest, _arrived) = guest(Role::Marker(Some(Side::Left)));
        let (sink, mut events) = Sink::channel();
        let begin = Begin {
            clock: RunClock::start(),
            sink,
            stop: CancellationToken::new(),
        };
        let asked = Instant::now();
        let at = asked + Duration::from_secs(3);
        let Say::Question { q, .. } = guest.question(asked) else {
            panic!()
        };
        let answer = Said::Answer { q, c: 10_000.0 };
        guest.take(asked + Duration::from_millis(2), answer, None);
        for _ in 0..2 {
            let press = Said::Press { mk: 7, t: 11_000.0 };
            let reply = guest.take(at, press, Some(begin.clone()));
            assert_eq!(reply, Some(Say::Pressed { mk: 7 }));
        }
        let Some(Event::Mark {
            at: marked, side, ..
        }) = events.recv().await
        else {
            panic!()
        };
        let expected = begin.clock.at(asked + Duration::from_millis(1001));
        assert!(
            (marked.0 - expected.0).abs() < 1_000_000,
            "{marked:?} {expected:?}"
        );
        assert_eq!(side, Some(Side::Left));
        assert!(events.try_recv().is_err(), "once");
    }
}
