//! All wording of the window. A phrase has one text in each language; one that lacks a language doesn't compile.
//!
//! `{}` stands for what is filled in, in order. Words of files (`pull`, `opposite-leg` …) are turned into phrases here,
//! so that what is shown can differ from what is written.

mod care;
mod desk;
mod facts;
mod faults;
mod flow;
mod live;
#[cfg(feature = "ble")]
mod near;
mod practice;
mod rules;
mod upkeep;
mod weeks;

pub(super) use care::Care;
pub(super) use desk::Desk;
pub(super) use facts::{flag, link, link_is_well, placement, reason, side, source, state, why};
pub(super) use flow::Flow;
pub(super) use live::Live;
#[cfg(feature = "ble")]
pub(super) use near::Near;
pub(super) use practice::Practice;
pub(super) use upkeep::Upkeep;
pub(super) use weeks::Weeks;

/// The languages of the window.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Language {
    /// English.
    #[default]
    English,
    /// German.
    German,
}

impl Language {
    /// All, in the order in which they are offered.
    pub(super) const ALL: [Self; 2] = [Self::English, Self::German];

    /// Its own name.
    pub(super) const fn name(self) -> &'static str {
        match self {
            Self::English => "English",
            Self::German => "Deutsch",
        }
    }

    /// Its code in the settings.
    pub(super) const fn code(self) -> &'static str {
        match self {
            Self::English => "en",
            Self::German => "de",
        }
    }

    /// The language of a code.
    pub(super) fn of_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|l| l.code() == code)
    }

    /// The same for reports and what they say.
    pub(super) const fn report(self) -> casebook::report::Language {
        match self {
            Self::English => casebook::report::Language::English,
            Self::German => casebook::report::Language::German,
        }
    }

    /// A phrase.
    pub(super) fn say(self, phrase: impl Phrase) -> &'static str {
        phrase.text(self)
    }

    /// A phrase with what is filled in.
    pub(super) fn fill(self, phrase: impl Phrase, parts: &[&str]) -> String {
        casebook::report::filled(phrase.text(self), parts)
    }

    /// A number with so many decimals, with this language's decimal sign and a real minus.
    pub(super) fn number(self, value: f64, decimals: usize) -> String {
        self.report().number(value, decimals)
    }

    /// A number as it was entered, with this language's decimal sign.
    pub(super) fn plain(self, value: f64) -> String {
        let text = value.to_string();
        match self {
            Self::English => text,
            Self::German => text.replace('.', ","),
        }
    }

    /// Degrees with one decimal.
    pub(super) fn degrees(self, deg: f64) -> String {
        format!("{}°", self.number(deg, 1))
    }
}

/// Something that is said in every language.
pub(super) trait Phrase: Copy {
    /// Its text.
    fn text(self, language: Language) -> &'static str;
}

/// Phrases: `Key = "English", "German";`.
macro_rules! phrases {
    ($(#[$about:meta])* $name:ident { $($(#[$on:meta])* $key:ident = $english:literal, $german:literal;)+ }) => {
        $(#[$about])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub(in crate::window) enum $name { $($(#[$on])* #[doc = $english] $key,)+ }

        impl $name {
            /// Every phrase.
            #[cfg(test)]
            pub(in crate::window) const ALL: &[Self] = &[$($(#[$on])* Self::$key),+];
        }

        impl $crate::window::words::Phrase for $name {
            fn text(self, language: $crate::window::words::Language) -> &'static str {
                use $crate::window::words::Language;
                match (self, language) {
                    $($(#[$on])* (Self::$key, Language::English) => $english,
                      $(#[$on])* (Self::$key, Language::German) => $german,)+
                }
            }
        }
    };
}
use phrases;

#[cfg(test)]
mod tests {
    use super::*;

    pub(super) fn is_sound(phrase: impl Phrase + std::fmt::Debug) {
        let gaps = |language| language_gaps(phrase.text(language));
        assert_eq!(
            gaps(Language::English),
            gaps(Language::German),
            "{phrase:?}"
        );
        for language in Language::ALL {
            assert!(!phrase.text(language).trim().is_empty(), "{phrase:?}");
        }
    }

    fn language_gaps(text: &str) -> usize {
        text.matches("{}").count()
    }

    #[test]
    fn both_languages_fill_the_same_gaps() {
        Flow::ALL.iter().copied().for_each(is_sound);
        Live::ALL.iter().copied().for_each(is_sound);
        Care::ALL.iter().copied().for_each(is_sound);
        Desk::ALL.iter().copied().for_each(is_sound);
        Practice::ALL.iter().copied().for_each(is_sound);
        Weeks::ALL.iter().copied().for_each(is_sound);
        Upkeep::ALL.iter().copied().for_each(is_sound);
        faults::Wrong::ALL.iter().copied().for_each(is_sound);
        #[cfg(feature = "ble")]
        Near::ALL.iter().copied().for_each(is_sound);
    }

    #[test]
    fn numbers_have_the_sign_of_their_language() {
        assert_eq!(Language::English.degrees(-1.25), "\u{2212}1.3°");
        assert_eq!(Language::German.degrees(62.34), "62,3°");
        assert_eq!(Language::English.degrees(-0.01), "0.0°");
    }
}
