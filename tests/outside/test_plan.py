"""Order books planned, and everything counted again from the files by Python's own csv and json."""

from __future__ import annotations

import csv
import json
import signal
import subprocess
import sys
import time
from collections import Counter, defaultdict

import pytest
from common import BINARY, run

STYLES = """
cloth navy { width 140 cm; usable-width 138 cm; direction two-way; price 60 }
cloth claret { width 140 cm; usable-width 138 cm; direction two-way; price 40 }
cloth wool { width 150 cm; price 20 }
table bench { longest 3 m; plies 6; gap 2 mm; end-loss 15 mm; set-up 7; spreading 0.5 }
style club from untipped { shell navy; interlining wool; size long { length 60 in } }
style tipped from four-in-hand { shell navy; interlining wool }
"""
BOOK = """order,customer,style,size,cloth,quantity,due
1,Choir,club,,,7,2027-05-01
1,Choir,club,long,,4,2027-05-01
2,Choir,club,,claret,3,2027-04-01
3,Club,club,,,5,
4,Choir,club,,,2,2027-03-01
5,Club,tipped,,claret,2,
"""
EXACT = 2e-6  # numbers are written to a millionth of a millimetre


def plan(folder, *arguments, book=BOOK, code=0, styles=STYLES):
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "styles.tie").write_text(styles, "utf-8")
    (folder / "book.csv").write_bytes(book if isinstance(book, bytes) else book.encode())
    said = run("plan", "book.csv", "--styles", "styles.tie", "--steps", "0", *arguments, cwd=folder)
    assert said.returncode == code, said.stderr.decode()
    return said


def rows(path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as table:
        return list(csv.DictReader(table))


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    folder = tmp_path_factory.mktemp("planned")
    plan(folder)
    return folder / "out"


def own_cloth(row) -> str:
    return row["cloth"] or "navy"


def by_name(things) -> dict[str, dict]:
    return {thing["name"]: thing for thing in things}


def test_each_order_gets_exactly_what_it_asked_for(planned):
    ordered = list(csv.DictReader(BOOK.splitlines()))
    wanted = Counter()
    for row in ordered:
        for cloth in (own_cloth(row), "wool"):
            wanted[row["order"], row["style"], row["size"], cloth] += int(row["quantity"])
    found = Counter()
    for row in rows(planned / "plan-bundles.csv"):
        assert int(row["to ply"]) - int(row["from ply"]) + 1 == int(row["articles"])
        found[row["order"], row["style"], row["size"], row["cloth"]] += int(row["articles"])
    assert found == wanted


def test_no_place_of_a_ply_is_given_twice_and_none_is_left(planned):
    document = json.loads((planned / "plan.json").read_text("utf-8"))
    taken = defaultdict(Counter)
    for row in rows(planned / "plan-bundles.csv"):
        for ply in range(int(row["from ply"]), int(row["to ply"]) + 1):
            taken[row["lay"]][row["tie in marker"], ply] += 1
    markers = by_name(document["markers"])
    for lay in document["lays"]:
        places = sum(article["count"] for article in markers[lay["marker"]]["articles"])
        plies = sum(spread["plies"] for spread in lay["plies"])
        assert set(taken[lay["name"]].values()) == {1}
        assert len(taken[lay["name"]]) == places * plies


def test_bundles_are_of_the_ties_that_lie_in_the_marker(planned):
    ties = defaultdict(set)
    for laid in planned.glob("*.laid.json"):
        document = json.loads(laid.read_text("utf-8"))
        for piece in document["pieces"]:
            ties[document["name"], str(piece["tie"])].add((piece["style"], piece["size"] or ""))
    bundled = rows(planned / "plan-bundles.csv")
    assert any(row["size"] for row in bundled)
    marker = {lay["name"]: lay["marker"] for lay in json.loads((planned / "plan.json").read_text("utf-8"))["lays"]}
    for row in bundled:
        assert ties[marker[row["lay"]], row["tie in marker"]] == {(row["style"], row["size"])}


def test_no_marker_is_longer_than_planned_though_the_search_has_no_time(tmp_path):
    plan(tmp_path, "--seconds", "0.001")
    document = json.loads((tmp_path / "out/plan.json").read_text("utf-8"))
    for marker in document["markers"]:
        assert marker["laid"] and marker["length"] <= marker["planned_length"] + EXACT
    for lay in document["lays"]:
        assert lay["ply_length"] <= document["table"]["longest"]


@pytest.mark.skipif(sys.platform == "win32", reason="there is no such signal")
def test_a_run_that_is_stopped_lays_no_other_marker(tmp_path):
    plan(tmp_path, "--jobs")
    command = [str(BINARY), "plan", "book.csv", "--styles", "styles.tie", "--seconds", "60"]
    with subprocess.Popen(command, cwd=tmp_path, stderr=subprocess.PIPE, text=True) as running:
        for line in running.stderr:
            if line.startswith("laying marker-01"):
                break
        time.sleep(1)
        running.send_signal(signal.SIGINT)
        said = running.stderr.read()
    assert running.returncode == 1 and "stopped at marker-01" in said, said
    assert [path.name for path in (tmp_path / "out").glob("*.laid.json")] == ["marker-01.laid.json"]


def test_lays_meet_the_demand_and_the_table(planned):
    document = json.loads((planned / "plan.json").read_text("utf-8"))
    table = document["table"]
    given = defaultdict(Counter)
    markers = by_name(document["markers"])
    for lay in document["lays"]:
        marker = markers[lay["marker"]]
        assert sum(spread["plies"] for spread in lay["plies"]) <= table["plies"]
        assert lay["ply_length"] == pytest.approx(marker["length"] + 2 * table["end_loss"], abs=EXACT)
        assert lay["ply_length"] <= table["longest"] + EXACT
        for spread in lay["plies"]:
            for article in marker["articles"]:
                key = spread["cloth"], article["style"], article["size"]
                given[lay["group"]][key] += spread["plies"] * article["count"]
    for number, group in enumerate(document["groups"]):
        for cloth, wanted in zip(group["cloths"], group["wanted"]):
            for article, count in zip(group["articles"], wanted):
                assert given[number][cloth, article["style"], article["size"]] == count


def test_costs_and_cloth_add_up(planned):
    document = json.loads((planned / "plan.json").read_text("utf-8"))
    table, price = document["table"], {cloth["cloth"]: cloth["price"] for cloth in document["cloths"]}
    cost, needed = 0.0, Counter()
    for lay in document["lays"]:
        cost += table["set_up"]
        for spread in lay["plies"]:
            length = spread["plies"] * lay["ply_length"]
            needed[spread["cloth"]] += length
            cost += length / 1000 * price[spread["cloth"]] + spread["plies"] * table["spreading"]
    assert document["cost"]["total"] == pytest.approx(cost, rel=1e-9)
    assert document["bound"] <= cost
    for row in rows(planned / "plan-cloths.csv"):
        assert float(row["length"]) == pytest.approx(needed[row["cloth"]], abs=1e-3)
    # What is cut is net area; a marker cannot take less cloth than that.
    for marker in document["markers"]:
        laid = json.loads((planned / f"{marker['name']}.laid.json").read_text("utf-8"))
        assert laid["length"] == pytest.approx(marker["length"], abs=EXACT)
        assert laid["job"] == marker["job"]
        assert 0 < marker["of_usable_width"] <= 1
        assert len(laid["pieces"]) == sum(
            article["count"] * sum(piece["quantity"] for piece in article["pieces"])
            for article in json.loads((planned / f"{marker['name']}.job.json").read_text("utf-8"))["articles"]
        )


def test_what_names_no_cloth_is_told_and_not_planned(planned):
    document = json.loads((planned / "plan.json").read_text("utf-8"))
    (tipping,) = document["not_planned"]
    assert (tipping["role"], tipping["cloth"], tipping["articles"]) == ("tipping", None, 2)
    assert tipping["area"] > 0


def contents(folder) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def test_a_second_run_changes_nothing_and_lays_nothing(planned, tmp_path):
    before = contents(planned)
    said = plan(planned.parent)
    assert b"laying" not in said.stderr
    assert contents(planned) == before


def test_jobs_laid_one_by_one_are_gathered_to_the_same_plan(planned, tmp_path):
    plan(tmp_path, "--jobs")
    out = tmp_path / "out"
    assert not list(out.glob("*.laid.json")) and not list(out.glob("*-papers.*"))
    for job in sorted(out.glob("*.job.json")):
        assert run("lay", job, "--as", "json").returncode == 0
    said = plan(tmp_path)
    assert b"laying" not in said.stderr
    assert contents(out) == contents(planned)


def test_rolls_give_what_the_plan_needs(tmp_path):
    (tmp_path / "rolls.csv").write_text("cloth,roll,length (m)\nnavy,N1,4\nnavy,N2,9\nclaret,C1,30 yd\n", "utf-8")
    plan(tmp_path, "--jobs", "--rolls", "rolls.csv")
    document = json.loads((tmp_path / "out/plan.json").read_text("utf-8"))
    lays = by_name(document["lays"])
    given = Counter()
    for roll in document["rolls"]:
        used = sum(lays[name]["ply_length"] * plies for name, plies in roll["plies"])
        assert roll["left"] == pytest.approx(roll["length"] - used, abs=1e-3) and roll["left"] >= 0
        for name, plies in roll["plies"]:
            given[name, roll["cloth"]] += plies
    for missing in document["missing"]:
        for name, plies in missing["plies"]:
            given[name, missing["cloth"]] += plies
    for lay in lays.values():
        for spread in lay["plies"]:
            assert given[lay["name"], spread["cloth"]] == spread["plies"]
    assert {missing["cloth"] for missing in document["missing"]} == {"wool"}


def test_rolls_that_are_not_cut_from_are_listed_too(tmp_path):
    (tmp_path / "rolls.csv").write_text("cloth,roll,length (m)\nnavy,N1,40\nnavy,N2,90\n,,\n", "utf-8")
    said = plan(tmp_path, "--jobs", "--rolls", "rolls.csv").stdout.decode()
    (whole,) = [line for line in said.splitlines() if "not cut from" in line]
    assert " N2 " in whole and whole.count("90.00 m") == 2


def test_every_file_is_told(tmp_path):
    out = tmp_path / "out"
    for told in ("wrote {} files to out, 0 were unchanged", "wrote 0 files to out, {} were unchanged"):
        said = plan(tmp_path).stdout.decode()
        assert told.format(len(list(out.iterdir()))) in said, said


def test_files_of_an_earlier_plan_are_named(tmp_path):
    plan(tmp_path)
    said = plan(tmp_path, book="\n".join(BOOK.splitlines()[:2]) + "\n")
    warning = said.stderr.decode().splitlines()[-1]
    assert "of an earlier plan" in warning and "lay-03-papers.html" in warning, warning
    names = {path.name for path in (tmp_path / "out").iterdir()}
    assert "lay-01-papers" not in warning and "plan" + ".json" in names


def test_a_marker_of_a_plan_that_is_laid_again_is_drawn_again_and_the_plan_called_old(tmp_path):
    out = tmp_path / "out"
    plan(tmp_path)
    document = json.loads((out / "plan.json").read_text("utf-8"))
    most = max(document["markers"], key=lambda marker: sum(article["count"] for article in marker["articles"]))
    drawing = out / f"{most['name']}.svg"
    before = drawing.read_bytes()
    said = run("lay", out / f"{most['name']}.job.json", "--again", "--steps", "20000", "--as", "json")
    assert said.returncode == 0 and "make it again with `tiewright plan`" in said.stderr.decode()
    assert drawing.read_bytes() != before
    plan(tmp_path)
    said = run("lay", out / f"{most['name']}.job.json", "--as", "json")
    assert said.returncode == 0 and not said.stderr


def test_lays_of_the_same_are_cut_by_one_marker_that_is_laid_once(tmp_path):
    # Four times what a lay takes of one article, for one club; and the same for another.
    lines = [f"{number},{whom},club,,,160," for number, whom in enumerate(["Choir", "Club"])]
    plan(tmp_path, book="\n".join([BOOK.splitlines()[0], *lines]) + "\n")
    document = json.loads((tmp_path / "out/plan.json").read_text("utf-8"))
    measures = ("usable_width", "direction", "warp", "repeat_warp", "repeat_weft")
    kinds = set()
    for marker in document["markers"]:
        job = (tmp_path / f"out/{marker['name']}.job.json").read_text("utf-8")
        cloth = json.loads(job)["cloth"]
        kinds.add(json.dumps([marker["articles"], *(cloth[measure] for measure in measures)]))
    assert len(kinds) == len(document["markers"]) < len(document["lays"])
    assert sum(marker["lays"] for marker in document["markers"]) == len(document["lays"])
    names = {marker["name"] for marker in document["markers"]}
    assert {path.name.split(".")[0] for path in (tmp_path / "out").glob("*.dxf")} == names
    assert len(list((tmp_path / "out").glob("*-papers.pdf"))) == len(document["lays"])


def test_groups_are_as_asked(tmp_path):
    plan(tmp_path, "--jobs", "--together", "shape")
    document = json.loads((tmp_path / "out/plan.json").read_text("utf-8"))
    # Two shapes, two roles of each planned; the cloths of one role lie on one another.
    assert len(document["groups"]) == 4
    assert {tuple(group["cloths"]) for group in document["groups"]} >= {("navy", "claret"), ("wool",)}


@pytest.mark.parametrize(
    "book,said",
    [
        (BOOK.replace("club,long", "clbu,long"), b"did you mean `club`?"),
        (BOOK.replace(",7,", ",0,"), b"an order for 0 is none"),
        (BOOK.replace(",7,", ",-7,"), b"less than none"),
        (BOOK.replace(",7,", ",7.5,"), b"no whole number"),
        (BOOK.replace(",7,", ",9999999,"), b"the most on one row"),
        (BOOK.replace("2027-03-01", "1.3.2027"), b"is no date"),
        (BOOK.replace("4,Choir,club", "1,Choir,club"), b"has this article in this cloth twice"),
        (BOOK.encode("utf-16"), b"UTF-16"),
        (BOOK.replace("Club", "Caf\u00e9").encode("latin-1"), b"not UTF-8"),
        (BOOK.replace("quantity", "how-many"), b"an order book has no column"),
        ("", b"the order book is empty"),
        ("\n".join(BOOK.splitlines()[1:]), b"no row of headings"),
        (BOOK.splitlines()[0], b"there is no row to plan"),
    ],
)
def test_bad_books_are_refused_whole(tmp_path, book, said):
    result = plan(tmp_path, book=book, code=1)
    assert said in result.stderr, result.stderr.decode()
    assert not (tmp_path / "out").exists()


def test_a_book_without_headings_is_one_mistake(tmp_path):
    said = plan(tmp_path, book="\n".join(BOOK.splitlines()[1:]), code=1).stderr.decode()
    assert said.count("error[") == 1


def test_what_is_longer_than_the_table_is_not_called_too_wide(tmp_path):
    said = plan(tmp_path, book=BOOK, code=1, styles=STYLES.replace("longest 3 m", "longest 300 mm"))
    assert b"longer-than-table" in said.stderr and b"a longer table" in said.stderr and b"wider" not in said.stderr


def test_a_plan_is_no_single_file(tmp_path):
    said = plan(tmp_path, "--out", "-", code=2)
    assert b"names the folder" in said.stderr and not (tmp_path / "-").exists()
    said = plan(tmp_path, "--surplus", "-1", code=2)
    assert b"a whole number of ties" in said.stderr


def test_rows_that_spreadsheets_leave_below_are_passed_over(planned, tmp_path):
    plan(tmp_path, book=BOOK + ",,,,,,\n , ,,,,,\n,,\n")
    assert contents(tmp_path / "out") == contents(planned)


def test_the_good_rows_alone_if_asked(tmp_path):
    book = BOOK + "6,Choir,club,,,none,\n7,Choir,clubb,,,3,\n"
    result = plan(tmp_path, "--good-only", "--jobs", book=book)
    assert b"2 of 8 rows left out, 6 planned" in result.stderr
    document = json.loads((tmp_path / "out/plan.json").read_text("utf-8"))
    assert (document["rows"], document["planned_rows"], document["ordered"]) == (8, 6, 23)
