"""Every outline of the examples, judged by shapely (the GEOS library).

Sources: simple-features validity for outlines; by definition of a pattern for what lies in what:
seam lines inside the cut outline, panels dividing the shell, marks on or inside their piece.
"""

from __future__ import annotations

import math
from dataclasses import fields

import numpy as np
import pytest
import shapely
from common import PANELS, SAME_AREA, Outline, apart, pieces, pulled
from independent import Draft, Parameters, area

NEAR = 0.001  # mm, for points that lie on a line


def test_outlines_are_simple(drawn):
    for one in drawn:
        for piece in one.json["pieces"]:
            for kind in ("cut", "net"):
                shape = Outline.parse(piece[kind]).polygon()
                why = shapely.is_valid_reason(shape)
                assert shape.is_valid and shape.exterior.is_simple, (one.name, piece["name"], kind, why)


def test_areas(drawn):
    for one in drawn:
        for piece in one.json["pieces"]:
            for kind, stated in (("cut", piece["area"]), ("net", piece["net_area"])):
                assert Outline.parse(piece[kind]).polygon().area == pytest.approx(stated, rel=1e-5)


def test_outlines_run_clockwise(drawn):
    """Outside on the left, as the JSON promises."""
    for one in drawn:
        for piece in one.json["pieces"]:
            assert Outline.parse(piece["cut"]).area < 0 and Outline.parse(piece["net"]).area < 0


def test_net_lies_in_cut(drawn):
    for one in drawn:
        for piece in one.json["pieces"]:
            cut, net = (Outline.parse(piece[kind]).polygon() for kind in ("cut", "net"))
            assert net.difference(cut.buffer(NEAR)).area < 1e-6, (one.name, piece["name"])


def test_lines_lie_in_the_piece(drawn):
    for one in drawn:
        for piece in one.json["pieces"]:
            cut = Outline.parse(piece["cut"]).polygon().buffer(NEAR)
            for line in piece["sew"] + piece["fold"]:
                drawn_line = shapely.LineString(Outline.parse(line["path"]).points())
                assert cut.covers(drawn_line), (one.name, piece["name"], line["name"])


def test_notches_start_on_the_outline_and_go_in(drawn):
    for one in drawn:
        for piece in one.json["pieces"]:
            cut = Outline.parse(piece["cut"]).polygon()
            for notch in piece["notches"]:
                (x, y), (dx, dy) = notch["at"], notch["inward"]
                assert math.hypot(dx, dy) == pytest.approx(1, abs=1e-5)
                assert cut.exterior.distance(shapely.Point(x, y)) < NEAR
                foot = shapely.Point(x + dx * notch["depth"], y + dy * notch["depth"])
                assert cut.covers(foot) and cut.exterior.distance(foot) > notch["depth"] / 2


def test_grain_lies_in_the_piece(drawn):
    for one in drawn:
        for piece in one.json["pieces"]:
            grain = shapely.LineString([piece["grain"]["from"], piece["grain"]["to"]])
            assert grain.length > 1
            assert Outline.parse(piece["cut"]).polygon().covers(grain), (one.name, piece["name"])


def four_in_hands(drawn) -> list[tuple[dict, Draft]]:
    """The drafts cut in blade, neck and tail, beside the calculation from their parameters."""
    found = []
    for one in drawn:
        values = {name.replace("-", "_"): value for name, value in one.json["parameters"].items()}
        names = {f.name for f in fields(Parameters)}
        if set(PANELS) <= set(pieces(one.json)) and names <= set(values):
            found.append((one.json, Draft(Parameters(**{n: values[n] for n in names}))))
    return found


def hanging(drafted: dict, points: np.ndarray) -> np.ndarray:
    """Points of a piece as it hangs: the calculation knows no cloth that gives."""
    give = next(cloth["give"] for cloth in drafted["cloths"] if cloth["role"] == "shell")
    return pulled(points, give)


def test_panels_divide_the_flat_shell(drawn):
    for drafted, by_hand in four_in_hands(drawn):
        outlines = [Outline.parse(pieces(drafted)[name]["net"]).points() for name in PANELS]
        nets = [shapely.Polygon(hanging(drafted, points)) for points in outlines]
        whole = shapely.union_all(nets, grid_size=1e-4)
        assert whole.geom_type == "Polygon" and not whole.interiors
        assert sum(net.area for net in nets) == pytest.approx(whole.area, rel=1e-6)
        assert whole.area == pytest.approx(area(by_hand.shell()), rel=SAME_AREA)
        assert apart(shapely.get_coordinates(whole.exterior)[:-1], by_hand.shell()) < 0.02


def test_seams_of_two_panels_match(drawn):
    """Both panels at a join show the same seam: the edge the two nets share. It lies along yarns, so
    that cloth that gives shows it as long on the table as it hangs."""
    for drafted, by_hand in four_in_hands(drawn):
        found = pieces(drafted)
        nets = [Outline.parse(found[name]["net"]).polygon() for name in PANELS]
        names = ("first-join-seam", "second-join-seam")
        for before, after, name in zip(nets, nets[1:], names):
            shared = before.buffer(NEAR).intersection(after.buffer(NEAR))
            assert shared.area / (2 * NEAR) == pytest.approx(drafted["measures"][name], abs=0.05)


def test_interlining_lies_inside_the_finished_tie(drawn):
    for drafted, by_hand in four_in_hands(drawn):
        finished = shapely.Polygon(by_hand.finished())
        found = pieces(drafted)
        interlining = shapely.Polygon(hanging(drafted, Outline.parse(found["interlining"]["cut"]).points()))
        assert finished.contains(interlining)
        gap = interlining.exterior.distance(finished.exterior)
        wanted = min(by_hand.p.interlining_ease, by_hand.p.interlining_tip_gap)
        assert gap == pytest.approx(wanted, abs=0.02)


def test_tipping_is_sewn_a_margin_inside_the_point(drawn):
    """Both linings: the seam runs along the finished point edge, an even margin inside it."""
    for drafted, by_hand in four_in_hands(drawn):
        found = pieces(drafted)
        for name, end in (("front-tipping", by_hand.front), ("tail-tipping", by_hand.tail)):
            if name not in found:
                # Cut in two by the decorative tipping, which `test_models.py` looks at.
                assert {"front-tipping-point", "front-tipping-upper"} <= set(found)
                continue
            lines = found[name]["sew"]
            assert lines
            for line in lines:
                for x, y in hanging(drafted, Outline.parse(line["path"]).points()):
                    along = x if name == "front-tipping" else by_hand.p.length - x
                    inside = along * math.sin(end.angle / 2) - abs(y) * math.cos(end.angle / 2)
                    assert inside == pytest.approx(by_hand.p.tipping_margin, abs=NEAR)


def test_examples_hold_four_in_hands(drawn, request):
    """Guards the checks above: the plainest example must be one they look at."""
    if "four-in-hand" in request.node.callspec.id:
        assert four_in_hands(drawn)
