"""Bow ties: lengths, outlines and slots against a calculation of their own.

Sources: the definitions below, none of the program's code. A finished edge between two stations is a
cubic whose handles stand at thirds, so its half width is a cubic polynomial of the station. How long
a bow tie is for its collar, and what lies in a knot, is common practice, no published source.
"""

from __future__ import annotations

import random

import numpy as np
import pytest
import shapely
from common import SAME_AREA, SAME_LENGTH, Outline, apart, distances, draft_json, pieces

INCH = 25.4
SEED = 60_113
STEPS = 400
MANY = 12


def written(value: float) -> float:
    """As it is written into the source: both sides must start from the same number."""
    return float(format(value, ".9g"))


def source(name: str, shape: str, parameters: dict[str, float]) -> str:
    lines = "".join(f"  {p} {v:.9g}{'' if p in PLAIN else ' mm'}\n" for p, v in parameters.items())
    return f"style {name} from {shape} {{\n{lines}}}\n"


PLAIN = {"end-round", "end-lead", "size-count"}


def random_end(luck: random.Random) -> dict[str, float]:
    """A bow tie from small to large, straight to deeply waisted, with round or pointed ends."""
    bow, flare, end = luck.uniform(90, 140), luck.uniform(38, 85), luck.uniform(38, 85)
    found = {
        "collar-size": luck.uniform(340, 460),
        "collar-ease": luck.uniform(0, 15),
        "crossing": luck.uniform(10, 25),
        "wrap": luck.uniform(40, 60),
        "bow-width": bow,
        "end-width": end,
        "flare-width": flare,
        "waist-width": min(end, flare) * luck.choice([1, luck.uniform(0.4, 0.95)]),
        "throat-width": luck.uniform(13, 22),
        "band-width": luck.uniform(14, 24),
        "band-taper-run": luck.uniform(15, 45),
        "end-depth": luck.choice([0, luck.uniform(2, 25)]),
        "end-round": luck.choice([0, 1, luck.uniform(0, 1)]),
        "end-lead": luck.uniform(0, 1),
        "seam-allowance": luck.uniform(5, 9),
        "shell-thickness": luck.uniform(0.1, 0.5),
        "interlining-thickness": luck.uniform(0.3, 1.2),
    }
    return {name: written(value) for name, value in found.items()}


def cubic(a: float, b: float, c: float, d: float) -> np.ndarray:
    """A cubic with these values at 0 and 1 and handles at thirds, sampled."""
    t = np.linspace(0, 1, STEPS)
    return a * (1 - t) ** 3 + 3 * b * t * (1 - t) ** 2 + 3 * c * t**2 * (1 - t) + d * t**3


class Bow:
    """The self-tied bow tie, from the tip of one end at 0."""

    def __init__(self, p: dict[str, float]) -> None:
        self.p = p
        wing = p["bow-width"] / 2
        self.waist, self.flare, self.throat = wing, 2 * wing, 3 * wing
        neck = p["collar-size"] + p["collar-ease"] + 2 * p["crossing"] + p["wrap"]
        self.length = neck + 2 * self.throat
        self.knot = self.throat + p["crossing"] + p["wrap"] / 2
        self.band = self.knot + p["band-taper-run"]
        self.middle = self.length / 2

    def side(self, stop: float) -> np.ndarray:
        """The upper edge from the corner of the end to a station in the even band."""
        p = self.p
        end, waist, flare = p["end-width"], p["waist-width"], p["flare-width"]
        throat, band = p["throat-width"], p["band-width"]
        steps = [
            (p["end-depth"], self.waist, end, end - p["end-lead"] * (end - waist), waist, waist),
            (self.waist, self.flare, waist, waist, flare, flare),
            (self.flare, self.throat, flare, flare, throat, throat),
            (self.throat, self.knot, throat, throat, throat, throat),
            (self.knot, self.band, throat, throat, band, band),
            (self.band, stop, band, band, band, band),
        ]
        return np.vstack([np.column_stack([np.linspace(s[0], s[1], STEPS), cubic(*s[2:]) / 2]) for s in steps])

    def end(self) -> np.ndarray:
        """Half of the end from tip to corner: across evenly, along from straight to a parabola."""
        p, t = self.p, np.linspace(0, 1, STEPS)
        along = p["end-depth"] * (p["end-round"] * t**2 + (1 - p["end-round"]) * t)
        return np.column_stack([along, t * p["end-width"] / 2])

    def half(self, stop: float) -> np.ndarray:
        upper = np.vstack([self.end(), self.side(stop)])
        return np.vstack([upper, (upper * [1, -1])[::-1]])

    def whole(self) -> shapely.Polygon:
        half = self.half(self.middle)
        other = half * [-1, 1] + [self.length, 0]
        return shapely.union_all([shapely.Polygon(half).buffer(1e-6), shapely.Polygon(other).buffer(1e-6)])

    def girth(self) -> float:
        """Round what lies in the knot: a waist and a throat, squeezed to the height of the throat."""
        p = self.p
        section = (p["waist-width"] + p["throat-width"]) * (2 * p["shell-thickness"] + p["interlining-thickness"])
        return 2 * (p["throat-width"] + section / p["throat-width"])


def length_of(points: np.ndarray) -> float:
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def width_at(outline: shapely.Polygon, station: float) -> float:
    cut = shapely.LineString([(station, -500), (station, 500)])
    return outline.intersection(cut).length


BOWS = {f"bow-{n}": Bow(random_end(luck)) for luck in [random.Random(SEED)] for n in range(MANY)}


@pytest.fixture(scope="module")
def self_tied(tmp_path_factory) -> dict[str, dict]:
    text = "".join(source(name, "bow-tie", bow.p) for name, bow in BOWS.items())
    return draft_json(text, tmp_path_factory.mktemp("bows"))


@pytest.mark.parametrize("name", BOWS)
def test_length_for_the_collar_and_seams(self_tied, name):
    bow, found = BOWS[name], self_tied[name]["measures"]
    p = bow.p
    assert found["length"] == pytest.approx(bow.length, abs=SAME_LENGTH)
    assert found["hang"] == pytest.approx(p["wrap"], abs=SAME_LENGTH)
    # What is left of the whole length when bow and knot are taken off goes round the collar.
    round_collar = found["length"] - 2 * found["throat-station"] - 2 * p["crossing"] - p["wrap"]
    assert round_collar == pytest.approx(p["collar-size"] + p["collar-ease"], abs=SAME_LENGTH)
    assert found["band-run"] == pytest.approx(bow.length - 2 * bow.band, abs=SAME_LENGTH)
    seam = 2 * (length_of(bow.end()) + length_of(bow.side(bow.middle)))
    assert found["round-seam"] == pytest.approx(seam, abs=SAME_LENGTH)
    assert found["pinch-girth"] == pytest.approx(bow.girth(), abs=SAME_LENGTH)


@pytest.mark.parametrize("name", BOWS)
def test_halves(self_tied, name):
    """Face and lining are the half within its seam, alike; the other half is the same one turned."""
    bow, found = BOWS[name], pieces(self_tied[name])
    wanted = bow.half(bow.middle)
    for piece in ("face", "lining"):
        assert found[piece]["quantity"] == 2
        assert apart(Outline.parse(found[piece]["net"]).points(), wanted) < SAME_LENGTH
        assert found[piece]["net_area"] == pytest.approx(shapely.Polygon(wanted).area, rel=SAME_AREA)
    net = Outline.parse(found["face"]["net"]).points()
    assert apart(net * [1, -1], net) < 1e-3
    turned = [bow.length, 0] - net
    sewn = shapely.union_all([shapely.Polygon(net).buffer(1e-6), shapely.Polygon(turned).buffer(1e-6)])
    assert sewn.symmetric_difference(bow.whole()).area < SAME_AREA * sewn.area
    for station, key in ((bow.waist, "waist"), (bow.flare, "flare"), (bow.throat, "throat")):
        assert width_at(sewn, station) == pytest.approx(bow.p[f"{key}-width"], abs=SAME_LENGTH)
        assert width_at(sewn, bow.length - station) == pytest.approx(bow.p[f"{key}-width"], abs=SAME_LENGTH)
    assert width_at(sewn, bow.middle) == pytest.approx(bow.p["band-width"], abs=SAME_LENGTH)


@pytest.mark.parametrize("name", BOWS)
def test_seam_allowance(self_tied, name):
    """Away from the corners, every point of the cut edge is the allowance away from the seam."""
    bow = BOWS[name]
    face = pieces(self_tied[name])["face"]
    seam = bow.p["seam-allowance"]
    net = bow.half(bow.middle)
    closed = np.vstack([net, net[:1]])
    cut = Outline.parse(face["cut"]).points()
    corners = np.array([[0, 0], [bow.p["end-depth"], bow.p["end-width"] / 2], [bow.middle, bow.p["band-width"] / 2]])
    corners = np.vstack([corners, corners * [1, -1]])
    clear = np.min([np.hypot(*(cut - c).T) for c in corners], axis=0) > 3 * seam
    off = distances(cut[clear], closed)
    assert clear.sum() > 100
    assert off.min() > seam - SAME_LENGTH and off.max() < seam + SAME_LENGTH
    assert shapely.Polygon(cut).buffer(1e-6).contains(shapely.Polygon(net))


@pytest.mark.parametrize("name", BOWS)
def test_notches_and_the_bow_as_it_is_tied(self_tied, name):
    """Folded at the flare, the waist lies on the throat and the tip a bow's width from the fold."""
    bow = BOWS[name]
    face = pieces(self_tied[name])["face"]
    at = {n["name"]: n["at"][0] for n in face["notches"]}
    for notch in ("waist", "flare", "throat"):
        assert at[notch] == at[f"{notch}-mirrored"]
    assert 2 * at["flare"] - at["waist"] == pytest.approx(at["throat"], abs=0.1)
    tip = Outline.parse(face["net"]).points()[:, 0].min()
    assert at["flare"] - tip == pytest.approx(bow.p["bow-width"], abs=0.1)


@pytest.mark.parametrize("name", BOWS)
def test_interlining_keeps_off_the_seam(self_tied, name):
    bow = BOWS[name]
    inside = Outline.parse(pieces(self_tied[name])["interlining"]["cut"]).points()
    within = inside[inside[:, 0] < bow.middle - 1]
    off = distances(within, bow.half(bow.length))
    assert off.min() > 0.8 - SAME_LENGTH
    assert inside[:, 0].max() == pytest.approx(bow.middle + INCH / 4, abs=SAME_LENGTH)


def test_the_named_shapes_are_the_bow_tie(tmp_path):
    """Butterfly, straight and pointed ties are bow ties of certain widths."""
    common = {"collar-size": 400.0, "bow-width": 120.0}
    depth = 57 / 2 / np.tan(np.radians(50))
    cases = {
        "butterfly": ("bow-butterfly", "  height 70 mm\n  waist-share 0.5\n",
                      {"end-width": 70, "flare-width": 70, "waist-width": 35}),
        "straight": ("bow-straight", "  height 44 mm\n",
                     {"end-width": 44, "flare-width": 44, "waist-width": 44, "end-depth": 0}),
        "pointed": ("bow-pointed", "  end-width 57 mm\n  point-angle 100 deg\n",
                    {"end-width": 57, "flare-width": 2.25 * INCH, "waist-width": 1.5 * INCH,
                     "end-depth": depth, "end-round": 0}),
    }
    usual = {"collar-ease": INCH / 4, "crossing": 0.75 * INCH, "wrap": 1.75 * INCH, "throat-width": 0.625 * INCH,
             "band-width": 0.75 * INCH, "band-taper-run": 1.5 * INCH, "end-depth": INCH / 8, "end-round": 1,
             "end-lead": 0.5}
    text = "".join(source(n, shape, common).replace("}", f"{own}}}") for n, (shape, own, _) in cases.items())
    found = draft_json(text, tmp_path)
    for name, (_, _, widths) in cases.items():
        bow = Bow({**usual, **common, **widths})
        net = Outline.parse(pieces(found[name])["face"]["net"]).points()
        assert apart(net, bow.half(bow.middle)) < SAME_LENGTH, name
        assert found[name]["measures"]["length"] == pytest.approx(bow.length, abs=SAME_LENGTH)


def random_band(luck: random.Random) -> dict[str, float]:
    step, count = luck.uniform(8, 14), luck.randint(3, 8)
    first = luck.uniform(330, 380)
    found = {
        "collar-size": first + luck.uniform(0, 1) * (count - 1) * step,
        "smallest-size": first,
        "size-step": step,
        "size-count": count,
        "hook-reach": luck.uniform(0, 12),
        "band-tail": luck.uniform(10, 30),
        "band-lap": luck.uniform(6, 12),
    }
    return {name: written(value) for name, value in found.items()}


def slots(band: dict, count: int) -> list[float]:
    """The stations of the slots; the lines of the knot, if any, stand after them."""
    found = [Outline.parse(line["path"]).points() for line in band["place"]][:count]
    assert all(abs(line[0, 0] - line[-1, 0]) < 1e-6 for line in found)
    return [line[0, 0] for line in found]


def band_is_a_tube(band: dict, width: float) -> None:
    """Twice the finished width, folded in the middle."""
    net = Outline.parse(band["net"]).points()
    assert np.ptp(net[:, 1]) == pytest.approx(2 * width, abs=SAME_LENGTH)
    (fold,) = [Outline.parse(line["path"]).points() for line in band["fold"]]
    assert fold[:, 1] == pytest.approx((net[:, 1].min() + net[:, 1].max()) / 2, abs=SAME_LENGTH)


def test_adjustable_goes_round_every_collar(tmp_path):
    """Hooked up by any slot, what lies between the throats is that collar, its ease and the knot."""
    luck = random.Random(SEED + 1)
    wanted = {f"band-{n}": {**random_end(luck), **random_band(luck)} for n in range(MANY)}
    found = draft_json("".join(source(n, "bow-adjustable", p) for n, p in wanted.items()), tmp_path)
    for name, p in wanted.items():
        drafted = pieces(found[name])
        bow, band = Bow(p), drafted["band"]
        net = Outline.parse(drafted["face"]["net"]).points()
        stub = net[:, 0].max()
        assert apart(net, bow.half(stub)) < SAME_LENGTH
        join, free = (edge(Outline.parse(band["net"]).points()[:, 0]) for edge in (np.max, np.min))
        at = slots(band, int(p["size-count"]))
        assert len(band["place"]) == len(band["texts"]) == len(at) == p["size-count"]
        band_is_a_tube(band, p["band-width"])
        for number, slot in enumerate(at):
            size = p["smallest-size"] + number * p["size-step"]
            round_collar = 2 * (stub - bow.throat) + p["hook-reach"] + join - slot - 2 * p["crossing"] - p["wrap"]
            assert round_collar == pytest.approx(size + p["collar-ease"], abs=SAME_LENGTH)
            assert float(band["texts"][number]["text"]) == pytest.approx(size / INCH, abs=0.01)
        assert at[-1] - free == pytest.approx(p["band-tail"], abs=SAME_LENGTH)
        assert found[name]["measures"]["length"] == pytest.approx(bow.length, abs=SAME_LENGTH)


def test_pretied(tmp_path):
    """The bow folds to its width and laps, the knot goes round it, the band round every collar."""
    luck = random.Random(SEED + 2)
    keys = ("collar-ease", "bow-width", "flare-width", "waist-width", "band-width", "seam-allowance",
            "shell-thickness", "interlining-thickness")
    wanted = {}
    for n in range(MANY):
        end = random_end(luck)
        own = {"knot-width": luck.uniform(12, 22), "knot-height": luck.uniform(10, 15), "knot-ease": luck.uniform(0, 5),
               "bow-lap": luck.uniform(25, 45)}
        wanted[f"tied-{n}"] = {**{k: end[k] for k in keys}, **random_band(luck),
                               **{k: written(v) for k, v in own.items()}}
    found = draft_json("".join(source(n, "bow-pretied", p) for n, p in wanted.items()), tmp_path)
    for name, p in wanted.items():
        drafted = pieces(found[name])
        wing = p["bow-width"] / 2
        flat = shapely.Polygon(Outline.parse(drafted["bow-face"]["net"]).points())
        assert apart(Outline.parse(drafted["bow-lining"]["net"]).points(), np.array(flat.exterior.coords[:-1])) < 1e-6
        # Folded with a mirror at either fold line, as anyone would fold paper.
        front = flat.intersection(shapely.box(-wing, -200, wing, 200))
        left = shapely.transform(flat.intersection(shapely.box(-900, -200, -wing, 200)), lambda c: [-2 * wing, 0] + c * [-1, 1])
        right = shapely.transform(flat.intersection(shapely.box(wing, -200, 900, 200)), lambda c: [2 * wing, 0] + c * [-1, 1])
        assert front.bounds[2] - front.bounds[0] == pytest.approx(p["bow-width"], abs=SAME_LENGTH)
        assert left.bounds[2] - right.bounds[0] == pytest.approx(p["bow-lap"], abs=SAME_LENGTH)
        assert front.buffer(SAME_LENGTH).contains(left) and front.buffer(SAME_LENGTH).contains(right)
        assert width_at(flat, 0) == pytest.approx(p["waist-width"], abs=SAME_LENGTH)
        assert width_at(flat, wing) == pytest.approx(p["flare-width"], abs=SAME_LENGTH)
        half = cubic(p["waist-width"], p["waist-width"], p["flare-width"], p["flare-width"]) / 2
        area = 8 * np.trapezoid(half, np.linspace(0, wing, STEPS)) + p["bow-lap"] * p["waist-width"]
        assert flat.area == pytest.approx(area, rel=SAME_AREA)

        # Three waists and the doubled band, squeezed to the height of the knot, make its girth.
        layers = 2 * p["shell-thickness"] + p["interlining-thickness"]
        section = 3 * p["waist-width"] * layers + 2 * p["band-width"] * p["shell-thickness"]
        girth = 2 * (p["knot-height"] + section / p["knot-height"])
        assert found[name]["measures"]["pinch-girth"] == pytest.approx(girth, abs=SAME_LENGTH)
        knot = Outline.parse(drafted["knot"]["net"]).points()
        assert np.ptp(knot[:, 0]) == pytest.approx(girth + p["knot-ease"], abs=SAME_LENGTH)
        assert np.ptp(knot[:, 1]) == pytest.approx(2 * p["knot-width"], abs=SAME_LENGTH)

        band = drafted["band"]
        band_is_a_tube(band, p["band-width"])
        hook = Outline.parse(band["net"]).points()[:, 0].max() + p["hook-reach"]
        for number, slot in enumerate(slots(band, int(p["size-count"]))):
            size = p["smallest-size"] + number * p["size-step"]
            assert hook - slot == pytest.approx(size + p["collar-ease"], abs=SAME_LENGTH)
        # At the collar size it is drawn for, the hook lies opposite the knot.
        assert hook == pytest.approx((p["collar-size"] + p["collar-ease"]) / 2, abs=SAME_LENGTH)


def test_sizes_of_the_trade(tmp_path):
    """Usual bow ties, of common practice: a butterfly 2 1/4 to 3 1/4 in high, a straight one 1 1/2 to
    2 in, the bow 4 to 5 1/2 in wide, 32 to 36 in long for a collar of 16 in."""
    shapes = ("bow-butterfly", "bow-straight", "bow-pointed")
    found = draft_json("".join(f"style a-{shape} from {shape}\n" for shape in shapes), tmp_path)
    high = {"bow-butterfly": (2.25, 3.25), "bow-straight": (1.5, 2), "bow-pointed": (2, 2.75)}
    for shape in shapes:
        drafted = found[f"a-{shape}"]
        net = Outline.parse(pieces(drafted)["face"]["net"]).points()
        assert high[shape][0] <= np.ptp(net[:, 1]) / INCH <= high[shape][1]
        assert 4 <= drafted["parameters"]["bow-width"] / INCH <= 5.5
        assert 0.625 <= drafted["parameters"]["throat-width"] / INCH <= 0.75
        assert 32 <= drafted["measures"]["length"] / INCH <= 36
