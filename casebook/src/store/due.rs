//! Who has not come for longer than the practitioner keeps clients. A list: nothing is erased by it.

use jiff::ToSpan as _;
use jiff::civil::Date;

use super::error::StoreError;
use super::{Store, bookkeeping, values};

/// A client who is due to be looked at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Due {
    /// The code.
    pub code: String,
    /// The name.
    pub name: String,
    /// The latest visit, or the day the client was added.
    pub latest: Date,
    /// Whether consent was taken back.
    pub is_withdrawn: bool,
}

impl Store {
    /// Clients whose latest visit is longer ago than the setting allows, the longest first; without a setting, only those
    /// who took consent back.
    pub fn due(&self, today: Date) -> Result<Vec<Due>, StoreError> {
        self.read(|db| {
            let months = bookkeeping::retention_months(db)?;
            let limit = months.map(|months| today.saturating_sub(i64::from(months).months()));
            let mut all = db.prepare(
                "SELECT code, name, coalesce((SELECT max(date) FROM visits WHERE client = clients.id), \
                 substr(added, 1, 10)) AS latest, consent_withdrawn IS NOT NULL FROM clients ORDER BY latest, id",
            )?;
            let rows = all.query_map([], |row| {
                Ok((
                    row.get(0)?,
                    row.get(1)?,
                    row.get::<_, String>(2)?,
                    row.get(3)?,
                ))
            })?;
            let mut due = Vec::new();
            for row in rows {
                let (code, name, latest, is_withdrawn) = row?;
                let latest = values::date(&latest)?;
                if is_withdrawn || limit.is_some_and(|limit| latest < limit) {
                    due.push(Due {
                        code,
                        name,
                        latest,
                        is_withdrawn,
                    });
                }
            }
            Ok(due)
        })
    }
}
