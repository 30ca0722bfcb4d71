"""Practice of the whole gas: seven lines, no ranges, nothing told before it is locked."""
from __future__ import annotations

import json

import pytest

from acidbase_lib.reading.interpretation import interpret
from acidbase_lib.teaching.practice.whole_gas import STEPS, WholeGasPractice, WholeGasRun, view_of
from acidbase_lib.teaching.recipes.whole_chart import CHART_FIELDS


def wrong_in(run: WholeGasRun, *names: str) -> dict[str, str]:
    """The key, but for these lines."""
    return {field.name: next(word for word in field.words if word != run.keys[field.name])
            if field.name in names else run.keys[field.name] for field in CHART_FIELDS}


def test_the_key_is_the_librarys_own_reading() -> None:
    run = WholeGasRun("Saltmere")
    for _ in range(10):
        reading = interpret(run.case.gas)
        assert run.keys["disorder"] == (reading.primary or "normal")
        assert run.keys["processes"] == ("none", "one", "two")[len(reading.processes)]
        run.next()


def test_no_range_and_no_answer_stands_there_before_it_is_locked() -> None:
    shown = view_of(WholeGasRun("Saltmere"))
    assert shown["columns"] == ["number", "result"]
    assert [len(row) for row in shown["rows"]] == [2, 2, 2]
    assert len(shown["lines"]) == 7
    assert not any(line["chosen"] for line in shown["lines"])
    assert (shown["verdict"], shown["marked"]) == ("", [])
    assert "–" not in json.dumps(shown["rows"], ensure_ascii=False)


def test_seven_right_lines_are_right_and_the_second_such_gas_raises_the_step() -> None:
    run = WholeGasRun("Saltmere")
    names = []
    for _ in range(6):
        names.append(run.about)
        assert run.answer(run.keys)
        run.next()
    assert len(set(names)) > 1
    assert run.step == len(STEPS) - 1


def test_a_wrong_line_is_told_with_the_rule_and_why_it_falls() -> None:
    run = WholeGasRun("Saltmere")
    assert not run.answer(wrong_in(run, "PaCO2", "processes"))
    shown = view_of(run)
    assert shown["verdict"] == "5 of 7 lines are right."
    marked = {row["line"]: row for row in shown["marked"]}
    assert [name for name, row in marked.items() if not row["right"]] == ["PaCO2", "processes"]
    assert all(row["rule"] for row in marked.values())
    assert marked["PaCO2"]["falls"]
    assert run.given()["missed"] == ("PaCO2", "processes")


def test_it_is_locked_once() -> None:
    run = WholeGasRun("Saltmere")
    run.answer(wrong_in(run, "pH"))
    assert not run.answer(run.keys)
    assert run.missed == ("pH",)


@pytest.mark.parametrize("given", [{}, {"pH": "low"}, "pH: low", None, {"pH": "lowish"}])
def test_a_line_that_is_missing_or_not_offered_is_refused_by_name(given: object) -> None:
    run = WholeGasRun("Saltmere")
    with pytest.raises(ValueError, match=r"(pH|bicarbonate): .* is not offered here"):
        run.answer(given)  # type: ignore[arg-type]
    assert not run.answered


def test_what_the_page_sends_locks_it_and_nonsense_does_not() -> None:
    screen = WholeGasPractice("Saltmere")
    for nonsense in ({}, {"lines": 3}, {"lines": {"pH": "low"}}, {"choice": "low"}):
        screen._heard(screen, {"want": "answer", **nonsense}, [])
        assert not screen.view["answered"]
    screen._heard(screen, {"want": "answer", "lines": screen.run.keys}, [])
    assert screen.view["verdict"] == "All seven lines are right."
    screen._heard(screen, {"want": "next"}, [])
    assert screen.view["title"] == "Patient 2"


@pytest.mark.parametrize("kind", ["normal", "mixed respiratory and metabolic alkalosis",
                                  "respiratory acidosis"])
def test_a_kind_that_is_asked_for_comes(kind: str) -> None:
    run = WholeGasRun("Saltmere")
    for _ in range(3):
        assert run.next_about(kind)
        assert run.keys["disorder"] == kind
        assert run.step == 0
