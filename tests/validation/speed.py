#!/usr/bin/env python3
"""Times tilt beside the general-purpose filter VQF, both in one run, and prints nanoseconds a sample and the ratio.

    speed.py [--repeat N]

Ours is timed by the bench (`cargo bench -p suite`), VQF through its Python batch call on as many samples of noise about
rest; its cost doesn't depend on what the samples say. Needs cargo, numpy and the package vqf.
Exit status: 0 done; 1 the bench failed.
"""
import argparse
import re
import subprocess
import sys
import time

import numpy as np
import vqf

SAMPLES = 50_000
RATE_HZ = 200.0


def ours():
    """Nanoseconds a sample from the bench's fastest repeats: items a second stand on the line below each time."""
    out = subprocess.run(['cargo', 'bench', '-q', '-p', 'suite', '--bench', 'speed', '--', 'tilt'],
                         capture_output=True, text=True)
    if out.returncode:
        sys.exit(f'the bench failed: {out.stderr.strip()[-300:]}')
    lines = out.stdout.splitlines()
    found = {}
    for n, line in enumerate(lines):
        name = re.search(r'(causal|smoothed)_tilt', line)
        if name:
            fastest = lines[n + 1].split('│')[1].split()
            scale = {'Mitem/s': 1e6, 'Kitem/s': 1e3, 'Gitem/s': 1e9}[fastest[1]]
            found[name.group(1)] = 1e9 / (float(fastest[0]) * scale)
    return found


def theirs(repeat):
    rng = np.random.default_rng(1)
    gyro = rng.normal(0, 0.3, (SAMPLES, 3))
    accel = rng.normal(0, 0.3, (SAMPLES, 3)) + [0, 0, 9.81]
    best = {'causal': np.inf, 'smoothed': np.inf}
    for _ in range(repeat):
        start = time.perf_counter()
        vqf.VQF(1 / RATE_HZ).updateBatch(gyro, accel)
        middle = time.perf_counter()
        vqf.offlineVQF(gyro, accel, None, 1 / RATE_HZ)
        best['causal'] = min(best['causal'], (middle - start) / SAMPLES * 1e9)
        best['smoothed'] = min(best['smoothed'], (time.perf_counter() - middle) / SAMPLES * 1e9)
    return best


def main():
    ap = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ap.add_argument('--repeat', type=int, default=10, help="VQF's best of this many (default 10)")
    mine, other = ours(), theirs(ap.parse_args().repeat)
    for kind in ('causal', 'smoothed'):
        print(f'{kind:<9} {mine[kind]:6.0f} ns a sample, VQF {other[kind]:6.0f} ns, ratio {mine[kind] / other[kind]:.2f}')


if __name__ == '__main__':
    main()
