//! Settings of the window.

use eframe::egui::Ui;

use super::parts;
use crate::window::model::{Act, Cue, Model};
use crate::window::settings::{Look, Settings, TEXT_PERCENT};
use crate::window::theme;
use crate::window::words::{Flow, Language};

/// Look, text size, language, sounds, folder.
pub(super) fn settings(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let now = &model.settings;
    let language = now.language;
    let say = |phrase| language.say(phrase);
    let mut wanted: Option<Settings> = None;
    let mut heard = None;
    parts::now(ui, say(Flow::SetNow));
    parts::card(ui, |ui| {
        ui.set_min_width(ui.available_width().min(theme::READ));
        let looks = [
            (Look::System, say(Flow::SetSystem)),
            (Look::Light, say(Flow::SetLight)),
            (Look::Dark, say(Flow::SetDark)),
        ];
        if let Some(look) = parts::choice(ui, say(Flow::SetTheme), &looks, now.look) {
            wanted = Some(Settings {
                look,
                ..now.clone()
            });
        }
        let sizes = TEXT_PERCENT.map(|percent| (percent, format!("{percent} %")));
        let sizes = sizes
            .each_ref()
            .map(|(percent, text)| (*percent, text.as_str()));
        if let Some(text_percent) = parts::choice(ui, say(Flow::SetText), &sizes, now.text_percent)
        {
            wanted = Some(Settings {
                text_percent,
                ..now.clone()
            });
        }
        let languages = Language::ALL.map(|one| (one, one.name()));
        if let Some(language) = parts::choice(ui, say(Flow::SetLanguage), &languages, language) {
            wanted = Some(Settings {
                language,
                ..now.clone()
            });
        }
        let answers = [
            (true, say(Flow::SetSoundOn)),
            (false, say(Flow::SetSoundOff)),
        ];
        if let Some(has_sound) = parts::choice(ui, say(Flow::SetSound), &answers, now.has_sound) {
            wanted = Some(Settings {
                has_sound,
                ..now.clone()
            });
        }
        if now.has_sound {
            heard = sounds(ui, language);
        }
        let folder = now.folder.display().to_string();
        if let Some(folder) = parts::field(ui, say(Flow::SetFolder), &folder, "", 520.0) {
            wanted = Some(Settings {
                folder: folder.into(),
                ..now.clone()
            });
        }
    });
    let wanted = wanted.map(|settings| Act::Set(Box::new(settings)));
    wanted.into_iter().chain(heard.map(Act::Hear)).collect()
}

/// Each sound, to know it.
fn sounds(ui: &mut Ui, language: Language) -> Option<Cue> {
    let mut heard = None;
    ui.horizontal_wrapped(|ui| {
        for (cue, phrase) in [
            (Cue::Ready, Flow::HearReady),
            (Cue::EndPoint, Flow::HearEnd),
            (Cue::GivesWay, Flow::HearGivesWay),
            (Cue::Lost, Flow::HearLost),
        ] {
            if parts::plain(ui, language.say(phrase)).clicked() {
                heard = Some(cue);
            }
        }
    });
    ui.add_space(theme::GAP);
    heard
}
