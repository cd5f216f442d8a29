//! Words for what the measurement says: sides, places, states, reasons, flags, parts of an uncertainty.

use fusion::{Flag, RaiseState, Reason, Source};
use sensor::{Link, Placement, Side};

use super::{Language, Phrase as _, phrases};
use crate::window::model::Why;

phrases! {
    /// Facts in words.
    Fact {
        Left = "left", "links";
        Right = "right", "rechts";
        ShinLeft = "left shin", "Schienbein links";
        ShinRight = "right shin", "Schienbein rechts";
        ThighLeft = "left thigh", "Oberschenkel links";
        ThighRight = "right thigh", "Oberschenkel rechts";
        Pelvis = "pelvis", "Becken";
        Settling = "settling", "findet Ruhe";
        Resting = "resting", "ruht";
        Rising = "rising", "steigt";
        Top = "held", "gehalten";
        Lowering = "lowering", "sinkt";
        Pull = "first pull", "erstes Ziehen";
        OppositeLeg = "other leg", "anderes Bein";
        Knee = "knee bent", "Knie gebeugt";
        Stop = "stopped", "abgebrochen";
        Hold = "held at the top", "oben gehalten";
        Peak = "highest point", "höchster Punkt";
        Connecting = "calling", "wird gerufen";
        Streaming = "sending", "sendet";
        Silent = "silent", "stumm";
        LinkLost = "lost", "verloren";
        TooFast = "too fast", "zu schnell";
        Tense = "spoke or tensed", "gesprochen oder angespannt";
        Other = "another movement", "andere Bewegung";
        Slipped = "strap slipped", "Gurt verrutscht";
        Practice = "a practice raise", "eine Probehebung";
        FGap = "numbers missing at the top", "Zahlen fehlen oben";
        FContradiction = "the sensor contradicts itself", "Sensor widerspricht sich";
        FSaturated = "sensor at its limit", "Sensor am Anschlag";
        FNoRest = "no rest just before", "keine Ruhe davor";
        FRestShifted = "lay differently afterwards", "lag danach anders";
        FStrap = "strap may have slipped", "Gurt vielleicht verrutscht";
        FBegins = "began before the recording", "begann vor der Aufnahme";
        FEnds = "ended after the recording", "endete nach der Aufnahme";
        FSide = "side in doubt", "Seite fraglich";
        FUnused = "a mark came too late", "eine Marke kam zu spät";
        FClose = "two reasons close together", "zwei Gründe dicht beieinander";
        FUncertain = "end point too unsure to give", "Endpunkt zu unsicher";
        FSecond = "second reckoning disagrees", "zweite Rechnung weicht ab";
        FUncalibrated = "not calibrated on a table", "nicht auf dem Tisch kalibriert";
        FTask = "another exercise", "andere Übung";
        FStraight = "knee not straight", "Knie nicht gestreckt";
        FPelvis = "pelvis changed its share", "Becken änderte seinen Anteil";
        FFast = "faster than a slow test", "schneller als ein langsamer Test";
        SSensor = "sensor", "Sensor";
        SAlignment = "direction of the leg", "Richtung des Beins";
        SNoise = "trembling", "Zittern";
        SZero = "zero", "Nullpunkt";
        STime = "moment of the end point", "Moment des Endpunkts";
        SGap = "missing numbers", "fehlende Zahlen";
        SFlesh = "flesh under the strap", "Gewebe unter dem Gurt";
    }
}

/// Which leg.
pub(in crate::window) fn side(language: Language, side: Side) -> &'static str {
    match side {
        Side::Left => Fact::Left,
        Side::Right => Fact::Right,
    }
    .text(language)
}

/// Where a sensor sits.
pub(in crate::window) fn placement(language: Language, placement: Placement) -> &'static str {
    match placement {
        Placement::ShinLeft => Fact::ShinLeft,
        Placement::ShinRight => Fact::ShinRight,
        Placement::ThighLeft => Fact::ThighLeft,
        Placement::ThighRight => Fact::ThighRight,
        Placement::Pelvis => Fact::Pelvis,
    }
    .text(language)
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
    match reason {
        Reason::Pull => Fact::Pull,
        Reason::OppositeLeg => Fact::OppositeLeg,
        Reason::Knee => Fact::Knee,
        Reason::Stop => Fact::Stop,
        Reason::Hold => Fact::Hold,
        Reason::Peak => Fact::Peak,
    }
    .text(language)
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
    match flag {
        Flag::GapNearPeak => Fact::FGap,
        Flag::SensorContradiction => Fact::FContradiction,
        Flag::Saturated => Fact::FSaturated,
        Flag::NoOwnRest => Fact::FNoRest,
        Flag::RestShifted => Fact::FRestShifted,
        Flag::StrapSlipped => Fact::FStrap,
        Flag::BeginsOutside => Fact::FBegins,
        Flag::EndsOutside => Fact::FEnds,
        Flag::SideConflict => Fact::FSide,
        Flag::UnusedMark => Fact::FUnused,
        Flag::CloseCall => Fact::FClose,
        Flag::EndPointUncertain => Fact::FUncertain,
        Flag::SecondOpinion => Fact::FSecond,
        Flag::Uncalibrated => Fact::FUncalibrated,
        Flag::OtherTask => Fact::FTask,
        Flag::NotStraight => Fact::FStraight,
        Flag::PelvisChange => Fact::FPelvis,
        Flag::Fast => Fact::FFast,
    }
    .text(language)
}

/// A part of an uncertainty.
pub(in crate::window) fn source(language: Language, source: Source) -> &'static str {
    match source {
        Source::Sensor => Fact::SSensor,
        Source::Alignment => Fact::SAlignment,
        Source::Noise => Fact::SNoise,
        Source::Zero => Fact::SZero,
        Source::Time => Fact::STime,
        Source::Gap => Fact::SGap,
        Source::Flesh => Fact::SFlesh,
    }
    .text(language)
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
