//! The server against pages that behave and callers that don't, over real sockets on this computer.

use std::sync::Mutex;
use std::time::Duration;

use futures_util::{SinkExt as _, StreamExt as _};
use rustls::pki_types::{CertificateDer, ServerName};
use rustls::{ClientConfig, RootCertStore};
use serde_json::{Value, json};
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::TcpStream;
use tokio_rustls::TlsConnector;
use tokio_rustls::client::TlsStream;
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::protocol::Message;
use tokio_tungstenite::tungstenite::{Error, client::IntoClientRequest as _};

use super::*;
use crate::event::{Event, Loss};
use crate::live::{RunClock, Sink};
use crate::{HostTime, MarkKind, Side};

const WAIT: Duration = Duration::from_secs(10);
const SHIN: Role = Role::Sensor(Placement::ShinRight);

type Page = WebSocketStream<TlsStream<TcpStream>>;

struct Rig {
    server: Server,
    told: Arc<Mutex<Vec<String>>>,
    _folder: tempfile::TempDir,
}

impl Rig {
    async fn start() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let told: Arc<Mutex<Vec<String>>> = Arc::default();
        let tell = Arc::clone(&told);
        let tell: Tell = Arc::new(move |text| tell.lock().unwrap().push(text));
        let address = "127.0.0.1:0".parse().unwrap();
        let server = Server::start(address, folder.path(), tell).await.unwrap();
        Self {
            server,
            told,
            _folder: folder,
        }
    }

    fn host(&self) -> String {
        self.server.address().to_string()
    }

    fn has_told(&self, part: &str) -> bool {
        self.told
            .lock()
            .unwrap()
            .iter()
            .any(|text| text.contains(part))
    }

    async fn tls(&self) -> TlsStream<TcpStream> {
        let mut roots = RootCertStore::empty();
        let der: CertificateDer<'static> = self.server.certificate.der.clone();
        roots.add(der).unwrap();
        let provider = Arc::new(rustls::crypto::ring::default_provider());
        let config = ClientConfig::builder_with_provider(provider)
            .with_safe_default_protocol_versions()
            .unwrap()
            .with_root_certificates(roots)
            .with_no_client_auth();
        let stream = TcpStream::connect(self.server.address()).await.unwrap();
        let name = ServerName::from(self.server.address().ip());
        TlsConnector::from(Arc::new(config))
            .connect(name, stream)
            .await
            .unwrap()
    }

    async fn socket(&self, origin: Option<&str>) -> Result<Page, Error> {
        let mut request = format!("wss://{}/ws", self.host()).into_client_request()?;
        if let Some(origin) = origin {
            request
                .headers_mut()
                .insert("origin", origin.parse().unwrap());
        }
        let tls = self.tls().await;
        tokio_tungstenite::client_async(request, tls)
            .await
            .map(|(page, _)| page)
    }

    /// A page that has said hello, with its answer.
    async fn page(&self, hello: Value) -> (Page, Option<Value>) {
        let mut page = self
            .socket(Some(&format!("https://{}", self.host())))
            .await
            .unwrap();
        page.send(Message::text(hello.to_string())).await.unwrap();
        let welcome = hear(&mut page, "ok").await;
        (page, welcome)
    }

    fn token(&self, role: Role) -> String {
        let url = self.server.invite(role).unwrap().url;
        url.rsplit('=').next().unwrap().to_owned()
    }

    /// A request of one's own making; the whole answer.
    async fn request(&self, text: &str) -> String {
        let mut tls = self.tls().await;
        tls.write_all(text.as_bytes()).await.unwrap();
        let mut answer = Vec::new();
        let read = tokio::time::timeout(WAIT, tls.read_to_end(&mut answer));
        drop(read.await.expect("an answer in time"));
        String::from_utf8_lossy(&answer).into_owned()
    }

    async fn get(&self, path: &str, more: &str) -> String {
        let host = self.host();
        self.request(&format!(
            "GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n{more}\r\n"
        ))
        .await
    }

    async fn post(&self, body: &str) -> String {
        let (host, length) = (self.host(), body.len());
        self.request(&format!(
            "POST /push HTTP/1.1\r\nHost: {host}\r\nOrigin: https://{host}\r\nConnection: close\r\nContent-Length: {length}\r\n\r\n{body}"
        ))
        .await
    }
}

/// The next message that has this key; `None` if the socket is closed before.
async fn hear(page: &mut Page, key: &str) -> Option<Value> {
    loop {
        let message = tokio::time::timeout(WAIT, page.next())
            .await
            .expect("in time")?
            .ok()?;
        let Message::Text(text) = message else {
            continue;
        };
        let value: Value = serde_json::from_str(&text).unwrap();
        if value.get(key).is_some() {
            return Some(value);
        }
    }
}

/// The code with which a socket is closed.
async fn closed(page: &mut Page) -> u16 {
    loop {
        match tokio::time::timeout(WAIT, page.next())
            .await
            .expect("in time")
        {
            Some(Ok(Message::Close(Some(frame)))) => return frame.code.into(),
            Some(Ok(_)) => {}
            other => panic!("{other:?}"),
        }
    }
}

fn hello(role: &str, token: &str) -> Value {
    json!({"hello": 1, "role": role, "t": token, "o": 1000.0})
}

/// Readings of a leg at 30°, with the sign of most phones or the other one.
fn readings(first: u64, count: u64, sign: f64) -> Value {
    let row = |n: u64| {
        json!([
            16.7 * n as f64,
            0.0,
            -4.9 * sign,
            8.5 * sign,
            -15.0,
            0.0,
            0.1
        ])
    };
    json!({"s": first, "h": 0, "d": (first..first + count).map(row).collect::<Vec<_>>()})
}

async fn send(page: &mut Page, value: &Value) {
    page.send(Message::text(value.to_string())).await.unwrap();
}

/// A page that has sent enough to be opened.
async fn opened(rig: &Rig, page: &mut Page, sign: f64) -> Box<dyn Source> {
    send(page, &json!({"u": [[-30.0, 0.0]]})).await;
    send(page, &readings(0, 20, sign)).await;
    let opening = rig.server.opened(Placement::ShinRight);
    tokio::time::timeout(WAIT, opening)
        .await
        .expect("in time")
        .unwrap()
}

fn begin() -> (Begin, tokio::sync::mpsc::Receiver<Event>) {
    let (sink, events) = Sink::channel();
    let begin = Begin {
        clock: RunClock::start(),
        sink,
        stop: CancellationToken::new(),
    };
    (begin, events)
}

async fn next_samples(events: &mut tokio::sync::mpsc::Receiver<Event>) -> crate::Packet {
    loop {
        let event = tokio::time::timeout(WAIT, events.recv())
            .await
            .expect("in time");
        if let Event::Samples { packet, .. } = event.expect("an event") {
            return packet;
        }
    }
}

#[tokio::test]
async fn a_phone_is_a_source_whatever_its_sign_and_comes_back_without_a_loss() {
    for sign in [1.0, -1.0] {
        let rig = Rig::start().await;
        let (mut page, welcome) = rig.page(hello("shin", &rig.token(SHIN))).await;
        let key = welcome.expect("welcome")["r"].as_str().unwrap().to_owned();
        let source = opened(&rig, &mut page, sign).await;
        assert_eq!(rig.has_told("the other way round"), sign < 0.0);
        let stream = &source.streams()[0];
        assert!((stream.timing.nominal_hz - 60.0).abs() < 1e-9 && stream.timing.check().is_ok());
        let (begin, mut events) = begin();
        let stop = begin.stop.clone();
        let running = tokio::spawn(source.run(begin));
        send(&mut page, &readings(20, 2, sign)).await;
        let packet = next_samples(&mut events).await;
        let sample = packet.samples[0];
        // 30° in the table of check values: (0, -4.9, 8.5) m/s², 15°/s.
        let expected = [0.0, -4.9, 8.5_f32];
        let off = sample
            .accel_m_s2
            .iter()
            .zip(expected)
            .map(|(a, b)| (a - b).abs());
        assert!(off.fold(0.0, f32::max) < 1e-6, "{sample:?}");
        assert!((sample.gyro_rad_s[0] + 15.0_f32.to_radians()).abs() < 1e-6);
        assert_eq!(
            (sample.sequence, sample.device.map(|d| d.0)),
            (Some(20), Some(334_000))
        );
        // The socket drops, two readings are sent again with two new ones.
        drop(page);
        let back = json!({"hello": 1, "role": "shin", "r": key, "o": 1000.0});
        let (mut page, welcome) = rig.page(back).await;
        assert!(welcome.is_some());
        send(&mut page, &readings(20, 4, sign)).await;
        let packet = next_samples(&mut events).await;
        let numbers: Vec<_> = packet.samples.iter().filter_map(|s| s.sequence).collect();
        assert_eq!(numbers, [22, 23]);
        // Loaded anew: counter and clock begin at zero.
        let anew = json!({"hello": 1, "role": "shin", "r": key, "o": 9000.0});
        let (mut page, _) = rig.page(anew).await;
        send(&mut page, &readings(0, 1, sign)).await;
        let gap = loop {
            if let Some(Event::Gap { cause, .. }) = events.recv().await {
                break cause;
            }
        };
        assert_eq!(gap, Loss::Restart);
        assert_eq!(next_samples(&mut events).await.samples[0].sequence, Some(0));
        stop.cancel();
        running.await.unwrap();
        let mut last = None;
        while let Ok(event) = events.try_recv() {
            last = Some(event);
        }
        assert!(matches!(last, Some(Event::Ended { .. })), "{last:?}");
    }
}

#[tokio::test]
async fn a_press_is_a_mark_of_its_moment_and_cues_are_heard() {
    let rig = Rig::start().await;
    let role = Role::Marker(Some(Side::Right));
    let (mut page, welcome) = rig.page(hello("marker", &rig.token(role))).await;
    assert_eq!(welcome.unwrap()["name"], "Hand marker, right leg");
    let (begin, mut events) = begin();
    let clock = begin.clock;
    rig.server.begin_marks(begin);
    // The page's clock is 5 s ahead of this run's.
    let ahead = |at: HostTime| 5000.0 + at.s() * 1e3;
    let question = hear(&mut page, "q").await.unwrap();
    send(
        &mut page,
        &json!({"q": question["q"], "c": ahead(clock.now())}),
    )
    .await;
    let pressed = clock.now();
    tokio::time::sleep(Duration::from_millis(120)).await;
    for _ in 0..2 {
        send(&mut page, &json!({"mk": 1, "t": ahead(pressed)})).await;
        assert_eq!(hear(&mut page, "mk").await.unwrap()["mk"], 1);
    }
    let Some(Event::Mark { at, kind, side, .. }) = events.recv().await else {
        panic!()
    };
    assert_eq!((kind, side), (MarkKind::Pull, Some(Side::Right)));
    assert!((at.s() - pressed.s()).abs() < 0.03, "{at:?} {pressed:?}");
    assert!(events.try_recv().is_err(), "the same press again is none");
    rig.server.cue(Cue::Stop);
    assert_eq!(hear(&mut page, "cue").await.unwrap()["cue"], "stop");
}

fn beat(circle: Circle, word: &str) -> Beat {
    Beat {
        circle,
        length_s: 4.0,
        left_s: 4.0,
        at: std::time::Instant::now(),
        is_running: true,
        word: word.to_owned(),
        say: String::new(),
        count: "set 1 of 2".to_owned(),
    }
}

#[tokio::test]
async fn a_pacer_is_shown_what_stands_and_what_comes() {
    let rig = Rig::start().await;
    rig.server.pace(beat(Circle::Grow, "breathe in"));
    let token = rig.token(Role::Pacer);
    let met = rig.server.met(Role::Pacer);
    let (mut page, welcome) = rig.page(hello("pacer", &token)).await;
    assert_eq!(welcome.unwrap()["name"], "Pacer");
    tokio::time::timeout(WAIT, met).await.expect("it has come");
    // Whoever comes late sees what stands.
    let first = hear(&mut page, "beat").await.unwrap();
    assert_eq!(
        (&first["beat"], &first["word"]),
        (&json!("grow"), &json!("breathe in"))
    );
    assert!(first["left"].as_f64().unwrap() <= 4.0);
    rig.server.pace(beat(Circle::Shrink, "breathe out"));
    assert_eq!(hear(&mut page, "beat").await.unwrap()["beat"], "shrink");
    // A page without a socket has it with each answer; a marker is told nothing of it.
    for (word, role, is_told) in [
        ("pacer", Role::Pacer, true),
        ("marker", Role::Marker(None), false),
    ] {
        let answer = rig.post(&hello(word, &rig.token(role)).to_string()).await;
        let body = answer.rsplit("\r\n\r\n").next().unwrap();
        let says: Value = serde_json::from_str(body).unwrap();
        let pushed = json!({"r": says[0]["r"], "m": []});
        let answer = rig.post(&pushed.to_string()).await;
        assert_eq!(answer.contains("breathe out"), is_told, "{answer}");
    }
}

#[tokio::test]
async fn posts_are_a_way_round_a_socket() {
    let rig = Rig::start().await;
    let answer = rig.post(&hello("shin", &rig.token(SHIN)).to_string()).await;
    assert!(answer.starts_with("HTTP/1.1 200"), "{answer}");
    let body = answer.rsplit("\r\n\r\n").next().unwrap();
    let says: Value = serde_json::from_str(body).unwrap();
    let key = says[0]["r"].as_str().unwrap();
    let pushed = json!({"r": key, "m": [{"u": [[-30.0, 0.0]]}, readings(0, 20, 1.0)]});
    let answer = rig.post(&pushed.to_string()).await;
    assert!(answer.contains(r#""a":20"#), "{answer}");
    let opening = rig.server.opened(Placement::ShinRight);
    assert!(
        tokio::time::timeout(WAIT, opening)
            .await
            .expect("in time")
            .is_ok()
    );
    assert!(
        rig.post(&json!({"r": "0".repeat(32), "m": []}).to_string())
            .await
            .starts_with("HTTP/1.1 401")
    );
    assert!(
        rig.post(&format!("{{\"r\":\"{key}\",\"m\":[7]}}"))
            .await
            .starts_with("HTTP/1.1 400")
    );
    assert!(
        rig.post(&"x".repeat(20_000))
            .await
            .starts_with("HTTP/1.1 413")
    );
}

#[tokio::test]
async fn requests_that_are_not_ours_are_refused() {
    let rig = Rig::start().await;
    let page = rig.get("/", "").await;
    assert!(
        page.starts_with("HTTP/1.1 200") && page.contains("default-src 'none'"),
        "{page}"
    );
    for header in [
        "permissions-policy",
        "cross-origin-opener-policy: same-origin",
        "no-store",
        "nosniff",
    ] {
        assert!(page.to_lowercase().contains(header), "{header}");
    }
    for path in ["/m", "/shin.js", "/marker.js", "/link.js", "/page.css"] {
        assert!(
            rig.get(path, "").await.starts_with("HTTP/1.1 200"),
            "{path}"
        );
    }
    for path in ["/x", "/../Cargo.toml", "/%2e%2e/etc/passwd", "/shin.js/"] {
        assert!(
            rig.get(path, "").await.starts_with("HTTP/1.1 404"),
            "{path}"
        );
    }
    let host = rig.host();
    let other = rig
        .request("GET / HTTP/1.1\r\nHost: evil.example\r\nConnection: close\r\n\r\n")
        .await;
    assert!(other.starts_with("HTTP/1.1 421"), "{other}");
    let delete = format!("DELETE / HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n");
    assert!(rig.request(&delete).await.starts_with("HTTP/1.1 405"));
    let big = rig
        .get("/", &format!("X-Big: {}\r\n", "x".repeat(40_000)))
        .await;
    assert!(big.starts_with("HTTP/1.1 431"), "{big}");
    // Without encryption.
    let mut plain = TcpStream::connect(rig.server.address()).await.unwrap();
    plain.write_all(b"GET / HTTP/1.1\r\n\r\n").await.unwrap();
    plain.shutdown().await.unwrap();
    let mut answer = String::new();
    plain.read_to_string(&mut answer).await.unwrap();
    assert!(
        answer.starts_with("HTTP/1.1 400") && !answer.contains("Location"),
        "{answer}"
    );
    // Origins.
    for origin in [None, Some("https://evil.example"), Some("null")] {
        let refused = rig.socket(origin).await;
        assert!(
            matches!(&refused, Err(Error::Http(answer)) if answer.status() == 403),
            "{origin:?}"
        );
    }
    assert!(rig.has_told("refused other pages"));
}

#[tokio::test]
async fn sockets_that_misbehave_are_closed_and_the_others_live_on() {
    let rig = Rig::start().await;
    let token = rig.token(SHIN);
    let (mut good, welcome) = rig.page(hello("shin", &token)).await;
    assert!(welcome.is_some());
    for wrong in [
        hello("shin", &token),
        hello("shin", &"0".repeat(32)),
        hello("marker", &rig.token(Role::Sensor(Placement::ShinLeft))),
        json!({"hello": 2, "role": "shin", "t": rig.token(Role::Sensor(Placement::ShinLeft)), "o": 0.0}),
        json!({"s": 0, "d": []}),
    ] {
        let mut page = rig
            .socket(Some(&format!("https://{}", rig.host())))
            .await
            .unwrap();
        send(&mut page, &wrong).await;
        assert_eq!(closed(&mut page).await, 4401, "{wrong}");
    }
    let misdeeds = [
        ("long", Message::text("x".repeat(100_000)), 1, 1009),
        ("binary", Message::binary(vec![1, 2, 3]), 1, 1003),
        ("no JSON", Message::text("hello"), 1, 1008),
        ("flood", Message::text(r#"{"q":0,"c":1}"#), 1000, 1008),
        ("pings", Message::Ping(Vec::new().into()), 1000, 1008),
    ];
    for (name, message, count, code) in misdeeds {
        let token = rig.token(Role::Sensor(Placement::ShinLeft));
        let (mut page, welcome) = rig.page(hello("shin", &token)).await;
        assert!(welcome.is_some(), "{name}");
        for _ in 0..count {
            if page.send(message.clone()).await.is_err() {
                break;
            }
        }
        // A flood may still be on its way when it is closed.
        let closed = loop {
            match tokio::time::timeout(WAIT, page.next())
                .await
                .expect("in time")
            {
                Some(Ok(Message::Close(frame))) => break frame.map(|frame| frame.code.into()),
                Some(Ok(_)) => {}
                _ => break None,
            }
        };
        assert!(
            closed == Some(code) || closed.is_none() && count > 1,
            "{name}: {closed:?}"
        );
    }
    let source = opened(&rig, &mut good, 1.0).await;
    assert_eq!(source.streams()[0].placement, Placement::ShinRight);
}

#[tokio::test]
async fn silent_callers_hold_no_places() {
    let rig = Rig::start().await;
    let host = rig.host();
    let origin = format!("https://{host}");
    let mut waiting = Vec::new();
    for _ in 0..4 {
        waiting.push(rig.socket(Some(&origin)).await.unwrap());
    }
    let fifth = rig.socket(Some(&origin)).await;
    assert!(matches!(&fifth, Err(Error::Http(answer)) if answer.status() == 503));
    // They hold their places for five seconds.
    assert_eq!(closed(&mut waiting[0]).await, 4401);
    // Connections that say nothing: 48 from one address at most, and none for ever.
    drop(waiting);
    let mut silent = Vec::new();
    for _ in 0..60 {
        silent.push(TcpStream::connect(rig.server.address()).await.unwrap());
    }
    let mut ended = 0;
    for stream in &mut silent {
        let read = tokio::time::timeout(WAIT, stream.read_u8()).await;
        ended += usize::from(matches!(read, Ok(Err(_))));
    }
    assert_eq!(ended, 60);
    assert!(rig.has_told("connections beyond the limit"));
    assert!(rig.get("/", "").await.starts_with("HTTP/1.1 200"));
}
