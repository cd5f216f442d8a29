//! The casebook's own care: backups, whose keeping time is over, and what the practitioner sets.

use std::path::PathBuf;

use casebook::store::Passphrase;

use super::{Effect, Fault, Model, Screen, Secret};
use crate::window::desk::{Ask, Kept, Own, Upkeep};

/// What is done.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(in crate::window) enum Chore {
    /// A copy.
    #[default]
    BackUp,
    /// A copy in the casebook's place.
    Restore,
    /// Whose keeping time is over.
    Due,
    /// Edges of the bands.
    Bands,
    /// Rules.
    Rules,
}

impl Chore {
    /// All, in the order in which they are offered.
    pub(in crate::window) const ALL: [Self; 5] = [
        Self::BackUp,
        Self::Restore,
        Self::Due,
        Self::Bands,
        Self::Rules,
    ];
}

/// What is wanted.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::window) enum ShelfAct {
    /// Look after the casebook; of one that can't be opened only a backup can be restored.
    Open,
    /// This chore.
    Chore(Chore),
    /// Where a copy goes.
    To(String),
    /// Where a copy lies.
    From(String),
    /// The copy's passphrase.
    Phrase(Secret),
    /// Edges as they are typed.
    Edges(String),
    /// Months as they are typed.
    Months(String),
    /// This rule.
    Rule(&'static str),
    /// Its value as it is typed.
    Value(String),
    /// Why.
    Reason(String),
    /// Do it.
    Do,
}

/// The casebook's care.
#[derive(Clone, Debug, Default)]
pub(in crate::window) struct Shelf {
    pub(in crate::window) chore: Chore,
    /// As the casebook has it.
    pub(in crate::window) kept: Option<Kept>,
    pub(in crate::window) to: PathBuf,
    pub(in crate::window) from: PathBuf,
    pub(in crate::window) phrase: Secret,
    pub(in crate::window) edges: String,
    pub(in crate::window) months: String,
    pub(in crate::window) rule: Option<&'static str>,
    pub(in crate::window) value: String,
    pub(in crate::window) reason: String,
}

impl Model {
    pub(super) fn on_shelf(&mut self, act: ShelfAct) -> Vec<Effect> {
        let shelf = &mut self.book.shelf;
        match act {
            ShelfAct::Open => return self.open_shelf(),
            ShelfAct::Chore(chore) => {
                shelf.chore = chore;
                shelf.reason.clear();
                shelf.phrase = Secret::default();
                self.book.fault = None;
                self.book.deed = None;
            }
            ShelfAct::To(text) => shelf.to = PathBuf::from(text),
            ShelfAct::From(text) => shelf.from = PathBuf::from(text),
            ShelfAct::Phrase(phrase) => shelf.phrase = phrase,
            ShelfAct::Edges(text) => shelf.edges = text,
            ShelfAct::Months(text) => shelf.months = text,
            ShelfAct::Rule(key) => {
                let value = shelf.kept.as_ref().and_then(|kept| kept.rules.get(key));
                shelf.value = value.map(|value| value.to_string()).unwrap_or_default();
                shelf.rule = Some(key);
            }
            ShelfAct::Value(text) => shelf.value = text,
            ShelfAct::Reason(text) => shelf.reason = text,
            ShelfAct::Do if self.book.waiting == 0 => return self.do_chore(),
            ShelfAct::Do => {}
        }
        Vec::new()
    }

    fn open_shelf(&mut self) -> Vec<Effect> {
        let today = self.civil.date();
        let book = &mut self.book;
        let edges = book.bands.edges().iter().map(|e| e.degrees().to_string());
        book.shelf = Shelf {
            chore: if book.is_open {
                Chore::BackUp
            } else {
                Chore::Restore
            },
            to: book.path.with_file_name(format!("casebook-{today}.db")),
            edges: edges.collect::<Vec<_>>().join("  "),
            ..Shelf::default()
        };
        book.deed = None;
        book.fault = None;
        let is_open = book.is_open;
        let mut effects = self.go(Screen::Shelf);
        if is_open {
            effects.extend(self.ask(Ask::Upkeep(Upkeep::Shelf(today))));
        }
        effects
    }

    fn do_chore(&mut self) -> Vec<Effect> {
        match self.chore() {
            Ok(ask) => {
                // It isn't kept longer than it takes.
                self.book.shelf.phrase = Secret::default();
                ask.map(|ask| self.ask(ask)).unwrap_or_default()
            }
            Err(fault) => {
                self.book.deed = None;
                self.book.fault = Some(fault);
                Vec::new()
            }
        }
    }

    /// What is to be asked of the casebook, or what is missing.
    fn chore(&self) -> Result<Option<Ask>, Fault> {
        let shelf = &self.book.shelf;
        let own = match shelf.chore {
            Chore::BackUp => {
                let to = shelf.to.clone();
                return Ok(Some(Ask::Upkeep(Upkeep::BackUp(to))));
            }
            Chore::Restore if self.running.is_some() => return Err(Fault::Running),
            Chore::Restore => {
                return Ok(Some(Ask::Restore {
                    from: shelf.from.clone(),
                    path: self.book.path.clone(),
                    passphrase: Passphrase::new(&shelf.phrase.0),
                    data: self.settings.folder.clone(),
                }));
            }
            Chore::Due => {
                let months = shelf.months.trim().parse();
                Own::Months(months.map_err(|_odd| Fault::NotMonths)?)
            }
            Chore::Bands => Own::Bands(numbers(&shelf.edges)?),
            Chore::Rules => {
                let Some(key) = shelf.rule else {
                    return Ok(None);
                };
                match numbers(&shelf.value)?[..] {
                    [value] => Own::Rule(key, value),
                    _ => return Err(Fault::NotNumbers),
                }
            }
        };
        let because = shelf.reason.trim().to_owned();
        let today = self.civil.date();
        Ok(Some(Ask::Upkeep(Upkeep::Set(own, because, today))))
    }
}

/// Numbers between spaces or semicolons, with a point or a comma.
fn numbers(text: &str) -> Result<Vec<f64>, Fault> {
    let words = text.split(|c: char| c.is_whitespace() || c == ';');
    let words = words
        .map(|word| word.trim_end_matches(','))
        .filter(|word| !word.is_empty());
    words
        .map(|word| word.replace(',', ".").parse())
        .collect::<Result<_, _>>()
        .map_err(|_odd| Fault::NotNumbers)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_read_as_people_write_them() {
        for text in ["45 60 90", "45, 60, 90", "45;60;90", " 45,0  60.0;90 "] {
            assert_eq!(numbers(text).unwrap(), [45.0, 60.0, 90.0], "{text}");
        }
        assert!(numbers("45 sixty").is_err());
    }
}
