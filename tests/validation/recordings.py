"""What the scorers share: motion files, the program's answers, and the up direction of a quaternion.

Needs numpy. All angles that leave this file are in degrees, all times in seconds.
"""
import csv
import glob
import gzip
import io
import json
import os
import subprocess
import sys

import numpy as np

PROGRAM = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..", "target", "release", "legraise")
G_M_S2 = 9.80665
ACCEL_UNITS = {"m/s^2": 1.0, "g": G_M_S2}
GYRO_UNITS = {"rad/s": 1.0, "deg/s": np.pi / 180.0}


class Refused(Exception):
    """An answer or a file that can't be scored, with the reason."""


def add_arguments(parser):
    """The arguments that every scorer takes."""
    parser.add_argument("folder", nargs="?", help="data set with recordings and references")
    parser.add_argument("--program", default=PROGRAM, help="the program to score (default: target/release/legraise)")
    parser.add_argument("--selftest", action="store_true", help="check the scorer itself on made-up numbers")


def folder_of(parser, args):
    """The folder named, or the end of the program."""
    if not args.folder:
        parser.error("name a folder")
    if not os.path.isdir(args.folder):
        parser.error(f"{args.folder}: no such folder")
    return args.folder


def open_text(path):
    return gzip.open(path, "rt") if path.endswith(".gz") else open(path, encoding="utf-8")


def rows_of(path):
    """A table with a header as a list of dicts."""
    with open_text(path) as file:
        return list(csv.DictReader(file, delimiter="\t"))


def entities(path):
    """`sub-A_task-b_motion.tsv` as {"sub": "A", "task": "b"}."""
    parts = os.path.basename(path).split(".")[0].split("_")
    return dict(part.split("-", 1) for part in parts if "-" in part)


def motion_files(folder, **wanted):
    """All motion files below a folder whose name says what is wanted, packed or not, in order of name."""
    found = sorted(glob.glob(os.path.join(folder, "**", "*_motion.tsv*"), recursive=True))
    return [path for path in found if wanted.items() <= entities(path).items()]


def stem(motion):
    """A motion file's name without its suffix and endings."""
    return os.path.basename(motion).split("_motion.tsv")[0]


def read_motion(path):
    """Times, accelerometer (m/s^2) and gyroscope (rad/s) of a file with one sensor; rows with `n/a` left out."""
    channels = rows_of(os.path.join(os.path.dirname(path), stem(path) + "_channels.tsv"))
    table = np.genfromtxt(path, delimiter="\t", missing_values="n/a", filling_values=np.nan)
    if table.ndim != 2 or table.shape[1] != len(channels):
        raise Refused(f"{path}: columns and channels differ")

    def column(kind, component, units):
        for index, channel in enumerate(channels):
            if channel["type"] == kind and channel["component"] == component:
                return table[:, index] * units.get(channel.get("units"), 1.0)
        raise Refused(f"{path}: no {kind} {component}")

    accel = np.stack([column("ACCEL", c, ACCEL_UNITS) for c in "xyz"], 1)
    gyro = np.stack([column("GYRO", c, GYRO_UNITS) for c in "xyz"], 1)
    t_s = column("LATENCY", "n/a", {})
    whole = np.isfinite(table).all(1)
    return t_s[whole], accel[whole], gyro[whole]


def answer_of(command):
    """Standard output of a program that ended well."""
    try:
        done = subprocess.run(command, capture_output=True, text=True, timeout=900, check=False)
    except (OSError, subprocess.TimeoutExpired) as error:
        raise Refused(f"could not run: {error}") from error
    if done.returncode:
        raise Refused(f"exit status {done.returncode}: {done.stderr.strip()[:300]}")
    return done.stdout


def parse_tilt(text):
    """Times and quaternions (w, x, y, z) of a tilt CSV, after the checks every answer must pass."""
    lines = text.splitlines()
    if not lines or lines[0].strip() != "t_s,w,x,y,z":
        raise Refused("the header is not t_s,w,x,y,z")
    try:
        table = np.loadtxt(io.StringIO("\n".join(lines[1:])), delimiter=",", ndmin=2)
    except ValueError as error:
        raise Refused(f"not a table of numbers: {error}") from error
    if len(table) < 2 or table.shape[1] != 5:
        raise Refused("fewer than two rows of five numbers")
    if not np.isfinite(table).all():
        raise Refused("NaN or infinite numbers")
    t_s, q = table[:, 0], table[:, 1:]
    if (np.diff(t_s) <= 0).any():
        raise Refused("times don't increase")
    length = np.linalg.norm(q, axis=1)
    if np.abs(length - 1.0).max() > 1e-3:
        raise Refused("quaternions are not of unit length")
    return t_s, q / length[:, None]


def tilt(program, path, live, first_s):
    """The program's tilt of one file, on the file's clock, whose first sample is at `first_s`."""
    command = [program, "tilt", path] + (["--live"] if live else [])
    t_s, q = parse_tilt(answer_of(command))
    return t_s - t_s[0] + first_s, q


def replay(program, folder):
    """The program's analysis of a data set, whether or not all of it could be analysed."""
    try:
        done = subprocess.run([program, "replay", "--json", folder], capture_output=True, text=True, check=False)
        if done.returncode not in (0, 1):
            raise Refused(f"exit status {done.returncode}: {done.stderr.strip()[:300]}")
        return json.loads(done.stdout)
    except (OSError, ValueError) as error:
        raise Refused(f"no analysis: {error}") from error


def up(q):
    """Up in sensor axes: the third row of the rotation matrix, for quaternions sensor to earth."""
    w, x, y, z = np.asarray(q, float).T
    return np.stack([2 * (x * z - w * y), 2 * (y * z + w * x), w * w - x * x - y * y + z * z], -1)


def product(a, b):
    """Quaternion product, row by row."""
    (aw, ax, ay, az), (bw, bx, by, bz) = np.asarray(a, float).T, np.asarray(b, float).T
    return np.stack([aw * bw - ax * bx - ay * by - az * bz, aw * bx + ax * bw + ay * bz - az * by,
                     aw * by - ax * bz + ay * bw + az * bx, aw * bz + ax * by - ay * bx + az * bw], -1)


def turn(vector_rad):
    """Quaternions of rotation vectors."""
    vector_rad = np.atleast_2d(vector_rad)
    half = 0.5 * np.linalg.norm(vector_rad, axis=1, keepdims=True)
    return np.concatenate([np.cos(half), 0.5 * vector_rad * np.sinc(half / np.pi)], 1)


def rms(values):
    return float(np.sqrt(np.mean(np.square(values))))


def verdict(checks):
    """Prints the outcome of a self-test, given as name and truth; returns the exit status."""
    for name, passed in checks:
        print(f'{"ok  " if passed else "FAIL"} {name}')
    return 0 if all(passed for _, passed in checks) else 1


def end(main):
    """Runs a scorer; what can't be scored at all is said in one line."""
    try:
        sys.exit(main())
    except Refused as why:
        sys.exit(f"{why}")
