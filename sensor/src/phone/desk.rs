//! Who may come, with which token, and what each guest has sent so far.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use tokio::sync::{broadcast, mpsc, watch};

use super::beat::Beat;
use super::guest::{Arrived, Guest};
use super::hex;
use super::message::Hello;
use crate::live::Begin;
use crate::{Placement, Side};

/// Messages of a phone that may wait for their source: a minute of them.
const WAITING_MAX: usize = 2048;
/// No more guests are expected at a time.
const GUESTS_MAX: usize = 16;
/// Version of the language that pages speak.
const LANGUAGE: u8 = 1;

/// What a page is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// A phone strapped to the body.
    Sensor(Placement),
    /// The button in the client's hand; for one leg or for the one that is up.
    Marker(Option<Side>),
    /// The picture that paces a drill, for the client to look at.
    Pacer,
}

impl Role {
    /// The page it has.
    pub(super) const fn path(self) -> &'static str {
        match self {
            Self::Sensor(_) => "/",
            Self::Marker(_) => "/m",
            Self::Pacer => "/p",
        }
    }

    /// The word of the page.
    const fn word(self) -> &'static str {
        match self {
            Self::Sensor(_) => "shin",
            Self::Marker(_) => "marker",
            Self::Pacer => "pacer",
        }
    }

    /// What people call it.
    pub(super) fn name(self) -> String {
        match self {
            Self::Sensor(Placement::ShinLeft) => "Left shin".to_owned(),
            Self::Sensor(Placement::ShinRight) => "Right shin".to_owned(),
            Self::Sensor(Placement::ThighLeft) => "Left thigh".to_owned(),
            Self::Sensor(Placement::ThighRight) => "Right thigh".to_owned(),
            Self::Sensor(Placement::Pelvis) => "Pelvis".to_owned(),
            Self::Marker(Some(side)) => format!("Hand marker, {side} leg"),
            Self::Marker(None) => "Hand marker".to_owned(),
            Self::Pacer => "Pacer".to_owned(),
        }
    }
}

/// What is told to pages.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cue {
    /// Stop the raise.
    Stop,
    /// The run has ended.
    End,
}

impl Cue {
    pub(super) const fn as_str(self) -> &'static str {
        match self {
            Self::Stop => "stop",
            Self::End => "end",
        }
    }
}

/// A guest as the tasks of its connections share it.
pub(super) type Shared = Arc<Mutex<Guest>>;

/// All guests.
pub(super) struct Desk {
    guests: Mutex<Vec<Shared>>,
    /// Where marks go, once a run has begun.
    marks: Mutex<Option<Begin>>,
    pub(super) cues: broadcast::Sender<Cue>,
    /// What the pacer shows.
    pub(super) beats: watch::Sender<Option<Beat>>,
    /// Whose pages have come so far.
    pub(super) met: watch::Sender<Vec<Role>>,
}

/// A lock that a failed thread has left is as good as any: each change is whole.
pub(super) fn held<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Desk {
    pub(super) fn new() -> Self {
        Self {
            guests: Mutex::default(),
            marks: Mutex::default(),
            cues: broadcast::Sender::new(16),
            beats: watch::Sender::new(None),
            met: watch::Sender::default(),
        }
    }

    /// A new token for a role; the former one is void. `None` where too many are expected already.
    pub(super) fn invite(&self, role: Role) -> Option<String> {
        let token = secret();
        let mut guests = held(&self.guests);
        if let Some(guest) = guests.iter().find(|g| held(g).role == role) {
            held(guest).token = Some(token.clone());
            return Some(token);
        }
        if GUESTS_MAX <= guests.len() {
            return None;
        }
        let (sender, receiver) = mpsc::channel(WAITING_MAX);
        guests.push(Arc::new(Mutex::new(Guest::new(
            role,
            token.clone(),
            sender,
            receiver,
            self.cues.subscribe(),
        ))));
        Some(token)
    }

    /// What comes from a phone; once.
    pub(super) fn arrivals(&self, role: Role) -> Option<mpsc::Receiver<Arrived>> {
        let guests = held(&self.guests);
        let guest = guests.iter().find(|g| held(g).role == role)?;
        held(guest).receiver.take()
    }

    /// Lets a page in, by its token or its key, and gives it its key.
    pub(super) fn admit(&self, hello: &Hello) -> Option<(Shared, String)> {
        if hello.version != LANGUAGE || !hello.o.is_finite() {
            return None;
        }
        let guests = held(&self.guests);
        for guest in guests.iter() {
            let mut it = held(guest);
            if it.role.word() != hello.role {
                continue;
            }
            if is_same(hello.t.as_deref(), it.token.as_deref()) {
                // Used once, on one phone: whoever had the former key is out.
                it.token = None;
                it.key = Some(secret());
            } else if !is_same(hello.r.as_deref(), it.key.as_deref()) {
                continue;
            }
            it.arrive(hello.o);
            self.met.send_modify(|met| {
                met.retain(|role| *role != it.role);
                met.push(it.role);
            });
            let key = it.key.clone()?;
            return Some((Arc::clone(guest), key));
        }
        None
    }

    /// The guest with this key.
    pub(super) fn known(&self, key: &str) -> Option<Shared> {
        let guests = held(&self.guests);
        let mut found = guests
            .iter()
            .filter(|g| is_same(Some(key), held(g).key.as_deref()));
        found.next().map(Arc::clone)
    }

    /// From now on marks are events of this run.
    pub(super) fn begin_marks(&self, begin: Begin) {
        *held(&self.marks) = Some(begin);
    }

    /// Where marks go.
    pub(super) fn marks(&self) -> Option<Begin> {
        held(&self.marks).clone()
    }
}

/// 128 bits of chance, in hex.
fn secret() -> String {
    use ring::rand::SecureRandom as _;
    let mut bytes = [0_u8; 16];
    let random = ring::rand::SystemRandom::new();
    // Without chance nobody may come in: no page will have this token.
    if random.fill(&mut bytes).is_err() {
        return String::new();
    }
    hex(&bytes)
}

/// Whether a secret is the one that is known; how much of it is right can't be told from the time it takes.
fn is_same(given: Option<&str>, known: Option<&str>) -> bool {
    let (Some(given), Some(known)) = (given, known) else {
        return false;
    };
    if known.is_empty() || given.len() != known.len() {
        return false;
    }
    let differ = given
        .bytes()
        .zip(known.bytes())
        .fold(0, |sum, (a, b)| sum | (a ^ b));
    differ == 0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hello(role: &str, t: Option<&str>, r: Option<&str>) -> Hello {
        Hello {
            version: 1,
            t: t.map(str::to_owned),
            r: r.map(str::to_owned),
            role: role.to_owned(),
            o: 1000.0,
        }
    }

    #[test]
    fn a_token_is_for_one_page_of_one_role() {
        let desk = Desk::new();
        let token = desk.invite(Role::Sensor(Placement::ShinLeft)).unwrap();
        assert_eq!(token.len(), 32);
        assert!(desk.admit(&hello("marker", Some(&token), None)).is_none());
        assert!(desk.admit(&hello("shin", Some(""), None)).is_none());
        let (_, key) = desk.admit(&hello("shin", Some(&token), None)).unwrap();
        assert!(
            desk.admit(&hello("shin", Some(&token), None)).is_none(),
            "used"
        );
        assert!(
            desk.admit(&hello("shin", None, Some(&key))).is_some(),
            "back"
        );
        assert!(desk.known(&key).is_some() && desk.known("").is_none());
        // A new code for the same role: the old key is out once it is used.
        let again = desk.invite(Role::Sensor(Placement::ShinLeft)).unwrap();
        assert!(desk.admit(&hello("shin", Some(&again), None)).is_some());
        assert!(desk.admit(&hello("shin", None, Some(&key))).is_none());
        assert!(desk.arrivals(Role::Sensor(Placement::ShinLeft)).is_some());
        assert!(desk.arrivals(Role::Sensor(Placement::ShinRight)).is_none());
    }

    #[test]
    fn no_two_secrets_are_the_same() {
        let (a, b) = (secret(), secret());
        assert!(a != b && a.bytes().all(|c| c.is_ascii_hexdigit()));
        assert!(
            is_same(Some(&a), Some(&a)) && !is_same(Some(&a), Some(&b)) && !is_same(None, None)
        );
    }
}
