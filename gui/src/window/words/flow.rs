//! What is said on the way: start, steps, sensors, calibration, results, recordings, settings.

use super::phrases;

phrases! {
    /// Phrases of every screen but the measuring one and the cautions.
    Flow {
        Title = "Leg raise", "Beinheben";
        StepCautions = "Cautions", "Vorsicht";
        StepSensors = "Sensors", "Sensoren";
        StepFlat = "Table", "Tisch";
        StepManner = "Agree", "Absprechen";
        StepMeasure = "Measure", "Messen";
        StepResult = "Result", "Ergebnis";
        StepDone = "{}, done", "{}, fertig";
        StepNow = "{}, now", "{}, jetzt";
        StepLater = "{}, later", "{}, später";
        Back = "Back", "Zurück";
        Home = "Start page", "Startseite";
        Recordings = "Recordings", "Aufnahmen";
        Settings = "Settings", "Einstellungen";
        Close = "Close", "Schließen";

        StartNow = "How far does a straight leg rise?", "Wie weit hebt sich das gestreckte Bein?";
        StartBody = "A sensor on the shin reads the angle while the client lies on the back and lifts one straight leg. It says how sure it is, and what ended the raise.", "Ein Sensor am Schienbein liest den Winkel, während die Person auf dem Rücken liegt und ein gestrecktes Bein hebt. Er sagt, wie sicher er ist und was das Heben beendet hat.";
        StartTry = "Try it without a sensor", "Ohne Sensor ausprobieren";
        StartTryBody = "An invented client raises a leg. Everything else is real.", "Eine erfundene Person hebt das Bein. Alles andere ist echt.";
        StartMeasure = "Measure a client", "Eine Person messen";
        StartMeasureBody = "Cautions, sensors, raises, result: one step at a time.", "Vorsicht, Sensoren, Heben, Ergebnis: Schritt für Schritt.";
        StartOpen = "Open recordings", "Aufnahmen öffnen";
        StartOpenBody = "Look again at earlier visits and lay raises over each other.", "Frühere Besuche ansehen und Kurven übereinanderlegen.";

        SensorsNow = "Strap a sensor to each shin, switch it on, then press Check.", "Je einen Sensor ans Schienbein schnallen, einschalten, dann Prüfen drücken.";
        SensorsNowTry = "These two sensors are invented. Press Check to see how they do.", "Diese zwei Sensoren sind erfunden. Prüfen drücken, um zu sehen, wie es ihnen geht.";
        SensorsNowChecking = "Lift one leg a hand's breadth: the sensor that moved must be the right one.", "Ein Bein eine Handbreit heben: Der richtige Sensor muss sich melden.";
        SensorNone = "No sensor is named yet. Name the one on the raised shin.", "Noch kein Sensor ist genannt. Den am gehobenen Schienbein nennen.";
        SensorUsed = "Use a sensor on the {}", "Sensor verwenden: {}";
        SensorText = "What the sensor on the {} is", "Was der Sensor ist: {}";
        SensorForms = "ble:open-motion   a sensor over Bluetooth\nphone:            a phone, strapped on\nsynthetic:slow    an invented person", "ble:open-motion   ein Sensor über Bluetooth\nphone:            ein angeschnalltes Telefon\nsynthetic:slow    eine erfundene Person";
        SensorFormsTitle = "What can be written there", "Was man dort schreiben kann";
        StrapTitle = "Where and how", "Wo und wie";
        StrapFlat = "On the flat inner face of the shin, a hand's breadth above the ankle.", "Auf der flachen Innenseite des Schienbeins, eine Handbreit über dem Knöchel.";
        StrapTight = "Snug, so that it can't turn; a finger still fits under the strap.", "Fest, damit er sich nicht dreht; ein Finger passt noch unter den Gurt.";
        StrapSame = "The same place at every visit.", "Bei jedem Besuch dieselbe Stelle.";
        StrapSkin = "No strap on broken skin, swelling, or where feeling is lost.", "Kein Gurt auf verletzter Haut, Schwellung oder tauber Stelle.";
        StrapClean = "Wipe strap and sensor before each client.", "Gurt und Sensor vor jeder Person abwischen.";
        StrapWarm = "Wait three minutes on the skin: a warming sensor drifts.", "Drei Minuten auf der Haut warten: Ein Sensor, der warm wird, driftet.";
        OnSkin = "On the skin for {} min", "Seit {} min auf der Haut";
        Check = "Check", "Prüfen";
        CheckAgain = "Check again", "Noch einmal prüfen";
        StopCheck = "End the check", "Prüfung beenden";
        ToFlat = "Go on", "Weiter";
        HealthRate = "{} of {} samples a second", "{} von {} Messungen pro Sekunde";
        HealthLost = "{} lost", "{} verloren";
        HealthUnseen = "gaps can't be seen", "Lücken nicht erkennbar";
        HealthBattery = "battery {} %", "Akku {} %";
        HealthMoved = "this one moved", "dieser hat sich bewegt";
        HealthWaiting = "not checked yet", "noch nicht geprüft";

        FlatNow = "Lay one sensor on the table, face after face, three seconds each.", "Einen Sensor auf den Tisch legen, Seite nach Seite, je drei Sekunden.";
        FlatWhy = "It takes what the sensor reads wrongly out of the angle. Two opposite faces help, all six are better. Without it the angle is less sure.", "Damit wird dem Winkel genommen, was der Sensor falsch liest. Zwei gegenüberliegende Seiten helfen, alle sechs sind besser. Ohne das ist der Winkel weniger sicher.";
        FlatStart = "Begin with the {}", "Beginnen: {}";
        FlatEnd = "Enough faces", "Genug Seiten";
        FlatSkip = "Go on without", "Ohne weiter";
        FlatLies = "Lies still for {} of {} s", "Liegt still seit {} von {} s";
        FlatMoves = "It moves: let go of it", "Er bewegt sich: loslassen";
        FlatNoFace = "No face is up: lay it flat", "Keine Seite liegt oben: flach hinlegen";
        FlatDone = "Done: turn it to another face", "Fertig: auf eine andere Seite drehen";
        FlatLean = "leans {}", "neigt sich {}";
        FlatFaces = "{} of 6 faces done", "{} von 6 Seiten fertig";
        FlatGood = "Good: all six faces. What is left in an angle: ± {}, before: ± {}.", "Gut: alle sechs Seiten. Rest im Winkel: ± {}, vorher: ± {}.";
        FlatUsable = "Usable: opposite faces. What is left in an angle: ± {}, before: ± {}.", "Brauchbar: gegenüberliegende Seiten. Rest im Winkel: ± {}, vorher: ± {}.";
        FlatBad = "Not usable: {}", "Nicht brauchbar: {}";
        FlatWriting = "Judging what came …", "Was kam, wird beurteilt …";
        LevelName = "Level: {}", "Wasserwaage: {}";

        MannerNow = "Agree with the client how the leg is raised.", "Mit der Person absprechen, wie das Bein gehoben wird.";
        MannerMovement = "Who lifts", "Wer hebt";
        MannerActive = "The client", "Die Person";
        MannerPassive = "The practitioner", "Die behandelnde Hand";
        MannerAnkle = "Ankle", "Fuß";
        MannerRelaxed = "Loose", "Locker";
        MannerPulledUp = "Toes up", "Zehen hoch";
        MannerPointed = "Pointed", "Gestreckt";
        MannerAsked = "How far", "Wie weit";
        MannerFirstPull = "To the first pull", "Bis zum ersten Ziehen";
        MannerLimit = "As far as it goes", "So weit es geht";
        MannerLeg = "Leg first", "Erstes Bein";
        MannerPace = "Pace asked for", "Gewünschtes Tempo";
        MannerPaceOf = "{}° a second", "{}° pro Sekunde";
        MannerRater = "Who measures (a code)", "Wer misst (ein Kürzel)";
        MannerTell = "Say to the client: knee straight, other leg flat and loose, no held breath. Lift slowly. Say \"now\" at the first pull, then lower.", "Zur Person sagen: Knie gestreckt, das andere Bein flach und locker, nicht die Luft anhalten. Langsam heben. Beim ersten Ziehen \u{201e}jetzt\u{201c} sagen, dann senken.";
        MannerGo = "To the raises", "Zum Heben";

        ResultNow = "This is what was measured.", "Das wurde gemessen.";
        ResultSide = "{} leg", "Bein {}";
        ResultMean = "Mean of {} raises", "Mittel aus {} Hebungen";
        ResultMeanOne = "One raise", "Eine Hebung";
        ResultBand = "Band {}", "Bereich {}";
        ResultBandChance = "{} ({})", "{} ({})";
        ResultOr = "or", "oder";
        ResultNone = "No raise of this leg has an end point.", "Keine Hebung dieses Beins hat einen Endpunkt.";
        ResultMissing = "Not measured yet.", "Noch nicht gemessen.";
        ResultSpread = "The raises differ by ± {} among themselves.", "Die Hebungen streuen untereinander um ± {}.";
        ResultBands = "Bands are the practitioner's own setting, not a norm.", "Die Bereiche sind eine eigene Einstellung, keine Norm.";
        ResultMore = "Measure more", "Weiter messen";
        ResultNew = "Next client", "Nächste Person";
        ResultKept = "Kept in {}", "Aufbewahrt in {}";
        ResultTried = "From the invented client; kept nowhere.", "Von der erfundenen Person; nirgends aufbewahrt.";
        ColRound = "Raise", "Hebung";
        ColEnd = "End point", "Endpunkt";
        ColBy = "Ended by", "Beendet durch";
        ColPeak = "Highest", "Höchster";
        ColHeed = "To heed", "Zu beachten";
        Under = "under {}°", "unter {}°";
        Between = "{}–{}°", "{}–{}°";
        Over = "{}° and over", "{}° und mehr";
        AnyAngle = "any angle", "jeder Winkel";
        UnderOne = "under 1 %", "unter 1 %";
        OverNinetyNine = "over 99 %", "über 99 %";

        BrowseNow = "Choose a recording to see its raises.", "Eine Aufnahme wählen, um ihre Hebungen zu sehen.";
        BrowseFolder = "Data folder", "Datenordner";
        BrowseOpen = "Open", "Öffnen";
        BrowseDemo = "Make an invented data set", "Erfundenen Datensatz anlegen";
        BrowseEmpty = "There are no recordings in this folder yet. Measure somebody, or make an invented data set to look around.", "In diesem Ordner sind noch keine Aufnahmen. Jemanden messen oder einen erfundenen Datensatz anlegen, um sich umzusehen.";
        BrowseReading = "Reading the recording …", "Die Aufnahme wird gelesen …";
        BrowseLooking = "Looking for recordings …", "Aufnahmen werden gesucht …";
        BrowseNothing = "No raise was found in it.", "Keine Hebung darin gefunden.";
        BrowsePick = "Pick a recording on the left.", "Links eine Aufnahme wählen.";
        BrowseClient = "Client {}", "Person {}";
        BrowseVisit = "Visit {}", "Besuch {}";
        BrowseRun = "Run {}", "Lauf {}";
        BrowseRaise = "Raise {}, {}", "Hebung {}, {}";
        BrowseScrub = "Moment of the raise", "Moment der Hebung";
        BrowseOverlay = "Lay all raises over each other", "Alle Hebungen übereinanderlegen";
        BrowseBudget = "What the ± is made of", "Woraus das ± besteht";
        BrowseTerm = "{}: ± {}", "{}: ± {}";
        BrowseTogether = "All together, 95 of 100 cases: ± {}", "Zusammen, 95 von 100 Fällen: ± {}";
        BrowseCausal = "The curve is as it was seen live; the figures are of the final analysis.", "Die Kurve ist die live gesehene; die Zahlen sind die der endgültigen Auswertung.";

        SetNow = "These are remembered on this computer.", "Das merkt sich dieser Computer.";
        SetTheme = "Look", "Aussehen";
        SetLight = "Light", "Hell";
        SetDark = "Dark", "Dunkel";
        SetSystem = "As the system", "Wie das System";
        SetText = "Text size", "Schriftgröße";
        SetLanguage = "Language", "Sprache";
        SetFolder = "Folder for recordings", "Ordner für Aufnahmen";
        SetDamaged = "The settings could not be read; the usual ones are used. ({})", "Die Einstellungen waren nicht lesbar; die üblichen gelten. ({})";
        SetUnsaved = "The settings could not be kept: {}", "Die Einstellungen konnten nicht gespeichert werden: {}";
        ClientCode = "Client's code", "Kürzel der Person";
        ClientVisit = "Visit", "Besuch";
        ClientHint = "Letters and digits only, never a name.", "Nur Buchstaben und Ziffern, nie ein Name.";
        ClientTry = "An invented client", "Eine erfundene Person";
    }
}
