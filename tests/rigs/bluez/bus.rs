//! The socket: takes clients and answers their calls, both those to the bus itself and those to the service.

use std::collections::HashMap;
use std::fmt::Write as _;
use std::sync::Arc;
use std::time::Duration;

use futures_util::StreamExt as _;
use tokio::net::{UnixListener, UnixStream};
use zbus::message::{Header, Message, Type};
use zbus::{Connection, Guid, ObjectPath, OwnedVariant, Result, Variant};

use super::gatt::{self, Characteristic};
use super::world::{
    ADAPTER, ADAPTER1, Adapter, CHARACTERISTIC1, DEVICE1, Properties, SERVICE1, World, node_of,
};

/// Until the bus dies.
pub(super) async fn serve(world: Arc<World>, listener: UnixListener) {
    for peer in 0..world.peers.len() {
        let world = Arc::clone(&world);
        tokio::spawn(async move { world.stream(peer).await });
    }
    while let Ok((stream, _)) = listener.accept().await {
        if world.is_dead() {
            drop(stream);
            continue;
        }
        let world = Arc::clone(&world);
        tokio::spawn(async move { drop(client(world, stream).await) });
    }
}

async fn client(world: Arc<World>, stream: UnixStream) -> Result<()> {
    let stream = stream.into_std().expect("a socket");
    let mut messages = zbus::connection::Builder::unix_stream(stream)
        .server(Guid::generate())
        .p2p()
        .build_message_stream()
        .await?;
    let connection = Connection::from(&messages);
    world.enter(connection.clone());
    while let Some(Ok(message)) = messages.next().await {
        if message.message_type() != Type::MethodCall {
            continue;
        }
        let (world, connection) = (Arc::clone(&world), connection.clone());
        // Others need not wait for one that takes its time; each client waits for its answers itself.
        tokio::spawn(async move { drop(answer(&world, &connection, &message).await) });
    }
    Ok(())
}

async fn answer(world: &Arc<World>, connection: &Connection, message: &Message) -> Result<()> {
    let header = message.header();
    let text = |part: Option<&str>| part.unwrap_or_default().to_owned();
    let path = text(header.path().map(zbus::ObjectPath::as_str));
    let interface = text(header.interface().map(zbus::names::InterfaceName::as_str));
    let member = text(header.member().map(zbus::names::MemberName::as_str));
    if let Some(fail) = world.call(&member) {
        return connection
            .reply_error(&header, fail.error, &fail.text)
            .await;
    }
    let call = Call {
        world,
        connection,
        message,
        header: &header,
        path: &path,
    };
    match (interface.as_str(), member.as_str()) {
        ("org.freedesktop.DBus", "Hello") => connection.reply(&header, &":1.1").await,
        ("org.freedesktop.DBus", "GetNameOwner") => connection.reply(&header, &":1.0").await,
        ("org.freedesktop.DBus", "NameHasOwner") => connection.reply(&header, &true).await,
        ("org.freedesktop.DBus", _) => connection.reply(&header, &()).await,
        ("org.freedesktop.DBus.ObjectManager", _) => call.objects().await,
        ("org.freedesktop.DBus.Introspectable", _) => call.introspect().await,
        ("org.freedesktop.DBus.Properties", "Get") => call.get().await,
        ("org.freedesktop.DBus.Properties", "GetAll") => call.get_all().await,
        ("org.freedesktop.DBus.Properties", "Set") => call.set().await,
        (ADAPTER1, member) => call.adapter(member).await,
        (DEVICE1, member) => call.device(member).await,
        (CHARACTERISTIC1, member) => call.characteristic(member).await,
        _ => call.unknown().await,
    }
}

struct Call<'a> {
    world: &'a Arc<World>,
    connection: &'a Connection,
    message: &'a Message,
    header: &'a Header<'a>,
    path: &'a str,
}

impl Call<'_> {
    async fn unknown(&self) -> Result<()> {
        let text = format!("no object {}", self.path);
        self.refuse("org.freedesktop.DBus.Error.UnknownObject", &text)
            .await
    }

    async fn refuse(&self, error: &str, text: &str) -> Result<()> {
        self.connection.reply_error(self.header, error, &text).await
    }

    async fn done(&self) -> Result<()> {
        self.connection.reply(self.header, &()).await
    }

    /// The characteristic at the path, of those that show.
    fn here(&self) -> Option<(usize, &'static Characteristic)> {
        let (peer, rest) = self.world.locate(self.path)?;
        let (service, node) = rest.split_once('/')?;
        let mut services = self.world.services(peer).iter();
        let service = services.find(|one| one.node == service)?;
        let mut all = service.characteristics.iter();
        Some((peer, all.find(|one| one.node == node)?))
    }

    fn properties(&self) -> Option<Properties> {
        if self.path == ADAPTER && self.world.adapter() != Adapter::Absent {
            return Some(self.world.of_adapter());
        }
        let (peer, rest) = self.world.locate(self.path)?;
        if rest.is_empty() {
            return Some(self.world.of_device(peer));
        }
        if let Some((_, found)) = self.here() {
            return Some(HashMap::from([
                ("UUID", found.uuid.into()),
                ("Flags", found.flags.to_vec().into()),
                ("MTU", self.world.peers[peer].mtu.into()),
            ]));
        }
        let mut services = self.world.services(peer).iter();
        let service = services.find(|one| one.node == rest)?;
        Some(HashMap::from([
            ("UUID", service.uuid.into()),
            ("Primary", true.into()),
        ]))
    }

    async fn objects(&self) -> Result<()> {
        let mut all: HashMap<ObjectPath<'_>, HashMap<&str, Properties>> = HashMap::new();
        if self.world.adapter() != Adapter::Absent {
            let interfaces = HashMap::from([(ADAPTER1, self.world.of_adapter())]);
            all.insert(ObjectPath::try_from(ADAPTER)?, interfaces);
        }
        for peer in self.world.known() {
            let path = ObjectPath::try_from(self.world.path(peer))?;
            all.insert(path, HashMap::from([(DEVICE1, self.world.of_device(peer))]));
        }
        self.connection.reply(self.header, &all).await
    }

    async fn introspect(&self) -> Result<()> {
        let Some((peer, rest)) = self.world.locate(self.path) else {
            return self.unknown().await;
        };
        let services = self.world.services(peer);
        let nodes: Vec<&str> = if rest.is_empty() {
            services.iter().map(|service| service.node).collect()
        } else {
            let service = services.iter().find(|service| service.node == rest);
            let all = service.map_or(&[][..], |service| service.characteristics);
            all.iter().map(|one| one.node).collect()
        };
        let mut xml = format!("<node><interface name=\"{SERVICE1}\"></interface>");
        for node in nodes {
            write!(xml, "<node name=\"{node}\"/>").expect("a string takes it");
        }
        xml.push_str("</node>");
        self.connection.reply(self.header, &xml).await
    }

    async fn get(&self) -> Result<()> {
        let body = self.message.body();
        let (_, name): (String, String) = body.deserialize()?;
        let found = self
            .properties()
            .and_then(|mut all| all.remove(name.as_str()));
        match found {
            Some(value) => self.connection.reply(self.header, &value).await,
            None => self.unknown().await,
        }
    }

    async fn get_all(&self) -> Result<()> {
        match self.properties() {
            Some(all) => self.connection.reply(self.header, &all).await,
            None => self.unknown().await,
        }
    }

    async fn set(&self) -> Result<()> {
        let body = self.message.body();
        let (_, name, value): (String, String, OwnedVariant) = body.deserialize()?;
        if let ("Powered", Variant::Bool(is_on)) = (name.as_str(), Variant::from(value)) {
            self.world.power(is_on);
        }
        self.done().await
    }

    async fn adapter(&self, member: &str) -> Result<()> {
        match member {
            "StartDiscovery" if self.world.adapter() == Adapter::Off => {
                self.refuse("org.bluez.Error.NotReady", "Resource Not Ready")
                    .await
            }
            "StopDiscovery" if !self.world.is_scanning() => {
                self.refuse("org.bluez.Error.Failed", "No discovery started")
                    .await
            }
            "StartDiscovery" | "StopDiscovery" => {
                self.done().await?;
                self.world.scan(member == "StartDiscovery").await;
                Ok(())
            }
            _ => self.done().await,
        }
    }

    async fn device(&self, member: &str) -> Result<()> {
        let Some((peer, _)) = self.world.locate(self.path) else {
            return self.unknown().await;
        };
        match member {
            "Connect" if self.world.adapter() != Adapter::On => {
                self.refuse("org.bluez.Error.NotReady", "Resource Not Ready")
                    .await
            }
            "Connect" if self.world.connect(peer).await => {
                self.done().await?;
                self.world.resolve(peer).await;
                Ok(())
            }
            "Connect" => {
                self.refuse("org.bluez.Error.Failed", "le-connection-abort-by-local")
                    .await
            }
            "Disconnect" if self.world.is_connected(peer) => {
                self.world.drop_link(peer).await;
                self.done().await
            }
            "Disconnect" => {
                self.refuse("org.bluez.Error.NotConnected", "Not Connected")
                    .await
            }
            _ => self.done().await,
        }
    }

    async fn characteristic(&self, member: &str) -> Result<()> {
        let Some((peer, here)) = self.here() else {
            return self.unknown().await;
        };
        match member {
            "StartNotify" | "StopNotify" => {
                let is_on = member == "StartNotify";
                self.world.notify(peer, here.node, is_on);
                self.done().await
            }
            "ReadValue" => {
                let bytes = self.world.read(peer, here.uuid);
                self.connection.reply(self.header, &bytes).await
            }
            "WriteValue" => {
                let body = self.message.body();
                let (bytes, _): (Vec<u8>, HashMap<String, OwnedVariant>) = body.deserialize()?;
                let answer = self.world.write(peer, &bytes);
                self.done().await?;
                if let Some(answer) = answer {
                    let (service, node) = node_of(gatt::CONTROL);
                    let path = format!("{}/{service}/{node}", self.world.path(peer));
                    tokio::time::sleep(Duration::from_millis(2)).await;
                    self.world.value(&path, answer).await;
                }
                Ok(())
            }
            _ => self.done().await,
        }
    }
}
