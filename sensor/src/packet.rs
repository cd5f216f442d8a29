//! From bytes to raw samples, by a profile. It does no IO: whoever has bytes pushes them.
//!
//! Numbers are SI and in body axes. Counter and clock are given unwrapped, for messages and to join
//! streams, and as they came ([`DecodedSample::raw`]), for journals and the mapping of clocks. Damage
//! never stops it: each fault is told, counted and left out, and shows as a gap in `sequence`.

mod fault;
mod frame;
mod join;
mod order;
mod sample;
mod take;
mod unwrap;

#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_layouts;
#[cfg(test)]
mod tests_open;

use std::collections::BTreeMap;

use crate::profile::{ChannelKind, Factor, Field, Profile, ReadFault, Uuid};
use crate::{Counter, DeviceTicks, HostTime, Ticks, Timing};

pub use fault::{Fact, LengthWanted, PacketFault, RestartCause, Tally};
pub use sample::DecodedSample;

use frame::{Cut, FrameReader};
use join::Joiner;
use order::{Order, StreamOrder};
use sample::{checked, is_half, is_possible, key_s, raw_counter, single};
use take::{Packet, tick_s};

/// What comes out of bytes, in order.
#[derive(Clone, Debug, PartialEq)]
pub enum Decoded {
    /// A reading.
    Sample(DecodedSample),
    /// Something the packets tell about those that follow.
    Fact(Fact),
    /// Bytes that were left out.
    Fault(PacketFault),
}

/// Decodes what one device sends.
#[derive(Clone, Debug)]
pub struct Decoder {
    profile: Profile,
    rate_hz: f64,
    values: BTreeMap<String, f64>,
    orders: Vec<StreamOrder>,
    readers: BTreeMap<Uuid, FrameReader>,
    joiner: Joiner,
    segment: u32,
    tally: Tally,
}

impl Decoder {
    /// For a device of this kind that was told to sample at `rate_hz`.
    pub fn new(profile: Profile, rate_hz: f64) -> Self {
        let orders = profile.streams.iter().map(StreamOrder::new).collect();
        Self {
            profile,
            rate_hz,
            values: BTreeMap::new(),
            orders,
            readers: BTreeMap::new(),
            joiner: Joiner::default(),
            segment: 0,
            tally: Tally::default(),
        }
    }

    /// The profile it decodes by.
    pub fn profile(&self) -> &Profile {
        &self.profile
    }

    /// What was met so far.
    pub fn tally(&self) -> &Tally {
        &self.tally
    }

    /// Names of values that must be read from the device before its packets mean something.
    pub fn unread(&self) -> Vec<&str> {
        let names = self.profile.reads.iter().map(|read| read.name.as_str());
        names
            .filter(|name| !self.values.contains_key(*name))
            .collect()
    }

    /// What places its samples in time; `None` while the tick must still be read from the device.
    /// Where acc and gyro come apart, samples stand at the times of acc.
    pub fn timing(&self) -> Option<Timing> {
        let mut streams = self.profile.streams.iter();
        let stream = streams.find(|stream| stream.has(ChannelKind::Acc))?;
        let bits = |field: Field| u8::try_from(field.bits()).unwrap_or(u8::MAX);
        let ticks = stream.clock.as_ref().map(|clock| {
            tick_s(clock, &self.values).map(|tick_s| Ticks {
                bits: bits(clock.field),
                tick_s,
            })
        });
        Some(Timing {
            nominal_hz: self.rate_hz,
            counter: stream.counter.map(|counter| Counter {
                bits: bits(counter.field),
                counts: counter.counts,
            }),
            ticks: ticks.transpose().ok()?,
        })
    }

    /// Seconds a tick of the device's clock; `None` without a clock, or before it was read.
    pub fn tick_s(&self) -> Option<f64> {
        Some(self.timing()?.ticks?.tick_s)
    }

    /// Takes a value that was read from a characteristic. Returns how many names it gave; none, if
    /// the profile reads nothing there. Either all of its names are taken or none.
    pub fn push_read(&mut self, from: Uuid, bytes: &[u8]) -> Result<usize, ReadFault> {
        let mut found = Vec::new();
        for read in self.profile.reads.iter().filter(|read| read.from == from) {
            found.push((read.name.clone(), read.value(bytes)?));
        }
        let count = found.len();
        self.values.extend(found);
        Ok(count)
    }

    /// Takes a notification.
    pub fn push(
        &mut self,
        from: Uuid,
        arrival: Option<HostTime>,
        bytes: &[u8],
        out: &mut Vec<Decoded>,
    ) {
        let before = out.len();
        let of_it = self
            .profile
            .streams
            .iter()
            .find(|stream| stream.from == from);
        match of_it.map(|stream| stream.frame.clone()) {
            None => out.push(Decoded::Fault(PacketFault::Characteristic { from })),
            Some(None) => self.packet(from, arrival, bytes, out),
            Some(Some(frame)) => {
                let mut cuts = Vec::new();
                self.readers
                    .entry(from)
                    .or_default()
                    .push(&frame, bytes, &mut cuts);
                for cut in cuts {
                    match cut {
                        Cut::Frame(bytes) => self.packet(from, arrival, &bytes, out),
                        Cut::Fault(fault) => out.push(Decoded::Fault(fault)),
                    }
                }
            }
        }
        self.count(&out[before..]);
    }

    /// To be called when the link was lost and is there again: half packets are forgotten, and a new
    /// segment begins.
    pub fn reconnect(&mut self, out: &mut Vec<Decoded>) {
        let before = out.len();
        self.flush(out);
        self.readers.clear();
        if self.orders.iter().any(StreamOrder::has_begun) {
            self.restart(RestartCause::Link, out);
        }
        self.count(&out[before..]);
    }

    /// Gives what waits for its other half, at the end.
    pub fn finish(&mut self, out: &mut Vec<Decoded>) {
        let before = out.len();
        self.flush(out);
        self.count(&out[before..]);
    }

    fn flush(&mut self, out: &mut Vec<Decoded>) {
        if let Some(pair) = self.profile.pair {
            self.joiner.drain(&pair, self.rate_hz, true, out);
        }
    }

    fn count(&mut self, found: &[Decoded]) {
        for one in found {
            self.tally.add(one);
        }
    }

    fn restart(&mut self, cause: RestartCause, out: &mut Vec<Decoded>) {
        self.flush(out);
        self.orders.iter_mut().for_each(StreamOrder::forget);
        self.joiner = Joiner::default();
        self.segment = self.segment.saturating_add(1);
        out.push(Decoded::Fact(Fact::Restarted { cause }));
    }

    /// One whole packet.
    fn packet(
        &mut self,
        from: Uuid,
        arrival: Option<HostTime>,
        bytes: &[u8],
        out: &mut Vec<Decoded>,
    ) {
        self.tally.packets += 1;
        let streams = self.profile.streams.iter().enumerate();
        let mut streams = streams.filter(|(_, stream)| stream.from == from);
        let Some((place, stream)) = streams.find(|(_, stream)| take::is_of_kind(stream, bytes))
        else {
            out.push(Decoded::Fault(PacketFault::Kind { bytes: bytes.len() }));
            return;
        };
        let taken = take::take(stream, &self.values, bytes);
        let tick_s = stream
            .clock
            .as_ref()
            .and_then(|clock| tick_s(clock, &self.values).ok());
        let packet = match taken {
            Ok(packet) => packet,
            Err(fault) => {
                out.push(Decoded::Fault(fault));
                return;
            }
        };
        if packet.is_restart && self.orders.iter().any(StreamOrder::has_begun) {
            self.restart(RestartCause::Flag, out);
        }
        let order = match self.place_in_order(place, &packet, arrival, tick_s) {
            Ok(order) => order,
            Err(cause) => {
                self.restart(cause, out);
                // Nothing is known of what was before, so that this can't fail again.
                match self.place_in_order(place, &packet, arrival, tick_s) {
                    Ok(order) => order,
                    Err(_) => return,
                }
            }
        };
        self.give(place, &packet, &order, tick_s, arrival, out);
    }

    /// Where a packet stands among those before it, or why the device must have begun anew.
    fn place_in_order(
        &mut self,
        place: usize,
        packet: &Packet,
        arrival: Option<HostTime>,
        tick_s: Option<f64>,
    ) -> Result<Order, RestartCause> {
        let by = self.profile.pair.map(|pair| pair.by);
        let others = self.orders.iter().enumerate();
        let partner = others.filter(|(other, _)| *other != place && by.is_some());
        let partner = partner.map(|(_, order)| order.last()).next_back();
        self.orders[place].step(packet, arrival, self.rate_hz, tick_s, partner.as_ref())
    }

    fn give(
        &mut self,
        place: usize,
        packet: &Packet,
        order: &Order,
        tick_s: Option<f64>,
        arrival: Option<HostTime>,
        out: &mut Vec<Decoded>,
    ) {
        if order.is_repeated {
            out.push(Decoded::Fact(Fact::Repeated));
            return;
        }
        let facts = [
            (order.missing > 0).then_some(Fact::Missing {
                samples: order.missing,
            }),
            packet.has_lost.then_some(Fact::LostInside),
            packet.is_at_full_scale.then_some(Fact::FullScale),
        ];
        out.extend(facts.into_iter().flatten().map(Decoded::Fact));
        let pair = self.profile.pair;
        let stream = &self.profile.streams[place];
        for (number, motion) in packet.samples.iter().enumerate() {
            let sample = DecodedSample {
                segment: self.segment,
                sequence: order.sequence.map(|first| first + number as u64),
                device_ticks: order.ticks.get(number).copied(),
                raw_counter: raw_counter(stream, packet, number),
                raw_stamp: packet
                    .clock
                    .filter(|_| number == order.stamped)
                    .map(DeviceTicks),
                arrival,
                accel_m_s2: single(motion.accel),
                gyro_rad_s: single(motion.gyro),
                is_at_full_scale: motion.is_at_full_scale,
                battery_percent: motion.battery_percent,
                temperature_c: motion.temperature_c,
            };
            match pair.filter(|_| is_half(stream)) {
                None => out.push(checked(sample, stream)),
                Some(pair) => {
                    let after = packet.samples.len() - 1 - number;
                    let at_s = key_s(&pair, &sample, tick_s, self.rate_hz, after);
                    self.joiner.push(at_s, sample, motion, out);
                }
            }
        }
        if let Some(pair) = pair {
            self.joiner.drain(&pair, self.rate_hz, false, out);
        }
    }
}

/// The value of a number or of a name that was read.
fn value(factor: &Factor, values: &BTreeMap<String, f64>) -> Result<f64, PacketFault> {
    match factor {
        Factor::Number(number) => Ok(*number),
        Factor::Name(name) => values
            .get(name)
            .copied()
            .ok_or_else(|| PacketFault::Unread { name: name.clone() }),
    }
}
