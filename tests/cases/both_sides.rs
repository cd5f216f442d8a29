//! Rounds that alternate between the legs: each raise is found, on its side, though the other leg's rest before it is
//! long and may have its lowest point anywhere.

use sensor::synthetic::{Scenario, simulate};
use sensor::{Placement, Side};

use super::kit::analyse_alone;

#[test]
fn alternating_raises_are_all_found_on_their_sides() {
    let order = [
        Side::Right,
        Side::Left,
        Side::Left,
        Side::Right,
        Side::Left,
        Side::Right,
    ];
    let mut raises = 0;
    for seed in 1..=12 {
        let mut scenario = Scenario::slow(seed);
        scenario.sensors = vec![Placement::ShinLeft, Placement::ShinRight];
        let plan = scenario.raises[0];
        scenario.raises = order
            .iter()
            .map(|side| {
                let mut plan = plan;
                plan.side = Some(*side);
                if *side == Side::Left {
                    // The higher raises of one leg must not hide the lower ones of the other.
                    plan.top_deg *= 0.6;
                    // A leg that lies lower and lower has the lowest point of its rest at the end.
                    plan.rest_step_deg = 0.0;
                }
                plan
            })
            .collect();
        let run = simulate(&scenario).run;
        let analysis = analyse_alone(&run);
        let found: Vec<Side> = analysis.raises.iter().map(|raise| raise.side).collect();
        assert_eq!(found, order, "seed {seed}");
        raises += found.len();
    }
    assert_eq!(raises, 72);
}
