"""Pocket square and neckerchief: the program against shapely, and hems folded over by reflection.

Sources: the roll as a spiral of Archimedes, integrated; the corners by plane geometry. The hems are
folded here by reflecting what lies outside each finished edge, and must lie inside and side by side.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from common import SAME_AREA, SAME_LENGTH, Outline, draft_json, pieces
from independent import INCH

SETTINGS = {
    "pocket-square": ["", "side 10 in\n corner-turn 0 mm", "hem 14 mm\n corner-turn 5 mm", "roll-turns 2"],
    "neckerchief": ["", "side 24 in", "half-square 1", "half-square 1\n side 20 in\n corner-turn 0 mm\n hem 9 mm"],
}
CASES = [(shape, settings) for shape, all_of_them in SETTINGS.items() for settings in all_of_them]


def drafted(shape: str, settings: str, directory) -> dict:
    (found,) = draft_json(f"style cloth from {shape} {{\n {settings}\n}}\n", directory).values()
    assert all(row["holds"] for row in found["proof"])
    return found


def finished(found: dict) -> np.ndarray:
    half = found["parameters"]["side"] / 2
    square = np.array([[-half, half], [half, half], [half, -half], [-half, -half]])
    return np.delete(square, 2, axis=0) if found["parameters"].get("half-square") else square


@pytest.mark.parametrize(("shape", "settings"), CASES)
def test_roll_takes_up_a_spiral(shape, settings, tmp_path):
    """The middle of the cloth starts half its thickness inside the roll and comes its thickness nearer to the
    middle with every turn."""
    found = drafted(shape, settings, tmp_path)
    set_to = found["parameters"]
    cloth, turns = set_to["shell-thickness"], set_to["roll-turns"]
    angle = np.linspace(0, 2 * math.pi * turns, 100_001)
    radius = (set_to["hem-roll"] - cloth) / 2 - cloth * angle / (2 * math.pi)
    assert radius.min() > cloth / 2, "the roll is open in the middle"
    spiral = np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])
    length = np.hypot(*np.diff(spiral, axis=0).T).sum()
    # The spiral closes in a little while it turns, which the round formula leaves out.
    assert found["measures"]["roll-length"] == pytest.approx(length, rel=1e-3)
    if "hem" not in settings:
        assert set_to["hem"] == pytest.approx(length - set_to["hem-roll"] / 2, abs=0.02)


@pytest.mark.parametrize(("shape", "settings"), CASES)
def test_hems_folded_over_fill_their_border(shape, settings, tmp_path):
    found = drafted(shape, settings, tmp_path)
    (piece,) = found["pieces"]
    hem, spare = found["parameters"]["hem"], found["parameters"]["corner-turn"]
    cloth = Outline.parse(piece["cut"]).polygon()
    corners = finished(found)
    whole = shapely.Polygon(corners)
    assert cloth.covers(whole.buffer(-1e-6)), "the finished work is all cloth"
    flaps, mitres = [], 0.0
    for a, b in zip(corners, np.roll(corners, -1, axis=0)):
        flap = reflected(strip(cloth, a, b, hem), a, b)
        # What is spared past a mitre lies beyond the line that halves the corner, and is turned in.
        inside = flap.intersection(sector(whole, a, b))
        mitres += flap.area - inside.area
        flaps.append(inside)
    border = whole.difference(whole.buffer(-hem, join_style="mitre"))
    laid = shapely.union_all(flaps)
    assert laid.difference(whole.buffer(SAME_LENGTH)).area < 1e-6, "a hem stands out"
    assert laid.area == pytest.approx(border.area, rel=SAME_AREA)
    assert sum(flap.area for flap in flaps) == pytest.approx(laid.area, rel=SAME_AREA), "hems lie side by side"
    if spare == 0:
        assert mitres == pytest.approx(0, abs=0.01)


@pytest.mark.parametrize("settings", SETTINGS["pocket-square"])
def test_square_is_cut_off_across_its_corners(settings, tmp_path):
    """By definition: a square with its hems, less four triangles as high as the corner is past the cut."""
    found = drafted("pocket-square", settings, tmp_path)
    side, hem, spare = (found["parameters"][name] for name in ("side", "hem", "corner-turn"))
    height = math.sqrt(2) * hem - spare
    assert found["pieces"][0]["area"] == pytest.approx((side + 2 * hem) ** 2 - 4 * height**2, rel=SAME_AREA)
    assert found["measures"]["hem-length"] == pytest.approx(4 * side, abs=SAME_LENGTH)


def test_half_a_square_has_its_hem_along_the_cut_as_well(tmp_path):
    found = drafted("neckerchief", "half-square 1", tmp_path)
    assert list(pieces(found)) == ["half-of-square"]
    side = 26 * INCH
    assert found["measures"]["hem-length"] == pytest.approx((2 + math.sqrt(2)) * side, abs=SAME_LENGTH)


def strip(cloth: shapely.Polygon, a: np.ndarray, b: np.ndarray, hem: float) -> shapely.Polygon:
    """The cloth outside one finished edge, on its own stretch and a hem past both ends."""
    along = (b - a) / np.hypot(*(b - a))
    out = np.array([-along[1], along[0]])
    reach = 3 * hem
    border = shapely.Polygon([a - along * reach, b + along * reach, b + along * reach + out * reach, a - along * reach + out * reach])
    return cloth.intersection(border)


def reflected(shape: shapely.Polygon, a: np.ndarray, b: np.ndarray) -> shapely.Polygon:
    along = (b - a) / np.hypot(*(b - a))

    def mirror(points):
        away = points - a
        return a + 2 * np.outer(away @ along, along) - away

    return shapely.transform(shape, mirror)


def sector(whole: shapely.Polygon, a: np.ndarray, b: np.ndarray) -> shapely.Polygon:
    """The part of the finished work that belongs to one edge: from it up to the lines that halve its corners."""
    corners = shapely.get_coordinates(whole.exterior)[:-1]
    lengths = [np.hypot(*(corners[i] - corners[i - 1])) for i in range(len(corners))]
    # The middle of the inscribed circle is on all of those lines.
    middle = np.sum(
        [corners[i] * (lengths[(i - 1) % 3] if len(corners) == 3 else 1) for i in range(len(corners))], axis=0
    ) / (sum(lengths) if len(corners) == 3 else len(corners))
    return shapely.Polygon([a, b, middle])
