"""The papers of the workshop, read by other people's readers and held against the JSON.

The HTML is read with the standard library's parser and compared with the JSON of the same draft; the
PDF, read by pypdf, must say the same. PDFium (the reader of a common browser) paints the pages, and
the browser itself prints the HTML.

Sources: ISO 216 states A4 as 210 x 297 mm; a printer's point is 1/72 in (ISO 32000-1, 8.3.2.3).
"""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import unicodedata
from dataclasses import dataclass
from fractions import Fraction
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pypdf
import pypdfium2
import pytest
from common import EXAMPLES, Outline, run

POINT = 25.4 / 72  # mm
SIZES = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}  # mm
ROUNDED = 0.05 + 1e-6  # mm, half of the last decimal said
TAPE = 25.4 / 64 + 1e-6  # mm, half of a 32nd of an inch
MARGIN = 15.0  # mm
LINE = 0.3  # mm, half a line and the rounding of a painted dot
BODY = 11.0  # points, what is read at the bench
SMALL = 9.0  # points, the foot of a page
PAINTED = 100  # dots an inch
# One of each kind: a tie, sizes, cloths with names, a square that is not folded.
CHOSEN = [("choir-tie", "a4"), ("school-ties", "letter"), ("cloths", "a4"), ("squares", "a4")]


@dataclass(frozen=True)
class Sheets:
    """The papers of one draft."""

    name: str
    json: dict
    html: Path
    pdf: Path
    size: tuple[float, float]


class Page(HTMLParser):
    """What the HTML says: its tables row by row, its words, and what it would load."""

    VOID = {"meta", "br", "col"}

    def __init__(self, text: str):
        super().__init__()
        self.tables: dict[str, list[list[str]]] = {}
        self.steps: list[str] = []
        self.headings: list[str] = []
        self.titles: list[str] = []
        self.cells: list[str] = []
        self.ids: list[str] = []
        self.tags: list[str] = []
        self.open: list[str] = []
        self.rows: list[list[str]] | None = None
        self.feed(text)
        self.close()
        assert not self.open, f"left open: {self.open}"

    def handle_starttag(self, tag, attributes):
        values = dict(attributes)
        self.tags.append(tag)
        assert not {"src", "href"} & set(values), values
        if "id" in values:
            self.ids.append(values["id"])
        if tag == "table":
            self.rows = self.tables.setdefault(values["aria-label"], [])
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th"):
            self.rows[-1].append("")
        if tag == "br":
            self.handle_data("\n")
        if tag not in self.VOID:
            self.open.append(tag)
        if tag == "p" and "step" in (values.get("class") or ""):
            self.steps.append("")
        if tag in ("h1", "h2"):
            self.headings.append("")

    def handle_startendtag(self, tag, attributes):
        self.handle_starttag(tag, attributes)
        if tag not in self.VOID:
            self.handle_endtag(tag)

    def handle_endtag(self, tag):
        assert self.open and self.open[-1] == tag, (tag, self.open)
        self.open.pop()
        if tag in ("td", "th"):
            self.cells.append(self.rows[-1][-1])

    def handle_data(self, data):
        inside = {"td", "th"} & set(self.open)
        if inside and "svg" not in self.open:
            self.rows[-1][-1] += data
        if self.steps and {"ol", "p"} <= set(self.open):
            self.steps[-1] += data.replace("\xa0", " ") + "\n"
        if self.open and self.open[-1] in ("h1", "h2"):
            self.headings[-1] += data
        if self.open and self.open[-1] == "h1":
            self.titles.append(data)


@pytest.fixture(scope="module", params=CHOSEN, ids=lambda chosen: chosen[0])
def sheets(request, tmp_path_factory) -> list[Sheets]:
    stem, paper = request.param
    source = next(path for path in EXAMPLES if path.stem == stem)
    out = tmp_path_factory.mktemp(stem)
    for arguments in ([], ["--size", "all"]):
        for command in (["draft", "--as", "json"], ["sheet", "--paper", paper]):
            result = run(command[0], source, *command[1:], *arguments, "--out", out)
            assert result.returncode == 0, result.stderr.decode()
    found = [Sheets(path.stem, json.loads(path.read_text("utf-8")), out / f"{path.stem}-sheets.html",
                    out / f"{path.stem}-sheets.pdf", SIZES[paper]) for path in sorted(out.glob("*.json"))]
    assert found and len(list(out.iterdir())) == 3 * len(found)
    return found


def page(one: Sheets) -> Page:
    return Page(one.html.read_text("utf-8"))


def millimetres(cell: str) -> float:
    return float(re.match(r"\s*(-?[0-9.]+) mm", cell).group(1))


def inches(cell: str) -> float:
    """The inches of a cell, in mm."""
    whole, part = re.search(r"(?:^|\s)(?:(\d+)(?: |(?= in)))?(\d+/\d+)? ?in", cell.split("mm")[1]).groups()
    return float(int(whole or 0) + Fraction(part or 0)) * 25.4


def says(cell: str, value: float):
    """Both units of a cell are the value, each to its stated rounding."""
    assert millimetres(cell) == pytest.approx(value, abs=ROUNDED), cell
    assert inches(cell) == pytest.approx(value, abs=TAPE), cell


def squeezed(text: str) -> str:
    """Without blanks, which the end of a line takes the place of, and letter by letter: browsers write fl as one."""
    return re.sub(r"\s", "", unicodedata.normalize("NFKC", text))


def test_the_ticket_lists_every_piece(sheets):
    for one in sheets:
        head, *rows = page(one).tables["what to cut"]
        assert head[1:] == ["piece", "cut", "cloth", "long", "wide", "area, grain"]
        assert len(rows) == len(one.json["pieces"])
        names = {cloth["role"]: cloth["name"] for cloth in one.json["cloths"]}
        for row, piece in zip(rows, one.json["pieces"]):
            name, quantity, cloth, length, width, area = row[1:]
            assert name == (f"{piece['name']} {piece['doc']}" if piece["doc"] else piece["name"])
            assert int(quantity) == piece["quantity"]
            wanted = [piece["cloth"], names[piece["cloth"]]]
            assert cloth.split("\n") == [text for text in wanted if text]
            size = np.ptp(Outline.parse(piece["cut"]).points(2000), axis=0)
            says(length, size[0])
            says(width, size[1])
            said, grain = area.split("\n")
            assert float(said.removesuffix(" cm²")) == pytest.approx(piece["area"] / 100, abs=ROUNDED)
            way = np.subtract(piece["grain"]["to"], piece["grain"]["from"])
            angle = np.degrees(np.arctan2(way[1], way[0])) % 180
            assert float(grain.removesuffix(" deg")) == pytest.approx(angle, abs=ROUNDED)


def test_the_cloth_of_one(sheets):
    for one in sheets:
        rows = page(one).tables["cloth by role"][1:]
        assert [row[0] for row in rows] == [cloth["role"] for cloth in one.json["cloths"]]
        for row, cloth in zip(rows, one.json["cloths"]):
            of_it = [piece for piece in one.json["pieces"] if piece["cloth"] == cloth["role"]]
            assert int(row[4]) == sum(piece["quantity"] for piece in of_it)
            area = sum(piece["quantity"] * piece["area"] for piece in of_it) / 100
            assert float(row[5].removesuffix(" cm²")) == pytest.approx(area, abs=ROUNDED)
            if cloth["name"]:
                assert row[1].startswith(cloth["name"]) and row[2] == cloth["direction"]
            else:
                assert row[1:3] == ["", ""]
            if cloth["usable_width"] is not None:
                says(row[3], cloth["usable_width"])


def test_the_order_of_work(sheets):
    for one in sheets:
        said = [" ".join(step.split()) for step in page(one).steps]
        assert len(said) == len(one.json["steps"])
        for text, step in zip(said, one.json["steps"]):
            assert text.startswith(step["title"]) and text.endswith(" ".join(step["text"].split()))
            assert ("Caution" in text) == bool(step["tool"])


def test_where_things_go(sheets):
    """A mark's place along the middle, from the end of the finished outline it is nearer to."""
    for one in sheets:
        rows = page(one).tables.get("places on the finished work", [[]])[1:]
        assert len(rows) == len(one.json["marks"])
        if one.json["style"] != "choir-tie":
            continue
        length = one.json["parameters"]["length"]
        assert rows
        for number, (row, mark) in enumerate(zip(rows, one.json["marks"])):
            points = Outline.parse(mark["path"]).points()
            (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
            assert row[:3] == [str(number + 1), mark["name"].replace("-", " "), mark["side"]]
            along = x1 - x0 > length / 2
            left = along or x0 <= length - x1
            assert row[3] == ("left end" if left else "right end")
            says(row[4], x0 if left else length - x1)
            if along:
                assert row[5] == "–"
            else:
                says(row[5], (x0 + x1) / 2 if left else length - (x0 + x1) / 2)
            for cell, value in ((row[6], x1 - x0), (row[7], y1 - y0)):
                assert cell == "–" if value < 0.05 else says(cell, value) is None


def test_what_to_measure(sheets):
    for one in sheets:
        tables = page(one).tables
        for inspection in one.json["inspections"]:
            (name,) = (name for name in tables if name.endswith(f"({inspection['name']})"))
            head, first, *rows, date, initials = tables[name]
            assert name.lower().startswith(inspection["when"].lower())
            assert head[:4] == ["no.", "point of measure", "must be", "± mm"] and len(head) > 7
            assert [row[1] for row in (first, date, initials)] == ["article no.", "date", "initials"]
            assert len(rows) == len(inspection["points"])
            for number, (row, point) in enumerate(zip(rows, inspection["points"])):
                assert row[0] == str(number + 1)
                assert row[1] == f"{point['name']} {point['doc']}".strip()
                says(row[2], point["value"])
                assert float(row[3]) == pytest.approx(point["tolerance"], abs=ROUNDED)
                assert set(row[4:]) == {""}


def test_html_stands_alone(sheets):
    for one in sheets:
        read = page(one)
        assert not {"script", "link", "img", "iframe", "object"} & set(read.tags)
        assert len(read.ids) == len(set(read.ids)) > 3
        assert read.headings[0] == "Cutting ticket"
        assert all(len(row) == len(rows[0]) for rows in read.tables.values() for row in rows)


def test_pdf_says_what_the_html_says(sheets):
    """Selectable: every cell, heading and step is found in the text, with its ½ and °, ± and ×."""
    for one in sheets:
        reader = pypdf.PdfReader(one.pdf)
        text = squeezed("".join(sheet.extract_text() for sheet in reader.pages))
        read = page(one)
        for said in read.headings:
            assert squeezed(said) in text, (one.name, said)
        for cell in read.cells:
            for line in cell.split("\n"):
                # A note stands on lines of its own below its name.
                assert squeezed(line.split(" ")[0]) in text, (one.name, cell)
        for piece in one.json["pieces"]:
            assert squeezed(piece["name"]) in text
        for inspection in one.json["inspections"]:
            for point in inspection["points"]:
                assert squeezed(f"{point['name']}{point['doc']}")[:20] in text
        for step in one.json["steps"]:
            # A page may end within a step.
            assert squeezed(step["title"]) in text and squeezed(step["text"])[:30] in text
        assert reader.metadata.title == title(one)
        assert "/CreationDate" not in reader.metadata and "/ModDate" not in reader.metadata
        assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"


def title(one: Sheets) -> str:
    size = one.json["size"]
    return one.json["style"] + (f", size {size}" if size else "")


def test_pdf_letters_are_large_enough(sheets):
    for one in sheets:
        for sheet in pypdf.PdfReader(one.pdf).pages:
            sizes = []

            def note(text, cm, tm, _font, size):
                if text.strip():
                    height = size * np.hypot(tm[2], tm[3]) * np.hypot(cm[2], cm[3])
                    sizes.append((height, tm[5] * cm[3]))

            sheet.extract_text(visitor_text=note)
            foot = MARGIN / POINT + 8
            assert all(height >= SMALL - 0.05 for height, _ in sizes), one.name
            assert all(height >= BODY - 0.15 for height, up in sizes if up > foot), one.name


def painted(path: Path) -> list[np.ndarray]:
    """The pages as greys, 0 black and 1 white."""
    document = pypdfium2.PdfDocument(path)
    return [np.squeeze(sheet.render(scale=PAINTED / 72, grayscale=True).to_numpy()) / 255 for sheet in document]


def inked(grey: np.ndarray) -> tuple[float, float, float, float]:
    """Left, top, right and bottom of all ink, mm from the upper left corner."""
    rows, columns = np.where((grey < 0.9).any(axis=1))[0], np.where((grey < 0.9).any(axis=0))[0]
    assert len(rows), "a blank page"
    dot = 25.4 / PAINTED
    return columns[0] * dot, rows[0] * dot, (columns[-1] + 1) * dot, (rows[-1] + 1) * dot


def test_pdf_pages(sheets):
    """Size, ink on every page and none in the margins, every paper on a page of its own."""
    for one in sheets:
        reader = pypdf.PdfReader(one.pdf)
        width, height = one.size
        pages = painted(one.pdf)
        assert len(pages) == len(reader.pages)
        for number, (sheet, grey) in enumerate(zip(reader.pages, pages)):
            box = [float(side) * POINT for side in sheet.mediabox]
            assert box == pytest.approx([0, 0, width, height], abs=0.01)
            left, top, right, bottom = inked(grey)
            dot = LINE + 25.4 / PAINTED
            assert min(left, top, width - right, height - bottom) >= MARGIN - dot, (one.name, number)
            assert f"page {number + 1} of {len(pages)}" in sheet.extract_text()
            assert 0.002 < (grey < 0.5).mean() < 0.3, (one.name, number)
        first_lines = [sheet.extract_text().strip().split("\n")[0] for sheet in reader.pages]
        told = {"Cutting ticket": True, "Bench sheet": one.json["steps"], "Measuring sheet": one.json["inspections"]}
        wanted = [name for name, there in told.items() if there]
        assert page(one).titles == wanted
        assert [line for line in first_lines if line in told] == wanted


def test_the_same_bytes_again(sheets, tmp_path):
    one = next(one for one in sheets if one.json["size"] is None)
    paper = next(name for name, size in SIZES.items() if size == one.size)
    source = next(path for path in EXAMPLES if f"style {one.json['style']} " in path.read_text("utf-8"))
    result = run("sheet", source, "--style", one.json["style"], "--paper", paper, "--out", tmp_path)
    assert result.returncode == 0
    for path in (one.html, one.pdf):
        assert (tmp_path / path.name).read_bytes() == path.read_bytes()


def browser() -> str:
    names = ("chromium", "chromium-browser", "google-chrome")
    found = next(filter(None, map(shutil.which, names)), None)
    assert found, "no browser to print with: tests/run installs chromium"
    return found


def test_the_browser_prints_the_html(sheets, tmp_path):
    """The same paper, nothing clipped, every cell there."""
    one = sheets[0]
    printed = tmp_path / "printed.pdf"
    line = [browser(), "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={tmp_path}/user",
            "--no-pdf-header-footer", f"--print-to-pdf={printed}", one.html.as_uri()]
    subprocess.run(line, check=True, capture_output=True, timeout=120)
    reader = pypdf.PdfReader(printed)
    ours = pypdf.PdfReader(one.pdf)
    assert abs(len(reader.pages) - len(ours.pages)) <= 1 + len(ours.pages) // 4
    text = squeezed("".join(sheet.extract_text() for sheet in reader.pages))
    for cell in page(one).cells:
        for part in cell.split("\n"):
            assert squeezed(part.split(" ")[0]) in text, cell
    width, height = one.size
    for sheet, grey in zip(reader.pages, painted(printed)):
        box = [float(side) * POINT for side in sheet.mediabox]
        assert box == pytest.approx([0, 0, width, height], abs=0.5)
        left, top, right, _ = inked(grey)
        assert min(left, top, width - right) >= MARGIN - LINE - 25.4 / PAINTED


def test_nothing_is_written_when_something_is_wrong(tmp_path):
    source = tmp_path / "wrong.tie"
    source.write_text("style wrong from four-in-hand { tail-length 2 in }\n", encoding="utf-8")
    result = run("sheet", source, "--out", tmp_path / "out")
    assert result.returncode == 1 and b"nothing was written" in result.stderr
    assert not (tmp_path / "out").exists()
    source.write_text("style right from four-in-hand\n", encoding="utf-8")
    result = run("sheet", source, "--out", "-")
    assert result.returncode == 2 and b"choose one format" in result.stderr
    result = run("sheet", source, "--as", "pdf", "--out", "-")
    assert result.returncode == 0 and result.stdout.startswith(b"%PDF-")
