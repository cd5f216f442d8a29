//! What is said of Bluetooth sensors that are near.

use super::phrases;

phrases! {
    /// Phrases of the search.
    Near {
        Look = "Look for Bluetooth sensors", "Nach Bluetooth-Sensoren suchen";
        Going = "Looking for some seconds …", "Suche einige Sekunden …";
        Nothing = "None of a known kind is near: switch it on, and free it from other programs.", "Keiner bekannter Art ist in der Nähe: einschalten und von anderen Programmen trennen.";
        Use = "{} for the {}", "{} für: {}";
        Signal = "{}, signal {} dBm", "{}, Signal {} dBm";
    }
}
