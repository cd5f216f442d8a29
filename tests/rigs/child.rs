//! The client under test, in a process of its own: this very program, told by a variable to be it. It opens what it is
//! asked for, runs it, and prints each event as a line of JSON.

use std::io::{BufRead as _, BufReader, Write as _};
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, Condvar, Mutex};
use std::time::{Duration, Instant};

use sensor::ble::{BleError, Wanted, list, open};
use sensor::live::{Begin, CancellationToken, RunClock, Sink};
use sensor::profile::{Profile, shipped};
use sensor::{Event, RawSample, Status};
use serde_json::{Value, json};

use super::bluez::Rig;

const VARIABLE: &str = "LEGRAISE_RIG_CLIENT";
/// No child lives longer.
const LIFE: Duration = Duration::from_mins(3);

/// A line, and when it was read.
pub(super) struct Line {
    pub(super) at: Instant,
    pub(super) value: Value,
}

type Lines = Arc<(Mutex<(Vec<Line>, bool)>, Condvar)>;

/// A child at work.
pub(super) struct Client {
    child: Child,
    lines: Lines,
}

impl Client {
    /// `sensors` are pairs of a placement and a name or null; `seconds` counts from when all are open.
    pub(super) fn start(rig: &Rig, order: &Value) -> Self {
        Self::at(&rig.address(), order)
    }

    pub(super) fn at(address: &str, order: &Value) -> Self {
        let program = std::env::current_exe().expect("this program");
        let mut child = Command::new(program)
            .args(["--exact", "rigs::child::client", "--nocapture"])
            .env(VARIABLE, order.to_string())
            .env("DBUS_SYSTEM_BUS_ADDRESS", address)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("a child");
        let output = child.stdout.take().expect("piped");
        let lines: Lines = Arc::default();
        let shared = Arc::clone(&lines);
        std::thread::Builder::new()
            .name("lines".to_owned())
            .spawn(move || {
                for text in BufReader::new(output).lines().map_while(Result::ok) {
                    let at = Instant::now();
                    // The test harness prints lines of its own.
                    if let Ok(value) = serde_json::from_str(&text) {
                        let (lines, news) = &*shared;
                        lines.lock().expect("whole").0.push(Line { at, value });
                        news.notify_all();
                    }
                }
                let (lines, news) = &*shared;
                lines.lock().expect("whole").1 = true;
                news.notify_all();
            })
            .expect("a thread");
        Self { child, lines }
    }

    /// Waits for a line that is so; panics with what came if there is none in time.
    pub(super) fn wait_for(&self, what: &str, limit: Duration, is_it: impl Fn(&Value) -> bool) {
        let (lines, news) = &*self.lines;
        let until = Instant::now() + limit;
        let mut lines = lines.lock().expect("whole");
        loop {
            if lines.0.iter().any(|line| is_it(&line.value)) {
                return;
            }
            let left = until.saturating_duration_since(Instant::now());
            assert!(
                !left.is_zero() && !lines.1,
                "no {what} within {limit:?}: {:?}",
                told(&lines.0)
            );
            lines = news.wait_timeout(lines, left).expect("whole").0;
        }
    }

    pub(super) fn wait_until_open(&self) {
        self.wait_for("opened", Duration::from_secs(30), |line| {
            line["is"] == "opened"
        });
    }

    /// All it printed, once it has ended.
    pub(super) fn finish(mut self) -> Vec<Line> {
        let (lines, news) = &*self.lines;
        let lines = lines.lock().expect("whole");
        let (mut lines, wait) = news
            .wait_timeout_while(lines, LIFE, |(_, is_done)| !*is_done)
            .expect("whole");
        assert!(!wait.timed_out(), "it doesn't end: {:?}", told(&lines.0));
        let status = self.child.wait().expect("it was started");
        assert!(status.success(), "{status}: {:?}", told(&lines.0));
        std::mem::take(&mut lines.0)
    }
}

impl Drop for Client {
    fn drop(&mut self) {
        // Only after a failure it may still be there.
        drop(self.child.kill());
        drop(self.child.wait());
    }
}

/// All but samples, for messages.
pub(super) fn told(lines: &[Line]) -> Vec<String> {
    let others = lines.iter().filter(|line| line.value["is"] != "samples");
    others.map(|line| line.value.to_string()).collect()
}

/// The child: not a test where nobody asks for it.
#[test]
fn client() {
    let Some(order) = std::env::var_os(VARIABLE) else {
        return;
    };
    let order = order.into_string().expect("text");
    let order: Value = serde_json::from_str(&order).expect("JSON");
    // The harness has begun a line.
    print(&json!({ "is": "begun" }));
    print(&json!({ "is": "begun" }));
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .expect("a runtime");
    let done = if order["list"].is_null() {
        runtime.block_on(run(&order))
    } else {
        runtime.block_on(look(&order))
    };
    if let Err(error) = done {
        print(&json!({
            "is": "error", "word": error.word(), "text": error.to_string(), "mend": error.mend(),
        }));
    }
    runtime.shutdown_timeout(Duration::from_secs(1));
}

fn print(value: &Value) {
    let mut out = std::io::stdout().lock();
    writeln!(out, "\n{value}").expect("somebody reads");
    out.flush().expect("somebody reads");
}

fn open_motion() -> Profile {
    let mut all = shipped().into_iter();
    all.find(|profile| profile.name == "open-motion")
        .expect("shipped")
}

async fn look(order: &Value) -> Result<(), BleError> {
    let duration = Duration::from_secs_f64(order["list"].as_f64().expect("seconds"));
    for one in list(&shipped(), duration).await?.found {
        let others: Vec<_> = one
            .others
            .iter()
            .map(|(name, reasons)| {
                let reasons: Vec<String> = reasons.iter().map(ToString::to_string).collect();
                json!([name, reasons])
            })
            .collect();
        print(&json!({
            "is": "found", "id": one.id, "name": one.name, "signal_dbm": one.signal_dbm,
            "present": one.is_present, "profiles": one.profiles, "others": others,
        }));
    }
    Ok(())
}

async fn run(order: &Value) -> Result<(), BleError> {
    let wanted = order["sensors"].as_array().expect("a list").iter();
    let wanted = wanted.map(|one| Wanted {
        placement: one[0].as_str().expect("text").parse().expect("a place"),
        profile: open_motion(),
        which: one[1].as_str().map(ToOwned::to_owned),
        rate_hz: order["rate_hz"].as_f64(),
    });
    let began = Instant::now();
    let tell = Arc::new(|text| print(&json!({ "is": "told", "text": text })));
    let sources = open(wanted.collect(), tell).await?;
    let devices: Vec<_> = sources
        .iter()
        .flat_map(|source| source.streams())
        .map(|stream| {
            json!({
                "at": stream.placement.as_str(), "maker": stream.device.manufacturer,
                "model": stream.device.model, "serial": stream.device.serial,
                "tick_s": stream.timing.ticks.map(|ticks| ticks.tick_s),
            })
        })
        .collect();
    let clock = RunClock::start();
    let (sink, mut events) = Sink::channel();
    let stop = CancellationToken::new();
    let tasks: Vec<_> = sources
        .into_iter()
        .map(|source| {
            tokio::spawn(source.run(Begin {
                clock,
                sink: sink.clone(),
                stop: stop.clone(),
            }))
        })
        .collect();
    drop(sink);
    let took_s = began.elapsed().as_secs_f64();
    print(&json!({ "is": "opened", "devices": devices, "took_s": took_s }));
    let seconds = Duration::from_secs_f64(order["seconds"].as_f64().expect("a number"));
    let timer = stop.clone();
    tokio::spawn(async move {
        tokio::time::sleep(seconds).await;
        timer.cancel();
    });
    while let Some(event) = events.recv().await {
        print(&shown(&event));
    }
    for task in tasks {
        task.await.expect("no panic");
    }
    Ok(())
}

fn shown(event: &Event) -> Value {
    let at = event.placement().map(sensor::Placement::as_str);
    match event {
        Event::Samples { packet, .. } => {
            let each = |sample: &RawSample| {
                let [ax, ay, az] = sample.accel_m_s2;
                let [gx, gy, gz] = sample.gyro_rad_s;
                let ticks = sample.device.map(|ticks| ticks.0);
                json!([sample.sequence, ticks, ax, ay, az, gx, gy, gz])
            };
            let samples: Vec<Value> = packet.samples.iter().map(each).collect();
            json!({ "is": "samples", "at": at, "arrival_ns": packet.arrival.0, "samples": samples })
        }
        Event::Gap {
            from, to, cause, ..
        } => {
            json!({ "is": "gap", "at": at, "from_s": from.s(), "to_s": to.s(), "cause": cause.as_str() })
        }
        Event::Status {
            at: when, status, ..
        } => {
            let Status {
                battery_percent,
                rate_hz,
                signal_dbm,
                lost_fraction,
                link,
                ..
            } = status;
            json!({
                "is": "status", "at": at, "t_s": when.s(), "battery": battery_percent,
                "rate_hz": rate_hz, "signal_dbm": signal_dbm, "lost": lost_fraction,
                "link": link.map(sensor::Link::as_str),
            })
        }
        Event::Ended {
            at: when, reason, ..
        } => json!({ "is": "ended", "at": at, "t_s": when.s(), "reason": reason.as_str() }),
        Event::Mark { .. } => json!({ "is": "mark" }),
    }
}
