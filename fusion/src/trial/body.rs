//! The sensors of a run by placement, ready for the kernels, and which of them can be believed.

use sensor::{MarkKind, Placement, Run, Side, Track, UnitLimits};

use crate::analysis::RunProblem;
use crate::calibrate::{Calibration, calibrate};
use crate::raise::companions::{Other, lifting_axis};
use crate::raise::conclude::Roles;
use crate::raise::contradiction::contradiction_rad;
use crate::raise::lift::{Lifted, lifted};
use crate::raise::rolled::Rolls;
use crate::raise::segment::{Course, Excursion, course, elevation_about};
use crate::settings::Settings;
use crate::stream::Stream;

use super::SessionContext;

/// A raise and the compensation it brings last about as long; this factor is far beyond.
const DURATION_RATIO: f64 = 6.0;

/// One sensor with the course of its elevation.
struct Segment {
    placement: Placement,
    stream: Stream,
    /// Where the foot was rolled in and out.
    rolls: Vec<Rolls>,
    course: Course,
}

impl Segment {
    fn as_other(&self) -> Other<'_> {
        Other {
            stream: &self.stream,
            elevation_rad: &self.course.elevation_rad,
        }
    }

    fn is_shin(&self) -> bool {
        Side::ALL
            .iter()
            .any(|&side| Placement::shin(side) == self.placement)
    }
}

/// All sensors of a run.
pub(super) struct Body {
    segments: Vec<Segment>,
}

/// What is known of the other segments once the raises are: see [`Body::believe`].
pub(super) struct Beliefs {
    disbelieved: Vec<Placement>,
    /// Elevation of the leg opposite to the left and to the right raise, where sway shows its axis.
    opposite_rad: [Option<Vec<f64>>; 2],
}

impl Body {
    /// Calibrates and smooths every track that has a placement.
    pub(super) fn new(
        run: &Run,
        context: &SessionContext,
        settings: &Settings,
        problems: &mut Vec<RunProblem>,
    ) -> Self {
        let mut segments = Vec::new();
        for placement in Placement::ALL {
            let Some(track) = run.track(placement) else {
                continue;
            };
            if problems
                .iter()
                .any(|p| matches!(p, RunProblem::SameStream { b, .. } if *b == placement))
            {
                continue;
            }
            let calibration = calibration(track, placement, context, problems);
            match Stream::new(track, calibration, &settings.tilt) {
                Some(stream) => {
                    let rolls = rolls(run, placement, &stream);
                    let course = course(&stream, &rolls, settings);
                    segments.push(Segment {
                        placement,
                        stream,
                        rolls,
                        course,
                    });
                }
                None => problems.push(RunProblem::Unusable { placement }),
            }
        }
        Self { segments }
    }

    fn find(&self, placement: Placement) -> Option<&Segment> {
        self.segments
            .iter()
            .find(|segment| segment.placement == placement)
    }

    /// Whether there is a leg to measure.
    pub(super) fn has_shin(&self) -> bool {
        self.segments.iter().any(Segment::is_shin)
    }

    /// The raises of both legs in order of time.
    pub(super) fn raises(&self, settings: &Settings) -> Vec<(Side, Lifted)> {
        let mut raises: Vec<(Side, Lifted)> = Vec::new();
        for side in Side::ALL {
            let Some(shin) = self.find(Placement::shin(side)) else {
                continue;
            };
            let own = own_excursions(shin, self.find(Placement::shin(side.other())));
            raises.extend(
                lifted(&shin.stream, &own, &shin.rolls, settings)
                    .into_iter()
                    .map(|lifted| (side, lifted)),
            );
        }
        raises.sort_by(|(_, a), (_, b)| a.start_s.total_cmp(&b.start_s));
        raises
    }

    /// Looks at the other segments during the raises.
    pub(super) fn believe(
        &self,
        raises: &[(Side, Lifted)],
        settings: &Settings,
        problems: &mut Vec<RunProblem>,
    ) -> Beliefs {
        // A shin that contradicts itself is told in each of its raises.
        let others = self.segments.iter().filter(|segment| !segment.is_shin());
        let disbelieved: Vec<Placement> = others
            .filter(|segment| self.contradicts(segment, raises, settings))
            .map(|segment| segment.placement)
            .collect();
        problems.extend(
            disbelieved
                .iter()
                .map(|&placement| RunProblem::Contradicts { placement }),
        );
        Beliefs {
            disbelieved,
            opposite_rad: Side::ALL.map(|side| self.opposite_elevation(side, raises)),
        }
    }

    /// The sensors by their role in a raise of one side.
    pub(super) fn roles<'a>(&'a self, side: Side, beliefs: &'a Beliefs) -> Option<Roles<'a>> {
        let other = |placement| {
            self.find(placement)
                .filter(|segment| !beliefs.disbelieved.contains(&segment.placement))
                .map(Segment::as_other)
        };
        let sway = match side {
            Side::Left => &beliefs.opposite_rad[0],
            Side::Right => &beliefs.opposite_rad[1],
        };
        Some(Roles {
            raised: &self.find(Placement::shin(side))?.stream,
            opposite: other(Placement::shin(side.other())).map(|opposite| Other {
                elevation_rad: sway.as_deref().unwrap_or(opposite.elevation_rad),
                ..opposite
            }),
            thigh: other(Placement::thigh(side)),
            pelvis: other(Placement::Pelvis),
        })
    }

    /// Whether a sensor's accelerometer and gyroscope contradict each other in most raises of the run.
    fn contradicts(
        &self,
        segment: &Segment,
        raises: &[(Side, Lifted)],
        settings: &Settings,
    ) -> bool {
        let stream = &segment.stream;
        let mut misses: Vec<f64> = raises
            .iter()
            .filter_map(|(side, lifted)| {
                let raised = &self.find(Placement::shin(*side))?.stream;
                let at = |t_s: f64| stream.index_at(t_s);
                let top_s = lifted.t_s[lifted.top];
                let rest = (
                    at(raised.t_s(lifted.zero.first)),
                    at(raised.t_s(lifted.zero.last)),
                );
                contradiction_rad(
                    stream,
                    rest,
                    (at(top_s - 0.2), at(top_s + 0.2)),
                    stream.bias_rad_s(rest.0),
                )
            })
            .collect();
        if misses.is_empty() {
            return false;
        }
        let middle = misses.len() / 2;
        *misses.select_nth_unstable_by(middle, f64::total_cmp).1 > settings.contradiction.radians()
    }

    /// Elevation of the leg opposite to `side`, where its own raises don't already show about which axis it lifts.
    fn opposite_elevation(&self, side: Side, raises: &[(Side, Lifted)]) -> Option<Vec<f64>> {
        let (raised, other) = (
            self.find(Placement::shin(side))?,
            self.find(Placement::shin(side.other()))?,
        );
        if raises.iter().any(|(s, _)| *s != side) {
            return None;
        }
        let own: Vec<&Lifted> = raises
            .iter()
            .filter(|(s, _)| *s == side)
            .map(|(_, l)| l)
            .collect();
        let axis = lifting_axis(&other.stream, &raised.stream, &own, other.course.axis);
        Some(elevation_about(&other.stream, axis))
    }
}

/// Where marks say that the foot below this sensor was rolled in and out.
fn rolls(run: &Run, placement: Placement, stream: &Stream) -> Vec<Rolls> {
    run.marks
        .iter()
        .filter(|mark| mark.kind == MarkKind::Turn)
        .filter(|mark| {
            Side::ALL
                .iter()
                .filter(|&&side| mark.side.is_none_or(|said| said == side))
                .any(|&side| Placement::shin(side) == placement)
        })
        .filter_map(|mark| {
            let begin_s = mark.at.s();
            let rolls = (
                stream.index_at(begin_s),
                stream.index_at(begin_s + mark.duration_s?),
            );
            (rolls.0 < rolls.1).then_some(rolls)
        })
        .collect()
}

/// From the session's flat recordings of the same placement: the first that can be used.
fn calibration(
    track: &Track,
    placement: Placement,
    context: &SessionContext,
    problems: &mut Vec<RunProblem>,
) -> Calibration {
    let limits = track.limits.unwrap_or(UnitLimits::PLAIN);
    for flat in context.flats.iter().filter_map(|run| run.track(placement)) {
        match calibrate(flat, limits) {
            Ok(calibration) => return calibration,
            Err(problem) => {
                problems.push(RunProblem::FlatUnusable {
                    placement,
                    why: problem.to_string(),
                });
            }
        }
    }
    Calibration::from_limits(limits)
}

/// A shin's excursions without those that happen while the other leg rises higher: these are its compensation.
fn own_excursions(shin: &Segment, other: Option<&Segment>) -> Course {
    let mut own = shin.course.clone();
    let Some(other) = other else { return own };
    let up_s = |segment: &Segment, excursion: &Excursion| {
        let (from, to) = segment.course.up(excursion);
        (segment.stream.t_s(from), segment.stream.t_s(to))
    };
    own.excursions.retain(|mine| {
        let (from_s, to_s) = up_s(shin, mine);
        let top_s = shin.stream.t_s(mine.top);
        !other.course.excursions.iter().any(|theirs| {
            let (a_s, b_s) = up_s(other, theirs);
            let their_top_s = other.stream.t_s(theirs.top);
            let together =
                (top_s > a_s && top_s < b_s) || (their_top_s > from_s && their_top_s < to_s);
            // A foot that has slowly rolled over during many raises is not a raise of its own.
            let comparable = b_s - a_s < DURATION_RATIO * (to_s - from_s);
            together && comparable && theirs.height_rad > mine.height_rad
        })
    });
    own
}
