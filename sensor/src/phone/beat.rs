//! What the pacer's page shows: one stretch of a drill, how much of it is left, and the words to it.

use std::time::Instant;

use serde::Serialize;

use super::message::Say;

/// How the circle goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Circle {
    /// Grows.
    Grow,
    /// Shrinks.
    Shrink,
    /// Grows and shrinks again.
    Swing,
    /// Stays large.
    Large,
    /// Stays small.
    Small,
}

/// One stretch of a drill, as it stood at a moment.
#[derive(Clone, Debug, PartialEq)]
pub struct Beat {
    /// How the circle goes.
    pub circle: Circle,
    /// How long it takes in all, s.
    pub length_s: f64,
    /// How much of that was left, s.
    pub left_s: f64,
    /// When that was so.
    pub at: Instant,
    /// Whether time goes on.
    pub is_running: bool,
    /// What to do, in a word or two.
    pub word: String,
    /// What more is said to it; may be empty.
    pub say: String,
    /// Which set, which repetition.
    pub count: String,
}

impl Beat {
    /// As it stands now: the page counts on by itself.
    pub(super) fn told(&self, now: Instant) -> Say {
        let since_s = now.saturating_duration_since(self.at).as_secs_f64();
        let since_s = if self.is_running { since_s } else { 0.0 };
        Say::Beat {
            beat: self.circle,
            of: self.length_s,
            left: (self.left_s - since_s).max(0.0),
            on: self.is_running,
            word: self.word.clone(),
            say: self.say.clone(),
            count: self.count.clone(),
        }
    }
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use super::*;

    #[test]
    fn what_is_left_is_of_the_moment_it_is_told() {
        let at = Instant::now();
        let beat = |is_running| Beat {
            circle: Circle::Grow,
            length_s: 4.0,
            left_s: 3.0,
            at,
            is_running,
            word: "breathe in".to_owned(),
            say: String::new(),
            count: "set 1 of 2".to_owned(),
        };
        let left = |is_running, s| {
            let say = beat(is_running).told(at + Duration::from_secs(s));
            let text = serde_json::to_string(&say).unwrap();
            let value: serde_json::Value = serde_json::from_str(&text).unwrap();
            assert_eq!(value["beat"], "grow");
            value["left"].as_f64().unwrap()
        };
        assert!((left(true, 1) - 2.0).abs() < 1e-9);
        assert!(left(true, 9).abs() < 1e-9, "never below nought");
        assert!((left(false, 9) - 3.0).abs() < 1e-9, "a pause stands still");
    }
}
