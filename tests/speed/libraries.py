"""The plain four-in-hand as DXF and SVG files in Python with shapely and ezdxf.

Usage: `libraries.py COUNT DIRECTORY`. As a script for one shop would be written: the outlines
by cutting, mirroring and buffering polygons, the DXF by a library; only the tie's own formulas
and the SVG text are shared with `plain.py`. Nothing is proven.
"""

from __future__ import annotations

import io

import ezdxf
from ezdxf.document import Drawing
from shapely import LineString, Polygon, affinity, union

import plain
from plain import ALLOWANCE, DIAGONAL, MARGIN, Piece, Point

FAR = 1e4  # mm, beyond everything
GRID = 1e-6  # mm, corners of neighbouring polygons nearer than this are one


def beyond(x: float, way: int) -> Polygon:
    """The half plane past the seam line through (x, 0); `way` +1 towards the tail."""
    a, b = (x - FAR, -FAR), (x + FAR, FAR)
    return Polygon([a, b, (b[0] + way * FAR, b[1]), (a[0] + way * FAR, a[1])])


def mirrored(shape: Polygon, x: float) -> Polygon:
    """The shape mirrored in the seam line through (x, 0)."""
    return affinity.affine_transform(shape, [0, 1, 1, 0, x, -x])


def panel(whole: Polygon, low: float | None, high: float | None) -> tuple[Polygon, Polygon, list[LineString]]:
    """The part of the shell between two seams, net and with its allowances, and the seams."""
    net = whole
    for x, way in ((low, -1), (high, 1)):
        if x is not None:
            net = net.difference(beyond(x, way))
    cut, seams = net, []
    for x, way in ((low, -1), (high, 1)):
        if x is None:
            continue
        seam = LineString([(x - FAR, -FAR), (x + FAR, FAR)]).intersection(whole)
        strip = beyond(x, way).difference(beyond(x + way * ALLOWANCE * DIAGONAL, way))
        strip = strip.intersection(whole).intersection(mirrored(net, x).union(obtuse_side(seam, way)))
        cut = union(cut, strip, grid_size=GRID)
        seams.append(seam)
    return net, cut, seams


def obtuse_side(seam: LineString, way: int) -> Polygon:
    """Where the allowance follows the shell's own edge: past the seam's blunt end."""
    (ax, ay), (bx, by) = sorted(seam.coords)
    middle = (ax + bx) / 2, (ay + by) / 2
    end = (ax, ay) if way > 0 else (bx, by)
    out = way * FAR, -way * FAR
    run = (end[0] - middle[0]) * FAR, (end[1] - middle[1]) * FAR
    corner = middle[0] + run[0], middle[1] + run[1]
    return Polygon([middle, corner, (corner[0] + out[0], corner[1] + out[1]), (middle[0] + out[0], middle[1] + out[1])])


def ring(shape: Polygon) -> list[Point]:
    return list(shape.exterior.coords)[:-1]


def pieces(length: float) -> list[Piece]:
    finished, raw, _ = plain.sides(length)
    out = (MARGIN + ALLOWANCE) * DIAGONAL
    point = Polygon([(-out, 0), (FAR, FAR + out), (FAR, -FAR - out)])
    tail_point = affinity.affine_transform(point, [-1, 0, 0, 1, length, 0])
    raw = [(-FAR, raw[0][1]), *raw, (length + FAR, raw[-1][1])]
    raw_shape = Polygon(raw + plain.flip(raw))
    whole = raw_shape.intersection(point).intersection(tail_point)
    joins = 787.4, length - 381.0
    spans = {"blade": (None, joins[0]), "neck": joins, "tail": (joins[1], None)}
    panels = []
    for name, (low, high) in spans.items():
        net, cut, seams = panel(whole, low, high)
        panels.append(marked(name, net, cut, seams, finished, low, high, out, length))
    corner = max((p for p in ring(whole) if p[0] < joins[0]), key=lambda p: p[1] - 1e-9 * p[0])
    tail_corner = max((p for p in ring(whole) if p[0] > joins[1]), key=lambda p: p[1] + 1e-9 * p[0])
    height, tail_height = 150.0, 100.0
    return [
        *panels,
        plain.tipping("tipping", corner, height, lambda p: p),
        plain.tipping("tail-tipping", tail_corner, tail_height, lambda p: (length - p[0], p[1])),
        interlining(length, finished),
        plain.keeper(),
    ]


def marked(name, net, cut, seams, finished, low, high, out, length) -> Piece:
    """A panel with its seams, folds and notches."""
    notches = []
    for seam, x in zip(seams, [v for v in (low, high) if v is not None]):
        way = 1 if x is high else -1
        edge = affinity.translate(seam, way * ALLOWANCE / DIAGONAL, -way * ALLOWANCE / DIAGONAL)
        for share in (0.3, 0.7):
            at = edge.interpolate(share, normalized=True)
            notches.append(((at.x, at.y), (-way / DIAGONAL, way / DIAGONAL)))
    sew = [list(seam.coords) for seam in seams]
    for apex, way, wanted in ((-out, 1, low is None), (length + out, -1, high is None)):
        if wanted:
            inset = apex + way * ALLOWANCE * DIAGONAL
            arms = LineString([(inset + way * FAR, FAR), (inset, 0), (inset + way * FAR, -FAR)])
            sew.append(list(arms.intersection(cut).coords))
    folds = []
    for sign in (1, -1):
        part = LineString([(x, sign * y) for x, y in finished]).intersection(net)
        folds.append(list(part.coords))
    middle = cut.representative_point()
    return Piece(name, "shell", ring(cut), (middle.x, 0.0), sew, folds, notches)


def interlining(length: float, finished: list[Point]) -> Piece:
    """The finished outline inset by 0.8 mm at the sides and 2 mm at the points."""
    sides = Polygon([(-FAR, finished[0][1]), *finished, (length + FAR, finished[-1][1]),
                     (length + FAR, -finished[-1][1]), *plain.flip(finished), (-FAR, -finished[0][1])])
    gap = 2 * DIAGONAL
    ends = Polygon([(gap, 0), (length / 2, length / 2 - gap), (length - gap, 0), (length / 2, gap - length / 2)])
    shape = sides.buffer(-0.8, join_style="mitre").intersection(ends)
    return Piece("interlining", "interlining", ring(shape), (length / 2, 0.0), notches=[((gap, 0.0), (1.0, 0.0))])


def dxf(style: str, drawn: list[Piece]) -> str:
    document: Drawing = ezdxf.new("R12", setup=False)
    model = document.modelspace()
    for piece in drawn:
        block = document.blocks.new(piece.name)
        on = lambda layer: {"layer": str(layer)}  # noqa: E731
        outline = piece.outline
        block.add_polyline2d(outline, close=True, dxfattribs=on(1))
        for before, at, after in zip([outline[-1], *outline], outline, [*outline[1:], outline[0]]):
            block.add_point(at, dxfattribs=on(2 if plain.is_corner(before, at, after) else 3))
        for path in piece.fold:
            block.add_polyline2d(path, dxfattribs=on(8))
        for path in piece.sew:
            block.add_polyline2d(path, dxfattribs=on(14))
        for at, _ in piece.notches:
            block.add_point(at, dxfattribs={"layer": "4", "thickness": 3.0})
        block.add_line(*plain.grain(piece), dxfattribs=on(7))
        words = (f"Piece Name: {piece.name}", "Quantity: 1", f"Material: {piece.cloth}")
        for i, line in enumerate(words):
            place = {"layer": "1", "height": 5, "insert": (piece.grain[0], piece.grain[1] - 8 * i)}
            block.add_text(line, dxfattribs=place)
        model.add_blockref(piece.name, (0, 0), dxfattribs=on(1))
    for i, line in enumerate((f"Style Name: {style}", "Units: METRIC")):
        model.add_text(line, dxfattribs={"layer": "1", "height": 5, "insert": (0, -10 * i)})
    out = io.StringIO()
    document.write(out)
    return out.getvalue()


def draw(name: str, length: float) -> tuple[str, str]:
    drawn = pieces(length)
    return dxf(name, drawn), plain.svg(drawn)


if __name__ == "__main__":
    plain.run(draw)
