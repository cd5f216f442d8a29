//! How one angle runs over time: a sum of pieces with closed forms, smooth enough to differentiate twice.

use std::f64::consts::PI;

/// The form of one piece.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Shape {
    /// From nought to one and stays: the polynomial of least jerk (Flash, Hogan 1985,
    /// doi:10.1523/JNEUROSCI.05-07-01688.1985).
    Step,
    /// From nought to one and back.
    Bump,
    /// From nought to one: gathers speed for `build_s`, keeps it, and is stopped within the last `stop_s`.
    Run { build_s: f64, stop_s: f64 },
}

#[derive(Clone, Copy, Debug, PartialEq)]
struct Piece {
    start_s: f64,
    length_s: f64,
    size: f64,
    shape: Shape,
}

impl Piece {
    fn at(&self, t_s: f64) -> f64 {
        let passed_s = t_s - self.start_s;
        if passed_s <= 0.0 {
            return 0.0;
        }
        if passed_s >= self.length_s {
            return if self.shape == Shape::Bump {
                0.0
            } else {
                self.size
            };
        }
        let u = passed_s / self.length_s;
        let share = match self.shape {
            Shape::Step => u * u * u * (10.0 - u * (15.0 - 6.0 * u)),
            Shape::Bump => (4.0 * u * (1.0 - u)).powi(3),
            Shape::Run { build_s, stop_s } => covered(passed_s, self.length_s, build_s, stop_s),
        };
        self.size * share
    }
}

/// Share of a run that is behind: speed grows as a raised cosine over `build_s` and ends as one over
/// `stop_s`, so that the deceleration is a half sine.
fn covered(passed_s: f64, length_s: f64, build_s: f64, stop_s: f64) -> f64 {
    let even_s = length_s - build_s - stop_s;
    let covered = if passed_s < build_s {
        let u = passed_s / build_s;
        build_s * (0.5 * u - (PI * u).sin() / (2.0 * PI))
    } else if passed_s < build_s + even_s {
        0.5 * build_s + (passed_s - build_s)
    } else {
        let u = (passed_s - build_s - even_s) / stop_s;
        0.5 * build_s + even_s + stop_s * (0.5 * u + (PI * u).sin() / (2.0 * PI))
    };
    covered / (0.5 * (build_s + stop_s) + even_s)
}

/// A value over time.
#[derive(Clone, Debug, Default)]
pub(super) struct Course {
    base: f64,
    pieces: Vec<Piece>,
}

impl Course {
    pub(super) fn new(base: f64) -> Self {
        Self {
            base,
            pieces: Vec::new(),
        }
    }

    fn push(&mut self, start_s: f64, length_s: f64, size: f64, shape: Shape) {
        if size != 0.0 {
            self.pieces.push(Piece {
                start_s,
                length_s: length_s.max(1e-3),
                size,
                shape,
            });
        }
    }

    /// Moves by `size` and stays there.
    pub(super) fn step(&mut self, start_s: f64, length_s: f64, size: f64) {
        self.push(start_s, length_s, size, Shape::Step);
    }

    /// Moves by `size` and comes back.
    pub(super) fn bump(&mut self, start_s: f64, length_s: f64, size: f64) {
        self.push(start_s, length_s, size, Shape::Bump);
    }

    /// Moves by `size` faster and faster for `build_s`, and is stopped within `stop_s`.
    pub(super) fn fall(&mut self, start_s: f64, build_s: f64, stop_s: f64, size: f64) {
        self.push(
            start_s,
            build_s + stop_s,
            size,
            Shape::Run { build_s, stop_s },
        );
    }

    /// Moves by `size` at an even speed, but for a start and a stop of `soft_s` each.
    pub(super) fn run(&mut self, start_s: f64, length_s: f64, soft_s: f64, size: f64) {
        let soft_s = soft_s.min(0.5 * length_s);
        self.push(
            start_s,
            length_s,
            size,
            Shape::Run {
                build_s: soft_s,
                stop_s: soft_s,
            },
        );
    }

    pub(super) fn at(&self, t_s: f64) -> f64 {
        self.base + self.pieces.iter().map(|piece| piece.at(t_s)).sum::<f64>()
    }

    /// First moment between two at which the course, running upwards, has reached `level`.
    pub(super) fn reaches(&self, level: f64, from_s: f64, to_s: f64) -> Option<f64> {
        super::first_reaching(|t_s| self.at(t_s), level, from_s, to_s)
    }
}
