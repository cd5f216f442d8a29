//! The pages that phones open: served on this computer's address, with what a person needs to bring a phone in.

use std::net::{IpAddr, SocketAddr};
use std::path::PathBuf;

use sensor::phone::{Invitation, PhoneError, Role, Server, Tell, addresses};

use crate::error::CommandError;

/// Pages that are served as long as this is held.
pub(crate) struct Served {
    pub(crate) server: Server,
    ip: IpAddr,
    fingerprint: String,
}

/// Serves them at this address, or at the likeliest one.
pub(crate) async fn serve(ip: Option<IpAddr>, tell: Tell) -> Result<Served, CommandError> {
    let likeliest = || addresses().into_iter().next();
    let ip = ip.or_else(likeliest).ok_or(PhoneError::NoNetwork)?;
    let server = Server::start(SocketAddr::new(ip, 0), &certificate_folder(), tell).await?;
    let fingerprint = server.fingerprint(false);
    Ok(Served {
        server,
        ip,
        fingerprint,
    })
}

impl Served {
    /// A code for one phone, in words and squares. `None` where too many are expected.
    pub(crate) fn invite(&self, role: Role) -> Option<String> {
        let invitation = self.server.invite(role)?;
        Some(self.shown(&invitation))
    }

    fn shown(&self, invitation: &Invitation) -> String {
        let what = match invitation.role {
            Role::Sensor(placement) => {
                format!("{placement}: scan this with the phone that is strapped there")
            }
            Role::Marker(_) => {
                "hand marker: scan this with the phone in the client's hand".to_owned()
            }
            Role::Pacer => "pacer: scan this with the phone the client will look at".to_owned(),
        };
        format!(
            "{what}, good once\n{}\n{}\nThe browser warns, since the page comes from this computer ({}): go on to it. Certificate {}",
            invitation.qr_text(),
            invitation.url,
            self.ip,
            self.fingerprint,
        )
    }
}

/// Where the certificate is kept, so that each phone warns once.
fn certificate_folder() -> PathBuf {
    let folders = directories::ProjectDirs::from("", "", "legraise");
    folders.map_or_else(std::env::temp_dir, |folders| {
        folders.config_dir().to_owned()
    })
}
