#!/usr/bin/env python3
"""Draws the plots of docs/validation.md as SVG, from the scorers' own output.

    plots.py BESIDE.json BESIDE-LIVE.json STRATA.txt FOLDER

The JSON files come from `score_tilt.py --others --json`, the text from the suite's simulated populations; all of it is
done by `beside.sh`. Needs nothing but Python.
"""
import json
import os
import re
import sys

OURS, OTHERS = "#1b6ca8", ["#e07b39", "#8a8a8a", "#b8b8b8", "#5f7f5f", "#9fbf9f"]
STRATUM = re.compile(r"^(.+): (\d+) raises, ([\d.]+) % covered, error 95 % ([\d.]+)°, interval ([\d.]+)°$")


class Drawing:
    """A little SVG: shapes and words, lettering that any reader has."""

    def __init__(self, width, height, title):
        self.size, self.parts = (width, height), []
        self.text(10, 18, title, bold=True)

    def bar(self, x, y, width, height, colour):
        self.parts.append(f'<rect x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}" fill="{colour}"/>')

    def line(self, x1, y1, x2, y2, colour="#999", dash=""):
        self.parts.append(f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{colour}" stroke-dasharray="{dash}"/>')

    def dot(self, x, y, colour):
        self.parts.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="{colour}"/>')

    def text(self, x, y, words, anchor="start", bold=False):
        weight = ' font-weight="bold"' if bold else ""
        self.parts.append(f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}"{weight}>{words}</text>')

    def write(self, path):
        width, height = self.size
        with open(path, "w", encoding="utf-8") as file:
            file.write(f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}" '
                       'font-family="sans-serif" font-size="11">\n<rect width="100%" height="100%" fill="white"/>\n'
                       + "\n".join(self.parts) + "\n</svg>\n")


def trials(figures, title, path, top_deg):
    """Lag-free error of each trial, one bar a filter."""
    names = list(next(iter(figures.values())))
    drawing = Drawing(790, 270, title)
    left, bottom, height, group = 40, 230, 170, 70
    for step in range(5):
        y = bottom - height * step / 4
        drawing.line(left, y, left + group * len(names), y, "#ddd")
        drawing.text(left - 4, y + 4, f"{top_deg * step / 4:.3g}°", "end")
    for k, (name, by_trial) in enumerate(figures.items()):
        colour = OURS if k == 0 else OTHERS[(k - 1) % len(OTHERS)]
        wide = (group - 14) / len(figures)
        drawing.bar(left + 122 * k, 30, 9, 9, colour)
        drawing.text(left + 122 * k + 12, 39, name.split(", gain")[0])
        for n, trial in enumerate(names):
            value = by_trial[trial][1]
            tall = height * min(value / top_deg, 1.0)
            x = left + group * n + 7 + wide * k
            drawing.bar(x, bottom - tall, wide - 1, tall, colour)
            if value > top_deg:  # it goes on: the table tells how far
                drawing.bar(x, bottom - height + 8, wide - 1, 3, "white")
    for n, trial in enumerate(names):
        drawing.text(left + group * (n + 0.5), bottom + 14, trial.split("_")[0].removeprefix("sub-"), "middle")
    drawing.write(path)


def strata(text, path):
    """Share of true peaks inside their interval, and how wide that is, stratum by stratum."""
    rows = [m.groups() for m in map(STRATUM.match, text.splitlines()) if m]
    if not rows:
        sys.exit("no strata in the suite's output")
    drawing = Drawing(760, 70 + 20 * len(rows), "True peaks inside the stated 95 % interval (dots, with 95 % of chance), "
                      "and half its width (bars)")
    left, right, wide = 190, 470, 240
    at = lambda share: left + (share - 85) / 15 * (right - left)
    for share in (85, 90, 95, 100):
        drawing.line(at(share), 40, at(share), 44 + 20 * len(rows), "#333" if share == 95 else "#ddd")
        drawing.text(at(share), 36, f"{share} %", "middle")
    for half in (0.0, 0.25, 0.5):
        x = right + 30 + wide * half / 0.6
        drawing.line(x, 40, x, 44 + 20 * len(rows), "#ddd")
        drawing.text(x, 36, f"{half:g}°", "middle")
    for n, (name, count, covered, _, interval) in enumerate(rows):
        y = 54 + 20 * n
        share, spread = float(covered), 196 * (max(float(covered) / 100 * (1 - float(covered) / 100), 1e-4) / int(count)) ** 0.5
        drawing.text(left - 8, y + 4, f"{name} ({count})", "end")
        drawing.line(at(max(share - spread, 85)), y, at(min(share + spread, 100)), y, OURS)
        drawing.dot(at(share), y, OURS)
        drawing.bar(right + 30, y - 5, wide * float(interval) / 0.6, 10, OURS)
    drawing.write(path)


def main():
    if len(sys.argv) != 5:
        sys.exit(__doc__)
    smoothed, live = (json.load(open(path, encoding="utf-8")) for path in sys.argv[1:3])
    folder = sys.argv[4]
    trials({n: f for n, f in smoothed.items() if n.startswith(("legraise", "VQF"))},
           "Error of tilt with one common lag taken out, recordings smoothed", os.path.join(folder, "validation-smoothed.svg"), 0.5)
    trials(live, "Error of tilt with one common lag taken out, sample by sample", os.path.join(folder, "validation-live.svg"), 2.0)
    strata(open(sys.argv[3], encoding="utf-8").read(), os.path.join(folder, "validation-coverage.svg"))


if __name__ == "__main__":
    main()
