"""A school that tells PaCO2 and PaO2 in kPa first is told so wherever the course says a pressure.

1 kPa is 7.50062 mmHg (SI brochure: 1 mmHg is 133.322 Pa). mmHg may stand behind it, in brackets.
"""
from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import nbformat
import pytest
from kpa_school import SCHOOL, TOML, mmhg_first, unitless
from written_out import written_under

import acidbase_lib
from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.marking.own_notebook import unit_of
from acidbase_lib.classroom.notebooks.by_school import course_by
from acidbase_lib.classroom.released_course import course_folder
from acidbase_lib.physiology.units import MMHG_PER_KPA
from acidbase_lib.reading.settings_in_force import by_settings
from acidbase_lib.teaching.content import content_text
from acidbase_lib.teaching.feedback.hints import hints_for
from acidbase_lib.teaching.glossary import glossary_text
from acidbase_lib.teaching.hour.screen import HourRun
from acidbase_lib.teaching.hour.screen import view_of as view_of_hour
from acidbase_lib.teaching.misconceptions.catalog import told_by
from acidbase_lib.teaching.pictures.show import PICTURES
from acidbase_lib.teaching.practice.bedside import SceneRun, view_of
from acidbase_lib.teaching.practice.endless import PatientRun
from acidbase_lib.teaching.practice.endless import view_of as view_of_patient
from acidbase_lib.teaching.practice.topics import TOPICS
from acidbase_lib.teaching.questions.answer_text import parse_chart, write_chart
from acidbase_lib.teaching.questions.exercise import Exercise, mark
from acidbase_lib.teaching.questions.exercise_record import record_of
from acidbase_lib.teaching.questions.question_file import load_plan, sitting_ids, unit_ids
from acidbase_lib.teaching.recipes.book import cook
from acidbase_lib.teaching.unit import open_unit

UNITS = pytest.mark.parametrize("unit", [*unit_ids(), *sitting_ids()])


def told(data: object) -> list[str]:
    """What of a text or of plain data tells mmHg first, or the size of it without a unit."""
    text = data if isinstance(data, str) else json.dumps(data, ensure_ascii=False, default=str)
    return mmhg_first(text) + unitless(text)


def test_the_hunt_finds_what_the_kit_says_by_itself() -> None:
    everything = "".join(json.dumps(record_of(one), ensure_ascii=False) for one in
                         open_unit("03_compensation"))
    assert len(mmhg_first(everything)) > 50
    assert unitless("PaCO2 of 62 in one patient")
    assert not told("PaCO2 8.3 kPa (62 mmHg), systolic pressure 92 mmHg; 1 kPa is 7.5 mmHg.")


@pytest.mark.slow
@UNITS
def test_no_question_tells_mmhg_first(unit: str) -> None:
    with by_settings(SCHOOL):
        for exercise in open_unit(unit, form=2):
            assert not told(record_of(exercise)), exercise.id
            for field in exercise.fields:
                assert not told(" ".join(hints_for(exercise, field.name))), exercise.id
        for aside in load_plan(unit).unmarked:
            assert not told(record_of(aside)), aside.id


def drawn(unit: str, recipe: str) -> Exercise:
    plan = load_plan(unit)
    plan = replace(plan, questions=tuple(q for q in plan.questions if q.recipe == recipe)[:1])
    return next(iter(cook(plan, 2)))


def points_of(exercise: Exercise, typed: str) -> float:
    return mark(exercise, parse_chart(f"%%chart {exercise.id}\n{typed}", exercise.fields)).points


@pytest.mark.parametrize(("unit", "recipe", "field", "within"), [
    ("03_compensation", "where PaCO2 belongs", "expected PaCO2", 2.0),
    ("09_further", "work out the gradient", "gradient", 3.0)])
def test_a_typed_pressure_is_asked_for_and_marked_in_kpa(unit: str, recipe: str, field: str,
                                                         within: float) -> None:
    """The key and the tolerance are those of the kit, in kPa; the other unit, named, counts."""
    kit = drawn(unit, recipe)
    with by_settings(SCHOOL):
        here = drawn(unit, recipe)
    (asked,) = (one for one in here.fields if one.name == field)
    assert asked.unit == "kPa"
    mmhg = float(kit.key[field])
    assert float(here.key[field]) == pytest.approx(mmhg / MMHG_PER_KPA, abs=0.005)
    assert here.within[field] == pytest.approx(within / MMHG_PER_KPA, abs=0.005)
    others = {name: value for name, value in here.key.items() if name != field}
    lines = "".join(f"\n{name}: {value}" for name, value in others.items())
    for typed, points in ((f"{mmhg / MMHG_PER_KPA:.1f}", here.points),
                          (f"{mmhg:.0f} mmHg", here.points), (f"{mmhg:.0f}", None)):
        with by_settings(SCHOOL):
            earned = points_of(here, f"{field}: {typed}{lines}")
        assert (earned == points) if points else earned < here.points, typed


def test_changing_units_is_asked_the_other_way_and_the_number_alone_is_no_answer() -> None:
    """8.3 kPa is 62.3 mmHg; whoever types the 8.3 that is printed has changed nothing."""
    with by_settings(SCHOOL):
        here = drawn("01_ranges", "convert the pressure")
        printed = re.search(r"\*\*(\d+\.\d) kPa\*\*", here.prompt)
        assert printed
        assert "works in mmHg" in here.prompt
        right = f"{float(printed[1]) * MMHG_PER_KPA:.0f}"
        for typed, full in ((right, True), (f"{right} mmHg", True), (f"{printed[1]} kPa", False),
                            (printed[1], False)):
            earned = points_of(here, f"PaCO2 in mmHg: {typed}")
            assert (earned == here.points) == full, typed


def test_words_ideas_and_goals_tell_kpa_first() -> None:
    with by_settings(SCHOOL):
        assert not told(glossary_text())
        assert not told(content_text("facts.toml") + content_text("goals.toml"))
    for idea in told_by(SCHOOL).values():
        assert not told(f"{idea.suggests}\n{idea.card}"), idea.key


@pytest.mark.slow
def test_practice_and_the_hour_tell_kpa_first() -> None:
    with by_settings(SCHOOL):
        for seed in range(8):
            assert not told(view_of(SceneRun(str(seed))))
            assert not told(view_of_hour(HourRun(str(seed))))
        for topic in TOPICS.values():
            run = PatientRun(topic, "1")
            before = view_of_patient(run)
            run.answer(before["choices"][0]["word"])
            assert not told([before, view_of_patient(run)]), topic.name


@pytest.mark.parametrize("name", [n for n in dir(acidbase_lib) if n.startswith("explore_")])
def test_explorers_tell_and_move_kpa_first(name: str) -> None:
    with by_settings(SCHOOL):
        shown = getattr(acidbase_lib, name)()
        text = {k: v for k, v in shown.trait_values().items()
                if isinstance(v, str | dict | list | tuple) and not k.startswith("_")}
        assert not mmhg_first(json.dumps(text, ensure_ascii=False, default=str) + repr(shown))
        for control in getattr(shown, "controls", ()):
            if control["key"] == "paco2" and name != "explore_ranges":
                assert control["unit"] == "kPa"
                assert control["low"] <= control["value"] <= control["high"] < 20


def test_an_explorer_moved_in_kpa_lies_where_the_range_says() -> None:
    """6.0 kPa is in the range of 4.7-6.0, 6.1 is not: no rounding crosses an edge."""
    with by_settings(SCHOOL):
        shown = acidbase_lib.explore_direction()
        for kpa, word in ((6.0, "in range"), (6.1, "high"), (4.7, "in range"), (4.6, "low")):
            shown.values = {"ph": 7.30, "paco2": kpa}
            assert f"PaCO2 {kpa:.1f} kPa" in shown.sentence
            assert f"mmHg) is {word}" in shown.sentence, kpa


@pytest.mark.parametrize("picture", PICTURES)
def test_pictures_tell_kpa_first(picture: str) -> None:
    with by_settings(SCHOOL):
        figure = PICTURES[picture]("here")
        assert not told(figure.sentence)
        assert not mmhg_first(re.sub(r"<[^>]+>", " ", figure.svg))


@pytest.mark.slow
def test_no_notebook_of_the_course_tells_mmhg_first() -> None:
    with course_by(SCHOOL, course_folder()) as theirs:
        for path in sorted(theirs.glob("*/*.ipynb")):
            for cell in nbformat.read(path, as_version=4).cells:
                name = cell.metadata.get("nbgrader", {}).get("grade_id", "")
                if cell.cell_type != "markdown" or name in TWO_PAPERS:
                    continue
                text = "\n".join(line for line in re.sub(r"<!--.*?-->", "", cell.source).split("\n")
                                 if "Where this comes from" not in line)
                assert not told(re.sub(r"</t[hd]><t[hd][^>]*>", " ", text)), name


#: Two papers of one tube, one in each unit: the first is in mmHg everywhere.
TWO_PAPERS = {"01-patient"}


@pytest.mark.slow
def test_what_is_printed_tells_kpa_first(tmp_path: Path) -> None:
    settings = tmp_path / "settings.toml"
    settings.write_text(TOML, encoding="utf-8")
    for unit in ("03", "09"):
        assert main(["worksheet", unit, "--settings", str(settings), "--out", str(tmp_path)]) == 0
    pages = sorted(tmp_path.glob("*.html"))
    assert len(pages) == 5
    for page in pages:
        text = re.sub(r"<style>.*?</style>", "", page.read_text(encoding="utf-8"), flags=re.S)
        assert not told(re.sub(r"</t[hd]>\s*<t[hd][^>]*>", " ", text)), page.name


@pytest.mark.slow
@pytest.mark.parametrize("unit", ["03", "05", "09"])
def test_a_class_is_marked_and_told_in_kpa_wherever_it_is_marked(unit: str, tmp_path: Path,
                                                                 capsys) -> None:
    """The unit travels in the notebooks: collect, report and mark are given no settings."""
    settings, root = tmp_path / "settings.toml", tmp_path / "course"
    settings.write_text(TOML, encoding="utf-8")
    assert main(["form", unit, "--seed", "5", "--settings", str(settings), "--out",
                 str(root)]) == 0
    (release,) = (root / "course").glob("*/*.ipynb")
    name = release.stem
    notebook = nbformat.read(release, as_version=4)
    asked = unit_of(nbformat.read(root / "solutions" / name / f"{name}.ipynb", as_version=4))
    files = tmp_path / "handed in"
    files.mkdir()
    for learner, wrong in (("ann", False), ("bo", True)):
        for cell in notebook.cells:
            gid = cell.metadata.get("nbgrader", {}).get("grade_id", "")
            exercise = asked.exercises.get(gid.removesuffix("-answer"))
            if gid.endswith("-answer") and exercise is not None and exercise.key is not None:
                idea = next(iter(exercise.predicted.values()), {}) if wrong else {}
                given = {**exercise.key, **idea}
                cell.source = write_chart(exercise.id, exercise.fields, given)
        nbformat.write(notebook, files / f"{learner}.ipynb")
    roster, out = tmp_path / "roster.csv", tmp_path / "out"
    roster.write_text("id,name\nann,Ann\nbo,Bo\n", encoding="utf-8")
    assert main(["collect", str(files), "--unit", name, "--course", str(root), "--roster",
                 str(roster), "--out", str(out), "--release-keys"]) == 0
    assert main(["report", str(root), "--unit", name, "--out", str(out / "again")]) == 0
    assert main(["mark", str(files / "bo.ipynb"), "--html", str(out / "own.html")]) == 0
    assert main(["quiz", unit, "--settings", str(settings), "--out", str(out / "q.zip")]) == 0
    pages = dict(written_under(out))
    assert any("kPa (" in text for text in pages.values())
    for page, text in [*pages.items(), ("screen", " ".join(capsys.readouterr().out.split()))]:
        plain = re.sub(r"<style>.*?</style>|<!--.*?-->", "", text, flags=re.S)
        assert not told(re.sub(r"</t[hd]>\s*<t[hd][^>]*>", " ", plain)), page
