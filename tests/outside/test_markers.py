"""Markers, read by shapely, ezdxf and svgelements and held against the job they were laid from.

Source of the utilisation: area over length times width, net of everything else. Whether pieces
overlap, keep their gap and stay on the cloth is asked of shapely, with curves flattened far finer
than the program does.
"""

from __future__ import annotations

import json
import math
import random
import signal
import struct
import subprocess
import time
from pathlib import Path

import ezdxf
import numpy as np
import pypdf
import pytest
import shapely
from common import BINARY, Outline, run
from svgelements import SVG, Path as SvgPath

STEPS = 400  # enough to move every piece
TIGHT = 1e-6  # mm, how far pieces may come nearer than the gap
TOLERANCE = 0.05  # mm, the program's default for flattening
WRITTEN = 0.002  # mm, rounding of the numbers in drawings, generously
TURNS = {"one-way": {0}, "two-way": {0, 180}, "any-way": {0, 90, 180, 270}}
LAYERS = {"cut", "notch", "drill", "grain", "text", "cloth-edge", "flaw"}

SHAPES = """
cloth roll { width WIDTH mm; usable-width USABLE mm; direction WAY BIAS }
table bench { gap GAP mm; end-loss LOSS mm }
style club from four-in-hand { shell roll; size long { length 62 in } }
style bow from bow-butterfly { shell roll }
style day from day-cravat { shell roll }
"""


def shapes(folder: Path, width=1400.0, usable=1380.0, way="two-way", gap=3.0, loss=20.0, more="") -> Path:
    text = SHAPES
    for word, value in {"WIDTH": width, "USABLE": usable, "WAY": way, "GAP": gap, "LOSS": loss, "BIAS": more}.items():
        text = text.replace(word, str(value))
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "shapes.tie").write_text(text, encoding="utf-8")
    return folder / "shapes.tie"


def lay(source, folder: Path, *arguments, code=0) -> str:
    steps = [] if "--steps" in arguments or "--seconds" in arguments else ["--steps", STEPS]
    result = run("lay", source, "--out", folder, *steps, *arguments)
    assert result.returncode == code, result.stderr.decode()
    return result.stdout.decode() if code == 0 else result.stderr.decode()


def both(source, folder: Path, *arguments) -> tuple[dict, dict]:
    """The job of what is asked, and what it is laid as."""
    lay(source, folder, *arguments, "--name", "m", "--job")
    lay(source, folder, *arguments, "--name", "m", "--as", "json")
    return load(folder / "m.job.json"), load(folder / "m.laid.json")


def load(path: Path) -> dict:
    return json.loads(path.read_text("utf-8"))


def true_shape(path: str) -> shapely.Polygon:
    """A cut line, each curve as 200 chords."""
    return Outline.parse(path).polygon()


def of_job(job: dict) -> dict[tuple, dict]:
    articles = {(a["style"], a["size"]): a for a in job["articles"]}
    return {(*key, p["name"]): p for key, a in articles.items() for p in a["pieces"]}


def prove(job: dict, laid: dict) -> list[shapely.Polygon]:
    """Everything that must be so of any marker; gives the pieces as they lie."""
    cloth, gap = job["cloth"], job["table"]["gap"]
    known = of_job(job)
    # Counts, piece by piece, and tie by tie.
    counts: dict[tuple, int] = {}
    ties: dict[int, list[tuple]] = {}
    for one in laid["pieces"]:
        key = (one["style"], one["size"], one["piece"])
        counts[key] = counts.get(key, 0) + 1
        ties.setdefault(one["tie"], []).append(key)
        assert one["turn"] in TURNS[cloth["direction"]]
    asked = {
        (a["style"], a["size"], p["name"]): a["count"] * p["quantity"] for a in job["articles"] for p in a["pieces"]
    }
    assert counts == {key: count for key, count in asked.items() if count}
    assert sorted(ties) == list(range(1, sum(a["count"] for a in job["articles"]) + 1))
    for keys in ties.values():
        (style,) = {key[:2] for key in keys}
        wanted = [key for key, p in known.items() if key[:2] == style for _ in range(p["quantity"])]
        assert sorted(keys, key=str) == sorted(wanted, key=str)
    # Every piece is the piece of the job, its grain along the warp, turned as it says.
    placed = []
    for one in laid["pieces"]:
        piece = known[one["style"], one["size"], one["piece"]]
        (x0, y0), (x1, y1) = piece["grain"]["from"], piece["grain"]["to"]
        warp = math.degrees(math.atan2(y1 - y0, x1 - x0))
        stated = cloth.get("warp")
        if stated and min(abs(x1 - x0), abs(y1 - y0)) > 1e-3 and (warp % 180 < 90) != (stated == "left"):
            warp = -warp
        drawn = Outline.parse(piece["cut"])
        turn = math.radians(one["turn"] - warp)
        c, s = math.cos(turn), math.sin(turn)
        moved = drawn.points(50) @ np.array([[c, s], [-s, c]]) + [one["x"], one["y"]]
        shape = true_shape(one["cut"])
        assert shapely.Polygon(moved).hausdorff_distance(shape) < 0.05
        assert math.isclose(abs(drawn.area), abs(Outline.parse(one["cut"]).area), rel_tol=1e-9)
        placed.append(shape)
    assert all(shape.is_valid for shape in placed)
    # Inside the length and the usable width, clear of flaws and of one another.
    box = shapely.box(0, 0, laid["length"], cloth["usable_width"]).buffer(TIGHT, join_style="mitre")
    assert all(box.covers(shape) for shape in placed)
    for x, y, wide, high in job["flaws"]:
        flaw = shapely.box(x, y, x + wide, y + high)
        assert all(shape.intersection(flaw).area < TIGHT for shape in placed)
    tree = shapely.STRtree(placed)
    for i, shape in enumerate(placed):
        for j in tree.query(shape, "dwithin", gap + 1):
            if j > i:
                assert shape.distance(placed[j]) >= gap - TIGHT
                assert shape.intersection(placed[j]).area < 1e-3
    # What it comes to.
    area = sum(abs(Outline.parse(one["cut"]).area) for one in laid["pieces"])
    assert math.isclose(area, laid["area"], rel_tol=1e-9)
    assert math.isclose(area / laid["length"] / cloth["usable_width"], laid["of_usable_width"], rel_tol=1e-6)
    assert math.isclose(area / laid["length"] / cloth["width"], laid["of_cloth"], rel_tol=1e-6)
    assert math.isclose(laid["ply_length"], laid["length"] + 2 * job["table"]["end_loss"], abs_tol=1e-6)
    cut = sum(Outline.parse(one["cut"]).length for one in laid["pieces"])
    assert math.isclose(cut, laid["cut_length"], rel_tol=1e-6)
    reach = max(shape.bounds[2] for shape in placed)
    assert laid["length"] - reach < 0.3, "the length ends where the last piece does"
    return placed


CASES = {
    "one-way": ({"way": "one-way"}, ["--ties", "club=3"]),
    "two-way": ({}, ["--ties", "club=4", "--ties", "club/long=2"]),
    "any-way": ({"way": "any-way", "gap": 0.0}, ["--ties", "club=2", "--ties", "bow=3"]),
    "narrow": ({"width": 720.0, "usable": 700.0, "gap": 8.0}, ["--ties", "bow=3"]),
    "cravats": ({"width": 1150.0, "usable": 1150.0, "gap": 1.0, "loss": 0.0}, ["--ties", "day=2", "--ties", "club=1"]),
    "left": ({"more": "; bias left", "way": "one-way"}, ["--ties", "club=2"]),
    "right": ({"more": "; bias right"}, ["--ties", "club=2"]),
    "narrow-left": ({"more": "; bias left", "width": 700.0, "usable": 690.0}, ["--ties", "bow=2"]),
    "flaws": ({}, ["--ties", "club=3", "--flaw", "30 cm,20 cm,4 cm,6 cm", "--flaw", "0,0,50mm,50mm"]),
    "repeat": ({"more": "; repeat-weft 48 mm; repeat-warp 60 mm"}, ["--ties", "club=3", "--tie-to-repeat", "blade"]),
    "near": ({}, ["--ties", "club=6", "--near", "1300 mm"]),
}


@pytest.fixture(scope="module", params=CASES, ids=list(CASES))
def case(request, tmp_path_factory):
    """A job, its marker, and its folder with every drawing."""
    setting, arguments = CASES[request.param]
    folder = tmp_path_factory.mktemp(request.param)
    source = shapes(folder, **setting)
    job, laid = both(source, folder, *arguments)
    lay(folder / "m.job.json", folder, "--as", "dxf,svg,png,pdf")
    return request.param, job, laid, folder


def test_markers_are_sound(case):
    name, job, laid, _ = case
    prove(job, laid)
    if name == "flaws":
        # From the end of the cloth and from the selvedge.
        assert job["flaws"] == [[280, 190, 40, 60], [-20, -10, 50, 50]]
    if name == "near":
        spans: dict[int, list[float]] = {}
        for one in laid["pieces"]:
            spans.setdefault(one["tie"], []).extend(true_shape(one["cut"]).bounds[::2])
        assert max(max(s) - min(s) for s in spans.values()) <= 1300 + TIGHT
    if name == "repeat":
        blades = [one for one in laid["pieces"] if one["piece"] == "blade"]
        for axis, repeat in (("x", 60), ("y", 48)):
            phases = [(one[axis] - blades[0][axis]) / repeat for one in blades]
            assert all(abs(p - round(p)) < 1e-8 for p in phases)


def test_stripes_run_as_the_cloth_says(tmp_path):
    """The same pieces with the same grain, and a warp that runs across the stripes that are asked for."""
    known = {}
    for name in ("left", "right"):
        job = case_job(tmp_path, name)
        (piece,) = [p for p in job["articles"][0]["pieces"] if p["name"] == "blade"]
        known[name] = (job["cloth"]["warp"], piece["grain"])
    # Stripes run across the warp, so that the warp runs the other way.
    assert known["left"][0] == "right" and known["right"][0] == "left"
    assert known["left"][1] == known["right"][1]


def case_job(folder: Path, bias: str) -> dict:
    source = shapes(folder / f"bias-{bias}", more=f"; bias {bias}")
    lay(source, source.parent, "--ties", "club=1", "--name", "m", "--job")
    return load(source.parent / "m.job.json")


def test_dxf_is_the_json(case):
    _, job, laid, folder = case
    document = ezdxf.readfile(folder / "m.dxf")
    audit = document.audit()
    assert not audit.errors and not audit.fixes
    assert document.dxfversion == "AC1009" and (folder / "m.dxf").read_bytes().isascii()
    space = document.modelspace()
    assert {entity.dxf.layer for entity in space} <= LAYERS
    lines = [e for e in space if e.dxf.layer == "cut"]
    assert len(lines) == len(laid["pieces"]) and all(e.dxftype() == "POLYLINE" and e.is_closed for e in lines)
    for line, one in zip(lines, laid["pieces"]):
        drawn = shapely.Polygon([(v.dxf.location.x, v.dxf.location.y) for v in line.vertices])
        true = shapely.LinearRing(Outline.parse(one["cut"]).points())
        assert shapely.hausdorff_distance(drawn.exterior, true, densify=0.01) <= TOLERANCE + WRITTEN
    edges = [shapely.box(*shapely.LineString([(v.dxf.location.x, v.dxf.location.y) for v in e.vertices]).bounds)
             for e in space if e.dxf.layer == "cloth-edge"]
    loss, margin = job["table"]["end_loss"], (job["cloth"]["width"] - job["cloth"]["usable_width"]) / 2
    wanted = [-loss, -margin, laid["length"] + loss, job["cloth"]["width"] - margin]
    assert np.allclose(shapely.union_all(edges).bounds, wanted, atol=WRITTEN)
    known = of_job(job)
    notches = sum(len(known[o["style"], o["size"], o["piece"]]["notches"]) for o in laid["pieces"])
    strokes = [e for e in space if e.dxf.layer == "notch"]
    assert (len(strokes) > 0) == (notches > 0) and len(strokes) >= notches
    grains = [e for e in space if e.dxf.layer == "grain"]
    assert len(grains) == 3 * len(laid["pieces"]), "a shaft and two sides of its head"
    for shaft, one in zip(grains[::3], laid["pieces"]):
        along = shaft.dxf.end - shaft.dxf.start
        off = math.degrees(math.atan2(along.y, along.x)) - one["turn"]
        assert abs((off + 180) % 360 - 180) < 0.01
        arrow = shapely.LineString([shaft.dxf.start.vec2, shaft.dxf.end.vec2])
        assert true_shape(one["cut"]).contains(arrow), "an arrow stays on its piece"
    written = [e for e in space if e.dxf.layer == "text" and e.dxftype() == "TEXT"]
    words = " ".join(e.dxf.text for e in written)
    # On every piece stands the number of its tie, and nothing of another piece.
    ends = [(shapely.Point(e.dxf.get("align_point", e.dxf.insert)), e.dxf.text.split()[-1]) for e in written]
    for one in laid["pieces"]:
        shape = true_shape(one["cut"])
        numbers = [word for at, word in ends if word.isdigit() and shape.contains(at)]
        assert numbers == [str(one["tie"])], one["piece"]
    square = [e for e in space if e.dxf.layer == "text" and e.dxftype() == "POLYLINE"]
    bounds = shapely.MultiPoint([(v.dxf.location.x, v.dxf.location.y) for e in square for v in e.vertices]).bounds
    assert len(square) == 4 and np.allclose([bounds[2] - bounds[0], bounds[3] - bounds[1]], 50, atol=WRITTEN)
    share = f"{laid['of_usable_width'] * 100:.2f}".rstrip("0").rstrip(".")
    assert f"{share} % of the usable width" in words.replace("  ", " ")
    drills = sum(len(known[o["style"], o["size"], o["piece"]]["drills"]) for o in laid["pieces"])
    assert len([e for e in space if e.dxf.layer == "drill"]) == drills


def test_svg_is_the_json(case):
    _, job, laid, folder = case
    drawing = SVG.parse(folder / "m.svg", ppi=25.4)
    lines = [e for e in drawing.elements() if isinstance(e, SvgPath) and "cut" == e.values.get("class")]
    assert len(lines) == len(laid["pieces"])
    loss, margin = job["table"]["end_loss"], (job["cloth"]["width"] - job["cloth"]["usable_width"]) / 2
    edge = next(e for e in drawing.elements() if isinstance(e, SvgPath) and e.values.get("class") == "stroke")
    x0, y0, x1, y1 = edge.bbox(with_stroke=False)
    assert math.isclose(x1 - x0, laid["ply_length"], abs_tol=WRITTEN)
    assert math.isclose(y1 - y0, job["cloth"]["width"], abs_tol=WRITTEN)
    for line, one in zip(lines, laid["pieces"]):
        left, top, right, bottom = line.bbox(with_stroke=False)
        wanted = shapely.Polygon(Outline.parse(one["cut"]).points()).bounds
        drawn = (left - x0 - loss, y1 - bottom - margin, right - x0 - loss, y1 - top - margin)
        assert np.allclose(drawn, wanted, atol=0.01)
    titles = {e.values.get("id") for e in drawing.elements() if e.values.get("class") == "piece"}
    assert len(titles) == len(laid["pieces"]), "every piece has a name of its own"


def test_pdf_and_png_show_it_on_one_page(case):
    _, job, laid, folder = case
    (page,) = pypdf.PdfReader(folder / "m.pdf").pages
    assert max(page.mediabox.width, page.mediabox.height) <= 14400
    words = page.extract_text()
    assert "test square" in words and "Caution, blades" in words
    picture = (folder / "m.png").read_bytes()
    width, height = struct.unpack(">II", picture[16:24])
    assert picture.startswith(b"\x89PNG") and 500 < width < 7000 and 500 < height < 7000
    assert len(picture) > 20_000, "it is not empty"


def test_a_long_marker_has_a_plan_page(tmp_path):
    source = shapes(tmp_path, way="one-way", width=400.0, usable=390.0)
    lay(source, tmp_path, "--ties", "bow=30", "--name", "m", "--as", "pdf,json", "--steps", "10")
    assert load(tmp_path / "m.laid.json")["length"] > 5080
    (page,) = pypdf.PdfReader(tmp_path / "m.pdf").pages
    assert page.mediabox.width < 2000
    words = page.extract_text()
    assert "not to cut from" in words and "scale 1:" in words


def test_the_same_steps_give_the_same_bytes(tmp_path):
    source = shapes(tmp_path)
    for name in ("a", "b"):
        lay(source, tmp_path / name, "--ties", "club=3", "--as", "dxf,svg,png,pdf,json", "--seed", "5")
    files = sorted(p.name for p in (tmp_path / "a").iterdir())
    assert len(files) == 5
    for name in files:
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes(), name
    # By way of a job file as well, whose own steps and seed count.
    lay(source, tmp_path / "c", "--ties", "club=3", "--job", "--seed", "5")
    lay(tmp_path / "c/club-marker.job.json", tmp_path / "c", "--as", "json")
    assert (tmp_path / "c/club-marker.laid.json").read_bytes() == (tmp_path / "a/club-marker.laid.json").read_bytes()
    # Another seed alone leaves the steps as the job has them.
    for name, more in (("d", []), ("e", ["--steps", STEPS])):
        result = run("lay", tmp_path / "c/club-marker.job.json", "--out", tmp_path / name, "--as", "json", "--seed", "9", *more)
        assert result.returncode == 0, result.stderr.decode()
    assert (tmp_path / "d/club-marker.laid.json").read_bytes() == (tmp_path / "e/club-marker.laid.json").read_bytes()


def test_a_job_goes_to_the_standard_output(tmp_path):
    source = shapes(tmp_path)
    lay(source, tmp_path, "--ties", "club=1", "--name", "m", "--job")
    result = run("lay", source, "--out", "-", "--ties", "club=1", "--name", "m", "--job", "--steps", STEPS)
    assert result.returncode == 0 and result.stdout == (tmp_path / "m.job.json").read_bytes()


# Job files written by other programs.


def job(pieces: list[dict], width: float, **more) -> dict:
    """A job of one article, one tie of it."""
    document = {
        "tiewright": "tiewright lay job, version 1",
        "name": "m",
        "cloth": {"name": "roll", "width": width, "usable_width": width, "direction": "one-way"},
        "table": {"name": "", "gap": 0.0, "end_loss": 0.0},
        "search": {"seed": 1, "steps": STEPS},
        "articles": [{"style": "shapes", "size": None, "count": 1, "pieces": pieces}],
    }
    document["table"].update(more.pop("table", {}))
    document["cloth"].update(more.pop("cloth", {}))
    return {**document, **more}


def piece(name: str, path: str, quantity: int = 1, grain=(1.0, 0.0)) -> dict:
    return {"name": name, "quantity": quantity, "cut": path, "grain": {"from": [0, 0], "to": list(grain)}}


def polygon_path(points) -> str:
    return "M" + "L".join(f"{x} {y}" for x, y in points) + "Z"


def solve(document: dict, folder: Path, *arguments) -> dict:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "m.job.json").write_text(json.dumps(document), encoding="utf-8")
    lay(folder / "m.job.json", folder, *arguments, "--as", "json")
    return load(folder / "m.laid.json")


def test_cloth_of_one_garment(tmp_path):
    """Consumption = area / (width x efficiency), published arithmetic of the cutting room.

    0.62 m2 at 82 % of a cloth 1.40 m wide take 0.62 / (1.40 x 0.82) = 0.5401 m; 82 % of it is 1.148 m across.
    """
    length, across = 620_000 / 1148, 1148
    cut = polygon_path([(0, 0), (length, 0), (length, across), (0, across)])
    laid = solve(job([piece("front", cut)], 1400.0), tmp_path)
    assert laid["of_cloth"] == pytest.approx(0.82, abs=1e-9)
    assert laid["length"] == pytest.approx(540.1, abs=0.05)
    assert laid["length"] == pytest.approx(laid["area"] / (1400 * laid["of_cloth"]), abs=1e-6)


def blob(luck: random.Random) -> str:
    """A closed line of cubics that bulges and is hollow by turns, and does not cross itself."""
    count = luck.randint(3, 8)
    radii = [luck.uniform(30, 120) for _ in range(count)]
    step = 2 * math.pi / count
    spot = lambda k: np.array([math.cos(k * step), math.sin(k * step)]) * radii[k % count]
    out = "M{} {}".format(*spot(0))
    for k in range(count):
        a, b = spot(k), spot(k + 1)
        if luck.random() < 0.3:
            out += "L{} {}".format(*b)
            continue
        side = np.array([-(b - a)[1], (b - a)[0]]) * luck.uniform(-0.15, 0.15)
        out += "C{} {} {} {} {} {}".format(*(a + (b - a) / 3 + side), *(a + (b - a) * 2 / 3 + side * luck.uniform(-1, 1)), *b)
    return out + "Z"


@pytest.mark.parametrize("seed", range(8))
def test_random_pieces_are_laid_soundly(seed, tmp_path):
    luck = random.Random(seed)
    pieces = [
        piece(f"p{k}", blob(luck), luck.randint(1, 4), (luck.uniform(-1, 1), luck.uniform(0.1, 1)))
        for k in range(luck.randint(2, 5))
    ]
    way = luck.choice(list(TURNS))
    flaws = [[luck.uniform(0, 300), luck.uniform(0, 400), 30, 20] for _ in range(luck.randint(0, 3))]
    document = job(pieces, luck.uniform(260, 600), cloth={"direction": way}, flaws=flaws,
                   table={"gap": luck.choice([0, 0.5, 4]), "end_loss": 10})
    document["articles"][0]["count"] = luck.randint(1, 4)
    document["cloth"]["width"] += 20
    document = {"notes": [], **document}
    prove(document, solve(document, tmp_path))


@pytest.mark.parametrize("cuts", [1, 3, 7, 11, 15])
def test_rectangles_cut_from_a_full_one_come_out_full(cuts, tmp_path):
    luck = random.Random(cuts)
    whole = [(0.0, 0.0, 900.0, 400.0)]
    for _ in range(cuts):
        whole.sort(key=lambda r: (r[2] - r[0]) * (r[3] - r[1]))
        x0, y0, x1, y1 = whole.pop()
        share = luck.choice([0.25, 0.4, 0.5, 0.6])
        if x1 - x0 > y1 - y0:
            at = x0 + (x1 - x0) * share
            whole += [(x0, y0, at, y1), (at, y0, x1, y1)]
        else:
            at = y0 + (y1 - y0) * share
            whole += [(x0, y0, x1, at), (x0, at, x1, y1)]
    pieces = [
        piece(f"r{k}", polygon_path([(0, 0), (0, y1 - y0), (x1 - x0, y1 - y0), (x1 - x0, 0)]))
        for k, (x0, y0, x1, y1) in enumerate(whole)
    ]
    document = job(pieces, 400.0, flaws=[])
    laid = solve(document, tmp_path, "--seconds", 60)
    prove(document, laid)
    assert laid["of_usable_width"] > 1 - 1e-8, laid["of_usable_width"]


def test_a_laid_job_is_left_alone_until_it_changes(tmp_path):
    document = job([piece("r", polygon_path([(0, 0), (0, 70), (90, 50)]), 7)], 200.0, flaws=[])
    first = solve(document, tmp_path)
    before = (tmp_path / "m.laid.json").stat().st_mtime_ns
    said = lay(tmp_path / "m.job.json", tmp_path, "--as", "json")
    assert "is laid already" in said and (tmp_path / "m.laid.json").stat().st_mtime_ns == before
    more = lay(tmp_path / "m.job.json", tmp_path, "--as", "json", "--again", "--seed", "9")
    assert "already" not in more and load(tmp_path / "m.laid.json")["length"] <= first["length"] + TIGHT
    # A changed job is another, and a marker that was tampered with is none.
    document["table"]["gap"] = 2.0
    assert solve(document, tmp_path)["job"] != first["job"]
    laid = load(tmp_path / "m.laid.json")
    laid["pieces"][0]["x"] += 1.0
    (tmp_path / "m.laid.json").write_text(json.dumps(laid))
    said = lay(tmp_path / "m.job.json", tmp_path, "--as", "json")
    assert "already" not in said
    prove(document, load(tmp_path / "m.laid.json"))


def start(arguments, folder: Path) -> subprocess.Popen:
    return subprocess.Popen([str(BINARY), "lay", *map(str, arguments)], cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE)


def test_control_c_keeps_the_best(tmp_path):
    source = shapes(tmp_path)
    lay(source, tmp_path, "--ties", "club=4", "--name", "m", "--job", "--seconds", "600")
    program = start(["m.job.json", "--as", "json,dxf,svg"], tmp_path)
    time.sleep(3)
    program.send_signal(signal.SIGINT)
    _, said = program.communicate(timeout=60)
    assert program.returncode == 0 and b"stopped" in said
    prove(load(tmp_path / "m.job.json"), load(tmp_path / "m.laid.json"))
    assert not list(tmp_path.glob(".*"))
    assert not ezdxf.readfile(tmp_path / "m.dxf").audit().errors


def test_what_is_killed_leaves_nothing_half_written(tmp_path):
    source = shapes(tmp_path)
    lay(source, tmp_path, "--ties", "club=2", "--name", "m", "--job", "--seconds", "1")
    before = sorted(p.name for p in tmp_path.iterdir())
    for wait in (0.05, 0.4, 0.9, 1.0, 1.1):
        program = start(["m.job.json", "--as", "json,dxf,svg,pdf,png"], tmp_path)
        time.sleep(wait)
        program.kill()
        program.communicate()
        for path in tmp_path.iterdir():
            if path.name in before or path.name.startswith("."):
                continue
            # What has its name is whole.
            if path.suffix == ".json":
                load(path)
            elif path.suffix == ".dxf":
                assert path.read_text("ascii").endswith("EOF\n")
            elif path.suffix == ".svg":
                assert path.read_text("utf-8").rstrip().endswith("</svg>")


GOOD = polygon_path([(0, 0), (0, 50), (80, 50)])


def broken(document: dict) -> list[tuple[str, str]]:
    """Job files no one should write, and what is said of each."""
    text = json.dumps(document, indent=1)
    line = lambda word: 1 + text[: text.index(word)].count("\n")
    return [
        ("", "line 1 "),
        (text[: len(text) // 2], "line "),
        (text.replace("version 1", "version 7"), "version 7"),
        (text.replace("version 1", "version 7"), f"line {line('version 1')} "),
        (text.replace('"width": 200', '"width": NaN'), f"line {line(chr(34) + 'width')} "),
        (text.replace('"width": 200', '"width": 1e999'), "line "),
        (text.replace('"width": 200', '"width": 1e300'), "out of range"),
        (text.replace('"width": 200', '"width": -5'), "out of range"),
        (text.replace('"gap": 0.0', '"gap": -1'), "out of range"),
        (text.replace('"count": 1', '"count": 4000000000'), "out of range"),
        (text.replace('"count": 1', '"count": 1.5'), "line "),
        (text.replace('"count": 1', '"count": 9999, "pieces": [], "more": 1'), "line "),
        (text.replace('"quantity": 1', '"quantity": 0'), "out of range"),
        (text.replace(GOOD, polygon_path([(0, 0), (50, 50), (50, 0), (0, 50)])), "crosses or touches itself"),
        (text.replace(GOOD, polygon_path([(0, 0), (50, 50), (50, 0), (0, 50)])), f"line {line(GOOD)} "),
        (text.replace(GOOD, "M0 0L50 50"), "not closed"),
        (text.replace(GOOD, "M0 0A50 50"), "is not known in a path"),
        (text.replace(GOOD, polygon_path([(0, 0), (0, 500), (800, 500)])), "`r` of shapes is 500.0 mm wide"),
        (text.replace('"one-way"', '"sideways"'), "`sideways` is no direction"),
        (json.dumps(job([piece("r", GOOD, grain=(0, 0))], 200)), "points nowhere"),
        (text.replace('"flaws": []', '"flaws": [[0, 0, 0, 5]]'), "out of range"),
        (text.replace('"flaws": []', '"flaws": [], "tied": ["sleeve"]'), "no piece `sleeve` to tie to the repeat; there is r"),
        (text.replace('"flaws": []', '"flaws": [], "tied": ["r"]'), "a cloth that states none"),
        (off_repeat(), "`r` of more is tied to the repeat and lies nowhere on it within"),
        (text.replace('"flaws": []', '"flaws": [], "near": 1'), "may lie along no more than 1.0 mm"),
        (text.replace('"usable_width": 200', '"usable_width": 300'), "more than its width"),
        (text.replace('"name": "roll"', '"nome": "roll"'), "unknown field `nome`"),
    ]


def off_repeat() -> str:
    """Two styles whose pieces of one name find no common place on the repeat."""
    high = polygon_path([(0, -30), (0, 150), (50, 150), (50, -30)])
    document = job([piece("r", GOOD)], 200, flaws=[], tied=["r"], cloth={"repeat_weft": 150})
    document["articles"].append({"style": "more", "size": None, "count": 1, "pieces": [piece("r", high)]})
    return json.dumps(document)


def test_wrong_job_files_are_told_plainly(tmp_path):
    document = job([piece("r", GOOD)], 200, flaws=[])
    for number, (text, why) in enumerate(broken(document)):
        folder = tmp_path / str(number)
        folder.mkdir()
        (folder / "m.job.json").write_text(text, encoding="utf-8")
        said = lay(folder / "m.job.json", folder, code=1)
        assert why in said and "m.job.json" in said and "nothing was written" in said, (why, said)
        assert "panicked" not in said and len(list(folder.iterdir())) == 1


def test_what_is_missing_is_told_with_what_to_write(tmp_path):
    plain = tmp_path / "plain.tie"
    plain.write_text("cloth thin { thickness 0.2 mm }\nstyle club from four-in-hand\nstyle other from slim { shell thin }\n")
    for arguments, code, why in [
        (["--ties", "club=1"], 1, "write `cloth NAME { width 140 cm }`"),
        (["--ties", "other=1"], 1, "write `width 140 cm` in it"),
        (["--ties", "club=1", "--cloth", "thni"], 1, "did you mean `thin`?"),
        (["--ties", "club=1", "--role", "lining"], 1, "its cloth roles are shell"),
        (["--ties", "club=1", "--table", "long"], 1, "no table `long`"),
        (["--ties", "clubb=1"], 1, "did you mean `club`?"),
        (["--ties", "club/tall=1"], 1, "no size `tall`"),
        (["--ties", "12"], 2, "several styles"),
        (["--ties", "club=none"], 2, "no number of ties"),
        ([], 2, "--ties STYLE=12"),
        (["--ties", "club=1", "--again"], 2, "cannot be used with"),
        (["--ties", "club=1", "--seconds", "nan"], 2, "must be from"),
        (["--ties", "club=1", "--seconds", "-1"], 2, "must be from"),
        (["--ties", "club=0"], 2, "no number of ties"),
        (["--ties", "club=9999", "--ties", "club=2"], 2, "asks for 10001 of club"),
        (["--ties", "=1"], 2, "names no style or no size"),
        (["--ties", "other/=1"], 2, "names no style or no size"),
        (["--ties", "club/tall=1"], 1, "leave the size out"),
    ]:
        said = lay(plain, tmp_path / "out", *arguments, code=code)
        assert why in said, (arguments, said)
    wide = shapes(tmp_path / "wide", width=300.0, usable=280.0)
    said = lay(wide, tmp_path / "out", "--ties", "club=1", code=1)
    assert "`blade` of club is" in said and "mm wide across the cloth, and its usable width is 280.0 mm" in said
    for option, value, why in [
        ("--flaw", "1,2,3", "needs four lengths"),
        ("--flaw", "1cm,2cm,3cm,4", "has no unit"),
        ("--flaw", "1cm,2cm,3cm,x", "is no length"),
        ("--flaw", "0 x,2cm,3cm,4cm", "`0 x` is no length"),
        ("--flaw", "-1cm,2cm,3cm,4cm", "`-1cm` is outside the cloth"),
        ("--flaw", "1cm,140cm,3cm,4cm", "beside the cloth, which is 1400 mm wide"),
        ("--flaw", "900m,2cm,3cm,4cm", "`900m` is not from 0.1 mm to 100000 mm"),
        ("--near", "-1cm", "`-1cm` is no length"),
        ("--near", "0.01mm", "`0.01mm` is not from"),
    ]:
        said = lay(shapes(tmp_path / "f"), tmp_path / "out", "--ties", "club=1", option, value, code=2)
        assert why in said and "line" not in said, said
    said = lay(shapes(tmp_path / "f"), tmp_path / "out", "--ties", "club=1", "--near", "60mm", code=1)
    assert "may lie along no more than 60.0 mm" in said
    repeat = shapes(tmp_path / "r", more="; repeat-warp 60 mm")
    said = lay(repeat, tmp_path / "out", "--ties", "club=1", "--tie-to-repeat", "blaed", code=1)
    assert "did you mean `blade`?" in said
    assert not (tmp_path / "out").exists()


def kept() -> list[tuple[str, dict]]:
    """What the project's own tests of the search laid, of every run of theirs the last."""
    files = sorted((BINARY.parents[1] / "tmp").glob("markers-*.jsonl"))
    return [(file.stem, json.loads(line)) for file in files for line in file.read_text().splitlines()]


def test_every_layout_of_the_rust_tests_is_sound():
    layouts = kept()
    assert {name for name, _ in layouts} >= {"markers-promises", "markers-tied"}
    for name, layout in layouts:
        pieces = [shapely.Polygon(corners) for corners in layout["pieces"]]
        assert all(piece.is_valid for piece in pieces)
        for piece in pieces:
            x0, y0, x1, y1 = piece.bounds
            assert x0 >= -TIGHT and y0 >= -TIGHT, name
            assert x1 <= layout["length"] + TIGHT and y1 <= layout["width"] + TIGHT, name
        pieces = np.array(pieces, dtype=object)
        one, two = shapely.STRtree(pieces).query(pieces, predicate="dwithin", distance=max(layout["gap"] - TIGHT, 0.0))
        for i, j in zip(one, two):
            if i < j:
                assert layout["gap"] == 0.0, (name, "nearer than the gap")
                # Pieces that touch may overlap by rounding: no deeper than TIGHT along the edge.
                shared = pieces[i].intersection(pieces[j])
                assert shared.area <= TIGHT * max(pieces[i].length, pieces[j].length), name
        for flaw in layout["flaws"]:
            box = shapely.box(*flaw)
            for piece in pieces:
                assert piece.intersection(box).area <= TIGHT * (piece.length + box.length), name
