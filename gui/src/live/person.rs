//! An invented person as a live source: the events of a simulated run, each at its time or as fast as they are taken.

use std::future::Future;
use std::path::Path;
use std::pin::Pin;

use sensor::bids::{FindError, read_run, search};
use sensor::live::{Begin, Source};
use sensor::synthetic::{
    FlatPlan, RaisePlan, Scenario, Sending, live_events, simulate, simulate_flat,
};
use sensor::{
    Event, Face, Heading, HostTime, Mark, Placement, RUN_S_MAX, Run, RunTime, Sample, Side, Stop,
    Stream,
};

use super::plan::{Plan, Task};
use crate::error::CommandError;
use crate::selector::{Asked, Kind, Selector, Synthetic};

/// Without an end in sight, an invented person goes on for so long, s.
const LONG_S: f64 = 1800.0;
/// So much is simulated, s; after that the same comes again.
const ROUND_S: f64 = 120.0;

/// All sensors of one invented person, or of one recording played again.
pub(crate) struct Person {
    heading: Heading,
    events: Vec<Event>,
    is_fast: bool,
}

/// The invented person of a plan, or the recording it plays again; and whether it comes at once.
pub(super) fn person(plan: &Plan) -> Result<Option<(Person, bool)>, CommandError> {
    let is_here = |a: &&Asked| matches!(a.selector, Selector::Synthetic(_) | Selector::File(..));
    let asked: Vec<&Asked> = plan.sources.iter().filter(is_here).collect();
    let Some(first) = asked.first() else {
        return Ok(None);
    };
    let placements: Vec<Placement> = asked.iter().map(|a| a.placement).collect();
    let mut run = match &first.selector {
        Selector::File(path, _) => recorded(path)?,
        Selector::Synthetic(person) if plan.task != Task::Raises => lying(&placements, person),
        Selector::Synthetic(person) => {
            let seconds = plan.seconds.map_or(LONG_S, f64::from).min(RUN_S_MAX);
            let round = scenario(&placements, person, seconds.min(ROUND_S));
            prolonged(simulate(&round).run, seconds)
        }
        Selector::Ble(_) | Selector::Phone => return Ok(None),
    };
    let has = |placement| run.tracks.iter().any(|t| t.placement == Some(placement));
    if let Some(missing) = placements.iter().find(|p| !has(**p)) {
        return Err(CommandError::NotRecorded(*missing, run.id.to_string()));
    }
    run.tracks
        .retain(|track| track.placement.is_some_and(|p| placements.contains(&p)));
    let is_fast = first.selector.is_fast();
    let (heading, events) = sent(&run, &asked);
    Ok(Some((Person::new(heading, events, is_fast), is_fast)))
}

/// What comes of a run, each sensor sending as it is told.
fn sent(run: &Run, asked: &[&Asked]) -> (Heading, Vec<Event>) {
    let (mut heading, mut events) = (Heading::default(), Vec::new());
    for (number, one) in asked.iter().enumerate() {
        let sending = match &one.selector {
            Selector::Synthetic(person) => person.sending.clone(),
            _ => Sending::plain(),
        };
        let mut alone = run.clone();
        alone
            .tracks
            .retain(|track| track.placement == Some(one.placement));
        if 0 < number {
            alone.marks.clear();
        }
        let (its_heading, its_events) = live_events(&alone, &sending);
        heading.streams.extend(its_heading.streams);
        events.extend(its_events);
    }
    events.sort_by_key(Event::at);
    (heading, events)
}

/// A recording that is played again.
fn recorded(path: &Path) -> Result<Run, CommandError> {
    let found = search(path)?.runs;
    let first = found.first().ok_or_else(|| FindError::NothingHere {
        path: path.to_owned(),
    })?;
    Ok(read_run(first)?.run)
}

/// The run again and again until it is long enough.
fn prolonged(mut run: Run, seconds: f64) -> Run {
    let newest = run
        .tracks
        .iter()
        .filter_map(|t| Some((t.samples.last()?.at, t.rate_hz)));
    // The next round begins one sample after the last of this one.
    let length_s = newest
        .map(|(at, rate_hz)| at.s() + rate_hz.recip())
        .fold(0.0, f64::max);
    let (marks, mut shift_s) = (run.marks.clone(), length_s);
    let rounds: Vec<Vec<Sample>> = run.tracks.iter().map(|t| t.samples.clone()).collect();
    let later = |at: RunTime, shift_s: f64| {
        RunTime::from_ns(at.ns() + RunTime::from_s(shift_s).map_or(0, RunTime::ns))
    };
    while 0.0 < length_s && shift_s < seconds {
        for (track, round) in run.tracks.iter_mut().zip(&rounds) {
            let again = |s: &Sample| Sample {
                at: later(s.at, shift_s),
                ..*s
            };
            track.samples.extend(round.iter().map(again));
            track.stamps.clear();
        }
        let again = |m: &Mark| Mark {
            at: later(m.at, shift_s),
            ..m.clone()
        };
        run.marks.extend(marks.iter().map(again));
        shift_s += length_s;
    }
    run
}

/// The units of an invented person on a table, face after face.
fn lying(placements: &[Placement], person: &Synthetic) -> Run {
    let scenario = scenario(placements, person, 0.0);
    simulate_flat(&scenario, &FlatPlan::of(Face::ALL.to_vec()))
}

/// The person with these sensors, who goes on raising the leg for so long.
fn scenario(placements: &[Placement], person: &Synthetic, seconds: f64) -> Scenario {
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
    scenario.rate_hz = person.rate_hz();
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

impl Person {
    fn new(heading: Heading, events: Vec<Event>, is_fast: bool) -> Self {
        Self {
            heading,
            events,
            is_fast,
        }
    }

    async fn send(self, begin: Begin) {
        let Begin {
            clock,
            mut sink,
            stop,
        } = begin;
        let mut ended: Vec<Placement> = Vec::new();
        for event in self.events {
            if self.is_fast {
                if stop.is_cancelled() {
                    break;
                }
            } else {
                let due = tokio::time::sleep_until(clock.instant(event.at()).into());
                if stop.run_until_cancelled(due).await.is_none() {
                    break;
                }
            }
            if let Event::Ended { placement, .. } = event {
                ended.push(placement);
            }
            if !sink.send(event).await {
                return;
            }
        }
        let at = if self.is_fast {
            HostTime(0)
        } else {
            clock.now()
        };
        for stream in &self.heading.streams {
            if !ended.contains(&stream.placement) {
                let reason = Stop::Asked;
                let placement = stream.placement;
                sink.send(Event::Ended {
                    placement,
                    at,
                    reason,
                })
                .await;
            }
        }
    }
}

impl Source for Person {
    fn streams(&self) -> Vec<Stream> {
        self.heading.streams.clone()
    }

    fn run(self: Box<Self>, begin: Begin) -> Pin<Box<dyn Future<Output = ()> + Send>> {
        Box::pin(self.send(begin))
    }
}
