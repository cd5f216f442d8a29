//! How raises were done, and which may be compared: only those done the same way.

use sensor::Conditions;

/// Something about a raise that must be the same for two to be compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Condition {
    /// Active or passive: passive goes further.
    Movement,
    /// The ankle: pulled up, the leg rises 5 to 10° less.
    Ankle,
    /// To the first pull, or as far as bearable.
    AskedFor,
}

impl Condition {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Movement, Self::Ankle, Self::AskedFor];
}

/// How raises were done; what isn't known is `None`. Spelling in capitals and spaces around don't count.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Way([Option<String>; 3]);

impl Way {
    /// From its words.
    pub fn new(movement: Option<&str>, ankle: Option<&str>, asked_for: Option<&str>) -> Self {
        Self([movement, ankle, asked_for].map(|word| {
            let word = word?.trim().to_lowercase();
            (!word.is_empty()).then_some(word)
        }))
    }

    /// From what a recording says.
    pub fn of(conditions: &Conditions) -> Self {
        Self::new(
            conditions.movement.as_deref(),
            conditions.ankle.as_deref(),
            conditions.asked_for.as_deref(),
        )
    }

    /// One condition's word.
    pub fn word(&self, condition: Condition) -> Option<&str> {
        self.0[condition as usize].as_deref()
    }
}

/// Whether two rounds may be compared.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Comparison {
    /// What differs, or is said of one only: any of these forbids it.
    pub differing: Vec<Condition>,
    /// What neither says: allowed, and told.
    pub unsaid: Vec<Condition>,
    /// Whether another person measured; `None` where one of the two isn't known.
    pub is_other_rater: Option<bool>,
}

impl Comparison {
    /// Of two rounds.
    pub fn of(a: &Conditions, b: &Conditions) -> Self {
        let (way_a, way_b) = (Way::of(a), Way::of(b));
        let of = |wanted: fn(Option<&str>, Option<&str>) -> bool| {
            Condition::ALL
                .into_iter()
                .filter(|c| wanted(way_a.word(*c), way_b.word(*c)))
                .collect()
        };
        let rater = |c: &Conditions| {
            let code = c.rater.as_deref()?.trim().to_lowercase();
            (!code.is_empty()).then_some(code)
        };
        Self {
            differing: of(|a, b| a != b),
            unsaid: of(|a, b| a.is_none() && b.is_none()),
            is_other_rater: rater(a).zip(rater(b)).map(|(a, b)| a != b),
        }
    }

    /// Whether the raises were done the same way, as far as is known.
    pub fn is_same_way(&self) -> bool {
        self.differing.is_empty()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn conditions(words: [Option<&str>; 4]) -> Conditions {
        let [movement, ankle, asked_for, rater] = words.map(|word| word.map(str::to_owned));
        Conditions {
            movement,
            ankle,
            asked_for,
            rater,
        }
    }

    #[test]
    fn only_the_same_way_is_compared() {
        let a = conditions([Some("active"), Some("relaxed"), Some("limit"), Some("R1")]);
        let same = conditions([Some(" Active"), Some("relaxed"), Some("limit"), Some("r1")]);
        let found = Comparison::of(&a, &same);
        assert!(found.is_same_way() && found.unsaid.is_empty());
        assert_eq!(found.is_other_rater, Some(false));
        let passive = conditions([Some("passive"), None, Some("limit"), Some("R2")]);
        let found = Comparison::of(&a, &passive);
        assert_eq!(found.differing, [Condition::Movement, Condition::Ankle]);
        assert!(!found.is_same_way());
        assert_eq!(found.is_other_rater, Some(true));
    }

    #[test]
    fn what_nobody_said_is_told_and_allowed() {
        let nothing = conditions([None; 4]);
        let found = Comparison::of(&nothing, &conditions([Some(" "), None, None, None]));
        assert!(found.is_same_way());
        assert_eq!(found.unsaid, Condition::ALL);
        assert_eq!(found.is_other_rater, None);
    }
}
