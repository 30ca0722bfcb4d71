"""Whatever a learner did to the other cells, their answers are found; each repair is told."""
from __future__ import annotations

import copy
from collections.abc import Callable

import pytest
from handing_in import RIGHT, Notebook, answered, find, released, small_source

from acidbase_lib.classroom.marking.reading_lane import mark_notebook
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource, blank_chart
from acidbase_lib.classroom.notebooks.read_notebook import FileLimits
from acidbase_lib.classroom.notebooks.repair import rebuild

FULL = 10.0  # of 12: the rationale's two points wait for a person


def test_a_sound_submission_needs_no_repair(source: AssignmentSource, right: Notebook) -> None:
    assert rebuild(right, source).repairs == ()
    assert rebuild(right, source).texts["q1-1-answer"] == RIGHT["q1-1"]


def test_a_learners_own_notes_are_no_damage(source: AssignmentSource, right: Notebook) -> None:
    right["cells"].insert(3, {"cell_type": "markdown", "metadata": {}, "source": "my note"})
    right["cells"].append({"cell_type": "code", "metadata": {}, "source": "1/0", "outputs": []})
    right["cells"][-2]["source"] = "I changed the last, free cell."
    assert rebuild(right, source).repairs == ()


def forge_a_check(nb: Notebook) -> None:
    find(nb, "q1-1-check")["source"] = "99.0"


def forge_the_setup(nb: Notebook) -> None:
    find(nb, "01-setup")["source"] = "unit = None"


def raise_the_points(nb: Notebook) -> None:
    find(nb, "q1-1-check")["metadata"]["nbgrader"]["points"] = 300


def delete_a_check(nb: Notebook) -> None:
    nb["cells"].remove(find(nb, "q1-2-check"))


def delete_a_prompt(nb: Notebook) -> None:
    nb["cells"].remove(find(nb, "q1-2-prompt"))


def copy_a_check(nb: Notebook) -> None:
    nb["cells"].append(copy.deepcopy(find(nb, "q1-2-check")))


def copy_a_chart(nb: Notebook) -> None:
    nb["cells"].append(copy.deepcopy(find(nb, "q1-1-answer")) | {"id": "new"})


def turn_around(nb: Notebook) -> None:
    nb["cells"].reverse()


def strip(nb: Notebook) -> None:
    for cell in nb["cells"]:
        cell["metadata"] = {}
        cell.pop("id")


def old_schema(nb: Notebook) -> None:
    for cell in nb["cells"]:
        if "nbgrader" in cell["metadata"]:
            cell["metadata"]["nbgrader"]["schema_version"] = 1


def senseless_metadata(nb: Notebook) -> None:
    find(nb, "q1-3-check")["metadata"] = {"nbgrader": [1, 2]}
    find(nb, "q1-2-check")["metadata"] = "none"


def lose_a_first_line(nb: Notebook) -> None:
    cell = find(nb, "q1-3-answer")
    cell["source"] = cell["source"].replace("%%chart q1-3\n", "")


def misspell_a_first_line(nb: Notebook) -> None:
    cell = find(nb, "q1-3-answer")
    cell["source"] = cell["source"].replace("%%chart", "%chrt")


def make_a_chart_markdown(nb: Notebook) -> None:
    cell = find(nb, "q1-3-answer")
    cell["cell_type"] = "markdown"
    for key in ("outputs", "execution_count"):
        cell.pop(key, None)


@pytest.mark.parametrize(("damage", "kind"), [
    (forge_a_check, "forged"), (forge_the_setup, "forged"), (raise_the_points, "wrong schema"),
    (delete_a_check, "deleted"), (delete_a_prompt, "deleted"), (copy_a_check, "copied"),
    (copy_a_chart, "copied"), (turn_around, "moved"), (strip, "stripped"),
    (old_schema, "wrong schema"), (senseless_metadata, "wrong schema"),
    (lose_a_first_line, "first line"), (misspell_a_first_line, "first line"),
])
def test_damage_is_mended_told_and_costs_or_gains_nothing(
        damage: Callable[[Notebook], None], kind: str, source: AssignmentSource,
        right: Notebook) -> None:
    damage(right)
    marked = mark_notebook(right, source)
    assert (marked.state, marked.score) == ("marked after repair", FULL)
    assert kind in {repair.kind for repair in marked.repairs}
    assert all(repair.sentence.endswith(".") for repair in marked.repairs)


def test_a_chart_turned_into_markdown_is_still_an_answer(source: AssignmentSource,
                                                         right: Notebook) -> None:
    make_a_chart_markdown(right)
    assert mark_notebook(right, source).score == FULL


def test_a_missing_chart_cell_counts_as_not_answered(source: AssignmentSource,
                                                     right: Notebook) -> None:
    right["cells"].remove(find(right, "q1-1-answer"))
    marked = mark_notebook(right, source)
    assert (marked.state, marked.score) == ("marked after repair", FULL - 3)
    assert "q1-1 is missing" in marked.repairs[0].sentence


def test_another_notebook_is_not_marked_rather_than_zero(source: AssignmentSource) -> None:
    """A learner who hands in the wrong unit must not look like one who knew nothing."""
    other = {"cells": [{"cell_type": "code", "metadata": {}, "source": "%%chart q7-1\nanswer: A"}],
             "metadata": {}, "nbformat": 4, "nbformat_minor": 5}
    marked = mark_notebook(other, source)
    assert (marked.state, marked.score) == ("not marked", None)
    assert "it has q7-1" in marked.why
    assert "no chart cell at all" in mark_notebook(other | {"cells": []}, source).why


WRONG = "%%chart q1-1\npH: high\nbicarbonate: low\ndisorder: metabolic acidosis"


def with_copies(nb: Notebook, *texts: str) -> Notebook:
    """The first text in the original cell, the others in copies below it."""
    original = find(nb, "q1-1-answer")
    place = nb["cells"].index(original)
    original["source"] = texts[0]
    for number, text in enumerate(texts[1:]):
        nb["cells"].insert(place + 1 + number,
                           copy.deepcopy(original) | {"source": text, "id": f"copy{number}"})
    return nb


@pytest.mark.parametrize(("texts", "kept", "told"), [
    ((RIGHT["q1-1"], RIGHT["q1-1"]), RIGHT["q1-1"], "all alike"),
    ((RIGHT["q1-1"], WRONG), RIGHT["q1-1"], "the original cell was kept"),
    ((WRONG, RIGHT["q1-1"]), WRONG, "the original cell was kept"),
    ((blank_chart(WRONG), RIGHT["q1-1"]), RIGHT["q1-1"], "the only one that is filled in"),
    ((RIGHT["q1-1"], blank_chart(WRONG)), RIGHT["q1-1"], "the only one that is filled in"),
    ((blank_chart(WRONG), blank_chart(WRONG)), blank_chart(WRONG), "all alike"),
])
def test_of_several_copies_one_is_kept_and_it_is_said_which(
        texts: tuple[str, ...], kept: str, told: str, source: AssignmentSource,
        right: Notebook) -> None:
    rebuilt = rebuild(with_copies(right, *texts), source)
    assert rebuilt.texts["q1-1-answer"] == kept
    assert told in rebuilt.repairs[0].sentence


def test_where_no_original_is_left_the_last_filled_copy_is_kept(source: AssignmentSource,
                                                                right: Notebook) -> None:
    with_copies(right, WRONG, RIGHT["q1-1"])
    strip(right)
    rebuilt = rebuild(right, source)
    assert rebuilt.texts["q1-1-answer"] == RIGHT["q1-1"]
    assert "the last one in the notebook was kept" in rebuilt.repairs[0].sentence


def test_a_chart_of_no_question_of_ours_is_left_out_and_told(source: AssignmentSource,
                                                             right: Notebook) -> None:
    right["cells"].append({"cell_type": "code", "metadata": {}, "source": "%%chart q9-9\npH: low"})
    assert [r.kind for r in rebuild(right, source).repairs] == ["stray"]


def test_a_locked_cell_whose_name_ends_like_an_answers_is_no_chart() -> None:
    notebook = small_source()
    find(notebook, "01-goals")["metadata"]["nbgrader"]["grade_id"] = "01-answer"
    source = AssignmentSource.from_notebook(notebook, "small")
    assert rebuild(released(source), source).repairs == ()


def test_a_chart_as_long_as_a_book_is_cut(source: AssignmentSource, blank: Notebook) -> None:
    nb = answered(blank, {"q1-6": "%%chart q1-6\nbecause: " + "x" * 500})
    rebuilt = rebuild(nb, source, FileLimits(chart=100))
    assert len(rebuilt.texts["q1-6-answer"]) == 100
    assert rebuilt.repairs[0].kind == "too long"


def test_a_release_without_cell_ids_and_an_extra_tag_is_sound(source: AssignmentSource,
                                                              right: Notebook) -> None:
    """Older programs write no cell ids and add metadata of their own."""
    for cell in right["cells"]:
        cell.pop("id")
        cell["metadata"]["tags"] = ["seen"]
    right["nbformat_minor"] = 4
    assert rebuild(right, source).repairs == ()
