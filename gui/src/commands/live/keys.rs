//! Marks that are typed while a run goes on.

use std::io;
use std::thread::Builder;

use sensor::MarkKind;
use tokio::sync::mpsc::Sender;

use crate::error::CommandError;
use crate::live::Command;

/// Reads lines on a thread of its own until there are no more, or the run has ended.
pub(super) fn read(commands: Sender<Command>) -> Result<(), CommandError> {
    let lines = move || {
        for line in io::stdin().lines().map_while(Result::ok) {
            if commands.blocking_send(mark(line.trim())).is_err() {
                return;
            }
        }
    };
    Builder::new()
        .name("keys".to_owned())
        .spawn(lines)
        .map(drop)
        .map_err(CommandError::Thread)
}

/// What a line means.
fn mark(line: &str) -> Command {
    let (kind, value) = match line {
        "" => (MarkKind::Pull, String::new()),
        "s" | "stop" => (MarkKind::Stop, String::new()),
        note => (MarkKind::Note, note.to_owned()),
    };
    Command::Mark {
        kind,
        side: None,
        value,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_a_mark() {
        let kind = |line| match mark(line) {
            Command::Mark { kind, .. } => Some(kind),
            Command::Stop => None,
        };
        assert_eq!(kind(""), Some(MarkKind::Pull));
        assert_eq!(kind("s"), Some(MarkKind::Stop));
        assert_eq!(kind("felt it early"), Some(MarkKind::Note));
    }
}
