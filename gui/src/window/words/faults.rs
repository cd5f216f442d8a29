//! Why something of the casebook wasn't done, and what to do about it.

use casebook::export::share::ShareError;
use casebook::report::said;
use casebook::store::{ConsentFault, StoreError, StoreErrorKind as Kind};
use casebook::{BandsError, Caution, RuleError, Rules};

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
        Cut = "The casebook is cut short or damaged ({}). Leave it as it is and restore a backup: the button for it is on this page.", "Das Fallbuch ist abgeschnitten oder beschädigt ({}). So lassen und eine Sicherung zurückholen: Der Knopf dafür ist auf dieser Seite.";
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
        Running = "A recording goes on. End it first, and wait until it is written.", "Eine Aufnahme läuft. Zuerst beenden und warten, bis sie geschrieben ist.";
        NoOther = "Choose the other client first.", "Zuerst die andere Person wählen.";
        NoRun = "Choose the recording first.", "Zuerst die Aufnahme wählen.";
        NoConsent = "There is no consent that could be taken back.", "Es gibt keine Einwilligung, die widerrufen werden könnte.";
        NotTyped = "What is typed is neither the code nor the name of this client. Nothing was erased: type it exactly as it stands above.", "Das Getippte ist weder das Kürzel noch der Name dieser Person. Nichts wurde gelöscht: genau so eingeben, wie es oben steht.";
        NotNumbers = "These are no numbers. Write figures, with spaces between them.", "Das sind keine Zahlen. Ziffern schreiben, dazwischen Leerzeichen.";
        NotMonths = "This is no number of months. Write a whole number.", "Das ist keine Zahl von Monaten. Eine ganze Zahl schreiben.";
        Range = "{} may be from {} to {} {}. Correct the number.", "{}: erlaubt von {} bis {} {}. Die Zahl berichtigen.";
        NotWhole = "{} must be a whole number. Correct it.", "{}: nur ganze Zahlen. Berichtigen.";
        EdgeRange = "An edge is at {}°: it must lie above 0° and below 180°. Correct it.", "Eine Grenze liegt bei {}°: Sie muss über 0° und unter 180° liegen. Berichtigen.";
        EdgeOrder = "The edge at {}° isn't above the one before. Write the edges from low to high.", "Die Grenze bei {}° liegt nicht über der vorigen. Die Grenzen von klein nach groß schreiben.";
        Occupied = "There is something in the folder {} already. Nothing was written: name a new folder.", "Im Ordner {} liegt schon etwas. Nichts wurde geschrieben: einen neuen Ordner nennen.";
        Journal = "A recording of this client goes on, or was broken off ({}). End it first; one that was broken off is brought back by the next recording.", "Eine Aufnahme dieser Person läuft oder wurde abgebrochen ({}). Zuerst beenden; eine abgebrochene kommt mit der nächsten Aufnahme zurück.";
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
            Fault::Running => Wrong::Running,
            Fault::NoOther => Wrong::NoOther,
            Fault::NoRun => Wrong::NoRun,
            Fault::NoConsent => Wrong::NoConsent,
            Fault::NotTyped => Wrong::NotTyped,
            Fault::NotNumbers => Wrong::NotNumbers,
            Fault::NotMonths => Wrong::NotMonths,
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
                BookFault::Rule(e) => self.rule_fault(e),
                BookFault::Bands(BandsError::OutOfRange { deg }) => {
                    self.fill(Wrong::EdgeRange, &[&self.plain(*deg)])
                }
                BookFault::Bands(BandsError::Unsorted { deg }) => {
                    self.fill(Wrong::EdgeOrder, &[&self.plain(*deg)])
                }
                BookFault::Journal(path) => {
                    self.fill(Wrong::Journal, &[&path.display().to_string()])
                }
                other => other.to_string(),
            },
            CommandError::Occupied(path) | CommandError::Share(ShareError::Occupied(path)) => {
                self.fill(Wrong::Occupied, &[&path.display().to_string()])
            }
            other => other.to_string(),
        }
    }

    fn rule_fault(self, e: &RuleError) -> String {
        let of = |key: &str| {
            let mut all = Rules::ALL.iter();
            all.find(|info| info.key == key).map(|info| self.rule(info))
        };
        match e {
            RuleError::Range {
                key, least, most, ..
            } => {
                let (unit, about) = of(key).unwrap_or_default();
                let limits = [self.plain(*least), self.plain(*most)];
                self.fill(Wrong::Range, &[about, &limits[0], &limits[1], unit])
            }
            RuleError::NotWhole { key, .. } => {
                let (_, about) = of(key).unwrap_or_default();
                self.fill(Wrong::NotWhole, &[about])
            }
            RuleError::Unknown { .. } => e.to_string(),
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
