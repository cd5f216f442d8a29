//! Headings, sentences and labels of reports.

use super::phrases;

phrases! {
    /// What reports say.
    Text {
        TitleClient = "Your leg raises", "Ihre Beinhebungen";
        TitleFile = "Leg raises: for the file", "Beinhebungen: für die Akte";
        TitleReferrer = "Leg raises: report", "Beinhebungen: Bericht";
        NoName = "without a name", "ohne Namen";
        Nothing = "Nothing has been measured yet.", "Noch wurde nichts gemessen.";
        NoMean = "No raise of this visit has an end point that counts.",
            "Keine Hebung dieses Termins hat einen Endpunkt, der zählt.";

        // For the client.
        RoseTo = "Your {} rose to {} ({}), on average of {}.",
            "Ihr {} kam auf {} ({}), im Mittel von {}.";
        RaiseOne = "1 raise", "1 Hebung";
        RaiseMany = "{} raises", "{} Hebungen";
        YouPull = "You felt the first pull there.", "Dort spürten Sie das erste Ziehen.";
        YouOpposite = "There the other leg began to move, so the pelvis had begun to turn.",
            "Dort begann sich das andere Bein zu bewegen, das Becken drehte also mit.";
        YouKnee = "There the knee began to bend.", "Dort begann sich das Knie zu beugen.";
        YouHold = "You held it there.", "Dort hielten Sie es.";
        YouPeak = "That was its highest point.", "Das war der höchste Punkt.";
        YouMixed = "The raises ended for different reasons.", "Die Hebungen endeten aus verschiedenen Gründen.";
        WhatUMeans = "± says how sure we are: the true mean lies within it in 95 of 100 cases.",
            "± sagt, wie sicher das ist: der wahre Mittelwert liegt in 95 von 100 Fällen darin.";
        SinceFirst = "Since {}", "Seit {}";
        SinceMore = "{}: {} more. That is more than measurement error ({}).",
            "{}: {} mehr. Das ist mehr als der Messfehler ({}).";
        SinceLess = "{}: {} less. That is more than measurement error ({}).",
            "{}: {} weniger. Das ist mehr als der Messfehler ({}).";
        SinceSame = "{}: {} changed. That is within measurement error ({}): it may be no change at all.",
            "{}: {} Änderung. Das liegt innerhalb des Messfehlers ({}): es kann auch gar keine sein.";
        SinceOther = "{}: measured another way than at first, so the two can't be compared.",
            "{}: anders gemessen als zu Beginn, daher nicht vergleichbar.";
        YouPractised = "What you practised", "Was Sie geübt haben";
        PractisedIs = "{} on {}.", "{} am {}.";
        RightAfter = "Right after it, {}: {}. {}", "Gleich danach, {}: {}. {}";
        MoreThanError = "That is more than measurement error.", "Das ist mehr als der Messfehler.";
        WithinError = "That is within measurement error.", "Das liegt innerhalb des Messfehlers.";
        YouWorkOn = "What you work on", "Woran Sie arbeiten";
        WorkOnIs = "{}: drills for {}, as your practitioner has set it; your mean belongs to {}.",
            "{}: Übungen für {}, so eingestellt von der messenden Person; Ihr Mittel gehört zu {}.";
        WorkOnNone = "{}: your mean belongs to {}, as your practitioner has set the bands.",
            "{}: Ihr Mittel gehört zu {}, nach den Bereichen, die eingestellt sind.";
        NextVisit = "Next visit, by the rules that are set: {}.", "Nächster Termin nach den eingestellten Regeln: {}.";
        StopWhen = "Stop an exercise at", "Eine Übung aufhören bei";
        ClientMethod = "Measured with motion sensors ({}), {}. {} Recordings: {}.",
            "Gemessen mit Bewegungssensoren ({}), {}. {} Aufnahmen: {}.";

        // How it was measured.
        HowMeasured = "How it was measured", "Wie gemessen wurde";
        What = "item", "Angabe";
        Detail = "detail", "Inhalt";
        Measurand = "angle", "Winkel";
        MeasurandIs = "Straight leg raise: rotation of the shin above its own resting direction, against gravity; 0° at rest. The end point is the first moment at which the raise counts as over. It is not an angle between pelvis and thigh.",
            "Heben des gestreckten Beins: Drehung des Schienbeins über seine eigene Ruhelage, gegen die Schwerkraft; 0° in Ruhe. Endpunkt ist der erste Moment, in dem die Hebung als beendet gilt. Es ist kein Winkel zwischen Becken und Oberschenkel.";
        Position = "position", "Lage";
        PositionIs = "on the back, knee straight, slow", "auf dem Rücken, Knie gestreckt, langsam";
        Raises = "raises", "Hebungen";
        Sensors = "sensors", "Sensoren";
        CalibratedAll = "each calibrated on a flat surface", "jeder auf einer Fläche kalibriert";
        CalibratedSome = "some recordings without calibration on a flat surface",
            "manche Aufnahmen ohne Kalibrierung auf einer Fläche";
        CalibratedNone = "not calibrated on a flat surface", "nicht auf einer Fläche kalibriert";
        Method = "method", "Verfahren";
        MethodIs = "{}, method {}, settings {}", "{}, Verfahren {}, Einstellungen {}";
        Uncertainty = "uncertainty", "Unsicherheit";
        CoverageIs = "± is the expanded uncertainty for 95 % coverage. Angles are shown to 1°, or to 0.1° where ± is below 0.5°; what is held against a limit is shown to 0.1°; decisions are made on unrounded values.",
            "± ist die erweiterte Unsicherheit für 95 % Überdeckung. Winkel stehen auf 1°, oder auf 0,1°, wo ± unter 0,5° liegt; was mit einer Grenze verglichen wird, auf 0,1°; entschieden wird ungerundet.";
        ReportMade = "report made", "Bericht erstellt";
        Unsaid = "not said {}", "nicht gesagt, {}";
        RaterIs = "measured by {}", "gemessen von {}";

        // The client, in the file.
        Client = "Client", "Person";
        Code = "code", "Kürzel";
        Name = "name", "Name";
        Contact = "contact", "Kontakt";
        BirthYear = "year of birth", "Geburtsjahr";
        Consent = "consent", "Einwilligung";
        ConsentIs = "{}, text {}", "{}, Text {}";
        ConsentWithdrawn = "{}, text {}; withdrawn {}", "{}, Text {}; widerrufen {}";
        ConsentNone = "none noted", "keine vermerkt";
        Notes = "notes", "Bemerkungen";
        VisitOf = "Visit {}, {}", "Termin {}, {}";
        VisitFacts = "Asked and noted", "Gefragt und vermerkt";
        Identity = "Identity and consent", "Identität und Einwilligung";
        MethodFacts = "Method, sensors and uncertainty", "Verfahren, Sensoren und Unsicherheit";
        Cautions = "cautions", "Vorsicht";
        CautionsNone = "asked, none applies", "gefragt, nichts trifft zu";
        CautionsNotAsked = "not asked", "nicht gefragt";
        Pain = "pain", "Schmerz";
        PainIs = "{} of 10", "{} von 10";
        PullFelt = "pull felt", "Ziehen gespürt";
        WarmUp = "warm-up", "Aufwärmen";
        FeelsTight = "feels tight", "fühlt sich straff an";
        IsQuiet = "other signs quiet", "andere Zeichen ruhig";
        Yes = "yes", "ja";
        No = "no", "nein";
        NotAsked = "not asked", "nicht gefragt";
        RoundFirst = "Round before the drill", "Runde vor der Übung";
        RoundAgain = "Round after the drill", "Runde nach der Übung";
        RoundFurther = "Further round", "Weitere Runde";
        RoundOf = "{}: {}. {}", "{}: {}. {}";
        Number = "no.", "Nr.";
        Side = "side", "Seite";
        EndPoint = "end point", "Endpunkt";
        Reason = "ended by", "beendet durch";
        Peak = "peak", "Spitze";
        Held = "held", "gehalten";
        At = "at, s", "bei, s";
        Heed = "to heed", "zu beachten";
        Aside = "set aside: {}", "beiseitegelegt: {}";
        BudgetOf = "Standard uncertainty of each end point, by source, in degrees: {}",
            "Standardunsicherheit jedes Endpunkts nach Quelle, in Grad: {}";
        Combined = "together", "zusammen";
        Factor = "k", "k";
        WhatRoundSays = "What the round says", "Was die Runde sagt";
        MeanOf = "Mean end points; from {}", "Mittlere Endpunkte; aus {}";
        SideFrom = "{}: {}", "{}: {}";
        Mean = "mean", "Mittel";
        Count = "raises", "Hebungen";
        Spread = "spread", "Streuung";
        Person = "person", "Person";
        Instrument = "instrument", "Gerät";
        Band = "band", "Bereich";
        Sides = "Sides: {}", "Seiten: {}";
        UnsaidNote = "Nobody said {}: such raises can't be told from raises done otherwise.",
            "Niemand sagte, {}: solche Hebungen lassen sich von anders gemachten nicht unterscheiden.";
        Drill = "drill", "Übung";
        DrillIs = "{} ({})", "{} ({})";
        RecheckHead = "Re-check", "Nachprüfung";
        RecheckOf = "Means before and after the drill; after: {}", "Mittel vor und nach der Übung; danach: {}";
        Before = "before", "davor";
        After = "after", "danach";
        Change = "change", "Änderung";
        RecheckWhy = "No comparison: {}", "Kein Vergleich: {}";
        RecheckOtherWay = "the raises were done another way than before the drill",
            "die Hebungen wurden anders gemacht als vor der Übung";
        RecheckNoSide = "no side has end points before and after the drill",
            "keine Seite hat Endpunkte vor und nach der Übung";
        CourseHead = "Course", "Verlauf";
        CourseOf = "Course, {}", "Verlauf, {}";
        CourseTable = "Mean end point of the first round of each visit", "Mittlerer Endpunkt der ersten Runde jedes Termins";
        Date = "date", "Datum";
        Recording = "recording", "Aufnahme";
        Remark = "remark", "Bemerkung";
        PlanIs = "The plan: drills for {}{}.", "Der Plan: Übungen für {}{}.";
        Since = ", since {}", ", seit {}";
        FirstToLast = "First to latest: {}", "Erster bis letzter: {}";
        Trend = "Line through the visits: {}", "Linie durch die Termine: {}";
        FewVisits = "Fewer visits than a line needs: points and the band of measurement error only.",
            "Weniger Termine, als eine Linie braucht: nur Punkte und das Band des Messfehlers.";

        // For the referrer.
        ResultsHead = "Results", "Ergebnisse";
        ResultsOf = "Straight leg raise, mean end points", "Heben des gestreckten Beins, mittlere Endpunkte";
        Asked = "raised", "gehoben";
        ChangesHead = "Change since the first visit", "Änderung seit dem ersten Termin";
        ChangeIs = "{}: {} to {}. {}", "{}: {} bis {}. {}";
        ConditionsHead = "Conditions and cautions", "Umstände und Vorsicht";
        PractisedHead = "What was practised", "Was geübt wurde";
        Practised = "{}: {}", "{}: {}";
        NotThis = "The raise as a test of nerves belongs to licensed practice; this report gives an angle, a reason and a mark, nothing else.",
            "Die Hebung als Nerventest gehört in die Hand von Zugelassenen; dieser Bericht nennt einen Winkel, einen Grund und eine Marke, sonst nichts.";

        // The line to paste.
        NoteLine = "SLR {} {}° ± {}° (95 %), {}, {}, peak {}; {}, spread {}; {}, {}.",
            "SLR {} {}° ± {}° (95 %), {}, {}, Spitze {}; {}, Streuung {}; {}, {}.";
        NoteEnded = "ended by {}", "beendet durch {}";
        NoteMixed = "ended for different reasons", "aus verschiedenen Gründen beendet";
        NoteSensor = "shin sensor", "Sensor am Schienbein";
        NoteSensorPlain = "shin sensor not calibrated", "Sensor am Schienbein, nicht kalibriert";

        // Figures.
        ChartCaption = "Dots: mean end point of the first round, with ±. Grey: measurement error about the first visit. Broken lines: edges of bands as set. {}",
            "Punkte: mittlerer Endpunkt der ersten Runde, mit ±. Grau: Messfehler um den ersten Termin. Gestrichelt: eingestellte Grenzen der Bereiche. {}";
        ChartPlain = "Dots: mean end point of the first round, with ±. Grey: measurement error about the first visit. {}",
            "Punkte: mittlerer Endpunkt der ersten Runde, mit ±. Grau: Messfehler um den ersten Termin. {}";
        ChartRechecks = "Diamonds: re-check after the drill.", "Rauten: Nachprüfung nach der Übung.";
        ChartApart = "Rings: done otherwise, not compared.", "Ringe: anders gemacht, nicht verglichen.";
        ChartLines = "Line: weighted by uncertainty, with its ±; dotted: middle slope.",
            "Linie: nach Unsicherheit gewichtet, mit ±; gepunktet: mittlere Steigung.";
        ChartDrills = "Triangles: drills ({}).", "Dreiecke: Übungen ({}).";
        ChartAlternative = "{}: {}.", "{}: {}.";
        CurveCaption = "Course of raise {} ({}), {}: angle in degrees over seconds. Dot: end point ({}).",
            "Verlauf der Hebung {} ({}), {}: Winkel in Grad über Sekunden. Punkt: Endpunkt ({}).";
        CurveNoEnd = "Course of raise {} ({}), {}: angle in degrees over seconds; without an end point.",
            "Verlauf der Hebung {} ({}), {}: Winkel in Grad über Sekunden; ohne Endpunkt.";
        CurveAlternative = "The angle rises from {} at {} s to {} at {} s and is {} at {} s.",
            "Der Winkel steigt von {} bei {} s auf {} bei {} s und ist {} bei {} s.";
    }
}
