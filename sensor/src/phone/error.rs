//! What can stand between a phone and this computer.

use std::io;
use std::net::SocketAddr;
use std::path::PathBuf;

use thiserror::Error;

/// Why the pages can't be served.
#[derive(Debug, Error)]
pub enum PhoneError {
    /// The address can't be had.
    #[error("{address}: {source}; choose an address of this computer, and a port that is free")]
    Bind {
        /// As chosen.
        address: SocketAddr,
        /// What the system said.
        source: io::Error,
    },
    /// An address that any computer could use.
    #[error("{0}: not one address of this computer; choose the one that the phone can reach")]
    Anywhere(SocketAddr),
    /// This computer is on no network.
    #[error(
        "no network: this computer has no address that a phone could reach; join the phone's own hotspot, or a Wi-Fi that both are in"
    )]
    NoNetwork,
    /// The certificate can't be made.
    #[error("certificate: {0}; report this with the text")]
    Certificate(String),
    /// The certificate can't be kept.
    #[error("{}: {source}; check that the folder may be written", path.display())]
    Keep {
        /// Where.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The server has been stopped.
    #[error("the pages are no longer served; start again")]
    Stopped,
}
