#!/bin/sh
# How fast the window is, with the real one on a virtual display: its first frame beside that of an empty window, its work
# of a frame with an hour of curve behind it, how soon a packet of four sensors at 200 Hz is seen, and what it costs idle.
# Needs: Xvfb; Debian: apt-get install xvfb libgl1-mesa-dri libxkbcommon-x11-0
# Usage: tests/speed.sh
set -eu
cd "$(dirname "$0")/.."
target=${CARGO_TARGET_DIR:-target}
cargo build -q --release -p gui --no-default-features --features pictures
program=$PWD/$target/release/legraise
case $target in /*) program=$target/release/legraise ;; esac
on_display() { xvfb-run -a -s "-screen 0 1280x720x24" "$@"; }
on_display env LEGRAISE_SPEED=frames "$program"
on_display env LEGRAISE_SPEED=followed "$program"
# Both windows by turns on one display, ten of each: medians of what passes until each has closed after one frame.
on_display python3 - "$program" <<'PY'
import os, statistics, subprocess, sys, time
taken = {"empty": [], "first": []}
for turn in range(11):
    for what in taken:
        begun = time.monotonic()
        subprocess.run([sys.argv[1]], env={**os.environ, "LEGRAISE_SPEED": what}, check=True)
        if turn:  # the first of each finds nothing in memory
            taken[what].append(time.monotonic() - begun)
empty, first = (statistics.median(taken[what]) * 1e3 for what in ("empty", "first"))
print(f"first frame: {first:.0f} ms, of an empty window {empty:.0f} ms: {first / empty:.2f} times")
PY
