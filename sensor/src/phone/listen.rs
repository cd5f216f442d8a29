//! Connections: how many, from whom, and only those that speak TLS at once.

use std::collections::HashMap;
use std::net::{IpAddr, SocketAddr};
use std::sync::{Arc, Mutex};
use std::time::Duration;

use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper_util::rt::{TokioIo, TokioTimer};
use rustls::ServerConfig;
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::Semaphore;
use tokio::time::timeout;
use tokio_rustls::TlsAcceptor;

use super::Tell;
use super::desk::{Desk, held};
use super::http::answer;
use crate::live::CancellationToken;

/// Connections in all, and from one address.
const CONNECTIONS_MAX: usize = 64;
const CONNECTIONS_EACH_MAX: usize = 48;
/// Sockets that haven't said who they are.
const SOCKETS_WAITING_MAX: usize = 4;
/// The first byte, the handshake and the headers must come in so long each.
const PATIENCE: Duration = Duration::from_secs(5);
/// Headers may be so long, bytes.
const HEADERS_BYTES_MAX: usize = 16 * 1024;
/// TLS begins with this byte.
const TLS_HANDSHAKE: u8 = 0x16;

/// What all connections share.
#[derive(Clone)]
pub(super) struct Hall {
    /// `address:port`, as browsers must call it.
    pub(super) host: Arc<str>,
    pub(super) desk: Arc<Desk>,
    pub(super) tell: Tell,
    pub(super) stop: CancellationToken,
    /// Places for sockets that haven't said who they are.
    pub(super) waiting: Arc<Semaphore>,
    present: Arc<Mutex<HashMap<IpAddr, usize>>>,
    refused: Arc<Mutex<HashMap<&'static str, u64>>>,
}

impl Hall {
    pub(super) fn new(
        address: SocketAddr,
        desk: Arc<Desk>,
        tell: Tell,
        stop: CancellationToken,
    ) -> Self {
        Self {
            host: address.to_string().into(),
            desk,
            tell,
            stop,
            waiting: Arc::new(Semaphore::new(SOCKETS_WAITING_MAX)),
            present: Arc::default(),
            refused: Arc::default(),
        }
    }

    /// Tells of a refusal, but not of each: the first, the tenth, the hundredth of a kind.
    pub(super) fn refused(&self, what: &'static str) {
        let mut refused = held(&self.refused);
        let count = refused.entry(what).or_default();
        *count += 1;
        if [1, 10, 100, 1000, 10_000].contains(count) {
            (self.tell)(format!("pages: refused {what} ({count} so far)"));
        }
    }

    /// A place for a connection, if there is one.
    fn enter(&self, from: IpAddr) -> Option<Place> {
        let mut present = held(&self.present);
        let all: usize = present.values().sum();
        let each = present.entry(from).or_default();
        if CONNECTIONS_MAX <= all || CONNECTIONS_EACH_MAX <= *each {
            return None;
        }
        *each += 1;
        Some(Place {
            present: Arc::clone(&self.present),
            from,
        })
    }
}

/// A connection's place; it is free again when this is dropped.
struct Place {
    present: Arc<Mutex<HashMap<IpAddr, usize>>>,
    from: IpAddr,
}

impl Drop for Place {
    fn drop(&mut self) {
        let mut present = held(&self.present);
        if let Some(count) = present.get_mut(&self.from) {
            *count -= 1;
            if *count == 0 {
                present.remove(&self.from);
            }
        }
    }
}

/// Takes connections until told to stop.
pub(super) async fn listen(listener: TcpListener, hall: Hall, config: Arc<ServerConfig>) {
    let tls = TlsAcceptor::from(config);
    loop {
        let accepted = tokio::select! {
            () = hall.stop.cancelled() => return,
            accepted = listener.accept() => accepted,
        };
        let Ok((stream, from)) = accepted else {
            // Out of files, most likely: some will be free again.
            tokio::time::sleep(Duration::from_millis(50)).await;
            continue;
        };
        let Some(place) = hall.enter(from.ip()) else {
            hall.refused("connections beyond the limit");
            continue;
        };
        let (hall, tls) = (hall.clone(), tls.clone());
        tokio::spawn(async move {
            let stop = hall.stop.clone();
            stop.run_until_cancelled(connection(stream, hall, tls))
                .await;
            drop(place);
        });
    }
}

async fn connection(mut stream: TcpStream, hall: Hall, tls: TlsAcceptor) {
    drop(stream.set_nodelay(true)); // only quicker
    let mut first = [0];
    match timeout(PATIENCE, stream.peek(&mut first)).await {
        Ok(Ok(1)) if first == [TLS_HANDSHAKE] => {}
        Ok(Ok(1)) => {
            hall.refused("connections without encryption");
            drop(timeout(PATIENCE, plain(&mut stream, &hall.host)).await); // it may not listen
            return;
        }
        _ => return,
    }
    let Ok(Ok(stream)) = timeout(PATIENCE, tls.accept(stream)).await else {
        return;
    };
    let service = service_fn(|request| answer(request, hall.clone()));
    let served = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(PATIENCE)
        .max_buf_size(HEADERS_BYTES_MAX)
        .serve_connection(TokioIo::new(stream), service)
        .with_upgrades()
        .await;
    drop(served); // a connection that breaks is nobody's fault
}

/// Says on a connection without encryption where the page is.
async fn plain(stream: &mut TcpStream, host: &str) {
    let text = format!("This page is at https://{host}/ only.\n");
    let head = format!(
        "HTTP/1.1 400 Bad Request\r\nContent-Type: text/plain; charset=utf-8\r\nContent-Length: {}\r\nConnection: close\r\n\r\n",
        text.len()
    );
    let _sent = stream.write_all(format!("{head}{text}").as_bytes()).await;
    let _closed = stream.shutdown().await;
    // What it still says is read, or the answer would be lost with the connection.
    let mut rest = [0; 1024];
    while matches!(stream.read(&mut rest).await, Ok(count) if 0 < count) {}
}
