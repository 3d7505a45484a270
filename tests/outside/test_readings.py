"""Random readings judged by Python's own csv and statistics: the same counts, means and spreads."""

from __future__ import annotations

import csv
import math
import random
import statistics

import pytest
from common import ROOT, draft_json, run

CHOIR = ROOT / "examples" / "choir-tie.tie"
EXACT = 2e-6  # mm: numbers are written to a millionth of a millimetre
UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4}


def points(tmp_path) -> dict[str, dict[str, tuple[float, float]]]:
    """By size: value and tolerance of every point."""
    found = {}
    for arguments in ([], ["--size", "all"]):
        for drafted in draft_json(CHOIR.read_text("utf-8"), tmp_path / f"json{len(arguments)}", *arguments).values():
            every = [p for inspection in drafted["inspections"] for p in inspection["points"]]
            found[drafted["size"] or ""] = {p["name"]: (p["value"], p["tolerance"]) for p in every}
    return found


def written(millimetres: float, unit: str, rng: random.Random) -> tuple[str, float]:
    """A reading as somebody would write it, and what it says in mm."""
    value = millimetres / UNITS[unit]
    if unit == "in" and rng.random() < 0.6:
        parts = max(1, round(value * 32))
        whole, rest = divmod(parts, 32)
        words = f"{whole} {rest}/32" if whole and rest else f"{rest}/32" if rest else f"{whole}"
        return words, parts / 32 * 25.4
    words = f"{value:.3f}"
    return words, float(words) * UNITS[unit]


@pytest.mark.parametrize("seed,rows", [(1, 3), (2, 60), (3, 2000)])
def test_statistics_are_those_of_python(seed, rows, tmp_path):
    rng = random.Random(seed)
    wanted = points(tmp_path)
    names = list(wanted[""])
    units = {name: rng.choice([None, "mm", "in"]) for name in names}
    headings = [name if units[name] is None else f"{name} ({units[name]})" for name in names]
    readings: dict[tuple[str, str], list[float]] = {}
    blanks: dict[tuple[str, str], int] = {}
    outside = []
    table = tmp_path / "table.csv"
    with table.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(["tie", "size", *headings])
        for n in range(rows):
            size = rng.choice(list(wanted))
            cells = []
            for name in names:
                value, tolerance = wanted[size][name]
                if rng.random() < 0.2 and cells:
                    cells.append("")
                    blanks[size, name] = blanks.get((size, name), 0) + 1
                    continue
                unit = units[name] or rng.choice(list(UNITS))
                words, said = written(value + rng.gauss(0.2, 0.6) * tolerance, unit, rng)
                cells.append(words if units[name] else f"{words} {unit}")
                readings.setdefault((size, name), []).append(said)
                if abs(said - value) > tolerance + 1e-6:
                    outside.append((f"T-{n}", size, name, said))
            writer.writerow([f"T-{n}", size, *cells])
    result = run("readings", CHOIR, table, "--out", tmp_path / "out")
    assert result.returncode == 0, result.stderr.decode()
    with (tmp_path / "out/choir-tie-readings.csv").open(newline="", encoding="utf-8") as file:
        found = {(row["size"], row["point"]): row for row in csv.DictReader(file)}
    for (size, name), values in readings.items():
        row = found[size, name]
        value, tolerance = wanted[size][name]
        past = [v for v in values if abs(v - value) > tolerance + 1e-6]
        assert int(row["readings"]) == len(values)
        assert int(row["not measured"]) == blanks.get((size, name), 0)
        assert int(row["outside"]) == len(past)
        assert math.isclose(float(row["share outside"]), len(past) / len(values), abs_tol=EXACT)
        mean = statistics.fmean(values)
        assert math.isclose(float(row["mean"]), mean, abs_tol=EXACT)
        assert math.isclose(float(row["mean off"]), mean - value, abs_tol=EXACT)
        if len(values) > 1:
            assert math.isclose(float(row["spread"]), statistics.stdev(values), abs_tol=EXACT)
        else:
            assert row["spread"] == ""
        assert math.isclose(float(row["least"]), min(values), abs_tol=EXACT)
        assert math.isclose(float(row["greatest"]), max(values), abs_tol=EXACT)
    with (tmp_path / "out/choir-tie-outside.csv").open(newline="", encoding="utf-8") as file:
        listed = [(r["tie"], r["size"], r["point"], float(r["reading"])) for r in csv.DictReader(file)]
    assert [one[:3] for one in listed] == [one[:3] for one in outside]
    assert all(math.isclose(a[3], b[3], abs_tol=EXACT) for a, b in zip(listed, outside))
