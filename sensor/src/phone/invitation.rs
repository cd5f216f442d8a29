//! The address of a page, as text and as a square to be scanned.

use qrcode::render::{svg, unicode};
use qrcode::{EcLevel, QrCode};

use super::desk::Role;

/// An address that is good for one page, once.
#[derive(Clone, Debug)]
pub struct Invitation {
    /// What the page is for.
    pub role: Role,
    /// The address; its token stands after `#`, which browsers never send.
    pub url: String,
}

impl Invitation {
    pub(super) const fn new(role: Role, url: String) -> Self {
        Self { role, url }
    }

    fn code(&self) -> Option<QrCode> {
        QrCode::with_error_correction_level(&self.url, EcLevel::M).ok()
    }

    /// The square as a drawing; empty if the address is too long for one.
    pub fn qr_svg(&self) -> String {
        self.code().map_or(String::new(), |code| {
            code.render::<svg::Color<'_>>()
                .min_dimensions(256, 256)
                .build()
        })
    }

    /// The square in characters, for a terminal with light figures on dark.
    pub fn qr_text(&self) -> String {
        self.code().map_or(String::new(), |code| {
            code.render::<unicode::Dense1x2>()
                .dark_color(unicode::Dense1x2::Light)
                .light_color(unicode::Dense1x2::Dark)
                .build()
        })
    }

    /// The square as rows of modules, `true` where it is dark, without a rim.
    pub fn qr_modules(&self) -> Vec<Vec<bool>> {
        let Some(code) = self.code() else {
            return Vec::new();
        };
        let colors = code.to_colors();
        let dark = |color: &qrcode::Color| *color == qrcode::Color::Dark;
        colors
            .chunks(code.width())
            .map(|row| row.iter().map(dark).collect())
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_square_is_small_enough_to_be_scanned() {
        let token = "0123456789abcdef0123456789abcdef";
        let url = format!("https://192.168.100.200:43210/#t={token}");
        let invitation = Invitation::new(Role::Marker(None), url);
        let modules = invitation.qr_modules();
        // Version 4 of ISO/IEC 18004: 33 modules.
        assert!(modules.len() <= 37 && modules.iter().all(|row| row.len() == modules.len()));
        // Finder patterns: dark corners, in three of them.
        assert!(modules[0][0] && modules[0][modules.len() - 1] && modules[modules.len() - 1][0]);
        assert!(invitation.qr_svg().contains("<svg") && invitation.qr_text().lines().count() > 15);
    }
}
