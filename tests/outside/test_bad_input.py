"""Bad input of every kind: a clean refusal, nothing written, bounded memory and time.

Sources: the program's own promises (exit 0 done, 1 wrong input, 2 wrong usage; all files or
none; the same input gives the same bytes). Inputs are seeded.
"""

from __future__ import annotations

import os
import random
import resource
import signal
import subprocess
from pathlib import Path

import pytest
from common import BINARY, ROOT, run

GOOD = "style plain from four-in-hand {\n  length 57 in\n}\n"
SHAPE = ROOT / "stdlib-shapes/four-in-hand.tie"
MEMORY = 1 << 30  # bytes of address space, threads' stacks included
SECONDS = 20  # of processor time, hundreds of times what a good file takes
SEED = 41


def refused(source, directory: Path, *arguments, code: int = 1, **options) -> str:
    """The program must refuse: exit `code`, say why, write nothing, stay small, never panic."""
    out = directory / "out"
    result = run("draft", source, "--out", out, *arguments, preexec_fn=limits, timeout=120, **options)
    said = result.stderr.decode("utf-8", "replace")
    assert_no_panic(result)
    assert result.returncode == code, (result.returncode, said[:2000])
    assert said.strip(), "it does not say why"
    assert len(said) < 100_000, "it says far too much"
    assert not out.exists() or not list(out.iterdir()), "something was written"
    return said


def limits() -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def assert_no_panic(result) -> None:
    assert result.returncode in (0, 1, 2), f"ended by {result.returncode}: {result.stderr[-500:]!r}"
    assert b"panicked" not in result.stderr and b"overflow" not in result.stderr.lower()


def write(directory: Path, content: str | bytes, name: str = "source.tie") -> Path:
    path = directory / name
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return path


def test_good_input_is_taken_under_the_same_limits(tmp_path):
    """Guards the limits: with them a good file must pass."""
    result = run("draft", write(tmp_path, GOOD), "--out", tmp_path / "out", preexec_fn=limits)
    assert result.returncode == 0, result.stderr.decode()
    assert list((tmp_path / "out").iterdir())


@pytest.mark.parametrize("filling", [b"\0", b"a", b"# a comment\n", b"style a from four-in-hand {}\n"])
def test_hundred_megabytes(tmp_path, filling):
    path = tmp_path / "large.tie"
    with open(path, "wb") as file:
        for _ in range(100):
            file.write((filling * (1 + (1 << 20) // len(filling)))[: 1 << 20])
    refused(path, tmp_path)


@pytest.mark.parametrize(
    "text",
    [
        "(" * 10_000,
        "{" * 10_000,
        "style a from four-in-hand {\n  length " + "(" * 10_000 + "57 in" + ")" * 10_000 + "\n}\n",
        "style a from four-in-hand {\n  length " + "-" * 10_000 + "57 in\n}\n",
        "style a from four-in-hand {\n  length " + "1 + " * 100_000 + "57\n}\n",
        "style a from four-in-hand {\n  length " + "sqrt(" * 10_000 + "4" + ")" * 10_000 + "\n}\n",
        "shape a {" * 10_000,
        '"' * 10_001,
        "style a from four-in-hand {\n" + "size s {\n" * 10_000 + "}" * 10_000,
        "style a from four-in-hand {\n  length " + "if 1 > 0 then " * 10_000 + "57 in" + " else 57 in" * 10_000 + "\n}\n",
        "style a from four-in-hand {\n  length " + "if 1 < 0 then 57 in else " * 10_000 + "57 in\n}\n",
        "shape a {\n  b = " + "not " * 10_000 + "1 > 0\n}\n",
        "shape a {\n  b = " + "reverse " * 10_000 + "b\n}\n",
        'shape a {\n  require 1 > 2 "{' + "(" * 10_000 + '}"\n}\n',
        "shape a {\n  b = 1\n" + "   + 1\n" * 10_000 + "}\n",
        "shape a {\n  b = " + "(" * 60 + "1" + (" * 1" * 150 + " + 1" * 150 + ")") * 60 + "\n}\n",
        "shape a {\n  b = if " + "(" * 60 + "1 > 0" + (" and 1 > 0" * 150 + " or 1 > 0" * 150 + ")") * 60 + " then 1 else 2\n}\n",
    ],
    ids=["parentheses", "braces", "deep-value", "minus", "long-sum", "functions", "shapes", "quotes", "sizes",
         "if-then", "if-else", "not", "phrases", "value-in-text", "lines",
         "sums-in-brackets", "conditions-in-brackets"],
)
def test_nesting(tmp_path, text):
    refused(write(tmp_path, text), tmp_path)


def test_long_chain_of_styles(tmp_path):
    """Styles built from each other in a row, from either end."""
    links = [f"style s{n + 1} from s{n} {{ length {40 + n % 10} in }}\n" for n in range(9_000)]
    for order in (links, links[::-1]):
        refused(write(tmp_path, "style s0 from four-in-hand {\n}\n" + "".join(order)), tmp_path)


SHAPE_OF_MANY = "shape q {{\n  parameter a  1 mm  from 0 mm to 9 mm\n{}}}\n"
BENDS = "".join(f"    curve by (10 mm, 0 mm) handles ({10 * n + 3} mm, 50 mm), ({10 * n - 300} mm, -50 mm)\n" for n in range(1900))
TEETH = "".join(f"    straight by (1 mm, {n % 2 * 2 - 1} mm)\n" for n in range(1900))
DOUBLED = "".join(f"  p{n + 1} = chain p{n}, (move p{n} by (end of p{n} - start of p{n}))\n" for n in range(40))


@pytest.mark.parametrize(
    "text",
    [
        "style a from four-in-hand {\n" + "".join(f"  size s{n} {{ length 57 in }}\n" for n in range(100_000)) + "}\n",
        "style a from four-in-hand {\n" + "".join(f"  p{n} 1 in\n" for n in range(100_000)) + "}\n",
        "style a from four-in-hand {\n" + "  length 57 in\n" * 100_000 + "}\n",
        "style a from four-in-hand {" + "lenght 57 in; " * 100_000 + "}\n",
        "style a from four-in-hand { size s { length 57 in } }\n" * 50_000,
        "".join(f'use "f{n}.tie"\n' for n in range(100_000)),
        "".join(f"style c{n} from c{(n + 1) % 9_000} {{}}\n" for n in range(9_000)),
        "style b from four-in-hand {" + "".join(f"size s{n} {{ length 57 in }}\n" for n in range(2_000)) + "}\n"
        + "".join(f"style c{n} from b {{}}\n" for n in range(9_000)),
        SHAPE_OF_MANY.format("".join(f"  b{n} = a * {n}\n" for n in range(1_900)))
        + "".join(f"shape r{n} from q {{\n  c{n} = a\n}}\n" for n in range(9_000)),
        "style b from four-in-hand {}\n" + "".join(f"style c{n} from b {{ measure m{n} = length }}\n" for n in range(9_000)),
        SHAPE_OF_MANY.format("".join(f"  a{n} = a * {n}\n" for n in range(100_000))),
        SHAPE_OF_MANY.format("".join(f"  a{n} = a{(n + 1) % 1_900} + a\n" for n in range(1_900))),
        SHAPE_OF_MANY.format("  path p {\n    start (0 mm, 0 mm)\n" + BENDS + "  }\n  r = offset p by a\n  measure g = greatest-gap from p to r\n"),
        SHAPE_OF_MANY.format("  path p {\n    start (0 mm, 0 mm)\n" + TEETH + "  }\n"
                             + "".join(f"  measure g{n} = greatest-gap from p to (move p by (0 mm, {n + 1} mm))\n" for n in range(1_900))),
        SHAPE_OF_MANY.format("  p0 = line from (0 mm, 0 mm) to (1 mm, 0 mm)\n" + DOUBLED),
    ],
    ids=["sizes", "settings", "same-setting", "one-line", "styles", "uses", "circle-of-styles", "inherited-sizes", "shapes-from-one", "measures-of-styles", "values",
         "circle-of-values", "bends", "gaps", "doubled"],
)
def test_too_much(tmp_path, text):
    refused(write(tmp_path, text), tmp_path)


@pytest.mark.parametrize(
    "text",
    [
        SHAPE_OF_MANY.format("".join(f"  parameter x{n}  1  from 0 to 9\n" for n in range(50))) + "style s from q {\n  find "
        + ", ".join(f"x{n}" for n in range(50)) + "\n       so that " + " and ".join(f"x{n} * x{(n + 1) % 50} is 3 + {n}" for n in range(50)) + "\n}\n",
        "style s from four-in-hand {\n  find taper-run, tail-taper-run, blade-width, tail-width, length, neck-width\n       so that "
        + " and ".join(f"{name} is 12345 mm" for name in ("first-join-seam", "second-join-seam", "front-opening", "tail-opening",
                                                           "closed-length", "front-corner")) + "\n}\n",
    ],
    ids=["fifty", "tie"],
)
def test_many_left_open(tmp_path, text):
    refused(write(tmp_path, text), tmp_path)


def test_work_is_counted_not_timed(tmp_path):
    """What is refused for being too much is refused every time, with the same words."""
    source = write(tmp_path, SHAPE_OF_MANY.format("  path p {\n    start (0 mm, 0 mm)\n" + BENDS + "  }\n  r = offset p by a\n"))
    assert len({refused(source, tmp_path) for _ in range(3)}) == 1


def test_styles_from_each_other(tmp_path):
    said = refused(write(tmp_path, "style a from b {\n}\nstyle b from a {\n}\n"), tmp_path)
    assert "a" in said
    refused(write(tmp_path, "style a from a {\n}\n"), tmp_path)


def test_binary_junk(tmp_path):
    luck = random.Random(SEED)
    for size in (1, 10, 1000, 100_000):
        refused(write(tmp_path, luck.randbytes(size) + b"\xff"), tmp_path)
    refused(write(tmp_path, b"\xef\xbb\xbf\0\0style"), tmp_path)
    refused(write(tmp_path, GOOD.encode("utf-16")), tmp_path)


def test_not_a_file(tmp_path):
    for path in (tmp_path / "missing.tie", tmp_path, tmp_path / "missing" / "deep.tie"):
        assert Path(path).name in refused(path, tmp_path)
    said = refused("/dev/zero", tmp_path)
    assert "zero" in said


def test_name_that_is_not_text(tmp_path):
    result = run("draft", str(tmp_path) + "/\udcff.tie", "--out", tmp_path / "out", preexec_fn=limits)
    assert_no_panic(result)
    assert result.returncode in (1, 2)


def test_files_that_use_each_other(tmp_path):
    write(tmp_path, 'use "b.tie"\nstyle a from b {\n}\n', "a.tie")
    write(tmp_path, 'use "a.tie"\nstyle b from a {\n}\n', "b.tie")
    refused(tmp_path / "a.tie", tmp_path)
    write(tmp_path, 'use "self.tie"\nstyle a from a {\n}\n', "self.tie")
    refused(tmp_path / "self.tie", tmp_path)


def test_one_large_file_used_by_many_names(tmp_path):
    """A file is held once, whatever names it is used by."""
    write(tmp_path, "# " + "x" * 4_000_000, "large.tie")
    uses = "".join(f'use "{"./" * n}large.tie"\n' for n in range(900))
    refused(write(tmp_path, uses + 'use "missing.tie"\n'), tmp_path)


def test_words_too_long_to_show(tmp_path):
    """A name or message of a megabyte does not come back as one."""
    for text in ("shape " + "q" * 1_000_000 + " {\n  a = " + "b" * 1_000_000 + "\n}\n",
                 'shape q {\n  require 1 > 2 "' + "x" * 3_000_000 + '"\n}\n',
                 'shape q {\n  require 1 > 2 "' + "{1/3}" * 400_000 + '"\n}\n',
                 "stlye " * 600_000):
        assert len(refused(write(tmp_path, text), tmp_path)) < 20_000


def test_long_chain_of_files(tmp_path):
    for n in range(3000):
        write(tmp_path, f'use "f{n + 1}.tie"\n', f"f{n}.tie")
    write(tmp_path, "style a from nothing {\n}\n", "f3000.tie")
    refused(tmp_path / "f0.tie", tmp_path)


def test_use_of_what_is_not_there(tmp_path):
    for used in ("missing.tie", "", ".", "/", "../" * 3000 + "etc", "a\0b", "/dev/zero", "/dev/full"):
        refused(write(tmp_path, f'use "{used}"\n' + GOOD), tmp_path)


@pytest.mark.parametrize(
    "value",
    ["1e308 in", "1e999 mm", "-57 in", "0 mm", "57 in / 0", "0 / 0 * 1 in", "57 deg", "57", "sqrt(-1) * 1 in",
     "tan(90 deg) * 1 in", "length", "1 mm * 1 mm", "9" * 5000 + " mm", "0." + "0" * 5000 + "1 mm", "blade-length",
     '"57 in"', "57 in)", "", "1e-320 mm", "57 inn", "root(-1) * 1 in", "asin(2) / 1 deg * 1 in", "1" + "0" * 307 + " mm",
     "1" + "0" * 307 + " mm * 1" + "0" * 307, "57 in / (1 in - 1 in)", "round(57 in, 0 in)", "clamp(57 in, 90 in, 12 in)", "57 in - 57 in",
     "57 in / 1" + "0" * 320, "min()", "\u0665\u0667 in", "-0 mm"],
)
def test_values_without_sense(tmp_path, value):
    refused(write(tmp_path, f"style a from four-in-hand {{\n  length {value}\n}}\n"), tmp_path)


def test_every_parameter_at_its_ends(tmp_path):
    """Any value within a stated range gives a draft or a diagnostic."""
    names = [line.split()[1] for line in SHAPE.read_text("utf-8").splitlines() if line.strip().startswith("parameter ")]
    assert len(names) > 20
    ends = []
    for line in SHAPE.read_text("utf-8").splitlines():
        if line.strip().startswith("parameter "):
            low, high = line.split(" from ", 1)[1].split('"')[0].split(" to ")
            ends.append((line.split()[1], low.strip(), high.strip()))
    for name, low, high in ends:
        for value in (low, high):
            source = write(tmp_path, f"style a from four-in-hand {{\n  {name} {value}\n}}\n")
            result = run("draft", source, "--out", tmp_path / "ends", preexec_fn=limits)
            assert_no_panic(result)
            assert result.returncode in (0, 1)


def test_cut_short(tmp_path):
    """Every beginning of a good file, in steps, is taken or refused."""
    whole = SHAPE.read_bytes() + GOOD.encode()
    for end in range(0, len(whole), max(1, len(whole) // 150)):
        result = run("check", write(tmp_path, whole[:end]), preexec_fn=limits)
        assert_no_panic(result)


def test_changed_at_random(tmp_path):
    luck = random.Random(SEED)
    whole = SHAPE.read_bytes().replace(b"shape four-in-hand", b"shape mine") + GOOD.replace("four-in-hand", "mine").encode()
    words = whole.split(b" ")
    for _ in range(250):
        mutant = list(words)
        for _ in range(luck.randint(1, 4)):
            at = luck.randrange(len(mutant))
            change = luck.randrange(4)
            if change == 0:
                del mutant[at]
            elif change == 1:
                mutant.insert(at, luck.choice(words))
            elif change == 2:
                mutant[at] = luck.choice(words)
            else:
                mutant[at] = luck.randbytes(2)
        source = write(tmp_path, b" ".join(mutant))
        result = run("draft", source, "--out", tmp_path / "out", preexec_fn=limits)
        assert_no_panic(result)


def test_unknown_style_and_size(tmp_path):
    source = write(tmp_path, GOOD)
    assert "plain" in refused(source, tmp_path, "--style", "plane")
    refused(source, tmp_path, "--size", "extra-long")
    refused(source, tmp_path, "--set", "lenght=57 in")
    refused(source, tmp_path, "--set", "length=57 inn")


def test_wrong_usage(tmp_path):
    source = write(tmp_path, GOOD)
    for arguments in ([], ["--nothing"], ["draft"], ["draft", source, "--as", "nothing"],
                      ["draft", source, "--tolerance", "0mm"], ["nothing"]):
        result = run(*arguments, cwd=tmp_path)
        assert_no_panic(result)
        assert result.returncode == 2, arguments
    assert [p.name for p in tmp_path.iterdir()] == [source.name]


def test_one_bad_style_stops_all(tmp_path):
    """All files or none: a good style beside a bad one is not written either."""
    source = write(tmp_path, GOOD + "style long from four-in-hand {\n  taper-run 50 in\n}\n")
    said = refused(source, tmp_path)
    assert "neck" in said or "taper" in said


def test_out_is_a_file(tmp_path):
    source = write(tmp_path, GOOD)
    (tmp_path / "taken").write_text("mine")
    result = run("draft", source, "--out", tmp_path / "taken")
    assert result.returncode == 1 and result.stderr
    assert_no_panic(result)
    assert (tmp_path / "taken").read_text() == "mine"


def test_full_disk_leaves_nothing_behind(tmp_path):
    """A write that fails half way: no part of a file stays and the old file keeps its bytes."""
    out = tmp_path / "out"
    out.mkdir()
    (out / "plain.dxf").write_text("old")

    def small_files() -> None:
        limits()
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (2000, 2000))

    result = run("draft", write(tmp_path, GOOD), "--out", out, preexec_fn=small_files)
    assert_no_panic(result)
    assert result.returncode == 1 and result.stderr
    assert (out / "plain.dxf").read_text() == "old"
    assert [p.name for p in out.iterdir()] == ["plain.dxf"]


def test_closed_output(tmp_path):
    """A reader that goes away is no fault of ours: quiet, no panic."""
    source = write(tmp_path, "".join(GOOD.replace("plain", f"plain-{n}") for n in range(60)))
    line = f"'{BINARY}' draft '{source}' --as json --style plain-1 --out - | head -c 10"
    result = subprocess.run(["bash", "-c", line], capture_output=True, timeout=60)
    assert b"panicked" not in result.stderr and not result.stderr, result.stderr


def test_same_input_same_bytes(tmp_path):
    """Two runs in two places, with and without a terminal's width, give the same bytes."""
    found = []
    for place, extra in (("a", {}), ("b", {"COLUMNS": "40", "LANG": "de_DE.UTF-8", "TZ": "Asia/Tokyo"})):
        directory = tmp_path / place
        directory.mkdir()
        write(directory, GOOD)
        result = run("draft", "source.tie", "--as", "dxf,svg,png,json,outline,folded", "--out", "out",
                     cwd=directory, env={**os.environ, **extra})
        assert result.returncode == 0, result.stderr.decode()
        found.append({p.name: p.read_bytes() for p in (directory / "out").iterdir()})
    assert len(found[0]) >= 6
    assert found[0] == found[1]


def test_unchanged_files_are_left_alone(tmp_path):
    source, stamps = write(tmp_path, GOOD), []
    for _ in range(2):
        assert run("draft", source, "--out", tmp_path / "out").returncode == 0
        stamps.append({p.name: p.stat().st_mtime_ns for p in (tmp_path / "out").iterdir()})
    assert stamps[0] and stamps[0] == stamps[1]
