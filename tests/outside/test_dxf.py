"""The DXF drawings, read by ezdxf and held against the JSON of the same draft.

Sources: layer numbers, one block a piece inserted once, the style's text outside and the piece's
text inside its block, curve points on the outline: published summaries of ASTM D6673 (the
standard itself was withdrawn in 2019). Text keys, grain as one LINE along the warp: common
practice, from memory. R12 is AC1009 and 7-bit: the DXF reference.
"""

from __future__ import annotations

import json
import math
import os
import time

import ezdxf
import numpy as np
import pytest
import shapely
from common import EXAMPLES, Outline, draft, pieces, run
from ezdxf.lldxf.encoding import decode_dxf_unicode
from ezdxf.tools.text import caret_decode

TOLERANCE = 0.05  # mm, the program's default for flattening
WRITTEN = 0.002  # mm, rounding of the numbers in the file, generously
ON_CURVE = 0.001  # mm, how far a point that stands for a curve may be off it
LAYERS = {
    "1": "boundary and text",
    "2": "turn points",
    "3": "curve points",
    "4": "slit and V notches",
    "7": "grain line",
    "8": "internal lines",
    "13": "drill holes",
    "14": "sew lines",
    "15": "annotation",
    "80": "T notches",
}


@pytest.fixture(scope="session")
def documents(drawn):
    """Every drawing of one example beside its JSON."""
    return [(one, ezdxf.readfile(one.dxf)) for one in drawn]


def test_there_are_examples():
    assert EXAMPLES, "no examples/*.tie to check"


def test_audit_is_clean(documents):
    for one, document in documents:
        audit = document.audit()
        assert not audit.errors, (one.name, [e.message for e in audit.errors])
        assert not audit.fixes, (one.name, [e.message for e in audit.fixes])


def test_version_and_bytes(documents):
    for one, document in documents:
        assert document.dxfversion == "AC1009", one.name
        assert max(one.dxf.read_bytes()) < 128, f"{one.name} is not 7-bit text"


def test_one_block_a_piece_inserted_once(documents):
    for one, document in documents:
        blocks = {b.name for b in document.blocks if not b.name.startswith(("*", "$"))}
        wanted = pieces(one.json)
        assert {name.lower() for name in blocks} == {name.lower() for name in wanted}
        inserts = [e for e in document.modelspace() if e.dxftype() == "INSERT"]
        assert sorted(e.dxf.name for e in inserts) == sorted(blocks)
        for insert in inserts:
            scales = insert.dxf.xscale, insert.dxf.yscale, insert.dxf.rotation
            assert scales == (1, 1, 0), f"{insert.dxf.name} is not at full size"


def test_style_text_once(documents):
    for one, document in documents:
        words = [e.dxf.text for e in document.modelspace() if e.dxftype() == "TEXT"]
        assert sum(w.startswith("Style Name:") for w in words) == 1
        assert f"Style Name: {one.json['style']}" in words
        assert "Units: METRIC" in words
        assert not any(e.dxf.text.startswith("Style Name:") for _, e in entities(one, document, "TEXT"))


def test_piece_texts(documents):
    for one, document in documents:
        for piece in one.json["pieces"]:
            words = [e.dxf.text for e in block(document, piece["name"]) if e.dxftype() == "TEXT"]
            assert f"Piece Name: {piece['name']}" in words
            assert f"Size: {one.json['size'] or 'base'}" in words
            assert f"Quantity: {piece['quantity']}" in words
            assert f"Material: {piece['cloth']}" in words


def test_layers(documents):
    for one, document in documents:
        for piece in one.json["pieces"]:
            used = {e.dxf.layer for e in block(document, piece["name"])}
            assert used <= set(LAYERS), (one.name, piece["name"], used)


def test_boundary(documents):
    for one, document in documents:
        for piece in one.json["pieces"]:
            lines = [e for e in block(document, piece["name"]) if e.dxftype() == "POLYLINE" and e.dxf.layer == "1"]
            assert len(lines) == 1 and lines[0].is_closed, (one.name, piece["name"])
            points = vertices(lines[0])
            exact = Outline.parse(piece["cut"])
            follows(points, exact, closed=True)
            ring = shapely.Polygon(points)
            assert ring.is_valid
            assert abs(ring.area - piece["area"]) <= TOLERANCE * curved_length(exact) + WRITTEN * exact.length
            assert ring.exterior.length == pytest.approx(exact.length, rel=1e-4)


def test_turn_and_curve_points(documents):
    """Every vertex of an outline or line is marked: corners of the boundary as turn points, all
    between them as curve points, so that no curve point lies off its curve."""
    for one, document in documents:
        for piece in one.json["pieces"]:
            inside, where = block(document, piece["name"]), (one.name, piece["name"])
            turns, curves = points_on(inside, "2"), points_on(inside, "3")
            everything = np.vstack([ring for layer in ("1", "8", "14") for ring in polylines(inside, layer)])
            assert len(turns) + len(curves) == len(everything), where
            assert away(np.vstack([turns, curves]), everything).max() < WRITTEN, where
            (ring,) = polylines(inside, "1")
            sharp = away(ring, sharp_corners(Outline.parse(piece["cut"]))) < WRITTEN
            assert away(ring[sharp], turns).max() < WRITTEN, where
            assert sharp.all() or away(ring[~sharp], curves).max() < WRITTEN, where


def test_inner_lines(documents):
    """Fold and placement lines on 8; sew lines on 14, with those of the joins on the net outline."""
    for one, document in documents:
        for piece in one.json["pieces"]:
            inside = block(document, piece["name"])
            wanted = [Outline.parse(line["path"]) for line in piece["fold"] + piece.get("place", [])]
            matched(polylines(inside, "8"), wanted, f"{one.name} {piece['name']} layer 8")
            sew = [Outline.parse(line["path"]) for line in piece["sew"]]
            rest = matched(polylines(inside, "14"), sew, f"{one.name} {piece['name']} layer 14", more=True)
            net = shapely.LinearRing(Outline.parse(piece["net"]).points())
            for points in rest:
                assert lies_on(points, net), "a sew line is neither a seam nor on the net outline"
            # Where the net outline is not the cut one it is a seam, and drawn.
            cut = shapely.LinearRing(Outline.parse(piece["cut"]).points())
            hidden = shapely.LineString(net.coords).difference(cut.buffer(WRITTEN))
            lines = [shapely.LineString(points) for points in polylines(inside, "14") if lies_on(points, net)]
            # The chords of a curved seam are a little shorter than the seam, but lie on it.
            bare = hidden.difference(shapely.union_all(lines).buffer(TOLERANCE + WRITTEN)).length
            assert bare < 0.05, "a seam of the net outline is missing"
            assert sum(line.length for line in lines) < hidden.length + 0.05, "a seam is drawn twice"


def lies_on(points: np.ndarray, ring: shapely.LinearRing) -> bool:
    return shapely.distance(shapely.points(points), ring).max() < WRITTEN


def test_notches(documents):
    """Position on the outline; kind by layer (T on 80); depth and direction can be had back."""
    for one, document in documents:
        for piece in one.json["pieces"]:
            found = [e for e in block(document, piece["name"])
                     if e.dxftype() == "POINT" and e.dxf.layer in ("4", "80")]
            assert len(found) == len(piece["notches"]), (one.name, piece["name"])
            for notch in piece["notches"]:
                near = [e for e in found if math.dist((e.dxf.location.x, e.dxf.location.y), notch["at"]) < WRITTEN]
                assert near, (one.name, piece["name"], notch)
                layer = "80" if notch["kind"].lower() == "t" else "4"
                angle = math.degrees(math.atan2(notch["inward"][1], notch["inward"][0]))
                assert any(
                    e.dxf.layer == layer
                    and e.dxf.thickness == pytest.approx(notch["depth"], abs=WRITTEN)
                    and abs((e.dxf.angle - angle + 180) % 360 - 180) < 0.01
                    for e in near
                ), (one.name, piece["name"], notch)


def test_grain(documents):
    for one, document in documents:
        for piece in one.json["pieces"]:
            lines = [e for e in block(document, piece["name"]) if e.dxf.layer == "7"]
            assert [e.dxftype() for e in lines] == ["LINE"], (one.name, piece["name"])
            ends = [(p.x, p.y) for p in (lines[0].dxf.start, lines[0].dxf.end)]
            assert math.dist(ends[0], piece["grain"]["from"]) < WRITTEN
            assert math.dist(ends[1], piece["grain"]["to"]) < WRITTEN


def test_drills(documents):
    for one, document in documents:
        for piece in one.json["pieces"]:
            found = points_on(block(document, piece["name"]), "13")
            wanted = [drill["at"] for drill in piece.get("drills", [])]
            assert len(found) == len(wanted)
            for at in wanted:
                assert np.hypot(*(found - at).T).min() < WRITTEN


def test_bias_grain(documents):
    """Every piece of the tie is cut on the bias: the warp runs at 45° to its centreline, which is
    the x axis of the draft."""
    for one, document in documents:
        for piece in one.json["pieces"]:
            if piece["name"] not in ("blade", "neck", "tail", "front-tipping", "tail-tipping", "interlining"):
                continue
            (line,) = (e for e in block(document, piece["name"]) if e.dxf.layer == "7")
            along = line.dxf.end - line.dxf.start
            assert along.angle_deg % 180 == pytest.approx(45, abs=0.01), (one.name, piece["name"])
            wanted = math.dist(piece["grain"]["from"], piece["grain"]["to"])
            assert along.magnitude == pytest.approx(wanted, abs=WRITTEN) and wanted > 10


def test_groups_are_of_r12(documents):
    """No subclass markers, no handles, no tables; the header says the version alone. Every vertex
    is on the layer of its polyline. Read as bare pairs of lines, not through a library."""
    for one, _ in documents:
        lines = one.dxf.read_text("ascii").split("\n")
        pairs = [(int(code), value.strip()) for code, value in zip(lines[0:-1:2], lines[1::2])]
        assert pairs[:5] == [(0, "SECTION"), (2, "HEADER"), (9, "$ACADVER"), (1, "AC1009"), (0, "ENDSEC")]
        names = [value for (code, value), before in zip(pairs[1:], pairs) if before == (0, "SECTION")]
        assert names == ["HEADER", "BLOCKS", "ENTITIES"]
        assert not {code for code, _ in pairs} & {5, 100, 102, 330}
        entity = layer = None
        for code, value in pairs:
            if code == 0:
                entity = value
            elif code == 8 and entity == "POLYLINE":
                layer = value
            elif code == 8 and entity in ("VERTEX", "SEQEND"):
                assert value == layer, one.name


def test_text_is_seven_bit(tmp_path):
    """DXF reference: a caret is written `^ `, what is not ASCII as `\\U+XXXX`."""
    source = tmp_path / "accents.tie"
    source.write_text("style accents from four-in-hand \"caf\u00e9 ^ bar\" {\n}\n", "utf-8")
    files = draft(source, tmp_path / "out", "dxf,json")
    said = json.loads(files["accents.json"].read_text("utf-8"))["doc"]
    assert said == "caf\u00e9 ^ bar"
    raw = files["accents.dxf"].read_bytes()
    assert max(raw) < 128 and b"Style Description: caf\\U+00E9 ^  bar\r\n" in raw
    words = [e.dxf.text for e in ezdxf.readfile(files["accents.dxf"]).modelspace() if e.dxftype() == "TEXT"]
    assert "Style Description: caf\u00e9 ^ bar" in [caret_decode(decode_dxf_unicode(w)) for w in words]


def test_same_bytes_every_time(tmp_path):
    """Two runs more than a second apart, in different time zones: nothing of either is written."""
    first = draft(EXAMPLES[0], tmp_path / "first", "dxf,svg")
    time.sleep(1.1)
    environment = {**os.environ, "TZ": "Pacific/Auckland", "LANG": "tr_TR.UTF-8", "HOME": "/nowhere"}
    second = tmp_path / "second"
    result = run("draft", EXAMPLES[0], "--as", "dxf,svg", "--out", second, env=environment)
    assert result.returncode == 0, result.stderr.decode()
    for name, path in first.items():
        assert path.read_bytes() == (second / name).read_bytes(), name


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_tolerance_is_kept(tmp_path, example):
    """By definition of the option, on outlines and inner lines; a finer drawing has more points,
    about √10 times as many on a curve for a tenth of the tolerance."""
    counts = []
    for tolerance in (0.5, 0.05, 0.005):
        files = draft(example, tmp_path / str(tolerance), "json,dxf", "--tolerance", f"{tolerance}mm")
        name = next(n for n in files if n.endswith(".dxf"))
        drafted = json.loads(files[name.replace(".dxf", ".json")].read_text("utf-8"))
        document = ezdxf.readfile(files[name])
        total, curved = 0, False
        for piece in drafted["pieces"]:
            inside, exact = block(document, piece["name"]), Outline.parse(piece["cut"])
            (ring,) = polylines(inside, "1")
            follows(ring, exact, closed=True, tolerance=tolerance)
            wanted = [Outline.parse(line["path"]) for line in piece["fold"] + piece["place"]]
            matched(polylines(inside, "8"), wanted, piece["name"], tolerance=tolerance)
            sew = [Outline.parse(line["path"]) for line in piece["sew"]]
            matched(polylines(inside, "14"), sew, piece["name"], more=True, tolerance=tolerance)
            total += len(ring)
            curved = curved or curved_length(exact) > 0
        counts.append(total)
    assert counts[0] < counts[1] < counts[2] if curved else counts[0] == counts[2], counts
    assert counts[2] < 4 * counts[1] < 16 * counts[0], counts


# Helpers.


def block(document, name: str):
    return next(b for b in document.blocks if b.name.lower() == name.lower())


def entities(one, document, kind: str):
    return [(p["name"], e) for p in one.json["pieces"] for e in block(document, p["name"]) if e.dxftype() == kind]


def vertices(line) -> np.ndarray:
    return np.array([(v.dxf.location.x, v.dxf.location.y) for v in line.vertices])


def away(points: np.ndarray, others: np.ndarray) -> np.ndarray:
    """From each point the distance to the nearest of the others."""
    return np.hypot(*(points[:, None] - others[None]).transpose(2, 0, 1)).min(axis=1)


def polylines(inside, layer: str) -> list[np.ndarray]:
    """All lines of a layer as points."""
    found = [vertices(e) for e in inside if e.dxftype() == "POLYLINE" and e.dxf.layer == layer]
    found += [np.array([(p.x, p.y) for p in (e.dxf.start, e.dxf.end)])
              for e in inside if e.dxftype() == "LINE" and e.dxf.layer == layer]
    return found


def points_on(inside, layer: str) -> np.ndarray:
    found = [(e.dxf.location.x, e.dxf.location.y) for e in inside if e.dxftype() == "POINT" and e.dxf.layer == layer]
    return np.array(found).reshape(-1, 2)


def follows(points: np.ndarray, exact: Outline, closed: bool, tolerance: float = TOLERANCE) -> None:
    """The points lie on the exact line and the straight runs between them within tolerance."""
    fine = exact.points(2000)
    ring = shapely.LinearRing if closed else shapely.LineString
    on = shapely.distance(shapely.points(points), ring(fine)).max()
    assert on < ON_CURVE, f"a point lies {on:.4f} mm off the line"
    off = shapely.distance(shapely.points(fine), ring(points)).max()
    assert off < tolerance + ON_CURVE, f"the line is left by {off:.4f} mm"


def matched(found: list[np.ndarray], wanted: list[Outline], where: str, more: bool = False,
            tolerance: float = TOLERANCE) -> list[np.ndarray]:
    """Pairs drawn lines with wanted ones by their end points; gives what is left over."""
    rest = list(found)
    for line in wanted:
        ends = line.points(1)[[0, -1]] if not line.closed else line.points(1)[[0, 0]]
        for i, points in enumerate(rest):
            if np.abs(points[[0, -1]] - ends).max() < WRITTEN or np.abs(points[[-1, 0]] - ends).max() < WRITTEN:
                follows(points, line, closed=line.closed, tolerance=tolerance)
                rest.pop(i)
                break
        else:
            raise AssertionError(f"{where}: a line from {ends[0]} to {ends[1]} is missing")
    assert more or not rest, f"{where}: {len(rest)} lines too many"
    return rest


def curved_length(exact: Outline) -> float:
    """Length of the segments that are not straight."""
    bent = [row for row in exact.controls if not straight_row(row)]
    return Outline(np.array(bent), False).length if bent else 0.0


def straight_row(row: np.ndarray) -> bool:
    chord, inner = row[3] - row[0], row[1:3] - row[0]
    return float(np.abs(chord[0] * inner[:, 1] - chord[1] * inner[:, 0]).max()) < 1e-6 * float(np.hypot(*chord))


def sharp_corners(exact: Outline) -> np.ndarray:
    """Joints of the outline that turn by more than a thousandth of a radian."""
    starts = exact.derivative(np.array([0.0]))[:, 0]
    ends = np.roll(exact.derivative(np.array([1.0]))[:, 0], 1, axis=0)
    turn = np.arctan2(ends[:, 0] * starts[:, 1] - ends[:, 1] * starts[:, 0], (ends * starts).sum(axis=1))
    return exact.controls[np.abs(turn) > 1e-3, 0]
