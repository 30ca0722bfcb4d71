"""A quiz goes into other people's QTI software: the same items, keys, marks and feedback come out.

Readers: the web components @citolab/qti-components and the player qti3-item-player; a package of
QTI 2.1 goes first through the converter of @citolab/qti-convert. See ``qti_readers.py``.
"""
from __future__ import annotations

import os
import zipfile
from collections.abc import Iterator, Mapping
from io import BytesIO
from typing import Any

import pytest
from qti_answers import Given, OddUnit, answers, marked, points, unit_with_keys
from qti_readers import MODULES, Components, Page, Player, browser_page, converted

from acidbase_lib.caution import CAUTION
from acidbase_lib.classroom.exports.qti_package import quiz
from acidbase_lib.teaching.feedback.named_idea import idea_of
from acidbase_lib.teaching.feedback.review import review_lines
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.fields import Field, Value
from acidbase_lib.teaching.questions.question_file import unit_ids
from acidbase_lib.teaching.unit import Unit

pytestmark = pytest.mark.services

FEW = 2  # answers tried in the slower player: the right one, and a wrong one or two
KINDS = {"qti-choice-interaction": {"one", "many"}, "qti-order-interaction": {"order"},
         "qti-text-entry-interaction": {"number"}, "qti-extended-text-interaction": {"text"}}
UNITS = (*unit_ids(), "odd")
#: Every kind of question is in these; the rest are read with `-m "services and long"` as well.
SHORT = ("03_compensation", "07_clinical_priority", "odd")
ASKED = [name if name in SHORT else pytest.param(name, marks=pytest.mark.long) for name in UNITS]


@pytest.fixture(scope="module")
def page() -> Iterator[Page]:
    pytest.importorskip("playwright", reason="pip install playwright")
    if not (MODULES / "@citolab/qti-components").is_dir() and "ACIDBASE_QTI" not in os.environ:
        pytest.skip("no QTI readers in ACIDBASE_QTI; qti_readers.py says how to install them")
    with browser_page() as served:
        yield served
        assert served.asked_elsewhere == []


@pytest.fixture(scope="module")
def components(page: Page) -> Components:
    return Components(page)


@pytest.fixture(scope="module")
def player(page: Page, components: Components) -> Player:
    return Player(page)


@pytest.fixture(scope="module")
def packages(page: Page, tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, Any]:
    """Every unit's package, of QTI 3.0 as it is and of QTI 2.1 as it was converted."""
    old = converted({name: quiz(opened(name), "2.1").zipped() for name in UNITS},
                    tmp_path_factory.mktemp("qti"))
    return {"3.0": {name: quiz(opened(name), "3.0").zipped() for name in UNITS}, "2.1": old}


def opened(name: str) -> Unit:
    return OddUnit() if name == "odd" else unit_with_keys(name, form=2)


def option(part: Mapping[str, Any], field: Field, word: str) -> str:
    """The outside name of the option that a person sees."""
    shown = next(choice.shown for choice in field.choices if choice.word == word)
    return dict(part["choices"])[shown]


def outside(part: Mapping[str, Any], field: Field, value: Value | None) -> Any:
    """An answer as a learner would click it in the reader."""
    if value is None:
        return None
    if field.kind == "number":
        return f"{value:g}"
    if isinstance(value, tuple):
        return [option(part, field, word) for word in value]
    return option(part, field, str(value))


def responses(item: Mapping[str, Any], exercise: Exercise, given: Given) -> dict[str, Any]:
    return {part["response"]: outside(part, field, given.get(field.name))
            for part, field in zip(item["parts"], exercise.fields, strict=True)}


def same(one: Any, other: Any) -> bool:
    """Keys are the same where numbers and the order of free choices do not matter."""
    if isinstance(one, list) and isinstance(other, list):
        return sorted(one) == sorted(other)
    return one == other or (one is not None and other is not None
                            and not isinstance(one, list) and float(one) == float(other))


def check_item(components: Components, url: str, exercise: Exercise) -> int:
    """Hold one item of the first reader against its exercise; return how many answers were tried.
    """
    item = components.item(url)
    assert item["identifier"].endswith(f"_{exercise.id}")
    assert item["maximum"] == exercise.points
    assert len(item["parts"]) == len(exercise.fields)
    assert item["tables"] == (exercise.prompt.count("|:--") > 0)
    for part, field in zip(item["parts"], exercise.fields, strict=True):
        assert field.kind in KINDS[part["kind"]]
        assert [text for text, _ in part["choices"]] == [one.shown for one in field.choices]
        assert part["label"] in {field.name, ""}
    if exercise.key is None:
        assert not item["scores_itself"]
        return 0
    for part, field in zip(item["parts"], exercise.fields, strict=True):
        key = outside(part, field, exercise.key[field.name])
        found = item["correct"][part["response"]]
        assert found == key if field.kind == "order" else same(found, key)
    tried = list(answers(exercise))
    for given, result in zip(tried, components.attempts([responses(item, exercise, given)
                                                         for given in tried]), strict=True):
        assert result["score"] == pytest.approx(points(exercise, given), abs=1e-9), given
        check_feedback(exercise, given, result["told"])
    return len(tried)


def check_feedback(exercise: Exercise, given: Given, told: list[str]) -> None:
    """The reasons are shown, and just the ideas that the kit's own review would name."""
    assert all(" ".join(line.split()) in " ".join(told[0].split()) for line in exercise.because)
    assert CAUTION in told[0]
    if () not in given.values():  # "none of them" is no answer to QTI, and suggests nothing
        result = marked(exercise, given)
        idea = idea_of(exercise, result) if len(given) == len(exercise.fields) else None
        named = {MISCONCEPTIONS[idea].suggests} if idea else set()
        assert {" ".join(line.split()) for line in told[1:]} == \
            {" ".join(line.split()) for line in named}
        assert not given or named <= set(review_lines(exercise, result))


@pytest.mark.parametrize("version", ["3.0", "2.1"])
@pytest.mark.parametrize("name", ASKED)
def test_same_items_keys_marks_and_feedback(components: Components, packages: Mapping[str, Any],
                                            name: str, version: Any) -> None:
    unit = opened(name)
    made = quiz(unit, version)
    urls = components.open(packages[version][name])
    assert len(urls) == len(made.held)
    tried = [check_item(components, url, unit.exercises[question])
             for url, question in zip(urls, made.held, strict=True)]
    assert sum(tried) >= 5 * sum(count > 0 for count in tried)


@pytest.mark.parametrize("name", ASKED)
def test_a_second_player_gives_the_same_marks(components: Components, player: Player,
                                              name: str) -> None:
    unit = opened(name)
    made = quiz(unit)
    urls = components.open(made.zipped())
    archive = zipfile.ZipFile(BytesIO(made.zipped()))
    player.troubles.clear()
    for url, question in zip(urls, made.held, strict=True):
        exercise = unit.exercises[question]
        xml = archive.read(url.partition("/package/")[2]).decode()
        blank = player.blank(xml)
        item = components.item(url)
        maximum = next(one for one in blank["outcomeVariables"] if one["identifier"] == "MAXSCORE")
        assert float(maximum["value"]) == exercise.points
        for given in [] if exercise.key is None else _few(exercise):
            score = player.score(xml, blank, responses(item, exercise, given))
            assert score == pytest.approx(points(exercise, given), abs=1e-9), (question, given)
    assert player.troubles == []


def _few(exercise: Exercise) -> list[Given]:
    """A few whole answers, right and wrong."""
    tried = [given for given in answers(exercise) if len(given) == len(exercise.fields)]
    return [*tried[:FEW], tried[-1]]
