//! `legraise decide`: what the first round of a visit says.

use std::io::Write;

use casebook::drill::{Drill, Proposal, propose};
use casebook::record::{Account, Purpose, Visit};
use casebook::store::account;
use casebook::{Decision, Taken, decide, wording};
use serde_json::{Value, json};

use crate::args::DecideArgs;
use crate::book::{self, BookFault, json};
use crate::error::{CommandError, Exit};

/// Prints it.
pub(crate) fn run(
    args: &DecideArgs,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<Exit, CommandError> {
    let store = book::open(&args.file, err)?;
    let account = account(&store, &store.code_of(&args.client)?)?;
    let visit = visit(&account, args.visit.as_deref())?;
    let taken = taken(&account, visit, Purpose::First)?;
    let decision = decide(
        &taken.round(),
        account.repeatability,
        visit.feels_tight,
        &account.bands,
        &account.rules,
    );
    let drills = book::drills(&store, err)?;
    let proposals: Vec<Proposal<'_>> = decision
        .sides
        .iter()
        .map(|finding| {
            if visit.has_asked_cautions {
                propose(&drills, finding, &visit.cautions, &account.bands)
            } else {
                // Who must not is not known: nothing is proposed.
                Proposal::default()
            }
        })
        .collect();
    if args.json {
        json::write(out, &value(&account, visit, &taken, &decision, &proposals))?;
    } else {
        text(out, &account, (visit, &taken), &decision, &proposals)
            .map_err(CommandError::Output)?;
    }
    Ok(Exit::Done)
}

/// The visit that is meant: as said, or the latest.
pub(super) fn visit<'a>(
    account: &'a Account,
    said: Option<&str>,
) -> Result<&'a Visit, CommandError> {
    let code = &account.client.code;
    let found = match said {
        None => account.visits.last(),
        Some(label) => account.visits.iter().find(|visit| visit.session == label),
    };
    found.ok_or_else(|| {
        match said {
            None => BookFault::NoVisits(code.clone()),
            Some(label) => BookFault::Nothing {
                client: code.clone(),
                session: label.to_owned(),
                what: format!("no such visit; look with `legraise client show {code}`"),
            },
        }
        .into()
    })
}

/// A visit's raises for a purpose.
pub(super) fn taken<'a>(
    account: &Account,
    visit: &'a Visit,
    purpose: Purpose,
) -> Result<Taken<'a>, CommandError> {
    let taken = Taken::of(visit, purpose);
    let nothing = || BookFault::Nothing {
        client: account.client.code.clone(),
        session: visit.session.clone(),
        what: format!(
            "no round of the kind {:?} is kept; take one with `legraise visit take`",
            purpose.as_str()
        ),
    };
    Ok(taken.ok_or_else(nothing)?)
}

fn value(
    account: &Account,
    visit: &Visit,
    taken: &Taken<'_>,
    decision: &Decision,
    proposals: &[Proposal<'_>],
) -> Value {
    let side = |(finding, proposal): (&casebook::Finding, &Proposal<'_>)| {
        let mut value = json::finding(finding, &account.bands);
        let round = taken.round_of(finding.summary.side);
        value["recording"] = json!(round.map(|round| &round.recording));
        value["proposed"] = proposal
            .drills
            .iter()
            .map(|drill| {
                let adapt: Vec<_> = drill.adapt.iter().map(|(c, why)| json!({"caution": c.as_str(), "why": why})).collect();
                json!({"drill": drill.drill.id, "name": drill.drill.name, "band": drill.band.band + 1, "adapt": adapt})
            })
            .collect();
        value["left_out"] = proposal
            .excluded
            .iter()
            .map(|drill| {
                let because: Vec<_> = drill.because.iter().map(wording::exclusion).collect();
                json!({"drill": drill.drill.id, "because": because})
            })
            .collect();
        value["stopped_by"] = proposal.stopped_by.iter().map(|c| c.as_str()).collect();
        value
    };
    let difference = decision.difference.as_ref().map(|found| {
        json!({
            "left_less_right_deg": json::degrees(found.left_less_right),
            "left_less_right_uncertainty_deg": json::degrees(found.expanded),
            "is_beyond_error": found.is_beyond_error,
            "is_noted": found.is_noted,
            "words": wording::difference(found),
        })
    });
    let unsaid: Vec<_> = decision
        .unsaid
        .iter()
        .map(|c| wording::condition(*c))
        .collect();
    json!({
        "schema": "legraise/decision/1",
        "client": account.client.code,
        "visit": visit.session,
        "cautions_asked": visit.has_asked_cautions,
        "date": visit.date.to_string(),
        "repeatability": {
            "sem_deg": json::degrees(decision.repeatability.sem),
            "degrees_of_freedom": decision.repeatability.dof,
            "words": wording::repeatability(&decision.repeatability),
        },
        "sides": decision.sides.iter().zip(proposals).map(side).collect::<Vec<_>>(),
        "difference": difference,
        "unsaid": unsaid,
        "bands_are": wording::BANDS,
        "drills_are": wording::DRILLS,
        "caution": wording::ADVICE,
    })
}

fn text(
    out: &mut dyn Write,
    account: &Account,
    (visit, taken): (&Visit, &Taken<'_>),
    decision: &Decision,
    proposals: &[Proposal<'_>],
) -> std::io::Result<()> {
    writeln!(
        out,
        "{}  visit {}  {}  {}",
        account.client.code,
        visit.session,
        visit.date,
        recordings(taken)
    )?;
    if decision.sides.is_empty() {
        writeln!(
            out,
            "no raise with an end point that counts: nothing to decide on"
        )?;
    }
    if !visit.has_asked_cautions {
        writeln!(out, "no drill is proposed: the cautions were not asked")?;
    }
    for (finding, proposal) in decision.sides.iter().zip(proposals) {
        writeln!(out, "{}", wording::mean(&finding.summary))?;
        writeln!(
            out,
            "  band {}",
            wording::bands(&finding.named, &account.bands)
        )?;
        for note in &finding.notes {
            writeln!(out, "  {}", wording::note(note))?;
        }
        write_proposal(out, proposal)?;
    }
    if let Some(difference) = &decision.difference {
        writeln!(out, "{}", wording::difference(difference))?;
    }
    for condition in &decision.unsaid {
        writeln!(out, "nobody said {}", wording::condition(*condition))?;
    }
    writeln!(out, "{}", wording::repeatability(&decision.repeatability))?;
    writeln!(
        out,
        "{}\n{}\n{}",
        wording::BANDS,
        wording::DRILLS,
        wording::ADVICE
    )
}

/// Where the raises come from, each run once.
pub(super) fn recordings(taken: &Taken<'_>) -> String {
    let mut names: Vec<&str> = taken
        .rounds
        .iter()
        .map(|(_, round)| round.recording.as_str())
        .collect();
    names.dedup();
    names.join(", ")
}

fn write_proposal(out: &mut dyn Write, proposal: &Proposal<'_>) -> std::io::Result<()> {
    for caution in &proposal.stopped_by {
        writeln!(out, "  no drill: {}", wording::caution(*caution))?;
    }
    let named = |drill: &Drill| format!("{} ({})", drill.name, drill.id);
    for found in &proposal.drills {
        writeln!(
            out,
            "  drill: {}; {}",
            named(found.drill),
            wording::dose(&found.drill.dose)
        )?;
        for (_, why) in &found.adapt {
            writeln!(out, "    adapt: {why}")?;
        }
    }
    for found in &proposal.excluded {
        let because: Vec<String> = found.because.iter().map(wording::exclusion).collect();
        writeln!(
            out,
            "  left out: {}; {}",
            named(found.drill),
            because.join("; ")
        )?;
    }
    Ok(())
}
