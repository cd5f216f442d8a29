//! A simulated run as the raw events a live source would have sent.

mod link;
mod sensor;

#[cfg(test)]
mod tests;

use crate::event::Event;
use crate::{Counter, Counts, Heading, HostTime, Placement, Run, Stream, Ticks, Timing, Track};

use super::Sending;

/// Sends a run. What comes of a sensor depends on its own track, its place and the `Sending` alone, so that
/// the sensors of a run may send differently. The same run gives the same events, sorted by their arrival.
pub fn live_events(run: &Run, sending: &Sending) -> (Heading, Vec<Event>) {
    let placed: Vec<(Placement, &Track)> = run
        .tracks
        .iter()
        .filter_map(|track| Some((track.placement?, track)))
        .collect();
    let mut events = Vec::new();
    for &(placement, track) in &placed {
        let packets = sensor::packets(placement, track, sending);
        link::carry(placement, packets, sending, &mut events);
    }
    events.extend(run.marks.iter().map(|mark| Event::Mark {
        at: HostTime(mark.at.ns()),
        kind: mark.kind,
        side: mark.side,
        value: mark.value.clone(),
    }));
    events.sort_by_key(Event::at);
    let heading = Heading {
        id: run.id.clone(),
        acquired: run.acquired.clone(),
        conditions: run.conditions.clone(),
        streams: placed
            .iter()
            .map(|&(placement, track)| stream(placement, track, sending))
            .collect(),
    };
    (heading, events)
}

fn stream(placement: Placement, track: &Track, sending: &Sending) -> Stream {
    Stream {
        placement,
        timing: Timing {
            nominal_hz: track.rate_hz / (1.0 + sending.rate_error),
            counter: sending.has_counter.then_some(Counter {
                bits: sensor::COUNTER_BITS,
                counts: Counts::Samples,
            }),
            ticks: sending.clock.map(|_| Ticks {
                bits: sensor::CLOCK_BITS,
                tick_s: sensor::TICK_S,
            }),
        },
        limits: track.limits,
        device: track.device.clone(),
    }
}
