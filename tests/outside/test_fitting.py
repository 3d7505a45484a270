"""Specials: the knots by another way of counting, and the lengths by arithmetic of their own.

The knots are counted by a transfer matrix and listed by going through every word of three letters,
which shares nothing with the program's search. The fitting is reckoned here from its definition: what
hangs in front, what the knot takes, what goes round the neck, what hangs behind; the joins from the
profile of `independent.py`.
"""

from __future__ import annotations

import itertools
import math
import re

import numpy as np
import pytest
from common import ROOT, draft_json, run
from independent import INCH, Draft, Parameters

# Fink and Mao, Nature 398 (1999) 31, table 1, from memory: knots of 3 to 9 moves.
COUNTS = {3: 1, 4: 1, 5: 3, 6: 5, 7: 11, 8: 21, 9: 43}
SLACK = 0.02  # mm, more than the shape allows itself when it rounds
TIE = Parameters()


def words(moves: int):
    """Every walk of so many moves that keeps the rules, as letters."""
    for word in itertools.product("LRC", repeat=moves):
        walk = "".join(word)
        if walk[0] == "L" and walk[-3:] in ("LRC", "RLC") and not any(a == b for a, b in itertools.pairwise(walk)):
            yield walk


def with_ways(walk: str) -> str:
    """The last move goes out, and moves alternate."""
    ways = ["o" if (len(walk) - 1 - i) % 2 == 0 else "i" for i in range(len(walk))]
    return " ".join(a + b for a, b in zip(walk, ways)) + " T"


def measures(walk: str) -> tuple[int, int, int, int]:
    """Moves, centre moves, symmetry, and balance: half the sum of the changes of winding."""
    place = {"L": 0, "C": 1, "R": 2}
    turns = [1 if (place[b] - place[a]) % 3 == 1 else -1 for a, b in itertools.pairwise(walk)]
    changes = sum(abs(a - b) for a, b in itertools.pairwise(turns))
    return len(walk), walk.count("C"), abs(walk.count("R") - walk.count("L")), changes // 2


@pytest.fixture(scope="module")
def listed() -> dict[str, tuple[int, int, int, int]]:
    """The program's list: sequence and its measures."""
    text = run("fit", "--knots").stdout.decode()
    rows = re.findall(r"^ +(\d+) +(\d+) +(\d+) +(\d+) +((?:[LRC][io] )+T)", text, re.M)
    assert len({row[4] for row in rows}) == len(rows), "a knot is listed twice"
    return {row[4]: tuple(map(int, row[:4])) for row in rows}


def test_the_knots_are_those_of_every_word(listed):
    wanted = {with_ways(walk): measures(walk) for moves in COUNTS for walk in words(moves)}
    assert listed == wanted


def test_the_knots_are_as_many_as_the_transfer_matrix_says(listed):
    """Steps between different regions; two ways to end, each fixing the last two moves before C."""
    step = np.ones((3, 3), int) - np.eye(3, dtype=int)
    for moves, count in COUNTS.items():
        # L R C and R L C are told by where the walk is two moves before its end, at L or at R.
        reach = np.linalg.matrix_power(step, moves - 3)[0]
        assert reach[0] + reach[1] == count == (2 ** (moves - 2) - (-1) ** (moves - 2)) // 3
        assert sum(row[0] == moves for row in listed.values()) == count


def width(x: float, tie: Parameters, tail: bool = False) -> float:
    """Full width of the finished tie, `x` from the front point, or from the tail point."""
    length = tie.length
    half = (Draft(tie).tail if tail else Draft(tie).front).half(np.array([x]))[0]
    assert 0 <= x <= length
    return 2 * float(half[0])


def fitting(wearer: dict[str, float], tie: Parameters) -> dict[str, float]:
    """Lengths in mm from those of the wearer in inches."""
    inch = {name: value * INCH for name, value in wearer.items()}
    moves = wearer["moves"]
    a_move = 0.75 * INCH + 0.4 * tie.blade_width
    drop = inch["height"] / 4
    start = drop + moves * a_move
    end = start + inch["neck"] + INCH
    length = end + 1.5 * INCH + 0.75 * drop
    step = 0.25 * INCH

    def up(value: float) -> float:
        return math.ceil(round(value / step, 6)) * step

    length = up(length)
    turned = tie.overlap / 2 + tie.edge_turn

    def reach(wide: float) -> float:
        return max(2 * INCH + wide / 2, wide + turned)

    first = up(start + reach(width(start + 2 * INCH, tie)))
    second = up(length - end + reach(width(length - end + 2 * INCH, tie, tail=True)))
    return {"length": length, "blade-length": first, "tail-length": second, "start": start, "end": end}


# Wearers by role, in inches; tapers longer than a small wearer's tie has room for are stated shorter.
WEARERS = {
    "regular": ({"neck": 15.5, "height": 70, "moves": 4}, TIE),
    "bass": ({"neck": 17.5, "height": 77, "moves": 6}, TIE),
    "windsor": ({"neck": 15, "height": 68, "moves": 8}, TIE),
    "wide": ({"neck": 16, "height": 72, "moves": 3}, Parameters(blade_width=4.5 * INCH, taper_run=31 * INCH)),
    "treble": ({"neck": 11.5, "height": 54, "moves": 4},
               Parameters(length=46 * INCH, blade_width=2.5 * INCH, taper_run=20 * INCH, tail_taper_run=11 * INCH,
                          blade_length=25 * INCH, tail_length=12 * INCH)),
}


@pytest.mark.parametrize("name", WEARERS)
def test_lengths_are_what_is_used(tmp_path, name):
    """The shape alone, told the tie's measures, against the arithmetic above."""
    wearer, tie = WEARERS[name]
    text = f"""style {name} from fitting {{
  neck-girth {wearer["neck"]} in
  height {wearer["height"]} in
  knot-moves {wearer["moves"]}
  blade-width {tie.blade_width} mm
  taper-run {tie.taper_run} mm
  tail-taper-run {tie.tail_taper_run} mm
}}"""
    found = draft_json(text, tmp_path)[name]
    wanted = fitting(wearer, tie)
    for key in ("length", "blade-length", "tail-length"):
        assert found["measures"][key] == pytest.approx(wanted[key], abs=1e-6), key
    assert found["measures"]["collar-start"] == pytest.approx(wanted["start"], abs=1e-6)
    assert found["measures"]["collar-end"] == pytest.approx(wanted["end"], abs=1e-6)
    assert not found["pieces"]


def settings(text: str) -> dict[str, float]:
    """What the proposed style sets, mm."""
    found = {}
    for name, whole, top, bottom in re.findall(r"^  ([a-z-]+) +(\d+)(?: (\d+)/(\d+))? in$", text, re.M):
        found[name] = (int(whole) + (int(top) / int(bottom) if top else 0)) * INCH
    return found


@pytest.mark.parametrize("name", WEARERS)
def test_joins_of_the_drafted_special_are_under_the_collar(tmp_path, name):
    """The proposal is drafted; its joins, walked over the width the finished tie has there, lie inside
    the collar by the cover, whatever the tie's tapers have become with its length."""
    wearer, tie = WEARERS[name]
    source = tmp_path / "tie.tie"
    source.write_text(tie.source("house-tie"), encoding="utf-8")
    out = tmp_path / "special.tie"
    result = run("fit", source, "--neck", f"{wearer['neck']} in", "--height", f"{wearer['height']} in",
                 "--knot", wearer["moves"], "--name", "special", "--out", out)
    assert result.returncode == 0, result.stderr.decode()
    asked = settings(out.read_text("utf-8"))
    assert run("draft", out, "--as", "json", "--out", tmp_path / "out").returncode == 0
    special = draft_json(out.read_text("utf-8").replace('"tie.tie"', f'"{source}"'), tmp_path / "again")["special"]
    made = special["parameters"]
    assert {key: made[key] for key in asked} == pytest.approx(asked, abs=1e-6)
    same = Parameters(length=made["length"], blade_width=made["blade-width"], taper_run=made["taper-run"],
                      tail_width=made["tail-width"], tail_taper_run=made["tail-taper-run"])
    collar = fitting(wearer, tie)
    first, second = made["blade-length"], made["tail-length"]
    for at, edge, tail in ((first, collar["start"], False), (second, made["length"] - collar["end"], True)):
        # Where a line at 45 deg leaves the side on the knot's side: x = at - half(x).
        near = at
        for _ in range(60):
            near = at - width(near, same, tail) / 2
        assert near - edge >= 2 * INCH - SLACK
        # Not farther in than need be: a rounding step, and what the tie narrows over half the join.
        assert near - edge <= 2 * INCH + 0.25 * INCH + width(edge + 2 * INCH, same, tail) / 2
    assert made["length"] - first - second > made["neck-width"]


def test_the_wearers_of_the_example_are_fitted():
    for wearer in ("tall-bass", "young-treble", "choir-secretary"):
        result = run("fit", ROOT / "examples" / "fitting.tie", "--wearer", wearer)
        assert result.returncode == 0, result.stderr.decode()
        assert set(settings(result.stdout.decode())) == {"length", "blade-length", "tail-length"}
