"""Values at the ends of the stated ranges: either they are drafted, or the message says what to change.

Source: the ranges that the shapes state.
"""

from __future__ import annotations

import pytest
from common import draft_json, run


@pytest.mark.parametrize(
    ("shape", "settings"),
    [
        ("four-in-hand", "interlining-ease 0 mm"),
        ("four-in-hand", "interlining-tip-gap 0 mm"),
        ("bow-butterfly", "interlining-ease 0 mm"),
        ("bow-pointed", "interlining-ease 0 mm"),
        ("day-cravat", "interlining-tip-gap 0 mm"),
        ("five-fold", "edge-step 0 mm"),
    ],
)
def test_nothing_kept_back_is_drafted(shape, settings, tmp_path):
    """An interlining or fold right at the edge lies inside it still."""
    (found,) = draft_json(f"style tight from {shape} {{ {settings} }}\n", tmp_path).values()
    assert all(row["holds"] for row in found["proof"] if not row["advisory"])


@pytest.mark.parametrize(
    ("shape", "settings", "message", "change"),
    [
        ("straight-sided", "tail-length 4.1 in", "second join runs into the tail point", "set `tail-length` higher"),
        ("four-in-hand", "blade-length 4 in", "first join clear of the front opening", "set `blade-length` higher"),
        ("seven-fold", "blade-length 8 in", "first join runs into the front point", "set `blade-length` higher"),
        ("four-in-hand-two-panel", "blade-length 70 in", "join runs into the tail point", "set `blade-length` lower"),
        ("five-fold", "centre-step 0 mm", "would bend over the centre", "set `centre-step` higher"),
        ("seven-fold", "centre-step 0.2 mm", "would bend over the centre", "set `centre-step` higher"),
        ("bow-straight", "interlining-ease 9 mm", "has nothing left at the throat", "set `interlining-ease` lower"),
        ("elastic-neck", "knot-top 3.9 in", "lap of the knot", "set `knot-top` nearer"),
        ("pocket-square", "shell-thickness 1 mm", "`hem` is", "set `hem` itself"),
        ("seven-fold", "tail-taper-run 2 in", "the fold has a corner", "make it gentler"),
    ],
)
def test_a_refusal_points_at_the_setting_and_says_what_to_change(shape, settings, message, change, tmp_path):
    file = tmp_path / "far.tie"
    file.write_text(f"style far from {shape} {{ {settings} }}\n", encoding="utf-8")
    done = run("draft", file, "--out", tmp_path / "out")
    said = done.stderr.decode()
    assert done.returncode == 1
    assert message in said and change in said
    assert f"{file}:1:" in said  # the user's own line, not that of the shape alone
    assert "while this is drafted" not in said


@pytest.mark.parametrize("shape", ["ascot", "day-cravat", "bow-butterfly", "bow-adjustable", "bow-pretied"])
@pytest.mark.parametrize("give", [0, 2, 30])
def test_a_shape_that_cannot_reckon_with_give_says_so(shape, give, tmp_path):
    file = tmp_path / "giving.tie"
    file.write_text(f"cloth soft {{ give {give} % }}\nstyle giving from {shape} {{ shell soft }}\n", encoding="utf-8")
    done = run("draft", file, "--out", tmp_path / "out")
    said = done.stderr.decode()
    assert done.returncode == 0
    assert ("no give of the shell is reckoned with" in said) == (give > 0)
