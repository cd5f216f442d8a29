//! What is said of what is kept: of a client, and of the casebook as a whole.

use casebook::report::filled;

use super::{Language, Phrase as _, phrases};
use crate::window::desk::Deed;

phrases! {
    /// Phrases of a client's affairs and of the casebook's care.
    Upkeep {
        AffairsNow = "Choose what is to be done with what is kept of this client.", "Wählen, was mit dem geschieht, was von dieser Person aufbewahrt wird.";
        Which = "What is to be done", "Was zu tun ist";
        History = "Look at changes", "Änderungen ansehen";
        Consent = "Take consent back", "Einwilligung widerrufen";
        Give = "Hand everything over", "Alles übergeben";
        Move = "Move a recording", "Eine Aufnahme verschieben";
        Merge = "Join two entries", "Zwei Einträge verbinden";
        Forget = "Forget the client", "Die Person vergessen";

        HistoryBody = "Every change stays here: what it was before, when, and why.", "Jede Änderung bleibt hier: was vorher stand, wann und warum.";
        HistoryNone = "Nothing was changed yet.", "Noch wurde nichts geändert.";
        Changed = "{} · {}: {}", "{} · {}: {}";
        Was = "was: {}", "vorher: {}";
        Because = "why: {}", "warum: {}";
        Older = "Older changes: {}. All of them are in what is handed over.", "Ältere Änderungen: {}. Alle stehen in dem, was übergeben wird.";

        ConsentBody = "From today on nothing is recorded of this client. What was recorded before stays, until the client is forgotten.", "Ab heute wird von dieser Person nichts mehr aufgenommen. Was vorher aufgenommen wurde, bleibt, bis die Person vergessen wird.";
        ConsentDo = "Take consent back today", "Einwilligung heute widerrufen";
        ConsentOver = "Consent was taken back on {}.", "Die Einwilligung wurde am {} widerrufen.";
        ConsentNever = "No consent was given, so there is none to take back.", "Es wurde keine Einwilligung gegeben, also ist keine zu widerrufen.";

        GiveBody = "One folder with everything: record and history, a table of raises, a report, and the recordings. It names the client and isn't encrypted.", "Ein Ordner mit allem: Akte und Verlauf der Änderungen, eine Tabelle der Hebungen, ein Bericht und die Aufnahmen. Er nennt die Person und ist nicht verschlüsselt.";
        Folder = "New folder", "Neuer Ordner";
        GiveDo = "Write everything", "Alles schreiben";

        MoveBody = "For a recording that was made under the wrong client. It goes to the other client's visit of the same day; its figures stay.", "Für eine Aufnahme, die unter der falschen Person gemacht wurde. Sie kommt zum Besuch der anderen Person am selben Tag; die Zahlen bleiben.";
        Recording = "Recording", "Aufnahme";
        RecordingNone = "No recording is in the casebook.", "Im Fallbuch steht keine Aufnahme.";
        RunLine = "Visit {}, run {}, {}", "Besuch {}, Lauf {}, {}";
        Other = "The other client", "Die andere Person";
        OtherNone = "There is no other client that these words fit.", "Auf diese Wörter passt keine andere Person.";
        MoveDo = "Move it", "Verschieben";

        MergeBody = "For one person who was entered twice. Visits, recordings and history of the other entry come to this one, and the other code goes.", "Für eine Person, die zweimal eingetragen wurde. Besuche, Aufnahmen und Änderungen des anderen Eintrags kommen zu diesem, und das andere Kürzel geht.";
        MergeWhat = "{} ({}) would become part of {} ({}).", "{} ({}) würde ein Teil von {} ({}).";
        MergeDo = "Join them", "Verbinden";

        ForgetBody = "Erased for good: recordings {}, visits {}, name, contact, results, plans and history.", "Endgültig gelöscht: Aufnahmen {}, Besuche {}, Name, Kontakt, Ergebnisse, Pläne und Änderungen.";
        NotReached = "Not reached from here: backups of the casebook and of the recordings, casebooks put aside by a restore, what was exported, handed over, printed or sent, and what the disk itself still holds of erased files (encrypt the disk).", "Von hier nicht erreicht: Sicherungen des Fallbuchs und der Aufnahmen, bei einer Rückholung beiseitegelegte Fallbücher, was ausgegeben, übergeben, gedruckt oder gesendet wurde, und was die Platte selbst von gelöschten Dateien noch hält (die Platte verschlüsseln).";
        ForgetTyped = "To be sure, type {} or {}", "Zur Sicherheit {} oder {} eingeben";
        ForgetDo = "Erase for good", "Endgültig löschen";

        ShelfNow = "Choose what is to be done with the casebook.", "Wählen, was mit dem Fallbuch geschieht.";
        BackUp = "Back up", "Sichern";
        Restore = "Restore a backup", "Eine Sicherung zurückholen";
        Due = "Whose time is over", "Wessen Zeit um ist";
        Bands = "Bands", "Bereiche";
        Rules = "Rules", "Regeln";

        BackUpBody = "A checked copy under the casebook's passphrase. Keep it apart from this computer. Who is forgotten here stays in it.", "Eine geprüfte Kopie unter der Passphrase des Fallbuchs. Getrennt von diesem Computer aufbewahren. Wer hier vergessen wird, bleibt darin.";
        CopyTo = "New file", "Neue Datei";
        BackUpDo = "Make the copy", "Kopie anlegen";
        RestoreBody = "The backup is checked first. The casebook as it is now is put aside under another name, not erased.", "Die Sicherung wird zuerst geprüft. Das Fallbuch, wie es jetzt ist, wird unter anderem Namen beiseitegelegt, nicht gelöscht.";
        CopyFrom = "File of the backup", "Datei der Sicherung";
        CopyPhrase = "Passphrase of the backup", "Passphrase der Sicherung";
        RestoreDo = "Put it in the casebook's place", "An die Stelle des Fallbuchs setzen";

        DueBody = "Who has not been here for longer than clients are kept, and who took consent back. Nothing is erased by this list.", "Wer länger nicht da war, als Personen aufbewahrt werden, und wer die Einwilligung widerrief. Durch diese Liste wird nichts gelöscht.";
        DueNone = "Nobody is due.", "Niemand ist fällig.";
        DueUnset = "No time is set after which clients are due.", "Es ist keine Zeit festgelegt, nach der Personen fällig sind.";
        DueLine = "last here {}", "zuletzt hier {}";
        DueWithdrawn = "consent taken back", "Einwilligung widerrufen";
        Months = "Clients are kept for so many months after their last visit", "So viele Monate nach dem letzten Besuch werden Personen aufbewahrt";
        MonthsNow = "Now kept for {} months.", "Jetzt {} Monate aufbewahrt.";
        OpenClient = "Look at {} ({})", "Ansehen: {} ({})";
        Look = "Look at", "Ansehen";

        BandsBody = "These are your own settings, not norms: no study supports certain edges.", "Das sind Ihre eigenen Einstellungen, keine Normen: Keine Studie stützt bestimmte Grenzen.";
        Edges = "Edges in degrees, rising", "Grenzen in Grad, steigend";
        BandLine = "Band {}: {}", "Bereich {}: {}";
        RulesBody = "These are your own settings. Each has limits, and its source stands beside it.", "Das sind Ihre eigenen Einstellungen. Jede hat Grenzen, und ihre Quelle steht dabei.";
        RuleLine = "{} = {} {}", "{} = {} {}";
        RuleShipped = "as shipped {}", "mitgeliefert {}";
        RuleLimits = "from {} to {}", "von {} bis {}";
        RuleChange = "Change {}", "Ändern: {}";
        Change = "Change", "Ändern";
        Value = "New value of {} ({})", "Neuer Wert von {} ({})";
        Set = "Set it", "Festlegen";
        Former = "What was set before", "Was vorher galt";

        Moved = "Moved: it is {} now.", "Verschoben: Sie heißt jetzt {}.";
        Merged = "{} is part of this client now; recordings moved {}. What other programs worked out of them is to be worked out again.", "{} ist jetzt ein Teil dieser Person; verschobene Aufnahmen {}. Was andere Programme daraus errechnet haben, ist neu zu errechnen.";
        Given = "Everything is in {}. It names the client: hand it over, then erase it here.", "Alles liegt in {}. Es nennt die Person: übergeben, dann hier löschen.";
        GivenNoRecordings = "Record and raises are in {}; no recordings were found. It names the client: hand it over, then erase it here.", "Akte und Hebungen liegen in {}; Aufnahmen wurden nicht gefunden. Es nennt die Person: übergeben, dann hier löschen.";
        Forgotten = "{} is erased: recordings {}, and all that the casebook knew.", "{} ist gelöscht: Aufnahmen {} und alles, was das Fallbuch wusste.";
        Still = "Still there, erase by hand: {}", "Noch da, von Hand zu löschen: {}";
        Shared = "Recordings to pass on: {}, in {}.", "Aufnahmen zum Weitergeben: {}, in {}.";
        BackedUp = "A checked copy is in {}.", "Eine geprüfte Kopie liegt in {}.";
        Restored = "The backup is the casebook now. The former one is {}.", "Die Sicherung ist jetzt das Fallbuch. Das frühere liegt in {}.";
        RestoredNew = "The backup is the casebook now.", "Die Sicherung ist jetzt das Fallbuch.";
        IsSet = "It is set; the former value stays in the history.", "Festgelegt; der frühere Wert bleibt in den Änderungen.";
    }
}

impl Language {
    /// What was done, sentence by sentence.
    pub(in crate::window) fn deed(self, deed: &Deed) -> Vec<String> {
        let fill = |phrase: Upkeep, parts: &[&str]| filled(phrase.text(self), parts);
        let shown = |path: &std::path::Path| path.display().to_string();
        vec![match deed {
            Deed::Moved(now) => fill(Upkeep::Moved, &[now]),
            Deed::Merged(former, count) => fill(Upkeep::Merged, &[former, &count.to_string()]),
            Deed::Given(folder, true) => fill(Upkeep::Given, &[&shown(folder)]),
            Deed::Given(folder, false) => fill(Upkeep::GivenNoRecordings, &[&shown(folder)]),
            Deed::Forgotten(code, gone) => {
                let count = gone.count.to_string();
                let mut all = vec![
                    fill(Upkeep::Forgotten, &[code, &count]),
                    fill(Upkeep::NotReached, &[]),
                ];
                let left = gone.left.iter();
                all.extend(left.map(|path| fill(Upkeep::Still, &[&shown(path)])));
                return all;
            }
            Deed::Shared(folder, count) => {
                fill(Upkeep::Shared, &[&count.to_string(), &shown(folder)])
            }
            Deed::BackedUp(path) => fill(Upkeep::BackedUp, &[&shown(path)]),
            Deed::Restored(Some(former)) => fill(Upkeep::Restored, &[&shown(former)]),
            Deed::Restored(None) => fill(Upkeep::RestoredNew, &[]),
            Deed::Set => fill(Upkeep::IsSet, &[]),
        }]
    }
}
