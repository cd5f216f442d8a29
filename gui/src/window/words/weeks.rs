//! What is said of the course over visits, and of reports.

use super::phrases;

phrases! {
    /// Phrases of the course and of reports.
    Weeks {
        CourseNow = "End points of each leg, visit by visit.", "Endpunkte jedes Beins, Besuch für Besuch.";
        CourseNone = "There is no course yet: no visit has an end point that counts. Measure first.", "Noch kein Verlauf: Kein Besuch hat einen Endpunkt, der zählt. Zuerst messen.";
        Chart = "Chart of the {} leg: {}", "Diagramm Bein {}: {}";
        ChartPoint = "{}: {} ± {}", "{}: {} ± {}";
        Legend = "Dots with their ±; grey: measurement error about the first visit; broken lines: edges of your bands.", "Punkte mit ihrem ±; grau: Messfehler um den ersten Besuch; gestrichelt: Ihre Bereichsgrenzen.";
        NoLine = "Too few visits for a line: points and the band of measurement error.", "Zu wenige Besuche für eine Linie: Punkte und das Band des Messfehlers.";
        Plan = "Drills for {}, since {}", "Übungen für {}, seit {}";
        PlanNone = "No plan set; looked at from {}", "Kein Plan gesetzt; betrachtet von {} aus";
        First = "the first visit", "dem ersten Besuch";
        Stay = "Stay with {}", "Bei {} bleiben";
        Move = "Move on to {}", "Weiter zu {}";
        Return = "Go back to {}", "Zurück zu {}";
        PlanOf = "{} leg: {}", "Bein {}: {}";
        Apart = "{}, apart: {}", "{}, gesondert: {}";

        ReportNow = "Choose for whom, and as what.", "Wählen, für wen und als was.";
        ForClient = "For the client", "Für die Person";
        ForClientBody = "Plain words, one sheet.", "Einfache Worte, ein Blatt.";
        ForFile = "For the file", "Für die Akte";
        ForFileBody = "All of it, traced to the recordings.", "Alles, bis zu den Aufnahmen.";
        ForReferrer = "For the referrer", "Für die überweisende Stelle";
        ForReferrerBody = "Method, conditions, uncertainty.", "Verfahren, Umstände, Unsicherheit.";
        Pdf = "PDF", "PDF";
        Html = "HTML", "HTML";
        Make = "{} as {}", "{} als {}";
        Folder = "Folder for reports", "Ordner für Berichte";
        Written = "Written: {}", "Geschrieben: {}";
        Programs = "For other programs", "Für andere Programme";
        ProgramsBody = "Under the code, never the name. Ask the client before you pass anything on.", "Unter dem Kürzel, nie unter dem Namen. Die Person fragen, bevor etwas weitergegeben wird.";
        Csv = "Table of all raises, as CSV", "Tabelle aller Hebungen, als CSV";
        Fhir = "Results for a health record, as FHIR", "Ergebnisse für eine Gesundheitsakte, als FHIR";
        Share = "Recordings to pass on", "Aufnahmen zum Weitergeben";
        ShareBody = "Recordings to pass on: without names, with dates moved by a number of days that nobody keeps.", "Aufnahmen zum Weitergeben: ohne Namen, die Daten um eine Zahl von Tagen verschoben, die niemand aufbewahrt.";
        Private = "A report holds the client's name: give it only to whom it is for.", "In einem Bericht steht der Name der Person: nur an den geben, für den er ist.";
        NoteTitle = "Line to paste", "Zeile zum Einfügen";
        NoteCopy = "Copy", "Kopieren";
        NoteNone = "Nothing to paste yet.", "Noch nichts zum Einfügen.";
    }
}
