//! A Bluetooth service as BlueZ shows itself on the system bus, and the bus around it: a peer-to-peer server that the
//! client library takes for both. Names of interfaces, members and errors are those of BlueZ's API documents.

mod board;
mod bus;
mod gatt;
mod world;

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::thread::JoinHandle;

use tempfile::TempDir;
use tokio::runtime::{Builder, Handle};
use tokio::sync::oneshot;

pub(super) use board::{Board, Sent, TICK_HZ, steps};
pub(super) use world::{Adapter, Fail, Peer, World};

/// The service on a thread and runtime of its own, as in another process.
pub(super) struct Rig {
    pub(super) world: Arc<World>,
    runtime: Handle,
    socket: PathBuf,
    done: Option<oneshot::Sender<()>>,
    thread: Option<JoinHandle<()>>,
    _folder: TempDir,
}

impl Rig {
    /// With an adapter and what is around it.
    pub(super) fn start(adapter: Adapter, peers: Vec<Peer>) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let socket = folder.path().join("bus");
        let runtime = Builder::new_multi_thread()
            .worker_threads(2)
            .enable_all()
            .build()
            .expect("a runtime");
        let world = Arc::new(World::new(adapter, peers));
        let handle = runtime.handle().clone();
        let listener = {
            let _inside = handle.enter();
            tokio::net::UnixListener::bind(&socket).expect("a socket")
        };
        let (done, is_done) = oneshot::channel();
        let server = Arc::clone(&world);
        let thread = std::thread::Builder::new()
            .name("bluez".to_owned())
            .spawn(move || {
                runtime.block_on(async move {
                    tokio::select! {
                        () = bus::serve(server, listener) => {}
                        _ = is_done => {}
                    }
                });
                runtime.shutdown_background();
            })
            .expect("a thread");
        Self {
            world,
            runtime: handle,
            socket,
            done: Some(done),
            thread: Some(thread),
            _folder: folder,
        }
    }

    /// What the client is told as address of the system bus.
    pub(super) fn address(&self) -> String {
        format!("unix:path={}", self.socket.display())
    }

    pub(super) fn socket(&self) -> &Path {
        &self.socket
    }

    /// Does something in the world, from outside.
    pub(super) fn make<T>(&self, order: impl Future<Output = T>) -> T {
        self.runtime.block_on(order)
    }
}

impl Drop for Rig {
    fn drop(&mut self) {
        drop(self.done.take());
        if let Some(thread) = self.thread.take() {
            drop(thread.join());
        }
    }
}
