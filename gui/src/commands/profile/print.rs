//! Profiles and decoded packets as text and as JSON.

use std::io::{self, Write};

use sensor::packet::{Decoded, DecodedSample, Decoder, Fact};
use sensor::profile::{ChannelKind, Profile, Stream, When};
use serde::Serialize;

/// The name of the format of decoded packets.
const DECODED_SCHEMA: &str = "legraise/decoded/1";
/// The name of the format of the list.
const LIST_SCHEMA: &str = "legraise/profiles/1";
/// Standard gravity, m/s² (CGPM 1901).
const GRAVITY_M_S2: f64 = 9.806_65;

#[derive(Serialize)]
struct ListJson<'a> {
    schema: &'static str,
    profiles: Vec<ProfileJson<'a>>,
}

#[derive(Serialize)]
struct ProfileJson<'a> {
    name: &'a str,
    about: &'a str,
    nominal_hz: f64,
    choices_hz: &'a [f64],
}

/// A line a profile.
pub(super) fn list(out: &mut dyn Write, profiles: &[Profile]) -> io::Result<()> {
    for profile in profiles {
        let (name, rate_hz) = (&profile.name, profile.rate.nominal_hz);
        writeln!(out, "{name:<16} {rate_hz:>5} Hz  {}", profile.about)?;
    }
    Ok(())
}

/// The same as an object.
pub(super) fn list_json(out: &mut dyn Write, profiles: &[Profile]) -> io::Result<()> {
    let profiles = profiles.iter().map(|profile| ProfileJson {
        name: &profile.name,
        about: &profile.about,
        nominal_hz: profile.rate.nominal_hz,
        choices_hz: &profile.rate.choices_hz,
    });
    let list = ListJson {
        schema: LIST_SCHEMA,
        profiles: profiles.collect(),
    };
    writeln!(out, "{}", serde_json::to_string_pretty(&list)?)
}

/// What a profile means.
pub(super) fn summary(out: &mut dyn Write, profile: &Profile) -> io::Result<()> {
    writeln!(out, "{}: can be used", profile.name)?;
    let find = &profile.find;
    let finds = [
        find.service.map(|service| format!("service {service}")),
        find.name.as_ref().map(|name| format!("name {name:?}")),
        find.manufacturer
            .map(|id| format!("manufacturer {id:#06x}")),
    ];
    let finds: Vec<String> = finds.into_iter().flatten().collect();
    writeln!(out, "  found by  {}", finds.join(", "))?;
    let choices = profile.rate.choices_hz.iter().map(ToString::to_string);
    let choices: Vec<String> = choices.collect();
    write!(out, "  rate      {} Hz", profile.rate.nominal_hz)?;
    if choices.is_empty() {
        writeln!(out)?;
    } else {
        writeln!(out, " of {}", choices.join(", "))?;
    }
    for (when, word) in [
        (When::Connect, "connect"),
        (When::Start, "start"),
        (When::Keepalive, "keepalive"),
        (When::Stop, "stop"),
    ] {
        for step in profile.writes_when(when) {
            let bytes = step.bytes(&profile.rate, profile.rate.nominal_hz);
            let bytes = bytes.unwrap_or_default();
            writeln!(out, "  {word:<9} {} to {}", hex(&bytes), step.to)?;
        }
    }
    for read in &profile.reads {
        writeln!(out, "  read      {} from {}", read.name, read.from)?;
    }
    for stream in &profile.streams {
        writeln!(out, "  {:<9} {}", stream.id, holds(stream))?;
    }
    writeln!(out, "  MTU       {} or more", profile.mtu_min())
}

fn hex(bytes: &[u8]) -> String {
    let bytes: Vec<String> = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
    bytes.join(" ")
}

fn holds(stream: &Stream) -> String {
    let kinds = [
        ChannelKind::Acc,
        ChannelKind::Gyro,
        ChannelKind::Battery,
        ChannelKind::Temperature,
    ];
    let kinds = kinds.into_iter().filter(|kind| stream.has(*kind));
    let mut words: Vec<String> = kinds.map(|kind| kind.to_string()).collect();
    if let Some(counter) = stream.counter {
        words.push(format!("counter of {} bits", counter.field.bits()));
    }
    if let Some(clock) = &stream.clock {
        words.push(format!("clock of {} bits", clock.field.bits()));
    }
    format!("{} from {}", words.join(", "), stream.from)
}

/// What is told of a packet beside its samples.
pub(super) fn message(number: usize, one: &Decoded) -> Option<String> {
    match one {
        Decoded::Sample(_) => None,
        Decoded::Fact(fact) => Some(format!("packet {number}: {}", fact_text(fact))),
        Decoded::Fault(fault) => {
            let text = fault.to_string();
            let text = text.strip_prefix("packet").unwrap_or(&text);
            Some(format!("packet {number}{text}"))
        }
    }
}

fn fact_text(fact: &Fact) -> String {
    match fact {
        Fact::Restarted { cause } => format!(
            "the sensor counts from the beginning again (by its {})",
            cause.as_str()
        ),
        Fact::Missing { samples } => format!("{samples} samples are missing before it"),
        Fact::Repeated => "came twice, given once".to_owned(),
        Fact::LostInside => "the sensor lost samples before it".to_owned(),
        Fact::FullScale => "the sensor says a value is at full scale".to_owned(),
        Fact::Aside {
            battery_percent,
            temperature_c,
        } => {
            let battery = battery_percent.map(|percent| format!("battery {percent} %"));
            let temperature = temperature_c.map(|celsius| format!("temperature {celsius} °C"));
            let words: Vec<String> = battery.into_iter().chain(temperature).collect();
            words.join(", ")
        }
    }
}

/// A row a sample.
pub(super) fn decoded(
    out: &mut dyn Write,
    decoder: &Decoder,
    found: &[(usize, Decoded)],
) -> io::Result<()> {
    writeln!(
        out,
        "  sequence        ticks    acc x    acc y    acc z   |acc|    gyro x    gyro y    gyro z"
    )?;
    writeln!(
        out,
        "                             m/s²     m/s²     m/s²       g       °/s       °/s       °/s"
    )?;
    for (_, one) in found {
        if let Decoded::Sample(sample) = one {
            write_row(out, sample)?;
        }
    }
    let tally = decoder.tally();
    writeln!(
        out,
        "packets {}, samples {}, missing {}, left out {}",
        tally.packets,
        tally.samples,
        tally.missing_samples,
        tally.faults()
    )
}

fn write_row(out: &mut dyn Write, sample: &DecodedSample) -> io::Result<()> {
    let whole = |number: Option<u64>| number.map_or("-".to_owned(), |n| n.to_string());
    let ticks = whole(sample.device_ticks);
    write!(out, "{:>10} {ticks:>12}", whole(sample.sequence))?;
    let acc = sample.accel_m_s2.map(f64::from);
    for axis in acc {
        write!(out, " {axis:>8.4}")?;
    }
    let size_g = acc.iter().map(|axis| axis * axis).sum::<f64>().sqrt() / GRAVITY_M_S2;
    write!(out, " {size_g:>7.4}")?;
    for axis in sample.gyro_rad_s {
        write!(out, " {:>9.4}", f64::from(axis).to_degrees())?;
    }
    let mark = if sample.is_at_full_scale { " !" } else { "" };
    writeln!(out, "{mark}")
}

#[derive(Serialize)]
struct DecodedJson<'a> {
    schema: &'static str,
    profile: &'a str,
    rate_hz: f64,
    tick_s: Option<f64>,
    samples: Vec<SampleJson>,
    messages: Vec<MessageJson>,
    packets_count: u64,
    missing_samples_count: u64,
    left_out_count: u64,
}

#[derive(Serialize)]
struct SampleJson {
    packet: usize,
    segment: u32,
    sequence: Option<u64>,
    device_ticks: Option<u64>,
    arrival_s: Option<f64>,
    accel_m_s2: [f32; 3],
    gyro_rad_s: [f32; 3],
    full_scale: bool,
    battery_percent: Option<f32>,
    temperature_c: Option<f32>,
}

#[derive(Serialize)]
struct MessageJson {
    packet: usize,
    left_out: bool,
    text: String,
}

/// All as one object.
pub(super) fn decoded_json(
    out: &mut dyn Write,
    decoder: &Decoder,
    rate_hz: f64,
    found: &[(usize, Decoded)],
) -> io::Result<()> {
    let samples = found.iter().filter_map(|(packet, one)| match one {
        Decoded::Sample(sample) => Some(SampleJson {
            packet: *packet,
            segment: sample.segment,
            sequence: sample.sequence,
            device_ticks: sample.device_ticks,
            arrival_s: sample.arrival.map(|arrival| arrival.0 as f64 * 1e-9),
            accel_m_s2: sample.accel_m_s2,
            gyro_rad_s: sample.gyro_rad_s,
            full_scale: sample.is_at_full_scale,
            battery_percent: sample.battery_percent,
            temperature_c: sample.temperature_c,
        }),
        _ => None,
    });
    let messages = found.iter().filter_map(|(packet, one)| {
        Some(MessageJson {
            packet: *packet,
            left_out: matches!(one, Decoded::Fault(_)),
            text: message(*packet, one)?,
        })
    });
    let object = DecodedJson {
        schema: DECODED_SCHEMA,
        profile: &decoder.profile().name,
        rate_hz,
        tick_s: decoder.tick_s(),
        samples: samples.collect(),
        messages: messages.collect(),
        packets_count: decoder.tally().packets,
        missing_samples_count: decoder.tally().missing_samples,
        left_out_count: decoder.tally().faults(),
    };
    writeln!(out, "{}", serde_json::to_string_pretty(&object)?)
}
