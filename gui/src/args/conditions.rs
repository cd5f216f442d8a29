//! How a raise is done, in words that may be given.

use clap::ValueEnum;

/// Words for how a raise is done, as the files have them.
macro_rules! choices {
    ($(#[$about:meta])* $name:ident { $($(#[$what:meta])* $variant:ident = $word:literal,)+ }) => {
        $(#[$about])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
        pub(crate) enum $name { $($(#[$what])* $variant,)+ }

        impl $name {
            /// The word in the files.
            pub(crate) const fn as_str(self) -> &'static str {
                match self { $(Self::$variant => $word,)+ }
            }
        }
    };
}

choices! {
    /// Who moves the leg.
    Movement {
        /// The person
        Active = "active",
        /// The practitioner
        Passive = "passive",
    }
}

choices! {
    /// How the ankle is held.
    Ankle {
        /// Loose
        Relaxed = "relaxed",
        /// Toes towards the shin
        PulledUp = "pulled up",
        /// Toes away
        Pointed = "pointed",
    }
}

choices! {
    /// What the raise goes to.
    AskedFor {
        /// The first pull at the back of the thigh
        FirstPull = "first pull",
        /// As far as it goes
        Limit = "limit",
    }
}
