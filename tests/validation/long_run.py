#!/usr/bin/env python3
"""Memory and processor time of a long live run: four simulated sensors at 200 Hz, in real time, recorded.

    python tests/validation/long_run.py target/release/legraise [SECONDS]

Linux only. Prints the resident memory every minute, its slope after the first two minutes, and the share of one core.
"""

import os
import subprocess
import sys
import tempfile
import time

SENSORS = ["shinright", "shinleft", "thighright", "pelvis"]
PAGE_MB = os.sysconf("SC_PAGE_SIZE") / 1e6
TICK_S = 1 / os.sysconf("SC_CLK_TCK")
WARM_S = 120


def resident_mb(pid):
    with open(f"/proc/{pid}/statm") as file:
        return int(file.read().split()[1]) * PAGE_MB


def cpu_s(pid):
    with open(f"/proc/{pid}/stat") as file:
        fields = file.read().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) * TICK_S


def slope(points):
    """Least squares, per minute."""
    n = len(points)
    mean_t = sum(t for t, _ in points) / n
    mean_y = sum(y for _, y in points) / n
    below = sum((t - mean_t) ** 2 for t, _ in points)
    return 60 * sum((t - mean_t) * (y - mean_y) for t, y in points) / below


def main():
    program, seconds = sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 1800
    with tempfile.TemporaryDirectory() as folder:
        call = [program, "live", *(f"{s}=synthetic:slow,hz=200" for s in SENSORS)]
        call += ["--json", "--seconds", str(seconds), "--data", folder]
        run = subprocess.Popen(call, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        # Lines are counted by another program, so that none is kept here.
        lines = subprocess.Popen(["wc", "-l"], stdin=run.stdout, stdout=subprocess.PIPE)
        run.stdout.close()
        began, points, warm = time.monotonic(), [], None
        while time.monotonic() - began < seconds - 5 and run.poll() is None:
            time.sleep(5)
            now = time.monotonic() - began
            if now > WARM_S or seconds < 2 * WARM_S:
                warm = warm or (now, cpu_s(run.pid))
                points.append((now, resident_mb(run.pid)))
            if int(now) % 60 < 5:
                print(f"{now:6.0f} s  {resident_mb(run.pid):7.1f} MB  {cpu_s(run.pid):6.1f} s of processor", flush=True)
        span_s, used_s = points[-1][0] - warm[0], cpu_s(run.pid) - warm[1]
        print(f"memory {points[-1][1]:.1f} MB, {slope(points):+.3f} MB a minute; {100 * used_s / span_s:.2f} % of one core")
        _, told = run.communicate()
        print(f"exit {run.returncode}, {lines.communicate()[0].decode().strip()} lines")
        print(told.decode().strip())
        kept = [name for _, _, names in os.walk(folder) for name in names if name.endswith("_motion.tsv")]
        print(f"{len(kept)} files of samples")


if __name__ == "__main__":
    main()
