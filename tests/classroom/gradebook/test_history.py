"""The history: hand-ins and changes of marks, chained: tampering shows, a stop does no harm."""
from __future__ import annotations

import hashlib
import json
import os
from pathlib import Path

import pytest
from handing_in import RIGHT, HandIn, Notebook, answered

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.gradebook.safekeeping.check_course import check_course
from acidbase_lib.classroom.gradebook.safekeeping.history import (
    BY_HAND,
    HANDED_IN,
    MARKED,
    History,
    HistoryError,
    Line,
)
from acidbase_lib.classroom.gradebook.safekeeping.receipts import (
    history_of,
    receipts_of,
    same_files,
)

pytestmark = pytest.mark.slow


def lines_of(course: Path, what: str = "") -> list[Line]:
    return [line for line in history_of(CourseFolder.find(course)).lines()
            if what in {"", line.what}]


def told(course: Path, what: str) -> list[dict[str, object]]:
    return [dict(line.details or {}) for line in lines_of(course, what)]


def wrong(course: Path) -> list[str]:
    return [one.sentence for one in check_course(CourseFolder.find(course)) if not one.well]


def give_by_hand(course: Path, points: float) -> None:
    from nbgrader.api import Gradebook

    with Gradebook(CourseFolder.find(course).db_url) as book:
        grade = book.find_grade("q1-6-answer", "small", "small", "ada")
        grade.manual_score, grade.needs_manual_grade = points, False
        book.db.commit()


@pytest.fixture
def school(course: Path, hand_in: HandIn, right: Notebook, blank: Notebook) -> Path:
    hand_in("ada", right)
    hand_in("ben", blank)
    mark_class(course, "small")
    return course


def test_a_first_marking_tells_file_and_points_of_everyone(school: Path,
                                                           right: Notebook) -> None:
    ada = told(school, HANDED_IN)[0]
    assert ada["file"] == hashlib.sha256(json.dumps(right).encode()).hexdigest()
    assert [(one["learner"], one["why"]) for one in told(school, MARKED)] == [
        ("ada", "marked for the first time"), ("ben", "marked for the first time")]
    assert told(school, MARKED)[0]["cells"]["q1-1-check"] == [None, 3.0]  # type: ignore[index]


def test_marking_again_adds_nothing(school: Path) -> None:
    before = lines_of(school)
    mark_class(school, "small")
    assert lines_of(school) == before


def test_another_file_is_noted_with_what_it_changed(school: Path, hand_in: HandIn,
                                                    blank: Notebook) -> None:
    hand_in("ada", answered(blank, RIGHT | {"q1-2": "%%chart q1-2\nanswer: C"}))
    mark_class(school, "small")
    last = told(school, MARKED)[-1]
    assert (last["learner"], last["why"]) == ("ada", "another file was handed in")
    assert last["cells"] == {"q1-2-check": [1.0, 0.0]}
    assert len(told(school, HANDED_IN)) == 3


def test_every_mark_by_hand_is_noted_also_two_between_two_commands(school: Path) -> None:
    give_by_hand(school, 1.5)
    give_by_hand(school, 2.0)
    mark_class(school, "small")
    assert [(one["learner"], one["cell"], one["from"], one["to"])
            for one in told(school, BY_HAND)] == [
        ("ada", "q1-6-answer", None, 1.5), ("ada", "q1-6-answer", 1.5, 2.0)]
    mark_class(school, "small")
    assert len(told(school, BY_HAND)) == 2


def test_nbgraders_own_marking_is_noted_too(school: Path, hand_in: HandIn,
                                            blank: Notebook) -> None:
    from lanes import run_nbgrader

    hand_in("ada", blank)
    run_nbgrader("Autograde", school, "small", force=True)
    mark_class(school, "small")
    last = told(school, MARKED)[-1]
    assert last["learner"] == "ada"
    assert last["cells"]["q1-1-check"] == [3.0, 0.0]  # type: ignore[index]


def test_the_chain_holds_and_check_says_so(school: Path,
                                           capsys: pytest.CaptureFixture[str]) -> None:
    assert wrong(school) == []
    assert main(["check", "--course", str(school)]) == 0
    assert "The history holds: 5 lines" in capsys.readouterr().out


def altered(line: str) -> str:
    return line.replace("[null,3.0]", "[null,2.0]")


def a_point_more(lines: list[str]) -> list[str]:
    assert any(altered(line) != line for line in lines)
    return [altered(line) for line in lines]


def one_out(lines: list[str]) -> list[str]:
    return lines[:2] + lines[3:]


def two_swapped(lines: list[str]) -> list[str]:
    return [lines[0], lines[2], lines[1], *lines[3:]]


def the_end_off(lines: list[str]) -> list[str]:
    return lines[:-1]


def told_away(lines: list[str]) -> list[str]:
    return [json.dumps(json.loads(line) | {"told": None}) if n == 2 else line
            for n, line in enumerate(lines)]


def one_twice(lines: list[str]) -> list[str]:
    return [*lines[:2], lines[1], *lines[2:]]


def another_time(lines: list[str]) -> list[str]:
    return [json.dumps(json.loads(line) | {"at": "2020-01-01T00:00:00Z"}) if n == 3 else line
            for n, line in enumerate(lines)]


def no_line(lines: list[str]) -> list[str]:
    return [*lines[:2], "nonsense", *lines[2:]]


def nothing(lines: list[str]) -> list[str]:
    return []


def written_anew(lines: list[str]) -> list[str]:
    """By somebody who knows how: every chain value fits; only the gradebook knows better."""
    from acidbase_lib.classroom.gradebook.safekeeping import history_line as h

    chain, made = h.FIRST, []
    for text in lines:
        one = json.loads(altered(text))
        digest = h.digest_of(one["told"])
        line = Line(one["n"], one["at"], one["what"], one["told"], digest, "")
        chain = line.chained_to(chain)
        made.append(h.written(Line(line.number, line.at, line.what, line.details, digest, chain)
                               ).rstrip("\n"))
    return made


@pytest.mark.parametrize("tamper", [a_point_more, one_out, two_swapped, the_end_off, told_away,
                                    nothing, one_twice, another_time, no_line, written_anew])
def test_tampering_shows(tamper, school: Path) -> None:
    path = history_of(CourseFolder.find(school)).path
    path.write_text("".join(f"{line}\n" for line in tamper(path.read_text().splitlines())))
    assert any("istory" in sentence for sentence in wrong(school))


@pytest.mark.parametrize("tamper", [the_end_off, nothing, written_anew])
def test_what_was_taken_out_is_still_told_after_the_next_marking(tamper, school: Path) -> None:
    path = history_of(CourseFolder.find(school)).path
    path.write_text("".join(f"{line}\n" for line in tamper(path.read_text().splitlines())))
    mark_class(school, "small")
    mark_class(school, "small")
    (sentence,) = wrong(school)
    assert "the history did not fit the gradebook" in sentence


def test_a_line_that_was_cut_off_by_a_stop_is_none_and_the_next_one_follows(
        school: Path) -> None:
    path = history_of(CourseFolder.find(school)).path
    before = lines_of(school)
    with path.open("ab") as file:
        file.write(b'{"n":6,"at":"2026')
    assert lines_of(school) == before
    give_by_hand(school, 2.0)
    mark_class(school, "small")
    assert len(lines_of(school)) == len(before) + 1
    assert wrong(school) == []


def test_a_last_line_that_lacks_only_its_end_is_a_line(school: Path) -> None:
    """As an editor leaves it that saves files without one."""
    path = history_of(CourseFolder.find(school)).path
    before = lines_of(school)
    path.write_bytes(path.read_bytes().rstrip(b"\n"))
    assert lines_of(school) == before
    assert history_of(CourseFolder.find(school)).last() == before[-1]
    assert wrong(school) == []
    give_by_hand(school, 2.0)
    mark_class(school, "small")
    assert lines_of(school)[:len(before)] == before
    assert len(lines_of(school)) == len(before) + 1
    assert wrong(school) == []


def test_a_file_cut_off_anywhere_is_healed_or_told(school: Path) -> None:
    """Within the last two lines: marking goes on, and what is missing is said."""
    path, book = history_of(CourseFolder.find(school)).path, school / "grading" / "gradebook.db"
    whole, kept = path.read_bytes(), book.read_bytes()
    first, second = [whole.rfind(b"\n", 0, at) for at in (len(whole) - 400, len(whole) - 1)]
    for size in (0, first, first + 1, first + 2, second - 30, second, second + 1, second + 200):
        path.write_bytes(whole[:size])
        book.write_bytes(kept)
        said = [one.sentence for one in check_course(CourseFolder.find(school))]
        assert any("is not the one that the gradebook knows" in one for one in said)
        half = size in {first + 2, second - 30, second + 200}
        assert any("cut off" in one for one in said) == half
        assert mark_class(school, "small").notes == ()
        assert list(history_of(CourseFolder.find(school)).faults()) == []
        assert any("Lines had been taken out" in one for one in wrong(school))


def test_what_a_stop_left_out_is_noted_by_the_next_run(school: Path) -> None:
    """Marks are stored first: a stop before the history loses no line, only a little time."""
    path = history_of(CourseFolder.find(school)).path
    path.write_text("".join(path.read_text().splitlines(keepends=True)[:3]))
    mark_class(school, "small")
    assert {one["learner"] for one in told(school, MARKED)} == {"ada", "ben"}


def test_a_history_that_is_damaged_stops_no_marking_but_is_told(
        school: Path, hand_in: HandIn, blank: Notebook) -> None:
    path = history_of(CourseFolder.find(school)).path
    path.write_text("nonsense\n" + path.read_text())
    hand_in("ada", blank)
    done = mark_class(school, "small")
    assert done.learners[0].score == 0.0
    assert "none of this kit's" in done.notes[-1]


def test_two_programs_add_to_it_at_once_and_the_chain_holds(tmp_path: Path) -> None:
    from concurrent.futures import ThreadPoolExecutor

    history = History(tmp_path)
    with ThreadPoolExecutor(6) as pool:
        list(pool.map(lambda n: history.add("a test", {"n": n}), range(60)))
    assert list(history.faults()) == []
    assert len(history.lines()) == 61


def test_a_full_disk_leaves_the_history_as_it_was(tmp_path: Path,
                                                  monkeypatch: pytest.MonkeyPatch) -> None:
    from acidbase_lib.classroom.gradebook.safekeeping import history as module

    history = History(tmp_path)
    history.add("a test", {"n": 1})
    before = history.path.read_bytes()

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(module.os, "fsync", full)
    with pytest.raises(HistoryError, match="No space left"):
        history.add("a test", {"n": 2})
    assert history.path.read_bytes() == before


# --- receipts and files that are the same ---

def test_a_receipt_names_unit_file_and_time_and_is_found_again(
        school: Path, right: Notebook, capsys: pytest.CaptureFixture[str]) -> None:
    receipt = receipts_of(CourseFolder.find(school), "small")["ada"]
    digits = hashlib.sha256(json.dumps(right).encode()).hexdigest()
    assert receipt.fingerprint.replace(" ", "") == digits[:16]
    assert f"small, file {receipt.fingerprint}, received 20" in receipt.sentence()
    assert main(["check", "--course", str(school), "--receipt", receipt.fingerprint]) == 0
    assert "ada handed in this file for small" in capsys.readouterr().out
    assert main(["check", "--course", str(school), "--receipt", "0" * 16]) == 1


def test_a_file_replaced_by_hand_is_seen(school: Path, hand_in: HandIn, blank: Notebook) -> None:
    hand_in("ada", blank)
    assert any("files of ada are not those" in sentence for sentence in wrong(school))


def test_files_that_are_the_same_are_told_to_the_instructor_only(
        school: Path, hand_in: HandIn, right: Notebook, tmp_path: Path) -> None:
    import small_unit

    from acidbase_lib.classroom.report.class_pages import results_of, write_class_pages
    from acidbase_lib.classroom.report.receipts import tell_history

    hand_in("cho", right)
    mark_class(school, "small")
    folder, out = CourseFolder.find(school), tmp_path / "out"
    assert [group for _, group in same_files(folder, "small")] == [("ada", "cho")]
    made = write_class_pages(out, results_of(school, "small", {}), small_unit.open_small_unit(),
                             release_keys=True)
    told = " ".join(tell_history(folder, "small", out))
    assert "the same file, to the byte: ada, cho" in told
    page = (made.feedback / "ada.html").read_text()
    assert "Receipt: small, file" in page
    assert "cho" not in page
    assert "the same file" not in page
    assert "ada" in (out / "receipts.csv").read_text(encoding="utf-8-sig")


@pytest.mark.parametrize(("what", "name", "value"), [
    (HANDED_IN, "unit", None), (HANDED_IN, "learner", [1]), (HANDED_IN, "file", 7),
    (HANDED_IN, "learner", "\x1b[2Jx"), (MARKED, "cells", []), (MARKED, "cells", {"a": 1}),
    (MARKED, "source", None)])
def test_a_line_that_tells_something_else_is_damage_and_stops_no_marking(
        what: str, name: str, value: object, school: Path,
        capsys: pytest.CaptureFixture[str]) -> None:
    """Also where the edited line is plain JSON and the rest of the file is as it was."""
    path = history_of(CourseFolder.find(school)).path
    lines = [json.loads(line) for line in path.read_text().splitlines()]
    line = next(one for one in lines if one["what"] == what)
    line["told"][name] = value
    path.write_text("".join(json.dumps(one) + "\n" for one in lines))
    assert main(["check", "--course", str(school)]) == 1
    out = capsys.readouterr().out
    assert "none of this kit's" in " ".join(out.split())
    assert "\x1b" not in out
    assert any("none of this kit's" in note for note in mark_class(school, "small").notes)


def test_a_pipe_in_the_place_of_the_history_is_not_waited_at(school: Path) -> None:
    path = history_of(CourseFolder.find(school)).path
    path.unlink()
    os.mkfifo(path)
    assert any("it is no file" in note for note in mark_class(school, "small").notes)
