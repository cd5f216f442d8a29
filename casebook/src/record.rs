//! What is kept of a client: plain values without files or clocks. The store writes them; reports, exports and screens
//! read them.

use fusion::Raise;
use jiff::civil::{Date, DateTime};
use sensor::{Conditions, Side};

use crate::bands::Bands;
use crate::caution::Caution;
use crate::course::Plan;
use crate::repeatability::Repeatability;
use crate::rules::Rules;

/// Who a client is. Only the casebook knows; recordings know the code alone.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Client {
    /// The label after `sub-`: six random letters, never initials.
    pub code: String,
    /// As the client wants to be called.
    pub name: String,
    /// Telephone, mail or address, as one text; may be empty.
    pub contact: String,
    /// Year of birth.
    pub birth_year: Option<i16>,
    /// Free text; may be empty.
    pub notes: String,
    /// Consent or other legal basis; nothing is recorded before it.
    pub consent: Option<Consent>,
}

/// Consent to being recorded, or another legal basis.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Consent {
    /// When.
    pub given: Date,
    /// To which version of the text.
    pub text_version: String,
    /// Taken back on this day: no more recordings.
    pub withdrawn: Option<Date>,
}

/// One visit.
#[derive(Clone, Debug, PartialEq)]
pub struct Visit {
    /// The label after `ses-`.
    pub session: String,
    /// The day.
    pub date: Date,
    /// Whether the cautions were asked; without that, nothing is measured.
    pub has_asked_cautions: bool,
    /// Cautions answered with yes.
    pub cautions: Vec<Caution>,
    /// Whether the legs feel tight, in the client's own word; `None` where nobody asked.
    pub feels_tight: Option<bool>,
    /// Whether other signs (pain, tingling, sleep) are quiet; `None` where nobody asked.
    pub is_quiet: Option<bool>,
    /// Pain, 0 to 10.
    pub pain: Option<u8>,
    /// Where the pull was felt; may be empty.
    pub pull_felt: String,
    /// Warm-up before the first round; may be empty.
    pub warm_up: String,
    /// Free text; may be empty.
    pub notes: String,
    /// In order of time.
    pub rounds: Vec<KeptRound>,
    /// What was practised between the first round and the re-check.
    pub drill: Option<DrillDone>,
}

/// What a round was for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Purpose {
    /// Before any drill: what bands, means and the course use.
    First,
    /// Right after the drill.
    Recheck,
    /// Any other.
    Further,
}

/// One round: a run on disk, and its results as they were worked out from it.
#[derive(Clone, Debug, PartialEq)]
pub struct KeptRound {
    /// The run, as in the analysis: `sub-…/ses-…/run-…`.
    pub recording: String,
    /// What for.
    pub purpose: Purpose,
    /// When it began.
    pub began: Option<DateTime>,
    /// How the raises were done, and who measured.
    pub conditions: Conditions,
    /// Placements recorded, as in file names.
    pub sensors: Vec<String>,
    /// Whether a flat recording of the visit calibrated the raised shin's sensor.
    pub is_calibrated: bool,
    /// What worked the results out.
    pub method: Method,
    /// All raises of the run, in order of time.
    pub raises: Vec<Raise>,
    /// Raises a person set aside, by their place in `raises`, and why: they stay kept and out of means.
    pub set_aside: Vec<(usize, String)>,
}

/// What worked results out: the same method from the same recording gives the same numbers.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Method {
    /// Of the analysis.
    pub version: u32,
    /// Name and version of the program.
    pub program: String,
    /// Fingerprint of the settings.
    pub settings: String,
}

/// A drill as practised at a visit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DrillDone {
    /// The drill's file name without its ending.
    pub key: String,
    /// Its name in words, as it was then.
    pub name: String,
    /// When it ended; the re-check should begin within three minutes.
    pub ended: Option<DateTime>,
    /// Sets done, effort, remarks; may be empty.
    pub notes: String,
}

/// Everything that a report or a screen says of one client is worked out from this.
#[derive(Clone, Debug, PartialEq)]
pub struct Account {
    /// Who.
    pub client: Client,
    /// In order of date.
    pub visits: Vec<Visit>,
    /// What the client works on now, for each side.
    pub plans: Vec<(Side, Plan)>,
    /// The practitioner's bands.
    pub bands: Bands,
    /// The practitioner's rules.
    pub rules: Rules,
    /// How well people repeat, and where that comes from.
    pub repeatability: Repeatability,
}

impl KeptRound {
    /// The raises that count: those nobody set aside.
    pub fn counted(&self) -> Vec<Raise> {
        let is_aside = |at: usize| self.set_aside.iter().any(|(aside, _)| *aside == at);
        let counted = self.raises.iter().enumerate();
        counted
            .filter(|(at, _)| !is_aside(*at))
            .map(|(_, raise)| raise.clone())
            .collect()
    }
}
