"""Ascot and day cravat: the program against plane geometry and a band pleated strip by strip.

Sources: outlines from the shape's own statement, sampled densely, allowances by shapely; a knife
pleat hides twice its depth, which is what makes it one; a fan's edge is a straight line that keeps
its length, by Pythagoras. None of the program's code is used.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, fields

import numpy as np
import pytest
import shapely
from common import SAME_AREA, SAME_LENGTH, Outline, apart, draft_json, pieces
from independent import INCH

DRAFTS = 40
SEED = 4_711
STEP = 400  # samples of one curved side


@dataclass(frozen=True)
class Ascot:
    """What a pattern maker may set, in mm and degrees; the defaults are the shape's."""

    length: float = 48 * INCH
    end_width: float = 5.5 * INCH
    tip_angle: float = 90.0
    end_lead: float = 0.0
    fan_width: float = 3.375 * INCH
    fan_run: float = 5 * INCH
    band_length: float = 16 * INCH
    band_width: float = 1.5 * INCH
    pleats: float = 3
    pleat_depth: float = 5 / 16 * INCH
    seam_allowance: float = 0.25 * INCH

    def source(self, style: str) -> str:
        def value(name: str) -> str:
            number = format(getattr(self, name), ".12g")
            unit = "deg" if name.endswith("angle") else "" if name in ("end_lead", "pleats") else "mm"
            return f"{number} {unit}"

        lines = [f"  {f.name.replace('_', '-')} {value(f.name)}" for f in fields(self)]
        return f"style {style} from ascot {{\n  turning-gap 2 in\n" + "\n".join(lines) + "\n}\n"

    @property
    def flat_band(self) -> float:
        return self.band_width + 2 * self.pleats * self.pleat_depth

    @property
    def corner(self) -> float:
        return self.end_width / 2 / math.tan(math.radians(self.tip_angle) / 2)

    @property
    def fan_start(self) -> float:
        return (self.length - self.band_length) / 2 - self.fan_run

    @property
    def flat_fan_run(self) -> float:
        edge = math.hypot(self.fan_run, (self.fan_width - self.band_width) / 2)
        return math.sqrt(edge**2 - ((self.fan_width - self.flat_band) / 2) ** 2)

    @property
    def flat_length(self) -> float:
        return 2 * (self.fan_start + self.flat_fan_run) + self.band_length

    def upper(self) -> np.ndarray:
        """The upper edge of the flat bag from the left point to the middle."""
        a, d = self.end_width / 2, self.fan_width / 2
        b = a - self.end_lead * (a - d)
        t = np.linspace(0, 1, STEP)
        u = 1 - t
        x = self.corner + t * (self.fan_start - self.corner)
        y = a * u**3 + 3 * b * u * u * t + 3 * d * u * t * t + d * t**3
        band = self.fan_start + self.flat_fan_run
        return np.vstack([[[0, 0]], np.column_stack([x, y]), [[band, self.flat_band / 2]]])

    def bag(self) -> shapely.Polygon:
        """The flat bag, sewn line all round."""
        left = self.upper()
        right = left[::-1] * [-1, 1] + [self.flat_length, 0]
        top = np.vstack([left, right])
        return shapely.Polygon(np.vstack([top, top[-2:0:-1] * [1, -1]]))

    def halves(self) -> dict[str, shapely.Polygon]:
        """Both halves with the allowance all round, without that of the join."""
        whole = self.bag().buffer(self.seam_allowance, join_style="mitre", mitre_limit=10)
        middle, far = self.flat_length / 2, 10 * self.length
        before = shapely.Polygon([(middle - far, -far), (middle + far, far), (-far * 3, far), (-far * 3, -far)])
        return {"left": whole.intersection(before), "right": whole.difference(before)}


def drafts() -> dict[str, Ascot]:
    luck = random.Random(SEED)
    found = {"plain": Ascot()}
    while len(found) < DRAFTS:
        pleats, band = luck.randint(1, 5), luck.uniform(25, 60)
        depth = luck.uniform(0.3, 1) * band / (pleats + 1)
        if depth < 3.2:
            continue
        fan = band + 2 * pleats * depth + luck.choice([1e-6, luck.uniform(0, 20)])
        numbers = {
            "length": luck.uniform(1000, 1500),
            "end_width": fan + luck.uniform(5, 80),
            "tip_angle": luck.uniform(90, 140),
            "end_lead": luck.uniform(0, 0.8),
            "fan_width": fan,
            "fan_run": luck.uniform(80, 180),
            "band_length": luck.uniform(340, 480),
            "band_width": band,
            "pleats": pleats,
            "pleat_depth": depth,
            "seam_allowance": luck.uniform(4, 12),
        }
        candidate = Ascot(**{name: float(format(value, ".12g")) for name, value in numbers.items()})
        if candidate.fan_start > candidate.corner + 20:
            found[f"random-{len(found)}"] = candidate
    return found


BY_HAND = drafts()


@pytest.fixture(scope="module")
def drafted(tmp_path_factory) -> dict[str, dict]:
    text = "\n".join(ascot.source(name) for name, ascot in BY_HAND.items())
    return draft_json(text, tmp_path_factory.mktemp("ascots"))


def test_defaults_are_the_shape_s(drafted, tmp_path):
    """So that the numbers above are what a style without a word gets."""
    (bare,) = draft_json("style bare from ascot { turning-gap 2 in }\n", tmp_path).values()
    assert bare["parameters"] == pytest.approx(drafted["plain"]["parameters"], abs=1e-9)
    assert bare["measures"] == pytest.approx(drafted["plain"]["measures"], abs=1e-9)


@pytest.mark.parametrize("name", BY_HAND)
def test_halves(drafted, name):
    found, ascot = pieces(drafted[name]), BY_HAND[name]
    assert drafted[name]["measures"]["flat-length"] == pytest.approx(ascot.flat_length, abs=SAME_LENGTH)
    for side, wanted in ascot.halves().items():
        points = np.array(wanted.exterior.coords)[:-1]
        for cloth in ("shell", "lining"):
            piece = found[f"{side}-{cloth}"]
            assert piece["net_area"] == pytest.approx(wanted.area, rel=SAME_AREA)
            assert apart(Outline.parse(piece["net"]).points(), points) < SAME_LENGTH


@pytest.mark.parametrize("name", BY_HAND)
def test_band_pleated_strip_by_strip(drafted, name):
    """Walks up the band on the fold lines that were drafted: up to a fold, back to its under-fold, up again."""
    ascot, shell = BY_HAND[name], pieces(drafted[name])["left-shell"]
    lines = {line["name"]: Outline.parse(line["path"]).points() for line in shell["fold"]}
    heights = {key: line[:, 1] for key, line in lines.items() if key.startswith(("pleat-", "under-"))}
    assert len(heights) == 2 * ascot.pleats
    assert all(np.ptp(line) < 1e-6 for line in heights.values()), "pleats run along the band"
    flat, laid, shown, hidden = -ascot.flat_band / 2, 0.0, [0.0], []
    for k in range(1, int(ascot.pleats) + 1):
        fold, under = heights[f"pleat-{k}"][0], heights[f"under-{k}"][0]
        laid += fold - flat
        shown.append(laid)
        laid -= under - fold
        hidden.append(laid)
        flat = under
    laid += ascot.flat_band / 2 - flat
    assert laid == pytest.approx(ascot.band_width, abs=SAME_LENGTH)
    even = np.diff([*shown, laid])
    assert even == pytest.approx(ascot.band_width / (ascot.pleats + 1), abs=SAME_LENGTH)
    assert min(hidden) > -SAME_LENGTH, "a hidden fold stands out below the band"
    intake = ascot.flat_band - laid
    assert intake == pytest.approx(2 * ascot.pleats * ascot.pleat_depth, abs=SAME_LENGTH)


@pytest.mark.parametrize("name", BY_HAND)
def test_fans_keep_their_edges_and_the_band_its_length(drafted, name):
    """From the notches of the shell: where fans begin and where they run into the band."""
    ascot, found = BY_HAND[name], pieces(drafted[name])
    at = {}
    for side in ("left", "right"):
        for notch in found[f"{side}-shell"]["notches"]:
            if notch["name"] in ("fan", "band-start", "band-end") and notch["at"][1] > 0:
                at[side, notch["name"]] = np.array(notch["at"])
    flat_run = at["left", "band-start"][0] - at["left", "fan"][0]
    assert flat_run == pytest.approx(ascot.flat_fan_run, abs=SAME_LENGTH)
    band = at["right", "band-end"][0] - at["left", "band-start"][0]
    assert band == pytest.approx(ascot.band_length, abs=SAME_LENGTH)
    finished = math.hypot(ascot.fan_run, (ascot.fan_width - ascot.band_width) / 2)
    flat = math.hypot(ascot.flat_fan_run, (ascot.fan_width - ascot.flat_band) / 2)
    assert flat == pytest.approx(finished, abs=1e-9)
    take_up = drafted[name]["measures"]["fan-take-up"]
    assert take_up == pytest.approx(ascot.flat_fan_run - ascot.fan_run, abs=SAME_LENGTH)


@pytest.mark.parametrize("neck", [14.5, 15.5, 17])
def test_day_cravat_goes_round_the_neck(neck, tmp_path):
    """Its band is the neck and room for the knot at both ends; what is added to the neck is added to the
    length; the stay lies past the last hidden fold and is not pleated."""
    text = f"style cravat from day-cravat {{\n  neck {neck} in\n}}\n"
    (drawn,) = draft_json(text, tmp_path).values()
    assert all(row["holds"] for row in drawn["proof"])
    assert drawn["parameters"]["band-length"] == pytest.approx((neck + 2) * INCH, abs=1e-6)
    assert drawn["parameters"]["length"] == pytest.approx((50 + neck - 15.5) * INCH, abs=1e-6)
    found = pieces(drawn)
    stay = Outline.parse(found["stay"]["cut"]).points()
    under = [line for line in found["left-shell"]["fold"] if line["name"].startswith("under-")]
    highest = max(Outline.parse(line["path"]).points()[:, 1].max() for line in under)
    edge = drawn["measures"]["flat-band-width"] / 2
    assert stay[:, 1].min() - highest == pytest.approx(INCH / 16, abs=SAME_LENGTH)
    assert edge - stay[:, 1].max() == pytest.approx(INCH / 16, abs=SAME_LENGTH)
    assert np.ptp(stay[:, 0]) == pytest.approx((neck + 2) * INCH, abs=SAME_LENGTH)
