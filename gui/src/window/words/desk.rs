//! What is said at the casebook: opening it, clients, visits.

use super::phrases;

phrases! {
    /// Phrases of the casebook, its clients and their visits.
    Desk {
        Book = "Casebook", "Fallbuch";
        StartBook = "Open the casebook", "Fallbuch öffnen";
        StartBookBody = "Names, visits and results, encrypted on this computer.", "Namen, Besuche und Ergebnisse, verschlüsselt auf diesem Computer.";
        StartClients = "To the clients", "Zu den Personen";
        OpenNow = "Type the passphrase to open the casebook.", "Die Passphrase eingeben, um das Fallbuch zu öffnen.";
        MakeNow = "Choose a passphrase of several words for a new casebook.", "Eine Passphrase aus mehreren Wörtern für ein neues Fallbuch wählen.";
        Which = "This casebook", "Dieses Fallbuch";
        Existing = "Open one that is there", "Ein vorhandenes öffnen";
        Fresh = "Make a new one", "Ein neues anlegen";
        File = "File", "Datei";
        Phrase = "Passphrase", "Passphrase";
        Again = "The same again", "Dieselbe noch einmal";
        Lost = "Without the passphrase nobody reads the casebook, you neither: there is no way back in. Write it down and keep it in a second place.", "Ohne die Passphrase liest niemand das Fallbuch, auch Sie nicht: Es gibt keinen anderen Weg hinein. Aufschreiben und an einem zweiten Ort aufbewahren.";
        Why = "The casebook is one encrypted file with names, visits and results. Recordings lie in the data folder, under codes. You can measure without it, too: with a code of your own, and nothing is kept of the course.", "Das Fallbuch ist eine verschlüsselte Datei mit Namen, Besuchen und Ergebnissen. Aufnahmen liegen im Datenordner, unter Kürzeln. Es geht auch ohne: mit einem eigenen Kürzel, und vom Verlauf wird nichts aufbewahrt.";
        Open = "Open", "Öffnen";
        Make = "Make the casebook", "Fallbuch anlegen";
        Working = "The casebook is at work …", "Das Fallbuch arbeitet …";
        Close = "Close the casebook", "Fallbuch schließen";
        NotKept = "Not kept in a casebook: a code of your own, and no course over visits.", "Nicht in einem Fallbuch: ein eigenes Kürzel, kein Verlauf über Besuche.";

        Affairs = "What is kept", "Was aufbewahrt wird";
        Shelf = "Look after the casebook", "Das Fallbuch pflegen";
        RestoreOne = "Restore a backup", "Eine Sicherung zurückholen";

        ClientsNow = "Choose a client, or add a new one.", "Eine Person wählen oder eine neue anlegen.";
        Find = "Find", "Suchen";
        FindHint = "a part of the name, or the code", "ein Teil des Namens oder das Kürzel";
        None = "There are no clients in this casebook yet. Add the first one.", "In diesem Fallbuch ist noch niemand. Die erste Person anlegen.";
        NoneFit = "Nobody fits these words.", "Auf diese Wörter passt niemand.";
        New = "New client", "Neue Person";
        Row = "{} · {}", "{} · {}";
        Visits = "visits {}, last {}", "Besuche {}, zuletzt {}";
        VisitsNone = "no visit yet", "noch kein Besuch";
        NoConsent = "no consent", "keine Einwilligung";
        PickOne = "Pick a client on the left.", "Links eine Person wählen.";
        Name = "Name", "Name";
        Contact = "Contact", "Kontakt";
        Born = "Year of birth", "Geburtsjahr";
        Notes = "Notes", "Bemerkungen";
        Consent = "Consent to being recorded", "Einwilligung in die Aufnahme";
        ConsentAsWas = "As it was", "Wie bisher";
        ConsentNotYet = "Not yet", "Noch nicht";
        ConsentGiven = "Given today", "Heute gegeben";
        ConsentWithdrawn = "Taken back today", "Heute widerrufen";
        Version = "Version of the text that was agreed to", "Fassung des Textes, dem zugestimmt wurde";
        Reason = "Why it is changed", "Warum es geändert wird";
        Save = "Write it down", "Aufschreiben";
        Cancel = "Put it away", "Verwerfen";
        ConsentIs = "Consent of {}, text {}", "Einwilligung vom {}, Text {}";
        ConsentWas = "Consent of {}, text {}; taken back {}: nothing is recorded any more", "Einwilligung vom {}, Text {}; widerrufen {}: es wird nichts mehr aufgenommen";
        ConsentNone = "No consent noted: nothing is recorded before it.", "Keine Einwilligung vermerkt: vorher wird nichts aufgenommen.";
        BornIs = "born {}", "geboren {}";
        Edit = "Change what is written", "Ändern, was hier steht";
        Begin = "Begin visit {}", "Besuch {} beginnen";
        Resume = "Go on with visit {}", "Besuch {} fortsetzen";
        Course = "Course", "Verlauf";
        Reports = "Reports", "Berichte";
        VisitLine = "Visit {}, {}: {}", "Besuch {}, {}: {}";
        VisitNothing = "nothing measured", "nichts gemessen";
        VisitRounds = "runs {}", "Läufe {}";
        VisitStopped = "stopped by a caution", "durch eine Vorsichtsfrage beendet";
        At = "{} · {} · visit {}", "{} · {} · Besuch {}";

        AskedTitle = "At this visit", "Bei diesem Besuch";
        Tight = "Do the legs feel tight?", "Fühlen sich die Beine straff an?";
        Quiet = "Are other signs (pain, tingling, sleep) quiet?", "Sind andere Zeichen (Schmerz, Kribbeln, Schlaf) ruhig?";
        Yes = "Yes", "Ja";
        No = "No", "Nein";
        Pain = "Pain, 0 to 10", "Schmerz, 0 bis 10";
        PullFelt = "Where the pull is felt", "Wo das Ziehen gespürt wird";
        WarmUp = "Warm-up before", "Aufwärmen davor";
    }
}
