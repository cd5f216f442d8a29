//! A phone as a source: its readings as raw samples, with the sign of its acceleration settled first.

use std::future::Future;
use std::pin::Pin;
use std::time::{Duration, Instant};

use tokio::sync::mpsc;

use super::guest::Arrived;
use super::message::Raw;
use super::sign::SignRule;
use super::{PhoneError, Tell};
use crate::event::{Echo, Event, Link, Loss, Packet, RawSample, Status, Stop};
use crate::live::{Begin, Source};
use crate::{
    Counter, Counts, Device, DeviceTicks, HostTime, Placement, RunTime, Sample, Stream, Ticks,
    Timing, UnitLimits,
};

/// Browsers give motion at the rate of the screen, Hz.
const RATE_HZ: f64 = 60.0;
/// The page's clock as it is counted here, s.
const TICK_S: f64 = 1e-6;
/// Without an orientation the sign is taken as the standard has it after so many readings.
const UNSIGNED_COUNT: usize = 120;
/// No reading for so long: silent.
const SILENT: Duration = Duration::from_millis(500);
/// Between two entries of the page's clock in the record.
const ECHO_EVERY: Duration = Duration::from_secs(5);
/// A phone's chip is a plain one, and browsers round to 0.1 m/s²: up to half of that is an offset in a quiet hand.
const LIMITS: UnitLimits = UnitLimits {
    accel_offset_m_s2: 0.15,
    accel_scale: 0.01,
    gyro_scale: 0.01,
};

/// A phone that sends.
pub(super) struct Phone {
    pub(super) placement: Placement,
    pub(super) arrivals: mpsc::Receiver<Arrived>,
    /// By which its acceleration is multiplied.
    sign: f64,
    tell: Tell,
}

impl Phone {
    /// Waits for a phone's first readings, and settles the sign.
    pub(super) async fn opened(
        placement: Placement,
        mut arrivals: mpsc::Receiver<Arrived>,
        tell: Tell,
    ) -> Result<Self, PhoneError> {
        let (mut rule, mut unsigned, mut empty) = (SignRule::default(), 0, 0);
        let sign = loop {
            let arrived = arrivals.recv().await.ok_or(PhoneError::Stopped)?;
            match arrived {
                Arrived::Linked => tell(format!("{placement}: the phone's page is connected")),
                Arrived::Up(ups) => ups.iter().for_each(|(b, g)| rule.orientation(*b, *g)),
                Arrived::Readings { readings, .. } => {
                    let found = readings
                        .iter()
                        .filter_map(|raw| accel(raw, 1.0))
                        .find_map(|a| rule.accel(a));
                    if let Some(sign) = found {
                        break sign;
                    }
                    let given = readings
                        .iter()
                        .filter(|raw| accel(raw, 1.0).is_some())
                        .count();
                    unsigned += given;
                    empty += readings.len() - given;
                    if given == 0
                        && empty < UNSIGNED_COUNT
                        && UNSIGNED_COUNT <= empty + readings.len()
                    {
                        tell(format!(
                            "{placement}: the phone gives no motion; allow it in the browser's settings, or take another phone"
                        ));
                    }
                    if UNSIGNED_COUNT <= unsigned {
                        tell(format!(
                            "{placement}: the phone doesn't tell which way is up, its sign is taken as the standard has it; check that the angle rises with the leg"
                        ));
                        break 1.0;
                    }
                }
                _ => {}
            }
        };
        if sign < 0.0 {
            tell(format!(
                "{placement}: the phone counts its acceleration the other way round, turned"
            ));
        }
        Ok(Self {
            placement,
            arrivals,
            sign,
            tell,
        })
    }

    async fn send(mut self, mut begin: Begin) {
        let mut state = Sending {
            is_linked: true,
            is_silent: false,
            last: None,
            echoed: None,
        };
        loop {
            let arrived = tokio::select! {
                () = begin.stop.cancelled() => break,
                arrived = tokio::time::timeout(SILENT, self.arrivals.recv()) => arrived,
            };
            let is_read = match arrived {
                Err(_) => self.silent(&mut state, &mut begin),
                Ok(Some(arrived)) => self.take(arrived, &mut state, &mut begin),
                Ok(None) => false,
            };
            if !is_read {
                break;
            }
        }
        let at = begin.clock.now();
        let reason = if begin.stop.is_cancelled() {
            Stop::Asked
        } else {
            Stop::Lost
        };
        let placement = self.placement;
        begin
            .sink
            .send(Event::Ended {
                placement,
                at,
                reason,
            })
            .await;
    }

    fn status(&self, at: HostTime, status: Status) -> Event {
        Event::Status {
            placement: self.placement,
            at,
            status,
        }
    }

    fn link(&self, at: HostTime, link: Link, begin: &mut Begin) -> bool {
        let status = Status {
            link: Some(link),
            ..Status::default()
        };
        begin.sink.push(self.status(at, status))
    }

    fn silent(&self, state: &mut Sending, begin: &mut Begin) -> bool {
        if state.is_silent || !state.is_linked {
            return true;
        }
        state.is_silent = true;
        self.link(begin.clock.now(), Link::Silent, begin)
    }

    /// Returns whether anybody still reads.
    fn take(&self, arrived: Arrived, state: &mut Sending, begin: &mut Begin) -> bool {
        let placement = self.placement;
        match arrived {
            Arrived::Readings {
                at,
                first,
                readings,
            } => {
                let arrival = begin.clock.at(at);
                // What was sent before the run isn't part of it.
                let samples = self.samples(first, &readings);
                if arrival < HostTime(0) || samples.is_empty() {
                    return true;
                }
                let was_away = state.is_silent || !state.is_linked;
                (state.is_silent, state.is_linked, state.last) = (false, true, Some(arrival));
                let is_read = !was_away || self.link(arrival, Link::Streaming, begin);
                let packet = Packet { arrival, samples };
                is_read && begin.sink.push(Event::Samples { placement, packet })
            }
            Arrived::Reloaded(at) => {
                let to = begin.clock.at(at);
                (self.tell)(format!("{placement}: the page was loaded anew"));
                let from = state.last.unwrap_or(to);
                let cause = Loss::Restart;
                to < HostTime(0)
                    || begin.sink.push(Event::Gap {
                        placement,
                        from,
                        to,
                        cause,
                    })
            }
            Arrived::Unlinked(at) => {
                state.is_linked = false;
                self.link(begin.clock.at(at), Link::Lost, begin)
            }
            Arrived::Hidden => {
                (self.tell)(format!(
                    "{placement}: the phone's page was hidden, nothing came meanwhile; keep its screen on and leave it alone"
                ));
                true
            }
            Arrived::Echo {
                asked,
                answered,
                page_ms,
            } => self.echo(asked, answered, page_ms, state, begin),
            Arrived::Linked | Arrived::Up(_) => true,
        }
    }

    fn echo(
        &self,
        asked: Instant,
        answered: Instant,
        page_ms: f64,
        state: &mut Sending,
        begin: &mut Begin,
    ) -> bool {
        if state
            .echoed
            .is_some_and(|before| answered.saturating_duration_since(before) < ECHO_EVERY)
        {
            return true;
        }
        state.echoed = Some(answered);
        let at = begin.clock.at(answered);
        let echo = Echo {
            asked: begin.clock.at(asked),
            answered: at,
            device: ticks(page_ms),
        };
        let status = Status {
            echo: Some(echo),
            ..Status::default()
        };
        begin.sink.push(self.status(at, status))
    }

    /// Readings that are whole; others show as missing numbers.
    fn samples(&self, first: u64, readings: &[Raw]) -> Vec<RawSample> {
        let numbered = readings.iter().zip(first..);
        numbered
            .filter_map(|(raw, number)| {
                let accel = accel(raw, self.sign)?;
                let gyro = [raw.4?, raw.5?, raw.6?].map(f64::to_radians);
                let sample = RawSample {
                    sequence: Some(number),
                    device: Some(ticks(raw.0)),
                    accel_m_s2: single(accel),
                    gyro_rad_s: single(gyro),
                };
                let felt = Sample {
                    at: RunTime::ZERO,
                    accel_m_s2: sample.accel_m_s2,
                    gyro_rad_s: sample.gyro_rad_s,
                };
                felt.is_possible().then_some(sample)
            })
            .collect()
    }
}

struct Sending {
    is_linked: bool,
    is_silent: bool,
    /// Last arrival.
    last: Option<HostTime>,
    /// When the page's clock was last recorded.
    echoed: Option<Instant>,
}

fn accel(raw: &Raw, sign: f64) -> Option<[f64; 3]> {
    Some([raw.1?, raw.2?, raw.3?].map(|part| sign * part))
}

fn single(values: [f64; 3]) -> [f32; 3] {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "samples are kept in single precision; what is too large becomes infinite and is left out"
    )]
    values.map(|value| value as f32)
}

/// Milliseconds of a page in ticks.
fn ticks(page_ms: f64) -> DeviceTicks {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a page's clock counts from 0, and reaches 2^53 µs after centuries"
    )]
    let ticks = (page_ms * 1e3).round().clamp(0.0, 9e15) as u64;
    DeviceTicks(ticks)
}

impl Source for Phone {
    fn streams(&self) -> Vec<Stream> {
        vec![Stream {
            placement: self.placement,
            timing: Timing {
                nominal_hz: RATE_HZ,
                counter: Some(Counter {
                    bits: 64,
                    counts: Counts::Samples,
                }),
                ticks: Some(Ticks {
                    bits: 64,
                    tick_s: TICK_S,
                }),
            },
            limits: Some(LIMITS),
            device: Device {
                software: "page 1".to_owned(),
                ..Device::default()
            },
        }]
    }

    fn run(self: Box<Self>, begin: Begin) -> Pin<Box<dyn Future<Output = ()> + Send>> {
        Box::pin(self.send(begin))
    }
}
