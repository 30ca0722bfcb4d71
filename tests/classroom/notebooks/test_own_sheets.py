"""A notebook for each person: named by the id, without a key, and the same when made again."""
from __future__ import annotations

import csv
import io
import json
import re
import zipfile
from pathlib import Path

import nbformat
import pytest
from own_class import NAME, SEED, UNIT, file_of, make_class, seen_by

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.notebooks.for_each import describe_each, file_names
from acidbase_lib.classroom.notebooks.own_numbers import HANDED_TO, ROSTER, OwnNumbers

pytestmark = pytest.mark.slow

PEOPLE = {"n101": "Ada Quill", "n102": "Ben Moss"}


def test_each_notebook_is_theirs_whole_and_holds_no_key(tmp_path: Path) -> None:
    made = make_class(tmp_path, PEOPLE)
    for learner in PEOPLE:
        text = file_of(made, learner).read_text("utf-8")
        notebook = nbformat.reads(text, as_version=4)
        nbformat.validate(notebook)
        assert notebook.metadata[HANDED_TO] == learner
        assert learner in notebook.cells[0].source
        assert "HIDDEN TESTS" not in text
        assert "unit.mark(" not in text
        assert "unit.review" not in text
        for cell in notebook.cells:
            if cell.source.startswith("%%chart"):
                assert not re.search(r":[ \t]*\S", cell.source.partition("\n")[2])
    assert len(list((tmp_path / "course").iterdir())) == 1  # nothing that is the same for all
    assert {path.name for path in (tmp_path / "solutions" / NAME).iterdir()} == {f"{NAME}.ipynb"}


def test_a_notebook_opens_the_numbers_that_it_prints(tmp_path: Path) -> None:
    made = make_class(tmp_path, PEOPLE)
    notebook = nbformat.read(file_of(made, "n101"), as_version=4)
    opening = next(cell.source for cell in notebook.cells if "open_unit" in cell.source)
    names: dict[str, object] = {}
    exec(opening, names)
    unit = names["unit"]
    assert {e.id: e.prompt for e in unit} == {  # type: ignore[attr-defined]
        name: e.prompt for name, e in seen_by(made, "n101").items()}


def test_the_instructor_has_a_list_of_who_has_which(tmp_path: Path) -> None:
    made = make_class(tmp_path, PEOPLE)
    assert made.numbers.stat().st_mode & 0o077 == 0
    with zipfile.ZipFile(made.numbers) as file:
        rows = list(csv.DictReader(io.StringIO(file.read(ROSTER).decode())))
    assert [(row["id"], row["name"], row["file"]) for row in rows] == [
        (learner, name, f"{learner}_{NAME}.ipynb") for learner, name in PEOPLE.items()]
    assert len({row["form"] for row in rows}) == 2


def test_who_comes_later_is_added_and_nobody_elses_numbers_change(tmp_path: Path) -> None:
    made = make_class(tmp_path, PEOPLE)
    before = {learner: file_of(made, learner).read_bytes() for learner in PEOPLE}
    more = make_class(tmp_path, {"n000": "Late Lou", **PEOPLE})
    assert (more.made, more.there) == (1, 2)
    assert {learner: file_of(more, learner).read_bytes() for learner in PEOPLE} == before
    assert set(OwnNumbers(more.numbers).learners) == {"n000", *PEOPLE}


def test_who_has_left_the_list_is_still_known(tmp_path: Path) -> None:
    make_class(tmp_path, PEOPLE)
    fewer = make_class(tmp_path, {"n102": "Ben Moss"})
    assert set(OwnNumbers(fewer.numbers).learners) == set(PEOPLE)


def test_a_lost_file_is_made_again_the_same(tmp_path: Path) -> None:
    made = make_class(tmp_path, PEOPLE)
    path = file_of(made, "n101")
    before = path.read_bytes()
    path.unlink()
    make_class(tmp_path, PEOPLE)
    assert path.read_bytes() == before


def test_two_runs_elsewhere_give_the_same_bytes(tmp_path: Path) -> None:
    one, other = (make_class(tmp_path / where, PEOPLE) for where in ("a", "b"))
    assert one.numbers.read_bytes() == other.numbers.read_bytes()
    assert one.source.read_bytes() == other.source.read_bytes()


def test_a_form_for_all_is_not_written_over(tmp_path: Path) -> None:
    assert main(["form", UNIT, "--seed", str(SEED), "--out", str(tmp_path)]) == 0
    with pytest.raises(CommandError, match="the same for everybody"):
        make_class(tmp_path, PEOPLE)


def test_the_spread_is_printed(tmp_path: Path) -> None:
    said = describe_each(make_class(tmp_path, PEOPLE))
    assert re.search(r"^ +\d+  metabolic acidosis$", said, re.MULTILINE)
    assert re.search(r"[\d.]+ to [\d.]+  pH to the nearest cut-off", said)
    assert "no proof of equal difficulty" in said
    assert "counted from among whom a question draws one" in " ".join(said.split())


@pytest.mark.parametrize(("ids", "files"), [
    (("ana@x.org", "a b"), ("ana@x.org", "a_b")),
    (("N1", "n1", "ñ1"), ("N1", "n1-2", "1")),
    (("a:b", "a*b"), ("a_b", "a_b-2")),
    (("...", "é"), ("learner", "learner-2"))])
def test_a_files_name_is_safe_everywhere(ids: tuple[str, ...], files: tuple[str, ...]) -> None:
    assert tuple(file_names(ids, "u").values()) == tuple(f"{file}_u.ipynb" for file in files)


@pytest.mark.parametrize("more", [["--as-lesson"], ["--counts", "first try"],
                                  ["--for-class", "."]])
def test_what_does_not_go_together_is_said(more: list[str], tmp_path: Path,
                                           capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "r.csv").write_text("id\nn101\n")
    assert main(["form", UNIT, "--seed", "7", "--for-each", str(tmp_path / "r.csv"),
                 "--out", str(tmp_path / "out"), *more]) == 2
    assert "--for-each" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_the_command_says_how_to_mark(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "r.csv").write_text("id,name\nn101,Ada Quill\n")
    assert main(["form", UNIT, "--seed", "7", "--for-each", str(tmp_path / "r.csv"),
                 "--out", str(tmp_path / "out")]) == 0
    said = capsys.readouterr().out
    assert f"acidbase collect FILES --unit {NAME}" in said
    assert json.loads((tmp_path / "out" / "each" / NAME / f"n101_{NAME}.ipynb").read_text())
