//! `legraise live`: provisional readings while a leg is raised, and a record of the run.

mod keep;
mod pace;
mod show;

use std::io::Write;

use fusion::{Settings, Trial};
use sensor::synthetic::{RaisePlan, Scenario, Sending, live_events, simulate};
use sensor::{ClockMap, Event, Heading, HostTime, Placement, Sample, Side, Stop};

use crate::args::LiveArgs;
use crate::error::{CommandError, Exit};
use crate::selector::{Kind, Synthetic, sources};
use keep::Keeper;
use pace::Pace;
use show::Show;

/// Streams readings until the time is over or nobody reads them any more; what came is recorded in any case.
pub(crate) fn run(
    args: &LiveArgs,
    out: &mut dyn Write,
    err: &mut dyn Write,
    is_watched: bool,
) -> Result<Exit, CommandError> {
    let (placements, person) = sources(&args.sources)?;
    let scenario = scenario(&placements, person, f64::from(args.seconds));
    let (mut heading, events) = live_events(&simulate(&scenario).run, &Sending::usual());
    let mut keeper = match &args.data {
        Some(root) => Some(Keeper::create(root, &mut heading)?),
        None => None,
    };
    let pace = Pace::new(person.is_fast);
    let mut show = Show::new(out, args.json, is_watched);
    let mut live = Live::new(&heading);
    let end = HostTime(i64::from(args.seconds) * 1_000_000_000);
    let mut shown = Ok(());
    let mut now = HostTime(0);
    for event in events.into_iter().take_while(|event| event.at() < end) {
        pace.until(event.at(), |now| {
            if let Some(keeper) = &mut keeper {
                keeper.tick(now, err);
            }
        });
        now = event.at();
        let reading = live.take(&event);
        if let Some(keeper) = &mut keeper {
            keeper.keep(event, err);
        }
        shown = reading.map_or(Ok(()), |reading| show.reading(&reading));
        if shown.is_err() {
            break;
        }
    }
    let shown = shown
        .and_then(|()| show.end())
        .map_err(CommandError::Output);
    if let Some(mut keeper) = keeper {
        for stream in &heading.streams {
            let ended = Event::Ended {
                placement: stream.placement,
                at: now,
                reason: Stop::Asked,
            };
            keeper.keep(ended, err);
        }
        keeper.finish(&heading, err)?;
    }
    match shown {
        Err(e) if e.is_closed_pipe() => Ok(Exit::Done),
        shown => shown.map(|()| Exit::Done),
    }
}

/// The person with these sensors, who goes on raising the leg for so long.
fn scenario(placements: &[Placement], person: Synthetic, seconds: f64) -> Scenario {
    let mut scenario = match person.kind {
        Kind::Slow => Scenario::slow(person.seed),
        Kind::Brisk => Scenario::brisk(person.seed),
        Kind::Compensating => Scenario::compensating(person.seed),
    };
    let shins = |side: &Side| placements.iter().position(|p| *p == Placement::shin(*side));
    let shin = Side::ALL
        .into_iter()
        .filter(|side| shins(side).is_some())
        .min_by_key(shins);
    scenario.side = shin.unwrap_or(scenario.side);
    scenario.sensors = placements.to_vec();
    let length_s = |plan: &RaisePlan| plan.rest_before_s + plan.up_s + plan.hold_s + plan.down_s;
    let once = scenario.raises.clone();
    let mut total_s: f64 = once.iter().map(length_s).sum();
    // What a raise does to the rest after it is undone the next time, so that the leg doesn't wander off.
    let mut sign = 1.0;
    while total_s < seconds && !once.is_empty() {
        sign = -sign;
        for plan in &once {
            scenario.raises.push(RaisePlan {
                rest_step_deg: sign * plan.rest_step_deg,
                rest_turn_deg: sign * plan.rest_turn_deg,
                ..*plan
            });
            total_s += length_s(plan).max(0.1);
        }
    }
    scenario
}

/// The clocks of all sensors, and what is made of their samples.
struct Live {
    trial: Trial,
    clocks: Vec<(Placement, Option<ClockMap>, sensor::Timing)>,
    /// Arrival of the run's first packet.
    origin: Option<HostTime>,
    samples: Vec<Sample>,
}

impl Live {
    fn new(heading: &Heading) -> Self {
        let sensors: Vec<_> = heading
            .streams
            .iter()
            .map(|stream| (stream.placement, stream.timing.nominal_hz, stream.limits))
            .collect();
        let clock = |stream: &sensor::Stream| (stream.placement, None, stream.timing);
        Self {
            trial: Trial::new(&sensors, &Settings::default()),
            clocks: heading.streams.iter().map(clock).collect(),
            origin: None,
            samples: Vec::new(),
        }
    }

    /// What can be said after an event.
    fn take(&mut self, event: &Event) -> Option<fusion::Reading> {
        let placement = event.placement()?;
        let (_, clock, timing) = self.clocks.iter_mut().find(|(p, ..)| *p == placement)?;
        match event {
            Event::Samples { packet, .. } => {
                let origin = *self.origin.get_or_insert(packet.arrival);
                self.samples.clear();
                clock
                    .get_or_insert_with(|| ClockMap::new(timing, origin))
                    .push(packet, &mut self.samples);
                self.trial.push(placement, &self.samples)
            }
            Event::Gap { cause, .. } => {
                if let Some(clock) = clock {
                    clock.lost(*cause);
                }
                None
            }
            _ => None,
        }
    }
}
