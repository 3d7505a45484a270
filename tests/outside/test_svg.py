"""The SVG drawings, read by svgelements and held against the JSON of the same draft.

Sources: SVG and CSS state that an inch is 96 px and 25.4 mm, so a drawing at full size has its
width and height in millimetres and a viewBox of the same numbers.
"""

from __future__ import annotations

import json
import re
from xml.etree import ElementTree

import numpy as np
import pytest
import svgelements
from common import EXAMPLES, Outline, apart, draft, straight

PX = 96 / 25.4  # px a mm
WRITTEN = 0.002  # mm, rounding of the numbers in the file
XML = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="session")
def sheets(drawn):
    return [(one, svgelements.SVG.parse(str(one.svg), reify=True, ppi=96)) for one in drawn]


def test_full_size(sheets):
    for one, sheet in sheets:
        head = re.search(r"<svg[^>]*>", one.svg.read_text("utf-8")).group()
        width, height = (re.search(rf'\b{n}="([0-9.]+)mm"', head).group(1) for n in ("width", "height"))
        box = re.search(r'viewBox="([^"]*)"', head).group(1).split()
        assert [float(v) for v in box] == [0, 0, float(width), float(height)], one.name
        assert sheet.width == pytest.approx(float(width) * PX, rel=1e-6)
        assert sheet.height == pytest.approx(float(height) * PX, rel=1e-6)


def test_cut_outlines(sheets):
    """Same outline as the JSON, moved and mirrored top to bottom, since SVG counts y downwards."""
    for one, sheet in sheets:
        for piece in one.json["pieces"]:
            paths = [e for e in sheet.elements() if getattr(e, "id", None) == f"cut-{piece['name']}"]
            assert len(paths) == 1, (one.name, piece["name"])
            assert "cut" in paths[0].values["class"].split()
            shown, exact = in_millimetres(paths[0]), Outline.parse(piece["cut"])
            assert abs(shown.area) == pytest.approx(piece["area"], rel=1e-5)
            assert shown.length == pytest.approx(exact.length, rel=1e-5)
            a, b = shown.points() * [1, -1], exact.points()
            assert apart(a - a.min(axis=0), b - b.min(axis=0)) < 2 * WRITTEN, (one.name, piece["name"])


def test_inner_lines(sheets):
    for one, sheet in sheets:
        for piece in one.json["pieces"]:
            group = next(e for e in sheet.elements() if getattr(e, "id", None) == f"piece-{piece['name']}")
            for kind in ("sew", "fold"):
                paths = [e for e in group.select() if isinstance(e, svgelements.Path)
                         and kind in (e.values.get("class") or "").split()]
                shown = sum(in_millimetres(path).length for path in paths)
                wanted = sum(Outline.parse(line["path"]).length for line in piece[kind])
                assert shown == pytest.approx(wanted, abs=0.05), (one.name, piece["name"], kind)


def test_names_and_facts(drawn):
    """What other programs find a piece by; read as bare XML."""
    for one in drawn:
        root = ElementTree.parse(one.svg).getroot()
        assert root.get("data-style") == one.json["style"] and root.get("data-units") == "mm"
        assert root.get("data-size") == one.json["size"]
        groups = {g.get("id"): g for g in root.iter(f"{XML}g")}
        for piece in one.json["pieces"]:
            group = groups[f"piece-{piece['name']}"]
            assert group.get("class") == "piece"
            assert group.get("data-quantity") == str(piece["quantity"])
            assert group.get("data-cloth") == piece["cloth"]
            kinds = [(path.get("class") or "").split() for path in group.iter(f"{XML}path")]
            assert sum("notch" in kind for kind in kinds) == len(piece["notches"]), (one.name, piece["name"])


def test_words_are_exact(drawn):
    """No space or line end is added round words: readers of SVG keep what they find."""
    for one in drawn:
        root = ElementTree.parse(one.svg).getroot()
        words = [node.text for node in root.iter(f"{XML}text")]
        assert words and all(text == text.strip() and "\n" not in text for text in words), one.name
        assert root.find(f"{XML}title").text.startswith(one.json["style"])
        for group in root.iter(f"{XML}g"):
            for piece in one.json["pieces"]:
                if group.get("id") == f"piece-{piece['name']}":
                    written = [t.text for t in group.iter(f"{XML}text") if t.get("class") == "text"]
                    # Long words of the draft are broken into lines between words.
                    wanted = " ".join(t["text"] for t in piece["texts"]).split()
                    assert " ".join(written).split() == wanted, (one.name, piece["name"])
                    labels = [t.text for t in group.iter(f"{XML}text") if t.get("class") == "label"]
                    # Placed lines bear their names; then come the piece's own.
                    placed = [line["name"].removesuffix("-mirrored").replace("-", " ") for line in piece["place"]]
                    placed = [name for name in placed if name]
                    assert labels[: len(placed)] == placed, labels
                    assert labels[len(placed)].split(",")[0] == piece["name"], labels


def test_grain(sheets):
    """The arrow is the grain of the JSON, from foot to head."""
    for one, sheet in sheets:
        for piece in one.json["pieces"]:
            group = next(e for e in sheet.elements() if getattr(e, "id", None) == f"piece-{piece['name']}")
            (arrow,) = (e for e in group.select() if isinstance(e, svgelements.Path)
                        and e.values.get("class") == "grain")
            foot, head = (np.array([p.x, -p.y]) / PX for p in (arrow[1].start, arrow[1].end))
            wanted = np.array(piece["grain"]["to"]) - piece["grain"]["from"]
            assert np.abs(head - foot - wanted).max() < 2 * WRITTEN, (one.name, piece["name"])


def test_nothing_leaves_the_sheet(sheets):
    for one, sheet in sheets:
        for element in sheet.elements():
            if isinstance(element, svgelements.Path) and len(element) > 1:
                left, top, right, bottom = element.bbox()
                assert left >= -0.01 and top >= -0.01, (one.name, element.id)
                assert right <= sheet.width + 0.01 and bottom <= sheet.height + 0.01, (one.name, element.id)


def test_folded_sheet(tmp_path):
    """Face and back to a scale, both ends of the back larger: the cloth as wide as the blade is."""
    source = next(path for path in EXAMPLES if path.stem == "choir-tie")
    files = draft(source, tmp_path, "png,folded,json")
    assert set(files) == {"choir-tie.json", "choir-tie.png", "choir-tie-folded.png", "choir-tie-folded.svg"}
    sheet = svgelements.SVG.parse(str(files["choir-tie-folded.svg"]), reify=True, ppi=96)
    groups = {g.id: g for g in sheet.elements() if isinstance(g, svgelements.Group)}
    assert {"sheet-face", "sheet-back", "sheet-ends", "sheet-key"} <= set(groups)
    width = json.loads(files["choir-tie.json"].read_text("utf-8"))["parameters"]["blade-width"]
    for name, scale in (("sheet-face", 4), ("sheet-back", 4), ("sheet-ends", 1.5)):
        paths = [e for e in groups[name].select() if isinstance(e, svgelements.Path)]
        cloth = [e for e in paths if e.values.get("class") == "fill"]
        boxes = np.array([e.bbox() for e in cloth]) / PX
        assert boxes[:, 3].max() - boxes[:, 1].min() == pytest.approx(width / scale, abs=0.05), name
        assert boxes[:, :2].min() >= 0 and boxes[:, 2].max() <= sheet.width / PX, name


def test_square_to_check_the_print(sheets):
    """The sheet carries a square of 50 mm by which a print is checked."""
    for one, sheet in sheets:
        squares = [e for e in sheet.elements() if isinstance(e, (svgelements.Path, svgelements.Rect))
                   and e.bbox() is not None and is_square(e.bbox(), 50 * PX)]
        assert squares, one.name


def is_square(box, side: float) -> bool:
    return abs(box[2] - box[0] - side) < 0.01 and abs(box[3] - box[1] - side) < 0.01


def in_millimetres(path: svgelements.Path) -> Outline:
    """The path as the library read it, scaled from px to mm."""
    rows, closed = [], False
    for segment in path:
        if isinstance(segment, svgelements.Close):
            closed = True
        if isinstance(segment, svgelements.CubicBezier):
            ends = (segment.start, segment.control1, segment.control2, segment.end)
            rows.append(np.array([(p.x, p.y) for p in ends]) / PX)
        elif isinstance(segment, (svgelements.Line, svgelements.Close)):
            a, b = (np.array([p.x, p.y]) / PX for p in (segment.start, segment.end))
            if np.hypot(*(b - a)) > 1e-9:
                rows.append(straight(a, b))
    return Outline(np.array(rows), closed)
