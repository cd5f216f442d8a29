//! Words for what the measurement says: sides, places, reasons, flags and parts of an uncertainty as reports have them;
//! states and links, which only the window shows.

use casebook::report::said;
use fusion::{Flag, RaiseState, Reason, Source};
use sensor::{Link, Placement, Side};

use super::{Language, Phrase as _, phrases};
use crate::window::model::Why;

phrases! {
    /// Facts in words.
    Fact {
        Settling = "settling", "findet Ruhe";
        Resting = "resting", "ruht";
        Rising = "rising", "steigt";
        Top = "held", "gehalten";
        Lowering = "lowering", "sinkt";
        Connecting = "calling", "wird gerufen";
        Streaming = "sending", "sendet";
        Silent = "silent", "stumm";
        LinkLost = "lost", "verloren";
        TooFast = "too fast", "zu schnell";
        Tense = "spoke or tensed", "gesprochen oder angespannt";
        Other = "another movement", "andere Bewegung";
        Slipped = "strap slipped", "Gurt verrutscht";
        Practice = "a practice raise", "eine Probehebung";
    }
}

/// Which leg.
pub(in crate::window) fn side(language: Language, side: Side) -> &'static str {
    said::side(language.report(), side)
}

/// Where a sensor sits.
pub(in crate::window) fn placement(language: Language, placement: Placement) -> &'static str {
    said::place(language.report(), placement)
}

/// What the leg does.
pub(in crate::window) fn state(language: Language, state: RaiseState) -> &'static str {
    match state {
        RaiseState::Settling => Fact::Settling,
        RaiseState::Resting => Fact::Resting,
        RaiseState::Rising => Fact::Rising,
        RaiseState::Top => Fact::Top,
        RaiseState::Lowering => Fact::Lowering,
    }
    .text(language)
}

/// Why a raise counts as over.
pub(in crate::window) fn reason(language: Language, reason: Reason) -> &'static str {
    said::reason(language.report(), reason)
}

/// How a sensor's link is.
pub(in crate::window) fn link(language: Language, link: Link) -> &'static str {
    match link {
        Link::Streaming => Fact::Streaming,
        Link::Silent => Fact::Silent,
        Link::Lost => Fact::LinkLost,
        Link::Connecting => Fact::Connecting,
    }
    .text(language)
}

/// Whether numbers come over it.
pub(in crate::window) fn link_is_well(link: Link) -> bool {
    link == Link::Streaming
}

/// Why a raise is left out.
pub(in crate::window) fn why(language: Language, why: Why) -> &'static str {
    match why {
        Why::TooFast => Fact::TooFast,
        Why::Tense => Fact::Tense,
        Why::OtherMovement => Fact::Other,
        Why::Slipped => Fact::Slipped,
        Why::Practice => Fact::Practice,
    }
    .text(language)
}

/// What to heed.
pub(in crate::window) fn flag(language: Language, flag: Flag) -> &'static str {
    said::flag(language.report(), flag)
}

/// A part of an uncertainty.
pub(in crate::window) fn source(language: Language, source: Source) -> &'static str {
    said::source(language.report(), source)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn facts_are_said_in_both_languages() {
        Fact::ALL
            .iter()
            .copied()
            .for_each(crate::window::words::tests::is_sound);
    }
}
