"""Sixty people are accounted for after one run, a late run and a damaged run; decisions hold."""
from __future__ import annotations

import re
from pathlib import Path

import pytest
from sixty_people import PEOPLE, UNIT, School, table

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.gradebook.ledger import LEFT, Offer
from acidbase_lib.classroom.gradebook.roster import RosterLine
from acidbase_lib.classroom.gradebook.safekeeping.history import History
from acidbase_lib.classroom.report.results import LearnerResult
from acidbase_lib.classroom.report.roll import decisions_for, ids_that_changed, roll_of

pytestmark = pytest.mark.slow

SHAPES = ("{id}.ipynb", "{last}_{first}_88{n}_unit2.ipynb",
          "{first} {last}_77{n}_assign_file/work (2).ipynb",
          "unit2_{id}_attempt_2031-03-0{d}.ipynb")
WAITS = "a file waits for your decision"


@pytest.fixture(scope="module")
def school(tmp_path_factory: pytest.TempPathFactory) -> School:
    return School(tmp_path_factory.mktemp("lost"))


@pytest.fixture(scope="module")
def first(school: School) -> Path:
    files = {}
    for n, who in enumerate(list(PEOPLE)[:44]):
        given, family = PEOPLE[who]
        files[SHAPES[n % 4].format(id=who, first=given, last=family, n=n, d=1 + n % 9)] = \
            school.work(who)
    files |= {"n045 a.ipynb": school.work("n045"), "n045 b.ipynb": school.work("n045", seed=2),
              "Zarell_Kim_1.ipynb": school.work("n046"), "n048_essay.docx": b"PK",
              "n049.ipynb": school.work("n049", "broken file"), "n050.ipynb": b"",
              "untitled.ipynb": school.work("n051")}
    return school.zip("first.zip", files)


def expected(late: bool = False, decided: bool = False) -> dict[str, str]:
    states = dict.fromkeys(PEOPLE, "not handed in") | dict.fromkeys(list(PEOPLE)[:44], "marked")
    states |= {"n045": WAITS, "n046": WAITS, "n047": WAITS, "n048": WAITS, "n049": "not marked",
               "n050": WAITS}
    if late:
        states |= dict.fromkeys(("n052", "n053", "n054", "n055"), "marked")
    if decided:
        states |= {"n045": "marked", "n046": "marked", "n047": "not handed in", "n051": "marked"}
    return states


@pytest.mark.slow
def test_sixty_people_are_accounted_for_after_each_run(
        school: School, first: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert school.collect(str(first)) == 0
    told = capsys.readouterr().out
    assert school.states() == expected()
    assert "On the class list: 60; 45 handed in, 10 did not, 5 with a file that waits" in told
    waits = school.waiting(told)
    assert set(waits) == {"n045 a.ipynb", "n045 b.ipynb", "Zarell_Kim_1.ipynb", "n048_essay.docx",
                          "n050.ipynb", "untitled.ipynb"}
    reasons = {row["file"]: row["what became of it"]
               for row in table(school.root / "back" / "intake.csv") if row["file"]}
    for file, why in (("n045 a.ipynb", "2 different files"), ("Zarell_Kim_1.ipynb", "n046 or n047"),
                      ("n048_essay.docx", "not a notebook"), ("n050.ipynb", "empty"),
                      ("untitled.ipynb", "no learner's id or name")):
        assert why in reasons[file]
    assert not any(name in reasons for name in (".DS_Store", "Thumbs.db", "~$ada.docx"))
    report = (school.root / "back" / "report" / "class_report.html").read_text("utf-8")
    assert "On the class list: 60" in report
    assert f"--decide {waits['n045 a.ipynb']}=n045" in report

    # a late run: what waits is still there, and is told again
    late = school.zip("late.zip", {f"{who}.ipynb": school.work(who)
                                   for who in ("n052", "n053", "n054", "n055")})
    lines = History(school.kit / "grading" / "history").lines()
    assert school.collect(str(late)) == 0
    assert school.states() == expected(late=True)
    assert school.waiting(capsys.readouterr().out) == waits
    assert History(school.kit / "grading" / "history").lines()[:len(lines)] == lines
    assert list(reasons) == [row["file"] for row in table(school.root / "back" / "intake.csv")
                             if row["file"]][:len(reasons)]

    # a damaged run: a sentence, and nobody's state is another
    (school.root / "cut.zip").write_bytes(first.read_bytes()[:20_000])
    assert school.collect(str(school.root / "cut.zip")) == 2
    assert school.states() == expected(late=True)
    capsys.readouterr()
    assert school.collect() == 0
    assert school.states() == expected(late=True)
    assert school.waiting(capsys.readouterr().out) == waits

    # decided: each with the words that were told
    assert school.collect("--decide", f"{waits['n045 a.ipynb']}=n045",
                          "--decide", f"{waits['Zarell_Kim_1.ipynb']}=n046",
                          "--decide", f"{waits['untitled.ipynb']}=n051",
                          "--decide", f"{waits['n050.ipynb']}=nobody") == 0
    told = capsys.readouterr().out
    assert "not chosen: n045 b.ipynb" in told
    assert set(school.waiting(told)) == {"n048_essay.docx"}
    now = expected(late=True, decided=True) | {"n050": "not handed in"}
    assert school.states() == now

    # the same zip again: what was decided stays decided
    assert school.collect(str(first)) == 0
    told = capsys.readouterr().out
    assert school.states() == now
    assert set(school.waiting(told)) == {"n048_essay.docx"}
    assert "the earlier file is kept" not in told

    # decided otherwise: the other file counts, and a notebook settles what was no notebook
    assert school.collect("--decide", f"{waits['n045 b.ipynb']}=n045") == 0
    kept = school.kit / "grading" / "submitted" / "n045" / UNIT
    assert (kept / f"{UNIT}.ipynb").read_bytes() == school.work("n045", seed=2)
    assert (kept / "earlier-1.txt").read_bytes() == school.work("n045")
    capsys.readouterr()
    assert school.collect(str(school.zip("more.zip", {"n048.ipynb": school.work("n048")}))) == 0
    assert school.waiting(capsys.readouterr().out) == {}
    assert main(["term", "--course", str(school.kit), "--roster",
                 str(school.root / "roster.csv"), "--out", str(school.root / "term")]) == 0
    rows = {row["id"]: row[f"{UNIT} state"] for row in table(school.root / "term" / "term.csv")}
    assert rows == school.states()
    assert list(History(school.kit / "grading" / "history").faults()) == []


@pytest.fixture
def small(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> tuple[School, dict[str, int]]:
    """A school where two files wait."""
    school = School(tmp_path)
    assert school.collect(str(school.zip("in.zip", {
        "n001.ipynb": school.work("n001"), "untitled.ipynb": school.work("n002")}))) == 0
    return school, school.waiting(capsys.readouterr().out)


@pytest.mark.parametrize(("decision", "why"), [
    ("NUMBER=n999", "Nobody on the roster has the id 'n999'"),
    ("NUMBER=n01", "Did you mean n0"), ("999999=n002", "has the number 999999; those that wait "
                                                       "are: "),
    ("n002", "is no decision; write the number"), ("NUMBER=", "is no decision"),
])
def test_a_decision_that_cannot_be_is_one_sentence(
        small: tuple[School, dict[str, int]], decision: str, why: str,
        capsys: pytest.CaptureFixture[str]) -> None:
    school, waits = small
    number = waits["untitled.ipynb"]
    before = school.states()
    assert school.collect("--decide", decision.replace("NUMBER", str(number))) == 2
    told = capsys.readouterr().err
    assert why in told
    assert len(told.splitlines()) == 1
    assert school.states() == before


def test_who_is_erased_is_in_no_file_that_waited(small: tuple[School, dict[str, int]]) -> None:
    school, waits = small
    assert school.collect("--decide", f"{waits['untitled.ipynb']}=n002") == 0
    assert list((school.kit / "grading" / "set_aside").rglob("*.ipynb"))
    assert main(["erase", "n002", "--course", str(school.kit)]) == 0
    assert not list((school.kit / "grading" / "set_aside").rglob("*.ipynb"))
    assert "n002" not in (school.kit / "grading" / "history" / "log.jsonl").read_text("utf-8")


def test_a_decision_that_is_undone_leaves_no_mark_and_no_page(
        small: tuple[School, dict[str, int]], capsys: pytest.CaptureFixture[str]) -> None:
    """Grade file, pages and screen follow each decision; who had a file has it again."""
    school, waits = small
    number, pages = waits["untitled.ipynb"], school.root / "back" / "feedback"
    before = table(school.root / "back" / "grades.csv")[0]
    assert school.collect("--decide", f"{number}=n001") == 0
    assert "It takes the place of n001's n001.ipynb" in capsys.readouterr().out
    assert school.collect("--decide", f"{number}=n002") == 0
    assert "n001's own earlier file counts again" in capsys.readouterr().out
    assert (school.states()["n001"], school.states()["n002"]) == ("marked", "marked")
    assert table(school.root / "back" / "grades.csv")[0] == before
    assert school.collect("--decide", f"{number}=nobody") == 0
    assert "n002 has no hand-in now." in capsys.readouterr().out
    assert table(school.root / "back" / "grades.csv")[0] == before
    assert school.states()["n002"] == "not handed in"
    assert [page.name for page in pages.iterdir()] == ["n001.html"]
    assert main(["check", "--course", str(school.kit)]) == 0


def test_an_old_zip_taken_in_again_is_told_as_seen_before(
        small: tuple[School, dict[str, int]], capsys: pytest.CaptureFixture[str]) -> None:
    school, _ = small
    mended = school.work("n001", "all right")
    assert school.collect(str(school.zip("mended.zip", {"n001.ipynb": mended}))) == 0
    capsys.readouterr()
    assert school.collect(str(school.root / "in.zip")) == 0
    told = capsys.readouterr().out
    assert "handed in again" not in told
    assert "1 left alone, 1 seen before" in told
    assert re.search(r"seen before: n001: n001\.ipynb: a later file has taken its place, and "
                     r"counts; if this one is to count: --decide \d+=n001\n", told)
    kept = school.kit / "grading" / "submitted" / "n001" / UNIT / f"{UNIT}.ipynb"
    assert kept.read_bytes() == mended


def test_one_line_settles_every_file_that_waits() -> None:
    files = (Offer("a.ipynb", "z", LEFT, "n045", digest="1", number=4),
             Offer("b.ipynb", "z", LEFT, "n045", digest="2", number=5),
             Offer("c.ipynb", "z", LEFT, "", ("n046", "n047"), digest="3", number=6),
             Offer("d.docx", "z", LEFT, "n048", number=7))
    assert decisions_for(files) == (
        "--decide 4=n045", "--decide 6=ID", "--decide 7=nobody")


@pytest.mark.parametrize(("also", "told"), [
    ((("n001",),), "1 learner who handed in before stands on this class list under another id, "
                   "such as n001, now 71001"),
    ((), "1 who handed in before are not on this class list, such as n001"),
])
def test_a_class_list_with_other_ids_is_told(also: tuple[tuple[str, ...], ...], told: str) -> None:
    results = (LearnerResult("n001", "n001", "marked", 1.0, 2.0),
               LearnerResult("71001", "Ada Quill", "not handed in", None, 2.0))
    said = ids_that_changed(roll_of(results, ["71001"]), [
        RosterLine("71001", ("71001",), ("ada", "quill"), also=also)])
    assert said.startswith(told)
    assert "--same" in said
    assert ids_that_changed(roll_of(results, ["n001", "71001"]), []) == ""
