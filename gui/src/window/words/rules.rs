//! What is said of each rule. In English the casebook itself says it.

use casebook::RuleInfo;

use super::Language;

/// Rules in German: key, unit, what it is.
const GERMAN: [(&str, &str, &str); 21] = [
    (
        "raise_count",
        "Hebungen",
        "So viele Hebungen je Seite werden in einer Runde verlangt",
    ),
    (
        "sem_deg",
        "°",
        "Standardfehler der Messung einer Hebung, gleiche messende Person, bis eigene Hebungen es besser sagen",
    ),
    (
        "sem_dof",
        "Freiheitsgrade",
        "Wie schwer dieser veröffentlichte Wert gegen die eigene Streuung der Person wiegt",
    ),
    (
        "own_dof_least",
        "Freiheitsgrade",
        "Ab so vielen ersetzen eigene Hebungen den veröffentlichten Wert",
    ),
    (
        "own_dof_most",
        "Freiheitsgrade",
        "So schwer wiegen eigene Hebungen aller Personen höchstens gegen die Streuung einer",
    ),
    (
        "sem_between_visits_deg",
        "°",
        "Zwischen Besuchen gilt der Standardfehler als mindestens so groß",
    ),
    (
        "other_rater_mdc_deg",
        "°",
        "Kleinste Änderung über dem Messfehler, wenn jemand anderes gemessen hat",
    ),
    (
        "side_usual_deg",
        "°",
        "Üblicher Unterschied der Seiten, gleich in welche Richtung, Mittel gesunder Erwachsener",
    ),
    (
        "side_usual_sd_deg",
        "°",
        "Standardabweichung dieses Unterschieds",
    ),
    (
        "side_note_deg",
        "°",
        "Ab hier wird ein Unterschied der Seiten vermerkt",
    ),
    (
        "flexible_deg",
        "°",
        "Darüber braucht ein Bein, das sich straff anfühlt, Kontrolle und Kraft, nicht mehr Länge",
    ),
    (
        "recheck_within_s",
        "s",
        "So bald nach der Übung beginnt die Nachmessung",
    ),
    (
        "trend_visit_count",
        "Besuche",
        "Ab so vielen Besuchen wird eine Linie gezogen",
    ),
    (
        "fit_chance",
        "",
        "Punkte, die mit kleinerer Wahrscheinlichkeit so um die Linie streuen, werden vermerkt",
    ),
    (
        "move_on_visit_count",
        "Besuche",
        "So viele Besuche um mehr als die Unsicherheit über der Grenze, bevor es weitergeht",
    ),
    (
        "move_on_days",
        "Tage",
        "Mindestens so viel Zeit zwischen dem ersten und dem letzten davon",
    ),
    (
        "plateau_weeks",
        "Wochen",
        "So lange keine Änderung über dem Messfehler nach einem Gewinn ist ein Stillstand",
    ),
    (
        "review_weeks_from",
        "Wochen",
        "Keine Änderung über dem Messfehler seit Beginn: an eine andere Übung denken",
    ),
    (
        "review_weeks_to",
        "Wochen",
        "Dasselbe bis dahin: Übung wechseln oder überweisen",
    ),
    ("visit_days", "Tage", "Zeit bis zum nächsten Besuch"),
    (
        "lead_in_s",
        "s",
        "Zeit, sich bereit zu machen, bevor der Taktgeber beginnt, und zum Seitenwechsel",
    ),
];

impl Language {
    /// Unit of a rule, and what it is.
    pub(in crate::window) fn rule(self, info: &RuleInfo) -> (&'static str, &'static str) {
        let german = GERMAN.iter().find(|(key, ..)| *key == info.key);
        match (self, german) {
            (Self::German, Some((_, unit, about))) => (unit, about),
            _ => (info.unit, info.about),
        }
    }
}

#[cfg(test)]
mod tests {
    use casebook::Rules;

    use super::*;

    #[test]
    fn every_rule_is_said_in_german() {
        for info in Rules::ALL {
            assert!(
                GERMAN.iter().any(|(key, ..)| *key == info.key),
                "{}",
                info.key
            );
            assert_ne!(Language::German.rule(info).1, info.about);
        }
        assert_eq!(GERMAN.len(), Rules::ALL.len());
    }
}
