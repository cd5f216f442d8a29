//! `legraise course`: how a client's legs went over the visits.

use std::io::Write;

use casebook::course::{Course, Direction, Plan, Step, Trend, VISIT_COUNT_MAX, Visit};
use casebook::record::{Account, KeptRound, Purpose};
use casebook::store::account;
use casebook::{Taken, named_bands, wording};
use sensor::Side;
use serde_json::{Value, json};

use crate::args::CourseArgs;
use crate::book::{self, BookFault, json};
use crate::error::{CommandError, Exit};

/// One side, with the recordings that its visits come from.
struct SideCourse<'a> {
    side: Side,
    plan: Option<Plan>,
    course: Course,
    rounds: Vec<(Visit, &'a str, &'a KeptRound)>,
}

/// Prints both sides.
pub(crate) fn run(
    args: &CourseArgs,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<Exit, CommandError> {
    let store = book::open(&args.file, err)?;
    let account = account(&store, &store.code_of(&args.client)?)?;
    let code = &account.client.code;
    let mut sides = Vec::new();
    for side in Side::ALL {
        sides.extend(of_side(&account, side)?);
    }
    if sides.is_empty() {
        return Err(BookFault::Nothing {
            client: code.clone(),
            session: "any".to_owned(),
            what: "no first round with an end point is kept; take one with `legraise visit take`"
                .to_owned(),
        }
        .into());
    }
    if args.json {
        let sides: Vec<Value> = sides.iter().map(|side| value(side, &account)).collect();
        let object = json!({
            "schema": "legraise/course/1",
            "client": code,
            "repeatability": wording::repeatability(&account.repeatability),
            "sides": sides,
            "bands_are": wording::BANDS,
            "caution": wording::ADVICE,
        });
        json::write(out, &object)?;
    } else {
        for side in &sides {
            text(out, side, &account).map_err(CommandError::Output)?;
        }
        writeln!(out, "{}\n{}", wording::BANDS, wording::ADVICE).map_err(CommandError::Output)?;
    }
    Ok(Exit::Done)
}

fn of_side(account: &Account, side: Side) -> Result<Option<SideCourse<'_>>, CommandError> {
    let mut rounds = Vec::new();
    for visit in &account.visits {
        // Before any drill: a drill may lie before the others.
        let Some(taken) = Taken::of(visit, Purpose::First) else {
            continue;
        };
        let Some(round) = taken.round_of(side) else {
            continue;
        };
        let point = Visit::of(
            visit.date,
            &taken.round(),
            side,
            &account.repeatability,
            &account.rules,
        );
        if let Some(mut point) = point {
            point.is_quiet = visit.is_quiet;
            rounds.push((point, visit.session.as_str(), round));
        }
    }
    // More are refused; the later ones say more of today.
    let surplus = rounds.len().saturating_sub(VISIT_COUNT_MAX);
    rounds.drain(..surplus);
    let Some((first, ..)) = rounds.first() else {
        return Ok(None);
    };
    let plans = account.plans.iter().find(|(of, _)| *of == side);
    let plan = plans.map(|(_, plan)| *plan);
    // Without a plan the rules look from the band that the client began in.
    let from = plan.unwrap_or(Plan {
        band: account.bands.of(first.summary.mean),
        since: None,
    });
    let points: Vec<Visit> = rounds.iter().map(|(point, ..)| point.clone()).collect();
    let course = Course::of(
        &points,
        from,
        &account.repeatability,
        &account.bands,
        &account.rules,
    );
    let course = course.map_err(|e| BookFault::Nothing {
        client: account.client.code.clone(),
        session: "any".to_owned(),
        what: e.to_string(),
    })?;
    Ok(Some(SideCourse {
        side,
        plan,
        course,
        rounds,
    }))
}

impl SideCourse<'_> {
    /// The visit's label and round that a point comes from.
    fn source(&self, point: &Visit) -> Option<(&str, &KeptRound)> {
        let mut rounds = self.rounds.iter();
        let found = rounds.find(|(of, ..)| of == point);
        found.map(|(_, session, round)| (*session, *round))
    }
}

fn value(side: &SideCourse<'_>, account: &Account) -> Value {
    let course = &side.course;
    let point = |point: &Visit| {
        let mut value = json::summary(&point.summary);
        let source = side.source(point);
        value["date"] = json!(point.date.to_string());
        value["visit"] = json!(source.map(|(session, _)| session));
        value["recording"] = json!(source.map(|(_, round)| &round.recording));
        value["bands"] =
            json::chances(&named_bands(&point.summary, &account.bands), &account.bands);
        value
    };
    let left_out = |(visit, why): &(Visit, casebook::course::LeftOut)| {
        let mut value = point(visit);
        value["why"] = json!(wording::left_out(why));
        value
    };
    let (step, to) = match course.advice.step {
        Step::Stay => ("stay", None),
        Step::MoveOn { to } => ("move-on", Some(to + 1)),
        Step::Return { to } => ("return", Some(to + 1)),
    };
    json!({
        "side": side.side.as_str(),
        "plan": side.plan.map(|plan| json!({
            "band": plan.band + 1,
            "since": plan.since.map(|date| date.to_string()),
        })),
        "visits": course.visits.iter().map(point).collect::<Vec<_>>(),
        "left_out": course.left_out.iter().map(left_out).collect::<Vec<_>>(),
        "error_band_deg": [json::degrees(course.error_band.0), json::degrees(course.error_band.1)],
        "change": course.change.as_ref().map(json::change),
        "trend": course.trend.as_ref().map(trend),
        "proposal": {
            "step": step,
            "to_band": to,
            "words": wording::advice(&course.advice, &account.bands),
        },
        "next_visit": course.next_visit.to_string(),
    })
}

fn trend(found: &Trend) -> Value {
    let direction = match found.direction {
        Direction::Up => "up",
        Direction::Down => "down",
        Direction::Unclear => "unclear",
    };
    let (low, high) = found.robust_interval;
    json!({
        "direction": direction,
        "per_week_deg": json::degrees(found.per_week),
        "per_week_uncertainty_deg": json::degrees(found.expanded_per_week),
        "gain_deg": json::degrees(found.gain),
        "limit_deg": json::degrees(found.limit),
        "robust_per_week_deg": json::degrees(found.robust_per_week),
        "robust_interval_deg": [json::degrees(low), json::degrees(high)],
        "robust_coverage": json::number(found.robust_coverage),
        "chi_square": json::number(found.chi_square),
        "is_rough": found.is_rough,
        "words": wording::trend(found),
    })
}

fn text(out: &mut dyn Write, side: &SideCourse<'_>, account: &Account) -> std::io::Result<()> {
    let course = &side.course;
    let plan = side.plan.map_or_else(
        || "no plan set".to_owned(),
        |plan| format!("drills for {}", account.bands.label(plan.band)),
    );
    writeln!(out, "{} ({plan})", side.side)?;
    for point in &course.visits {
        writeln!(
            out,
            "  {}  {:.1} ± {:.1}  {}",
            point.date,
            point.summary.mean,
            point.summary.expanded,
            wording::bands(&named_bands(&point.summary, &account.bands), &account.bands)
        )?;
    }
    for (point, why) in &course.left_out {
        writeln!(
            out,
            "  {}  {:.1} ± {:.1}, apart: {}",
            point.date,
            point.summary.mean,
            point.summary.expanded,
            wording::left_out(why)
        )?;
    }
    if let Some(change) = &course.change {
        writeln!(out, "  since the first visit: {}", wording::change(change))?;
    }
    match &course.trend {
        Some(trend) => writeln!(out, "  {}", wording::trend(trend))?,
        None => writeln!(out, "  too few visits for a line")?,
    }
    for sentence in wording::advice(&course.advice, &account.bands) {
        writeln!(out, "  {sentence}")?;
    }
    writeln!(out, "  {}", wording::next_visit(course.next_visit))
}
