//! Settings of the window.

use eframe::egui::Ui;

use super::parts;
use crate::window::model::{Act, Model};
use crate::window::settings::{Look, Settings, TEXT_PERCENT};
use crate::window::theme;
use crate::window::words::{Flow, Language};

/// Look, text size, language, folder.
pub(super) fn settings(ui: &mut Ui, model: &Model) -> Vec<Act> {
    let now = &model.settings;
    let language = now.language;
    let say = |phrase| language.say(phrase);
    let mut wanted: Option<Settings> = None;
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
        let folder = now.folder.display().to_string();
        if let Some(folder) = parts::field(ui, say(Flow::SetFolder), &folder, "", 520.0) {
            wanted = Some(Settings {
                folder: folder.into(),
                ..now.clone()
            });
        }
    });
    wanted
        .map(|settings| Act::Set(Box::new(settings)))
        .into_iter()
        .collect()
}
