//! The filters of the `ahrs` crate over one recording, for `tests/validation/score_tilt.py --others`.
//!
//! `ahrs_crate madgwick BETA HZ` or `ahrs_crate mahony KP KI HZ`: rows `gx gy gz ax ay az` on standard input, rows `w x y z`
//! (sensor to earth) on standard output. The filter starts from the direction of the first reading.

use std::error::Error;
use std::io::{BufWriter, Read as _, Write as _};

use ahrs::{Ahrs, Madgwick, Mahony};
use nalgebra::{UnitQuaternion, Vector3};

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let number = |k: usize| -> Result<f64, Box<dyn Error>> {
        Ok(arguments.get(k).ok_or("an argument is missing")?.parse()?)
    };
    let mut text = String::new();
    std::io::stdin().read_to_string(&mut text)?;
    let numbers: Vec<f64> = text
        .split_ascii_whitespace()
        .map(str::parse)
        .collect::<Result<_, _>>()?;
    let vector = |row: &[f64], from: usize| Vector3::new(row[from], row[from + 1], row[from + 2]);
    let rows: Vec<(Vector3<f64>, Vector3<f64>)> = numbers
        .chunks_exact(6)
        .map(|row| (vector(row, 0), vector(row, 3)))
        .collect();
    let first = rows.first().ok_or("there is no reading")?;
    let start = UnitQuaternion::rotation_between(&first.1, &Vector3::z()).unwrap_or_default();
    let mut filter: Box<dyn Ahrs<f64>> = match arguments.first().map(String::as_str) {
        Some("madgwick") => Box::new(Madgwick::new_with_quat(
            number(2)?.recip(),
            number(1)?,
            start,
        )),
        Some("mahony") => Box::new(Mahony::new_with_quat(
            number(3)?.recip(),
            number(1)?,
            number(2)?,
            start,
        )),
        _ => return Err("name madgwick or mahony".into()),
    };
    let mut out = BufWriter::new(std::io::stdout().lock());
    for (gyro, accel) in &rows {
        let Ok(q) = filter.update_imu(gyro, accel) else {
            return Err("a reading without acceleration".into());
        };
        writeln!(out, "{} {} {} {}", q.w, q.i, q.j, q.k)?;
    }
    Ok(out.flush()?)
}
