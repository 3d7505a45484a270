"""Children's tie, clip-on and elastic-neck tie: the program against calculations of another kind.

Sources: the four-in-hand's calculation in `independent.py` with the child's measures; for the clip-on
the same reflection in the finished edge with a taper of its own; the knot by reflecting its back in its
sides; the girths by the length of a band bent round a stack. Agreement as in the random drafts.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass

import numpy as np
import pytest
from common import PANELS, SAME_AREA, SAME_LENGTH, Outline, apart, draft_json, pieces
from independent import INCH, STEP, Draft, End, Parameters, area

CHILD = Parameters(
    length=44 * INCH,
    blade_width=2.25 * INCH,
    taper_run=20 * INCH,
    neck_width=1 * INCH,
    tail_width=1.375 * INCH,
    tail_taper_run=12 * INCH,
    blade_length=24 * INCH,
    tail_length=11.5 * INCH,
    overlap=3 / 16 * INCH,
    edge_turn=3 / 16 * INCH,
    tipping_margin=5 / 16 * INCH,
    stitch_count=75,
)


def test_childrens_tie_is_a_small_four_in_hand(tmp_path):
    (found,) = draft_json("style child from childrens\n", tmp_path).values()
    assert all(row["holds"] for row in found["proof"])
    expected = Draft(CHILD)
    for name in PANELS:
        piece = pieces(found)[name]
        assert piece["net_area"] == pytest.approx(expected.panels[name].net_area, rel=SAME_AREA)
        assert apart(Outline.parse(piece["cut"]).points(), expected.panels[name].cut) < SAME_LENGTH


class Blade(End):
    """An end whose sides run on to the top of the knot, led alike at both ends."""

    def half(self, x):
        t = (np.asarray(x, float) - self.corner) / self.run
        a, d = self.width / 2, self.neck / 2
        b, c = a - self.lead * (a - d), d + self.lead * (a - d)
        u = 1 - t
        h = a * u**3 + 3 * b * u * u * t + 3 * c * u * t * t + d * t**3
        h1 = 3 * ((b - a) * u * u + 2 * (c - b) * u * t + (d - c) * t * t) / self.run
        h2 = 6 * ((c - 2 * b + a) * u + (d - 2 * c + b) * t) / self.run**2
        return h, h1, h2


@dataclass(frozen=True)
class ClipOn:
    """What a pattern maker may set, in mm and degrees; the defaults are the shape's."""

    length: float = 20 * INCH
    blade_width: float = 3.25 * INCH
    tip_angle: float = 90.0
    taper_lead: float = 0.35
    neck_width: float = 1 * INCH
    overlap: float = 0.25 * INCH
    edge_turn: float = 0.25 * INCH
    seam_allowance: float = 0.25 * INCH
    tipping_margin: float = 0.375 * INCH
    interlining_thickness: float = 1.6
    shell_thickness: float = 0.3
    knot_height: float = 1.75 * INCH
    knot_top: float = 2 * INCH
    knot_bottom: float = 1.5 * INCH
    knot_overlap: float = 0.5 * INCH
    knot_turn: float = 0.5 * INCH
    top_gap: float = INCH / 8

    def source(self, style: str) -> str:
        def value(name: str) -> str:
            unit = "deg" if name.endswith("angle") else "" if name.endswith("lead") else "mm"
            return f"{getattr(self, name):.12g} {unit}"

        lines = [f"  {name.replace('_', '-')} {value(name)}" for name in vars(self)]
        return f"style {style} from clip-on {{\n" + "\n".join(lines) + "\n}\n"

    @property
    def end(self) -> Blade:
        corner = self.blade_width / 2 / math.tan(math.radians(self.tip_angle) / 2)
        angle = math.radians(self.tip_angle)
        return Blade(self.blade_width, angle, self.length - corner, self.taper_lead, self.neck_width)

    def blade(self) -> np.ndarray:
        """The flat blade: point, raw edge, top."""
        turn = bend(self.interlining_thickness, self.shell_thickness)
        reach = self.overlap / 2 + turn + self.edge_turn
        outside = self.tipping_margin + self.seam_allowance
        end, top = self.end, self.length - self.top_gap
        corner, station = end.flat_corner(reach, outside)
        edge = np.column_stack(end.unfolded(np.arange(station, self.length, STEP / 4), reach))
        inside = edge[edge[:, 0] < top]
        beyond = edge[len(inside)]
        share = (top - inside[-1, 0]) / (beyond[0] - inside[-1, 0])
        upper = np.vstack([corner, inside, inside[-1] + share * (beyond - inside[-1])])
        apex = -outside / math.sin(end.angle / 2)
        return np.vstack([[[apex, 0]], upper, upper[::-1] * [1, -1]])

    @property
    def bulk(self) -> float:
        return self.interlining_thickness + 3 * self.shell_thickness

    def knot(self) -> np.ndarray:
        """The flat knot: its face, and its back reflected in its sides."""
        low, high = self.length - self.knot_height, self.length
        slope = (self.knot_top - self.knot_bottom) / 2 / self.knot_height
        raw = self.knot_overlap / 2 + bend(self.bulk, self.shell_thickness) + self.edge_turn
        x = np.array([low - self.knot_turn, high + self.knot_turn])
        side = np.column_stack([x, self.knot_bottom / 2 + slope * (x - low)])
        along = np.array([1, slope]) / math.hypot(1, slope)
        back = np.column_stack([x, [-raw, -raw]]) - side[0]
        flap = 2 * np.outer(back @ along, along) - back + side[0]
        # Where the turned bottom of the flap meets its raw edge, and the same at the top.
        return np.vstack([side[0], flap, side[1], side[1] * [1, -1], flap[::-1] * [1, -1], side[0] * [1, -1]])


def bend(stack: float, cloth: float) -> float:
    """Cloth taken up by half a turn round a stack, less what a sharp fold would take."""
    return math.pi * (stack + cloth) / 2 - (stack + cloth) - cloth


def clip_ons() -> dict[str, ClipOn]:
    luck = random.Random(90_210)
    found = {"plain": ClipOn()}
    for k in range(30):
        knot = luck.uniform(40, 50)
        numbers = {
            "length": luck.uniform(380, 560),
            "blade_width": luck.uniform(60, 95),
            "tip_angle": luck.uniform(80, 120),
            "taper_lead": luck.uniform(0.2, 0.45),
            "neck_width": luck.uniform(26, 29),
            "overlap": luck.uniform(3, 7),
            "edge_turn": luck.uniform(4, 6.5),
            "tipping_margin": luck.uniform(5, 12),
            "interlining_thickness": luck.uniform(0.5, 1.6),
            "shell_thickness": luck.uniform(0.1, 0.4),
            "knot_height": luck.uniform(38, 55),
            "knot_bottom": knot,
            "knot_top": knot + luck.uniform(0, 20),
            "knot_overlap": luck.uniform(8, 14),
            "knot_turn": luck.uniform(6, 14),
        }
        found[f"random-{k}"] = ClipOn(**{name: float(format(n, ".12g")) for name, n in numbers.items()})
    return found


BY_HAND = clip_ons()


@pytest.fixture(scope="module")
def drafted(tmp_path_factory) -> dict[str, dict]:
    text = "\n".join(tie.source(name) for name, tie in BY_HAND.items())
    return draft_json(text, tmp_path_factory.mktemp("clip-ons"))


def test_defaults_are_the_shape_s(drafted, tmp_path):
    (bare,) = draft_json("style bare from clip-on\n", tmp_path).values()
    assert bare["parameters"] == pytest.approx(drafted["plain"]["parameters"], abs=1e-9)


@pytest.mark.parametrize("name", BY_HAND)
def test_blade(drafted, name):
    piece, wanted = pieces(drafted[name])["blade"], BY_HAND[name].blade()
    assert piece["area"] == pytest.approx(area(wanted), rel=SAME_AREA)
    assert apart(Outline.parse(piece["cut"]).points(), wanted) < SAME_LENGTH


@pytest.mark.parametrize("name", BY_HAND)
def test_knot(drafted, name):
    piece, wanted = pieces(drafted[name])["knot"], BY_HAND[name].knot()
    assert piece["area"] == pytest.approx(area(wanted), rel=SAME_AREA)
    assert apart(Outline.parse(piece["cut"]).points(), wanted) < SAME_LENGTH


@pytest.mark.parametrize("name", BY_HAND)
def test_girths(drafted, name):
    """Round the knot: two widths and two bends, lean its sides or not. Round the blade: a stack with two round edges, by the middle of
    the cloth bent round it."""
    tie, measures = BY_HAND[name], drafted[name]["measures"]
    knot = 2 * tie.knot_bottom + 2 * bend(tie.bulk, tie.shell_thickness)
    assert measures["knot-girth"] == pytest.approx(knot, abs=SAME_LENGTH)
    wide = 2 * float(tie.end.half(np.array(tie.length - tie.knot_height))[0])
    blade = 2 * (wide - tie.bulk) + 2 * math.pi * (tie.bulk + tie.shell_thickness) / 2
    assert measures["blade-girth"] == pytest.approx(blade, abs=SAME_LENGTH)
    assert measures["knot-girth"] >= measures["blade-girth"]


@pytest.mark.parametrize(("neck", "stretch"), [(10.5, 5), (11, 0), (12, 20)])
def test_elastic_loop(neck, stretch, tmp_path):
    """Stretched by its share, the loop is as long as the neck; both ends are caught in the knot besides."""
    text = (
        f"style child from elastic-neck {{\n  neck {neck} in\n  elastic-stretch {stretch} %\n"
        "  elastic-turn 12 mm\n  elastic-limit 150 %\n}\n"
    )
    (found,) = draft_json(text, tmp_path).values()
    assert all(row["holds"] for row in found["proof"])
    loop = Outline.parse(pieces(found)["neck-loop"]["cut"]).points()
    worn = (np.ptp(loop[:, 0]) - 2 * 12) * (1 + stretch / 100)
    assert worn == pytest.approx(neck * INCH, abs=SAME_LENGTH)
