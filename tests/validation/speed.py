#!/usr/bin/env python3
"""Times tilt beside the general-purpose filter VQF, reading beside a bare walk over the same numbers, and a run from its
files to its result beside reading and smoothing alone; all in one run. Prints nanoseconds a sample and ratios.

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


UNITS_NS = {'ns': 1, 'µs': 1e3, 'ms': 1e6, 's': 1e9}
RATES_HZ = {'item/s': 1, 'Kitem/s': 1e3, 'Mitem/s': 1e6, 'Gitem/s': 1e9}


def ours():
    """From the bench's fastest repeats: nanoseconds of each, and nanoseconds a sample of those that count samples, whose
    items a second stand on the line below."""
    out = subprocess.run(['cargo', 'bench', '-q', '-p', 'suite', '--bench', 'speed'], capture_output=True, text=True)
    if out.returncode:
        sys.exit(f'the bench failed: {out.stderr.strip()[-300:]}')
    lines = out.stdout.splitlines()
    whole, each = {}, {}
    for n, line in enumerate(lines):
        name = re.search(r'─ (\w+) +([\d.]+) (\S+)', line)
        if name and name.group(3) in UNITS_NS:
            whole[name.group(1)] = float(name.group(2)) * UNITS_NS[name.group(3)]
            below = lines[n + 1].split('│')[1].split() if n + 1 < len(lines) else []
            if len(below) == 2 and below[1] in RATES_HZ:
                each[name.group(1)] = 1e9 / (float(below[0]) * RATES_HZ[below[1]])
    return whole, each


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
    other = theirs(ap.parse_args().repeat)
    whole, each = ours()
    for kind in ('causal', 'smoothed'):
        mine = each[kind + '_tilt']
        print(f'{kind:<9} {mine:6.0f} ns a sample, VQF {other[kind]:6.0f} ns, ratio {mine / other[kind]:.2f}')
    print(f'reading a file: {whole["bare_walk"] / whole["read_one_file"]:.2f} of the speed of a bare walk over its numbers')
    print(f'a run from files to result: {each["read_and_analyse"]:.0f} ns a sample, '
          f'{whole["read_and_analyse"] / whole["read_and_smooth"]:.2f} times reading and smoothing')


if __name__ == '__main__':
    main()
