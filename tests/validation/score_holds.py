#!/usr/bin/env python3
"""Scores the shin's angle on real leg raises, hold less rest, in three ways.

    score_holds.py FOLDER [--axis x] [--program PATH]
    score_holds.py --selftest

FOLDER holds recordings, and in derivatives/reference the tables sub-S_task-T_run-NN_PLACEMENT_holds.tsv with columns
n rest_start_s rest_end_s hold_start_s hold_end_s angle_deg: how far the accelerometer alone says that the sensor's
axis along the leg has risen from a quiet rest to a quiet hold.

Three differences are printed for each recording and for all, root mean square and 95th percentile in degrees:
  tilt - accel   the program's tilt against the accelerometer. The two share the accelerometer's offset and scale.
  gyro - accel   from the program's tilt at the rest, the raw gyroscope less its mean over the rest, integrated to the
                 hold, against the accelerometer. No accelerometer after the rest: how far the two sensors disagree.
  tilt - gyro    the program's tilt against that integral: what the accelerometer's part at the hold has changed.
Short rests make the second and third larger: the mean rate of half a second is a poor bias.

Exit status: 0 all scored; 1 some recordings were refused; 2 wrong usage.
"""
import argparse
import glob
import os

import numpy as np

import recordings as rec

WAYS = ("tilt - accel", "gyro - accel", "tilt - gyro")


def elevation_deg(up, axis):
    """How far a sensor axis points above the horizon."""
    across = np.delete(up, axis, axis=1)
    return np.degrees(np.arctan2(up[:, axis], np.linalg.norm(across, axis=1)))


def inside(t_s, from_s, to_s):
    chosen = np.flatnonzero((t_s >= from_s - 1e-6) & (t_s <= to_s + 1e-6))
    if len(chosen) < 2:
        raise rec.Refused(f"no samples from {from_s} to {to_s} s")
    return chosen


def integrated_up(t_s, gyro, rest, hold, up_at_rest):
    """Up in sensor axes over the hold, carried from the rest by the gyroscope less its mean over the rest."""
    rate = gyro - gyro[rest].mean(0)
    middle = rest[len(rest) // 2]
    up = up_at_rest / np.linalg.norm(up_at_rest)
    course = []
    for k in range(middle + 1, hold[-1] + 1):
        step_rad = 0.5 * (rate[k] + rate[k - 1]) * (t_s[k] - t_s[k - 1])
        w, *vector = rec.turn(-step_rad)[0]
        twice = 2.0 * np.cross(vector, up)
        up = up + w * twice + np.cross(vector, twice)
        course.append(up)
    return np.array(course[hold[0] - middle - 1:])


def differences(hold_row, t_s, gyro, up, axis):
    """The three differences of one raise, degrees."""
    column = lambda name: float(hold_row[name])
    rest = inside(t_s, column("rest_start_s"), column("rest_end_s"))
    hold = inside(t_s, column("hold_start_s"), column("hold_end_s"))
    elevation = elevation_deg(up, axis)
    at_rest = elevation[rest].mean()
    tilt = elevation[hold].mean() - at_rest
    carried = integrated_up(t_s, gyro, rest, hold, up[rest].mean(0))
    gyro_only = elevation_deg(carried, axis).mean() - at_rest
    accel = column("angle_deg")
    return tilt - accel, gyro_only - accel, tilt - gyro_only


def score(program, motion, table, axis, live):
    t_s, _, gyro = rec.read_motion(motion)
    tilt_s, q = rec.tilt(program, motion, live, t_s[0])
    if len(tilt_s) != len(t_s):
        raise rec.Refused(f"{len(tilt_s)} rows for {len(t_s)} samples")
    up = rec.up(q)
    return np.array([differences(row, t_s, gyro, up, axis) for row in rec.rows_of(table)])


def motion_of(folder, table):
    """The recording a table of holds belongs to."""
    named = rec.entities(table)
    placement = os.path.basename(table).split("_")[-2]
    found = rec.motion_files(folder, **named, tracksys=placement)
    if len(found) != 1:
        raise rec.Refused(f"{len(found)} recordings for this table, expected one")
    return found[0]


def show(name, found):
    cells = "".join(f"{rec.rms(way):8.3f} ({np.percentile(np.abs(way), 95):5.2f})" for way in found.T)
    print(f"{name:<38}{len(found):5d}{cells}")


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    rec.add_arguments(parser)
    parser.add_argument("--axis", choices="xyz", default="x", help="the sensor axis along the leg (default x)")
    args = parser.parse_args()
    if args.selftest:
        return selftest()
    folder = rec.folder_of(parser, args)
    axis = "xyz".index(args.axis)
    tables = sorted(glob.glob(os.path.join(folder, "derivatives", "reference", "*_holds.tsv")))
    if not tables:
        raise rec.Refused(f"{folder}: no *_holds.tsv in derivatives/reference")
    refused = 0
    for live in (False, True):
        print(f'\n{"live" if live else "smoothed"}, degrees: root mean square (95th percentile)')
        print(f'{"recording":<38}holds' + "".join(f"{way:>16}" for way in WAYS))
        everything = []
        for table in tables:
            name = os.path.basename(table).replace("_holds.tsv", "")
            try:
                everything.append(score(args.program, motion_of(folder, table), table, axis, live))
                show(name, everything[-1])
            except rec.Refused as why:
                refused += 1
                print(f"{name}: refused: {why}")
        if everything:
            show("all", np.concatenate(everything))
    return 1 if refused else 0


def selftest():
    """A leg that rises by 40 degrees in two seconds, with a biased gyroscope."""
    t_s = np.arange(0.0, 8.0, 0.01)
    share = np.clip((t_s - 2.0) / 2.0, 0.0, 1.0)
    angle = np.radians(40.0) * share * share * (3 - 2 * share)
    up = np.stack([np.sin(angle), np.zeros_like(angle), np.cos(angle)], 1)
    bias = np.array([0.01, -0.02, 0.005])
    gyro = np.stack([np.zeros_like(angle), -np.gradient(angle, t_s), np.zeros_like(angle)], 1) + bias
    row = {"rest_start_s": "0.5", "rest_end_s": "1.5", "hold_start_s": "5", "hold_end_s": "7", "angle_deg": "40"}
    right = differences(row, t_s, gyro, up, 0)
    high = differences({**row, "angle_deg": "39"}, t_s, gyro, up, 0)
    slow = differences(row, t_s, bias + 0.99 * (gyro - bias), up, 0)
    return rec.verdict([
        ("the truth scores nothing", np.abs(right).max() < 0.01),
        ("the reference enters where it should", np.allclose(np.subtract(high, right), [1, 1, 0], atol=1e-9)),
        ("a gyroscope 1 % short shows as 1 % of the rise", np.allclose(slow, [0, -0.4, 0.4], atol=0.01)),
    ])


if __name__ == "__main__":
    rec.end(main)
