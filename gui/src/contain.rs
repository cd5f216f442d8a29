//! A fault of the program in one recording stops nothing else, and is told as a sentence.

use std::cell::RefCell;
use std::panic::{self, AssertUnwindSafe};

thread_local! {
    /// Where the last fault of this thread happened.
    static PLACE: RefCell<String> = const { RefCell::new(String::new()) };
}

/// Keeps the text of faults from standard error; [`contained`] tells them.
pub(crate) fn keep_faults_quiet() {
    panic::set_hook(Box::new(|info| {
        let place = info
            .location()
            .map_or_else(String::new, |at| format!("{}:{}", at.file(), at.line()));
        PLACE.with_borrow_mut(|last| *last = place);
    }));
}

/// Runs `work`; a fault in it gives where it happened.
pub(crate) fn contained<T>(work: impl FnOnce() -> T) -> Result<T, String> {
    // What `work` leaves half done is dropped with it: it only reads.
    panic::catch_unwind(AssertUnwindSafe(work)).map_err(|_payload| PLACE.take())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_becomes_a_value() {
        assert_eq!(contained(|| 2), Ok(2));
        assert!(contained(|| -> i32 { panic!("of the test") }).is_err());
    }
}
