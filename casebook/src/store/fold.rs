//! Text as it is searched: without accents and capitals.

use unicode_normalization::UnicodeNormalization as _;
use unicode_normalization::char::is_combining_mark;

/// Letters that don't come apart into a letter and an accent.
const APART: [(char, &str); 10] = [
    ('ß', "ss"),
    ('æ', "ae"),
    ('œ', "oe"),
    ('ø', "o"),
    ('ł', "l"),
    ('đ', "d"),
    ('ð', "d"),
    ('þ', "th"),
    ('ı', "i"),
    ('ħ', "h"),
];

/// A text without accents and capitals; all kinds of blanks are one.
pub(super) fn fold(text: &str) -> String {
    let mut folded = String::with_capacity(text.len());
    let plain = text.nfkd().filter(|c| !is_combining_mark(*c));
    for letter in plain.flat_map(char::to_lowercase) {
        match APART.iter().find(|(whole, _)| *whole == letter) {
            Some((_, parts)) => folded.push_str(parts),
            // What lower case brings with it, such as the dot of a Turkish capital I.
            None if is_combining_mark(letter) => {}
            None if letter.is_whitespace() => folded.push(' '),
            None => folded.push(letter),
        }
    }
    folded
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn accents_and_capitals_do_not_count() {
        for (text, folded) in [
            ("Zoë Ångström", "zoe angstrom"),
            ("GROSS Groß", "gross gross"),
            ("Łukasz\u{a0}Ørsted", "lukasz orsted"),
            ("İpek", "ipek"),
            ("e\u{301}", "e"),
            ("山田 ﬁ", "山田 fi"),
        ] {
            assert_eq!(fold(text), folded);
        }
    }
}
