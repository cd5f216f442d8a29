//! The questions before a test, and what follows from their answers.

use casebook::Caution;

use crate::window::words::Care;

/// What a Yes weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::window) enum Weight {
    /// No test: refer, or wait for a clearance.
    Stops,
    /// The test goes on with care.
    Heeded,
}

/// A question with what follows from a Yes.
#[derive(Clone, Copy, Debug)]
pub(in crate::window) struct Question {
    /// What is asked.
    pub(in crate::window) ask: Care,
    /// What is done on a Yes.
    pub(in crate::window) then: Care,
    /// What it weighs.
    pub(in crate::window) weight: Weight,
    /// What the casebook calls it; nothing where no drill asks about it.
    pub(in crate::window) caution: Option<Caution>,
}

const fn stops(ask: Care, then: Care, caution: Caution) -> Question {
    Question {
        ask,
        then,
        weight: Weight::Stops,
        caution: Some(caution),
    }
}

const fn heeded(ask: Care, then: Care, caution: Option<Caution>) -> Question {
    Question {
        ask,
        then,
        weight: Weight::Heeded,
        caution,
    }
}

/// All questions; the gravest first.
pub(in crate::window) const QUESTIONS: [Question; 13] = [
    stops(Care::Emergency, Care::DoEmergency, Caution::Emergency),
    stops(Care::Spine, Care::DoSpine, Caution::Spine),
    stops(Care::Clot, Care::DoClot, Caution::Clot),
    stops(Care::Tear, Care::DoTear, Caution::Tear),
    stops(Care::Surgery, Care::DoSurgery, Caution::Surgery),
    stops(Care::Pressure, Care::DoPressure, Caution::Heart),
    stops(Care::Consent, Care::DoConsent, Caution::NoConsent),
    heeded(Care::Hip, Care::DoHip, Some(Caution::HipReplacement)),
    heeded(Care::Effort, Care::DoEffort, Some(Caution::Pressure)),
    heeded(Care::Pregnant, Care::DoPregnant, Some(Caution::Pregnancy)),
    heeded(Care::Mobile, Care::DoMobile, Some(Caution::Hypermobile)),
    heeded(Care::SitBone, Care::DoSitBone, Some(Caution::SitBonePain)),
    heeded(Care::Skin, Care::DoSkin, None),
];

/// The answers of a client.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(in crate::window) struct Cautions {
    /// In the order of the questions.
    pub(in crate::window) answers: [Option<bool>; QUESTIONS.len()],
}

/// What the answers come to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::window) enum Verdict {
    /// So many questions are left.
    Asking(usize),
    /// No test.
    Stops,
    /// A test with care.
    Heeded,
    /// A test.
    Clear,
}

impl Cautions {
    /// Takes an answer.
    pub(super) fn answer(&mut self, question: usize, is_yes: bool) {
        if let Some(answer) = self.answers.get_mut(question) {
            *answer = Some(is_yes);
        }
    }

    /// Takes No for all that isn't answered yet.
    pub(super) fn answer_rest_no(&mut self) {
        for answer in &mut self.answers {
            answer.get_or_insert(false);
        }
    }

    /// What a Yes was said to.
    pub(in crate::window) fn yes(&self, weight: Weight) -> impl Iterator<Item = &'static Question> {
        let answered = QUESTIONS.iter().zip(self.answers);
        answered.filter_map(move |(q, a)| (a == Some(true) && q.weight == weight).then_some(q))
    }

    /// What the answers come to. One that stops the test does so at once.
    pub(in crate::window) fn verdict(&self) -> Verdict {
        let left = self.answers.iter().filter(|a| a.is_none()).count();
        if self.yes(Weight::Stops).next().is_some() {
            Verdict::Stops
        } else if 0 < left {
            Verdict::Asking(left)
        } else if self.yes(Weight::Heeded).next().is_some() {
            Verdict::Heeded
        } else {
            Verdict::Clear
        }
    }
}
