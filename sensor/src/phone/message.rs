//! What pages and this program say to each other: JSON, in short words, since a phone sends thirty a second.

use serde::{Deserialize, Serialize};

use super::beat::Circle;

/// No message of a page may be longer, bytes.
pub(super) const BYTES_MAX: usize = 16 * 1024;
/// Nor the first one.
pub(super) const HELLO_BYTES_MAX: usize = 512;
/// No message may hold more readings.
const READINGS_MAX: usize = 128;

/// One reading of a page: milliseconds of the page's clock, specific force in m/s², turning rate in °/s about x, y, z.
/// What the phone didn't give is null.
pub(super) type Raw = (
    f64,
    Option<f64>,
    Option<f64>,
    Option<f64>,
    Option<f64>,
    Option<f64>,
    Option<f64>,
);

/// The first message: who the page is and how it proves it.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Hello {
    /// Version of this language.
    #[serde(rename = "hello")]
    pub(super) version: u8,
    /// A token that was never used.
    #[serde(default)]
    pub(super) t: Option<String>,
    /// The key of a session that was there before.
    #[serde(default)]
    pub(super) r: Option<String>,
    /// `shin`, `marker` or `pacer`.
    pub(super) role: String,
    /// When the page was loaded, ms: another one has a clock of its own.
    pub(super) o: f64,
}

/// What a page says after that.
#[derive(Clone, Debug, Deserialize)]
#[serde(untagged)]
pub(super) enum Said {
    /// Readings, the first of which has this number.
    Readings(Readings),
    /// The way up, as the phone's orientation has it: beta and gamma, degrees.
    Orientation {
        /// Pairs.
        u: Vec<(f64, f64)>,
    },
    /// The answer to a question.
    Answer {
        /// Which.
        q: u64,
        /// The page's clock, ms.
        c: f64,
    },
    /// A press of the marker.
    Press {
        /// Its number: the same again is the same press.
        mk: u64,
        /// When, ms of the page's clock.
        t: f64,
    },
}

/// Readings in order.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Readings {
    /// Number of the first: all that the page was given are counted, whether they come or not.
    pub(super) s: u64,
    /// How often the page was hidden so far.
    #[serde(default)]
    pub(super) h: u64,
    /// The readings.
    pub(super) d: Vec<Raw>,
}

/// What this program says to a page.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(untagged)]
pub(super) enum Say {
    /// Welcome; the key for next time, and what to call itself.
    Welcome {
        /// 1.
        ok: u8,
        /// The key.
        r: String,
        /// A name.
        name: String,
    },
    /// What is the page's clock? And readings before this number have come.
    Question {
        /// Number of the question.
        q: u64,
        /// Number of the first reading that hasn't come.
        a: u64,
    },
    /// A press has come.
    Pressed {
        /// Which.
        mk: u64,
    },
    /// Tell the person.
    Cue {
        /// What: `stop` or `end`.
        cue: &'static str,
    },
    /// What the pacer shows from now on.
    Beat {
        /// How the circle goes.
        beat: Circle,
        /// How long in all, s.
        of: f64,
        /// How much is left, s.
        left: f64,
        /// Whether time goes on.
        on: bool,
        /// What to do.
        word: String,
        /// What more is said to it.
        say: String,
        /// Which repetition.
        count: String,
    },
}

/// Reads what a page says; `None` if it is none of it.
pub(super) fn said(text: &str) -> Option<Said> {
    let said: Said = serde_json::from_str(text).ok()?;
    let is_bounded = match &said {
        Said::Readings(readings) => readings.d.len() <= READINGS_MAX,
        Said::Orientation { u } => u.len() <= READINGS_MAX,
        Said::Answer { c, .. } => c.is_finite(),
        Said::Press { t, .. } => t.is_finite(),
    };
    is_bounded.then_some(said)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn messages_are_read_and_others_are_not() {
        let text = r#"{"s":7,"n":12.5,"l":0,"h":1,"d":[[10.25,0.1,null,9.8,-15,0,0.1]]}"#;
        assert!(said(text).is_none(), "what nobody knows is refused");
        let text = r#"{"s":7,"h":1,"d":[[10.25,0.1,null,9.8,-15,0,0.1]]}"#;
        let Some(Said::Readings(readings)) = said(text) else {
            panic!("{text}")
        };
        assert_eq!(
            (readings.s, readings.d[0].2, readings.d[0].3),
            (7, None, Some(9.8))
        );
        assert!(matches!(
            said(r#"{"q":3,"c":1.5}"#),
            Some(Said::Answer { q: 3, .. })
        ));
        assert!(matches!(
            said(r#"{"mk":1,"t":99.5}"#),
            Some(Said::Press { mk: 1, .. })
        ));
        assert!(matches!(
            said(r#"{"u":[[-60,0]]}"#),
            Some(Said::Orientation { .. })
        ));
        for wrong in [
            "",
            "[]",
            "{",
            r#"{"s":-1,"d":[]}"#,
            r#"{"q":1}"#,
            "null",
            r#"{"mk":1,"t":"x"}"#,
        ] {
            assert!(said(wrong).is_none(), "{wrong}");
        }
        let many = format!(
            r#"{{"s":0,"d":[{}]}}"#,
            vec!["[0,0,0,0,0,0,0]"; 129].join(",")
        );
        assert!(said(&many).is_none());
    }

    #[test]
    fn words_to_a_page_are_short() {
        let text = serde_json::to_string(&Say::Question { q: 4, a: 17 }).unwrap();
        assert_eq!(text, r#"{"q":4,"a":17}"#);
    }
}
