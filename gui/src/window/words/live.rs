//! What is said while a leg is raised.

use super::phrases;

phrases! {
    /// Phrases of the measuring screen.
    Live {
        ReadyNow = "The {} leg: client on the back, both legs flat. Press Start and let them lie still.", "Bein {}: auf dem Rücken, beide Beine flach. Start drücken und still liegen lassen.";
        ReadyStrap = "Move the sensor to the {} shin, to the same place as before.", "Den Sensor ans Schienbein {} setzen, an dieselbe Stelle wie zuvor.";
        OpeningNow = "Calling the sensors …", "Die Sensoren werden gerufen …";
        SettleNow = "Lie still: the zero is being taken.", "Still liegen: Der Nullpunkt wird genommen.";
        RestNow = "Ready. Raise the {} leg slowly.", "Bereit. Bein {} langsam heben.";
        RiseNow = "Space at the first pull.", "Leertaste beim ersten Ziehen.";
        EndNow = "End point. Lower the leg.", "Endpunkt. Bein senken.";
        LowerNow = "Lower it and lie still.", "Senken und still liegen.";
        LostNow = "No numbers from the sensor: bring it nearer, check that it is on.", "Keine Zahlen vom Sensor: näher bringen, prüfen, ob er an ist.";
        WritingNow = "Working out the final figures …", "Die endgültigen Zahlen werden berechnet …";
        StoppedNow = "Stopped. Note what was felt; do not raise it again today if it runs below the knee.", "Abgebrochen. Notieren, was gespürt wurde; heute nicht noch einmal, wenn es unter das Knie zieht.";
        OtherLegNow = "Now the {} leg.", "Jetzt das Bein {}.";
        Start = "Start", "Start";
        Pull = "First pull", "Erstes Ziehen";
        Stop = "Stop: pain", "Stopp: Schmerz";
        Undo = "Undo mark", "Marke zurück";
        Next = "This leg is done", "Dieses Bein ist fertig";
        Finish = "To the result", "Zum Ergebnis";
        KeySpace = "Space", "Leertaste";
        KeyStop = "S", "S";
        KeyUndo = "U", "U";
        KeyNext = "N", "N";
        AngleName = "Angle of the {} leg: {}, plus or minus {}, {}", "Winkel Bein {}: {}, plus minus {}, {}";
        AngleNone = "No angle yet", "Noch kein Winkel";
        AngleLost = "Last angle {}; the sensor is lost", "Letzter Winkel {}; Sensor verloren";
        Figure = "Side view: {} leg at {}", "Seitenansicht: Bein {} bei {}";
        FigureOther = "{}, other leg at {}", "{}, anderes Bein bei {}";
        CurveName = "Angle over the last {} s, {} leg{}", "Winkel der letzten {} s, Bein {}{}";
        CurveEnd = ", end point {} by {}", ", Endpunkt {} durch {}";
        CurveOther = "other leg", "anderes Bein";
        CurveThis = "{} leg", "Bein {}";
        CurveEmpty = "The curve begins with the first numbers.", "Die Kurve beginnt mit den ersten Zahlen.";
        EndAt = "{} · {}", "{} · {}";
        EndSoFar = "{} · {} so far", "{} · {} bisher";
        EndBanner = "END POINT {} · {}", "ENDPUNKT {} · {}";
        GivesWay = "gives way: {}", "gibt nach: {}";
        Knee = "knee bent {}", "Knie gebeugt {}";
        Pelvis = "pelvis tilted {}", "Becken gekippt {}";
        Pace = "{}° a second", "{}° pro Sekunde";
        PaceGood = "good pace", "gutes Tempo";
        PaceFast = "too fast", "zu schnell";
        PaceBrisk = "faster than asked for", "schneller als gewünscht";
        PaceSlow = "slow", "langsam";
        Rounds = "Raises so far", "Hebungen bisher";
        RoundsNone = "None yet.", "Noch keine.";
        Round = "{} {}: {} by {}", "{} {}: {} durch {}";
        RoundNoEnd = "{} {}: highest {}", "{} {}: höchster {}";
        RoundOut = "left out: {}", "nicht gezählt: {}";
        LeaveOut = "Leave out {} {}", "Nicht zählen: {} {}";
        TakeBack = "Count {} {} again", "Wieder zählen: {} {}";
        LeaveWhy = "Why leave it out?", "Warum nicht zählen?";
        Cancel = "Cancel", "Abbrechen";
        NoNumbers = "no numbers for {} s", "keine Zahlen seit {} s";
        GapPeak = "Numbers were missing at the top: repeat this raise.", "Oben fehlten Zahlen: Diese Hebung wiederholen.";
        Failed = "It could not be measured: {}", "Es konnte nicht gemessen werden: {}";
        Asked = "asked for {}", "gewünscht {}";
        NothingCame = "No sensor sent anything; nothing was recorded.", "Kein Sensor hat etwas gesendet; nichts wurde aufgenommen.";
        NoRaise = "No raise was found in this recording.", "In dieser Aufnahme wurde keine Hebung gefunden.";
    }
}
