//! How each sensor does: what a person must see before believing its numbers.

use std::collections::VecDeque;

use fusion::Agreement;
use sensor::{Event, Heading, HostTime, Link, Placement, Status, Stream};

use super::follow::Follow;

/// The rate shown is that of the last seconds.
const RATE_NS: i64 = 2_000_000_000;
/// A sensor that sent nothing for so long is silent.
const SILENT_NS: i64 = 500_000_000;
/// Packets kept for the rate.
const PACKETS_MAX: usize = 4096;

/// How a sensor does now.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Health {
    /// Which.
    pub(crate) placement: Placement,
    /// Samples received a second, of late.
    pub(crate) rate_hz: f64,
    /// As the sensor says it.
    pub(crate) nominal_hz: f64,
    /// Samples that did not come, since the run began; `None` where gaps can't be seen.
    pub(crate) lost_count: Option<u64>,
    /// Samples that came.
    pub(crate) sample_count: u64,
    /// State of its link.
    pub(crate) link: Link,
    /// Charge, percent.
    pub(crate) battery_percent: Option<u8>,
    /// Strength of the signal, dBm.
    pub(crate) signal_dbm: Option<i16>,
    /// Whether it agrees with itself.
    pub(crate) agreement: Agreement,
}

/// Watches all sensors of a run.
pub(crate) struct Watch {
    sensors: Vec<Sensor>,
}

struct Sensor {
    placement: Placement,
    nominal_hz: f64,
    /// Arrival and size of the last packets.
    packets: VecDeque<(HostTime, usize)>,
    last: Status,
}

impl Watch {
    pub(crate) fn new(heading: &Heading) -> Self {
        let sensor = |stream: &Stream| Sensor {
            placement: stream.placement,
            nominal_hz: stream.timing.nominal_hz,
            packets: VecDeque::new(),
            last: Status::default(),
        };
        Self {
            sensors: heading.streams.iter().map(sensor).collect(),
        }
    }

    /// Takes an event.
    pub(crate) fn take(&mut self, event: &Event) {
        let place = event.placement();
        let Some(sensor) = self.sensors.iter_mut().find(|s| Some(s.placement) == place) else {
            return;
        };
        match event {
            Event::Samples { packet, .. } => {
                if sensor.packets.len() == PACKETS_MAX {
                    sensor.packets.pop_front();
                }
                sensor
                    .packets
                    .push_back((packet.arrival, packet.samples.len()));
                sensor.last.link = Some(Link::Streaming);
            }
            Event::Status { status, .. } => {
                let last = &mut sensor.last;
                last.battery_percent = status.battery_percent.or(last.battery_percent);
                last.signal_dbm = status.signal_dbm.or(last.signal_dbm);
                last.link = status.link.or(last.link);
            }
            Event::Ended { .. } => sensor.last.link = Some(Link::Lost),
            Event::Gap { .. } | Event::Mark { .. } => {}
        }
    }

    /// How all do now.
    pub(crate) fn now(&mut self, now: HostTime, follow: &Follow) -> Vec<Health> {
        let health = |sensor: &mut Sensor| sensor.health(now, follow);
        self.sensors.iter_mut().map(health).collect()
    }
}

impl Sensor {
    fn health(&mut self, now: HostTime, follow: &Follow) -> Health {
        let is_old = |(arrival, _): &(HostTime, usize)| RATE_NS < now.0 - arrival.0;
        while self.packets.front().is_some_and(is_old) {
            self.packets.pop_front();
        }
        let report = follow.report(self.placement).unwrap_or_default();
        let newest = self.packets.back().map_or(i64::MIN, |(at, _)| at.0);
        let link = match self.last.link {
            None => Link::Connecting,
            Some(Link::Streaming) if newest < now.0.saturating_sub(SILENT_NS) => Link::Silent,
            Some(link) => link,
        };
        Health {
            placement: self.placement,
            rate_hz: self.rate_hz(),
            nominal_hz: self.nominal_hz,
            lost_count: report.lost_count,
            sample_count: report.sample_count,
            link,
            battery_percent: self.last.battery_percent,
            signal_dbm: self.last.signal_dbm,
            agreement: follow.agreement(self.placement),
        }
    }

    /// Of the packets that are kept, the first of which only says when the count begins.
    fn rate_hz(&self) -> f64 {
        let ends = self.packets.front().zip(self.packets.back());
        let span_s = ends.map_or(0.0, |((first, _), (last, _))| last.s() - first.s());
        let samples: usize = self.packets.iter().skip(1).map(|(_, count)| count).sum();
        if 0.0 < span_s {
            samples as f64 / span_s
        } else {
            0.0
        }
    }
}

#[cfg(test)]
mod tests {
    use sensor::synthetic::{Scenario, Sending, live_events, simulate};

    use super::*;

    #[test]
    fn a_sensor_streams_at_its_rate_and_then_falls_silent() {
        let (heading, events) = live_events(&simulate(&Scenario::slow(1)).run, &Sending::usual());
        let (mut watch, mut follow) = (Watch::new(&heading), Follow::new(&heading));
        assert_eq!(watch.now(HostTime(0), &follow)[0].link, Link::Connecting);
        let mut now = HostTime(0);
        for event in events.iter().take_while(|e| e.at().s() < 5.0) {
            now = event.at();
            follow.take(event);
            watch.take(event);
        }
        for health in watch.now(now, &follow) {
            assert_eq!((health.link, health.lost_count), (Link::Streaming, Some(0)));
            let off = health.rate_hz / health.nominal_hz - 1.0;
            assert!(off.abs() < 0.05, "{health:?}");
        }
        let later = HostTime(now.0 + SILENT_NS + 200_000_000);
        assert_eq!(watch.now(later, &follow)[0].link, Link::Silent);
    }
}
