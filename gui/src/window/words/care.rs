//! The cautions: questions, and what follows from an answer. The sentences are those of `legraise cautions`.

use super::phrases;

phrases! {
    /// Phrases of the cautions.
    Care {
        Line = "This is a measuring and exercise aid. It does not diagnose. Follow your licence, your local law and your professional code, and the instructions of the treating clinician. If in doubt, stop and refer.", "Dies ist eine Mess- und Übungshilfe. Sie stellt keine Diagnose. Maßgeblich sind Ihre Zulassung, das örtliche Recht, Ihre Berufsordnung und die Anweisungen der behandelnden Ärztin oder des Arztes. Im Zweifel: aufhören und überweisen.";
        Now = "Ask each question aloud; answer what the client says.", "Jede Frage laut stellen; eintragen, was die Person sagt.";
        Yes = "Yes", "Ja";
        No = "No", "Nein";
        AnswerYes = "Yes: {}", "Ja: {}";
        AnswerNo = "No: {}", "Nein: {}";
        AllNo = "All answered No", "Alles mit Nein beantwortet";
        Left = "{} questions left", "Noch {} Fragen";
        AllAsked = "All asked. Nothing stands against a raise.", "Alles gefragt. Nichts spricht gegen das Heben.";
        AskedHeed = "All asked. Take care with what is marked.", "Alles gefragt. Auf das Markierte achten.";
        GoOn = "Go on", "Weiter";
        GoHeed = "Go on with care", "Mit Vorsicht weiter";

        Emergency = "New trouble with bladder or bowel, numbness between the legs, weakness in both legs, or new sexual dysfunction, with back or leg pain?", "Neue Störung von Blase oder Darm, Taubheit zwischen den Beinen, Schwäche in beiden Beinen oder neue sexuelle Störung, mit Rücken- oder Beinschmerz?";
        Spine = "After a fall or blow, with long steroid use, fever, weight loss, a history of cancer, or pain at night?", "Nach Sturz oder Schlag, bei langer Kortisongabe, Fieber, Gewichtsverlust, früherem Krebs oder nächtlichem Schmerz?";
        Clot = "Calf pain with swelling, warmth or redness, or a known clot?", "Wadenschmerz mit Schwellung, Wärme oder Rötung, oder eine bekannte Thrombose?";
        Tear = "Sudden pain at the back of the thigh lately, a bruise, a gap or loss of power?", "Kürzlich plötzlicher Schmerz hinten am Oberschenkel, Bluterguss, Delle oder Kraftverlust?";
        Surgery = "A recent fracture, or surgery of spine, hip, knee or hamstring?", "Frischer Bruch oder Operation an Wirbelsäule, Hüfte, Knie oder hinterem Oberschenkel?";
        Hip = "A replaced hip?", "Ein Hüftgelenkersatz?";
        Pressure = "Resting blood pressure of 180/110 or more, chest pain, fainting?", "Ruheblutdruck ab 180/110, Brustschmerz, Ohnmacht?";
        Effort = "High blood pressure, glaucoma or hernia?", "Hoher Blutdruck, Glaukom oder Leistenbruch?";
        Pregnant = "Pregnancy?", "Schwangerschaft?";
        Mobile = "Very mobile joints?", "Sehr bewegliche Gelenke?";
        SitBone = "Pain at the sit bone when sitting?", "Schmerz am Sitzbein beim Sitzen?";
        Skin = "Broken skin, swelling or lost feeling where the strap goes?", "Verletzte Haut, Schwellung oder Taubheit unter dem Gurt?";
        Consent = "Does anything speak against it: no consent, dizzy, unable to follow?", "Spricht etwas dagegen: kein Einverständnis, schwindlig, kann nicht folgen?";

        DoEmergency = "Do not test, and refer the same day as an emergency.", "Nicht testen und noch am selben Tag als Notfall überweisen.";
        DoSpine = "Do not test; refer: fracture, cancer or infection of the spine is possible.", "Nicht testen; überweisen: Bruch, Krebs oder Infektion der Wirbelsäule ist möglich.";
        DoClot = "Neither strap nor exercise; refer.", "Weder Gurt noch Übung; überweisen.";
        DoTear = "No raise to the end of the range; refer for an assessment.", "Nicht bis ans Ende heben; zur Untersuchung überweisen.";
        DoSurgery = "Clearance first.", "Zuerst eine Freigabe.";
        DoHip = "Only within the surgeon's limits.", "Nur in den Grenzen der Operation.";
        DoPressure = "Clearance first.", "Zuerst eine Freigabe.";
        DoEffort = "No held breath, no all-out effort.", "Nicht die Luft anhalten, nicht mit aller Kraft.";
        DoPregnant = "Only short spells on the back; on the side or propped up if dizzy.", "Nur kurz auf dem Rücken; bei Schwindel auf die Seite oder hochgelagert.";
        DoMobile = "No stretching to the end of the range.", "Nicht bis ans Ende dehnen.";
        DoSitBone = "No long stretches and deep hinges at first.", "Anfangs nicht lange dehnen, nicht tief beugen.";
        DoSkin = "No strap there: choose another place, and keep to it.", "Dort kein Gurt: eine andere Stelle wählen und dabei bleiben.";
        DoConsent = "No test.", "Kein Test.";

        StoppedNow = "Not today: do not raise this leg.", "Heute nicht: dieses Bein nicht heben.";
        StoppedBack = "Back to the questions", "Zurück zu den Fragen";
        StoppedAfter = "Nothing was recorded. The answers stay on this screen until you choose another client.", "Nichts wurde aufgenommen. Die Antworten bleiben hier, bis Sie eine andere Person wählen.";
        StoppedBooked = "Nothing was recorded. The answers are in the casebook, at this visit.", "Nichts wurde aufgenommen. Die Antworten stehen im Fallbuch, bei diesem Besuch.";
        StopWhen = "Stop the raise, press S, note what was felt, and refer: pain, tingling or numbness that runs below the knee; pain in the bad leg when the good one rises; dizziness; or the client wants to stop.", "Das Heben abbrechen, S drücken, notieren, was gespürt wurde, überweisen: Schmerz, Kribbeln oder Taubheit bis unter das Knie; Schmerz im schlechten Bein, wenn das gute steigt; Schwindel; oder die Person will aufhören.";
    }
}
