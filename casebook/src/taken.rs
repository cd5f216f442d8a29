//! Which raises of a visit are looked at together. A round is often two runs, one of each leg.

use fusion::{Raise, Reason};
use sensor::{Conditions, Side};

use crate::decide::Round;
use crate::record::{KeptRound, Purpose, Visit};
use crate::way::Comparison;

/// Raises that are looked at together: of each side those of its first run of this purpose.
#[derive(Clone, Debug, PartialEq)]
pub struct Taken<'a> {
    /// In order of the runs; those that a person set aside are left out.
    pub raises: Vec<Raise>,
    /// How they were done.
    pub conditions: &'a Conditions,
    /// Where each side's raises come from.
    pub rounds: Vec<(Side, &'a KeptRound)>,
}

impl<'a> Taken<'a> {
    /// From the runs of one purpose. A further run only adds a side that those before it lack, done the same way by the
    /// same person.
    pub fn of(visit: &'a Visit, purpose: Purpose) -> Option<Self> {
        let mut rounds = visit.rounds.iter().filter(|r| r.purpose == purpose);
        let first = rounds.next()?;
        let mut taken = Self {
            raises: Vec::new(),
            conditions: &first.conditions,
            rounds: Vec::new(),
        };
        taken.add(first);
        for round in rounds {
            let alike = Comparison::of(&first.conditions, &round.conditions);
            if alike.is_same_way() && alike.is_other_rater != Some(true) {
                taken.add(round);
            }
        }
        Some(taken)
    }

    fn add(&mut self, round: &'a KeptRound) {
        let counted = round.counted();
        let is_new = |side: &Side| {
            let is_known = self.rounds.iter().any(|(known, _)| known == side);
            !is_known && counted.iter().any(|raise| raise.side == *side)
        };
        let new: Vec<Side> = Side::ALL.into_iter().filter(is_new).collect();
        // Both legs of one run stay in their order: it matters for a re-check.
        let more = counted
            .into_iter()
            .filter(|raise| new.contains(&raise.side));
        self.raises.extend(more);
        self.rounds
            .extend(new.into_iter().map(|side| (side, round)));
    }

    /// As what is decided on.
    pub fn round(&self) -> Round<'_> {
        Round {
            raises: &self.raises,
            conditions: self.conditions,
        }
    }

    /// The raises of a side that are in its mean.
    pub fn in_mean(&self, side: Side) -> impl Iterator<Item = &Raise> {
        self.raises.iter().filter(move |raise| {
            let end = raise.end_point.as_ref();
            let is_ended = end.is_some_and(|end| end.reason != Reason::Stop);
            raise.side == side && raise.is_leg_raise() && is_ended
        })
    }

    /// The recording that a side's raises come from.
    pub fn recording(&self, side: Side) -> Option<&'a str> {
        self.round_of(side).map(|round| round.recording.as_str())
    }

    /// Where a side's raises come from.
    pub fn round_of(&self, side: Side) -> Option<&'a KeptRound> {
        let mut rounds = self.rounds.iter();
        rounds
            .find(|(known, _)| *known == side)
            .map(|(_, round)| *round)
    }
}

/// From the end of a visit's drill to the first raise of the runs after it, s.
pub fn since_drill_s(visit: &Visit, after: &Taken<'_>) -> Option<f64> {
    let ended = visit.drill.as_ref()?.ended?;
    let times = after.rounds.iter().filter_map(|(side, round)| {
        let into = round.raises.iter().find(|raise| raise.side == *side)?;
        Some(round.began?.duration_since(ended).as_secs_f64() + into.start_s)
    });
    times.min_by(f64::total_cmp)
}

/// What a new run of a visit is most likely for: the first of a side before a drill, the first of a side after it, or
/// another.
pub fn usual_purpose(visit: &Visit, raises: &[Raise]) -> Purpose {
    let adds = |purpose: Purpose| match Taken::of(visit, purpose) {
        None => true,
        Some(taken) => raises
            .iter()
            .any(|raise| taken.round_of(raise.side).is_none()),
    };
    let has_first = visit.rounds.iter().any(|r| r.purpose == Purpose::First);
    match (has_first, visit.drill.is_some()) {
        (false, _) => Purpose::First,
        (true, false) if adds(Purpose::First) => Purpose::First,
        (true, true) if adds(Purpose::Recheck) => Purpose::Recheck,
        _ => Purpose::Further,
    }
}

#[cfg(test)]
mod tests {
    use fusion::Reason;
    use jiff::civil::date;

    use super::*;
    use crate::record::{DrillDone, Method};
    use crate::summary::tests::raise;

    fn visit() -> Visit {
        Visit {
            session: "01".to_owned(),
            date: date(2026, 3, 2),
            has_asked_cautions: true,
            cautions: Vec::new(),
            feels_tight: None,
            is_quiet: None,
            pain: None,
            pull_felt: String::new(),
            warm_up: String::new(),
            notes: String::new(),
            rounds: Vec::new(),
            drill: None,
        }
    }

    fn add(visit: &mut Visit, run: &str, side: Side, minute: i8) -> Purpose {
        let raises = vec![
            raise(side, Some((Reason::Hold, 50.0))),
            raise(side, Some((Reason::Hold, 52.0))),
        ];
        let purpose = usual_purpose(visit, &raises);
        visit.rounds.push(KeptRound {
            recording: format!("sub-x/ses-01/run-{run}"),
            purpose,
            began: Some(date(2026, 3, 2).at(9, minute, 0, 0)),
            conditions: Conditions::default(),
            sensors: Vec::new(),
            is_calibrated: true,
            method: Method::default(),
            raises,
            set_aside: Vec::new(),
        });
        purpose
    }

    #[test]
    fn a_run_of_each_leg_is_one_round() {
        let mut visit = visit();
        assert_eq!(add(&mut visit, "01", Side::Right, 0), Purpose::First);
        assert_eq!(add(&mut visit, "02", Side::Left, 2), Purpose::First);
        assert_eq!(add(&mut visit, "03", Side::Right, 4), Purpose::Further);
        visit.drill = Some(DrillDone {
            key: "x".to_owned(),
            name: "X".to_owned(),
            ended: Some(date(2026, 3, 2).at(9, 30, 0, 0)),
            notes: String::new(),
        });
        assert_eq!(add(&mut visit, "04", Side::Left, 32), Purpose::Recheck);
        assert_eq!(add(&mut visit, "05", Side::Right, 31), Purpose::Recheck);
        assert_eq!(add(&mut visit, "06", Side::Right, 40), Purpose::Further);
        let first = Taken::of(&visit, Purpose::First).unwrap();
        let of = |taken: &Taken<'_>, side| taken.round_of(side).unwrap().recording.clone();
        assert_eq!(of(&first, Side::Right), "sub-x/ses-01/run-01");
        assert_eq!(of(&first, Side::Left), "sub-x/ses-01/run-02");
        assert_eq!(first.raises.len(), 4);
        let again = Taken::of(&visit, Purpose::Recheck).unwrap();
        let start_s = again.raises[0].start_s;
        assert_eq!(since_drill_s(&visit, &again), Some(60.0 + start_s));
    }

    #[test]
    fn what_was_done_otherwise_or_set_aside_stays_out() {
        let mut visit = visit();
        add(&mut visit, "01", Side::Right, 0);
        add(&mut visit, "02", Side::Left, 2);
        visit.rounds[1].conditions.ankle = Some("pointed".to_owned());
        visit.rounds[0].set_aside = vec![(1, "coughed".to_owned())];
        let first = Taken::of(&visit, Purpose::First).unwrap();
        assert_eq!(first.raises.len(), 1);
        assert!(first.round_of(Side::Left).is_none());
        assert!(Taken::of(&visit, Purpose::Recheck).is_none());
    }
}
