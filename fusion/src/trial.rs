//! The pipeline: a run in, an analysis out. The only place that knows left from right.

use sensor::{Mark, MarkKind, Placement, Run, Side, Track, UnitLimits};

use crate::analysis::{Analysis, Flag, Raise, RunProblem};
use crate::calibrate::{Calibration, FlatProblem, calibrate};
use crate::raise::companions::{Other, lifting_axis};
use crate::raise::contradiction::contradiction_rad;
use crate::raise::conclude::{Cue, Roles, conclude};
use crate::raise::lift::{Lifted, lifted};
use crate::raise::segment::{Course, course, elevation_about};
use crate::settings::Settings;
use crate::stream::Stream;

/// What a run is analysed against: other recordings of the same session, always from disk.
#[derive(Clone, Debug, Default)]
pub struct SessionContext {
    /// The session's flat recordings.
    pub flats: Vec<Run>,
    /// Its earlier runs.
    pub earlier: Vec<Run>,
}

/// The task of runs that hold leg raises.
const LEG_RAISE: &str = "legraise";
/// A mark belongs to a raise that is at most this far away, s.
const MARK_NEAR_S: f64 = 1.0;

/// A raise and the compensation it brings last about as long; this factor is far beyond.
const DURATION_RATIO: f64 = 6.0;

/// A sensor ready for the kernels.
struct Segment {
    placement: Placement,
    stream: Stream,
    course: Course,
}

impl Segment {
    fn as_other(&self) -> Other<'_> {
        Other { stream: &self.stream, elevation_rad: &self.course.elevation_rad }
    }
}

/// Analyses a run. Pure: the same input gives the same output, bit for bit.
pub fn analyse_run(run: &Run, context: &SessionContext, settings: &Settings) -> Analysis {
    let mut problems = same_streams(run);
    let mut segments = Vec::new();
    for placement in Placement::ALL {
        let Some(track) = run.track(placement) else { continue };
        let calibration = calibration(track, placement, context, &mut problems);
        match Stream::new(track, calibration, &settings.tilt) {
            Some(stream) => {
                let course = course(&stream, settings);
                segments.push(Segment { placement, stream, course });
            }
            None => problems.push(RunProblem::Unusable { placement }),
        }
    }
    let find = |placement| segments.iter().find(|segment: &&Segment| segment.placement == placement);
    if Side::ALL.iter().all(|&side| find(Placement::shin(side)).is_none()) {
        problems.push(RunProblem::NoShin);
        return Analysis { raises: Vec::new(), problems };
    }
    let mut legs: Vec<(Side, Lifted)> = Vec::new();
    for side in Side::ALL {
        let Some(shin) = find(Placement::shin(side)) else { continue };
        let other = find(Placement::shin(side.other()));
        let own = own_excursions(shin, other);
        legs.extend(lifted(&shin.stream, &own, settings).into_iter().map(|l| (side, l)));
    }
    legs.sort_by(|(_, a), (_, b)| a.start_s.total_cmp(&b.start_s));
    let believed = |segment: &&Segment| !contradicts(segment, &legs, find, settings);
    problems.extend(
        segments
            .iter()
            .filter(|segment| !believed(segment) && segment.placement.side().is_none_or(|s| Placement::shin(s) != segment.placement))
            .map(|segment| RunProblem::Contradicts { placement: segment.placement }),
    );
    let opposites = Side::ALL.map(|side| opposite_elevation(side, &legs, find));
    let cues = assign(&run.marks, &legs, settings, &mut problems);
    let raises = legs
        .iter()
        .zip(cues)
        .filter_map(|((side, lifted), cues)| {
            let roles = Roles {
                raised: &find(Placement::shin(*side))?.stream,
                opposite: find(Placement::shin(side.other())).map(|segment| Other {
                    stream: &segment.stream,
                    elevation_rad: opposites[*side as usize].as_ref().unwrap_or(&segment.course.elevation_rad),
                }),
                thigh: find(Placement::thigh(*side)).filter(believed).map(Segment::as_other),
                pelvis: find(Placement::Pelvis).filter(believed).map(Segment::as_other),
            };
            let mut raise = conclude(lifted, &roles, &cues, settings)?;
            raise.side = *side;
            run_flags(run, &mut raise);
            Some(raise)
        })
        .collect();
    Analysis { raises, problems }
}

/// Whether a sensor's accelerometer and gyroscope contradict each other in most raises of the run.
fn contradicts<'a>(
    segment: &Segment,
    legs: &[(Side, Lifted)],
    find: impl Fn(Placement) -> Option<&'a Segment>,
    settings: &Settings,
) -> bool {
    let stream = &segment.stream;
    let mut misses: Vec<f64> = legs
        .iter()
        .filter_map(|(side, lifted)| {
            let raised = &find(Placement::shin(*side))?.stream;
            let at = |t_s: f64| stream.index_at(t_s);
            let top_s = lifted.t_s[lifted.top];
            let rest = (at(raised.t_s(lifted.zero.first)), at(raised.t_s(lifted.zero.last)));
            contradiction_rad(stream, rest, (at(top_s - 0.2), at(top_s + 0.2)), stream.bias_rad_s(rest.0))
        })
        .collect();
    if misses.is_empty() {
        return false;
    }
    let middle = misses.len() / 2;
    *misses.select_nth_unstable_by(middle, f64::total_cmp).1 > settings.contradiction.radians()
}

/// Elevation of the leg opposite to `side`, where its own raises don't already show about which axis it lifts.
fn opposite_elevation<'a>(
    side: Side,
    legs: &[(Side, Lifted)],
    find: impl Fn(Placement) -> Option<&'a Segment>,
) -> Option<Vec<f64>> {
    let (raised, other) = (find(Placement::shin(side))?, find(Placement::shin(side.other()))?);
    if legs.iter().any(|(s, _)| *s != side) {
        return None;
    }
    let raises: Vec<&Lifted> = legs.iter().filter(|(s, _)| *s == side).map(|(_, l)| l).collect();
    let axis = lifting_axis(&other.stream, &raised.stream, &raises)?;
    Some(elevation_about(&other.stream, axis))
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
                problems.push(RunProblem::FlatUnusable { placement, why: why(problem) });
            }
        }
    }
    Calibration::from_limits(limits)
}

fn why(problem: FlatProblem) -> String {
    match problem {
        FlatProblem::NoOppositeFaces { still } => {
            format!("{still} still stretches, none on opposite faces; lay the unit on two opposite faces, 3 s each")
        }
        FlatProblem::Residual { m_s2 } => {
            format!("the faces miss gravity by {m_s2:.2} m/s²; repeat it on a hard table without touching the unit")
        }
        FlatProblem::BeyondLimits { times } => {
            format!("errors of {times:.0} times the unit's limits; check that it is the same unit, and its limits")
        }
    }
}

/// Two sensors that deliver the same numbers are one sensor.
fn same_streams(run: &Run) -> Vec<RunProblem> {
    let mut found = Vec::new();
    for (n, a) in run.tracks.iter().enumerate() {
        for b in &run.tracks[n + 1..] {
            let (Some(pa), Some(pb)) = (a.placement, b.placement) else { continue };
            let values = |t: &Track| t.samples.iter().take(200).map(|s| (s.accel_m_s2, s.gyro_rad_s)).collect::<Vec<_>>();
            if a.samples.len() > 20 && values(a) == values(b) {
                found.push(RunProblem::SameStream { a: pa, b: pb });
            }
        }
    }
    found
}

/// A shin's excursions without those that happen while the other leg rises higher: these are its compensation.
fn own_excursions(shin: &Segment, other: Option<&Segment>) -> Course {
    let mut own = shin.course.clone();
    let Some(other) = other else { return own };
    own.excursions.retain(|mine| {
        let (from_s, to_s) = (shin.stream.t_s(mine.valley_before), shin.stream.t_s(mine.valley_after));
        let top_s = shin.stream.t_s(mine.top);
        !other.course.excursions.iter().any(|theirs| {
            let (a_s, b_s) = (other.stream.t_s(theirs.valley_before), other.stream.t_s(theirs.valley_after));
            let their_top_s = other.stream.t_s(theirs.top);
            let together = (top_s > a_s && top_s < b_s) || (their_top_s > from_s && their_top_s < to_s);
            // A foot that has slowly rolled over during many raises is not a raise of its own.
            let comparable = b_s - a_s < DURATION_RATIO * (to_s - from_s);
            together && comparable && theirs.height_rad > mine.height_rad
        })
    });
    own
}

/// Gives each pull or stop to the raise in progress when it was felt.
fn assign(
    marks: &[Mark],
    legs: &[(Side, Lifted)],
    settings: &Settings,
    problems: &mut Vec<RunProblem>,
) -> Vec<Vec<Cue>> {
    let mut cues: Vec<Vec<Cue>> = vec![Vec::new(); legs.len()];
    for mark in marks.iter().filter(|mark| matches!(mark.kind, MarkKind::Pull | MarkKind::Stop)) {
        let pressed_s = mark.at.s();
        let felt_s = pressed_s - settings.reaction_s;
        let away = |(side, lifted): &(Side, Lifted)| {
            let wrong_side = mark.side.is_some_and(|s| s != *side);
            let away_s = (lifted.start_s - felt_s).max(felt_s - lifted.end_s).max(0.0);
            (!wrong_side && away_s <= MARK_NEAR_S).then_some(away_s)
        };
        let nearest = legs
            .iter()
            .enumerate()
            .filter_map(|(n, leg)| Some((n, away(leg)?)))
            .min_by(|(_, a), (_, b)| a.total_cmp(b));
        match nearest {
            Some((n, _)) => cues[n].push(Cue { pressed_s, kind: mark.kind }),
            None => problems.push(RunProblem::StrayMark { pressed_s, word: mark.kind.as_str() }),
        }
    }
    cues
}

/// Flags that come from the run as a whole.
fn run_flags(run: &Run, raise: &mut Raise) {
    let noted = run.marks.iter().filter(|mark| mark.kind == MarkKind::Raise).filter(|mark| {
        let end_s = mark.at.s() + mark.duration_s.unwrap_or(0.0);
        mark.at.s() < raise.end_s && end_s > raise.start_s
    });
    let sides: Vec<Side> = noted.filter_map(|mark| mark.side).collect();
    if !sides.is_empty() && !sides.contains(&raise.side) {
        raise.flags.push(Flag::SideConflict);
    }
    if run.id.task != LEG_RAISE && !run.id.task.is_empty() {
        raise.flags.push(Flag::OtherTask);
    }
    raise.flags.sort_unstable();
}
