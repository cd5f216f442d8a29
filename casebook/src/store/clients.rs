//! Who the clients are.

use jiff::civil::Date;
use rusqlite::{Connection, OptionalExtension as _, Row, params};

use super::changes::{Field, Place, Why, enter, note};
use super::error::{Inner, StoreError, StoreErrorKind};
use super::fold::fold;
use super::schema::folded;
use super::{Store, values};
use crate::record::{Client, Consent};

/// How many letters a code of ours has. 26⁶ are 309 million.
pub const CODE_LETTERS: usize = 6;
/// The longest code taken over from recordings.
const CODE_CHARS_MAX: usize = 32;
/// The longest text of one field, bytes.
pub(super) const TEXT_BYTES_MAX: usize = 64 * 1024;

/// A client in a list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Listed {
    /// The code.
    pub code: String,
    /// The name.
    pub name: String,
    /// How many visits.
    pub visit_count: usize,
    /// The latest of them.
    pub latest: Option<Date>,
    /// Whether consent was given and stands.
    pub has_consent: bool,
}

const COLUMNS: &str =
    "code, name, contact, birth_year, notes, consent_given, consent_text, consent_withdrawn";

impl Store {
    /// Adds a client under a new random code, or under the one given, for recordings that are there already. The code
    /// that was used is given back.
    pub fn add_client(&self, client: &Client, why: Why<'_>) -> Result<String, StoreError> {
        self.change(|db| {
            check(client)?;
            let code = if client.code.is_empty() {
                free_code(db)?
            } else {
                client.code.clone()
            };
            if find_id(db, &code)?.is_some() {
                return Err(StoreErrorKind::CodeTaken(code));
            }
            let consent = client.consent.as_ref();
            db.execute(
                "INSERT INTO clients (code, name, contact, birth_year, notes, consent_given, consent_text, \
                 consent_withdrawn, added, folded) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)",
                params![
                    code,
                    client.name,
                    client.contact,
                    client.birth_year,
                    client.notes,
                    consent.map(|c| c.given.to_string()),
                    consent.map(|c| c.text_version.as_str()),
                    consent.and_then(|c| c.withdrawn).map(|d| d.to_string()),
                    why.at.to_string(),
                    folded(&client.name, &client.contact, &code),
                ],
            )?;
            let place = Place {
                client: Some(db.last_insert_rowid()),
                place: "client",
            };
            enter(db, place, "added", None, why)?;
            Ok(code)
        })
    }

    /// One client by the code.
    pub fn client(&self, code: &str) -> Result<Client, StoreError> {
        self.read(|db| client(db, code))
    }

    /// The code of one client: by the code itself, or by words that only that client has.
    pub fn code_of(&self, asked: &str) -> Result<String, StoreError> {
        if self.read(|db| find_id(db, asked))?.is_some() {
            return Ok(asked.to_owned());
        }
        let mut found = self.find(asked)?;
        self.read(|_| match found.len() {
            0 => Err(StoreErrorKind::NoClient(asked.to_owned())),
            1 => Ok(found.remove(0).code),
            _ => Err(StoreErrorKind::ManyClients {
                asked: asked.to_owned(),
                codes: found.iter().take(5).map(|l| l.code.clone()).collect(),
            }),
        })
    }

    /// Clients in whose name, contact or code every word occurs, without regard to accents and capitals; all of them
    /// without words. Ordered by name.
    pub fn find(&self, words: &str) -> Result<Vec<Listed>, StoreError> {
        self.read(|db| {
            let folded = fold(words);
            let words: Vec<&str> = folded.split_whitespace().take(16).collect();
            let wanted = " AND instr(folded, ?) > 0".repeat(words.len());
            // The inner query reads the index of visits alone.
            let mut all = db.prepare_cached(&format!(
                "SELECT code, name, consent_given IS NOT NULL AND consent_withdrawn IS NULL, \
                 (SELECT count(*) FROM visits WHERE client = clients.id), \
                 (SELECT max(date) FROM visits WHERE client = clients.id) \
                 FROM clients WHERE TRUE{wanted} ORDER BY folded, id"
            ))?;
            let rows = all.query_map(rusqlite::params_from_iter(words), |row| {
                let latest: Option<String> = row.get(4)?;
                let listed = Listed {
                    code: row.get(0)?,
                    name: row.get(1)?,
                    has_consent: row.get(2)?,
                    visit_count: row.get(3)?,
                    latest: None,
                };
                Ok((listed, latest))
            })?;
            rows.map(|row| {
                let (listed, latest) = row?;
                let latest = latest.map(|text| values::date(&text)).transpose()?;
                Ok(Listed { latest, ..listed })
            })
            .collect()
        })
    }

    /// Puts a client's fields in place of those kept under the same code; each former value is kept with the reason.
    pub fn edit_client(&self, client: &Client, why: Why<'_>) -> Result<(), StoreError> {
        self.change(|db| {
            check(client)?;
            let id = id_of(db, &client.code)?;
            let former = self::client(db, &client.code)?;
            let place = Place {
                client: Some(id),
                place: "client",
            };
            note(db, place, &fields(&former, client), why)?;
            let consent = client.consent.as_ref();
            db.execute(
                "UPDATE clients SET name = ?2, contact = ?3, birth_year = ?4, notes = ?5, consent_given = ?6, \
                 consent_text = ?7, consent_withdrawn = ?8, folded = ?9 WHERE id = ?1",
                params![
                    id,
                    client.name,
                    client.contact,
                    client.birth_year,
                    client.notes,
                    consent.map(|c| c.given.to_string()),
                    consent.map(|c| c.text_version.as_str()),
                    consent.and_then(|c| c.withdrawn).map(|d| d.to_string()),
                    folded(&client.name, &client.contact, &client.code),
                ],
            )?;
            Ok(())
        })
    }
}

/// A part of consent: its name, and how it stands as text.
type Part = (&'static str, fn(&Consent) -> Option<String>);

fn fields(former: &Client, now: &Client) -> Vec<Field> {
    let text = |text: &String| Some(text.clone());
    let of = |client: &Client, part: fn(&Consent) -> Option<String>| {
        client.consent.as_ref().and_then(part)
    };
    let mut fields = vec![
        Field::new("name", text(&former.name), text(&now.name)),
        Field::new("contact", text(&former.contact), text(&now.contact)),
        Field::new(
            "birth year",
            former.birth_year.map(|year| year.to_string()),
            now.birth_year.map(|year| year.to_string()),
        ),
        Field::new("notes", text(&former.notes), text(&now.notes)),
    ];
    let parts: [Part; 3] = [
        ("consent given", |c| Some(c.given.to_string())),
        ("consent text", |c| Some(c.text_version.clone())),
        ("consent withdrawn", |c| c.withdrawn.map(|d| d.to_string())),
    ];
    fields.extend(
        parts
            .into_iter()
            .map(|(name, part)| Field::new(name, of(former, part), of(now, part))),
    );
    fields
}

/// What may be kept of a client.
fn check(client: &Client) -> Inner<()> {
    let value = |field, value: &str, expected| {
        let value = value.chars().take(40).collect();
        Err(StoreErrorKind::Value {
            field,
            value,
            expected,
        })
    };
    let is_code = client.code.chars().all(|c| c.is_ascii_alphanumeric());
    if !is_code || client.code.len() > CODE_CHARS_MAX {
        return value("code", &client.code, "up to 32 letters and digits");
    }
    if client.name.trim().is_empty() {
        return value("name", &client.name, "a name");
    }
    for (field, text) in [
        ("name", &client.name),
        ("contact", &client.contact),
        ("notes", &client.notes),
    ] {
        check_text(field, text)?;
    }
    match client.birth_year {
        Some(year) if !(1900..=2100).contains(&year) => {
            return value("birth year", &year.to_string(), "a year from 1900 to 2100");
        }
        _ => {}
    }
    if let Some(consent) = &client.consent {
        check_text("consent text", &consent.text_version)?;
        if consent.text_version.trim().is_empty() {
            return value("consent text", "", "the version of the text");
        }
    }
    Ok(())
}

/// A text that may be kept.
pub(super) fn check_text(field: &'static str, text: &str) -> Inner<()> {
    if text.len() > TEXT_BYTES_MAX || text.contains('\0') {
        return Err(StoreErrorKind::Value {
            field,
            value: text.chars().take(40).collect(),
            expected: "text of at most 64 KiB",
        });
    }
    Ok(())
}

/// A random code that nobody has.
fn free_code(db: &Connection) -> Inner<String> {
    const ATTEMPTS_MAX: usize = 1000;
    for _ in 0..ATTEMPTS_MAX {
        let code = random_code()?;
        if find_id(db, &code)?.is_none() {
            return Ok(code);
        }
    }
    Err(StoreErrorKind::Value {
        field: "code",
        value: String::new(),
        expected: "a random code that is free",
    })
}

/// Letters drawn evenly: bytes beyond the last whole alphabet are drawn again.
fn random_code() -> Inner<String> {
    const EVEN: u8 = 26 * 9;
    let mut code = String::with_capacity(CODE_LETTERS);
    while code.len() < CODE_LETTERS {
        let mut byte = [0_u8];
        getrandom::fill(&mut byte)
            .map_err(|e| StoreErrorKind::Io(std::io::Error::other(e.to_string())))?;
        if byte[0] < EVEN {
            code.push(char::from(b'a' + byte[0] % 26));
        }
    }
    Ok(code)
}

pub(super) fn find_id(db: &Connection, code: &str) -> Inner<Option<i64>> {
    let mut one = db.prepare_cached("SELECT id FROM clients WHERE code = ?1")?;
    Ok(one.query_row([code], |row| row.get(0)).optional()?)
}

pub(super) fn id_of(db: &Connection, code: &str) -> Inner<i64> {
    find_id(db, code)?.ok_or_else(|| StoreErrorKind::NoClient(code.to_owned()))
}

/// A client as kept.
pub(super) fn client(db: &Connection, code: &str) -> Inner<Client> {
    let mut one = db.prepare_cached(&format!("SELECT {COLUMNS} FROM clients WHERE code = ?1"))?;
    let found = one.query_row([code], |row| Ok(from_row(row))).optional()?;
    found.unwrap_or_else(|| Err(StoreErrorKind::NoClient(code.to_owned())))
}

fn from_row(row: &Row<'_>) -> Inner<Client> {
    let date = |at: usize| -> Inner<Option<Date>> {
        let text: Option<String> = row.get(at)?;
        text.map(|text| values::date(&text)).transpose()
    };
    let text_version: Option<String> = row.get(6)?;
    let withdrawn = date(7)?;
    let consent = date(5)?.map(|given| Consent {
        given,
        text_version: text_version.unwrap_or_default(),
        withdrawn,
    });
    Ok(Client {
        code: row.get(0)?,
        name: row.get(1)?,
        contact: row.get(2)?,
        birth_year: row.get(3)?,
        notes: row.get(4)?,
        consent,
    })
}
