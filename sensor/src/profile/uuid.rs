//! Identifiers of services and characteristics.

use std::fmt;
use std::str::FromStr;

/// A 128-bit identifier. Reads the long form and the short forms of the Bluetooth base (`180F`).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Uuid(u128);

impl Uuid {
    /// What the short forms are added to: `00000000-0000-1000-8000-00805f9b34fb`.
    const BASE: u128 = 0x0000_0000_0000_1000_8000_0080_5f9b_34fb;

    /// From its number, most significant byte first, as other crates give it.
    pub const fn from_u128(number: u128) -> Self {
        Self(number)
    }

    /// Its number.
    pub const fn as_u128(self) -> u128 {
        self.0
    }
}

impl fmt::Display for Uuid {
    /// The long form in lower case.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let digits = format!("{:032x}", self.0);
        let parts = [
            &digits[..8],
            &digits[8..12],
            &digits[12..16],
            &digits[16..20],
            &digits[20..],
        ];
        f.pad(&parts.join("-"))
    }
}

impl FromStr for Uuid {
    type Err = ();
    /// Reads 4 or 8 hex digits, or 8-4-4-4-12, in any case.
    fn from_str(text: &str) -> Result<Self, ()> {
        let is_hex = |text: &str| text.bytes().all(|b| b.is_ascii_hexdigit());
        if matches!(text.len(), 4 | 8) && is_hex(text) {
            let short = u128::from_str_radix(text, 16).map_err(drop)?;
            return Ok(Self(Self::BASE | (short << 96)));
        }
        let parts: Vec<&str> = text.split('-').collect();
        let lengths = parts.iter().map(|part| part.len());
        if !lengths.eq([8, 4, 4, 4, 12]) || !parts.iter().all(|part| is_hex(part)) {
            return Err(());
        }
        u128::from_str_radix(&parts.concat(), 16)
            .map(Self)
            .map_err(drop)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_and_short_forms_are_read() {
        let battery: Uuid = "180F".parse().unwrap();
        assert_eq!(battery.to_string(), "0000180f-0000-1000-8000-00805f9b34fb");
        assert_eq!("0000180f".parse(), Ok(battery));
        assert_eq!("0000180F-0000-1000-8000-00805F9B34FB".parse(), Ok(battery));
        assert_eq!(battery.to_string().parse(), Ok(battery));
        assert_eq!(Uuid::from_u128(battery.as_u128()), battery);
        for wrong in [
            "",
            "180",
            "180g",
            "+80F",
            "0000180f-0000-1000-8000-00805f9b34f",
            "0000180f00001000800000805f9b34fb",
            "0000180f-0000-1000-8000-00805f9b34f\u{e9}",
        ] {
            assert_eq!(wrong.parse::<Uuid>(), Err(()), "{wrong}");
        }
    }
}
