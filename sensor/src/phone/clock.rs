//! A page's clock on this computer's: from questions and their answers, the quickest of which tell best.

use std::collections::VecDeque;
use std::time::{Duration, Instant};

/// Answers of the last minute are kept, at two a second.
const ANSWERS_MAX: usize = 120;
/// The offset is the median of this share of them, the quickest.
const SHARE: f64 = 0.1;

/// How a page's clock stands.
#[derive(Clone, Debug, Default)]
pub(super) struct PageClock {
    /// The page's clock less this computer's at the middle of the round trip, ms since `origin`; the trip, ms.
    answers: VecDeque<(f64, f64)>,
    origin: Option<Instant>,
}

impl PageClock {
    /// Another page: its clock has begun anew.
    pub(super) fn forget(&mut self) {
        *self = Self::default();
    }

    /// Takes an answer: the page's clock read `page_ms` between these two.
    pub(super) fn answer(&mut self, asked: Instant, answered: Instant, page_ms: f64) {
        let origin = *self.origin.get_or_insert(asked);
        let trip = answered.saturating_duration_since(asked);
        let middle_ms = ms(asked.saturating_duration_since(origin)) + 0.5 * ms(trip);
        if self.answers.len() == ANSWERS_MAX {
            self.answers.pop_front();
        }
        self.answers.push_back((page_ms - middle_ms, ms(trip)));
    }

    /// A moment of the page on this computer's clock, and how far that may be off; `None` before the first answer.
    pub(super) fn moment(&self, page_ms: f64) -> Option<(Instant, Duration)> {
        let origin = self.origin?;
        let mut answers: Vec<(f64, f64)> = self.answers.iter().copied().collect();
        answers.sort_by(|a, b| a.1.total_cmp(&b.1));
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a share of at most 120"
        )]
        let count = ((answers.len() as f64 * SHARE).ceil() as usize).max(1);
        answers.truncate(count);
        let trip_ms = answers.last()?.1;
        answers.sort_by(|a, b| a.0.total_cmp(&b.0));
        let since_ms = page_ms - answers.get(answers.len() / 2)?.0;
        let span = Duration::try_from_secs_f64(since_ms.abs() * 1e-3).ok()?;
        let moment = if since_ms < 0.0 {
            origin.checked_sub(span)
        } else {
            origin.checked_add(span)
        };
        let off = Duration::try_from_secs_f64(0.5e-3 * trip_ms).ok()?;
        Some((moment?, off))
    }
}

fn ms(span: Duration) -> f64 {
    span.as_secs_f64() * 1e3
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_quickest_answers_tell_the_offset() {
        let start = Instant::now();
        let at = |ms: f64| start + Duration::from_secs_f64(ms * 1e-3);
        let mut clock = PageClock::default();
        assert!(clock.moment(0.0).is_none());
        // The page is 5000 ms ahead; every fifth answer is quick, the others are held up on their way back.
        for n in 0..100 {
            let asked_ms = 500.0 * f64::from(n);
            let late_ms = if n % 5 == 0 {
                0.0
            } else {
                40.0 + f64::from(n % 7) * 10.0
            };
            let answered = at(asked_ms + 4.0 + late_ms);
            clock.answer(at(asked_ms), answered, 5000.0 + asked_ms + 2.0);
        }
        let (moment, off) = clock.moment(5000.0 + 20_000.0).unwrap();
        let error = moment.max(at(20_000.0)) - moment.min(at(20_000.0));
        assert!(error < Duration::from_millis(1), "{error:?}");
        assert!(off <= Duration::from_micros(2001), "{off:?}");
        clock.forget();
        assert!(clock.moment(0.0).is_none());
    }
}
