#!/usr/bin/env python3
"""Scores tilt against an optical reference.

    score_tilt.py FOLDER [--live] [--others] [--json FILE] [--program PATH]
    score_tilt.py --selftest

FOLDER holds X_motion.tsv or .tsv.gz files with their X_channels.tsv anywhere below it, and in FOLDER/reference the file
X_reference.tsv or .tsv.gz of each: columns t_s w x y z movement; quaternion sensor to earth, `n/a` where unseen;
movement is 1 in the phase that counts. Trials without a reference are passed over.

The error of a moment is the angle between true and estimated up, which leaves heading out (the inclination error of
Laidig et al., Data 2021, 6(7):72, doi:10.3390/data6070072). Printed for each trial: root mean square, 95th percentile
and maximum over the movement, in degrees; then their means. `lagfree` is the root mean square after one time shift
common to all trials, the best within 10 ms: the optics and the sensor do not share a clock.

--others adds, where their packages are there: VQF (vqf) and, which only look back, Madgwick and Mahony (ahrs; and the crate of that name, built by
`cargo build --release -p suite --example ahrs_crate`), with their defaults but for the gains stated in
docs/validation.md; and tells whether any trial is worse than VQF's by more than a tenth.
--json writes the figures of each filter and trial.

Exit status: 0 all trials scored; 1 some were refused; 2 wrong usage.
"""
import argparse
import json
import os
import subprocess

import numpy as np

import recordings as rec

LAGS_S = np.arange(-10, 11) / 1000.0
COVERED_MIN = 0.99
WORSE_MAX = 1.1
TARGET = os.environ.get("CARGO_TARGET_DIR", os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..", "target"))
CRATE = os.path.join(TARGET, "release", "examples", "ahrs_crate")
HOLE_S_MAX = 0.5


def read_reference(path):
    rows = rec.rows_of(path)
    number = lambda cell: np.nan if cell == "n/a" else float(cell)
    q = np.array([[number(row[c]) for c in "wxyz"] for row in rows])
    t_s = np.array([float(row["t_s"]) for row in rows])
    return t_s, rec.up(q / np.linalg.norm(q, axis=1)[:, None]), np.array([row["movement"] == "1" for row in rows])


def error_deg(t_s, up, at_s, true_up):
    """Angle between the estimate, straight between its rows, and the truth."""
    there = np.stack([np.interp(at_s, t_s, up[:, axis]) for axis in range(3)], 1)
    sine = np.linalg.norm(np.cross(there, true_up), axis=1)
    return np.degrees(np.arctan2(sine, (there * true_up).sum(1)))


def score(t_s, q, reference):
    """Errors over the movement, for each lag; the middle one is no lag."""
    at_s, true_up, moving = reference
    step_s = float(np.median(np.diff(at_s)))
    near_s = np.abs(at_s[:, None] - t_s[np.clip(np.searchsorted(t_s, at_s)[:, None] + [-1, 0], 0, len(t_s) - 1)]).min(1)
    if (near_s < 2 * step_s).mean() < COVERED_MIN or near_s.max() > 0.5 * HOLE_S_MAX:
        raise rec.Refused("the answer leaves parts of the trial out")
    seen = moving & np.isfinite(true_up).all(1)
    up = rec.up(q)
    return [error_deg(t_s, up, at_s[seen] + lag_s, true_up[seen]) for lag_s in LAGS_S]


def summary(trials):
    """Rows of (name, RMSE, p95, maximum) and the lag-free line, of {name: errors by lag}."""
    no_lag = len(LAGS_S) // 2
    rows = [(name, rec.rms(e[no_lag]), np.percentile(e[no_lag], 95), e[no_lag].max()) for name, e in trials.items()]
    by_lag = np.mean([[rec.rms(e) for e in errors] for errors in trials.values()], axis=0)
    best = int(by_lag.argmin())
    return rows, by_lag[best], LAGS_S[best]


def show(title, trials):
    rows, lagfree, lag_s = summary(trials)
    width = max(len(name) for name in trials)
    print(f'\n{title}\n{"trial":<{width}}    RMSE     p95     max   (degrees)')
    for name, *numbers in rows:
        print(f"{name:<{width}}" + "".join(f"{n:8.3f}" for n in numbers))
    means = np.mean([numbers for _, *numbers in rows], axis=0)
    print(f'{"mean of " + str(len(rows)):<{width}}' + "".join(f"{n:8.3f}" for n in means))
    print(f"lagfree RMSE {lagfree:.3f} at {1000 * lag_s:.0f} ms")


def other_filters(live):
    """Filters by other people that can be imported: {name: function of rate, gyroscope, accelerometer}."""
    found = {}
    try:
        import vqf
        found["VQF" if live else "VQF offline"] = (
            (lambda hz, gyro, accel: vqf.VQF(1 / hz).updateBatch(gyro, accel)["quat6D"]) if live else
            (lambda hz, gyro, accel: vqf.offlineVQF(gyro, accel, None, 1 / hz)["quat6D"]))
    except ImportError:
        print("VQF left out: no package vqf")
    if not live:
        return found  # the others only look back
    try:
        from ahrs.common.orientation import acc2q
        from ahrs.filters import Madgwick, Mahony
        found["Madgwick, gain 0.033"] = lambda hz, gyro, accel: Madgwick(
            gyr=gyro, acc=accel, frequency=hz, gain_imu=0.033, q0=acc2q(accel[0])).Q
        found["Mahony, gains 0.2 and 0.001"] = lambda hz, gyro, accel: Mahony(
            gyr=gyro, acc=accel, frequency=hz, k_P=0.2, k_I=0.001, q0=acc2q(accel[0])).Q
    except ImportError:
        print("Madgwick and Mahony left out: no package ahrs")
    if os.path.exists(CRATE):
        found["Madgwick, crate, gain 0.033"] = lambda hz, gyro, accel: by_crate(["madgwick", 0.033, hz], gyro, accel)
        found["Mahony, crate, gains 0.2 and 0.001"] = lambda hz, gyro, accel: by_crate(["mahony", 0.2, 0.001, hz], gyro, accel)
    else:
        print(f"the crate ahrs left out: no {CRATE}")
    return found


def by_crate(arguments, gyro, accel):
    """Quaternions of the crate `ahrs`."""
    rows = "\n".join(" ".join(map(repr, map(float, row))) for row in np.hstack([gyro, accel]))
    done = subprocess.run([CRATE, *map(str, arguments)], input=rows, capture_output=True, text=True)
    if done.returncode:
        raise rec.Refused(f"the crate ahrs: {done.stderr.strip()[-200:]}")
    return np.array(done.stdout.split(), float).reshape(-1, 4)


def per_trial(trials):
    """{trial: [RMSE, lag-free RMSE, 95th percentile, maximum]} of {trial: errors by lag}; the lag is common to all."""
    rows, _, lag_s = summary(trials)
    at = int(np.abs(LAGS_S - lag_s).argmin())
    return {name: [float(rmse), float(rec.rms(trials[name][at])), float(p95), float(worst)] for name, rmse, p95, worst in rows}


def worse_than(own, other):
    """Trials whose RMSE, or lag-free RMSE, is larger than the other filter's by more than a tenth."""
    return [f"{name} {a:.3f} against {b:.3f}{kind}" for name in own for a, b, kind in zip(own[name][:2], other[name][:2], ("", " lagfree"))
            if a > WORSE_MAX * b]


def reference_of(folder, motion):
    paths = [os.path.join(folder, "reference", rec.stem(motion) + "_reference" + end) for end in (".tsv", ".tsv.gz")]
    return next((path for path in paths if os.path.exists(path)), None)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    rec.add_arguments(parser)
    parser.add_argument("--live", action="store_true", help="score the causal filter")
    parser.add_argument("--others", action="store_true", help="score other people's filters beside it")
    parser.add_argument("--json", help="file for the figures of each filter and trial")
    args = parser.parse_args()
    if args.selftest:
        return selftest()
    folder = rec.folder_of(parser, args)
    others = other_filters(args.live) if args.others else {}
    own = "legraise, live" if args.live else "legraise, smoothed"
    trials, refused = {name: {} for name in [own, *others]}, 0
    for motion in rec.motion_files(folder):
        path = reference_of(folder, motion)
        if path is None:
            continue
        name = rec.stem(motion)
        try:
            reference = read_reference(path)
            t_s, accel, gyro = rec.read_motion(motion)
            trials[own][name] = score(*rec.tilt(args.program, motion, args.live, t_s[0]), reference)
            rate_hz = (len(t_s) - 1) / (t_s[-1] - t_s[0])
            for other, run in others.items():
                q = run(rate_hz, np.ascontiguousarray(gyro), np.ascontiguousarray(accel))
                trials[other][name] = score(t_s, q, reference)
        except rec.Refused as why:
            refused += 1
            print(f"{name}: refused: {why}")
    if not trials[own]:
        raise rec.Refused(f"{folder}: no trial could be scored")
    for title, scored in trials.items():
        show(title, scored)
    figures = {title: per_trial(scored) for title, scored in trials.items()}
    for other in [title for title in figures if title.startswith("VQF")]:
        worse = worse_than(figures[own], figures[other])
        print(f"\ntrials worse than {other} by more than a tenth: {', '.join(worse) or 'none'}")
    if args.json:
        with open(args.json, "w", encoding="utf-8") as file:
            json.dump(figures, file, indent=1)
    return 1 if refused else 0


def selftest():
    t_s = np.arange(3000) / 100.0
    swing = np.stack([np.sin(0.7 * t_s), np.sin(0.4 * t_s + 1), np.sin(0.3 * t_s + 2)], 1)
    q = rec.turn(swing)
    reference = (t_s, rec.up(q), t_s > 5)
    fixed = lambda degrees, axis: np.tile(rec.turn(np.radians(degrees) * np.asarray(axis, float)), (len(t_s), 1))
    rmse = lambda times, answer: rec.rms(score(times, answer, reference)[len(LAGS_S) // 2])
    tilted = rec.product(fixed(2.0, [0.6, 0.8, 0.0]), q)
    late = score(t_s, rec.turn(np.stack([np.interp(t_s - 0.004, t_s, s) for s in swing.T], 1)), reference)
    csv = lambda answer: "t_s,w,x,y,z\n" + "".join(f"{t},{w},{x},{y},{z}\n" for t, (w, x, y, z) in zip(t_s, answer))

    def refuses(call):
        try:
            call()
        except rec.Refused:
            return True
        return False

    broken = q.copy()
    broken[7, 1] = np.nan
    return rec.verdict([
        ("the truth scores nothing", rmse(t_s, q) < 1e-6),
        ("heading doesn't count", rmse(t_s, rec.product(fixed(80.0, [0, 0, 1]), q)) < 1e-6),
        ("the sign of a quaternion doesn't count", rmse(t_s, -q) < 1e-6),
        ("two degrees of tilt are two degrees", abs(rmse(t_s, tilted) - 2.0) < 1e-6),
        ("half the rate is filled in", rmse(t_s[::2], q[::2]) < 0.01),
        ("a delay of 4 ms is found", summary({"late": late})[2] == 0.004 and summary({"late": late})[1] < 0.01),
        ("half an answer is refused", refuses(lambda: score(t_s[:1500], q[:1500], reference))),
        ("a hole is refused", refuses(lambda: score(np.delete(t_s, slice(900, 980)), np.delete(q, slice(900, 980), 0), reference))),
        ("a written answer is read", np.allclose(rec.parse_tilt(csv(q))[1], q)),
        ("NaN is refused", refuses(lambda: rec.parse_tilt(csv(broken)))),
        ("another length is refused", refuses(lambda: rec.parse_tilt(csv(1.1 * q)))),
        ("a tenth worse is told", worse_than({"a": [1.2, 1.0]}, {"a": [1.0, 1.0]}) == ["a 1.200 against 1.000"]),
        ("a tenth worse is not told too soon", worse_than({"a": [1.05, 1.0]}, {"a": [1.0, 1.0]}) == []),
        ("no header is refused", refuses(lambda: rec.parse_tilt("1,1,0,0,0\n2,1,0,0,0\n"))),
    ])


if __name__ == "__main__":
    rec.end(main)
