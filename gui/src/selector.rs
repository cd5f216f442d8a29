//! `PLACEMENT=SELECTOR`: where a live sensor sits and what it is.

use std::path::PathBuf;

use sensor::Placement;
use sensor::synthetic::{Sending, SendingFault};
use thiserror::Error;

/// The schemes, with what each takes.
const KNOWN: &str = "\
use ble:PROFILE[,name=NAME][,rate=HZ], phone:, file:FILE[,fast] or synthetic:KIND[,seed=N][,fast][,drop=5..7 and other faults]";

/// Nominal rate of simulated sensors, Hz, where nothing else is asked for.
const RATE_HZ: f64 = 100.0;

/// A sensor that is asked for.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Asked {
    /// Where it sits.
    pub(crate) placement: Placement,
    /// What it is.
    pub(crate) selector: Selector,
}

/// What a sensor is.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Selector {
    /// One of an invented person's.
    Synthetic(Synthetic),
    /// One of a recording, played again.
    File(PathBuf, bool),
    /// A sensor over Bluetooth.
    Ble(Ble),
    /// A phone, through a page.
    Phone,
}

/// How an invented person moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    /// Slow raises.
    Slow,
    /// Brisk ones.
    Brisk,
    /// Slow ones in which something gives way.
    Compensating,
}

/// An invented person.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Synthetic {
    /// How they move.
    pub(crate) kind: Kind,
    /// Who they are.
    pub(crate) seed: u64,
    /// At once, not in real time.
    pub(crate) is_fast: bool,
    /// How this sensor sends, with what goes wrong on the way.
    pub(crate) sending: Sending,
}

/// A sensor over Bluetooth.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Ble {
    /// Its profile: a file, or the name of one that comes with the program.
    pub(crate) profile: String,
    /// Its advertised name or its id, where several of the kind are near.
    pub(crate) which: Option<String>,
    /// The rate to be set, Hz.
    pub(crate) rate_hz: Option<f64>,
}

/// What is wrong with the sources of a live run.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub(crate) enum SelectorError {
    /// No `=`.
    #[error("{0}: no placement, expected PLACEMENT=SELECTOR; write shinright={0}, for example")]
    NoPlacement(String),
    /// No place on the body.
    #[error(
        "{0}: no placement of this name; use one of shinleft, shinright, thighleft, thighright, pelvis"
    )]
    Placement(String),
    /// Twice.
    #[error("{0}: named twice; give each sensor a placement of its own")]
    Twice(Placement),
    /// Not known.
    #[error("{0}: no source of this kind; {KNOWN}")]
    Scheme(String),
    /// Not known ever.
    #[error("synthetic:{0}: no such person; use one of slow, brisk, compensating")]
    Kind(String),
    /// An option.
    #[error("{option}: not an option of {scheme}; {known}")]
    Option {
        /// As given.
        option: String,
        /// Of what.
        scheme: &'static str,
        /// What there is.
        known: &'static str,
    },
    /// A seed that is no number.
    #[error("{0}: not a seed; use seed=1, or any whole number")]
    Seed(String),
    /// An option of simulated sensors.
    #[error("{0}; or seed=1, or fast")]
    Sending(#[from] SendingFault),
    /// No profile, or no file.
    #[error("{0}: nothing after the colon; {KNOWN}")]
    Empty(String),
    /// Two people.
    #[error("{0}: another person than {1}; give all sources the same kind, seed and options")]
    Differs(Placement, Placement),
    /// One in real time, one at once.
    #[error("`fast` with a sensor that is not simulated; leave it away, or simulate all sensors")]
    Fast,
    /// No shin.
    #[error("no shin among the sources; add shinleft=… or shinright=…")]
    NoShin,
}

impl Synthetic {
    /// What all sensors of a person share: how they move, who they are, how fast it goes and is sampled.
    fn person(&self) -> (Kind, u64, bool, f64) {
        (self.kind, self.seed, self.is_fast, self.rate_hz())
    }

    /// The rate at which the units sample, Hz: off the nominal one as they are told.
    pub(crate) fn rate_hz(&self) -> f64 {
        self.sending.hz.unwrap_or(RATE_HZ) * (1.0 + self.sending.rate_error)
    }
}

impl Selector {
    /// Whether its events come at once.
    pub(crate) const fn is_fast(&self) -> bool {
        match self {
            Self::Synthetic(person) => person.is_fast,
            Self::File(_, is_fast) => *is_fast,
            Self::Ble(_) | Self::Phone => false,
        }
    }
}

/// Reads all sources of a call, in their order. Those of invented people are of one person.
pub(crate) fn sources(words: &[String]) -> Result<Vec<Asked>, SelectorError> {
    let mut asked: Vec<Asked> = Vec::new();
    for word in words {
        let one = source(word)?;
        if asked.iter().any(|a| a.placement == one.placement) {
            return Err(SelectorError::Twice(one.placement));
        }
        let other = asked.iter().find(|a| differ(&a.selector, &one.selector));
        if let Some(other) = other {
            return Err(SelectorError::Differs(one.placement, other.placement));
        }
        asked.push(one);
    }
    let fast = asked.iter().filter(|a| a.selector.is_fast()).count();
    if fast != 0 && fast != asked.len() {
        return Err(SelectorError::Fast);
    }
    let is_shin = |a: &Asked| a.placement.side().map(Placement::shin) == Some(a.placement);
    if asked.iter().any(is_shin) {
        Ok(asked)
    } else {
        Err(SelectorError::NoShin)
    }
}

/// Whether two are of different invented people, or of different recordings.
fn differ(a: &Selector, b: &Selector) -> bool {
    match (a, b) {
        (Selector::Synthetic(a), Selector::Synthetic(b)) => a.person() != b.person(),
        (Selector::File(..), Selector::File(..)) => a != b,
        _ => false,
    }
}

/// Reads one source.
pub(crate) fn source(word: &str) -> Result<Asked, SelectorError> {
    let (placement, text) = word
        .split_once('=')
        .filter(|(placement, _)| !placement.contains(':'))
        .ok_or_else(|| SelectorError::NoPlacement(word.to_owned()))?;
    let Ok(placement) = placement.parse() else {
        return Err(SelectorError::Placement(placement.to_owned()));
    };
    let selector = match text.split_once(':') {
        Some(("synthetic", person)) => Selector::Synthetic(synthetic(person)?),
        Some(("file", file)) => file_again(file)?,
        Some(("ble", sensor)) => Selector::Ble(ble(sensor)?),
        Some(("phone", "")) => Selector::Phone,
        _ => return Err(SelectorError::Scheme(text.to_owned())),
    };
    Ok(Asked {
        placement,
        selector,
    })
}

fn synthetic(text: &str) -> Result<Synthetic, SelectorError> {
    let mut words = text.split(',');
    let kind = match words.next().unwrap_or_default() {
        "slow" => Kind::Slow,
        "brisk" => Kind::Brisk,
        "compensating" => Kind::Compensating,
        other => return Err(SelectorError::Kind(other.to_owned())),
    };
    let mut chosen = Synthetic {
        kind,
        seed: 1,
        is_fast: false,
        sending: Sending::usual(),
    };
    for word in words {
        let seed = word.strip_prefix("seed=").and_then(|n| n.parse().ok());
        match (word, seed) {
            ("fast", _) => chosen.is_fast = true,
            (_, Some(seed)) => chosen.seed = seed,
            _ if word.starts_with("seed") => return Err(SelectorError::Seed(word.to_owned())),
            _ => chosen.sending.set(word)?,
        }
    }
    chosen.sending.seed = chosen.seed;
    Ok(chosen)
}

fn file_again(text: &str) -> Result<Selector, SelectorError> {
    let (file, is_fast) = match text.strip_suffix(",fast") {
        Some(file) => (file, true),
        None => (text, false),
    };
    if file.is_empty() {
        return Err(SelectorError::Empty("file:".to_owned()));
    }
    Ok(Selector::File(PathBuf::from(file), is_fast))
}

fn ble(text: &str) -> Result<Ble, SelectorError> {
    let mut words = text.split(',');
    let profile = words.next().filter(|profile| !profile.is_empty());
    let profile = profile.ok_or_else(|| SelectorError::Empty("ble:".to_owned()))?;
    let mut chosen = Ble {
        profile: profile.to_owned(),
        which: None,
        rate_hz: None,
    };
    for word in words {
        let rate = word.strip_prefix("rate=").and_then(|hz| hz.parse().ok());
        match (
            word.strip_prefix("name=").or(word.strip_prefix("id=")),
            rate,
        ) {
            (Some(which), _) if !which.is_empty() => chosen.which = Some(which.to_owned()),
            (_, Some(rate_hz)) if 0.0 < rate_hz && rate_hz <= 1e4 => chosen.rate_hz = Some(rate_hz),
            _ => {
                return Err(SelectorError::Option {
                    option: word.to_owned(),
                    scheme: "ble:",
                    known: "use name=NAME, id=ID or rate=HZ",
                });
            }
        }
    }
    Ok(chosen)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(words: &[&str]) -> Result<Vec<Asked>, SelectorError> {
        sources(&words.iter().map(|&w| w.to_owned()).collect::<Vec<_>>())
    }

    #[test]
    fn sources_are_read_in_their_order() {
        let asked = read(&[
            "Left_Shin=synthetic:brisk,fast,seed=7",
            "pelvis=synthetic:brisk,seed=7,fast",
        ])
        .unwrap();
        let placements: Vec<_> = asked.iter().map(|a| a.placement).collect();
        assert_eq!(placements, [Placement::ShinLeft, Placement::Pelvis]);
        let expected = Synthetic {
            kind: Kind::Brisk,
            seed: 7,
            is_fast: true,
            sending: Sending {
                seed: 7,
                ..Sending::usual()
            },
        };
        assert_eq!(asked[0].selector, Selector::Synthetic(expected));
        assert_eq!(
            read(&["shinleft=synthetic:slow", "shinleft=synthetic:slow"]),
            Err(SelectorError::Twice(Placement::ShinLeft))
        );
    }

    #[test]
    fn each_scheme_has_its_options() {
        let asked = read(&[
            "shinleft=ble:open-motion,name=shin-0a1b,rate=200",
            "shinright=phone:",
            "thighleft=ble:my.toml,id=AA:BB:CC:DD:EE:FF",
        ])
        .unwrap();
        let first = Ble {
            profile: "open-motion".to_owned(),
            which: Some("shin-0a1b".to_owned()),
            rate_hz: Some(200.0),
        };
        assert_eq!(asked[0].selector, Selector::Ble(first));
        assert_eq!(asked[1].selector, Selector::Phone);
        let Selector::Ble(third) = &asked[2].selector else {
            panic!("{:?}", asked[2])
        };
        assert_eq!(third.which.as_deref(), Some("AA:BB:CC:DD:EE:FF"));
        let file = read(&["shinleft=file:a,b_motion.tsv,fast"]).unwrap();
        assert_eq!(
            file[0].selector,
            Selector::File(PathBuf::from("a,b_motion.tsv"), true)
        );
        for wrong in [
            "shinleft=ble:",
            "shinleft=ble:x,rate=0",
            "shinleft=ble:x,rate=NaN",
            "shinleft=ble:x,name=",
            "shinleft=ble:x,fast",
            "shinleft=phone:x",
            "shinleft=file:",
            "shinleft=radio:x",
        ] {
            let e = read(&[wrong]).unwrap_err().to_string();
            assert!(e.contains("; use "), "{wrong}: {e}");
        }
        assert_eq!(
            read(&["shinleft=ble:x", "shinright=synthetic:slow,fast"]),
            Err(SelectorError::Fast)
        );
    }
}
