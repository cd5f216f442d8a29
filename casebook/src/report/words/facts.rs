//! Words for what a measurement says: sides, places, reasons, flags, parts of an uncertainty, how it was done.

use fusion::{Flag, Reason, Source};
use sensor::{Placement, Side};

use super::{Language, Phrase as _, phrases};
use crate::caution::Caution;
use crate::way::Condition;

phrases! {
    /// Facts in words.
    Fact {
        Left = "left", "links";
        Right = "right", "rechts";
        LegLeft = "left leg", "linkes Bein";
        LegRight = "right leg", "rechtes Bein";
        ShinLeft = "left shin", "Schienbein links";
        ShinRight = "right shin", "Schienbein rechts";
        ThighLeft = "left thigh", "Oberschenkel links";
        ThighRight = "right thigh", "Oberschenkel rechts";
        Pelvis = "pelvis", "Becken";
        Pull = "first pull", "erstes Ziehen";
        OppositeLeg = "opposite leg", "anderes Bein";
        Knee = "knee bent", "Knie gebeugt";
        Stop = "stopped", "abgebrochen";
        Hold = "held at the top", "oben gehalten";
        Peak = "highest point", "höchster Punkt";
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
        Active = "active", "aktiv";
        Passive = "passive", "passiv";
        Relaxed = "ankle relaxed", "Sprunggelenk locker";
        PulledUp = "ankle pulled up", "Fuß angezogen";
        Pointed = "ankle pointed", "Fuß gestreckt";
        FirstPull = "to the first pull", "bis zum ersten Ziehen";
        Limit = "as far as bearable", "so weit wie erträglich";
        CMovement = "whether active or passive", "ob aktiv oder passiv";
        CAnkle = "how the ankle was held", "wie der Fuß gehalten wurde";
        CAskedFor = "how far was asked for", "wie weit gehoben werden sollte";
        KEmergency = "new trouble of bladder, bowel, saddle or both legs: refer the same day",
            "neue Beschwerden an Blase, Darm, Reithosengebiet oder beiden Beinen: am selben Tag überweisen";
        KSpine = "possible fracture, cancer or infection of the spine: refer",
            "Bruch, Krebs oder Infektion der Wirbelsäule möglich: überweisen";
        KClot = "calf pain with swelling, warmth or redness, or a clot: neither strap nor exercise",
            "Wadenschmerz mit Schwellung, Wärme oder Rötung, oder Thrombose: kein Gurt, keine Übung";
        KTear = "acute hamstring tear: clinical assessment first",
            "frischer Riss der hinteren Oberschenkelmuskeln: zuerst klinische Untersuchung";
        KSurgery = "recent fracture or surgery: clearance first",
            "kürzlicher Bruch oder Operation: zuerst Freigabe";
        KHeart = "blood pressure of 180/110 or more, chest pain, fainting: clearance first",
            "Blutdruck ab 180/110, Brustschmerz, Ohnmacht: zuerst Freigabe";
        KLegSymptoms = "pain, tingling or numbness below the knee, or in the other leg: refer",
            "Schmerz, Kribbeln oder Taubheit unterhalb des Knies oder im anderen Bein: überweisen";
        KNoConsent = "dizzy, unable to follow, or no consent: stop",
            "Schwindel, kann nicht folgen oder keine Einwilligung: aufhören";
        KHip = "replaced hip: within the surgeon's limits only",
            "Hüftprothese: nur in den Grenzen der Chirurgie";
        KPressure = "high blood pressure, glaucoma or hernia: no held breath, no all-out effort",
            "Bluthochdruck, Glaukom oder Hernie: kein Luftanhalten, keine volle Anstrengung";
        KPregnancy = "pregnancy: short spells on the back only",
            "Schwangerschaft: nur kurz auf dem Rücken";
        KHypermobile = "very mobile joints: no stretching to the end of the range",
            "sehr bewegliche Gelenke: kein Dehnen bis ans Ende";
        KSitBone = "pain at the sit bone: no long stretches and deep hinges at first",
            "Schmerz am Sitzbein: anfangs kein langes Dehnen, kein tiefes Beugen";
    }
}

/// Which leg.
pub fn side(language: Language, side: Side) -> &'static str {
    match side {
        Side::Left => Fact::Left,
        Side::Right => Fact::Right,
    }
    .text(language)
}

/// The leg of a side.
pub(crate) fn leg(language: Language, side: Side) -> &'static str {
    match side {
        Side::Left => Fact::LegLeft,
        Side::Right => Fact::LegRight,
    }
    .text(language)
}

/// Where a sensor sits.
pub fn place(language: Language, placement: Placement) -> &'static str {
    match placement {
        Placement::ShinLeft => Fact::ShinLeft,
        Placement::ShinRight => Fact::ShinRight,
        Placement::ThighLeft => Fact::ThighLeft,
        Placement::ThighRight => Fact::ThighRight,
        Placement::Pelvis => Fact::Pelvis,
    }
    .text(language)
}

/// The same by the name in a file; a name of somebody else's stays as it is.
pub(crate) fn placement(language: Language, name: &str) -> &str {
    let known = Placement::ALL.into_iter().find(|p| p.as_str() == name);
    known.map_or(name, |placement| place(language, placement))
}

/// What ended a raise.
pub fn reason(language: Language, reason: Reason) -> &'static str {
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

/// What to heed.
pub fn flag(language: Language, flag: Flag) -> &'static str {
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
pub fn source(language: Language, source: Source) -> &'static str {
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

/// `active` or `passive`; another word stays as it is.
fn movement(language: Language, word: &str) -> &str {
    match word {
        "active" => Fact::Active.text(language),
        "passive" => Fact::Passive.text(language),
        other => other,
    }
}

/// How far was asked for; another word stays as it is.
fn asked_for(language: Language, word: &str) -> &str {
    match word {
        "first pull" => Fact::FirstPull.text(language),
        "limit" => Fact::Limit.text(language),
        other => other,
    }
}

/// A condition's word in the report's language; another word stays as it is.
pub(crate) fn condition_word(language: Language, condition: Condition, word: &str) -> &str {
    match (condition, word) {
        (Condition::Movement, word) => movement(language, word),
        (Condition::AskedFor, word) => asked_for(language, word),
        (Condition::Ankle, "relaxed") => Fact::Relaxed.text(language),
        (Condition::Ankle, "pulled up") => Fact::PulledUp.text(language),
        (Condition::Ankle, "pointed") => Fact::Pointed.text(language),
        (Condition::Ankle, other) => other,
    }
}

/// What nobody said.
pub(super) fn unsaid(language: Language, condition: Condition) -> &'static str {
    match condition {
        Condition::Movement => Fact::CMovement,
        Condition::Ankle => Fact::CAnkle,
        Condition::AskedFor => Fact::CAskedFor,
    }
    .text(language)
}

/// A caution in short.
pub fn cautious(language: Language, caution: Caution) -> &'static str {
    match caution {
        Caution::Emergency => Fact::KEmergency,
        Caution::Spine => Fact::KSpine,
        Caution::Clot => Fact::KClot,
        Caution::Tear => Fact::KTear,
        Caution::Surgery => Fact::KSurgery,
        Caution::Heart => Fact::KHeart,
        Caution::LegSymptoms => Fact::KLegSymptoms,
        Caution::NoConsent => Fact::KNoConsent,
        Caution::HipReplacement => Fact::KHip,
        Caution::Pressure => Fact::KPressure,
        Caution::Pregnancy => Fact::KPregnancy,
        Caution::Hypermobile => Fact::KHypermobile,
        Caution::SitBonePain => Fact::KSitBone,
    }
    .text(language)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn english_cautions_are_the_casebooks_own() {
        for caution in Caution::ALL {
            assert_eq!(
                cautious(Language::English, caution),
                crate::wording::caution(caution)
            );
        }
        for condition in Condition::ALL {
            assert_eq!(
                unsaid(Language::English, condition),
                crate::wording::condition(condition)
            );
        }
    }

    #[test]
    fn what_is_unknown_stays_as_it_is() {
        assert_eq!(placement(Language::German, "shinleft"), "Schienbein links");
        assert_eq!(placement(Language::German, "ellbogen"), "ellbogen");
        assert_eq!(
            condition_word(Language::English, Condition::Ankle, "taped"),
            "taped"
        );
    }
}
