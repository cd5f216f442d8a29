//! What the tests of the store share: a casebook in a folder of its own, and invented content.

use std::path::PathBuf;

use fusion::{Angle, Budget, EndPoint, Hold, Moment, Raise, Reason, Source};
use jiff::Timestamp;
use jiff::civil::{Date, date};
use sensor::{Conditions, Side};
use tempfile::TempDir;

use super::{Passphrase, Store, Why};
use crate::record::{Client, Consent, DrillDone, KeptRound, Method, Purpose, Visit};

pub(super) const PASSPHRASE: &str = "three small words";

/// A casebook, and the folder it goes with.
pub(super) struct Book {
    pub(super) folder: TempDir,
    pub(super) store: Store,
}

impl Book {
    pub(super) fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("book").join("casebook.db");
        let store = Store::create(&path, &passphrase()).expect("made");
        Self { folder, store }
    }

    pub(super) fn path(&self) -> PathBuf {
        self.store.path().to_owned()
    }

    /// Closes it and opens it again.
    pub(super) fn reopened(self) -> Self {
        let path = self.path();
        drop(self.store);
        Self {
            store: Store::open(&path, &passphrase()).expect("opened"),
            folder: self.folder,
        }
    }
}

pub(super) fn passphrase() -> Passphrase {
    Passphrase::new(PASSPHRASE)
}

pub(super) fn why(reason: &str) -> Why<'_> {
    Why {
        at: Timestamp::from_second(1_772_445_600).expect("a time"),
        reason,
    }
}

pub(super) fn client(code: &str, name: &str) -> Client {
    Client {
        code: code.to_owned(),
        name: name.to_owned(),
        contact: format!("{code}@example.org"),
        birth_year: Some(1980),
        notes: String::new(),
        consent: Some(Consent {
            given: date(2026, 1, 5),
            text_version: "2026-1".to_owned(),
            withdrawn: None,
        }),
    }
}

pub(super) fn visit(session: &str, date: Date) -> Visit {
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

pub(super) fn raise(side: Side, deg: f64) -> Raise {
    let angle = || {
        Budget::default()
            .with(Source::Sensor, Angle::from_degrees(0.3))
            .with_dof(Source::Noise, Angle::from_degrees(0.1), 8.0)
            .measured(Angle::from_degrees(deg))
    };
    Raise {
        side,
        start_s: deg,
        end_s: deg + 7.0,
        peak: Some(Moment {
            time_s: deg + 3.0,
            angle: angle(),
        }),
        hold: Some(Hold {
            start_s: deg + 3.0,
            end_s: deg + 4.0,
            angle: angle(),
        }),
        end_point: Some(EndPoint {
            reason: Reason::Pull,
            time_s: deg + 2.9,
            pressed_s: Some(deg + 3.15),
            angle: angle(),
        }),
        compensations: Vec::new(),
        pelvis_share: Some(0.2),
        rate_max_rad_s: 0.3,
        flags: Vec::new(),
    }
}

pub(super) fn round(code: &str, session: &str, run: &str, degrees: &[f64]) -> KeptRound {
    let raises = degrees.iter().enumerate().map(|(at, deg)| {
        let side = if at % 2 == 0 { Side::Left } else { Side::Right };
        raise(side, *deg)
    });
    KeptRound {
        recording: format!("sub-{code}/ses-{session}/run-{run}"),
        purpose: Purpose::First,
        began: Some(date(2026, 1, 5).at(9, 30, 0, 0)),
        conditions: Conditions {
            movement: Some("active".to_owned()),
            ankle: Some("relaxed".to_owned()),
            asked_for: Some("first pull".to_owned()),
            rater: Some("R1".to_owned()),
        },
        sensors: vec!["shinleft".to_owned(), "shinright".to_owned()],
        is_calibrated: true,
        method: Method {
            version: 1,
            program: "legraise 0.1.0".to_owned(),
            settings: "0123456789abcdef".to_owned(),
        },
        raises: raises.collect(),
        set_aside: Vec::new(),
    }
}

pub(super) fn drill() -> DrillDone {
    DrillDone {
        key: "heel-dug-bridge-hold".to_owned(),
        name: "Bridge".to_owned(),
        ended: Some(date(2026, 1, 5).at(9, 50, 0, 0)),
        notes: "two sets".to_owned(),
    }
}

/// A client with one visit, one round and one drill.
pub(super) fn fill(store: &Store, code: &str, name: &str) {
    store
        .add_client(&client(code, name), why(""))
        .expect("added");
    store
        .add_visit(code, &visit("01", date(2026, 1, 5)), why(""))
        .expect("added");
    let kept = round(code, "01", "01", &[51.0, 55.5, 52.25, 56.0, 50.5, 57.125]);
    assert!(store.keep_round(code, "01", &kept, why("")).expect("kept"));
    store
        .set_drill(code, "01", &drill(), why(""))
        .expect("noted");
}
