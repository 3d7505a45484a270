"""Facts of the bias and of units that hold whatever the shape.

Sources: beside each check.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from common import PANELS, Outline, draft_json, pieces
from independent import INCH


@pytest.fixture(scope="module")
def drafted(tmp_path_factory):
    text = (
        "style in-inches from four-in-hand {\n  length 57 in\n  blade-width 3 1/4 in\n}\n"
        "style in-millimetres from four-in-hand {\n  length 1447.8 mm\n  blade-width 82.55 mm\n}\n"
    )
    return draft_json(text, tmp_path_factory.mktemp("bias"))


def test_inch(drafted):
    """1 in = 25.4 mm, exactly, by international agreement."""
    inches, millimetres = drafted["in-inches"], drafted["in-millimetres"]
    assert inches["measures"] == millimetres["measures"]
    assert inches["pieces"] == millimetres["pieces"]
    assert inches["measures"]["length"] == pytest.approx(57 * INCH, abs=1e-9)


@pytest.mark.parametrize("panel", PANELS)
def test_grain_is_the_true_bias(drafted, panel):
    """The warp runs at 45 degrees to the centreline on every bias piece: common practice."""
    for style in drafted.values():
        grain = pieces(style)[panel]["grain"]
        dx, dy = np.subtract(grain["to"], grain["from"])
        assert abs(dy) == pytest.approx(abs(dx), rel=1e-6)


def test_edges_of_a_right_angled_point_run_on_warp_and_weft(drafted):
    """Derived: a 90 degree point, halved by the centre, has each edge at 45 degrees to it."""
    blade = pieces(drafted["in-inches"])["blade"]
    grain = np.subtract(blade["grain"]["to"], blade["grain"]["from"])
    controls = Outline.parse(blade["cut"]).controls
    point = controls[np.argmin(controls[:, 0, 0]), 0]
    turns = []
    for row in controls:
        if min(math.dist(row[0], point), math.dist(row[3], point)) < 1e-6:
            edge = row[3] - row[0]
            turns.append(abs(math.degrees(math.atan2(np.linalg.det([grain, edge]), grain @ edge))) % 90)
    assert len(turns) == 2
    assert all(min(turn, 90 - turn) < 1e-4 for turn in turns)


def test_joins_run_on_the_straight_grain(drafted):
    """Common practice: the seams of the joins lie along warp or weft, so neither stretches."""
    found = pieces(drafted["in-inches"])
    blade, neck = (Outline.parse(found[name]["net"]) for name in ("blade", "neck"))
    grain = np.subtract(found["blade"]["grain"]["to"], found["blade"]["grain"]["from"])
    shared = blade.polygon().buffer(1e-3).intersection(neck.polygon().buffer(1e-3))
    corners = shapely.get_coordinates(shared.minimum_rotated_rectangle)
    sides = np.diff(corners, axis=0)
    seam = sides[np.argmax(np.hypot(*sides.T))]
    off = math.degrees(math.atan2(np.linalg.det([grain, seam]), grain @ seam)) % 90
    assert min(off, 90 - off) < 0.01


@pytest.mark.parametrize(("length", "width", "side"), [(900, 200, 777.82), (95, 50, 102.53)])
def test_strip_on_the_bias(length, width, side):
    """Derived: a strip of length L and width W turned by 45 degrees fills a square of side
    (L + W)/sqrt 2. 900 x 200 gives 777.82 (published worked value)."""
    strip = shapely.affinity.rotate(shapely.box(0, 0, length, width), 45)
    left, bottom, right, top = strip.bounds
    assert right - left == pytest.approx(side, abs=0.005)
    assert top - bottom == pytest.approx((length + width) / math.sqrt(2), abs=1e-9)


def test_pieces_on_the_bias_fit_their_square(drafted):
    """The same fact bounds every piece: laid on the bias it fits the square of its own box."""
    for piece in drafted["in-inches"]["pieces"]:
        shape = Outline.parse(piece["cut"]).polygon()
        left, bottom, right, top = shape.bounds
        square = ((right - left) + (top - bottom)) / math.sqrt(2)
        turned = shapely.affinity.rotate(shape, 45, origin=(0, 0)).bounds
        assert turned[2] - turned[0] <= square + 1e-6 and turned[3] - turned[1] <= square + 1e-6
        if piece["name"] == "neck":
            # The joins lie along the grain, so the neck touches only two sides of the square.
            assert turned[2] - turned[0] < square - 10
