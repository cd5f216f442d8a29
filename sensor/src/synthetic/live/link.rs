//! The way of simulated packets to this computer: waits, bursts, losses, and a link that goes down.

use crate::event::{Event, Link, Loss, Packet, Status, Stop};
use crate::{HostTime, Placement, RunTime};

use super::super::random::Random;
use super::super::{Outage, Sending};
use super::sensor::Made;

/// A link is known to be down after so long without an answer, s.
const SUPERVISION_S: f64 = 0.42;
/// A sensor that has fallen silent is given up after so long, s.
const SILENCE_S: f64 = 2.0;
/// Up to so long this computer takes to notice a packet, s.
const WAKE_S: f64 = 0.0003;
/// Packets of one burst lie at least so far apart, ns.
const APART_NS: i64 = 300_000;

/// Carries the packets of a sensor, and tells how it ended.
pub(super) fn carry(
    placement: Placement,
    packets: Vec<Made>,
    sending: &Sending,
    events: &mut Vec<Event>,
) {
    let last_s = packets.last().map_or(0.0, |made| made.last.s());
    let mut arrived = arrive(placement, packets, sending);
    disturb(placement, sending, &mut arrived);
    let mut listener = Listener {
        placement,
        drops: &sending.drops,
        last: HostTime(0),
        events,
    };
    for one in arrived {
        listener.hear(one);
    }
    listener.end(last_s, sending);
}

/// A packet that has come.
struct Arrived {
    at: HostTime,
    made: Made,
}

/// When each packet comes, in order: the radio repeats what was not acknowledged.
fn arrive(placement: Placement, packets: Vec<Made>, sending: &Sending) -> Vec<Arrived> {
    let mut random = Random::new(sending.seed, 0x0660 + placement as u64);
    let phase_s = random.between(0.0, sending.burst_s);
    let (mut free_s, mut before) = (0.0_f64, HostTime(0));
    let mut arrived = Vec::with_capacity(packets.len());
    for made in packets {
        let mut ready_s = made.last.s() + sending.delay_s + random.between(0.0, sending.jitter_s);
        if random.chance(sending.stall_share) {
            free_s = ready_s + random.between(0.1, 1.0) * sending.stall_s;
        }
        ready_s = ready_s.max(free_s);
        let at_s = if sending.burst_s > 0.0 {
            phase_s + ((ready_s - phase_s) / sending.burst_s).ceil() * sending.burst_s
        } else {
            ready_s
        };
        let woken_s = random.between(0.0, WAKE_S);
        let at = HostTime(ns(at_s + woken_s).max(before.0 + APART_NS));
        before = at;
        arrived.push(Arrived { at, made });
    }
    arrived
}

/// Loses, repeats and swaps packets.
fn disturb(placement: Placement, sending: &Sending, arrived: &mut Vec<Arrived>) {
    let mut random = Random::new(sending.seed, 0x0630 + placement as u64);
    let (mut is_first, mut tells_restart) = (true, false);
    arrived.retain_mut(|one| {
        // The first one comes: it is what the others are counted from.
        let stays = !random.chance(sending.lost_share) || is_first;
        is_first = false;
        one.made.tells_restart |= tells_restart;
        tells_restart = one.made.tells_restart && !stays;
        stays
    });
    let mut random = Random::new(sending.seed, 0x0640 + placement as u64);
    let mut at = 1;
    while at + 1 < arrived.len() {
        // What tells of a restart isn't overtaken: it is said when the link is set up again.
        if random.chance(sending.late_share) && !arrived[at + 1].made.tells_restart {
            let (front, back) = arrived.split_at_mut(at + 1);
            std::mem::swap(&mut front[at].made.samples, &mut back[0].made.samples);
            at += 1;
        }
        at += 1;
    }
    let mut random = Random::new(sending.seed, 0x0650 + placement as u64);
    let mut all = Vec::with_capacity(arrived.len());
    for one in arrived.drain(..) {
        let again = random
            .chance(sending.repeated_share)
            .then(|| one.made.samples.clone());
        let (at, last) = (HostTime(one.at.0 + APART_NS / 2), one.made.last);
        all.push(one);
        all.extend(again.map(|samples| Arrived {
            at,
            made: Made {
                last,
                samples,
                tells_restart: false,
            },
        }));
    }
    *arrived = all;
}

/// What this computer notices.
struct Listener<'a> {
    placement: Placement,
    /// Those still to come.
    drops: &'a [Outage],
    /// The latest arrival.
    last: HostTime,
    events: &'a mut Vec<Event>,
}

impl Listener<'_> {
    fn hear(&mut self, one: Arrived) {
        while let Some((drop, rest)) = self.drops.split_first()
            && ns(drop.from_s) <= one.at.0
        {
            if one.at.0 < ns(drop.to_s) {
                return;
            }
            self.drops = rest;
            self.status(ns(drop.from_s + SUPERVISION_S).min(one.at.0), Link::Lost);
            self.gap(one.at, Loss::Link);
            self.status(one.at.0, Link::Streaming);
        }
        if one.made.tells_restart {
            self.gap(one.at, Loss::Restart);
        }
        self.last = one.at;
        self.events.push(Event::Samples {
            placement: self.placement,
            packet: Packet {
                arrival: one.at,
                samples: one.made.samples,
            },
        });
    }

    /// After its last packet, which was made at `last_s`.
    fn end(&mut self, last_s: f64, sending: &Sending) {
        let (after_s, reason) = if let Some(drop) = self.drops.first()
            && drop.from_s <= last_s
        {
            let at_s = drop.from_s + SUPERVISION_S;
            self.status(ns(at_s), Link::Lost);
            (at_s + SILENCE_S, Stop::Lost)
        } else if sending.battery_s.is_some_and(|s| s <= last_s + 1.0) {
            self.status(self.last.0 + ns(SUPERVISION_S), Link::Silent);
            (self.last.s() + SILENCE_S, Stop::Battery)
        } else {
            (0.0, Stop::Finished)
        };
        self.events.push(Event::Ended {
            placement: self.placement,
            at: HostTime(ns(after_s).max(self.last.0 + 1)),
            reason,
        });
    }

    fn gap(&mut self, to: HostTime, cause: Loss) {
        self.events.push(Event::Gap {
            placement: self.placement,
            from: self.last,
            to,
            cause,
        });
    }

    fn status(&mut self, at_ns: i64, link: Link) {
        self.events.push(Event::Status {
            placement: self.placement,
            at: HostTime(at_ns),
            status: Status {
                link: Some(link),
                ..Status::default()
            },
        });
    }
}

fn ns(s: f64) -> i64 {
    RunTime::from_s(s).map_or(0, RunTime::ns)
}
