"""The defaults of the four-in-hand against a table of values worked out beforehand.

Source of every number: worked example, independent calculation, given to 0.01 mm and 0.1 mm².
The table is checked both ways: against the calculation in `independent.py` (so that the oracle of
the random drafts stands on it too) and against the program.
"""

from __future__ import annotations

import numpy as np
import pytest
from common import PANELS, SAME_AREA, SAME_LENGTH, Outline, draft_json, pieces
from independent import Draft, Parameters, area

MEASURES = {  # mm
    "length": 1447.8,
    "front-corner": 41.275,
    "taper-end": 701.675,
    "neck-run": 317.5,
    "turn-of-cloth": 0.7845,
    "front-opening": 75.9876,
    "tail-opening": 1404.8481,
    "closed-length": 1328.8605,
    "stitch-pitch": 13.2886,
    "first-join-seam": 118.962,
    "second-join-seam": 120.536,
}
EASE = {"edge-ease-max": 0.0090, "edge-ease-min": -0.0095}  # given to 0.01 %
FLAT_POINT = -22.4506
FLAT_CORNER = (68.3357, 90.7864)
SHELL_AREA = 153_736.9
NET_AREAS = {"blade": 93_885.7, "neck": 23_536.8, "tail": 36_314.4}
CUT_AREAS = {"blade": 94_600.8, "neck": 24_976.2, "tail": 37_038.7}


@pytest.fixture(scope="module")
def drafted(tmp_path_factory) -> dict:
    found = draft_json("style plain from four-in-hand {\n}\n", tmp_path_factory.mktemp("worked"))
    return found["plain"]


@pytest.fixture(scope="module")
def oracle() -> Draft:
    return Draft(Parameters())


@pytest.mark.parametrize("name", MEASURES)
def test_measure(drafted, name):
    assert drafted["units"] == "mm"
    assert drafted["measures"][name] == pytest.approx(MEASURES[name], abs=SAME_LENGTH)


@pytest.mark.parametrize("name", EASE)
def test_edge_ease(drafted, name):
    assert drafted["measures"][name] == pytest.approx(EASE[name], abs=0.5e-4)


def test_pitch_is_finer_than_the_common_tolerance(drafted):
    """A pitch is the closed length over 100, so it must agree to a hundredth of that."""
    assert drafted["measures"]["stitch-pitch"] == pytest.approx(13.2886, abs=2e-4)


def test_flat_point_and_corner(drafted):
    points = Outline.parse(pieces(drafted)["blade"]["cut"]).controls[:, 0]
    assert points[:, 0].min() == pytest.approx(FLAT_POINT, abs=SAME_LENGTH)
    assert np.hypot(*(points - FLAT_CORNER).T).min() < SAME_LENGTH
    assert np.hypot(*(points * [1, -1] - FLAT_CORNER).T).min() < SAME_LENGTH


@pytest.mark.parametrize("panel", PANELS)
def test_panel_areas(drafted, panel):
    piece = pieces(drafted)[panel]
    assert piece["net_area"] == pytest.approx(NET_AREAS[panel], rel=SAME_AREA)
    assert piece["area"] == pytest.approx(CUT_AREAS[panel], rel=SAME_AREA)
    assert abs(Outline.parse(piece["cut"]).area) == pytest.approx(CUT_AREAS[panel], rel=SAME_AREA)


def test_shell_area(drafted):
    found = pieces(drafted)
    assert sum(found[name]["net_area"] for name in PANELS) == pytest.approx(SHELL_AREA, rel=SAME_AREA)


def test_independent_calculation_agrees(oracle):
    found = oracle.measures()
    assert set(found) == set(MEASURES) | set(EASE)
    for name, value in MEASURES.items():
        assert found[name] == pytest.approx(value, abs=1e-3), name
    for name, value in EASE.items():
        assert found[name] == pytest.approx(value, abs=0.5e-4), name
    assert oracle.flat_point() == pytest.approx(FLAT_POINT, abs=1e-4)
    assert oracle.front_flat_corner()[0] == pytest.approx(FLAT_CORNER, abs=1e-4)
    assert area(oracle.shell()) == pytest.approx(SHELL_AREA, abs=0.1)
    for name, panel in oracle.panels.items():
        assert panel.net_area == pytest.approx(NET_AREAS[name], abs=0.1)
        # The mirrored ends of the allowances were curved in the table and are straight here.
        assert panel.cut_area == pytest.approx(CUT_AREAS[name], abs=0.2)


def test_two_panels_are_the_same_shell_with_one_join(tmp_path):
    """Derived: the panels of one shell add up to it, and the one join is the three-panel tie's first
    where that lies at the same place."""
    text = "style two from four-in-hand-two-panel {\n  blade-length 31 in\n}\n"
    two = draft_json(text, tmp_path)["two"]
    found = pieces(two)
    assert "neck" not in found
    assert found["blade"]["net_area"] == pytest.approx(NET_AREAS["blade"], rel=SAME_AREA)
    whole = found["blade"]["net_area"] + found["tail"]["net_area"]
    assert whole == pytest.approx(SHELL_AREA, rel=SAME_AREA)
    assert two["measures"]["first-join-seam"] == pytest.approx(MEASURES["first-join-seam"], abs=SAME_LENGTH)
    assert two["proof"] and all(row["holds"] for row in two["proof"])
