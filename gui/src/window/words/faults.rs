//! Why something of the casebook wasn't done, and what to do about it.

use casebook::Caution;
use casebook::report::said;
use casebook::store::{ConsentFault, StoreError, StoreErrorKind as Kind};

use super::{Language, phrases};
use crate::book::BookFault;
use crate::error::CommandError;
use crate::window::model::Fault;

phrases! {
    /// What is wrong.
    Wrong {
        Missing = "There is no casebook at {}. Name another file, or make a new one.", "Bei {} ist kein Fallbuch. Eine andere Datei nennen oder ein neues anlegen.";
        Exists = "There is a file at {} already. It is left as it is: name another, or open it.", "Bei {} ist schon eine Datei. Sie bleibt, wie sie ist: eine andere nennen oder diese öffnen.";
        Held = "The casebook is open in another program ({}). Close that one, or wait until it is done.", "Das Fallbuch ist in einem anderen Programm offen ({}). Jenes schließen oder warten, bis es fertig ist.";
        Passphrase = "This passphrase doesn't open it. Type it again, with small and capital letters as they were. If it is right, the file is damaged or no casebook: restore a backup.", "Diese Passphrase öffnet es nicht. Noch einmal eingeben, mit Groß- und Kleinbuchstaben wie damals. Ist sie richtig, ist die Datei beschädigt oder kein Fallbuch: eine Sicherung zurückholen.";
        Weak = "The passphrase must have 10 characters or more. Take several words.", "Die Passphrase braucht mindestens 10 Zeichen. Mehrere Wörter nehmen.";
        NotOne = "This file is no casebook: {}. Name the casebook's own file.", "Diese Datei ist kein Fallbuch: {}. Die Datei des Fallbuchs nennen.";
        Cut = "The casebook is cut short or damaged ({}). Leave it as it is and restore a backup: legraise book restore.", "Das Fallbuch ist abgeschnitten oder beschädigt ({}). So lassen und eine Sicherung zurückholen: legraise book restore.";
        Newer = "A newer program wrote this casebook. Use that one.", "Ein neueres Programm hat dieses Fallbuch geschrieben. Jenes benutzen.";
        Full = "The disk is full; nothing was changed. Make room and do it again.", "Die Platte ist voll; nichts wurde geändert. Platz schaffen und noch einmal.";
        ReadOnly = "The casebook may not be written; nothing was changed. Allow writing to the file and its folder.", "Das Fallbuch darf nicht geschrieben werden; nichts wurde geändert. Das Schreiben in Datei und Ordner erlauben.";
        NoReason = "Say why it is changed: the former value is kept with the reason.", "Sagen, warum es geändert wird: Der frühere Wert bleibt mit dem Grund erhalten.";
        ConsentNone = "This client has given no consent. Ask, and note it, before anything is recorded.", "Diese Person hat nicht eingewilligt. Fragen und vermerken, bevor etwas aufgenommen wird.";
        ConsentLater = "The consent is dated {}, later than today. Correct it.", "Die Einwilligung ist auf {} datiert, später als heute. Berichtigen.";
        ConsentWithdrawn = "This client took consent back on {}: nothing is recorded any more. Ask again, and note it if it is given.", "Diese Person hat die Einwilligung am {} widerrufen: Es wird nichts mehr aufgenommen. Neu fragen und vermerken, wenn sie gegeben wird.";
        Unasked = "The cautions of this visit were not asked. Ask them first.", "Die Vorsichtsfragen dieses Besuchs fehlen. Zuerst fragen.";
        Forbidden = "Don't test: {}.", "Nicht testen: {}.";
        NothingNew = "The casebook found no new recording of this visit.", "Das Fallbuch fand keine neue Aufnahme dieses Besuchs.";
        Differs = "The two passphrases differ. Type them again.", "Die zwei Passphrasen sind verschieden. Noch einmal eingeben.";
        NoName = "The client needs a name.", "Die Person braucht einen Namen.";
        NotAYear = "The year of birth is no year. Write four figures, or leave it empty.", "Das Geburtsjahr ist kein Jahr. Vier Ziffern schreiben oder leer lassen.";
        NoVersion = "Write to which version of the text consent was given.", "Schreiben, welcher Fassung des Textes zugestimmt wurde.";
        NotKept = "The visit isn't in the casebook yet. Go back to the cautions and on again.", "Der Besuch steht noch nicht im Fallbuch. Zurück zu den Vorsichtsfragen und wieder weiter.";
    }
}

impl Language {
    /// Why something of the casebook wasn't done.
    pub(in crate::window) fn fault(self, fault: &Fault) -> String {
        let own = match fault {
            Fault::Command(e) => return self.command_fault(e),
            Fault::Differs => Wrong::Differs,
            Fault::NoName => Wrong::NoName,
            Fault::NotAYear => Wrong::NotAYear,
            Fault::NoVersion => Wrong::NoVersion,
            Fault::NotKept => Wrong::NotKept,
        };
        self.say(own).to_owned()
    }

    fn command_fault(self, e: &CommandError) -> String {
        match e {
            CommandError::Store(e) => self.store_fault(e),
            CommandError::Book(fault) => match fault {
                BookFault::Consent(ConsentFault::None { .. }) => {
                    self.say(Wrong::ConsentNone).to_owned()
                }
                BookFault::Consent(ConsentFault::Later { given, .. }) => {
                    self.fill(Wrong::ConsentLater, &[&self.report().date(*given)])
                }
                BookFault::Consent(ConsentFault::Withdrawn { withdrawn, .. }) => {
                    self.fill(Wrong::ConsentWithdrawn, &[&self.report().date(*withdrawn)])
                }
                BookFault::Unasked { .. } => self.say(Wrong::Unasked).to_owned(),
                BookFault::Forbidden { caution, .. } => {
                    self.fill(Wrong::Forbidden, &[self.caution(*caution)])
                }
                BookFault::NothingNew { .. } => self.say(Wrong::NothingNew).to_owned(),
                other => other.to_string(),
            },
            other => other.to_string(),
        }
    }

    fn store_fault(self, e: &StoreError) -> String {
        let path = e.path.display().to_string();
        let (phrase, part) = match &e.kind {
            Kind::Missing => (Wrong::Missing, path),
            Kind::Exists => (Wrong::Exists, path),
            Kind::Held { who } => (Wrong::Held, who.clone()),
            Kind::Passphrase => (Wrong::Passphrase, String::new()),
            Kind::WeakPassphrase(_) => (Wrong::Weak, String::new()),
            Kind::NotACasebook { what } => (Wrong::NotOne, (*what).to_owned()),
            Kind::CutShort { what } | Kind::Damaged { what } => (Wrong::Cut, what.clone()),
            Kind::Newer { .. } => (Wrong::Newer, String::new()),
            Kind::Full => (Wrong::Full, String::new()),
            Kind::ReadOnly => (Wrong::ReadOnly, String::new()),
            Kind::NoReason { .. } => (Wrong::NoReason, String::new()),
            _ => return e.to_string(),
        };
        self.fill(phrase, &[&part])
    }

    /// A caution in short.
    pub(in crate::window) fn caution(self, caution: Caution) -> &'static str {
        said::cautious(self.report(), caution)
    }
}
