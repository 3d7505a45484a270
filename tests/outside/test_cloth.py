"""Cloth that gives: pieces as cut against the same pieces as they hang.

Sources: the pin-jointed net of Weissenberg (1949) and Mack & Taylor, J. Text. Inst. 47 (1956) T477,
both from memory; the numbers are derived here from yarns that keep their length.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from common import PANELS, ROOT, SAME_AREA, Outline, apart, draft_json, net, pieces, pulled

LENGTH, WIDTH, HEM = 800.0, 90.0, 12.0  # mm

STRIP = f"""
shape strip {{
  cloth shell {{ give 0 % }}
  piece bare {{
    cloth shell; grain 45 deg; give shell.give
    outline {{
      edge left  = line through (0 mm, 0 mm) at 90 deg
      edge long  = line through (0 mm, {WIDTH / 2} mm) at 0 deg
      edge right = line through ({LENGTH} mm, 0 mm) at -90 deg
      both sides
    }}
    place line from (0 mm, {-WIDTH / 2} mm) to ({WIDTH} mm, {WIDTH / 2} mm) as slant
    notch v on long at 200 mm depth 3 mm as mark, both sides
    drill (300 mm, 30 mm) as hole
    text "up" at (400 mm, 10 mm) turned 30 deg
  }}
  piece hemmed {{
    cloth shell; grain -45 deg; give shell.give
    outline bare
    allowance {HEM} mm on left, right
    allowance {HEM} mm on long, both sides
    notch slit on long at 200 mm depth 3 mm as mark
  }}
  assembly flat {{ lay hemmed; finish whole }}
  outline whole {{
    edge left  = line through ({-HEM} mm, 0 mm) at 90 deg
    edge long  = line from (0 mm, {WIDTH / 2 + HEM} mm) to ({LENGTH} mm, {WIDTH / 2 + HEM} mm)
    edge right = line through ({LENGTH + HEM} mm, 0 mm) at -90 deg
    both sides
  }}
  measure hanging = length of bare.long
  measure slanting = length of bare.slant
  measure cloth-area = area of bare
}}
"""


@pytest.mark.parametrize(
    ("share", "narrower", "shear", "area"),
    [(1, 1.010, 1.152, 0.99980), (2, 2.041, 2.315, 0.99918), (5, 5.264, 5.883, 0.99473), (10, 11.118, 12.122, 0.97770)],
)
def test_a_strip_is_cut_as_the_net_has_it(tmp_path, share, narrower, shear, area):
    """Extension, width change, shear and area of the net, derived."""
    along, across = net(share / 100)
    assert along == pytest.approx(1 + share / 100, abs=1e-12)
    assert 100 * (1 - across) == pytest.approx(narrower, abs=5e-4)
    assert math.degrees(math.asin(along**2 - 1)) == pytest.approx(shear, abs=5e-4)
    assert along * across == pytest.approx(area, abs=5e-6)

    text = STRIP + f"cloth silk {{ give {share} % }}\nstyle s from strip {{ shell silk }}\n"
    drafted = draft_json(text, tmp_path)["s"]
    assert drafted["cloths"] == [dict(drafted["cloths"][0], role="shell", name="silk", give=share / 100)]
    found = pieces(drafted)
    length, width = LENGTH / along, WIDTH / across
    bare = Outline.parse(found["bare"]["cut"])
    assert np.ptp(bare.points(), axis=0) == pytest.approx([length, width], abs=2e-6)
    assert found["bare"]["area"] == pytest.approx(length * width, rel=1e-9)
    assert drafted["measures"]["cloth-area"] == pytest.approx(length * width, rel=1e-9)
    assert length * width * area == pytest.approx(LENGTH * WIDTH, rel=1e-5)

    # Marks go with the cloth; a notch is cut square to the edge as it lies, words keep their angle.
    assert found["bare"]["drills"][0]["at"] == pytest.approx([300 / along, 30 / across], abs=1e-6)
    assert found["bare"]["texts"][0]["at"] == pytest.approx([400 / along, 10 / across], abs=1e-6)
    assert found["bare"]["texts"][0]["angle"] == pytest.approx(30, abs=1e-9)
    upper, lower = found["bare"]["notches"]
    assert upper["at"] == pytest.approx([200 / along, width / 2], abs=1e-6)
    assert upper["inward"] == pytest.approx([0, -1], abs=1e-9)
    assert lower["at"] == pytest.approx([200 / along, -width / 2], abs=1e-6)
    grain = np.subtract(found["bare"]["grain"]["to"], found["bare"]["grain"]["from"])
    assert math.degrees(math.atan2(*grain[::-1])) == pytest.approx(45, abs=1e-6)

    # Allowances are as wide as stated, on the table; the language measures what hangs.
    hemmed = Outline.parse(found["hemmed"]["cut"])
    assert np.ptp(hemmed.points(), axis=0) == pytest.approx([length + 2 * HEM, width + 2 * HEM], abs=2e-6)
    assert found["hemmed"]["notches"][0]["at"] == pytest.approx([200 / along, width / 2 + HEM], abs=1e-6)
    assert drafted["measures"]["hanging"] == pytest.approx(LENGTH, abs=1e-6)
    assert drafted["measures"]["slanting"] == pytest.approx(WIDTH * math.sqrt(2), abs=1e-6)


def test_the_folded_work_is_of_cloth_as_it_hangs(tmp_path):
    """Derived: hems of 12 mm on the table hang 2 % longer at the ends and narrower along the sides, so
    that cloth stands out there beyond an outline with hems of 12 mm, and is missing here."""
    along, across = net(0.02)
    text = STRIP.replace("measure hanging", 'measure out = silhouette-gap of flat\n  measure hanging')
    text += "cloth silk { give 2 % }\nstyle s from strip { shell silk }\nstyle slack from strip\n"
    drafted = draft_json(text, tmp_path)
    assert drafted["s"]["measures"]["out"] == pytest.approx(HEM * max(along - 1, 1 - across), abs=1e-6)
    assert drafted["slack"]["measures"]["out"] == pytest.approx(0, abs=1e-9)


TIES = """
cloth silk { give 2 % }
style hung from four-in-hand { shell silk }
style cut from four-in-hand
"""


@pytest.fixture(scope="module")
def ties(tmp_path_factory):
    return draft_json(TIES, tmp_path_factory.mktemp("ties"))


@pytest.mark.parametrize("name", ["interlining", "front-tipping", "tail-tipping"])
def test_pieces_without_joins_hang_as_the_tie_that_does_not_give(ties, name):
    gives, stays = pieces(ties["hung"])[name], pieces(ties["cut"])[name]
    hanging = pulled(Outline.parse(gives["cut"]).points(400), 0.02)
    assert apart(hanging, Outline.parse(stays["cut"]).points(400)) < 1e-3
    for one, other in zip(gives["notches"], stays["notches"], strict=True):
        assert pulled(np.array([one["at"]]), 0.02)[0] == pytest.approx(other["at"], abs=1e-5)


LONG_TIES = [p.stem for p in sorted((ROOT / "stdlib-shapes").glob("*.tie"))
             if "from four-in-hand" in p.read_text("utf-8") or p.stem == "elastic-neck"]


@pytest.mark.parametrize("shape", LONG_TIES)
def test_what_lies_in_a_shell_relaxes_with_it(tmp_path, shape):
    """Interlining and tipping are sewn in and hang with the shell, in every model of it."""
    drafted = draft_json(TIES.replace("four-in-hand", shape), tmp_path)
    gives, stays = pieces(drafted["hung"]), pieces(drafted["cut"])
    for name, piece in gives.items():
        # A loop or knot lies across, and a lining of shell may be part of a panel with a join.
        if piece["cloth"] in ("interlining", "tipping"):
            hanging = pulled(Outline.parse(piece["net"]).points(400), 0.02)
            assert apart(hanging, Outline.parse(stays[name]["net"]).points(400)) < 1e-3, name
    blade = np.ptp(Outline.parse(gives["blade"]["net"]).points(), axis=0)[1]
    assert blade == pytest.approx(np.ptp(Outline.parse(stays["blade"]["net"]).points(), axis=0)[1] / net(0.02)[1], abs=1e-3)


def test_the_panels_hang_as_the_tie_that_does_not_give(ties):
    """The joins of the tie that gives lie on its own yarns, so the panels are compared as one shell,
    allowances left out: cut panels, pulled and laid side by side, cover the same cloth."""
    gives, stays = pieces(ties["hung"]), pieces(ties["cut"])
    hanging = [pulled(Outline.parse(gives[name]["net"]).points(400), 0.02) for name in PANELS]
    flat = [Outline.parse(stays[name]["net"]).polygon() for name in PANELS]
    shell = shapely.union_all([shapely.Polygon(p).buffer(1e-4) for p in hanging])
    other = shapely.union_all([p.buffer(1e-4) for p in flat])
    assert shell.geom_type == other.geom_type == "Polygon"
    rings = [np.asarray(p.exterior.coords)[:-1] for p in (shell, other)]
    assert apart(*rings) < 1e-3
    area = sum(shapely.Polygon(p).area for p in hanging)
    assert area == pytest.approx(sum(p.area for p in flat), rel=SAME_AREA)


@pytest.mark.parametrize(("panel", "seam"), [("blade", "first"), ("neck", "second"), ("tail", "second")])
def test_joins_run_along_the_yarns_and_keep_their_length(ties, panel, seam):
    """Derived: a seam along yarns that do not stretch is as long on the table as it hangs, and lies
    at 45 degrees on the table."""
    piece = pieces(ties["hung"])[panel]
    line = next(line for line in piece["sew"] if line["name"] == f"{seam}-join")
    sewn = Outline.parse(line["path"])
    assert sewn.length == pytest.approx(ties["hung"]["measures"][f"{seam}-join-seam"], abs=1e-4)
    step = sewn.controls[-1, 3] - sewn.controls[0, 0]
    assert math.degrees(math.atan2(step[1], step[0])) % 90 == pytest.approx(45, abs=1e-5)


def test_allowances_of_joins_are_as_stated(ties):
    piece = pieces(ties["hung"])["blade"]
    edge = next(e for e in piece["edges"] if e["name"] == "first-join")
    line = next(line for line in piece["sew"] if line["name"] == "first-join")
    a, b = Outline.parse(line["path"]).controls[[0, -1], [0, 3]]
    ends = Outline.parse(edge["path"]).controls[:, [0, 3]].reshape(-1, 2)
    square = np.array([-(b - a)[1], (b - a)[0]]) / math.dist(a, b)
    assert np.abs((ends - a) @ square).max() == pytest.approx(25.4 / 4, abs=1e-4)


def test_cloth_that_does_not_give_changes_nothing(tmp_path, ties):
    """A cloth that states what holds anyway drafts to the same numbers, to the last digit."""
    text = "cloth plain { give 0 %; thickness 0.3 mm; ease-limit 1.5 % }\nstyle cut from four-in-hand { shell plain }\n"
    plain = draft_json(text, tmp_path)["cut"]
    for part in ("pieces", "measures", "proof", "parameters"):
        assert plain[part] == ties["cut"][part]


def test_properties_reach_the_file(tmp_path):
    text = """
cloth stripe "silk repp" { width 140 cm; usable-width 138 cm; direction one-way; bias left; thickness 0.35 mm; give 2 %
  ease-limit 1.2 %; repeat-warp 32 mm; repeat-weft 48 mm; price 85 }
cloth wool { width 90 cm }
style s from four-in-hand { shell stripe; interlining wool; size thin { shell wool } }
"""
    drafted = draft_json(text, tmp_path)["s"]
    shell, interlining, tipping = drafted["cloths"]
    assert shell == {
        "role": "shell", "name": "stripe", "doc": "silk repp", "width": 1400.0, "usable_width": 1380.0,
        "direction": "one-way", "bias": "left", "thickness": 0.35, "give": 0.02, "ease_limit": 0.012, "repeat_warp": 32.0,
        "repeat_weft": 48.0, "price": 85.0,
    }
    assert interlining["name"] == "wool" and interlining["usable_width"] == 900.0
    assert interlining["thickness"] == 1.6 and interlining["direction"] == "any-way"
    assert tipping["role"] == "tipping" and tipping["name"] is None and tipping["width"] is None
    sized = draft_json(text, tmp_path / "sized", "--size", "all")["s-thin"]
    assert sized["cloths"][0]["name"] == "wool" and sized["parameters"]["shell-thickness"] == 0.3
