use fusion::Reason;
use sensor::{Conditions, Side};

use super::tests::good;
use super::*;
use crate::bands::Bands;
use crate::decide::{Finding, Round, decide};
use crate::repeatability::Repeatability;
use crate::rules::Rules;
use crate::summary::tests::raise;

fn finding(deg: f64, feels_tight: bool) -> Finding {
    let raises: Vec<_> = (0..3)
        .map(|_| raise(Side::Left, Some((Reason::Hold, deg))))
        .collect();
    let rules = Rules::default();
    let round = Round {
        raises: &raises,
        conditions: &Conditions::default(),
    };
    let published = Repeatability::published(&rules);
    let mut found = decide(
        &round,
        published,
        Some(feels_tight),
        &Bands::default(),
        &rules,
    );
    found.sides.remove(0)
}

fn proposed<'a>(drills: &'a [Drill], deg: f64, cautions: &[Caution]) -> Proposal<'a> {
    propose(drills, &finding(deg, true), cautions, &Bands::default())
}

fn ids(proposal: &Proposal<'_>) -> Vec<String> {
    let drills = proposal.drills.iter();
    drills.map(|found| found.drill.id.clone()).collect()
}

#[test]
fn the_drills_of_the_band_are_proposed() {
    let drills = shipped();
    assert_eq!(
        ids(&proposed(&drills, 35.0, &[])),
        [
            "calves-up-long-breath",
            "wall-held-leg-other-down",
            "hands-behind-thigh-unfold"
        ]
    );
    let near = proposed(&drills, 58.5, &[]);
    assert_eq!(near.drills.len(), 6, "both bands near an edge");
    assert_eq!(near.drills[0].band.band, 1, "its own first");
    assert_eq!(near.drills[5].band.band, 2);
    assert!(near.excluded.is_empty() && near.stopped_by.is_empty());
}

#[test]
fn a_flexible_leg_that_feels_tight_gets_control_and_strength() {
    let mut drills = shipped();
    let mut stretch = good("long-stretch");
    stretch.kind = DrillKind::Lengthen;
    (stretch.from_deg, stretch.to_deg) = (90.0, 180.0);
    drills.push(stretch);
    let found = proposed(&drills, 120.0, &[]);
    assert_eq!(found.drills.len(), 3);
    assert!(
        found
            .drills
            .iter()
            .all(|p| p.drill.kind == DrillKind::Control)
    );
    assert_eq!(found.excluded[0].because, [Exclusion::NotLength]);
    // Near the edge the hinge of the lower band is left out; its strength drills stay.
    let near = proposed(&drills, 90.5, &[]);
    assert!(!ids(&near).contains(&"staggered-hinge-with-stick".to_owned()));
    assert!(ids(&near).contains(&"one-leg-bridge-hold".to_owned()));
}

#[test]
fn cautions_leave_out_adapt_or_stop() {
    let drills = shipped();
    let found = proposed(&drills, 52.0, &[Caution::SitBonePain, Caution::Pressure]);
    assert_eq!(
        ids(&found),
        ["heel-dug-bridge-hold", "strap-held-ankle-pump"]
    );
    assert_eq!(found.drills[0].adapt[0].0, Caution::Pressure);
    assert_eq!(found.excluded[0].drill.id, "hips-to-wall-hinge");
    assert!(matches!(
        found.excluded[0].because[..],
        [Exclusion::Caution(Caution::SitBonePain, _)]
    ));
    for caution in Caution::ALL.into_iter().filter(|c| c.stops_all()) {
        let found = proposed(&drills, 52.0, &[Caution::Pressure, caution]);
        assert_eq!(found.stopped_by, [caution]);
        assert!(found.drills.is_empty() && found.excluded.is_empty());
    }
}

#[test]
fn drills_find_their_place_when_edges_move() {
    let drills = shipped();
    let bands = Bands::from_edges_deg(&[50.0, 80.0]).unwrap();
    let mut low = finding(30.0, true);
    low.named.truncate(1);
    let found = propose(&drills, &low, &[], &bands);
    // Under 50 degrees: those up to 45, not those from 45 to 60 of which a third lies there.
    assert_eq!(found.drills.len(), 3);
    low.named[0].band = 1;
    let found = propose(&drills, &low, &[], &bands);
    assert_eq!(found.drills.len(), 6);
    let whole = Bands::from_edges_deg(&[]).unwrap();
    low.named[0].band = 0;
    assert_eq!(propose(&drills, &low, &[], &whole).drills.len(), 12);
    assert!(propose(&[], &low, &[], &whole).drills.is_empty());
}
