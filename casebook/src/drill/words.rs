//! A drill told in another language: the same drill, every sentence of it replaced.

use super::Drill;

/// All sentences of a drill in one language, in the same order and number.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DrillWords {
    /// Which language, by its ISO 639-1 code.
    pub language: String,
    /// What people call it.
    pub name: String,
    /// What it is to bring about.
    pub aim: String,
    /// How to begin.
    pub set_up: Vec<String>,
    /// What to do, in order.
    pub steps: Vec<String>,
    /// What goes wrong.
    pub faults: Vec<String>,
    /// When to stop.
    pub stop: Vec<String>,
    /// What is shown and said, for each part of a repetition.
    pub say: Vec<String>,
    /// Why, or how it is changed, for each caution.
    pub why: Vec<String>,
}

impl Drill {
    /// Whether it has words in the language of this code.
    pub fn speaks(&self, language: &str) -> bool {
        self.words.iter().any(|words| words.language == language)
    }

    /// The same drill in the language of this code; as it is, where it has no words in it.
    #[must_use]
    pub fn told_in(&self, language: &str) -> Self {
        let mut told = self.clone();
        let Some(words) = self.words.iter().find(|words| words.language == language) else {
            return told;
        };
        let DrillWords {
            language: _,
            name,
            aim,
            set_up,
            steps,
            faults,
            stop,
            say,
            why,
        } = words.clone();
        (told.name, told.aim) = (name, aim);
        (told.set_up, told.steps) = (set_up, steps);
        (told.faults, told.stop) = (faults, stop);
        for (beat, say) in told.beats.iter_mut().zip(say) {
            beat.say = say;
        }
        for (caution, why) in told.cautions.iter_mut().zip(why) {
            caution.why = why;
        }
        told
    }
}
