//! The form in which a client is written down.

use casebook::record::{Client, Consent};
use jiff::civil::Date;

use super::{Effect, Fault, Model};
use crate::window::desk::Ask;

/// What is said of consent.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(in crate::window) enum Agreed {
    /// As it was.
    #[default]
    AsWas,
    /// Given today.
    Given,
    /// Taken back today.
    Withdrawn,
}

/// The form.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(in crate::window) struct Form {
    /// As it was; a new one has no code.
    pub(in crate::window) former: Client,
    pub(in crate::window) name: String,
    pub(in crate::window) contact: String,
    pub(in crate::window) born: String,
    pub(in crate::window) notes: String,
    pub(in crate::window) agreed: Agreed,
    /// Version of the text of consent.
    pub(in crate::window) version: String,
    /// Why something is changed.
    pub(in crate::window) reason: String,
}

/// What is entered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::window) enum FormAct {
    Name(String),
    Contact(String),
    Born(String),
    Notes(String),
    Agreed(Agreed),
    Version(String),
    Reason(String),
}

impl Form {
    /// As a client is written down.
    pub(super) fn of(client: &Client) -> Self {
        Self {
            former: client.clone(),
            name: client.name.clone(),
            contact: client.contact.clone(),
            born: client.birth_year.map(|y| y.to_string()).unwrap_or_default(),
            notes: client.notes.clone(),
            version: client
                .consent
                .as_ref()
                .map(|consent| consent.text_version.clone())
                .unwrap_or_default(),
            ..Self::default()
        }
    }

    /// Whether it is somebody new.
    pub(in crate::window) fn is_new(&self) -> bool {
        self.former.code.is_empty()
    }

    pub(super) fn set(&mut self, act: FormAct) {
        match act {
            FormAct::Name(text) => self.name = text,
            FormAct::Contact(text) => self.contact = text,
            FormAct::Born(text) => self.born = text,
            FormAct::Notes(text) => self.notes = text,
            FormAct::Agreed(agreed) => self.agreed = agreed,
            FormAct::Version(text) => self.version = text,
            FormAct::Reason(text) => self.reason = text,
        }
    }

    /// The client as they are to be written down.
    fn client(&self, today: Date) -> Result<Client, Fault> {
        let text = |text: &str| text.trim().to_owned();
        if self.name.trim().is_empty() {
            return Err(Fault::NoName);
        }
        let birth_year = match self.born.trim() {
            "" => None,
            year => Some(year.parse().map_err(|_odd| Fault::NotAYear)?),
        };
        let former = self.former.consent.clone();
        let consent = match self.agreed {
            Agreed::AsWas => former,
            Agreed::Given if self.version.trim().is_empty() => return Err(Fault::NoVersion),
            Agreed::Given => Some(Consent {
                given: today,
                text_version: text(&self.version),
                withdrawn: None,
            }),
            Agreed::Withdrawn => former.map(|consent| Consent {
                withdrawn: Some(today),
                ..consent
            }),
        };
        Ok(Client {
            code: self.former.code.clone(),
            name: text(&self.name),
            contact: text(&self.contact),
            birth_year,
            notes: text(&self.notes),
            consent,
        })
    }
}

impl Model {
    pub(super) fn save_client(&mut self) -> Vec<Effect> {
        let today = self.civil.date();
        let Some(form) = self.book.form.as_ref().filter(|_| self.book.waiting == 0) else {
            return Vec::new();
        };
        let (client, reason) = (form.client(today), form.reason.trim().to_owned());
        match client {
            Ok(client) => self.ask(Ask::Save(Box::new(client), reason)),
            Err(fault) => {
                self.book.fault = Some(fault);
                Vec::new()
            }
        }
    }
}
