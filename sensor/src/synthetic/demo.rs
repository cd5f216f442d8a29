//! The plan of the demo data set: four invented people over some weeks.

use crate::{Conditions, Placement, RecordingId, Side};

use super::faults::Fault;
use super::flat::{FlatPlan, simulate_flat};
use super::makers;
use super::random::Random;
use super::scenario::{CompensationKind, CompensationPlan, RaisePlan, Scenario};
use super::unit::{Unit, UnitGrade};
use super::{Simulated, simulate};
use crate::Face;

/// An invented person, as the list of participants shows them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DemoPerson {
    /// The pseudonym, without `sub-`.
    pub label: String,
    /// Years.
    pub age_years: u32,
    /// `F` or `M`.
    pub sex: &'static str,
    /// Stature, cm.
    pub height_cm: u32,
}

/// One visit of one person.
#[derive(Clone, Debug)]
pub struct DemoVisit {
    /// The pseudonym, without `sub-`.
    pub subject: String,
    /// The visit's label, without `ses-`.
    pub session: String,
    /// When it began.
    pub acquired: String,
    /// The raises, in order of recording, with what is true about them.
    pub raises: Vec<Simulated>,
    /// The flat recording, if one was made.
    pub flat: Option<crate::Run>,
}

/// The whole demo.
#[derive(Clone, Debug)]
pub struct Demo {
    /// Who.
    pub people: Vec<DemoPerson>,
    /// In order of people and dates.
    pub visits: Vec<DemoVisit>,
}

/// What one person is like.
struct Person {
    label: &'static str,
    age_years: u32,
    sex: &'static str,
    height_cm: u32,
    seed: u64,
    /// Where a pull is felt, as a share of the top; nowhere if `None`.
    pull_share: Option<f64>,
    compensation: Option<CompensationPlan>,
    extra_sensor: Option<fn(Side) -> Placement>,
    visits: &'static [Visit],
}

/// What one visit is like.
struct Visit {
    date: &'static str,
    /// Tops of the right and the left leg, degrees.
    top_deg: [f64; 2],
    /// By how much the drill shifts them, if it was checked at once.
    recheck_deg: Option<f64>,
    faces: usize,
    brisk: bool,
    trouble: Trouble,
}

#[derive(Clone, Copy, PartialEq)]
enum Trouble {
    Nothing,
    Bursts,
    FirstTwice,
    GapAtPeak,
}

const PLAIN_VISIT: Visit = Visit {
    date: "",
    top_deg: [0.0; 2],
    recheck_deg: None,
    faces: 6,
    brisk: false,
    trouble: Trouble::Nothing,
};

const PEOPLE: [Person; 4] = [
    // Stiff, and slowly less so.
    Person {
        label: "marbul",
        age_years: 52,
        sex: "M",
        height_cm: 181,
        seed: 4101,
        pull_share: Some(0.93),
        compensation: None,
        extra_sensor: None,
        visits: &[
            Visit {
                date: "2026-03-02T09:30",
                top_deg: [39.0, 41.5],
                recheck_deg: Some(3.0),
                ..PLAIN_VISIT
            },
            Visit {
                date: "2026-03-16T09:30",
                top_deg: [41.0, 43.0],
                trouble: Trouble::Bursts,
                ..PLAIN_VISIT
            },
            Visit {
                date: "2026-03-30T10:00",
                top_deg: [42.5, 44.0],
                faces: 2,
                ..PLAIN_VISIT
            },
        ],
    },
    // In the middle, and getting on.
    Person {
        label: "tessok",
        age_years: 34,
        sex: "F",
        height_cm: 168,
        seed: 4202,
        pull_share: None,
        compensation: None,
        extra_sensor: Some(Placement::thigh),
        visits: &[
            Visit {
                date: "2026-02-10T14:00",
                top_deg: [52.0, 54.0],
                recheck_deg: Some(6.5),
                ..PLAIN_VISIT
            },
            Visit {
                date: "2026-02-17T14:00",
                top_deg: [55.0, 57.5],
                ..PLAIN_VISIT
            },
            Visit {
                date: "2026-03-03T14:20",
                top_deg: [58.5, 60.0],
                trouble: Trouble::GapAtPeak,
                ..PLAIN_VISIT
            },
            Visit {
                date: "2026-03-24T14:00",
                top_deg: [62.0, 63.0],
                ..PLAIN_VISIT
            },
        ],
    },
    // Very mobile, and feels tight all the same.
    Person {
        label: "olivan",
        age_years: 23,
        sex: "F",
        height_cm: 172,
        seed: 4303,
        pull_share: Some(0.9),
        compensation: None,
        extra_sensor: None,
        visits: &[
            Visit {
                date: "2026-04-07T17:00",
                top_deg: [112.0, 107.0],
                ..PLAIN_VISIT
            },
            Visit {
                date: "2026-04-21T17:00",
                top_deg: [109.0, 106.0],
                faces: 0,
                brisk: true,
                ..PLAIN_VISIT
            },
        ],
    },
    // The other leg gives way at 55°, wherever this one then goes.
    Person {
        label: "kerudo",
        age_years: 45,
        sex: "M",
        height_cm: 176,
        seed: 4404,
        pull_share: None,
        compensation: Some(CompensationPlan {
            kind: CompensationKind::OppositeDown,
            at_deg: 53.0,
            extent_deg: 15.0,
            rate_deg_s: 12.0,
        }),
        extra_sensor: Some(|_| Placement::Pelvis),
        visits: &[
            Visit {
                date: "2026-05-05T11:00",
                top_deg: [72.0, 70.0],
                ..PLAIN_VISIT
            },
            Visit {
                date: "2026-05-19T11:00",
                top_deg: [74.0, 71.5],
                trouble: Trouble::FirstTwice,
                ..PLAIN_VISIT
            },
        ],
    },
];

/// The demo: everything that is to be written. Values are rounded to 0.001 m/s² and 0.0001 rad/s, so that
/// its text is short.
pub fn demo() -> Demo {
    let person = |p: &Person| DemoPerson {
        label: p.label.to_owned(),
        age_years: p.age_years,
        sex: p.sex,
        height_cm: p.height_cm,
    };
    let visits = PEOPLE
        .iter()
        .flat_map(|p| p.visits.iter().enumerate().map(|(i, v)| visit(p, i, v)))
        .collect();
    Demo {
        people: PEOPLE.iter().map(person).collect(),
        visits,
    }
}

fn visit(person: &Person, number: usize, plan: &Visit) -> DemoVisit {
    let session = format!("{:02}", number + 1);
    let seed = person.seed * 100 + number as u64;
    let base = base(person, plan, &session, seed);
    // Some have a third sensor on at their first visit.
    let extra = |side| {
        person
            .extra_sensor
            .filter(|_| number == 0)
            .map(|extra| extra(side))
    };
    let mut raises = Vec::new();
    let rounds = if plan.recheck_deg.is_some() { 2 } else { 1 };
    for round in 0..rounds {
        for (of_side, side) in [Side::Right, Side::Left].into_iter().enumerate() {
            let run = 2 * round + of_side + 1;
            let gain_deg = if round == 0 {
                0.0
            } else {
                plan.recheck_deg.unwrap_or(0.0)
            };
            let mut scenario = base.clone();
            scenario.seed = seed * 10 + run as u64;
            scenario.side = side;
            scenario.id.run = Some(format!("{run:02}"));
            // Two minutes a run, ten for the drill.
            scenario.acquired = Some(later(plan.date, 4 + 2 * run + 10 * round));
            let mut random = Random::new(scenario.seed, 0x2000);
            scenario.raises = planned(person, plan, plan.top_deg[of_side] + gain_deg, &mut random);
            if number == 0
                && round == 0
                && let Some(extra) = person.extra_sensor
            {
                scenario.sensors.push(extra(side));
            }
            trouble(&mut scenario, plan.trouble, run);
            raises.push(simulate(&scenario));
        }
    }
    let flat = (plan.faces > 0).then(|| {
        let mut laid = base.clone();
        laid.sensors.extend(Side::ALL.into_iter().filter_map(extra));
        laid.sensors.dedup();
        flat(&laid, plan)
    });
    DemoVisit {
        subject: person.label.to_owned(),
        session,
        acquired: later(plan.date, 0),
        raises,
        flat,
    }
}

fn base(person: &Person, plan: &Visit, session: &str, seed: u64) -> Scenario {
    let mut body = makers::body(&mut Random::new(person.seed, 0x2001));
    body.gravity_m_s2 = 9.812;
    // One clinic, one set of sensors; only some of its visits have the maker's limits in the files.
    let unit = Unit {
        states_limits: person.seed.is_multiple_of(2),
        gyro_noise_deg_s: 0.07,
        ..Unit::of_grade(UnitGrade::Good, 26)
    };
    let words = |word: &str| Some(word.to_owned());
    let mut scenario = Scenario::quiet(Side::Right, Vec::new());
    scenario.mount_seed = Some(seed);
    scenario.seed = seed;
    scenario.id = RecordingId {
        subject: words(person.label),
        session: words(session),
        task: "legraise".to_owned(),
        ..RecordingId::default()
    };
    scenario.acquired = words(&later(plan.date, 1));
    scenario.conditions = Conditions {
        movement: words("active"),
        ankle: words("relaxed"),
        asked_for: words(if person.pull_share.is_some() && !plan.brisk {
            "first pull"
        } else {
            "limit"
        }),
        rater: words(if person.seed.is_multiple_of(2) {
            "R2"
        } else {
            "R1"
        }),
    };
    scenario.body = body;
    scenario.unit = unit;
    scenario.rate_hz = if plan.brisk { 104.0 } else { 52.0 };
    scenario.initial_rest_s = 1.5;
    scenario.final_rest_s = 1.5;
    scenario.faults = vec![Fault::Quantised {
        accel_steps: 1e3,
        gyro_steps: 1e4,
    }];
    scenario
}

fn planned(person: &Person, visit: &Visit, top_deg: f64, random: &mut Random) -> Vec<RaisePlan> {
    let raise = |i: usize| {
        let mut plan = if visit.brisk {
            RaisePlan {
                hold_s: random.between(0.8, 1.6),
                ..makers::brisk_raise(random, top_deg)
            }
        } else {
            RaisePlan {
                // Higher takes longer: some 15 deg/s on the average.
                up_s: (top_deg / random.between(13.0, 19.0)).clamp(2.6, 5.0),
                hold_s: random.between(0.8, 1.6),
                down_s: random.between(1.8, 2.8),
                rest_before_s: if i == 1 {
                    0.7
                } else {
                    random.between(1.0, 1.8)
                },
                ..makers::slow_raise(random, top_deg)
            }
        };
        // A later one goes a little further than the first.
        plan.top_deg += 0.6 * i as f64;
        plan.sag_deg = plan.sag_deg.min(1.5);
        // Nobody can press in time while the leg flies.
        plan.pull_at_deg = person
            .pull_share
            .filter(|_| !visit.brisk)
            .map(|share| plan.top_deg * share);
        plan.compensation = person.compensation.map(|compensation| CompensationPlan {
            at_deg: compensation.at_deg + random.normal(1.2).clamp(-3.0, 3.0),
            ..compensation
        });
        plan
    };
    (0..3).map(raise).collect()
}

fn trouble(scenario: &mut Scenario, trouble: Trouble, run: usize) {
    let fault = match trouble {
        Trouble::Bursts => Fault::LostBursts {
            placement: None,
            share: 0.06,
            length: (2, 8),
        },
        Trouble::FirstTwice => {
            // The counter tells the copy from a sample.
            scenario.stamped = true;
            Fault::RepeatedFirst { placement: None }
        }
        Trouble::GapAtPeak if run == 1 => Fault::GapAtPeak {
            placement: Some(Placement::ShinRight),
            raise: 1,
            length_s: 0.8,
        },
        Trouble::Nothing | Trouble::GapAtPeak => return,
    };
    scenario.faults.push(fault);
}

fn flat(base: &Scenario, visit: &Visit) -> crate::Run {
    let faces = match visit.faces {
        2 => vec![Face::PlusZ, Face::MinusZ],
        _ => Face::ALL.to_vec(),
    };
    let plan = FlatPlan {
        run: Some("01".to_owned()),
        face_s: 2.4,
        turning_s: 0.8,
        ..FlatPlan::of(faces)
    };
    simulate_flat(base, &plan)
}

/// A moment `minutes` after a date and time of the plan, which all begin early enough in the hour.
fn later(date: &str, minutes: usize) -> String {
    let (hour, minute) = date.split_once(':').unwrap_or((date, "0"));
    let minute = minute.parse().unwrap_or(0) + minutes;
    format!("{hour}:{minute:02}:00")
}
