//! The ways back and on from each screen: the two buttons of the foot, and their keys.

use crate::window::model::{Act, BookAct, Model, PaceAct, Screen, Verdict};
use crate::window::words::{Care, Desk, Flow, Practice};

/// A way to another screen.
pub(in crate::window) struct Way {
    /// What its button says.
    pub(in crate::window) text: &'static str,
    /// What it does.
    pub(in crate::window) act: Act,
    /// Whether it can be gone.
    pub(in crate::window) is_open: bool,
}

/// The ways back and on from a screen.
pub(in crate::window) fn ways(model: &Model) -> (Option<Way>, Option<Way>) {
    let language = model.settings.language;
    let way = |phrase: Flow, screen| Way {
        text: language.say(phrase),
        act: Act::Go(screen),
        is_open: true,
    };
    let back = |screen| Some(way(Flow::Back, screen));
    if let Some(found) = of_book(model) {
        return found;
    }
    match model.screen {
        Screen::Start | Screen::Measure => (None, None),
        Screen::Cautions => {
            let first = if model.client.is_booked {
                Screen::Clients
            } else {
                Screen::Start
            };
            (back(first), Some(on_from_cautions(model)))
        }
        Screen::Stopped => {
            let again = Way {
                text: language.say(Care::StoppedBack),
                ..way(Flow::Back, Screen::Cautions)
            };
            let new = Way {
                act: Act::NextClient,
                ..way(Flow::ResultNew, Screen::Cautions)
            };
            (Some(again), Some(new))
        }
        Screen::Sensors => {
            let is_open = !model.sensors.words().is_empty();
            let next = Way {
                is_open,
                ..way(Flow::ToFlat, Screen::Flat)
            };
            (back(Screen::Cautions), Some(next))
        }
        Screen::Flat => {
            let phrase = if model.flat.judged.is_empty() {
                Flow::FlatSkip
            } else {
                Flow::ToFlat
            };
            (back(Screen::Sensors), Some(way(phrase, Screen::Manner)))
        }
        Screen::Manner => (
            back(Screen::Flat),
            Some(way(Flow::MannerGo, Screen::Measure)),
        ),
        Screen::Result if model.client.is_booked => (
            Some(way(Flow::ResultMore, Screen::Measure)),
            Some(Way {
                text: language.say(Practice::ResultNext),
                ..way(Flow::Back, Screen::Weeks)
            }),
        ),
        Screen::Result => {
            let new = Way {
                act: Act::NextClient,
                ..way(Flow::ResultNew, Screen::Cautions)
            };
            (Some(way(Flow::ResultMore, Screen::Measure)), Some(new))
        }
        _ => (back(model.before), None),
    }
}

/// On to the sensors, or to the page that stops the test.
fn on_from_cautions(model: &Model) -> Way {
    let named = model.client.is_named();
    let (care, screen, is_open) = match model.cautions.verdict() {
        Verdict::Asking(_) => (Care::GoOn, Screen::Sensors, false),
        Verdict::Stops => (Care::GoOn, Screen::Stopped, true),
        Verdict::Heeded => (Care::GoHeed, Screen::Sensors, named),
        Verdict::Clear => (Care::GoOn, Screen::Sensors, named),
    };
    Way {
        text: model.settings.language.say(care),
        act: Act::Go(screen),
        is_open,
    }
}

/// The same on the screens of the casebook.
fn of_book(model: &Model) -> Option<(Option<Way>, Option<Way>)> {
    let language = model.settings.language;
    let book = &model.book;
    let is_free = book.waiting == 0;
    let back = |screen| {
        Some(Way {
            text: language.say(Flow::Back),
            act: Act::Go(screen),
            is_open: true,
        })
    };
    let way = |text, act, is_open| Some(Way { text, act, is_open });
    Some(match model.screen {
        Screen::Book if book.is_open => (
            back(Screen::Start),
            way(
                language.say(Desk::StartClients),
                Act::Go(Screen::Clients),
                true,
            ),
        ),
        Screen::Book => {
            let text = language.say(if book.is_new { Desk::Make } else { Desk::Open });
            let is_typed = !book.phrase.0.is_empty() && is_free;
            (
                back(Screen::Start),
                way(text, Act::Book(BookAct::Open), is_typed),
            )
        }
        Screen::Clients if book.form.is_some() => (
            way(language.say(Desk::Cancel), Act::Book(BookAct::Cancel), true),
            way(language.say(Desk::Save), Act::Book(BookAct::Save), is_free),
        ),
        Screen::Clients => (back(Screen::Start), None),
        Screen::Drill => {
            let act = Act::Pace(PaceAct::Go);
            (
                back(Screen::Result),
                way(language.say(Practice::ToPacer), act, true),
            )
        }
        Screen::Pacer => {
            let act = Act::Pace(PaceAct::End);
            (
                back(Screen::Drill),
                way(language.say(Practice::End), act, true),
            )
        }
        Screen::Recheck => (back(Screen::Result), Some(after_drill(model))),
        Screen::Weeks | Screen::Report | Screen::Affairs => (back(Screen::Clients), None),
        Screen::Shelf if book.is_open => (back(Screen::Clients), None),
        Screen::Shelf => (back(Screen::Book), None),
        _ => return None,
    })
}

/// From the re-check to the course, or first to the raises.
fn after_drill(model: &Model) -> Way {
    let language = model.settings.language;
    let chosen = model.booked();
    if chosen.is_some_and(|chosen| chosen.recheck.is_some()) {
        return Way {
            text: language.say(Practice::ResultNext),
            act: Act::Go(Screen::Weeks),
            is_open: true,
        };
    }
    let visit = chosen.and_then(|chosen| chosen.visit());
    let may = visit.is_some_and(|visit| visit.drill.is_some());
    Way {
        text: language.say(Practice::AgainBegin),
        act: Act::Pace(PaceAct::Recheck),
        is_open: may && model.book.waiting == 0,
    }
}
