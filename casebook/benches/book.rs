//! How long a large casebook keeps people waiting: 5,000 clients with 40,000 visits, a round of both legs at each.
//! `cargo bench -p casebook --features store`; making it takes a minute or two.

#![expect(
    clippy::expect_used,
    reason = "a bench that can't be set up has nothing to measure"
)]

use std::path::PathBuf;
use std::sync::OnceLock;

use casebook::record::{Client, Consent, KeptRound, Method, Purpose, Visit};
use casebook::store::{Passphrase, Store, Why, account};
use divan::{Bencher, black_box};
use fusion::{Angle, Budget, EndPoint, Hold, Moment, Raise, Reason, Source};
use jiff::civil::{Date, date};
use jiff::{Timestamp, ToSpan as _};
use sensor::{Conditions, Side};

const CLIENTS: usize = 5_000;
const VISITS_EACH: usize = 8;
const PASSPHRASE: &str = "three small words";
const GIVEN: [&str; 8] = [
    "Zoë", "Ana", "Bo", "Łukasz", "İpek", "Jürgen", "Chloé", "Søren",
];
const FAMILY: [&str; 6] = ["Ångström", "Ruiz", "Lind", "Groß", "Nowak", "Kim"];

fn main() {
    divan::main();
    // A quarter of a gigabyte; where nothing was run it isn't there.
    drop(std::fs::remove_dir_all(folder()));
}

fn folder() -> PathBuf {
    std::env::temp_dir().join(format!("legraise-bench-{}", std::process::id()))
}

/// Made once.
fn book() -> &'static PathBuf {
    static BOOK: OnceLock<PathBuf> = OnceLock::new();
    BOOK.get_or_init(|| {
        let path = folder().join("casebook.db");
        let store = Store::create(&path, &Passphrase::new(PASSPHRASE)).expect("made");
        store.together(fill).expect("filled");
        path
    })
}

fn open() -> Store {
    Store::open(book(), &Passphrase::new(PASSPHRASE)).expect("opened")
}

fn fill(store: &Store) -> Result<(), casebook::store::StoreError> {
    let why = Why {
        at: Timestamp::UNIX_EPOCH,
        reason: "",
    };
    for n in 0..CLIENTS {
        let client = Client {
            name: format!("{} {} {n}", GIVEN[n % 8], FAMILY[n % 6]),
            contact: format!("client{n}@example.org"),
            birth_year: Some(1980),
            consent: Some(Consent {
                given: date(2026, 1, 5),
                text_version: "1".to_owned(),
                withdrawn: None,
            }),
            ..Client::default()
        };
        let code = store.add_client(&client, why)?;
        for week in 0..VISITS_EACH {
            let session = format!("{:02}", week + 1);
            let day = date(2026, 1, 5).saturating_add(i64::try_from(week).unwrap_or(0).weeks());
            store.add_visit(&code, &visit(&session, day), why)?;
            store.keep_round(&code, &session, &round(&code, &session, n + week), why)?;
        }
    }
    Ok(())
}

fn visit(session: &str, date: Date) -> Visit {
    Visit {
        session: session.to_owned(),
        date,
        has_asked_cautions: true,
        cautions: Vec::new(),
        feels_tight: Some(true),
        is_quiet: None,
        pain: Some(2),
        pull_felt: "back of the thigh".to_owned(),
        warm_up: String::new(),
        notes: String::new(),
        rounds: Vec::new(),
        drill: None,
    }
}

fn round(code: &str, session: &str, seed: usize) -> KeptRound {
    let raise = |n: usize| {
        let deg = 50.0 + ((seed * 7 + n * 3) % 40) as f64 / 7.0;
        let angle = || {
            Budget::default()
                .with(Source::Sensor, Angle::from_degrees(0.3))
                .with(Source::Alignment, Angle::from_degrees(0.1))
                .with_dof(Source::Noise, Angle::from_degrees(0.05), 17.0)
                .with(Source::Flesh, Angle::from_degrees(0.12))
                .measured(Angle::from_degrees(deg))
        };
        Raise {
            side: if n < 3 { Side::Left } else { Side::Right },
            start_s: 10.0 * n as f64,
            end_s: 10.0 * n as f64 + 8.0,
            peak: Some(Moment {
                time_s: 10.0 * n as f64 + 4.0,
                angle: angle(),
            }),
            hold: Some(Hold {
                start_s: 10.0 * n as f64 + 3.5,
                end_s: 10.0 * n as f64 + 5.0,
                angle: angle(),
            }),
            end_point: Some(EndPoint {
                reason: Reason::Hold,
                time_s: 10.0 * n as f64 + 4.2,
                pressed_s: None,
                angle: angle(),
            }),
            compensations: Vec::new(),
            pelvis_share: None,
            rate_max_rad_s: 0.3,
            flags: Vec::new(),
        }
    };
    KeptRound {
        recording: format!("sub-{code}/ses-{session}/run-01"),
        purpose: Purpose::First,
        began: None,
        conditions: Conditions {
            movement: Some("active".to_owned()),
            ankle: Some("relaxed".to_owned()),
            asked_for: Some("first pull".to_owned()),
            rater: None,
        },
        sensors: vec!["shinleft".to_owned(), "shinright".to_owned()],
        is_calibrated: true,
        method: Method::default(),
        raises: (0..6).map(raise).collect(),
        set_aside: Vec::new(),
    }
}

/// From the passphrase to the open casebook: most of it is deriving the key.
#[divan::bench(sample_count = 20)]
fn opening(bencher: Bencher<'_, '_>) {
    book();
    bencher.bench_local(open);
}

/// All clients with the number and the date of their visits.
#[divan::bench(sample_count = 50)]
fn listing(bencher: Bencher<'_, '_>) {
    let store = open();
    bencher.bench_local(|| assert_eq!(store.find("").expect("a list").len(), CLIENTS));
}

/// The list just after opening: nothing is in memory yet.
#[divan::bench(sample_count = 20)]
fn listing_cold(bencher: Bencher<'_, '_>) {
    bencher
        .with_inputs(|| {
            // One program at a time: the lock goes with the former one.
            book();
            open()
        })
        .bench_local_values(|store| {
            assert_eq!(store.find("").expect("a list").len(), CLIENTS);
        });
}

/// Clients by a word without its accents.
#[divan::bench(sample_count = 50, args = ["angstrom", "lukasz gross", "client4999@", "nobody"])]
fn searching(bencher: Bencher<'_, '_>, words: &str) {
    let store = open();
    bencher.bench_local(|| black_box(store.find(words).expect("a list")));
}

/// All of one client, with how well all clients repeat.
#[divan::bench(sample_count = 20)]
fn account_of_one(bencher: Bencher<'_, '_>) {
    let store = open();
    let code = store.find("client77@").expect("a list").remove(0).code;
    bencher.bench_local(|| black_box(account(&store, &code).expect("an account")));
}

/// One more visit, synced to the disk.
#[divan::bench(sample_count = 30)]
fn keeping_a_visit(bencher: Bencher<'_, '_>) {
    let store = open();
    let why = Why {
        at: Timestamp::UNIX_EPOCH,
        reason: "",
    };
    let code = store.find("client78@").expect("a list").remove(0).code;
    let first = store.sessions(&code).expect("labels").len();
    let mut n = first;
    bencher.bench_local(|| {
        n += 1;
        store
            .add_visit(&code, &visit(&format!("{n}"), date(2026, 5, 1)), why)
            .expect("kept");
    });
}
