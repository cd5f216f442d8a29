//! Recordings that the casebook has given to somebody else follow on disk.

use std::io::Write;

use casebook::store::Store;
use sensor::bids::move_run;

use crate::error::CommandError;

/// Carries out what is written down, one recording after the other. What was broken off before is taken up here.
pub(crate) fn finish(store: &Store, err: &mut dyn Write) -> Result<(), CommandError> {
    for pending in store.pending_moves()? {
        let (from, to) = (&pending.what.from, &pending.what.to);
        move_run(&pending.root, from, to, pending.what.is_copy)?;
        store.finish_move(pending.id)?;
        let done = if pending.what.is_copy {
            "copied"
        } else {
            "moved"
        };
        let root = pending.root.display();
        // It is done, told or not.
        drop(writeln!(
            err,
            "{root}: {done} {from} to {to} ({})",
            from.task
        ));
    }
    Ok(())
}
