//! Cautions that were answered with yes, as far as drills must know them.

use serde::Deserialize;

/// Something that forbids exercise, or some of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Caution {
    /// New trouble of bladder, bowel, saddle or both legs.
    Emergency,
    /// Possible fracture, cancer or infection of the spine.
    Spine,
    /// Calf pain with swelling, warmth or redness, or a known clot.
    Clot,
    /// Acute hamstring tear.
    Tear,
    /// Recent fracture or surgery, without clearance.
    Surgery,
    /// Resting blood pressure of 180/110 or more, chest pain, fainting.
    Heart,
    /// Pain, tingling or numbness below the knee in the raise, or raising the good leg pains the bad one.
    LegSymptoms,
    /// Dizzy, unable to follow, or no consent.
    NoConsent,
    /// A replaced hip: only within the surgeon's limits.
    HipReplacement,
    /// High blood pressure, glaucoma, hernia: no held breath, no all-out effort.
    Pressure,
    /// Pregnancy.
    Pregnancy,
    /// Very mobile joints.
    Hypermobile,
    /// Pain at the sit bone.
    SitBonePain,
}

impl Caution {
    /// All of them, the gravest first.
    pub const ALL: [Self; 13] = [
        Self::Emergency,
        Self::Spine,
        Self::Clot,
        Self::Tear,
        Self::Surgery,
        Self::Heart,
        Self::LegSymptoms,
        Self::NoConsent,
        Self::HipReplacement,
        Self::Pressure,
        Self::Pregnancy,
        Self::Hypermobile,
        Self::SitBonePain,
    ];

    /// The word used in files.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Emergency => "emergency",
            Self::Spine => "spine",
            Self::Clot => "clot",
            Self::Tear => "tear",
            Self::Surgery => "surgery",
            Self::Heart => "heart",
            Self::LegSymptoms => "leg-symptoms",
            Self::NoConsent => "no-consent",
            Self::HipReplacement => "hip-replacement",
            Self::Pressure => "pressure",
            Self::Pregnancy => "pregnancy",
            Self::Hypermobile => "hypermobile",
            Self::SitBonePain => "sit-bone-pain",
        }
    }

    /// Whether it forbids all drills until somebody licensed has cleared it.
    pub const fn stops_all(self) -> bool {
        matches!(
            self,
            Self::Emergency
                | Self::Spine
                | Self::Clot
                | Self::Tear
                | Self::Surgery
                | Self::Heart
                | Self::LegSymptoms
                | Self::NoConsent
        )
    }
}
