//! The clocks of all sensors, and what is made of their samples at once.

use fusion::{Agreement, Reading, SelfCheck, Settings, Trial};
use sensor::{
    ClockMap, ClockReport, Event, Heading, HostTime, MarkKind, Placement, Sample, Stream, Timing,
    WITHDRAWN,
};

/// Follows a run as it happens.
pub(crate) struct Follow {
    trial: Trial,
    clocks: Vec<Clock>,
    /// Arrival of the run's first packet.
    origin: Option<HostTime>,
    samples: Vec<Sample>,
}

struct Clock {
    placement: Placement,
    timing: Timing,
    map: Option<ClockMap>,
    check: SelfCheck,
}

impl Follow {
    pub(crate) fn new(heading: &Heading) -> Self {
        let sensors: Vec<_> = heading
            .streams
            .iter()
            .map(|stream| (stream.placement, stream.timing.nominal_hz, stream.limits))
            .collect();
        let clock = |stream: &Stream| Clock {
            placement: stream.placement,
            timing: stream.timing,
            map: None,
            check: SelfCheck::default(),
        };
        Self {
            trial: Trial::new(&sensors, &Settings::default()),
            clocks: heading.streams.iter().map(clock).collect(),
            origin: None,
            samples: Vec::new(),
        }
    }

    /// What can be said after an event. [`Follow::samples`] are then those of its packet.
    pub(crate) fn take(&mut self, event: &Event) -> Option<Reading> {
        self.samples.clear();
        if let Event::Mark {
            kind: MarkKind::Note,
            value,
            ..
        } = event
            && value == WITHDRAWN
        {
            self.trial.withdraw();
        } else if let Event::Mark { at, kind, side, .. } = event {
            self.trial.mark(*kind, *side, self.run_s(*at));
        }
        let placement = event.placement()?;
        let clock = self.clocks.iter_mut().find(|c| c.placement == placement)?;
        match event {
            Event::Samples { packet, .. } => {
                let origin = *self.origin.get_or_insert(packet.arrival);
                clock
                    .map
                    .get_or_insert_with(|| ClockMap::new(&clock.timing, origin))
                    .push(packet, &mut self.samples);
                clock.check.push(&self.samples);
                self.trial.push(placement, &self.samples)
            }
            Event::Gap { cause, .. } => {
                if let Some(map) = &mut clock.map {
                    map.lost(*cause);
                }
                None
            }
            _ => None,
        }
    }

    /// The samples of the last event, on the run's clock.
    pub(crate) fn samples(&self) -> &[Sample] {
        &self.samples
    }

    /// How the clock of a sensor does; `None` before its first packet.
    pub(crate) fn report(&self, placement: Placement) -> Option<ClockReport> {
        let clock = self.clocks.iter().find(|c| c.placement == placement)?;
        clock.map.as_ref().map(ClockMap::report)
    }

    /// Whether the unit of a place agrees with itself.
    pub(crate) fn agreement(&self, placement: Placement) -> Agreement {
        let clock = self.clocks.iter().find(|c| c.placement == placement);
        clock.map_or_else(Agreement::default, |clock| clock.check.shown())
    }

    /// Seconds since the run's first packet; 0 before it.
    pub(crate) fn run_s(&self, at: HostTime) -> f64 {
        self.origin.map_or(0.0, |origin| at.since(origin).s())
    }
}
