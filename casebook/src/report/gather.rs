//! All that the casebook says of one account, worked out once: reports and exports only put it into words.

use sensor::Side;

use crate::course::{self, Course, LeftOut, Plan};
use crate::decide::{Decision, Finding, decide};
use crate::recheck::{Recheck, RecheckError, recheck};
use crate::record::{Account, Purpose, Visit};
use crate::taken::{Taken, since_drill_s};

/// One visit with all that is said of it.
#[derive(Clone, Debug, PartialEq)]
pub struct JudgedVisit<'a> {
    /// As kept.
    pub visit: &'a Visit,
    /// The raises before any drill.
    pub first: Option<Taken<'a>>,
    /// What they say.
    pub decision: Option<Decision>,
    /// The raises after the drill.
    pub again: Option<Taken<'a>>,
    /// Those against the ones before.
    pub recheck: Option<Result<Recheck, RecheckError>>,
}

impl<'a> JudgedVisit<'a> {
    fn of(account: &Account, visit: &'a Visit) -> Self {
        let first = Taken::of(visit, Purpose::First);
        let again = Taken::of(visit, Purpose::Recheck);
        let decision = first.as_ref().map(|taken| {
            decide(
                &taken.round(),
                account.repeatability,
                visit.feels_tight,
                &account.bands,
                &account.rules,
            )
        });
        let recheck = first.as_ref().zip(again.as_ref()).map(|(before, after)| {
            recheck(
                &before.round(),
                &after.round(),
                since_drill_s(visit, after),
                &account.repeatability,
                &account.rules,
            )
        });
        Self {
            visit,
            first,
            decision,
            again,
            recheck,
        }
    }

    /// What is found of one side.
    pub fn finding(&self, side: Side) -> Option<&Finding> {
        let mut sides = self.decision.as_ref()?.sides.iter();
        sides.find(|found| found.summary.side == side)
    }

    /// The recording of one side's first round.
    pub fn recording(&self, side: Side) -> Option<&'a str> {
        self.first.as_ref()?.recording(side)
    }
}

/// All that is said of one account.
#[derive(Clone, Debug, PartialEq)]
pub struct Judgement<'a> {
    /// What it is said of.
    pub account: &'a Account,
    /// In order of date.
    pub visits: Vec<JudgedVisit<'a>>,
    /// The course of each side that has one, left first.
    pub courses: Vec<(Side, Course)>,
    /// Whether only one visit was asked for.
    pub is_one_visit: bool,
}

impl<'a> Judgement<'a> {
    /// Looks at all visits, or at those up to the one that is asked for.
    pub fn of(account: &'a Account, session: Option<&str>) -> Self {
        let place =
            session.and_then(|label| account.visits.iter().position(|v| v.session == label));
        let until = match (session, place) {
            (None, _) => account.visits.len(),
            (Some(_), Some(place)) => place + 1,
            (Some(_), None) => 0,
        };
        let looked_at = account.visits.iter().take(until);
        let visits: Vec<JudgedVisit<'a>> = looked_at.map(|v| JudgedVisit::of(account, v)).collect();
        let courses = Side::ALL
            .into_iter()
            .filter_map(|side| Some((side, course(account, &visits, side)?)))
            .collect();
        Self {
            account,
            visits,
            courses,
            is_one_visit: session.is_some(),
        }
    }

    /// The latest visit with raises before a drill.
    pub fn latest(&self) -> Option<&JudgedVisit<'a>> {
        let mut visits = self.visits.iter().rev();
        visits.find(|visit| visit.decision.as_ref().is_some_and(|d| !d.sides.is_empty()))
    }

    /// The course of a side.
    pub fn course(&self, side: Side) -> Option<&Course> {
        let mut courses = self.courses.iter();
        courses
            .find(|(known, _)| *known == side)
            .map(|(_, course)| course)
    }

    /// What the client works on, for a side.
    pub fn plan(&self, side: Side) -> Option<Plan> {
        let mut plans = self.account.plans.iter();
        plans
            .find(|(known, _)| *known == side)
            .map(|(_, plan)| *plan)
    }

    /// The visit of a day that counts for a side, in the course or apart from it.
    pub fn visit_on(&self, date: jiff::civil::Date, side: Side) -> Option<&JudgedVisit<'a>> {
        let mut visits = self.visits.iter();
        visits.find(|v| v.visit.date == date && v.finding(side).is_some())
    }
}

fn course(account: &Account, visits: &[JudgedVisit<'_>], side: Side) -> Option<Course> {
    let of_side = visits.iter().filter_map(|judged| {
        let round = judged.first.as_ref()?;
        let mut visit = course::Visit::of(
            judged.visit.date,
            &round.round(),
            side,
            &account.repeatability,
            &account.rules,
        )?;
        visit.is_quiet = judged.visit.is_quiet;
        Some(visit)
    });
    let mut of_side: Vec<course::Visit> = of_side.collect();
    // More are refused; the later ones say more of today.
    let surplus = of_side.len().saturating_sub(course::VISIT_COUNT_MAX);
    of_side.drain(..surplus);
    let mut plans = account.plans.iter();
    let plan = plans
        .find(|(known, _)| *known == side)
        .map(|(_, plan)| *plan);
    let plan = plan.or_else(|| {
        let first = of_side.first()?;
        Some(Plan {
            band: account.bands.of(first.summary.mean),
            since: None,
        })
    })?;
    Course::of(
        &of_side,
        plan,
        &account.repeatability,
        &account.bands,
        &account.rules,
    )
    .ok()
}

/// Whether a visit stands apart because of how it was done, not because another came before it that day.
pub(super) fn is_done_otherwise(why: &LeftOut) -> bool {
    !matches!(why, LeftOut::SameDay)
}
