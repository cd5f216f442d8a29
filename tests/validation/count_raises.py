#!/usr/bin/env python3
"""Counts the raises that the program finds, against reference tables.

    count_raises.py FOLDER [--side right] [--program PATH]
    count_raises.py --selftest

FOLDER holds recordings, and in derivatives/reference the tables sub-S[_ses-V]_task-legraise_run-NN_raises.tsv with
columns n start_s end_s, and perhaps kind and peak_smoothed_deg. A raise is found if a raise of the program overlaps it
by more than half of the shorter of the two; each is used once. One that is in no table counts as extra, or as cut if the
program says that the recording's ends cut it and gives no number. A column peak_smoothed_deg is somebody's filter, not
a truth: how far the peaks differ from it is printed beside, and judges nothing.

Exit status: 0 all raises found and none beside them; 1 otherwise; 2 wrong usage.
"""
import argparse
import glob
import os

import numpy as np

import recordings as rec


CUT = {"begins-outside", "ends-outside"}


def matches(reference, found):
    """Pairs of indices of raises that overlap, in order of time, each used once."""
    pairs, free = [], set(range(len(found)))
    for n, (start_s, end_s) in enumerate(reference):
        shared = {}
        for k in free:
            overlap_s = min(end_s, found[k][1]) - max(start_s, found[k][0])
            if overlap_s > 0.5 * min(end_s - start_s, found[k][1] - found[k][0]):
                shared[k] = overlap_s
        if shared:
            best = max(shared, key=shared.get)
            free.discard(best)
            pairs.append((n, best))
    return pairs


def recording_of(analysis, table):
    """The analysed recording that a table of raises belongs to."""
    named = {key: value for key, value in rec.entities(table).items() if key != "task"}
    found = [recording for recording in analysis["recordings"]
             if named.items() <= dict(part.split("-", 1) for part in recording["recording"].split("/")).items()]
    if len(found) != 1:
        raise rec.Refused(f"{len(found)} analysed recordings for this table, expected one")
    return found[0]


def score(table, recording, side):
    """Counts of one recording: expected, given, extra, cut; the missed ones; differences of peaks, degrees."""
    rows = rec.rows_of(table)
    raises = recording["raises"]
    expected = [(float(row["start_s"]), float(row["end_s"])) for row in rows]
    pairs = [(n, k) for n, k in matches(expected, [(r["start_s"], r["end_s"]) for r in raises])
             if side in (None, raises[k]["side"])]
    peaks = [raises[k]["peak"]["angle_deg"] - float(rows[n]["peak_smoothed_deg"]) for n, k in pairs
             if raises[k]["peak"] and "peak_smoothed_deg" in rows[n]]
    missed = [rows[n].get("n", str(n + 1)) for n in range(len(rows)) if n not in {a for a, _ in pairs}]
    used = {k for _, k in pairs}
    beside = [raise_ for k, raise_ in enumerate(raises) if k not in used]
    cut = sum(not raise_["peak"] and not CUT.isdisjoint(raise_["flags"]) for raise_ in beside)
    return (len(rows), len(raises), len(beside) - cut, cut), missed, peaks


def show(name, counts, missed, peaks):
    true, given, extra, cut = counts
    beside = f"{rec.rms(peaks):.2f}" if peaks else "-"
    which = f'   missed: {", ".join(missed)}' if missed and name != "all" else ""
    print(f"{name:<30}{true:6d}{given:7d}{len(missed):8d}{extra:7d}{cut:5d}   {beside}{which}")


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    rec.add_arguments(parser)
    parser.add_argument("--side", choices=("left", "right"), help="the leg that was raised; others count as extra")
    args = parser.parse_args()
    if args.selftest:
        return selftest()
    folder = rec.folder_of(parser, args)
    tables = sorted(glob.glob(os.path.join(folder, "derivatives", "reference", "*_raises.tsv")))
    if not tables:
        raise rec.Refused(f"{folder}: no *_raises.tsv in derivatives/reference")
    analysis = rec.replay(args.program, folder)
    print(f'{"recording":<30}{"true":>6}{"given":>7}{"missed":>8}{"extra":>7}{"cut":>5}   peak, rms deg')
    totals, every_missed, every_peak, refused = np.zeros(4, int), [], [], 0
    for table in tables:
        name = os.path.basename(table).replace("_raises.tsv", "")
        try:
            counts, missed, peaks = score(table, recording_of(analysis, table), args.side)
        except rec.Refused as why:
            refused += 1
            print(f"{name}: refused: {why}")
            continue
        totals += counts
        every_missed += missed
        every_peak += peaks
        show(name, counts, missed, peaks)
    show("all", totals, every_missed, every_peak)
    return 1 if refused or every_missed or totals[2] else 0


def selftest():
    reference = [(1.0, 5.0), (6.0, 9.0), (10.0, 14.0)]
    return rec.verdict([
        ("itself", matches(reference, reference) == [(0, 0), (1, 1), (2, 2)]),
        ("a missed one", matches(reference, [reference[0], reference[2]]) == [(0, 0), (2, 1)]),
        ("one cut in two counts once", len(matches(reference[:1], [(1.0, 2.9), (3.0, 5.0)])) == 1),
        ("two joined count once", len(matches(reference[:2], [(1.0, 9.0)])) == 1),
        ("a raise elsewhere is extra", matches(reference[:1], [(20.0, 24.0)]) == []),
        ("a table finds its recording", recording_of(
            {"recordings": [{"recording": "sub-A/ses-1/run-01"}, {"recording": "sub-A/ses-1/run-02"}]},
            "sub-A_task-legraise_run-02_raises.tsv")["recording"].endswith("02")),
    ])


if __name__ == "__main__":
    rec.end(main)
