"""The plain four-in-hand as DXF and SVG files in plain Python, with no library.

Usage: `plain.py COUNT DIRECTORY`. The same pieces, marks and tolerance as the other programs
measured here; curves are sampled closely enough to stay within 0.05 mm. Nothing is proven.
"""

from __future__ import annotations

import math
import os
import sys
from dataclasses import dataclass, field

ALLOWANCE, MARGIN, BACK, NECK = 6.35, 9.525, 3.175, 15.875
TURN = (math.pi - 2) * 0.95 - 0.3
RAW = BACK + 6.35 + TURN
DIAGONAL = math.sqrt(2)
STEP = 25.0  # mm between samples: chords of the tie's curves then stay within 0.05 mm

Point = tuple[float, float]


@dataclass
class Piece:
    """A piece to cut, in millimetres; the outline is closed without repeating a point."""

    name: str
    cloth: str
    outline: list[Point]
    grain: Point
    sew: list[list[Point]] = field(default_factory=list)
    fold: list[list[Point]] = field(default_factory=list)
    notches: list[tuple[Point, Point]] = field(default_factory=list)


def profile(half: float, run: float, x: float) -> tuple[float, float]:
    """Half width and slope at `x` from the point of a 90 degree end."""
    t = min((x - half) / run, 1.0)
    b = half - 0.35 * (half - NECK)
    u = 1 - t
    h = half * u**3 + 3 * b * u * u * t + 3 * NECK * u * t * t + NECK * t**3
    return h, 3 * ((b - half) * u * u + 2 * (NECK - b) * u * t) / run


def sides(length: float, step: float = STEP) -> tuple[list[Point], list[Point], list[Point]]:
    """Finished edge, raw edge and interlining edge above the centre, blade to tail."""
    finished, raw, inner = [], [], []

    def taper(half: float, run: float, seen) -> None:
        count = math.ceil(run / step)
        for i in range(count + 1):
            x = half + run * i / count
            h, slope = profile(half, run, x)
            norm = math.hypot(1, slope)
            finished.append(seen(x, h))
            raw.append(seen(x - slope * (h + RAW), 2 * h + RAW))
            inner.append(seen(x + 0.8 * slope / norm, h - 0.8 / norm))

    taper(41.275, 660.4, lambda x, y: (x, y))
    at = len(raw)
    taper(22.225, 406.4, lambda x, y: (length - x, y))
    for edge in (finished, raw, inner):
        edge[at:] = edge[: at - 1 : -1]
    return finished, raw, inner


def cut(edge: list[Point], a: float, b: float, c: float) -> list[Point]:
    """The part of an open line where a*x + b*y >= c, its ends on the limit."""
    out: list[Point] = []
    for p, q in zip(edge, edge[1:]):
        u, v = a * p[0] + b * p[1] - c, a * q[0] + b * q[1] - c
        if u >= 0 and not out:
            out.append(p)
        if (u < 0) != (v < 0):
            t = u / (u - v)
            out.append((p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])))
        if v >= 0:
            out.append(q)
    return out


def flip(edge: list[Point]) -> list[Point]:
    return [(x, -y) for x, y in reversed(edge)]


def towards(p: Point, q: Point) -> Point:
    d = math.hypot(q[0] - p[0], q[1] - p[1])
    return (q[0] - p[0]) / d, (q[1] - p[1]) / d


def allowance(top: list[Point], bottom: list[Point], side: int) -> list[Point]:
    """The seam with its allowance, upper end first. `top` and `bottom` lead into the panel from
    the seam's ends; `side` is +1 when the allowance lies towards the tail."""
    out = (side / DIAGONAL, -side / DIAGONAL)

    def end(edge: list[Point], other: Point) -> Point:
        inwards, seam = towards(edge[0], edge[1]), towards(edge[0], other)
        share = inwards[0] * seam[0] + inwards[1] * seam[1]
        twice = 2 * share if share > 0 else 0.0
        way = twice * seam[0] - inwards[0], twice * seam[1] - inwards[1]
        far = ALLOWANCE / (way[0] * out[0] + way[1] * out[1])
        return edge[0][0] + way[0] * far, edge[0][1] + way[1] * far

    return [top[0], end(top, bottom[0]), end(bottom, top[0]), bottom[0]]


def seam_notches(seam: list[Point]) -> list[tuple[Point, Point]]:
    (ax, ay), (bx, by) = seam[1], seam[2]
    inwards = towards(seam[1], seam[0])
    return [((ax + t * (bx - ax), ay + t * (by - ay)), inwards) for t in (0.3, 0.7)]


def folds(edge: list[Point], low: float | None, high: float | None) -> list[list[Point]]:
    """The finished edges between two seams, above and below the centre."""
    out = []
    for sign in (1, -1):
        part = edge
        part = part if low is None else cut(part, 1, -sign, low)
        part = part if high is None else cut(part, -1, sign, -high)
        out.append([(x, sign * y) for x, y in part])
    return out


def shell(length: float, finished: list[Point], raw: list[Point]) -> list[Piece]:
    """Blade, neck and tail."""
    out = (MARGIN + ALLOWANCE) * DIAGONAL
    first, second = 787.4, length - 381.0
    top = cut(cut(raw, 1, -1, -out), -1, -1, -length - out)
    before = [cut(top, -1, s, -first) for s in (1, -1)]
    between = [cut(cut(top, 1, -s, first), -1, s, -second) for s in (1, -1)]
    after = [cut(top, 1, -s, second) for s in (1, -1)]

    def low(edge: list[Point]) -> list[Point]:
        return [(x, -y) for x, y in edge]

    blade_end = allowance(before[0][::-1], low(before[1][::-1]), 1)
    neck_start = allowance(between[0], low(between[1]), -1)
    neck_end = allowance(between[0][::-1], low(between[1][::-1]), 1)
    tail_start = allowance(after[0], low(after[1]), -1)

    def pointed(corner: Point, apex: float, way: int) -> list[Point]:
        shift = way * ALLOWANCE * DIAGONAL
        return [(corner[0] + shift, corner[1]), (apex + shift, 0.0), (corner[0] + shift, -corner[1])]

    return [
        Piece(
            "blade", "shell",
            [(-out, 0.0), *before[0][:-1], *blade_end, *flip(before[1][:-1])],
            (120 - out, 0.0),
            [[blade_end[0], blade_end[3]], pointed(before[0][0], -out, 1)],
            folds(finished, None, first), seam_notches(blade_end),
        ),
        Piece(
            "neck", "shell",
            [*neck_start[::-1], *between[0][1:-1], *neck_end, *flip(between[1][1:-1])],
            ((first + second) / 2, 0.0),
            [[s[0], s[3]] for s in (neck_start, neck_end)],
            folds(finished, first, second), seam_notches(neck_start) + seam_notches(neck_end),
        ),
        Piece(
            "tail", "shell",
            [*tail_start[::-1], *after[0][1:], (length + out, 0.0), *flip(after[1][1:])],
            (length + out - 120, 0.0),
            [[tail_start[0], tail_start[3]], pointed(after[0][-1], length + out, -1)],
            folds(finished, second, None), seam_notches(tail_start),
        ),
    ]


def tipping(name: str, corner: Point, height: float, seen) -> Piece:
    """The lining of an end; `seen` turns the view from the point into the tie's frame."""
    near = seen(corner)
    along = (near[0] + near[1]) / DIAGONAL
    inset = MARGIN - ALLOWANCE
    foot = (along + inset) / DIAGONAL, (along - inset) / DIAGONAL
    apex = inset * DIAGONAL
    ring = [(apex, 0.0), foot, (apex + height, foot[1]), (apex + height, -foot[1]), (foot[0], -foot[1])]
    shift = ALLOWANCE * DIAGONAL
    sew = [(foot[0] + shift, foot[1]), (apex + shift, 0.0), (foot[0] + shift, -foot[1])]
    return Piece(name, "tipping", [seen(p) for p in ring], seen((height / 2, 0.0)), [[seen(p) for p in sew]])


def interlining(length: float, inner: list[Point]) -> Piece:
    gap = 2 * DIAGONAL
    top = cut(cut(inner, 1, -1, gap), -1, -1, gap - length)
    ring = [(gap, 0.0), *top, (length - gap, 0.0), *flip(top)]
    return Piece("interlining", "interlining", ring, (length / 2, 0.0), notches=[((gap, 0.0), (1.0, 0.0))])


def keeper() -> Piece:
    fold = [[(0.0, y), (95.0, y)] for y in (12.5, 25.0, 37.5)]
    return Piece("keeper", "shell", [(0.0, 0.0), (0.0, 50.0), (95.0, 50.0), (95.0, 0.0)], (47.5, 25.0), fold=fold)


def pieces(length: float) -> list[Piece]:
    finished, raw, inner = sides(length)
    panels = shell(length, finished, raw)
    return [*panels, *linings(length, panels[0].outline[1], panels[2], inner)]


def linings(length: float, corner: Point, tail: Piece, inner: list[Point]) -> list[Piece]:
    """Everything but the shell's panels."""
    apex = tail.outline.index(max(tail.outline))
    return [
        tipping("tipping", corner, 150.0, lambda p: p),
        tipping("tail-tipping", tail.outline[apex - 1], 100.0, lambda p: (length - p[0], p[1])),
        interlining(length, inner),
        keeper(),
    ]


def grain(piece: Piece) -> tuple[Point, Point]:
    """Both ends of the grain arrow, 80 mm at 45 degrees."""
    (x, y), d = piece.grain, 40 / DIAGONAL
    return (x - d, y - d), (x + d, y + d)


def is_corner(before: Point, at: Point, after: Point) -> bool:
    (ax, ay), (bx, by) = towards(before, at), towards(at, after)
    return ax * bx + ay * by < 0.999


def dxf(style: str, drawn: list[Piece]) -> str:
    """An R12 drawing with one block a piece, each inserted once."""
    out = ["0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1009\n0\nENDSEC\n0\nSECTION\n2\nTABLES\n0\nENDSEC\n0\nSECTION\n2\nBLOCKS\n"]

    def coordinates(which: int, p: Point) -> str:
        return f"1{which}\n{p[0]:.4f}\n2{which}\n{p[1]:.4f}\n3{which}\n0.0\n"

    def line(layer: int, closed: int, points: list[Point]) -> None:
        out.append(f"0\nPOLYLINE\n8\n{layer}\n66\n1\n70\n{closed}\n")
        out.extend(f"0\nVERTEX\n8\n{layer}\n{coordinates(0, p)}" for p in points)
        out.append(f"0\nSEQEND\n8\n{layer}\n")

    def text(at: Point, words: str) -> None:
        out.append(f"0\nTEXT\n8\n1\n{coordinates(0, at)}40\n5.0\n1\n{words}\n")

    for piece in drawn:
        ring = piece.outline
        out.append(f"0\nBLOCK\n8\n1\n2\n{piece.name}\n70\n0\n10\n0.0\n20\n0.0\n30\n0.0\n")
        line(1, 1, ring)
        for before, at, after in zip([ring[-1], *ring], ring, [*ring[1:], ring[0]]):
            out.append(f"0\nPOINT\n8\n{2 if is_corner(before, at, after) else 3}\n{coordinates(0, at)}")
        for path in piece.fold:
            line(8, 0, path)
        for path in piece.sew:
            line(14, 0, path)
        for at, way in piece.notches:
            angle = math.degrees(math.atan2(way[1], way[0]))
            out.append(f"0\nPOINT\n8\n4\n{coordinates(0, at)}39\n3.0\n50\n{angle:.4f}\n")
        foot, head = grain(piece)
        out.append(f"0\nLINE\n8\n7\n{coordinates(0, foot)}{coordinates(1, head)}")
        for i, words in enumerate((f"Piece Name: {piece.name}", "Quantity: 1", f"Material: {piece.cloth}")):
            text((piece.grain[0], piece.grain[1] - 8 * i), words)
        out.append("0\nENDBLK\n8\n1\n")
    out.append("0\nENDSEC\n0\nSECTION\n2\nENTITIES\n")
    for piece in drawn:
        out.append(f"0\nINSERT\n8\n1\n2\n{piece.name}\n10\n0.0\n20\n0.0\n30\n0.0\n")
    text((0.0, 0.0), f"Style Name: {style}")
    text((0.0, -10.0), "Units: METRIC")
    out.append("0\nENDSEC\n0\nEOF\n")
    return "".join(out)


def svg(drawn: list[Piece]) -> str:
    """A sheet at full size with the pieces below one another."""
    bounds = [(min(x for x, _ in p.outline), max(x for x, _ in p.outline),
               min(y for _, y in p.outline), max(y for _, y in p.outline)) for p in drawn]
    width = max(b[1] - b[0] for b in bounds) + 30
    height = sum(b[3] - b[2] + 15 for b in bounds) + 15
    out = [f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.3f}mm" height="{height:.3f}mm" '
           f'viewBox="0 0 {width:.3f} {height:.3f}">\n']
    top = 15.0
    for piece, b in zip(drawn, bounds):
        dx, dy = 15 - b[0], top + b[3]

        def path(name: str, points: list[Point], end: str = "", dash: str = "") -> None:
            d = "L".join(f"{x + dx:.3f} {dy - y:.3f}" for x, y in points)
            out.append(f'<path class="{name}" fill="none" stroke="black" stroke-width="0.3"{dash} d="M{d}{end}"/>\n')

        out.append(f'<g id="piece-{piece.name}">\n')
        path("cut", piece.outline, "Z")
        for points in piece.fold:
            path("fold", points, dash=' stroke-dasharray="6 3"')
        for points in piece.sew:
            path("sew", points, dash=' stroke-dasharray="2 2"')
        for at, way in piece.notches:
            path("notch", [at, (at[0] + 3 * way[0], at[1] + 3 * way[1])])
        path("grain", list(grain(piece)))
        x, y = piece.grain
        out.append(f'<text x="{x + dx:.3f}" y="{dy - y:.3f}" font-size="5" text-anchor="middle">'
                   f"{piece.name} - {piece.cloth}</text></g>\n")
        top += b[3] - b[2] + 15
    out.append("</svg>\n")
    return "".join(out)


def run(draw) -> None:
    """Draws as many ties as the command line asks for; `draw` gives a tie's two file contents."""
    count, directory = int(sys.argv[1]), sys.argv[2]
    os.makedirs(directory, exist_ok=True)
    for n in range(count):
        length = 1447.8 if count == 1 else 1400 + 0.3 * n
        for kind, content in zip(("dxf", "svg"), draw(f"speed-{n}", length)):
            with open(os.path.join(directory, f"speed-{n}.{kind}"), "w", encoding="ascii") as file:
                file.write(content)


def draw(name: str, length: float) -> tuple[str, str]:
    drawn = pieces(length)
    return dxf(name, drawn), svg(drawn)


if __name__ == "__main__":
    run(draw)
