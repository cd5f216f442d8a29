//! Requests: eight files, a socket, and a way round it. All else is refused.

use std::convert::Infallible;
use std::time::Instant;

use http_body_util::{BodyExt as _, Full, Limited};
use hyper::body::{Bytes, Incoming};
use hyper::header::{self, HeaderMap, HeaderValue};
use hyper::{Method, Request, Response, StatusCode};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use tokio_tungstenite::tungstenite::handshake::derive_accept_key;

use super::desk::{Role, held};
use super::listen::Hall;
use super::message::{BYTES_MAX, Hello, Say, said};
use super::socket;

/// Messages in one push.
const PUSHED_MAX: usize = 64;

type Answer = Response<Full<Bytes>>;

/// The files: path, kind, content.
const FILES: [(&str, &str, &str); 8] = [
    (
        "/",
        "text/html; charset=utf-8",
        include_str!("../../pages/shin.html"),
    ),
    (
        "/shin.js",
        "text/javascript; charset=utf-8",
        include_str!("../../pages/shin.js"),
    ),
    (
        "/m",
        "text/html; charset=utf-8",
        include_str!("../../pages/marker.html"),
    ),
    (
        "/marker.js",
        "text/javascript; charset=utf-8",
        include_str!("../../pages/marker.js"),
    ),
    (
        "/p",
        "text/html; charset=utf-8",
        include_str!("../../pages/pacer.html"),
    ),
    (
        "/pacer.js",
        "text/javascript; charset=utf-8",
        include_str!("../../pages/pacer.js"),
    ),
    (
        "/link.js",
        "text/javascript; charset=utf-8",
        include_str!("../../pages/link.js"),
    ),
    (
        "/page.css",
        "text/css; charset=utf-8",
        include_str!("../../pages/page.css"),
    ),
];

/// Answers a request.
pub(super) async fn answer(request: Request<Incoming>, hall: Hall) -> Result<Answer, Infallible> {
    let mut answer = route(request, &hall).await.unwrap_or_else(|(status, why)| {
        hall.refused(why);
        refusal(status, why)
    });
    fence(answer.headers_mut(), &hall.host);
    Ok(answer)
}

type Refusal = (StatusCode, &'static str);

async fn route(request: Request<Incoming>, hall: &Hall) -> Result<Answer, Refusal> {
    // Another name that leads here is somebody else's page.
    if text(request.headers(), header::HOST) != Some(&*hall.host) {
        return Err((
            StatusCode::MISDIRECTED_REQUEST,
            "requests under another name",
        ));
    }
    let (method, path) = (request.method().clone(), request.uri().path().to_owned());
    if let Some((_, kind, content)) = FILES.iter().find(|(known, ..)| *known == path) {
        return match method {
            Method::GET | Method::HEAD => Ok(file(kind, content)),
            _ => Err(WRONG_METHOD),
        };
    }
    match (path.as_str(), method) {
        ("/ws", Method::GET) => {
            same_origin(request.headers(), hall)?;
            upgrade(request, hall)
        }
        ("/push", Method::POST) => {
            same_origin(request.headers(), hall)?;
            push(request, hall).await
        }
        ("/ws" | "/push", _) => Err(WRONG_METHOD),
        _ => Err((StatusCode::NOT_FOUND, "requests for other files")),
    }
}

const WRONG_METHOD: Refusal = (StatusCode::METHOD_NOT_ALLOWED, "requests of another method");

fn text(headers: &HeaderMap, name: header::HeaderName) -> Option<&str> {
    headers.get(name)?.to_str().ok()
}

/// Only our own pages may talk to us: another page that knows the address is refused.
fn same_origin(headers: &HeaderMap, hall: &Hall) -> Result<(), Refusal> {
    let origin = text(headers, header::ORIGIN).and_then(|o| o.strip_prefix("https://"));
    if origin == Some(&*hall.host) {
        Ok(())
    } else {
        Err((StatusCode::FORBIDDEN, "other pages"))
    }
}

fn file(kind: &'static str, content: &'static str) -> Answer {
    let mut answer = Response::new(Full::from(content));
    answer
        .headers_mut()
        .insert(header::CONTENT_TYPE, HeaderValue::from_static(kind));
    answer
}

fn refusal(status: StatusCode, why: &str) -> Answer {
    let mut answer = Response::new(Full::from(format!("refused: {why}\n")));
    *answer.status_mut() = status;
    let kind = HeaderValue::from_static("text/plain; charset=utf-8");
    answer.headers_mut().insert(header::CONTENT_TYPE, kind);
    answer
}

/// What a page of ours may do: nothing but talk to this program and read the phone's motion.
fn fence(headers: &mut HeaderMap, host: &str) {
    // Older browsers don't count a socket as `self`.
    let policy = format!(
        "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self' wss://{host}; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    );
    if let Ok(policy) = HeaderValue::from_str(&policy) {
        headers.insert(header::CONTENT_SECURITY_POLICY, policy);
    }
    for (name, value) in [
        (
            "permissions-policy",
            "accelerometer=(self), gyroscope=(self), screen-wake-lock=(self), camera=(), geolocation=(), microphone=()",
        ),
        ("referrer-policy", "no-referrer"),
        ("x-content-type-options", "nosniff"),
        ("cache-control", "no-store"),
        ("cross-origin-opener-policy", "same-origin"),
        ("cross-origin-embedder-policy", "require-corp"),
        ("cross-origin-resource-policy", "same-origin"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
}

/// Turns a request into a socket.
fn upgrade(mut request: Request<Incoming>, hall: &Hall) -> Result<Answer, Refusal> {
    const WRONG: Refusal = (StatusCode::BAD_REQUEST, "requests that are no socket's");
    let headers = request.headers();
    let is = |name, word: &str| {
        text(headers, name).is_some_and(|t| t.to_ascii_lowercase().contains(word))
    };
    let is_socket = is(header::UPGRADE, "websocket") && is(header::CONNECTION, "upgrade");
    let version = text(headers, header::SEC_WEBSOCKET_VERSION);
    let key = headers
        .get(header::SEC_WEBSOCKET_KEY)
        .filter(|_| is_socket && version == Some("13"));
    let accept = derive_accept_key(key.ok_or(WRONG)?.as_bytes());
    let accept = HeaderValue::from_str(&accept).or(Err(WRONG))?;
    let Ok(waiting) = hall.waiting.clone().try_acquire_owned() else {
        return Err((
            StatusCode::SERVICE_UNAVAILABLE,
            "sockets that wait without a word",
        ));
    };
    let upgraded = hyper::upgrade::on(&mut request);
    tokio::spawn(socket::talk(upgraded, hall.clone(), waiting));
    let mut answer = Response::new(Full::default());
    *answer.status_mut() = StatusCode::SWITCHING_PROTOCOLS;
    let headers = answer.headers_mut();
    headers.insert(header::UPGRADE, HeaderValue::from_static("websocket"));
    headers.insert(header::CONNECTION, HeaderValue::from_static("upgrade"));
    headers.insert(header::SEC_WEBSOCKET_ACCEPT, accept);
    Ok(answer)
}

/// The way round a socket that a browser refuses: the same messages, several at a time.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Pushed {
    /// The key.
    r: String,
    /// The messages.
    m: Vec<Value>,
}

async fn push(request: Request<Incoming>, hall: &Hall) -> Result<Answer, Refusal> {
    let body = Limited::new(request.into_body(), BYTES_MAX).collect().await;
    let Ok(body) = body else {
        return Err((StatusCode::PAYLOAD_TOO_LARGE, "messages that are too long"));
    };
    let body = body.to_bytes();
    let at = Instant::now();
    if let Ok(hello) = serde_json::from_slice::<Hello>(&body) {
        let admitted = hall.desk.admit(&hello);
        let (guest, key) = admitted.ok_or((StatusCode::UNAUTHORIZED, "pages without a token"))?;
        let name = held(&guest).role.name();
        return Ok(json(&[Say::Welcome {
            ok: 1,
            r: key,
            name,
        }]));
    }
    let Ok(pushed) = serde_json::from_slice::<Pushed>(&body) else {
        return Err((StatusCode::BAD_REQUEST, "messages that nobody understands"));
    };
    let guest = hall.desk.known(&pushed.r);
    let guest = guest.ok_or((StatusCode::UNAUTHORIZED, "pages without a token"))?;
    let mut guest = held(&guest);
    if !guest.may_speak(at) {
        return Err((StatusCode::TOO_MANY_REQUESTS, "messages beyond the limit"));
    }
    let mut says = Vec::new();
    for value in pushed.m.iter().take(PUSHED_MAX) {
        let Some(said) = said(&value.to_string()) else {
            return Err((StatusCode::BAD_REQUEST, "messages that nobody understands"));
        };
        says.extend(guest.take(at, said, hall.desk.marks()));
    }
    says.extend(guest.cue().map(|cue| Say::Cue { cue: cue.as_str() }));
    if guest.role == Role::Pacer {
        // Said each time: it is short, and the page knows what it has.
        let beat = hall.desk.beats.borrow().clone();
        says.extend(beat.map(|beat| beat.told(Instant::now())));
    }
    says.push(guest.question(Instant::now()));
    Ok(json(&says))
}

fn json(says: &[impl Serialize]) -> Answer {
    let text = serde_json::to_vec(says).unwrap_or_default();
    let mut answer = Response::new(Full::from(text));
    let kind = HeaderValue::from_static("application/json");
    answer.headers_mut().insert(header::CONTENT_TYPE, kind);
    answer
}
