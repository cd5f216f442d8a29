//! Forgetting a client: what is erased here is overwritten, not only marked as free.

use super::error::StoreError;
use super::{Store, clients};

impl Store {
    /// Erases a client with visits, results, plans and history, and packs the file anew. The recordings are the caller's
    /// to erase first: as long as the client is here, one knows whose they are.
    pub fn forget(&self, code: &str) -> Result<(), StoreError> {
        self.change(|db| {
            let id = clients::id_of(db, code)?;
            db.execute("DELETE FROM clients WHERE id = ?1", [id])?;
            Ok(())
        })?;
        // Pages that are free were overwritten already (`secure_delete`); this gives back their room. On a full disk it
        // can't, and the client is forgotten all the same.
        drop(self.db.execute_batch("VACUUM"));
        Ok(())
    }
}
