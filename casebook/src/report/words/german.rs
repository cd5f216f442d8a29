//! What the casebook judged, in German. The English sentences are in [`crate::wording`].

use fusion::{Angle, Reason};
use sensor::Side;

use super::facts::{self, reason};
use crate::bands::Bands;
use crate::change::{Change, LimitKind};
use crate::course::{Advice, Direction, Hint, LeftOut, Step, StepReason, Trend};
use crate::decide::{BandChance, Note, SideDifference};
use crate::recheck::{RecheckNote, WarmUp};
use crate::repeatability::{Origin, Repeatability};
use crate::report::Language;

const DE: Language = Language::German;

pub(super) const BANDS: &str = "Die Bereiche sind eine Einstellung der messenden Person; keine Studie stützt diese Grenzen als Richtwerte.";

pub(super) const DRILLS: &str =
    "Allgemeine Übungen des Fachs. Für keine ist eine Wirkung in ihrem Bereich nachgewiesen.";

pub(super) const STOP: [&str; 6] = [
    "Schmerz über 3 von 10, oder nach einem Tag nicht abgeklungen.",
    "Kribbeln.",
    "Taubheit.",
    "Schwindel.",
    "Angehaltener Atem.",
    "Krampf, der bleibt.",
];

fn deg(angle: Angle) -> String {
    format!("{}°", DE.number(angle.degrees(), 1))
}

fn signed(angle: Angle, decimals: usize) -> String {
    format!("{}°", DE.signed(angle.degrees(), decimals))
}

fn side(side: Side) -> &'static str {
    facts::side(DE, side)
}

fn raises(count: usize) -> String {
    counted(count, "Hebung", "Hebungen")
}

fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

pub(super) fn percent(chance: f64) -> String {
    let percent = 100.0 * chance;
    if percent < 1.0 {
        "unter 1 %".to_owned()
    } else if percent > 99.0 {
        "über 99 %".to_owned()
    } else {
        format!("{percent:.0} %")
    }
}

/// A band in words.
pub(super) fn band(all: &Bands, band: usize) -> String {
    let edge = |at: usize| {
        let edge = all.edges().get(at)?;
        // Edges are kept as radians and come back a little off.
        Some(
            ((edge.degrees() * 1e6).round() * 1e-6)
                .to_string()
                .replace('.', ","),
        )
    };
    match (band.checked_sub(1).and_then(edge), edge(band)) {
        (Some(from), Some(to)) => format!("{from}\u{2013}{to}°"),
        (None, Some(to)) => format!("unter {to}°"),
        (Some(from), None) => format!("ab {from}°"),
        (None, None) => "jeder Winkel".to_owned(),
    }
}

pub(super) fn bands(named: &[BandChance], all: &Bands) -> String {
    if let [only] = named {
        return band(all, only.band);
    }
    let words: Vec<String> = named
        .iter()
        .map(|found| format!("{} ({})", band(all, found.band), percent(found.chance)))
        .collect();
    words.join(" oder ")
}

pub(super) fn repeatability(known: &Repeatability) -> String {
    let from = match known.origin {
        Origin::Published => "aus veröffentlichten Studien".to_owned(),
        Origin::Own { round_count, dof } => {
            format!("aus {round_count} eigenen Runden, {dof} Freiheitsgrade")
        }
    };
    format!(
        "eine Person wiederholt eine Hebung auf {} genau (Standardfehler, {from})",
        deg(known.sem)
    )
}

fn means(why: Reason) -> &'static str {
    match why {
        Reason::Pull => {
            "der Winkel sagt, wo das Ziehen gespürt wurde; was verlangt war und der Fuß zählen ebenso"
        }
        Reason::OppositeLeg => {
            "der Winkel sagt, wie weit das Becken ruhig blieb, nicht wie weit dieses Bein kann; auch das Halten des anderen Beins üben"
        }
        Reason::Knee => "der Winkel sagt, wie weit das Knie gestreckt blieb",
        Reason::Stop => "vor dem Weitermachen die Vorsichtsfragen stellen",
        Reason::Hold => "nichts gab vorher nach; warum es nicht weiter ging, wird nicht gemessen",
        Reason::Peak => {
            "nichts gab nach, und das Bein wurde nicht gehalten; oben kurz halten lassen"
        }
    }
}

pub(super) fn note(note: &Note) -> String {
    match *note {
        Note::FewRaises { count, asked } => format!("{} von {asked} verlangten", raises(count)),
        Note::EndedBy {
            reason: why,
            count,
            of,
        } => format!(
            "{count} von {of} beendet durch: {}; {}",
            reason(DE, why),
            means(why)
        ),
        Note::MixedEnds => {
            "die Hebungen endeten aus verschiedenen Gründen: ein Mittel aus Verschiedenem"
                .to_owned()
        }
        Note::Stopped { count } => format!(
            "{} abgebrochen und weggelassen; {}",
            raises(count),
            means(Reason::Stop)
        ),
        Note::Scatter { scatter, usual } => format!(
            "die Hebungen streuen um {}, mehr als die üblichen {}; noch einmal messen",
            deg(scatter),
            deg(usual)
        ),
        Note::FlexibleYetTight { chance } => format!(
            "geht weit ({} über der Grenze) und fühlt sich doch straff an: Kontrolle und Kraft, nicht mehr Länge",
            percent(chance)
        ),
        Note::Flexible { chance } => format!(
            "geht weit ({} über der Grenze); fragen, ob es sich straff anfühlt",
            percent(chance)
        ),
    }
}

pub(super) fn difference(found: &SideDifference) -> String {
    let amount = found.left_less_right;
    let higher = if amount < Angle::ZERO {
        Side::Right
    } else {
        Side::Left
    };
    let (usual, sd) = found.usual;
    let certain = if found.is_beyond_error {
        "mehr als"
    } else {
        "innerhalb"
    };
    let noted = if found.is_noted {
        "; bemerkenswert"
    } else {
        ""
    };
    format!(
        "{} höher um {} ± {}, {certain} der Unsicherheit; üblich zu jeder Seite {} ± {}{noted}",
        side(higher),
        deg(amount.abs()),
        deg(found.expanded),
        deg(usual),
        deg(sd),
    )
}

pub(super) fn change(found: &Change) -> String {
    let limit = match found.limit_kind {
        LimitKind::Mdc95 => "kleinste Änderung über dem Messfehler bei so vielen Hebungen",
        LimitKind::OwnScatter => "die eigene Unsicherheit, denn die Hebungen streuen sehr",
        LimitKind::OtherRater => "so viel weichen zwei Messende voneinander ab",
    };
    let judged = if found.is_beyond_error() {
        "mehr als Messfehler"
    } else {
        "innerhalb des Messfehlers"
    };
    format!(
        "Änderung {} ± {}: {judged} ({}, {limit})",
        signed(found.amount, 1),
        deg(found.expanded),
        deg(found.limit),
    )
}

pub(super) fn warm_up(found: &WarmUp) -> String {
    format!(
        "von Hebung 1 zu Hebung 3 {} (einzelne Hebungen: über dem Messfehler ab {}); Aufwärmen, nicht die Übung",
        signed(found.gain, 1),
        deg(found.limit)
    )
}

pub(super) fn recheck_note(note: &RecheckNote) -> String {
    match *note {
        RecheckNote::OtherOrder => "die Beine wurden in anderer Folge gehoben als zuvor".to_owned(),
        RecheckNote::OtherCount {
            side: which,
            before,
            after,
        } => format!(
            "{}: {} vor der Übung, {after} danach; gleich viele nehmen",
            side(which),
            raises(before)
        ),
        RecheckNote::Late { after_s } => format!(
            "begonnen {} min nach der Übung: ein Gewinn kann bis dahin vergangen sein",
            DE.number(after_s / 60.0, 1)
        ),
        RecheckNote::TimeUnknown => "wie lange nach der Übung, ist nicht bekannt".to_owned(),
        RecheckNote::OtherRater => "eine andere Person hat gemessen".to_owned(),
        RecheckNote::Unsaid(what) => format!("nicht gesagt, {}", facts::unsaid(DE, what)),
    }
}

pub(super) fn left_out(why: &LeftOut) -> String {
    match why {
        LeftOut::OtherWay(differing) => {
            let words: Vec<&str> = differing
                .iter()
                .map(|what| facts::unsaid(DE, *what))
                .collect();
            format!(
                "anders gemacht als beim letzten Termin: {}",
                words.join(", ")
            )
        }
        LeftOut::OtherRater => "andere messende Person als beim letzten Termin".to_owned(),
        LeftOut::SameDay => "nicht die erste Runde des Tages".to_owned(),
    }
}

pub(super) fn trend(found: &Trend) -> String {
    let direction = match found.direction {
        Direction::Up => "wächst um mehr als Messfehler",
        Direction::Down => "fällt um mehr als Messfehler",
        Direction::Unclear => "keine Änderung über dem Messfehler",
    };
    let (low, high) = found.robust_interval;
    let rough = if found.is_rough {
        "; die Termine liegen weiter von der Linie, als ihre Unsicherheit sagt"
    } else {
        ""
    };
    format!(
        "{direction}: {} ± {}° je Woche; mittlere Steigung {}, {} bis {} ({:.0} %){rough}",
        signed(found.per_week, 2),
        DE.number(found.expanded_per_week.degrees(), 2),
        signed(found.robust_per_week, 2),
        signed(low, 2),
        signed(high, 2),
        100.0 * found.robust_coverage,
    )
}

pub(super) fn advice(found: &Advice, all: &Bands) -> Vec<String> {
    let step = match found.step {
        Step::Stay => "Vorschlag: bei diesen Übungen bleiben".to_owned(),
        Step::MoveOn { to } => format!("Vorschlag: weiter zu Übungen für {}", band(all, to)),
        Step::Return { to } => format!("Vorschlag: zurück zu Übungen für {}", band(all, to)),
    };
    let reasons = found.reasons.iter().map(step_reason);
    let hints = found.hints.iter().map(hint);
    std::iter::once(step).chain(reasons).chain(hints).collect()
}

fn step_reason(why: &StepReason) -> String {
    let visits = |count| counted(count, "Termin", "Termine");
    match *why {
        StepReason::TopBand => "darüber gibt es keinen Bereich".to_owned(),
        StepReason::NotAbove { above, expanded } => format!(
            "das Mittel liegt {} von der oberen Grenze; es muss um mehr als seine Unsicherheit darüber liegen, {}",
            signed(above, 1),
            deg(expanded)
        ),
        StepReason::Above {
            visits: count,
            since,
        } => format!(
            "um mehr als die Unsicherheit über der oberen Grenze: {}, seit {}",
            visits(count),
            DE.date(since)
        ),
        StepReason::TooFewVisits { found, needed } => {
            format!("bisher {}, nötig {needed}", visits(found))
        }
        StepReason::TooSoon { days, needed } => format!(
            "{} auseinander, nötig {needed}",
            counted(days, "Tag", "Tage")
        ),
        StepReason::NotQuiet => "andere Zeichen sind nicht ruhig".to_owned(),
        StepReason::QuietUnknown => "erst fragen, ob andere Zeichen ruhig sind".to_owned(),
        StepReason::ClearFall {
            from,
            change: found,
        } => format!("seit {}: {}", DE.date(from), change(&found)),
    }
}

fn hint(hint: &Hint) -> String {
    match *hint {
        Hint::Plateau { weeks } => {
            format!(
                "ein Gewinn, und seit {weeks:.0} Wochen keiner: eine andere Übung kann mehr bewirken"
            )
        }
        Hint::Review { weeks, is_due } => {
            let then = if is_due {
                "die Übung wechseln oder überweisen"
            } else {
                "an eine andere Übung denken"
            };
            format!("keine Änderung über dem Messfehler in {weeks:.0} Wochen: {then}")
        }
    }
}
