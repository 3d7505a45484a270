"""A size run: one style in lengths from 48 to 72 in and blade widths from 2 to 4 in, graded by its shape.

Sources: where the extra goes is the shares that the shape states, worked out here by hand, and the drafts
of what comes out are compared with `independent.py`. What must grow or shrink along the run follows from
that: a longer tie has more of everything, and its joins only lie farther out of the tapers.
"""

from __future__ import annotations

import csv
import json
import re
from dataclasses import fields
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from common import SAME_AREA, SAME_LENGTH, Outline, draft, pieces, run
from independent import INCH, Draft, Parameters

LENGTHS = tuple(range(48, 73, 4))  # in
WIDTHS = (2.0, 2.5, 3.0, 3.5, 4.0)  # in
EXACT = 1e-6  # mm; the same numbers added up in another order
SVG = "{http://www.w3.org/2000/svg}"
NESTED = (48, 60, 72)  # in; all of the run are more sizes than a picture can tell apart, or a reader
MERGED = 0.3  # mm on the picture: outlines nearer to each other are drawn as one, on either side

SIZES = {f"l{length}-w{width * 10:.0f}": (length, width) for length in LENGTHS for width in WIDTHS}
SHAPES = ("four-in-hand", "four-in-hand-two-panel")


def source(shape: str, sizes=None) -> str:
    chosen = SIZES if sizes is None else sizes
    lines = [f"  size {name} {{ length {length} in; blade-width {width} in }}" for name, (length, width) in chosen.items()]
    return f'style run from {shape} "for everybody" {{\n' + "\n".join(lines) + "\n}\n"


@pytest.fixture(scope="module", params=SHAPES)
def drafted(request, tmp_path_factory) -> tuple[str, dict[tuple[int, float], dict], Path]:
    """The shape, the draft of every length and width, and the table."""
    directory = tmp_path_factory.mktemp(request.param)
    (directory / "run.tie").write_text(source(request.param), encoding="utf-8")
    files = draft(directory / "run.tie", directory / "out", "json,table", "--size", "all")
    assert len(files) == len(SIZES) + 1
    found = {at: json.loads(files[f"run-{name}.json"].read_text("utf-8")) for name, at in SIZES.items()}
    return request.param, found, files["run-sizes.csv"]


def by_hand(shape: str, length: float, width: float) -> Parameters:
    start = Parameters() if shape == "four-in-hand" else Parameters(blade_length=36 * INCH)
    return start.graded(length * INCH, width * INCH)


def on_the_centre(path: str) -> tuple[float, float]:
    """From where to where an outline lies on the centre."""
    polygon = Outline.parse(path).polygon()
    low, _, high, _ = polygon.intersection(shapely.LineString([(-1e4, 0), (1e4, 0)])).bounds
    return low, high


def test_every_size_proves_without_a_warning(drafted, tmp_path):
    shape, found, _ = drafted
    for at, one in found.items():
        assert one["proof"], at
        assert all(row["holds"] for row in one["proof"]), at
    (tmp_path / "run.tie").write_text(source(shape), encoding="utf-8")
    checked = run("check", tmp_path / "run.tie")
    assert checked.returncode == 0 and not checked.stderr
    assert f"nothing wrong in {len(SIZES) + 1} drafts" in checked.stdout.decode()


def test_parameters_follow_by_the_shares(drafted):
    shape, found, _ = drafted
    for at, one in found.items():
        wanted = by_hand(shape, *at)
        for field in fields(Parameters):
            name = field.name.replace("_", "-")
            if name in one["parameters"]:
                assert one["parameters"][name] == pytest.approx(getattr(wanted, field.name), abs=EXACT), (at, name)


def test_joins_lie_where_the_shares_put_them(drafted):
    """Half of the extra before the first join, a quarter behind the second, a quarter in the neck panel."""
    shape, found, _ = drafted
    for (length, width), one in found.items():
        longer = (length - 57) * INCH
        cut = pieces(one)
        if shape == "four-in-hand":
            first, second = 31 * INCH + longer / 2, length * INCH - 15 * INCH - longer / 4
            assert on_the_centre(cut["neck"]["net"]) == pytest.approx((first, second), abs=SAME_LENGTH)
            assert second - first == pytest.approx(11 * INCH + longer / 4, abs=EXACT)
        else:
            first = second = 36 * INCH + longer / 2
        assert on_the_centre(cut["blade"]["net"])[1] == pytest.approx(first, abs=SAME_LENGTH), (length, width)
        assert on_the_centre(cut["tail"]["net"])[0] == pytest.approx(second, abs=SAME_LENGTH), (length, width)


def test_the_even_neck_grows_with_the_tie_and_holds_the_first_join(drafted):
    """Seven tenths of the extra; a wider blade takes its longer taper, point and tail point out of it."""
    _, found, _ = drafted
    for (length, width), one in found.items():
        longer, wider = (length - 57) * INCH, (width - 3.25) * INCH
        measures = one["measures"]
        neck = 12.5 * INCH + 0.7 * longer - (3 + 0.5 + 0.15) * wider
        assert measures["neck-run"] == pytest.approx(neck, abs=EXACT), (length, width)
        if width <= 3:
            join = one["parameters"]["blade-length"]
            assert measures["taper-end"] < join < measures["taper-end"] + measures["neck-run"], (length, width)


@pytest.mark.parametrize("at", [(48, 2.0), (48, 4.0), (60, 3.0), (72, 2.0), (72, 4.0)])
def test_drafts_are_those_of_the_same_measures(drafted, at):
    shape, found, _ = drafted
    expected, one = Draft(by_hand(shape, *at)), found[at]
    for name in ("front-opening", "tail-opening", "closed-length"):
        assert one["measures"][name] == pytest.approx(expected.measures()[name], abs=SAME_LENGTH)
    blade = pieces(one)["blade"]
    assert blade["net_area"] == pytest.approx(expected.panels["blade"].net_area, rel=SAME_AREA)


def column(found, width, value) -> np.ndarray:
    return np.array([value(found[length, width]) for length in LENGTHS])


def row(found, length, value) -> np.ndarray:
    return np.array([value(found[length, width]) for width in WIDTHS])


def test_a_longer_tie_has_more_of_everything(drafted):
    _, found, _ = drafted
    for width in WIDTHS:
        assert (np.diff(column(found, width, lambda one: one["measures"]["closed-length"])) > 0).all()
        for name in pieces(found[48, width]):
            cloth = column(found, width, lambda one, name=name: pieces(one)[name]["area"])
            # What lies across the tie, or at its points, may only follow the taper, a hair.
            grows = np.diff(cloth) if name not in ("front-tipping", "tail-tipping", "keeper-loop") else np.diff(cloth) + 50
            assert (grows > 0).all(), (width, name)
        for name in ("first-join-seam", "second-join-seam"):
            if name in found[48, width]["measures"]:
                # The joins move out of the tapers into the even neck.
                seam = column(found, width, lambda one, name=name: one["measures"][name])
                assert (np.diff(seam) < EXACT).all(), (width, name)


def test_a_wider_tie_has_wider_pieces(drafted):
    _, found, _ = drafted
    for length in LENGTHS:
        for name in ("blade", "tail", "interlining", "front-tipping", "tail-tipping", "keeper-loop"):
            cloth = row(found, length, lambda one, name=name: pieces(one)[name]["area"])
            assert (np.diff(cloth) > 0).all(), (length, name)
        assert (np.diff(row(found, length, lambda one: one["measures"]["front-opening"])) > 0).all()
        assert (np.diff(row(found, length, lambda one: one["measures"]["closed-length"])) < 0).all()


def test_the_table_holds_the_measures_of_every_size(drafted):
    _, found, path = drafted
    with path.open(encoding="utf-8", newline="") as file:
        head, *rows = list(csv.reader(file))
    assert head == ["measure", "unit", *SIZES]
    table = {name: (unit, cells) for name, unit, *cells in rows}
    assert len(table) == len(rows), "two lines of one name"
    some = found[48, 2.0]
    differing = {
        name for name in some["parameters"] if len({one["parameters"][name] for one in found.values()}) > 1
    }
    assert set(table) == differing | set(some["measures"])
    assert {"length", "blade-width", "blade-length", "taper-run", "tail-width"} <= differing
    for name, (unit, cells) in table.items():
        if name in some["measures"]:
            assert unit == some["measure_units"][name]
        for cell, at in zip(cells, SIZES.values(), strict=True):
            one = found[at]
            value = one["measures"].get(name, one["parameters"].get(name))
            assert float(cell) == pytest.approx(value, abs=1e-8), (name, at)


def test_all_sizes_are_nested_to_scale(tmp_path):
    """Every size is in the key, and the pieces are as wide as the widest at the scale said."""
    sizes = {name: at for name, at in SIZES.items() if at[0] in NESTED}
    (tmp_path / "run.tie").write_text(source("four-in-hand", sizes), encoding="utf-8")
    files = draft(tmp_path / "run.tie", tmp_path / "out", "json,nested", "--size", "all")
    found = [json.loads(path.read_text("utf-8")) for name, path in files.items() if name.endswith(".json")]
    groups = {
        group.get("id"): group for group in ElementTree.parse(files["run-nested.svg"]).getroot() if group.get("id")
    }
    words = {text.text for text in groups["sheet-key"].iter(SVG + "text")}
    assert words == set(sizes)
    for name in pieces(found[0]):
        group = groups[f"sheet-{name}"]
        caption = next(text.text for text in group.iter(SVG + "text") if text.text.startswith(f"{name}, "))
        scale = float(re.search(r"1:([\d.]+)$", caption)[1])
        drawn = [path.get("d") for path in group.iter(SVG + "path") if path.get("class") == "stroke"]
        points = np.vstack([Outline.parse(one).points() for one in drawn])
        across = [np.ptp(Outline.parse(pieces(one)[name]["cut"]).points()[:, 1]) for one in found]
        assert np.ptp(points[:, 1]) == pytest.approx(max(across) / scale, abs=2 * MERGED), name
