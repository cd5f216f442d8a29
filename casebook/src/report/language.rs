//! The languages of reports, and how each writes numbers and days.

use jiff::civil::Date;

/// The language of a report.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Language {
    /// English.
    #[default]
    English,
    /// German.
    German,
}

/// A text with what is put in for each `{}`, in order.
pub fn filled(text: &str, parts: &[&str]) -> String {
    let mut whole = String::new();
    let mut parts = parts.iter();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once("{}") {
        whole.push_str(before);
        whole.push_str(parts.next().copied().unwrap_or_default());
        rest = after;
    }
    whole.push_str(rest);
    whole
}

impl Language {
    /// All of them.
    pub const ALL: [Self; 2] = [Self::English, Self::German];

    /// As pages and arguments name it.
    pub const fn code(self) -> &'static str {
        match self {
            Self::English => "en",
            Self::German => "de",
        }
    }

    /// The language of a code.
    pub fn of_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|known| known.code() == code)
    }

    /// A phrase.
    pub(crate) fn say(self, phrase: impl Phrase) -> &'static str {
        phrase.text(self)
    }

    /// A phrase with what is filled in, in order.
    pub(crate) fn fill(self, phrase: impl Phrase, parts: &[&str]) -> String {
        filled(phrase.text(self), parts)
    }

    /// A number with so many decimals, this language's decimal sign and a real minus.
    pub fn number(self, value: f64, decimals: usize) -> String {
        let unit = 10_f64.powi(i32::try_from(decimals).unwrap_or(0));
        // A value that rounds to nought has no sign.
        let rounded = (value * unit).round() / unit + 0.0;
        let text = format!("{rounded:.decimals$}").replace('-', "\u{2212}");
        match self {
            Self::English => text,
            Self::German => text.replace('.', ","),
        }
    }

    /// The same with a sign in any case.
    pub(crate) fn signed(self, value: f64, decimals: usize) -> String {
        let text = self.number(value, decimals);
        if value > 0.0 && text.chars().any(|c| matches!(c, '1'..='9')) {
            format!("+{text}")
        } else {
            text
        }
    }

    /// A day as this language writes it.
    pub fn date(self, date: Date) -> String {
        match self {
            Self::English => date.to_string(),
            Self::German => format!("{:02}.{:02}.{}", date.day(), date.month(), date.year()),
        }
    }
}

/// Decimals of an angle whose expanded uncertainty is `u_deg`: whole degrees unless it is known better than by half.
pub(crate) fn decimals(u_deg: f64) -> usize {
    usize::from(u_deg < 0.5)
}

/// Something that is said in every language.
pub(crate) trait Phrase: Copy {
    /// Its text.
    fn text(self, language: Language) -> &'static str;
}

/// Phrases: `Key = "English", "German";`. One that lacks a language doesn't compile.
macro_rules! phrases {
    ($(#[$about:meta])* $name:ident { $($key:ident = $english:literal, $german:literal;)+ }) => {
        $(#[$about])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub(crate) enum $name { $(#[doc = $english] $key,)+ }

        impl $name {
            /// Every phrase.
            #[cfg(test)]
            pub(crate) const ALL: &[Self] = &[$(Self::$key),+];
        }

        impl $crate::report::language::Phrase for $name {
            fn text(self, language: $crate::report::Language) -> &'static str {
                use $crate::report::Language;
                match (self, language) {
                    $((Self::$key, Language::English) => $english,
                      (Self::$key, Language::German) => $german,)+
                }
            }
        }
    };
}
pub(crate) use phrases;

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn numbers_and_days_are_written_as_each_language_does() {
        assert_eq!(Language::English.number(-1.25, 1), "\u{2212}1.3");
        assert_eq!(Language::German.number(62.34, 1), "62,3");
        assert_eq!(Language::English.number(-0.01, 1), "0.0");
        assert_eq!(Language::English.signed(0.04, 1), "0.0");
        assert_eq!(Language::German.signed(3.85, 1), "+3,9");
        assert_eq!(Language::English.date(date(2026, 3, 2)), "2026-03-02");
        assert_eq!(Language::German.date(date(2026, 3, 2)), "02.03.2026");
        assert_eq!(Language::of_code("de"), Some(Language::German));
        assert_eq!(Language::of_code("xx"), None);
    }

    #[test]
    fn whole_degrees_unless_known_better() {
        assert_eq!([0.1, 0.499, 0.5, 3.0].map(decimals), [1, 1, 0, 0]);
    }
}
