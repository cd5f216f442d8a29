//! Phones and hand markers, through pages that this program serves.

use std::net::{IpAddr, SocketAddr};
use std::path::PathBuf;
use std::sync::Arc;

use sensor::live::Begin;
use sensor::phone::{Cue, Invitation, PhoneError, Role, Server, addresses};
use tokio::sync::mpsc;

use super::{Opened, Plan};
use crate::error::CommandError;
use crate::selector::Selector;

/// The pages of a run.
pub(in super::super) struct Pages(Server);

impl Pages {
    /// From now on each press is a mark of this run.
    pub(in super::super) fn begin_marks(&self, begin: Begin) {
        self.0.begin_marks(begin);
    }

    /// The raise is to be stopped.
    pub(in super::super) fn stop(&self) {
        self.0.cue(Cue::Stop);
    }

    /// The run has ended.
    pub(in super::super) fn end(&self) {
        self.0.cue(Cue::End);
    }
}

/// Serves the pages of a plan, if it has any, and waits for its phones. A marker may come at any time.
pub(super) async fn add(
    plan: &Plan,
    tell: &mpsc::Sender<String>,
    opened: &mut Opened,
) -> Result<(), CommandError> {
    let is_phone = |s: &Selector| matches!(s, Selector::Phone);
    let phones: Vec<_> = plan
        .sources
        .iter()
        .filter(|a| is_phone(&a.selector))
        .collect();
    if phones.is_empty() && !plan.with_marker {
        return Ok(());
    }
    let ip = match plan.page_ip {
        Some(ip) => ip,
        None => addresses()
            .into_iter()
            .next()
            .ok_or(PhoneError::NoNetwork)?,
    };
    let later = tell.clone();
    let server = Server::start(
        SocketAddr::new(ip, 0),
        &certificate_folder(),
        Arc::new(move |text| drop(later.try_send(text))),
    )
    .await?;
    let fingerprint = server.fingerprint(false);
    let marker = plan.with_marker.then_some(Role::Marker(None));
    let roles = phones.iter().map(|asked| Role::Sensor(asked.placement));
    for role in roles.chain(marker) {
        if let Some(invitation) = server.invite(role) {
            drop(tell.try_send(shown(&invitation, ip, &fingerprint))); // room for the first is there
        }
    }
    for asked in phones {
        opened.sources.push(server.opened(asked.placement).await?);
    }
    opened.pages = Some(Pages(server));
    Ok(())
}

/// What a person needs to bring a phone in.
fn shown(invitation: &Invitation, ip: IpAddr, fingerprint: &str) -> String {
    let what = match invitation.role {
        Role::Sensor(placement) => {
            format!("{placement}: scan this with the phone that is strapped there")
        }
        Role::Marker(_) => "hand marker: scan this with the phone in the client's hand".to_owned(),
    };
    format!(
        "{what}, good once\n{}\n{}\nThe browser warns, since the page comes from this computer ({ip}): go on to it. Certificate {fingerprint}",
        invitation.qr_text(),
        invitation.url,
    )
}

/// Where the certificate is kept, so that each phone warns once.
fn certificate_folder() -> PathBuf {
    let folders = directories::ProjectDirs::from("", "", "legraise");
    folders.map_or_else(std::env::temp_dir, |folders| {
        folders.config_dir().to_owned()
    })
}
