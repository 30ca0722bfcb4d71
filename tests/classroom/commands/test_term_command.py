"""`acidbase term`: everybody of the class list in every sitting, as nbgrader itself counts it."""
from __future__ import annotations

import csv
import re
import shutil
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pandas as pd
import pytest
from small_term import NOTHING, STRANGER, UNITS, make_term

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def school(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = make_term(tmp_path_factory.mktemp("term") / "school")
    assert term(root) == 0
    return root


def term(root: Path, *words: str, out: str = "out") -> int:
    return main(["term", "--course", str(root / "course"), "--roster", str(root / "roster.csv"),
                 "--out", str(root / out), *words])


def table(path: Path) -> pd.DataFrame:
    return pd.read_csv(path, dtype=str, keep_default_na=False, index_col="id",
                       encoding="utf-8-sig")


def recount(root: Path) -> Iterator[dict[str, object]]:
    """Every submission, as nbgrader's own interface to its gradebook has it."""
    from nbgrader.api import Gradebook

    with Gradebook(CourseFolder.find(root / "course").db_url) as book:
        for assignment in book.assignments:
            for one in assignment.submissions:
                grades = [grade for notebook in one.notebooks for grade in notebook.grades]
                empty = [g for g in grades if g.auto_score is None and g.manual_score is None
                         and g.name.endswith("-check")]
                yield {"id": one.student.id, "sitting": assignment.name,
                       "score": sum(g.manual_score if g.manual_score is not None
                                    else g.auto_score or 0.0 for g in grades),
                       "unread": bool(empty), "waiting": sum(g.needs_manual_grade for g in grades),
                       "late": one.duedate is not None and one.total_seconds_late > 0}


def test_states_and_scores_equal_a_recount_by_nbgraders_own_interface(school: Path) -> None:
    got, counted = table(school / "out" / "term.csv"), pd.DataFrame(recount(school))
    assert list(got.columns) == ["name", *(f"{unit} {what}" for unit in UNITS
                                           for what in ("state", "score")), "section"]
    assert len(got) == 13
    by_cell = counted.set_index(["id", "sitting"])
    seen = {"marked": 0, "marked after repair": 0, "not marked": 0, "not handed in": 0,
            "waiting": 0, "late": 0}
    for learner, row in got.iterrows():
        for unit in UNITS:
            state, score = row[f"{unit} state"], row[f"{unit} score"]
            if (learner, unit) not in by_cell.index:
                assert (state, score) == ("not handed in", "")
                seen["not handed in"] += 1
                continue
            there = by_cell.loc[(learner, unit)]
            plain, *more = state.split(", ")
            seen[plain] += 1
            assert (plain == "not marked") == there["unread"]
            assert (score == "") == there["unread"]
            if score:
                assert float(score) == pytest.approx(there["score"], abs=1e-4)
            assert ("late" in more) == there["late"]
            seen["late"] += "late" in more
            waits = [int(one.split()[0]) for one in more if "waiting" in one]
            assert sum(waits) == (0 if there["unread"] else there["waiting"])
            seen["waiting"] += bool(waits)
    assert min(seen.values()) >= 1, seen  # each kind was there to be counted


def test_everybody_of_the_class_list_is_counted_and_a_stranger_stands_apart(school: Path) -> None:
    with (school / "roster.csv").open(encoding="utf-8", newline="") as file:
        listed = [row["id"] for row in csv.DictReader(file)]
    got = table(school / "out" / "term.csv")
    assert list(got.index) == listed
    assert NOTHING in listed
    assert list(table(school / "out" / "term_not_on_roster.csv").index) == [STRANGER]
    page = (school / "out" / "term.html").read_text("utf-8")
    assert "13 people on the class list; 3 sittings begun" in page
    assert "Handed in, and not on the class list" in page


def test_each_learner_has_a_page_of_their_own_term_and_of_nobody_elses(school: Path) -> None:
    got = table(school / "out" / "term.csv")
    pages = {path.stem: path.read_text("utf-8")
             for path in (school / "out" / "learners").iterdir()}
    assert set(pages) == set(got.index)
    for learner, page in pages.items():
        assert got.loc[learner, "name"] in page
        others = got["name"].drop(learner)
        assert not [name for name in others if name in page]
        for unit in UNITS:
            score = got.loc[learner, f"{unit} score"]
            assert (f"{float(score):g} of" in page) if score else True
    assert "Not handed in: Unit 2, primary disorder; Unit 3" in pages[NOTHING]


def test_the_page_needs_no_network_and_says_what_it_is_for(school: Path) -> None:
    page = (school / "out" / "term.html").read_text("utf-8")
    assert not re.search(r"""(?:src|href)=["'](?!#)""", page)
    assert "For teaching, not for care" in page
    assert "For teaching, not for care" in (school / "out" / "learners" /
                                            f"{NOTHING}.html").read_text("utf-8")


def test_with_codes_no_name_and_no_id_is_in_any_file(school: Path) -> None:
    assert term(school, "--codes", out="coded") == 0
    got = table(school / "out" / "term.csv")
    files = [path for path in (school / "coded").rglob("*") if path.is_file()]
    assert {path.name for path in files} == {"term.html", "term.csv", "term_not_on_roster.csv"}
    for path in files:
        text = path.read_text("utf-8-sig")
        for one in (*got.index, *got["name"], STRANGER, str(school)):
            assert not re.search(rf"(?<!\w){re.escape(one)}(?!\w)", text), (path.name, one)
    codes = list(table(school / "coded" / "term.csv").index)
    assert codes == sorted(codes)


def test_codes_are_not_written_beside_pages_with_names(
        school: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert term(school, "--codes") == 2
    assert "holds pages of named learners" in capsys.readouterr().err


def test_an_erased_learner_is_in_nothing(school: Path, tmp_path: Path) -> None:
    root = Path(shutil.copytree(school, tmp_path / "school"))
    name = table(root / "out" / "term.csv").loc["hl004", "name"]
    assert main(["erase", "hl004", "--course", str(root / "course"), "--roster",
                 str(root / "roster.csv")]) in {0, 1}
    for path in (root / "out").rglob("*"):
        if path.is_file():
            text = path.read_text("utf-8-sig")
            assert "hl004" not in text, path
            assert name not in text, path
    assert term(root) == 0
    assert len(table(root / "out" / "term.csv")) == 12


def test_an_extension_that_nbgrader_gave_makes_in_time(school: Path, tmp_path: Path) -> None:
    from nbgrader.api import Gradebook

    root = Path(shutil.copytree(school, tmp_path / "school"))
    late = table(school / "out" / "term.csv")[f"{UNITS[0]} state"]
    learner, = late[late.str.endswith(", late")].index
    with Gradebook(CourseFolder.find(root / "course").db_url) as book:
        book.find_submission(UNITS[0], learner).extension = timedelta(hours=1)
        book.db.commit()
    assert term(root, out="again") == 0
    assert table(root / "again" / "term.csv").loc[learner, f"{UNITS[0]} state"] == \
        late[learner].removesuffix(", late")


def test_a_sitting_whose_notebook_is_gone_keeps_its_marks(school: Path, tmp_path: Path) -> None:
    root = Path(shutil.copytree(school, tmp_path / "school"))
    shutil.rmtree(root / "solutions" / UNITS[1])
    assert term(root, out="again") == 0
    assert table(root / "again" / "term.csv").equals(table(school / "out" / "term.csv"))
    page = (root / "again" / "term.html").read_text("utf-8")
    assert "Unit 3, compensation: its answers could not be read for ideas." in page


@pytest.mark.parametrize("roster", ["id\nhl001\n", "id,name\nhl001,One Alone\n"])
def test_one_learner_makes_a_term(school: Path, tmp_path: Path, roster: str) -> None:
    (tmp_path / "one.csv").write_text(roster)
    assert main(["term", "--course", str(school / "course"), "--roster",
                 str(tmp_path / "one.csv"), "--out", str(tmp_path / "out")]) == 0
    got = table(tmp_path / "out" / "term.csv")
    assert list(got.index) == ["hl001"]
    assert ("name" in got.columns) == ("name" in roster)
    assert "too few to say" in (tmp_path / "out" / "term.html").read_text("utf-8")


@pytest.mark.parametrize(("roster", "why"), [
    ("id\nhl001\n", "nothing has been marked in"), ("id\n", "names nobody"),
])
def test_an_empty_course_or_roster_is_one_sentence(
        school: Path, tmp_path: Path, roster: str, why: str,
        capsys: pytest.CaptureFixture[str]) -> None:
    shutil.copytree(school / "course", tmp_path / "kit" / "course")
    (tmp_path / "r.csv").write_text(roster)
    assert main(["term", "--course", str(tmp_path / "kit" / "course"), "--roster",
                 str(tmp_path / "r.csv"), "--out", str(tmp_path / "out")]) == 2
    told = capsys.readouterr().err
    assert why in told
    assert told.count("\n") == 1
    assert not (tmp_path / "out").exists()
    assert not list(tmp_path.rglob("gradebook.db"))


def test_what_was_decided_afterwards_counts_in_the_term_as_well(school: Path,
                                                               tmp_path: Path) -> None:
    root = Path(shutil.copytree(school, tmp_path / "school"))
    before, unit = table(root / "out" / "term.csv"), UNITS[0]
    words = ["adjust", unit, "--course", str(root / "course"), "--reason", "misprinted", "--do"]
    with_points = [who for who in before.index if before.loc[who, f"{unit} score"]]
    assert main([*words, "--allow", "0.25", "--for", with_points[-1]]) == 0
    question = re.sub(r"^(\d)(\d)_.*", lambda m: f"{int(m[1] + m[2])}.1", unit)
    assert main([*words, "--void", question]) == 0
    assert term(root, out="after") == 0
    after = table(root / "after" / "term.csv")
    changed = [who for who in before.index
               if before.loc[who, f"{unit} score"] != after.loc[who, f"{unit} score"]]
    assert changed
    assert set(changed) <= set(with_points)
    assert all(before[column].equals(after[column]) for column in before.columns
               if column != f"{unit} score")
    for number in ("2", "1"):
        assert main([*words[:4], "--reason", "a slip", "--undo", number, "--do"]) == 0
    assert term(root, out="undone") == 0
    assert (root / "undone" / "term.csv").read_bytes() == (
        root / "out" / "term.csv").read_bytes()
