//! Words of the pacer: what a stretch of it asks for, and which repetition it is.

use super::{Language, Phrase as _, phrases};
use crate::drill::{BeatKind, Counted};
use crate::pacer::{Choice, Phase, PhaseKind, Turn};

phrases! {
    /// A drill's pace in words.
    Paced {
        Ready = "get ready", "bereit machen";
        Change = "change sides", "Seite wechseln";
        Rest = "rest", "ruhen";
        In = "breathe in", "einatmen";
        Out = "breathe out", "ausatmen";
        Wait = "wait", "warten";
        Move = "move", "bewegen";
        Holding = "hold, keep breathing", "halten, weiteratmen";
        Done = "done", "fertig";
        Count = "set {} of {} · {} {} of {}", "Satz {} von {} · {} {} von {}";
        CountSet = "set {} of {}", "Satz {} von {}";
        Breath = "breath", "Atemzug";
        Rep = "repetition", "Wiederholung";
        Hold = "hold", "Haltezeit";
        First = "first side", "erste Seite";
        Second = "other side", "andere Seite";
    }
}

/// What a stretch of the pacer asks for.
pub fn phase(language: Language, kind: PhaseKind) -> &'static str {
    match kind {
        PhaseKind::Ready => Paced::Ready,
        PhaseKind::Change => Paced::Change,
        PhaseKind::SetRest | PhaseKind::Beat(BeatKind::Rest) => Paced::Rest,
        PhaseKind::Beat(BeatKind::In) => Paced::In,
        PhaseKind::Beat(BeatKind::Out) => Paced::Out,
        PhaseKind::Beat(BeatKind::Pause) => Paced::Wait,
        PhaseKind::Beat(BeatKind::Move) => Paced::Move,
        PhaseKind::Beat(BeatKind::Hold) => Paced::Holding,
    }
    .text(language)
}

/// What stands when a drill is over.
pub fn paced_out(language: Language) -> &'static str {
    Paced::Done.text(language)
}

/// Which set, which repetition, which side.
pub fn count(language: Language, counted: Counted, choice: Choice, phase: &Phase) -> String {
    let [set, sets, rep, reps] =
        [phase.set, choice.sets, phase.rep, choice.reps].map(|n| n.to_string());
    let what = language.say(match counted {
        Counted::Breaths => Paced::Breath,
        Counted::Reps => Paced::Rep,
        Counted::Holds => Paced::Hold,
    });
    let text = if phase.rep == 0 {
        language.fill(Paced::CountSet, &[&set, &sets])
    } else {
        language.fill(Paced::Count, &[&set, &sets, what, &rep, &reps])
    };
    match phase.turn {
        None => text,
        Some(Turn::First) => format!("{text} · {}", language.say(Paced::First)),
        Some(Turn::Second) => format!("{text} · {}", language.say(Paced::Second)),
    }
}
