"""What the outside checks share: running the program and reading path data.

Nothing here computes a draft; `independent.py` does that.
"""

from __future__ import annotations

import json
import math
import os
import re
import subprocess
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np
import shapely

ROOT = Path(__file__).resolve().parents[2]
BINARY = Path(os.environ.get("TIEWRIGHT", ROOT / "target/release/tiewright")).resolve()
EXAMPLES = sorted((ROOT / "examples").glob("*.tie"))

SAME_LENGTH = 0.02  # mm, agreement asked of two independent calculations
SAME_AREA = 1e-4  # share of the area
SAME_RATIO = 1e-5  # plain ratios such as edge ease: a hundred-thousandth is 0.001 %
PANELS = ("blade", "neck", "tail")


def run(*arguments, cwd=None, **options) -> subprocess.CompletedProcess:
    """Runs the program with plain output; never raises on a failing exit."""
    line = [str(BINARY), *map(str, arguments)]
    settings = {"capture_output": True, "timeout": 300, "env": {**os.environ, "NO_COLOR": "1"}, **options}
    return subprocess.run(line, cwd=cwd, **settings)


def draft(source: Path | str, directory: Path, formats: str, *arguments) -> dict[str, Path]:
    """Drafts to files and gives them by file name; the run must succeed."""
    result = run("draft", source, "--as", formats, "--out", directory, *arguments)
    assert result.returncode == 0, result.stderr.decode()
    return {path.name: path for path in sorted(directory.iterdir())}


def draft_json(text: str, directory: Path, *arguments) -> dict[str, dict]:
    """Drafts a source text and gives the JSON of every style (and size) by file stem."""
    directory.mkdir(parents=True, exist_ok=True)
    source = directory / "source.tie"
    source.write_text(text, encoding="utf-8")
    files = draft(source, directory / "out", "json", *arguments)
    return {Path(name).stem: json.loads(path.read_text("utf-8")) for name, path in files.items()}


def pieces(drafted: dict) -> dict[str, dict]:
    """The pieces of a JSON draft by name."""
    found = {piece["name"]: piece for piece in drafted["pieces"]}
    assert len(found) == len(drafted["pieces"]), "two pieces of one name"
    return found


@dataclass(frozen=True)
class Outline:
    """Path data as cubic control points, one row a segment (straight ones too): shape (n, 4, 2)."""

    controls: np.ndarray
    closed: bool

    @staticmethod
    def parse(data: str) -> "Outline":
        """Reads path data of absolute M, L, C and Z with one subpath; all else is refused."""
        tokens = re.findall(r"[A-Za-z]|[-+]?[0-9.]+(?:[eE][-+]?[0-9]+)?", data)
        rest = re.sub(r"[A-Za-z]|[-+]?[0-9.]+(?:[eE][-+]?[0-9]+)?|[\s,]", "", data)
        assert not rest and tokens and tokens[0] == "M", f"not path data: {data[:60]}"
        rows, letter, i, closed = [], "", 0, False
        start = at = None
        while i < len(tokens):
            if tokens[i].isalpha():
                letter, i = tokens[i], i + 1
                assert letter in ("M", "L", "C", "Z") and not closed
            if letter == "Z":
                closed = True
                if not np.allclose(at, start, atol=1e-9, rtol=0):
                    rows.append(straight(at, start))
                continue
            count = 6 if letter == "C" else 2
            points = np.array([float(t) for t in tokens[i : i + count]]).reshape(-1, 2)
            i += count
            if letter == "M":
                assert start is None, "more than one subpath"
                start = points[0]
            else:
                rows.append(np.vstack([at, points]) if letter == "C" else straight(at, points[0]))
            at = points[-1]
        return Outline(np.array(rows), closed)

    @cached_property
    def area(self) -> float:
        """Area enclosed, mm², positive when anticlockwise; exact for cubics (degree 5, 3 nodes)."""
        nodes, weights = np.polynomial.legendre.leggauss(3)
        t = (nodes + 1) / 2
        p, d = self.at(t), self.derivative(t)
        cross = p[..., 0] * d[..., 1] - p[..., 1] * d[..., 0]
        return float((cross @ (weights / 2)).sum()) / 2

    @cached_property
    def length(self) -> float:
        """Arc length, mm, by quadrature; far more accurate than anything compared with it."""
        nodes, weights = np.polynomial.legendre.leggauss(24)
        d = self.derivative((nodes + 1) / 2)
        return float((np.hypot(d[..., 0], d[..., 1]) @ (weights / 2)).sum())

    def at(self, t: np.ndarray) -> np.ndarray:
        """Points of every segment at the parameters `t`: shape (segments, len(t), 2)."""
        u = 1 - t
        basis = np.array([u**3, 3 * u * u * t, 3 * u * t * t, t**3])
        return np.einsum("kj,skc->sjc", basis, self.controls)

    def derivative(self, t: np.ndarray) -> np.ndarray:
        u = 1 - t
        basis = np.array([u * u, 2 * u * t, t * t])
        return 3 * np.einsum("kj,skc->sjc", basis, np.diff(self.controls, axis=1))

    def points(self, steps: int = 200) -> np.ndarray:
        """Points along the path, `steps` a curved segment, no point repeated at the end."""
        out = []
        for row in self.controls:
            chord = row[3] - row[0]
            off = np.abs(np.cross(np.append(chord, 0), np.pad(row[1:3] - row[0], ((0, 0), (0, 1))))[:, 2])
            one = Outline(row[None], False)
            out.append(row[:1] if off.max() < 1e-9 else one.at(np.arange(steps) / steps)[0])
        points = np.vstack(out)
        return points if self.closed else np.vstack([points, self.controls[-1, 3]])

    def polygon(self) -> shapely.Polygon:
        assert self.closed
        return shapely.Polygon(self.points())


def straight(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """A straight segment as cubic control points."""
    return np.array([a, a + (b - a) / 3, a + (b - a) * 2 / 3, b])


def net(share: float) -> tuple[float, float]:
    """How a net of yarns at 45 degrees grows along and across when it is pulled by a share of its
    length: found by closing a rhombus of unit yarns until its diagonal is long enough."""
    low, high = 0.0, math.pi / 4  # half the angle between two yarns, from slack to closed
    for _ in range(200):
        angle = (low + high) / 2
        low, high = (angle, high) if math.cos(angle) / math.cos(math.pi / 4) > 1 + share else (low, angle)
    return math.cos(angle) / math.cos(math.pi / 4), math.sin(angle) / math.sin(math.pi / 4)


def pulled(points: np.ndarray, share: float) -> np.ndarray:
    """Points of the cloth as it hangs. Each is so many yarns along the warp and so many along the
    weft from the origin; pulling turns the yarns and leaves their numbers and lengths alone."""
    warp = (points[:, 0] + points[:, 1]) / math.sqrt(2)
    weft = (points[:, 0] - points[:, 1]) / math.sqrt(2)
    along, across = net(share)
    turned = math.atan2(across, along)
    assert math.isclose(math.hypot(along, across), math.sqrt(2), abs_tol=1e-12)
    towards = np.array([math.cos(turned), math.sin(turned)])
    return np.outer(warp, towards) + np.outer(weft, towards * [1, -1])


def apart(a: np.ndarray, b: np.ndarray) -> float:
    """Symmetric Hausdorff distance of two closed rings of points, straight between the points.

    Distances are taken from points at most 1 mm apart, which two nearly equal outlines cannot
    hide a difference between.
    """
    rings = [np.vstack([ring, ring[:1]]) for ring in (a, b)]
    dense = [shapely.get_coordinates(shapely.segmentize(shapely.LineString(ring), 1.0)) for ring in rings]
    return max(distances(dense[0], rings[1]).max(), distances(dense[1], rings[0]).max())


def distances(points: np.ndarray, line: np.ndarray) -> np.ndarray:
    """From each point the distance to a line of straight stretches between points."""
    stretches = shapely.linestrings(np.stack([line[:-1], line[1:]], axis=1))
    spots = shapely.points(points)
    return shapely.distance(spots, stretches[shapely.STRtree(stretches).nearest(spots)])
