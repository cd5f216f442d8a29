//! Drills: what is done, how much, what goes wrong, and who must not.
//!
//! A drill is a TOML file, so that a practitioner's own needs no new program. Nothing here reads files: text in, drill
//! out ([`Drill::parse`]). A drill that parses can be paced ([`crate::pacer`]). `docs/casebook.md` has all keys.

mod check;
mod error;
mod propose;
mod text;
mod words;

#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_propose;

use serde::Deserialize;

use crate::caution::Caution;

pub use error::{DrillError, DrillErrorKind, DrillPlace};
pub use propose::{Excluded, Exclusion, Proposal, Proposed, propose};
pub use words::DrillWords;

/// The format's name. Its number goes up when a former reader would misunderstand a drill.
pub const SCHEMA: &str = "legraise/drill/1";

/// Drills that come with the program: name and text, from the lowest band to the highest.
const SHIPPED: [(&str, &str); 12] = [
    (
        "calves-up-long-breath",
        include_str!("../drills/calves-up-long-breath.toml"),
    ),
    (
        "wall-held-leg-other-down",
        include_str!("../drills/wall-held-leg-other-down.toml"),
    ),
    (
        "hands-behind-thigh-unfold",
        include_str!("../drills/hands-behind-thigh-unfold.toml"),
    ),
    (
        "heel-dug-bridge-hold",
        include_str!("../drills/heel-dug-bridge-hold.toml"),
    ),
    (
        "hips-to-wall-hinge",
        include_str!("../drills/hips-to-wall-hinge.toml"),
    ),
    (
        "strap-held-ankle-pump",
        include_str!("../drills/strap-held-ankle-pump.toml"),
    ),
    (
        "one-leg-bridge-hold",
        include_str!("../drills/one-leg-bridge-hold.toml"),
    ),
    (
        "sliding-heel-lower",
        include_str!("../drills/sliding-heel-lower.toml"),
    ),
    (
        "staggered-hinge-with-stick",
        include_str!("../drills/staggered-hinge-with-stick.toml"),
    ),
    (
        "face-down-cushion-reach",
        include_str!("../drills/face-down-cushion-reach.toml"),
    ),
    (
        "band-pressed-leg-lower",
        include_str!("../drills/band-pressed-leg-lower.toml"),
    ),
    (
        "one-leg-hinge-to-block",
        include_str!("../drills/one-leg-hinge-to-block.toml"),
    ),
];

/// From the least to the most; the same twice where there is no choice.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Amount<T> {
    /// To begin with.
    pub least: T,
    /// Not more.
    pub most: T,
}

/// What a drill is for. Where length isn't wanted, only strength and control are proposed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum DrillKind {
    /// Let go.
    Unload,
    /// Let a nerve slide.
    Glide,
    /// Stretch.
    Lengthen,
    /// Bend at the hips.
    Hinge,
    /// Be strong.
    Strength,
    /// Hold still what must not move.
    Control,
}

/// What the repetitions of a drill are called.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Counted {
    /// Breaths.
    Breaths,
    /// Repetitions.
    Reps,
    /// Holds.
    Holds,
}

/// How much of a drill.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dose {
    /// Sets.
    pub sets: Amount<u32>,
    /// Repetitions in a set; of each side, where [`Dose::is_each_side`].
    pub reps: Amount<u32>,
    /// What they are called.
    pub counted: Counted,
    /// Whether one side is done after the other.
    pub is_each_side: bool,
    /// Rest between sets, s.
    pub rest_s: f64,
    /// How often a day.
    pub times_a_day: Amount<u32>,
    /// On how many days of a week.
    pub days_a_week: Amount<u32>,
    /// Effort, of 10.
    pub effort: Amount<u32>,
}

/// What one part of a repetition is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum BeatKind {
    /// Breathing in.
    In,
    /// Breathing out.
    Out,
    /// A short stop of the breath.
    Pause,
    /// Moving.
    Move,
    /// Holding a position, breathing on.
    Hold,
    /// Rest; not done after the last repetition of a set.
    Rest,
}

/// One part of a repetition.
#[derive(Clone, Debug, PartialEq)]
pub struct Beat {
    /// What.
    pub kind: BeatKind,
    /// How long, s.
    pub s: Amount<f64>,
    /// What is shown and said.
    pub say: String,
}

/// What a caution asks of a drill.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Action {
    /// Not this drill.
    LeaveOut,
    /// This drill, changed.
    Adapt,
}

/// A caution of a drill.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DrillCaution {
    /// For whom.
    pub caution: Caution,
    /// What to do.
    pub action: Action,
    /// Why, or how it is changed.
    pub why: String,
}

/// One drill.
#[derive(Clone, Debug, PartialEq)]
pub struct Drill {
    /// What files call it.
    pub id: String,
    /// What people call it.
    pub name: String,
    /// What it is for.
    pub kind: DrillKind,
    /// The lowest angle it is meant for, degrees.
    pub from_deg: f64,
    /// Up to here, degrees.
    pub to_deg: f64,
    /// What it is to bring about.
    pub aim: String,
    /// How to begin.
    pub set_up: Vec<String>,
    /// What to do, in order.
    pub steps: Vec<String>,
    /// What goes wrong.
    pub faults: Vec<String>,
    /// When to stop, beside what always holds.
    pub stop: Vec<String>,
    /// Where it comes from. None is proven for its band.
    pub sources: Vec<String>,
    /// How much.
    pub dose: Dose,
    /// One repetition, part by part.
    pub beats: Vec<Beat>,
    /// Who must not, or not so.
    pub cautions: Vec<DrillCaution>,
    /// The same in other languages.
    pub words: Vec<DrillWords>,
}

impl Drill {
    /// The longest text of a drill, bytes. Real ones have two thousand.
    pub const BYTES_MAX: usize = 64 * 1024;
    /// No more drills are looked at, and none is longer than this if all is chosen to the most, s.
    pub const COUNT_MAX: usize = 500;
    /// No drill takes longer, with the most of everything, s.
    pub const LENGTH_S_MAX: f64 = 7200.0;

    /// Reads and checks a drill. `id` is what files and messages call it, such as the file's name without its end.
    pub fn parse(text: &str, id: &str) -> Result<Self, DrillError> {
        check::drill(text, id)
    }
}

/// The drills that come with the program.
pub fn shipped() -> Vec<Drill> {
    let parsed = SHIPPED.iter().map(|(id, text)| Drill::parse(text, id));
    // A test over the folder shows that none is lost here.
    parsed.filter_map(Result::ok).collect()
}

/// The text of a drill that comes with the program, to copy from.
pub fn shipped_text(id: &str) -> Option<&'static str> {
    let mut texts = SHIPPED.iter();
    texts.find(|(known, _)| *known == id).map(|(_, text)| *text)
}
