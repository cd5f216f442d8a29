//! Whether a client may be recorded: nothing is before consent, and nothing after it was taken back.

use jiff::civil::Date;
use thiserror::Error;

use crate::record::Client;

/// Why a client may not be recorded.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum ConsentFault {
    /// Nobody noted any.
    #[error(
        "client {code} has given no consent, expected it before the first recording; ask, then `legraise client consent {code} --text VERSION`"
    )]
    None {
        /// Whose.
        code: String,
    },
    /// It begins later.
    #[error(
        "consent of client {code} is dated {given}, expected today or earlier; correct the date"
    )]
    Later {
        /// Whose.
        code: String,
        /// From when.
        given: Date,
    },
    /// Taken back.
    #[error(
        "client {code} took consent back on {withdrawn}: no more recordings; ask again, and note it if it is given"
    )]
    Withdrawn {
        /// Whose.
        code: String,
        /// When.
        withdrawn: Date,
    },
}

/// Whether a client may be recorded today.
pub fn may_record(client: &Client, today: Date) -> Result<(), ConsentFault> {
    let code = || client.code.clone();
    let Some(consent) = &client.consent else {
        return Err(ConsentFault::None { code: code() });
    };
    if let Some(withdrawn) = consent.withdrawn.filter(|day| *day <= today) {
        return Err(ConsentFault::Withdrawn {
            code: code(),
            withdrawn,
        });
    }
    if consent.given > today {
        return Err(ConsentFault::Later {
            code: code(),
            given: consent.given,
        });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::record::Consent;

    #[test]
    fn only_consent_that_stands_lets_record() {
        let today = date(2026, 3, 2);
        let mut client = Client {
            code: "abcdef".to_owned(),
            ..Client::default()
        };
        assert!(matches!(
            may_record(&client, today),
            Err(ConsentFault::None { .. })
        ));
        let consent = |given, withdrawn| {
            Some(Consent {
                given,
                text_version: "1".to_owned(),
                withdrawn,
            })
        };
        client.consent = consent(today, None);
        assert_eq!(may_record(&client, today), Ok(()));
        client.consent = consent(date(2026, 3, 3), None);
        assert!(matches!(
            may_record(&client, today),
            Err(ConsentFault::Later { .. })
        ));
        client.consent = consent(today, Some(today));
        let fault = may_record(&client, today).unwrap_err().to_string();
        assert!(
            fault.contains("; ") && fault.contains("2026-03-02"),
            "{fault}"
        );
    }
}
