//! A phone as a sensor, as the button in the client's hand, and as the picture that paces a drill, without an app: this
//! program serves three pages over HTTPS on the local network.
//!
//! ```text
//! listen ─► TLS ─► http ─┬─► pages (eight files, compiled in)
//!                        ├─► socket ─┐
//!                        └─► push ───┴─► guest ─► source ─► events
//! ```
//! A page comes with a token that is good once, and stays with a key. Whoever has neither gets nothing but the files.

mod beat;
mod certificate;
mod clock;
mod desk;
mod error;
mod guest;
mod http;
mod invitation;
mod listen;
mod message;
mod sign;
mod socket;
mod source;

#[cfg(test)]
mod tests;

use std::net::{IpAddr, SocketAddr};
use std::path::Path;
use std::sync::Arc;

use tokio::net::TcpListener;

pub use beat::{Beat, Circle};
pub use desk::{Cue, Role};
pub use error::PhoneError;
pub use invitation::Invitation;

use certificate::{Certificate, certificate, groups};
use desk::Desk;
use source::Phone;

use crate::Placement;
use crate::live::{Begin, CancellationToken, Source};

/// Takes a line for the person who waits: who has come, what is odd, what was refused.
pub type Tell = Arc<dyn Fn(String) + Send + Sync>;

/// The pages, served until this is dropped.
pub struct Server {
    address: SocketAddr,
    certificate: Certificate,
    desk: Arc<Desk>,
    tell: Tell,
    stop: CancellationToken,
}

/// The addresses of this computer that a phone may reach, the likeliest first.
pub fn addresses() -> Vec<IpAddr> {
    let mut found: Vec<IpAddr> = if_addrs::get_if_addrs()
        .unwrap_or_default()
        .into_iter()
        .filter(|interface| !interface.is_loopback())
        .map(|interface| interface.ip())
        .filter(IpAddr::is_ipv4)
        .collect();
    let rank = |ip: &IpAddr| match ip {
        IpAddr::V4(ip) if ip.is_private() => 0,
        IpAddr::V4(ip) if ip.is_link_local() => 2,
        _ => 1,
    };
    found.sort_by_key(rank);
    found
}

/// Bytes as hexadecimal digits.
fn hex(bytes: &[u8]) -> String {
    let digits = bytes.iter().flat_map(|byte| [byte >> 4, byte & 0xf]);
    digits
        .filter_map(|digit| char::from_digit(digit.into(), 16))
        .collect()
}

impl Server {
    /// Serves the pages at one address of this computer; port 0 is any that is free. The certificate is kept in the
    /// folder.
    pub async fn start(address: SocketAddr, folder: &Path, tell: Tell) -> Result<Self, PhoneError> {
        if address.ip().is_unspecified() {
            return Err(PhoneError::Anywhere(address));
        }
        let certificate = certificate(folder, address.ip())?;
        let bound = TcpListener::bind(address).await;
        let listener = bound.map_err(|source| PhoneError::Bind { address, source })?;
        let address = listener.local_addr().unwrap_or(address);
        let server = Self {
            address,
            certificate,
            desk: Arc::new(Desk::new()),
            tell,
            stop: CancellationToken::new(),
        };
        let hall = listen::Hall::new(
            address,
            Arc::clone(&server.desk),
            Arc::clone(&server.tell),
            server.stop.clone(),
        );
        tokio::spawn(listen::listen(
            listener,
            hall,
            server.certificate.config.clone(),
        ));
        Ok(server)
    }

    /// Where it is served.
    pub const fn address(&self) -> SocketAddr {
        self.address
    }

    /// The certificate's fingerprint (SHA-256): eight groups of four characters from its start, or all of it.
    pub fn fingerprint(&self, is_whole: bool) -> String {
        groups(&self.certificate.fingerprint, is_whole)
    }

    /// A new address for one page, good once; the former one of that role is void. `None` where too many are expected.
    pub fn invite(&self, role: Role) -> Option<Invitation> {
        let token = self.desk.invite(role)?;
        let url = format!("https://{}{}#t={token}", self.address, role.path());
        Some(Invitation::new(role, url))
    }

    /// Waits for the phone of a placement: until its page is there, readings come and their sign is settled. Once a
    /// placement, after it was invited.
    pub async fn opened(&self, placement: Placement) -> Result<Box<dyn Source>, PhoneError> {
        let arrivals = self.desk.arrivals(Role::Sensor(placement));
        let arrivals = arrivals.ok_or(PhoneError::Stopped)?;
        let opening = Phone::opened(placement, arrivals, Arc::clone(&self.tell));
        let phone = self.stop.run_until_cancelled(opening).await;
        Ok(Box::new(phone.ok_or(PhoneError::Stopped)??))
    }

    /// From now on each press of a hand marker is a mark of this run.
    pub fn begin_marks(&self, begin: Begin) {
        self.desk.begin_marks(begin);
    }

    /// Waits until a page of this role has come.
    pub async fn met(&self, role: Role) {
        let mut met = self.desk.met.subscribe();
        drop(met.wait_for(|met| met.contains(&role)).await); // it is served as long as we are
    }

    /// From now on the pacer's page shows this.
    pub fn pace(&self, beat: Beat) {
        self.desk.beats.send_replace(Some(beat));
    }

    /// Tells all pages.
    pub fn cue(&self, cue: Cue) {
        drop(self.desk.cues.send(cue)); // nobody may be there
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        self.stop.cancel();
    }
}
