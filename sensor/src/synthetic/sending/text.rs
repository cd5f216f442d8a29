//! `drop=5..7`, `clock=step`: how a [`Sending`] is asked for in words.

use thiserror::Error;

use super::{ClockCourse, Outage, Restart, Sending, SensorClock};
use crate::RUN_S_MAX;

/// So many drops at most can be asked for.
const DROPS_MAX: usize = 16;

/// A word that can't be followed.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum SendingFault {
    /// Not known.
    #[error("{word}: no option of simulated sensors; use {}", Sending::known())]
    Unknown {
        /// The word.
        word: String,
    },
    /// A value that makes no sense.
    #[error("{word}: not a value of this option, expected {expected}; write {example}")]
    Value {
        /// The word.
        word: String,
        /// What it may be.
        expected: &'static str,
        /// One that is right.
        example: &'static str,
    },
}

/// One option.
struct Choice {
    key: &'static str,
    expected: &'static str,
    example: &'static str,
    set: fn(&mut Sending, &str) -> Option<()>,
}

/// All options, in the order in which they are told.
const CHOICES: &[Choice] = &[
    Choice {
        key: "hz",
        expected: "a sampling rate of 10 to 1000 Hz",
        example: "hz=200",
        set: |s, v| put(&mut s.hz, number(v, 10.0, 1000.0).map(Some)),
    },
    Choice {
        key: "rate",
        expected: "how far the rate is over the nominal one, -3% to +3%",
        example: "rate=+1%",
        set: |s, v| put(&mut s.rate_error, share(v, -0.03, 0.03)),
    },
    Choice {
        key: "clock",
        expected: "linear, periodic, step, noisy or none",
        example: "clock=step",
        set: clock,
    },
    Choice {
        key: "skew",
        expected: "how far the clock's second is off, 0 to 500ppm",
        example: "skew=40ppm",
        set: |s, v| put(&mut s.clock.as_mut()?.skew, share(v, 0.0, 5e-4)),
    },
    Choice {
        key: "counter",
        expected: "samples or none",
        example: "counter=none",
        set: |s, v| match v {
            "samples" => put(&mut s.has_counter, Some(true)),
            "none" => put(&mut s.has_counter, Some(false)),
            _ => None,
        },
    },
    Choice {
        key: "packet",
        expected: "a length of 1ms to 500ms",
        example: "packet=20ms",
        set: |s, v| put(&mut s.packet_s, seconds(v, 0.001, 0.5)),
    },
    Choice {
        key: "burst",
        expected: "a connection interval of 0 to 4s",
        example: "burst=30ms",
        set: |s, v| put(&mut s.burst_s, seconds(v, 0.0, 4.0)),
    },
    Choice {
        key: "delay",
        expected: "a time of 0 to 1s",
        example: "delay=8ms",
        set: |s, v| put(&mut s.delay_s, seconds(v, 0.0, 1.0)),
    },
    Choice {
        key: "jitter",
        expected: "a time of 0 to 1s",
        example: "jitter=4ms",
        set: |s, v| put(&mut s.jitter_s, seconds(v, 0.0, 1.0)),
    },
    Choice {
        key: "stalls",
        expected: "a share of the packets, 0 to 10%",
        example: "stalls=0.2%",
        set: |s, v| put(&mut s.stall_share, share(v, 0.0, 0.1)),
    },
    Choice {
        key: "restart",
        expected: "seconds after the start, at most 14400, and +untold if the sensor doesn't say so",
        example: "restart=9",
        set: restart,
    },
    Choice {
        key: "drop",
        expected: "seconds from..to, at most 14400 and 16 times",
        example: "drop=5..7",
        set: drop_link,
    },
    Choice {
        key: "lost",
        expected: "a share of the packets, 0 to 90%",
        example: "lost=5%",
        set: |s, v| put(&mut s.lost_share, share(v, 0.0, 0.9)),
    },
    Choice {
        key: "repeated",
        expected: "a share of the packets, 0 to 90%",
        example: "repeated=1%",
        set: |s, v| put(&mut s.repeated_share, share(v, 0.0, 0.9)),
    },
    Choice {
        key: "late",
        expected: "a share of the packets, 0 to 50%",
        example: "late=1%",
        set: |s, v| put(&mut s.late_share, share(v, 0.0, 0.5)),
    },
    Choice {
        key: "battery",
        expected: "seconds after the start, at most 14400",
        example: "battery=25",
        set: |s, v| put(&mut s.battery_s, seconds(v, 0.0, RUN_S_MAX).map(Some)),
    },
];

impl Sending {
    /// Follows one word, such as `drop=5..7`; where it can't, nothing is changed.
    pub fn set(&mut self, word: &str) -> Result<(), SendingFault> {
        let split = word.split_once('=');
        let found = split.and_then(|(key, value)| {
            let choice = CHOICES.iter().find(|choice| choice.key == key)?;
            Some((choice, value))
        });
        let Some((choice, value)) = found else {
            let word = word.to_owned();
            return Err(SendingFault::Unknown { word });
        };
        (choice.set)(self, value).ok_or_else(|| SendingFault::Value {
            word: word.to_owned(),
            expected: choice.expected,
            example: choice.example,
        })
    }

    /// One example of each option, for messages.
    pub fn known() -> String {
        let examples: Vec<&str> = CHOICES.iter().map(|choice| choice.example).collect();
        examples.join(", ")
    }
}

fn put<T>(place: &mut T, value: Option<T>) -> Option<()> {
    *place = value?;
    Some(())
}

fn clock(sending: &mut Sending, value: &str) -> Option<()> {
    let course = match value {
        "linear" => ClockCourse::Linear,
        // Over a minute the rate swings by 100 ppm either way.
        "periodic" => ClockCourse::Periodic {
            amplitude_s: 0.001,
            period_s: 60.0,
        },
        "step" => ClockCourse::Step {
            at_s: 10.0,
            by_s: 3.0,
        },
        "noisy" => ClockCourse::Noisy { sd_s: 0.002 },
        "none" => {
            sending.clock = None;
            return Some(());
        }
        _ => return None,
    };
    let skew = sending.clock.map_or(0.0, |clock| clock.skew);
    sending.clock = Some(SensorClock { skew, course });
    Some(())
}

fn restart(sending: &mut Sending, value: &str) -> Option<()> {
    let told = value.strip_suffix("+untold");
    sending.restart = Some(Restart {
        at_s: seconds(told.unwrap_or(value), 0.0, RUN_S_MAX)?,
        away_s: 1.0,
        is_told: told.is_none(),
    });
    Some(())
}

fn drop_link(sending: &mut Sending, value: &str) -> Option<()> {
    let (from, to) = value.split_once("..")?;
    let from_s = seconds(from, 0.0, RUN_S_MAX)?;
    let to_s = seconds(to, from_s, RUN_S_MAX)?;
    if to_s <= from_s || DROPS_MAX <= sending.drops.len() {
        return None;
    }
    sending.drops.push(Outage { from_s, to_s });
    sending.drops.sort_by(|a, b| a.from_s.total_cmp(&b.from_s));
    Some(())
}

fn number(text: &str, least: f64, most: f64) -> Option<f64> {
    let value: f64 = text.parse().ok()?;
    (least..=most).contains(&value).then_some(value)
}

/// `30ms`, `0.03s` or `0.03`.
fn seconds(text: &str, least: f64, most: f64) -> Option<f64> {
    match text.strip_suffix("ms") {
        Some(ms) => number(ms, least * 1e3, most * 1e3).map(|ms| ms * 1e-3),
        None => number(text.strip_suffix('s').unwrap_or(text), least, most),
    }
}

/// `+1%`, `40ppm` or `0.01`.
fn share(text: &str, least: f64, most: f64) -> Option<f64> {
    for (unit, one) in [("%", 100.0), ("ppm", 1e6)] {
        if let Some(count) = text.strip_suffix(unit) {
            return number(count, least * one, most * one).map(|count| count / one);
        }
    }
    number(text, least, most)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(words: &str) -> Result<Sending, SendingFault> {
        let mut sending = Sending::usual();
        words.split(',').try_for_each(|word| sending.set(word))?;
        Ok(sending)
    }

    #[test]
    fn words_choose_and_leave_the_rest_as_it_was() {
        let words = "drop=5..7,restart=9,rate=+1%,burst=30ms,clock=step,skew=40ppm,hz=200";
        let expected = Sending {
            hz: Some(200.0),
            restart: Some(Restart {
                at_s: 9.0,
                away_s: 1.0,
                is_told: true,
            }),
            drops: vec![Outage {
                from_s: 5.0,
                to_s: 7.0,
            }],
            clock: Some(SensorClock {
                skew: 40.0 / 1e6,
                course: ClockCourse::Step {
                    at_s: 10.0,
                    by_s: 3.0,
                },
            }),
            ..Sending::usual()
        };
        assert_eq!(asked(words), Ok(expected));
        let two = asked("drop=20..21.5s,drop=500ms..3,restart=9+untold,counter=none,clock=none")
            .expect("known");
        let drops: Vec<_> = two.drops.iter().map(|d| (d.from_s, d.to_s)).collect();
        assert_eq!(drops, [(0.5, 3.0), (20.0, 21.5)]);
        assert!(two.restart.is_some_and(|r| !r.is_told));
        assert!(!two.has_counter && two.clock.is_none());
    }

    #[test]
    fn every_example_is_a_choice_and_changes_something() {
        for choice in CHOICES {
            let mut sending = Sending {
                hz: None,
                packet_s: 0.1,
                delay_s: 0.1,
                ..Sending::plain()
            };
            let before = sending.clone();
            assert_eq!(sending.set(choice.example), Ok(()), "{}", choice.example);
            assert_ne!(sending, before, "{}", choice.example);
            let told = sending.set(&format!("{}=much", choice.key));
            let text = told.expect_err("no value").to_string();
            assert!(
                text.contains(choice.expected) && text.contains(choice.example),
                "{text}"
            );
        }
    }

    #[test]
    fn what_is_not_known_or_beyond_its_limits_is_told_with_the_mend() {
        for word in ["drop", "wind=5", "", "=", "fast", "seed=3"] {
            let text = asked(word).expect_err("not known").to_string();
            assert!(
                text.starts_with(word) && text.contains("drop=5..7"),
                "{text}"
            );
        }
        let bad = [
            "drop=7..5",
            "drop=5",
            "drop=5..5",
            "drop=-1..2",
            "drop=1..14401",
            "rate=4%",
            "rate=nan",
            "skew=501ppm",
            "hz=0",
            "hz=2000",
            "hz=1e9",
            "burst=5s",
            "packet=0",
            "lost=100%",
            "restart=9+",
            "restart=inf",
            "battery=-1",
            "clock=quartz",
            "counter=1",
        ];
        for word in bad {
            let mut sending = Sending::usual();
            let fault = sending.set(word).expect_err(word);
            assert!(matches!(fault, SendingFault::Value { .. }), "{fault}");
            assert_eq!(sending, Sending::usual(), "{word}: nothing is changed");
        }
        let many = vec!["drop=5..7"; DROPS_MAX + 1].join(",");
        assert!(asked(&many).is_err());
        assert!(
            asked("clock=none,skew=40ppm").is_err(),
            "no clock to be off"
        );
    }
}
