"""Lengths that ties are made in. Source: common practice, no published source."""

from __future__ import annotations

import json
import re

import pytest
from common import draft_json, run
from independent import INCH, STEP, Draft, Parameters

REGULAR = 57
LENGTHS = {"regular": 57, "extra-long": 62, "special-40": 40, "special-48": 48, "special-52": 52,
           "special-66": 66, "special-72": 72}


def style(name: str, inches: float) -> str:
    """A tie of the house: a shorter one gives up neck first, then taper; a longer one has more neck."""
    missing = max(REGULAR - inches, 0)
    tapers = max(missing - 11, 0)
    share = min(inches / REGULAR, 1.0)
    along = {"taper-run": 26 - 0.6 * tapers, "tail-taper-run": 16 - 0.4 * tapers,
             "blade-length": 31 * share, "tail-length": 15 * share}
    lines = "".join(f"  {key} {value:.4f} in\n" for key, value in along.items())
    return f"style {name} from four-in-hand {{\n  length {inches} in\n{lines}}}\n"


@pytest.mark.parametrize("name", LENGTHS)
def test_made_lengths_draft_and_prove(tmp_path, name):
    inches = LENGTHS[name]
    drafted = draft_json(style(name, inches), tmp_path)[name]
    assert drafted["measures"]["length"] == pytest.approx(inches * INCH, abs=1e-6)
    assert drafted["proof"], "no proof was made"
    failing = [row["name"] for row in drafted["proof"] if not row["holds"]]
    assert not failing


def test_taper_too_abrupt_is_reported(tmp_path):
    """A bias edge stretches about 1.5 % without a ripple; a short taper asks for more, and is
    reported with its size and place. Both are derived in `independent.py`."""
    source = tmp_path / "abrupt.tie"
    source.write_text("style abrupt from four-in-hand {\n  taper-run 18 in\n}\n")
    result = run("draft", source, "--as", "json", "--out", tmp_path / "out")
    said = result.stderr.decode()
    by_hand = Draft(Parameters(taper_run=18 * INCH))
    ease, along = by_hand.measures(), by_hand.front.ease(by_hand.back_reach)
    assert ease["edge-ease-max"] > 0.015 and ease["edge-ease-min"] < -0.015
    for value in (ease["edge-ease-max"], -ease["edge-ease-min"]):
        assert f"{value:.4f}".rstrip("0") in said or f"{value * 100:.2f}".rstrip("0") in said
    assert "taper-run" in said
    places = [float(found) for found in re.findall(r"abrupt ([0-9.]+) mm", said)]
    wanted = [by_hand.front.corner + STEP * along.argmax(), by_hand.front.corner + STEP * along.argmin()]
    assert places == pytest.approx(wanted, abs=2 * STEP)
    drafted = json.loads((tmp_path / "out" / "abrupt.json").read_text("utf-8"))
    assert sum(not row["holds"] for row in drafted["proof"]) == 2


def test_regular_taper_is_not_reported(tmp_path):
    source = tmp_path / "regular.tie"
    source.write_text("style regular from four-in-hand {\n}\n")
    result = run("draft", source, "--out", tmp_path / "out")
    assert result.returncode == 0 and not result.stderr
