//! What there is around the played adapter, in what state, and what is to go wrong. Tests drive it from outside.

use std::collections::{BTreeSet, HashMap};
use std::sync::{Mutex, MutexGuard};
use std::time::Duration;

use tokio::time::{Instant, MissedTickBehavior};
use zbus::{Connection, Variant};

use super::board::{Board, Doing, Sent};
use super::gatt::{self, SERVICES, Service};

pub(super) const ADAPTER: &str = "/org/bluez/hci0";
pub(super) const ADAPTER1: &str = "org.bluez.Adapter1";
pub(super) const DEVICE1: &str = "org.bluez.Device1";
pub(super) const SERVICE1: &str = "org.bluez.GattService1";
pub(super) const CHARACTERISTIC1: &str = "org.bluez.GattCharacteristic1";

/// Properties by name.
pub(super) type Properties = HashMap<&'static str, Variant<'static>>;

/// The adapter as it is at first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in super::super) enum Adapter {
    On,
    Off,
    Absent,
}

/// A device around.
#[derive(Clone, Debug)]
pub(in super::super) struct Peer {
    pub(in super::super) name: Option<&'static str>,
    /// The last two digits of its address.
    pub(in super::super) number: u8,
    /// Advertises now; else it is only remembered.
    pub(in super::super) is_present: bool,
    /// It says so, and after connecting has it.
    pub(in super::super) advertises: bool,
    pub(in super::super) has_service: bool,
    pub(in super::super) mtu: u16,
    pub(in super::super) board: Option<Board>,
}

impl Peer {
    pub(in super::super) fn board(name: &'static str, number: u8, board: Board) -> Self {
        Self {
            name: Some(name),
            number,
            is_present: true,
            advertises: true,
            has_service: true,
            mtu: 247,
            board: Some(board),
        }
    }

    /// Something else that advertises.
    pub(in super::super) fn foreign(name: Option<&'static str>, number: u8) -> Self {
        Self {
            name,
            number,
            is_present: true,
            advertises: false,
            has_service: false,
            mtu: 23,
            board: None,
        }
    }

    fn services(&self) -> &'static [Service] {
        &SERVICES[usize::from(!self.has_service)..]
    }

    fn node(&self) -> String {
        format!("dev_C0_FF_EE_00_00_{:02X}", self.number)
    }
}

/// Calls of a member that fail.
#[derive(Clone, Debug)]
pub(in super::super) struct Fail {
    pub(in super::super) member: &'static str,
    pub(in super::super) error: &'static str,
    pub(in super::super) text: &'static str,
    /// So many times.
    pub(in super::super) times: usize,
}

/// A device as it is now.
#[derive(Debug)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is one switch that a test throws alone"
)]
struct State {
    is_heard: bool,
    is_connected: bool,
    is_resolved: bool,
    /// Nodes of characteristics that notify.
    notifying: BTreeSet<&'static str>,
    doing: Option<Doing>,
    sent: Vec<Sent>,
    writes: Vec<Vec<u8>>,
    connects: usize,
    /// Sends nothing, though connected.
    is_mute: bool,
    /// Nothing comes through before.
    stalled_until: Option<Instant>,
    /// The next packet goes out twice.
    repeats: bool,
    /// Out of reach: cannot be connected.
    is_away: bool,
}

#[derive(Debug)]
struct Inner {
    adapter: Adapter,
    is_scanning: bool,
    states: Vec<State>,
    fails: Vec<Fail>,
    connections: Vec<Connection>,
    is_dead: bool,
    /// Members called, in order.
    called: Vec<String>,
}

/// All of it.
#[derive(Debug)]
pub(in super::super) struct World {
    pub(super) peers: Vec<Peer>,
    inner: Mutex<Inner>,
}

impl World {
    pub(super) fn new(adapter: Adapter, peers: Vec<Peer>) -> Self {
        let states = peers.iter().map(|peer| State {
            is_heard: false,
            is_connected: false,
            is_resolved: false,
            notifying: BTreeSet::new(),
            doing: peer.board.as_ref().map(Doing::new),
            sent: Vec::new(),
            writes: Vec::new(),
            connects: 0,
            is_mute: false,
            stalled_until: None,
            repeats: false,
            is_away: false,
        });
        let inner = Inner {
            adapter,
            is_scanning: false,
            states: states.collect(),
            fails: Vec::new(),
            connections: Vec::new(),
            is_dead: false,
            called: Vec::new(),
        };
        Self {
            peers,
            inner: Mutex::new(inner),
        }
    }

    fn inner(&self) -> MutexGuard<'_, Inner> {
        self.inner.lock().expect("nobody panics with it")
    }

    // What tests ask and order.

    pub(in super::super) fn fail(&self, fail: Fail) {
        self.inner().fails.push(fail);
    }

    pub(in super::super) fn adapter(&self) -> Adapter {
        self.inner().adapter
    }

    pub(in super::super) fn sent(&self, peer: usize) -> Vec<Sent> {
        self.inner().states[peer].sent.clone()
    }

    pub(in super::super) fn writes(&self, peer: usize) -> Vec<Vec<u8>> {
        self.inner().states[peer].writes.clone()
    }

    pub(in super::super) fn connects(&self, peer: usize) -> usize {
        self.inner().states[peer].connects
    }

    pub(in super::super) fn is_connected(&self, peer: usize) -> bool {
        self.inner().states[peer].is_connected
    }

    pub(in super::super) fn is_scanning(&self) -> bool {
        self.inner().is_scanning
    }

    pub(in super::super) fn called(&self, member: &str) -> usize {
        let inner = self.inner();
        inner.called.iter().filter(|name| *name == member).count()
    }

    /// The board loses power for a moment, the link doesn't notice.
    pub(in super::super) fn restart(&self, peer: usize) {
        if let Some(doing) = &mut self.inner().states[peer].doing {
            doing.restart();
        }
    }

    /// The board's queue overflows.
    pub(in super::super) fn lose(&self, peer: usize, samples: u64) {
        if let Some(doing) = &mut self.inner().states[peer].doing {
            doing.lose(samples);
        }
    }

    pub(in super::super) fn mute(&self, peer: usize, is_mute: bool) {
        self.inner().states[peer].is_mute = is_mute;
    }

    pub(in super::super) fn stall(&self, peer: usize, time: Duration) {
        self.inner().states[peer].stalled_until = Some(Instant::now() + time);
    }

    pub(in super::super) fn repeat(&self, peer: usize) {
        self.inner().states[peer].repeats = true;
    }

    /// Out of reach, or back.
    pub(in super::super) fn away(&self, peer: usize, is_away: bool) {
        self.inner().states[peer].is_away = is_away;
    }

    /// What the service does when the supervision timeout has passed.
    pub(in super::super) async fn drop_link(&self, peer: usize) {
        {
            let state = &mut self.inner().states[peer];
            state.is_connected = false;
            state.is_resolved = false;
            state.notifying.clear();
            if let Some(doing) = &mut state.doing {
                doing.stop();
            }
        }
        let path = self.path(peer);
        self.changed(&path, DEVICE1, "ServicesResolved", false.into())
            .await;
        self.changed(&path, DEVICE1, "Connected", false.into())
            .await;
    }

    pub(in super::super) async fn power_off(&self) {
        self.inner().adapter = Adapter::Off;
        for peer in 0..self.peers.len() {
            if self.is_connected(peer) {
                self.drop_link(peer).await;
            }
        }
        self.changed(ADAPTER, ADAPTER1, "Powered", false.into())
            .await;
    }

    pub(in super::super) fn power_on(&self) {
        self.inner().adapter = Adapter::On;
    }

    /// The bus goes down, for good.
    pub(in super::super) async fn die(&self) {
        let connections = {
            let mut inner = self.inner();
            inner.is_dead = true;
            std::mem::take(&mut inner.connections)
        };
        for connection in connections {
            drop(connection.close().await);
        }
    }

    // What the bus asks.

    pub(super) fn is_dead(&self) -> bool {
        self.inner().is_dead
    }

    pub(super) fn enter(&self, connection: Connection) {
        self.inner().connections.push(connection);
    }

    /// Notes a call; gives the failure that is planned for it.
    pub(super) fn call(&self, member: &str) -> Option<Fail> {
        let mut inner = self.inner();
        inner.called.push(member.to_owned());
        let mut fails = inner.fails.iter_mut();
        let fail = fails.find(|fail| fail.member == member && fail.times > 0)?;
        fail.times -= 1;
        Some(fail.clone())
    }

    pub(super) fn path(&self, peer: usize) -> String {
        format!("{ADAPTER}/{}", self.peers[peer].node())
    }

    /// The device a path lies in, and the rest of the path.
    pub(super) fn locate<'a>(&self, path: &'a str) -> Option<(usize, &'a str)> {
        let inside = path.strip_prefix(ADAPTER)?.strip_prefix('/')?;
        let (node, rest) = inside.split_once('/').unwrap_or((inside, ""));
        let peer = self.peers.iter().position(|peer| peer.node() == node)?;
        self.is_known(peer).then_some((peer, rest))
    }

    /// Heard once, or remembered.
    fn is_known(&self, peer: usize) -> bool {
        let state = &self.inner().states[peer];
        !self.peers[peer].is_present || state.is_heard || state.connects > 0
    }

    pub(super) fn known(&self) -> Vec<usize> {
        if self.adapter() == Adapter::Absent {
            return Vec::new();
        }
        (0..self.peers.len())
            .filter(|peer| self.is_known(*peer))
            .collect()
    }

    /// Services that show, which they do only while connected.
    pub(super) fn services(&self, peer: usize) -> &'static [Service] {
        if self.inner().states[peer].is_resolved {
            self.peers[peer].services()
        } else {
            &[]
        }
    }

    pub(super) fn of_adapter(&self) -> Properties {
        let inner = self.inner();
        HashMap::from([
            ("Address", "C0:FF:EE:00:00:00".into()),
            ("AddressType", "public".into()),
            ("Name", "rig".into()),
            ("Alias", "rig".into()),
            ("Modalias", "usb:v1D6Bp0246d0542".into()),
            ("Powered", (inner.adapter == Adapter::On).into()),
            ("Discovering", inner.is_scanning.into()),
        ])
    }

    pub(super) fn of_device(&self, peer: usize) -> Properties {
        let inner = self.inner();
        let (peer, state) = (&self.peers[peer], &inner.states[peer]);
        let address = format!("C0:FF:EE:00:00:{:02X}", peer.number);
        let alias = match peer.name {
            Some(name) => name.to_owned(),
            None => address.replace(':', "-"),
        };
        let mut all: Properties = HashMap::from([
            ("Address", address.into()),
            ("AddressType", "random".into()),
            ("Alias", alias.into()),
            ("Paired", false.into()),
            ("Trusted", false.into()),
            ("Blocked", false.into()),
            ("LegacyPairing", false.into()),
            ("Connected", state.is_connected.into()),
            ("ServicesResolved", state.is_resolved.into()),
        ]);
        if let Some(name) = peer.name {
            all.insert("Name", name.into());
        }
        if peer.advertises {
            all.insert("UUIDs", vec![gatt::MOTION].into());
        }
        if state.is_heard && inner.is_scanning {
            all.insert("RSSI", (-40 - i16::from(peer.number)).into());
        }
        all
    }

    /// A scan begins or ends; what was heard is told after a moment.
    pub(super) async fn scan(&self, is_on: bool) {
        self.inner().is_scanning = is_on;
        self.changed(ADAPTER, ADAPTER1, "Discovering", is_on.into())
            .await;
        if is_on {
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
        let mut inner = self.inner();
        for (peer, state) in self.peers.iter().zip(&mut inner.states) {
            state.is_heard = if is_on {
                peer.is_present && !state.is_connected
            } else {
                state.is_heard
            };
        }
    }

    pub(super) fn power(&self, is_on: bool) {
        let mut inner = self.inner();
        if inner.adapter != Adapter::Absent {
            inner.adapter = if is_on { Adapter::On } else { Adapter::Off };
        }
    }

    /// Connects, and after a moment shows the services. False where it is out of reach.
    pub(super) async fn connect(&self, peer: usize) -> bool {
        {
            let state = &mut self.inner().states[peer];
            state.connects += 1;
            if state.is_away {
                return false;
            }
            state.is_connected = true;
        }
        let path = self.path(peer);
        self.changed(&path, DEVICE1, "Connected", true.into()).await;
        true
    }

    pub(super) async fn resolve(&self, peer: usize) {
        tokio::time::sleep(Duration::from_millis(30)).await;
        {
            let state = &mut self.inner().states[peer];
            if !state.is_connected {
                return;
            }
            state.is_resolved = true;
        }
        let path = self.path(peer);
        self.changed(&path, DEVICE1, "ServicesResolved", true.into())
            .await;
    }

    pub(super) fn notify(&self, peer: usize, node: &'static str, is_on: bool) {
        let notifying = &mut self.inner().states[peer].notifying;
        if is_on {
            notifying.insert(node);
        } else {
            notifying.remove(node);
        }
    }

    pub(super) fn read(&self, peer: usize, uuid: &str) -> Vec<u8> {
        let inner = self.inner();
        let serial = format!("{:04}", self.peers[peer].number);
        let (board, doing) = (&self.peers[peer].board, &inner.states[peer].doing);
        let of_board = board.as_ref().zip(doing.as_ref());
        match (uuid, of_board) {
            (gatt::INFO, Some((board, doing))) => doing.info(board),
            (gatt::BATTERY_LEVEL, Some((board, _))) => vec![board.battery_percent],
            (gatt::MAKER, _) => b"the rig\0".to_vec(),
            (gatt::MODEL, _) => b"board 1".to_vec(),
            (gatt::SERIAL, _) => serial.into_bytes(),
            (gatt::FIRMWARE, _) => b"1.0".to_vec(),
            _ => Vec::new(),
        }
    }

    /// Takes a write to Control; gives the answer if somebody listens for it.
    pub(super) fn write(&self, peer: usize, bytes: &[u8]) -> Option<Vec<u8>> {
        let state = &mut self.inner().states[peer];
        state.writes.push(bytes.to_vec());
        let board = self.peers[peer].board.as_ref()?;
        let answer = state.doing.as_mut()?.control(board, bytes);
        let (_, control) = node_of(gatt::CONTROL);
        state.notifying.contains(control).then_some(answer)
    }

    /// Sends what a board has sampled, at each of its connection events.
    pub(super) async fn stream(&self, peer: usize) {
        let Some(board) = &self.peers[peer].board else {
            return;
        };
        let (service, data) = node_of(gatt::DATA);
        let path = format!("{}/{service}/{data}", self.path(peer));
        let mut events = tokio::time::interval(board.interval);
        events.set_missed_tick_behavior(MissedTickBehavior::Skip);
        loop {
            let now = events.tick().await;
            for bytes in self.packets(peer, board, data, now) {
                self.value(&path, bytes).await;
            }
        }
    }

    fn packets(&self, peer: usize, board: &Board, data: &str, now: Instant) -> Vec<Vec<u8>> {
        let state = &mut self.inner().states[peer];
        let is_stalled = state.stalled_until.is_some_and(|until| now < until);
        if is_stalled || !state.is_connected || !state.notifying.contains(data) {
            return Vec::new();
        }
        let Some(doing) = &mut state.doing else {
            return Vec::new();
        };
        let packets = doing.packets(board, Instant::now());
        if state.is_mute {
            return Vec::new();
        }
        let mut out: Vec<Vec<u8>> = packets.iter().map(|one| doing.encode(one)).collect();
        state.sent.extend(packets);
        if !out.is_empty() && std::mem::take(&mut state.repeats) {
            out.insert(0, out[0].clone());
        }
        out
    }

    /// One signal each: grouped changes would lose all but the last.
    pub(super) async fn value(&self, path: &str, bytes: Vec<u8>) {
        self.changed(path, CHARACTERISTIC1, "Value", bytes.into())
            .await;
    }

    pub(super) async fn changed(
        &self,
        path: &str,
        interface: &str,
        name: &str,
        value: Variant<'static>,
    ) {
        let connections = self.inner().connections.clone();
        let changed = HashMap::from([(name, value)]);
        let gone: [&str; 0] = [];
        for connection in connections {
            // A client that has gone away hears nothing.
            drop(
                connection
                    .emit_signal(
                        None::<&str>,
                        path,
                        "org.freedesktop.DBus.Properties",
                        "PropertiesChanged",
                        &(interface, &changed, &gone[..]),
                    )
                    .await,
            );
        }
    }
}

/// Nodes of service and characteristic.
pub(super) fn node_of(uuid: &str) -> (&'static str, &'static str) {
    let all = SERVICES
        .iter()
        .flat_map(|service| service.characteristics.iter().map(move |c| (service, c)));
    let mut of_it = all.filter(|(_, c)| c.uuid == uuid);
    let (service, characteristic) = of_it.next().expect("one of ours");
    (service.node, characteristic.node)
}
