//! `PLACEMENT=SELECTOR`: where a live sensor sits and what it is.

use sensor::Placement;
use thiserror::Error;

/// The schemes of this version, with all they take.
const KNOWN: &str = "this version knows synthetic:slow, synthetic:brisk and synthetic:compensating, each with ,seed=N and ,fast";

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
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Synthetic {
    /// How they move.
    pub(crate) kind: Kind,
    /// Who they are.
    pub(crate) seed: u64,
    /// At once, not in real time.
    pub(crate) is_fast: bool,
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
    /// Not known now.
    #[error("{0}: no source of this kind; {KNOWN}")]
    Scheme(String),
    /// Not known ever.
    #[error("synthetic:{0}: no such person; use one of slow, brisk, compensating")]
    Kind(String),
    /// An option.
    #[error("{0}: not an option of synthetic sources; use seed=1 (any whole number) or fast")]
    Option(String),
    /// Two people.
    #[error(
        "{0}: another person than {1}; give all sources the same kind and seed, and `fast` to all or none"
    )]
    Differs(Placement, Placement),
    /// No shin.
    #[error("no shin among the sources; add shinleft=… or shinright=…")]
    NoShin,
}

/// Reads all sources of a call, in their order: they are of one person.
pub(crate) fn sources(words: &[String]) -> Result<(Vec<Placement>, Synthetic), SelectorError> {
    let mut placements: Vec<Placement> = Vec::new();
    let mut person: Option<Synthetic> = None;
    for word in words {
        let (placement, synthetic) = source(word)?;
        if placements.contains(&placement) {
            return Err(SelectorError::Twice(placement));
        }
        if let Some(first) = placements.first()
            && person != Some(synthetic)
        {
            return Err(SelectorError::Differs(placement, *first));
        }
        person = Some(synthetic);
        placements.push(placement);
    }
    let is_shin = |p: &Placement| p.side().is_some_and(|side| Placement::shin(side) == *p);
    person
        .filter(|_| placements.iter().any(is_shin))
        .map(|person| (placements, person))
        .ok_or(SelectorError::NoShin)
}

fn source(word: &str) -> Result<(Placement, Synthetic), SelectorError> {
    let (placement, selector) = word
        .split_once('=')
        .filter(|(placement, _)| !placement.contains(':'))
        .ok_or_else(|| SelectorError::NoPlacement(word.to_owned()))?;
    let Ok(placement) = placement.parse() else {
        return Err(SelectorError::Placement(placement.to_owned()));
    };
    match selector.split_once(':') {
        Some(("synthetic", text)) => Ok((placement, synthetic(text)?)),
        _ => Err(SelectorError::Scheme(selector.to_owned())),
    }
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
    };
    for word in words {
        let seed = word.strip_prefix("seed=").and_then(|n| n.parse().ok());
        match (word, seed) {
            ("fast", _) => chosen.is_fast = true,
            (_, Some(seed)) => chosen.seed = seed,
            _ => return Err(SelectorError::Option(word.to_owned())),
        }
    }
    Ok(chosen)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sources_are_read_in_their_order() {
        let words = [
            "Left_Shin=synthetic:brisk,fast,seed=7",
            "pelvis=synthetic:brisk,seed=7,fast",
        ];
        let (placements, person) = sources(&words.map(str::to_owned)).unwrap();
        assert_eq!(placements, [Placement::ShinLeft, Placement::Pelvis]);
        let expected = Synthetic {
            kind: Kind::Brisk,
            seed: 7,
            is_fast: true,
        };
        assert_eq!(person, expected);
        let twice = ["shinleft=synthetic:slow", "shinleft=synthetic:slow"];
        assert_eq!(
            sources(&twice.map(str::to_owned)),
            Err(SelectorError::Twice(Placement::ShinLeft))
        );
    }
}
