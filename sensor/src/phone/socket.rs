//! A socket: who it is within five seconds, then messages both ways.

use std::time::{Duration, Instant};

use futures_util::{SinkExt as _, StreamExt as _};
use hyper::upgrade::{OnUpgrade, Upgraded};
use hyper_util::rt::TokioIo;
use tokio::sync::OwnedSemaphorePermit;
use tokio::time::{MissedTickBehavior, interval, timeout};
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::error::{CapacityError, Error};
use tokio_tungstenite::tungstenite::protocol::frame::coding::CloseCode;
use tokio_tungstenite::tungstenite::protocol::{CloseFrame, Message, Role, WebSocketConfig};

use super::desk::{Shared, held};
use super::listen::Hall;
use super::message::{BYTES_MAX, HELLO_BYTES_MAX, Hello, Say, said};

/// Whoever connects must say who it is within.
const PATIENCE: Duration = Duration::from_secs(5);
/// Between two questions about the page's clock.
const QUESTION_EVERY: Duration = Duration::from_millis(500);
/// A page that takes nothing for so long is gone.
const SEND_PATIENCE: Duration = Duration::from_secs(10);
/// No page of ours, or not any more.
const NOT_KNOWN: u16 = 4401;

type Socket = WebSocketStream<TokioIo<Upgraded>>;

/// Why a socket is closed, and what is told of it.
type Closing = (CloseCode, &'static str);

/// Serves a socket until it ends.
pub(super) async fn talk(upgraded: OnUpgrade, hall: Hall, waiting: OwnedSemaphorePermit) {
    let Ok(upgraded) = upgraded.await else { return };
    let mut config = WebSocketConfig::default();
    config.max_message_size = Some(BYTES_MAX);
    config.max_frame_size = Some(BYTES_MAX);
    let io = TokioIo::new(upgraded);
    let mut socket = WebSocketStream::from_raw_socket(io, Role::Server, Some(config)).await;
    let stop = hall.stop.clone();
    let talk = async {
        let guest = hello(&mut socket, &hall).await;
        drop(waiting);
        let Some(guest) = guest else {
            return Some((CloseCode::from(NOT_KNOWN), "pages without a token"));
        };
        held(&guest).connected(Instant::now(), true);
        let closing = go_on(&mut socket, &hall, &guest).await;
        held(&guest).connected(Instant::now(), false);
        closing
    };
    let closing = stop.run_until_cancelled(talk).await.flatten();
    let (code, why) = closing.unwrap_or((CloseCode::Normal, ""));
    if code != CloseCode::Normal {
        hall.refused(why);
    }
    let frame = CloseFrame {
        code,
        reason: why.into(),
    };
    drop(timeout(SEND_PATIENCE, socket.close(Some(frame))).await); // it may have gone
    // Its answer is waited for, or the reason would be lost with the connection.
    let rest = async { while socket.next().await.is_some_and(|m| m.is_ok()) {} };
    drop(timeout(PATIENCE, rest).await);
}

/// The first message; `None` from whoever isn't expected.
async fn hello(socket: &mut Socket, hall: &Hall) -> Option<Shared> {
    let first = timeout(PATIENCE, socket.next()).await.ok()??.ok()?;
    let Message::Text(text) = first else {
        return None;
    };
    if HELLO_BYTES_MAX < text.len() {
        return None;
    }
    let hello: Hello = serde_json::from_str(&text).ok()?;
    let (guest, key) = hall.desk.admit(&hello)?;
    let name = held(&guest).role.name();
    send(
        socket,
        &Say::Welcome {
            ok: 1,
            r: key,
            name,
        },
    )
    .await?;
    Some(guest)
}

/// Both ways, until one of them ends it. `None`: the page went.
async fn go_on(socket: &mut Socket, hall: &Hall, guest: &Shared) -> Option<Closing> {
    let mut cues = hall.desk.cues.subscribe();
    let mut asking = interval(QUESTION_EVERY);
    asking.set_missed_tick_behavior(MissedTickBehavior::Delay);
    let mut beats = hall.desk.beats.subscribe();
    beats.mark_changed(); // what stands already is shown at once
    let is_pacer = held(guest).role == super::Role::Pacer;
    loop {
        let say = tokio::select! {
            message = socket.next() => {
                let at = Instant::now();
                match heard(message, at, hall, guest) {
                    Ok(say) => say,
                    Err(closing) => return closing,
                }
            }
            changed = beats.changed(), if is_pacer => {
                let beat = changed.ok().and_then(|()| beats.borrow_and_update().clone());
                beat.map(|beat| beat.told(Instant::now()))
            }
            cue = cues.recv() => cue.ok().map(|cue| Say::Cue { cue: cue.as_str() }),
            _ = asking.tick() => Some(held(guest).question(Instant::now())),
        };
        if let Some(say) = say {
            send(socket, &say).await?;
        }
    }
}

fn heard(
    message: Option<Result<Message, Error>>,
    at: Instant,
    hall: &Hall,
    guest: &Shared,
) -> Result<Option<Say>, Option<Closing>> {
    let message = match message {
        Some(Ok(message)) => message,
        Some(Err(Error::Capacity(CapacityError::MessageTooLong { .. }))) => {
            return Err(Some((CloseCode::Size, "messages that are too long")));
        }
        _ => return Err(None),
    };
    let mut guest = held(guest);
    if !guest.may_speak(at) {
        return Err(Some((CloseCode::Policy, "messages beyond the limit")));
    }
    match message {
        Message::Text(text) => {
            let said = said(&text);
            let said = said.ok_or(Some((
                CloseCode::Policy,
                "messages that nobody understands",
            )))?;
            Ok(guest.take(at, said, hall.desk.marks()))
        }
        Message::Binary(_) => Err(Some((CloseCode::Unsupported, "messages that are no text"))),
        Message::Close(_) => Err(None),
        _ => Ok(None),
    }
}

/// `None` if the page takes nothing any more.
async fn send(socket: &mut Socket, say: &Say) -> Option<()> {
    let text = serde_json::to_string(say).ok()?;
    let sent = timeout(SEND_PATIENCE, socket.send(Message::text(text))).await;
    sent.ok()?.ok()
}
