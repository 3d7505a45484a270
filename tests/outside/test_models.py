"""The models made from the four-in-hand: the program against calculations of another kind.

Sources: where a model differs from the four-in-hand in its measures alone, the calculation in
`independent.py` with those measures; where its ends differ, plane geometry with shapely, said at each
check. Outlines must agree within 0.02 mm and areas within 0.01 %.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from common import PANELS, SAME_AREA, SAME_LENGTH, Outline, apart, draft_json, pieces
from independent import INCH, STEP, Draft, Parameters, area

SLIM = Parameters(blade_width=2.25 * INCH, neck_width=1.125 * INCH, tail_width=1.375 * INCH)
# A rolled hem stands outside the finished edge as margin and seam do together.
HEMMED = replace(Parameters(), tipping_margin=0.375 * INCH - Parameters().seam_allowance)
# With one width throughout, tapers of any run are straight.
STRAIGHT = Parameters(
    blade_width=2 * INCH, neck_width=2 * INCH, tail_width=2 * INCH, taper_run=300, tail_taper_run=300
)

SAME_PANELS = {
    "slim": ("", SLIM),
    "slim wider": ("blade-width 60 mm\n neck-width 30 mm", replace(SLIM.graded(blade_width=60), neck_width=30)),
    "straight-sided": ("", STRAIGHT),
    "straight-sided blunt": (
        "tip-angle 100 deg\n tail-angle 80 deg\n overlap 3 mm",
        replace(STRAIGHT, tip_angle=100, tail_angle=80, overlap=3),
    ),
    "untipped": ("", HEMMED),
    "untipped deep": ("hem 12 mm\n blade-width 90 mm", replace(HEMMED.graded(blade_width=90), tipping_margin=12 - 6.35)),
    "unlined": ("", replace(HEMMED, interlining_thickness=0)),
    "unlined heavy": (
        "shell-thickness 1.1 mm",
        replace(HEMMED, interlining_thickness=0, shell_thickness=1.1),
    ),
    "decorative-tipping": ("", Parameters()),
}


def drafted(shape: str, settings: str, directory) -> dict:
    (found,) = draft_json(f"style model from {shape} {{\n {settings}\n}}\n", directory).values()
    assert all(row["holds"] for row in found["proof"])
    return found


@pytest.mark.parametrize("case", SAME_PANELS)
def test_panels_are_those_of_the_same_measures(case, tmp_path):
    settings, parameters = SAME_PANELS[case]
    found = pieces(drafted(case.split()[0], settings, tmp_path))
    expected = Draft(parameters)
    for name in PANELS:
        cut, net = (Outline.parse(found[name][which]) for which in ("cut", "net"))
        assert apart(cut.points(), expected.panels[name].cut) < SAME_LENGTH
        assert apart(net.points(), expected.panels[name].net) < SAME_LENGTH
        assert found[name]["net_area"] == pytest.approx(expected.panels[name].net_area, rel=SAME_AREA)


def test_a_straight_sided_tie_in_closed_form(tmp_path):
    """All panels together: a rectangle as wide as both sides opened out, with a triangle at each end."""
    found = pieces(drafted("straight-sided", "blade-width 50 mm\n length 1400 mm", tmp_path))
    reach = 3.175 + 6.35 + (math.pi - 2) * 0.95 - 0.3
    half = 50 + reach
    tip = (9.525 + 6.35) * math.sqrt(2)  # of a right-angled point, beyond the finished one
    whole = 2 * half * (1400 + 2 * tip) - 2 * half**2
    total = sum(found[name]["net_area"] for name in PANELS)
    assert total == pytest.approx(whole, rel=SAME_AREA)


@pytest.mark.parametrize("hem", (4.0, 9.525, 20.0))
def test_an_untipped_interlining_stops_short_of_the_openings(hem, tmp_path):
    found = drafted("untipped", f"hem {hem} mm\n hem-roll 2 mm\n interlining-tip-gap 10 mm", tmp_path)
    interlining = Outline.parse(pieces(found)["interlining"]["cut"]).points()
    expected = Draft(Parameters()).measures()  # openings hang on the finished edges alone
    assert interlining[:, 0].min() == pytest.approx(expected["front-opening"] + 10, abs=SAME_LENGTH)
    assert interlining[:, 0].max() == pytest.approx(expected["tail-opening"] - 10, abs=SAME_LENGTH)


def test_an_unlined_tie_has_no_other_cloth(tmp_path):
    found = drafted("unlined", "", tmp_path)
    assert {piece["cloth"] for piece in found["pieces"]} == {"shell"}
    assert found["measures"]["turn-of-cloth"] == pytest.approx((math.pi - 2) * 0.15 - 0.3, abs=1e-4)


@pytest.mark.parametrize("join", (30.0, 44.45, 60.0))
def test_pieced_tippings_are_the_whole_one_cut_apart(join, tmp_path):
    """shapely: the whole tipping cut at the join, each part with its allowance; the upper part's
    sides and the point's edges run on straight across the join."""
    found = pieces(drafted("decorative-tipping", f"tipping-join {join} mm", tmp_path))
    whole = shapely.Polygon(Draft(Parameters()).tipping())
    allowance = Parameters().seam_allowance
    far = 1e4
    upper = shapely.intersection(whole, shapely.box(join, -far, far, far))
    point = shapely.intersection(whole, shapely.box(-far, -far, join, far))
    for name, part in (("front-tipping-upper", upper), ("front-tipping-point", point)):
        assert found[name]["net_area"] == pytest.approx(part.area, rel=SAME_AREA)
    half = (shapely.intersection(whole, shapely.LineString([(join, -far), (join, far)])).length) / 2
    # The point's edges run at 45 degrees, so beyond the join the allowance of the point part is cut to
    # its mirror image, which narrows; that of the upper part narrows along the edges themselves.
    strip = allowance * (2 * half - allowance)
    for name, part in (("front-tipping-upper", upper), ("front-tipping-point", point)):
        assert found[name]["area"] == pytest.approx(part.area + strip, rel=SAME_AREA)
    assert found["front-tipping-point"]["cloth"] == "decorative-tipping"
    assert found["front-tipping-upper"]["cloth"] == "tipping"


def square_shell(length: float, widths, end_run: float, runs, turn: float, reach: float) -> np.ndarray:
    """The flat shell of a square-ended tie as a ring of points: the raw edge is the mirror image of the
    line `reach` past the centre in the sampled profile, the ends are `turn` outside."""
    blade, neck, tail = (w / 2 for w in widths)
    front = (end_run, end_run + runs[0])
    back = (length - end_run - runs[1], length - end_run)
    x = np.unique(np.concatenate([np.arange(0, length, STEP), [*front, *back, length]]))

    def smooth(t, a, b):
        t = np.clip(t, 0, 1)
        return a + (b - a) * (3 * t**2 - 2 * t**3), (b - a) * 6 * t * (1 - t)

    h1, d1 = smooth((x - front[0]) / runs[0], blade, neck)
    h2, d2 = smooth((x - back[0]) / runs[1], neck, tail)
    h, slope = h1 + h2 - neck, d1 / runs[0] + d2 / runs[1]
    edge = np.column_stack([x - slope * (h + reach), 2 * h + reach])
    ends = [[-turn, 2 * blade + reach]], [[length + turn, 2 * tail + reach]]
    top = np.vstack([ends[0], edge, ends[1]])
    return np.vstack([top, top[::-1] * [1, -1]])


@pytest.mark.parametrize(
    "settings, widths, end_run, runs, turn",
    [
        ("", (57.15, 31.75, 44.45), 76.2, (660.4, 381.0), 25.4),
        (
            "blade-width 58 mm\n neck-width 34 mm\n tail-width 42 mm\n end-run 60 mm\n taper-run 600 mm\n"
            " tail-taper-run 420 mm\n end-turn 30 mm",
            (58.0, 34.0, 42.0), 60.0, (600.0, 420.0), 30.0,
        ),
    ],
)
def test_square_ended_panels(settings, widths, end_run, runs, turn, tmp_path):
    """shapely: the flat shell of sampled reflections, cut apart at the joins at 45 degrees."""
    found = pieces(drafted("square-ended", settings, tmp_path))
    length = 57 * INCH
    reach = Draft(Parameters()).raw_reach
    ring = square_shell(length, widths, end_run, runs, turn, reach)
    shell = shapely.Polygon(ring)
    far = 3000.0
    joins = (31 * INCH, length - 15 * INCH)

    def before(join: float) -> shapely.Polygon:
        return shapely.Polygon([(join - far, -far), (join + far, far), (-far, far), (-far, -far)])

    expected = {
        "blade": shapely.intersection(shell, before(joins[0])),
        "neck": shapely.difference(shapely.intersection(shell, before(joins[1])), before(joins[0])),
        "tail": shapely.difference(shell, before(joins[1])),
    }
    for name, part in expected.items():
        net = Outline.parse(found[name]["net"])
        assert apart(net.points(), np.array(part.exterior.coords)[:-1]) < SAME_LENGTH
        assert found[name]["net_area"] == pytest.approx(part.area, rel=SAME_AREA)
    assert area(ring) == pytest.approx(sum(found[name]["net_area"] for name in PANELS), rel=SAME_AREA)
