"""An independent calculation of the four-in-hand, to check the compiler by.

Input: the shape's public parameters, in millimetres and degrees. Output: the measures and the
outlines of all pieces, as plain numbers and dense point lists. It shares nothing with the
compiler: no curve is fitted here and no Bezier is offset; every edge is the formula itself,
sampled every `STEP` millimetres. It draws no marks and writes no files.

Frame: `x` along the centre from the finished front point (0) to the finished tail point
(`length`), `y` across. The draft is symmetric about the centre, so one half is computed.

Where the formulas come from: the profile and the parameters are the shape's own statement; the
unfolding is the reflection of the back edge in the finished edge (a point folded over a crease
lies on the crease's normal, as far behind it as it lay before it); the turn of cloth is the bend
of a sheet of stated thickness round half a turn; the rest is plane trigonometry.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, fields, replace
from functools import cached_property

import numpy as np

INCH = 25.4  # mm, exact by definition
STEP = 0.5  # mm between samples; chord error under 1e-4 mm at the curvatures of a tie


@dataclass(frozen=True)
class Parameters:
    """What a pattern maker may set; lengths in mm, angles in degrees."""

    length: float = 57 * INCH
    blade_width: float = 3.25 * INCH
    tip_angle: float = 90.0
    taper_run: float = 26 * INCH
    taper_lead: float = 0.35
    neck_width: float = 1.25 * INCH
    tail_width: float = 1.75 * INCH
    tail_angle: float = 90.0
    tail_taper_run: float = 16 * INCH
    tail_taper_lead: float = 0.35
    blade_length: float = 31 * INCH
    tail_length: float = 15 * INCH
    overlap: float = 0.25 * INCH
    edge_turn: float = 0.25 * INCH
    seam_allowance: float = 0.25 * INCH
    tipping_margin: float = 0.375 * INCH
    tipping_lap: float = 1 * INCH
    interlining_thickness: float = 1.6
    shell_thickness: float = 0.3
    interlining_ease: float = 0.8
    interlining_tip_gap: float = 2.0
    stitch_count: float = 100.0

    def graded(self, length: float | None = None, blade_width: float | None = None) -> Parameters:
        """The same in another length or width, with what follows: the shares that the shape states."""
        longer = 0.0 if length is None else length - self.length
        wider = 0.0 if blade_width is None else blade_width - self.blade_width
        return replace(
            self,
            length=self.length + longer,
            blade_width=self.blade_width + wider,
            blade_length=self.blade_length + 0.50 * longer,
            tail_length=self.tail_length + 0.25 * longer,
            taper_run=self.taper_run + 0.15 * longer + 3.00 * wider,
            tail_taper_run=self.tail_taper_run + 0.15 * longer,
            tail_width=self.tail_width + 0.30 * wider,
        )

    def source(self, style: str) -> str:
        """The same parameters as a style in the shape language."""
        lines = [f"  {f.name.replace('_', '-')} {self._value(f.name)}" for f in fields(self)]
        return f"style {style} from four-in-hand {{\n" + "\n".join(lines) + "\n}\n"

    def _value(self, name: str) -> str:
        value = format(getattr(self, name), ".12g")
        if name.endswith("angle"):
            return f"{value} deg"
        return value if name.endswith(("lead", "count")) else f"{value} mm"


@dataclass
class End:
    """One end of the tie, seen from its point: its `x` runs from the finished point inwards."""

    width: float
    angle: float  # full angle of the point, radians
    run: float
    lead: float
    neck: float

    @property
    def slope(self) -> float:
        return math.tan(self.angle / 2)

    @property
    def corner(self) -> float:
        return self.width / 2 / self.slope

    @property
    def taper_end(self) -> float:
        return self.corner + self.run

    def half(self, x: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Half width, slope and second derivative at `x` from the corner onwards.

        The taper's handles stand at thirds, so its `x` is linear in the Bezier parameter and
        the half width is the Bernstein cubic of the parameter.
        """
        t = np.clip((np.asarray(x, float) - self.corner) / self.run, 0.0, 1.0)
        a, d = self.width / 2, self.neck / 2
        b, c = a - self.lead * (a - d), d
        u = 1 - t
        h = a * u**3 + 3 * b * u * u * t + 3 * c * u * t * t + d * t**3
        h1 = 3 * ((b - a) * u * u + 2 * (c - b) * u * t + (d - c) * t * t) / self.run
        h2 = 6 * ((c - 2 * b + a) * u + (d - 2 * c + b) * t) / self.run**2
        beyond = np.asarray(x, float) > self.taper_end
        return h, np.where(beyond, 0.0, h1), np.where(beyond, 0.0, h2)

    def unfolded(self, x: np.ndarray, reach: float) -> tuple[np.ndarray, np.ndarray]:
        """The flat edge that lies `reach` past the centre when folded at the finished edge."""
        h, h1, _ = self.half(x)
        return np.asarray(x, float) - h1 * (h + reach), 2 * h + reach

    def unfolded_direction(self, x: float, reach: float) -> np.ndarray:
        """Unit tangent of the flat edge, towards the neck."""
        h, h1, h2 = (float(v) for v in self.half(np.array(x)))
        d = np.array([1 - h2 * (h + reach) - h1 * h1, 2 * h1])
        return d / np.hypot(*d)

    def flat_corner(self, reach: float, outside: float) -> tuple[np.ndarray, float]:
        """Where the raw edge meets the line `outside` beyond the finished point edge.

        Returns the point and the crease station it belongs to. A blunt point's line passes the
        raw edge's beginning by; there the raw edge runs on straight and the station is the
        corner's.
        """
        apex = -outside / math.sin(self.angle / 2)

        def above(x: float) -> float:
            fx, fy = (float(v) for v in self.unfolded(np.array(x), reach))
            return fy - (fx - apex) * self.slope

        if above(self.corner) <= 0:
            start = np.array([float(v) for v in self.unfolded(np.array(self.corner), reach)])
            along = self.unfolded_direction(self.corner, reach)
            back = above(self.corner) / (along[0] * self.slope - along[1])
            return start + along * back, self.corner
        station = root(above, self.corner, self.taper_end + self.width * 4)
        return np.array([float(v) for v in self.unfolded(np.array(station), reach)]), station

    def opening(self) -> float:
        """Where the two turned point edges meet on the centre, the flaps folded back."""

        def apart(x: float) -> float:
            h, h1, _ = (float(v) for v in self.half(np.array(x)))
            return 2 * h - (x - h1 * h) * self.slope

        x = root(apart, self.corner, self.taper_end + self.width * 4)
        h, h1, _ = (float(v) for v in self.half(np.array(x)))
        return x + h1 * h

    def ease(self, reach: float) -> np.ndarray:
        """First-order strain of the flat edge when folded, along the whole taper."""
        inside = np.nextafter(self.taper_end, 0.0)
        x = np.append(np.arange(self.corner, inside, STEP), inside)
        h, _, h2 = self.half(x)
        return 2 * h2 * (h + reach)


@dataclass
class Panel:
    """A shell panel: outlines as closed rings of points, no point repeated."""

    net: np.ndarray
    cut: np.ndarray

    @property
    def net_area(self) -> float:
        return area(self.net)

    @property
    def cut_area(self) -> float:
        return area(self.cut)


@dataclass
class Draft:
    """The four-in-hand drafted from `Parameters`."""

    p: Parameters
    front: End = field(init=False)
    tail: End = field(init=False)

    def __post_init__(self) -> None:
        p = self.p
        self.front = End(p.blade_width, math.radians(p.tip_angle), p.taper_run, p.taper_lead, p.neck_width)
        self.tail = End(
            p.tail_width, math.radians(p.tail_angle), p.tail_taper_run, p.tail_taper_lead, p.neck_width
        )

    # Plain numbers.

    @property
    def turn_of_cloth(self) -> float:
        """Cloth taken by the bend, a side: half a turn at the neutral radius, less what the
        flat draft already counts."""
        p = self.p
        neutral = (p.interlining_thickness + p.shell_thickness) / 2
        return (math.pi - 2) * neutral - p.shell_thickness

    @property
    def back_reach(self) -> float:
        return self.p.overlap / 2 + self.turn_of_cloth

    @property
    def raw_reach(self) -> float:
        return self.back_reach + self.p.edge_turn

    @property
    def neck_run(self) -> float:
        return self.p.length - self.front.taper_end - self.tail.taper_end

    def measures(self) -> dict[str, float]:
        """Every measure by its name in the language; mm, edge ease a plain ratio."""
        front, tail = self.front.opening(), self.p.length - self.tail.opening()
        ease = np.concatenate([self.front.ease(self.back_reach), self.tail.ease(self.back_reach), [0.0]])
        first, second = (np.hypot(*(np.subtract(*self.seam(j)))) for j in self.joins)
        return {
            "length": self.p.length,
            "front-corner": self.front.corner,
            "taper-end": self.front.taper_end,
            "neck-run": self.neck_run,
            "turn-of-cloth": self.turn_of_cloth,
            "front-opening": front,
            "tail-opening": tail,
            "closed-length": tail - front,
            "stitch-pitch": (tail - front) / self.p.stitch_count,
            "edge-ease-max": float(ease.max()),
            "edge-ease-min": float(ease.min()),
            "first-join-seam": float(first),
            "second-join-seam": float(second),
        }

    # The shell.

    @property
    def joins(self) -> tuple[float, float]:
        return self.p.blade_length, self.p.length - self.p.tail_length

    @property
    def outside(self) -> float:
        return self.p.tipping_margin + self.p.seam_allowance

    def flat_point(self) -> float:
        return -self.outside / math.sin(self.front.angle / 2)

    def raw_edge(self, stations: np.ndarray, reach: float | None = None) -> np.ndarray:
        """Points of the upper raw edge, or of the edge that reaches elsewhere, for crease stations
        in the tie's own frame."""
        x, reach = np.asarray(stations, float), self.raw_reach if reach is None else reach
        fx, fy = self.front.unfolded(x, reach)
        tx, ty = self.tail.unfolded(self.p.length - x, reach)
        near_front = x <= self.front.taper_end + self.neck_run / 2
        return np.column_stack([np.where(near_front, fx, self.p.length - tx), np.where(near_front, fy, ty)])

    def raw_direction(self, station: float) -> np.ndarray:
        """Unit tangent of the upper raw edge, towards the tail point."""
        if station <= self.front.taper_end + self.neck_run / 2:
            return self.front.unfolded_direction(station, self.raw_reach)
        return self.tail.unfolded_direction(self.p.length - station, self.raw_reach) * [1, -1]

    def front_flat_corner(self) -> tuple[np.ndarray, float]:
        return self.front.flat_corner(self.raw_reach, self.outside)

    def tail_flat_corner(self) -> tuple[np.ndarray, float]:
        point, station = self.tail.flat_corner(self.raw_reach, self.outside)
        return np.array([self.p.length - point[0], point[1]]), self.p.length - station

    def shell(self) -> np.ndarray:
        """The whole flat shell, points cut, before it is divided into panels."""
        (a, xa), (b, xb) = self.front_flat_corner(), self.tail_flat_corner()
        top = self.edge(xa, xb, a, b)
        tail_apex = self.p.length + self.outside / math.sin(self.tail.angle / 2)
        return np.vstack([[[self.flat_point(), 0]], top, [[tail_apex, 0]], top[::-1] * [1, -1]])

    def edge(self, xa: float, xb: float, a: np.ndarray | None = None, b: np.ndarray | None = None) -> np.ndarray:
        """Points of the upper raw edge between two stations; a corner it runs on to is added."""
        points = self.raw_edge(self.stations(xa, xb))
        if a is not None and np.hypot(*(a - points[0])) > 1e-6:
            points = np.vstack([a, points])
        if b is not None and np.hypot(*(b - points[-1])) > 1e-6:
            points = np.vstack([points, b])
        return points

    def stations(self, xa: float, xb: float) -> np.ndarray:
        """Crease stations from `xa` to `xb`, with every joint of the profile among them."""
        joints = [self.front.corner, self.front.taper_end]
        joints += [self.p.length - self.tail.taper_end, self.p.length - self.tail.corner]
        between = np.unique(np.concatenate([np.arange(xa, xb, STEP), joints]))
        # Apart from the ends by more than rounding, so that no point is there twice.
        between = between[(between > xa + 1e-6) & (between < xb - 1e-6)]
        return np.concatenate([[xa], between, [xb]])

    def join_stations(self, join: float) -> tuple[float, float]:
        """Crease stations where the seam line `x = join + y` meets the upper and lower raw edge."""

        def upper(x: float) -> float:
            (fx, fy), = self.raw_edge(np.array([x]))
            return join + fy - fx

        def lower(x: float) -> float:
            (fx, fy), = self.raw_edge(np.array([x]))
            return join - fy - fx

        ends = self.front.corner, self.p.length - self.tail.corner
        return root(upper, *ends), root(lower, *ends)

    def seam(self, join: float) -> tuple[np.ndarray, np.ndarray]:
        """Upper and lower end of the seam."""
        up, low = self.join_stations(join)
        return self.raw_edge(np.array([up]))[0], self.raw_edge(np.array([low]))[0] * [1, -1]

    @cached_property
    def panels(self) -> dict[str, Panel]:
        """Blade, neck and tail, net and with trimmed allowances at the seams."""
        (a, xa), (b, xb) = self.front_flat_corner(), self.tail_flat_corner()
        (up1, low1), (up2, low2) = (self.join_stations(j) for j in self.joins)
        mirror = np.array([1, -1])
        apex = np.array([[self.flat_point(), 0]])
        tail_apex = np.array([[self.p.length + self.outside / math.sin(self.tail.angle / 2), 0]])
        seam1, seam2 = (np.array(self.seam(j)) for j in self.joins)
        after1, after2 = (self.strip(j, +1) for j in self.joins)
        before1, before2 = (self.strip(j, -1) for j in self.joins)

        def blade(end: np.ndarray) -> np.ndarray:
            top = self.edge(xa, up1, a)[:-1]
            bottom = self.edge(xa, low1, a)[:-1][::-1] * mirror
            return np.vstack([apex, top, end, bottom])

        def neck(start: np.ndarray, end: np.ndarray) -> np.ndarray:
            top = self.edge(up1, up2)[1:-1]
            bottom = self.edge(low1, low2)[1:-1][::-1] * mirror
            return np.vstack([start[::-1], top, end, bottom])

        def tail(start: np.ndarray) -> np.ndarray:
            top = self.edge(up2, xb, b=b)[1:]
            bottom = self.edge(low2, xb, b=b)[1:][::-1] * mirror
            return np.vstack([start[::-1], top, tail_apex, bottom])

        return {
            "blade": Panel(blade(seam1), blade(after1)),
            "neck": Panel(neck(seam1, seam2), neck(before1, after2)),
            "tail": Panel(tail(seam2), tail(before2)),
        }

    def strip(self, join: float, side: int) -> np.ndarray:
        """Corner points of the allowance at a seam, from its upper to its lower end.

        `side` is +1 for the panel before the seam (allowance towards the tail), -1 for the one
        after it. At a blunt corner the raw edge runs on straight to the allowance's edge; at a
        sharp one the allowance ends on the panel's own outline mirrored in the seam, so that it
        lies under the panel once the seam is pressed open.
        """
        up, low = self.join_stations(join)
        top, bottom = self.seam(join)
        ends = []
        for corner, other, tangent in (
            (top, bottom, self.raw_direction(up)),
            (bottom, top, self.raw_direction(low) * [1, -1]),
        ):
            inwards = -side * tangent  # along the raw edge, into the panel
            along = (other - corner) / np.hypot(*(other - corner))
            sharp = float(inwards @ along) > 0
            way = 2 * (inwards @ along) * along - inwards if sharp else -inwards
            out = np.array([1, -1]) / math.sqrt(2) * side
            ends.append((corner, corner + way * (self.p.seam_allowance / float(way @ out))))
        (top, top_out), (bottom, bottom_out) = ends
        return np.array([top, top_out, bottom_out, bottom])

    # The rest.

    def finished(self) -> np.ndarray:
        """The outline of the finished tie."""
        return self.inset(0.0, 0.0)

    def side(self) -> np.ndarray:
        """The finished edge above the centre, from corner to corner: where the shell folds."""
        corners = self.front.corner, self.p.length - self.tail.corner
        ring = self.finished()
        return ring[(ring[:, 1] > 0) & (ring[:, 0] > corners[0] - 1e-6) & (ring[:, 0] < corners[1] + 1e-6)]

    def back_edge(self) -> np.ndarray:
        """The upper line the raw edge is turned under along, flat."""
        return self.raw_edge(self.stations(self.front.corner, self.p.length - self.tail.corner), self.back_reach)

    def interlining(self) -> np.ndarray:
        return self.inset(self.p.interlining_ease, self.p.interlining_tip_gap)

    def inset(self, side: float, tip: float) -> np.ndarray:
        """The finished outline moved inwards, square to its edges, and trimmed at the corners."""
        x = self.stations(self.front.corner, self.p.length - self.tail.corner)
        near_front = x <= self.front.taper_end + self.neck_run / 2
        front, tail = self.front.half(x), self.tail.half(self.p.length - x)
        h, h1 = np.where(near_front, front[0], tail[0]), np.where(near_front, front[1], -tail[1])
        norm = np.sqrt(1 + h1 * h1)
        top = np.column_stack([x + side * h1 / norm, h - side / norm])
        apex = tip / math.sin(self.front.angle / 2)
        tail_apex = self.p.length - tip / math.sin(self.tail.angle / 2)
        top = cut_open(top, top[:, 1] - (top[:, 0] - apex) * self.front.slope)[::-1]
        top = cut_open(top, top[:, 1] - (tail_apex - top[:, 0]) * self.tail.slope)[::-1]
        return np.vstack([[apex, 0], top, [tail_apex, 0], top[::-1] * [1, -1]])

    def tipping(self, of_tail: bool = False) -> np.ndarray:
        """The outline to cut of the tipping of the blade, or of the tail.

        Its point edges stand `tipping-margin` less `seam-allowance` inside the finished edge and
        reach as far along it as the shell's raw corner does; from there it is as wide up to
        `tipping-lap` past the opening.
        """
        end = self.tail if of_tail else self.front
        corner, _ = end.flat_corner(self.raw_reach, self.outside)
        half = end.angle / 2
        along = np.array([math.cos(half), math.sin(half)])
        inwards = np.array([math.sin(half), -math.cos(half)])
        inset = self.p.tipping_margin - self.p.seam_allowance
        foot = along * float(corner @ along) + inwards * inset
        top = end.opening() + self.p.tipping_lap
        ring = np.array([[inset / math.sin(half), 0], foot, [top, foot[1]], [top, -foot[1]], foot * [1, -1]])
        return np.column_stack([self.p.length - ring[:, 0], ring[:, 1]]) if of_tail else ring


# Helpers.


def area(ring: np.ndarray) -> float:
    """Area inside a closed ring of points, mm², by the surveyor's formula."""
    x, y = ring[:, 0], ring[:, 1]
    return abs(float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))) / 2


def root(f, low: float, high: float) -> float:
    """The zero between `low` (positive side) and `high` (negative side), by halving."""
    assert f(low) > 0 > f(high), "the sought crossing does not lie on the draft"
    for _ in range(100):
        middle = (low + high) / 2
        low, high = (middle, high) if f(middle) > 0 else (low, middle)
    return (low + high) / 2


def cut_open(points: np.ndarray, value: np.ndarray) -> np.ndarray:
    """The part of an open line of points from the first change of `value` to negative or zero."""
    if value[0] <= 0:
        return points
    i = int(np.argmax(value <= 0))
    share = value[i - 1] / (value[i - 1] - value[i])
    return np.vstack([points[i - 1] + share * (points[i] - points[i - 1]), points[i:]])
