//! Runs of exact kinematics, made by hand: a rigid leg about a fixed hip, in closed form, without noise. Shares nothing
//! with the simulator, so that the two can be held against each other.
//!
//! Earth: x forward along the resting leg, z up. Body: distal, anterior, and lateral = distal × anterior.

use nalgebra::{Matrix3, Rotation3, Unit, Vector3};
use sensor::{Conditions, Device, Mark, Placement, RecordingId, Run, RunTime, Sample, Track};

/// Standard gravity, m/s² (3rd CGPM, 1901).
pub(super) const STANDARD_GRAVITY: f64 = 9.80665;

/// How an angle goes from nought to one: its share, and the first two derivatives by the passed part of the time.
#[derive(Clone, Copy)]
pub(super) enum Shape {
    /// Least jerk (Flash, Hogan 1985, doi:10.1523/JNEUROSCI.05-07-01688.1985).
    LeastJerk,
    /// Half a cosine.
    RaisedCosine,
    /// An even speed; its start and its stop are raised cosines that take this part of the time each.
    Even(f64),
}

impl Shape {
    fn at(self, u: f64) -> [f64; 3] {
        use std::f64::consts::PI;
        if u <= 0.0 {
            return [0.0; 3];
        }
        if u >= 1.0 {
            return [1.0, 0.0, 0.0];
        }
        match self {
            Self::LeastJerk => [
                u.powi(3) * (10.0 - u * (15.0 - 6.0 * u)),
                30.0 * (u * (1.0 - u)).powi(2),
                60.0 * u * (1.0 - u) * (1.0 - 2.0 * u),
            ],
            Self::RaisedCosine => [
                0.5 * (1.0 - (PI * u).cos()),
                0.5 * PI * (PI * u).sin(),
                0.5 * PI * PI * (PI * u).cos(),
            ],
            Self::Even(soft) => {
                let top = 1.0 / (1.0 - soft);
                // The stop mirrors the start.
                let start = |u: f64| {
                    let v = PI * u / soft;
                    [
                        0.5 * top * (u - soft / PI * v.sin()),
                        0.5 * top * (1.0 - v.cos()),
                        0.5 * top * PI / soft * v.sin(),
                    ]
                };
                if u < soft {
                    start(u)
                } else if u <= 1.0 - soft {
                    [top * (u - 0.5 * soft), top, 0.0]
                } else {
                    let [share, rate, bend] = start(1.0 - u);
                    [1.0 - share, rate, -bend]
                }
            }
        }
    }
}

/// One raise.
#[derive(Clone, Copy)]
pub(super) struct Swing {
    /// Turned in its plane, degrees.
    pub(super) top_deg: f64,
    /// The plane leans from the vertical by this, degrees.
    pub(super) lean_deg: f64,
    /// Turned about the leg's own axis on the way up, degrees.
    pub(super) turn_deg: f64,
    /// On the way up, s; the way down takes 3 s.
    pub(super) up_s: f64,
    /// At the top, s.
    pub(super) hold_s: f64,
    /// The way up.
    pub(super) shape: Shape,
}

impl Swing {
    /// Up in 4 s, held for 2 s.
    pub(super) fn to(top_deg: f64) -> Self {
        Self {
            top_deg,
            lean_deg: 0.0,
            turn_deg: 0.0,
            up_s: 4.0,
            hold_s: 2.0,
            shape: Shape::LeastJerk,
        }
    }

    /// Share of the turn that is done, with its first two derivatives by time, `passed_s` after the beginning.
    fn share(&self, passed_s: f64) -> [f64; 3] {
        let up = self.shape.at(passed_s / self.up_s);
        let down = Shape::LeastJerk.at((passed_s - self.up_s - self.hold_s) / DOWN_S);
        [
            up[0] - down[0],
            up[1] / self.up_s - down[1] / DOWN_S,
            up[2] / self.up_s.powi(2) - down[2] / DOWN_S.powi(2),
        ]
    }

    /// Turned in its plane, degrees, `passed_s` after the beginning.
    pub(super) fn turned_deg(&self, passed_s: f64) -> f64 {
        self.share(passed_s)[0] * self.top_deg
    }
}

/// A leg with a sensor.
pub(super) struct Leg {
    /// The raises, one after the other, 2.5 s of rest before each.
    pub(super) swings: Vec<Swing>,
    /// Hip to sensor, m.
    pub(super) radius_m: f64,
    /// How the sensor sits on the leg.
    pub(super) body_from_sensor: Rotation3<f64>,
    /// m/s².
    pub(super) gravity_m_s2: f64,
    /// Samples a second.
    pub(super) rate_hz: f64,
}

/// Rest before each raise, s.
pub(super) const REST_S: f64 = 2.5;
const DOWN_S: f64 = 3.0;

impl Leg {
    /// At 100 Hz, sensor along the leg, 0.7 m from the hip.
    pub(super) fn doing(swings: Vec<Swing>) -> Self {
        Self {
            swings,
            radius_m: 0.7,
            body_from_sensor: Rotation3::identity(),
            gravity_m_s2: STANDARD_GRAVITY,
            rate_hz: 100.0,
        }
    }

    /// When a raise begins, s.
    pub(super) fn begin_s(&self, raise: usize) -> f64 {
        let lasts = |swing: &Swing| REST_S + swing.up_s + swing.hold_s + DOWN_S;
        self.swings[..raise].iter().map(lasts).sum::<f64>() + REST_S
    }

    fn duration_s(&self) -> f64 {
        self.begin_s(self.swings.len())
    }

    /// Specific force and rate at a moment, sensor axes.
    pub(super) fn reading(&self, t_s: f64) -> (Vector3<f64>, Vector3<f64>) {
        let resting = Swing::to(0.0);
        let (begin_s, swing) = (0..self.swings.len())
            .map(|n| (self.begin_s(n), &self.swings[n]))
            .take_while(|(begin_s, _)| *begin_s <= t_s)
            .last()
            .unwrap_or((0.0, &resting));
        let [share, rate, bend] = swing.share(t_s - begin_s);
        let (top, turn) = (swing.top_deg.to_radians(), swing.turn_deg.to_radians());
        let (sin, cos) = swing.lean_deg.to_radians().sin_cos();
        // From the x axis towards (0, -sin, cos).
        let axis = Unit::new_unchecked(Vector3::new(0.0, -cos, -sin));
        let rest = Rotation3::from_matrix_unchecked(Matrix3::from_columns(&[
            Vector3::x(),
            Vector3::z(),
            -Vector3::y(),
        ]));
        let swung = Rotation3::from_axis_angle(&axis, share * top);
        let twist = Rotation3::from_axis_angle(&Vector3::x_axis(), share * turn);
        let earth_from_sensor = swung * rest * twist * self.body_from_sensor;
        let distal = swung * Vector3::x();
        let rate_in_earth = axis.as_ref() * (rate * top) + distal * (rate * turn);
        let lever = distal * self.radius_m;
        let acceleration = axis.cross(&lever) * (bend * top)
            + axis.cross(&axis.cross(&lever)) * (rate * top).powi(2);
        let force = acceleration + Vector3::z() * self.gravity_m_s2;
        (
            earth_from_sensor.inverse() * force,
            earth_from_sensor.inverse() * rate_in_earth,
        )
    }

    /// What a sensor with this accelerometer offset records on the right shin.
    pub(super) fn run_with(&self, offset_m_s2: Vector3<f64>, marks: Vec<Mark>) -> Run {
        let samples = (0..u32::MAX)
            .map(|k| f64::from(k) / self.rate_hz)
            .take_while(|t_s| *t_s <= self.duration_s())
            .map(|t_s| {
                let (force, rate) = self.reading(t_s);
                sample(t_s, force + offset_m_s2, rate)
            })
            .collect();
        run_of(samples, self.rate_hz, marks)
    }

    /// What a perfect sensor records on the right shin.
    pub(super) fn run(&self) -> Run {
        self.run_with(Vector3::zeros(), Vec::new())
    }
}

/// As samples keep it.
#[expect(
    clippy::cast_possible_truncation,
    reason = "samples are single precision"
)]
pub(super) fn sample(t_s: f64, accel_m_s2: Vector3<f64>, gyro_rad_s: Vector3<f64>) -> Sample {
    let narrow = |v: Vector3<f64>| [v.x as f32, v.y as f32, v.z as f32];
    Sample {
        at: RunTime::from_s(t_s).expect("a time"),
        accel_m_s2: narrow(accel_m_s2),
        gyro_rad_s: narrow(gyro_rad_s),
    }
}

/// A run of the right shin alone.
pub(super) fn run_of(samples: Vec<Sample>, rate_hz: f64, marks: Vec<Mark>) -> Run {
    Run {
        id: RecordingId {
            task: "legraise".to_owned(),
            ..RecordingId::default()
        },
        acquired: None,
        conditions: Conditions::default(),
        tracks: vec![Track {
            name: Placement::ShinRight.as_str().to_owned(),
            placement: Some(Placement::ShinRight),
            rate_hz,
            limits: None,
            device: Device::default(),
            samples,
            stamps: Vec::new(),
        }],
        marks,
    }
}

#[test]
fn derivatives_are_those_of_the_course() {
    let h = 1e-5;
    for shape in [Shape::LeastJerk, Shape::RaisedCosine, Shape::Even(0.2)] {
        for k in 1..20 {
            let u = 0.05 * f64::from(k) + 0.013;
            let [[low, ..], [_, rate, bend], [high, ..]] =
                [shape.at(u - h), shape.at(u), shape.at(u + h)];
            if u + h >= 1.0 {
                continue;
            }
            assert!(((high - low) / (2.0 * h) - rate).abs() < 1e-6, "{u}");
            assert!(
                ((high + low - 2.0 * shape.at(u)[0]) / (h * h) - bend).abs() < 1e-3,
                "{u}"
            );
        }
        let [share, rate, _] = shape.at(1.0);
        assert!((share - 1.0).abs() < 1e-12 && rate.abs() < 1e-12);
    }
}

#[test]
fn the_rate_integrates_to_the_force_at_the_top() {
    // The sensor's own rate, integrated from rest to the top, must carry up in sensor axes to where the force shows it.
    let swing = Swing {
        lean_deg: 5.0,
        turn_deg: 20.0,
        ..Swing::to(100.0)
    };
    let leg = Leg {
        rate_hz: 2000.0,
        body_from_sensor: Rotation3::from_euler_angles(0.3, -1.1, 2.0),
        ..Leg::doing(vec![swing])
    };
    let (mut up, step_s) = (leg.reading(0.0).0.normalize(), 1.0 / leg.rate_hz);
    for k in 0..14_000 {
        let (_, rate) = leg.reading((f64::from(k) + 0.5) * step_s);
        up = Rotation3::new(-rate * step_s) * up;
    }
    let shown = leg.reading(7.0).0.normalize();
    assert!((up - shown).norm() < 1e-6, "{up} {shown}");
}
