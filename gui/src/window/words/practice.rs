//! What is said of drills, while they are done, and of the round after them.

use super::phrases;

phrases! {
    /// Phrases of what a round says, drills, the pacer and the re-check.
    Practice {
        Says = "What the round says", "Was die Runde sagt";
        Keeping = "The casebook works it out …", "Das Fallbuch wertet aus …";
        Sides = "Sides: {}.", "Seiten: {}.";
        Proposed = "Drills that suit the {} leg", "Übungen, die zum Bein {} passen";
        NoDrill = "No drill: {}", "Keine Übung: {}";
        NoneSuits = "No drill suits.", "Keine Übung passt.";
        NotAsked = "No drill is proposed: the cautions were not asked.", "Keine Übung wird vorgeschlagen: Die Vorsichtsfragen fehlen.";
        LeftOut = "left out: {} ({})", "nicht: {} ({})";
        NotLength = "this leg goes far enough: control and strength, not length", "dieses Bein geht weit genug: Kontrolle und Kraft, nicht Länge";
        Choose = "Look at: {}", "Ansehen: {}";
        ChosenBy = "The practitioner chooses; nothing here is a prescription.", "Die behandelnde Person wählt; nichts hier ist eine Verordnung.";
        ResultNext = "To the course", "Zum Verlauf";

        DrillNow = "Show the client the set-up, then begin.", "Der Person den Aufbau zeigen, dann beginnen.";
        SetUp = "Set-up", "Aufbau";
        Steps = "Steps", "Schritte";
        Faults = "What goes wrong", "Was schiefgeht";
        Stops = "Stop at", "Aufhören bei";
        NotFor = "With care, or not at all", "Mit Vorsicht oder gar nicht";
        Adapt = "changed: {}", "geändert: {}";
        Not = "not: {}", "nicht: {}";
        Dose = "Dose", "Dosis";
        DoseIs = "{} × {} {}{}, {} a day, on {} days a week, effort {} of 10", "{} × {} {}{}, {} am Tag, an {} Tagen der Woche, Anstrengung {} von 10";
        ASide = " a side", " je Seite";
        To = "{} to {}", "{} bis {}";
        Breaths = "breaths", "Atemzüge";
        Reps = "repetitions", "Wiederholungen";
        Holds = "holds", "Haltezeiten";
        Sets = "Sets", "Sätze";
        Fewer = "Fewer: {}", "Weniger: {}";
        More = "More: {}", "Mehr: {}";
        Takes = "takes {} min", "dauert {} min";
        Picture = "Drawing of the drill: {}", "Zeichnung der Übung: {}";
        ToPacer = "To the pacer", "Zum Taktgeber";
        OnlyEnglish = "This drill is written in another language only.", "Diese Übung ist nur in einer anderen Sprache geschrieben.";

        PacerNow = "Follow the circle.", "Dem Kreis folgen.";
        Start = "Start", "Start";
        GoOn = "Go on", "Weiter";
        Pause = "Pause", "Pause";
        End = "End the drill", "Übung beenden";
        #[cfg(feature = "phone")]
        OnPhone = "On a phone, too", "Auch auf ein Telefon";
        Left = "{}, {} s left", "{}, noch {} s";
        Whole = "{} of {} min", "{} von {} min";

        AgainNow = "Measure again now, as before: {}.", "Jetzt noch einmal messen, wie zuvor: {}.";
        AgainLeg = "{} leg, raises {}", "Bein {}, Hebungen {}";
        AgainThen = "{}, then {}", "{}, dann {}";
        AgainWithin = "Begin within {} s: a gain at once may be gone three minutes after the drill.", "Innerhalb von {} s beginnen: Ein Sofortgewinn kann drei Minuten nach der Übung vergangen sein.";
        AgainLate = "More than {} s have passed since the drill: a gain at once may be gone.", "Seit der Übung sind mehr als {} s vergangen: Ein Sofortgewinn kann vergangen sein.";
        AgainNoDrill = "No drill is noted at this visit. Choose one at the result.", "Bei diesem Besuch ist keine Übung vermerkt. Beim Ergebnis eine wählen.";
        AgainBegin = "Measure again", "Noch einmal messen";
        AgainResult = "This is what changed.", "Das hat sich geändert.";
        Before = "before {} ± {}", "davor {} ± {}";
        After = "after {} ± {}", "danach {} ± {}";
        Beyond = "more than measurement error", "mehr als der Messfehler";
        Within = "within measurement error", "innerhalb des Messfehlers";
        WarmBefore = "before the drill, {}", "vor der Übung, {}";
        WarmAfter = "after the drill, {}", "nach der Übung, {}";
        OtherWay = "The raises were done another way than before the drill: no comparison.", "Die Hebungen wurden anders gemacht als vor der Übung: kein Vergleich.";
        NoSide = "No leg has end points before and after the drill.", "Kein Bein hat Endpunkte vor und nach der Übung.";
        DrillWas = "{}, ended {}", "{}, beendet {}";
        ReadyAgain = "After the drill: the {} leg, raises {}, as before. Press Start.", "Nach der Übung: Bein {}, Hebungen {}, wie zuvor. Start drücken.";
    }
}
