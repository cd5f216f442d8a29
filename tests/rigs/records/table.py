"""Reads a table of raises back as a spreadsheet would: `python table.py FILE , NAME`, NAME as it was given.

Checks the byte order mark, line ends, one width throughout, that the name came back unharmed as text, and that no cell
begins like a formula unless it is a number.
"""

import csv
import io
import sys

RISKY = ("=", "+", "-", "@", "\t", "\r", "\0")


def is_number(text: str, separator: str) -> bool:
    try:
        float(text.replace(",", ".") if separator == ";" else text)
        return True
    except ValueError:
        return False


def main(arguments: list[str]) -> int:
    path, separator, name = arguments
    with open(path, "rb") as file:
        raw = file.read()
    assert raw.startswith(b"\xef\xbb\xbf"), "no byte order mark"
    text = raw.decode("utf-8-sig")
    rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True))
    header, body = rows[0], rows[1:]
    assert body, "no rows"
    assert {len(row) for row in rows} == {len(header)}, "rows of different widths"
    assert text.count("\n") - text.count("\r\n") == name.count("\n") * len(body), "a line doesn't end with CRLF"
    for row in body:
        cells = dict(zip(header, row))
        told = cells["name"]
        assert told == ("'" + name if name.startswith(RISKY) else name), f"{told!r}"
        for cell in row:
            assert not cell.startswith(RISKY) or is_number(cell, separator), f"{cell!r} may be taken for a formula"
        assert not cells["end_point_deg"] or is_number(cells["end_point_deg"], separator), cells["end_point_deg"]
    print(f"{len(body)} rows")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
