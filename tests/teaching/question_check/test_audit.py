"""The question writer's check: every planted fault is found, and sound questions pass in peace."""
from __future__ import annotations

from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from acidbase_lib.teaching.handwritten.question_sheet import UnreadableError
from acidbase_lib.teaching.question_check.audit import audit_file, audit_text
from acidbase_lib.teaching.question_check.findings import LOOK, MUST, Audit
from acidbase_lib.teaching.question_check.report import report

HERE = Path(__file__).parent / "sheets"
SOUND, FAULTY = HERE / "sound.txt", HERE / "faulty.txt"


def planted() -> list[tuple[str, str, int]]:
    """(question, kind, line) of every fault, as the file itself lists them."""
    found: list[tuple[str, str, int]] = []
    waiting: list[tuple[str, str]] = []
    lines = FAULTY.read_text("utf-8").split("\n")
    for number, line in enumerate(lines, 1):
        if line.startswith("# planted:"):
            kind, begins = line.removeprefix("# planted:").split("|")
            waiting.append((kind.strip(), begins.strip()))
        elif waiting and line.split(".")[0].isdigit():
            for kind, begins in waiting:
                place = next(n for n in range(number, len(lines) + 1)
                             if lines[n - 1].startswith(begins))
                found.append((line.split(".")[0], kind, place))
            waiting = []
    return found


@pytest.fixture(scope="module")
def faulty() -> Audit:
    return audit_file(FAULTY)


def test_there_are_forty_faulty_and_twenty_sound_questions(faulty: Audit) -> None:
    assert len(faulty.questions) == 40
    assert {name for name, _, _ in planted()} == {str(n) for n in range(1, 41)}
    assert len({kind for _, kind, _ in planted()}) >= 25
    assert len(audit_file(SOUND).questions) == 20


@pytest.mark.slow
@pytest.mark.parametrize(("name", "kind", "line"), planted(),
                         ids=[f"{name} {kind}" for name, kind, _ in planted()])
def test_every_planted_fault_is_found_on_its_line(
        faulty: Audit, name: str, kind: str, line: int) -> None:
    if kind == "broken line":
        assert line in {one.line for one in faulty.broken}
        return
    question = next(one for one in faulty.questions if one.name == name)
    found = {(one.kind, one.line) for one in question.findings if one.weight in (MUST, LOOK)}
    assert (kind, line) in found, found


def test_nothing_but_what_was_planted_must_be_mended(faulty: Audit) -> None:
    """A fault may not make the check see others beside it."""
    wanted = {(name, kind) for name, kind, _ in planted()}
    extra = {(question.name, one.kind) for question in faulty.questions
             for one in question.findings if one.weight in (MUST, LOOK)} - wanted
    assert extra == set()


def test_sound_questions_pass_without_a_false_alarm() -> None:
    audit = audit_file(SOUND)
    alarms = [(question.name, one.kind, one.says) for question in audit.questions
              for one in question.findings if one.weight in (MUST, LOOK)]
    alarms += [("file", one.kind, one.says) for one in audit.whole if one.weight in (MUST, LOOK)]
    assert alarms == []
    assert audit.broken == ()
    assert audit.sound


def test_sound_questions_in_another_hand_pass_as_well() -> None:
    audit = audit_file(HERE / "held_out_sound.txt")
    assert len(audit.questions) == 22
    assert [(question.name, one.kind) for question in audit.questions
            for one in question.findings if one.weight in (MUST, LOOK)] == []


def test_faults_in_another_hand_are_found_as_well() -> None:
    path = HERE / "held_out_faulty.txt"
    wanted = [line.removeprefix("# planted: ") for line in path.read_text("utf-8").splitlines()
              if line.startswith("# planted: ")]
    audit = audit_file(path)
    assert len(audit.questions) == len(wanted) == 10
    for question, kind in zip(audit.questions, wanted, strict=True):
        assert kind in {one.kind for one in question.findings if one.weight in (MUST, LOOK)}


def test_every_finding_says_why_and_how_to_mend_it(faulty: Audit) -> None:
    for one in faulty.findings:
        assert one.says.strip()
        assert one.mend.strip()
        assert one.line > 0


def test_the_report_fits_and_ends_with_the_counts(faulty: Audit) -> None:
    text = report(faulty, "questions.txt", explain=True)
    assert max(map(len, text.splitlines())) <= 90
    assert "40 questions" in text
    assert f"{faulty.count(MUST)} must be mended" in text
    assert "For teaching, not for care" in " ".join(text.split())
    assert "Haladyna TM, Downing SM, Rodriguez MC" in text


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=400))
def test_no_text_whatever_raises(text: str) -> None:
    with suppress(UnreadableError):
        report(audit_text(text))


_PIECES = ("pH 7.28", "PaCO2 66 mmHg", "HCO3 -30", "A. respiratory acidosis", "B) ", "right: ",
           "right: B", "1. ", "2) x", "suggests C: x", "because:", "ranges: pH 9-8", "\n", "\n\n",
           "stem,a,b,right\n", "SpO2 300 %", "RR 0", "kPa", "5.3", "not", "COPD", "which?", "*",
           "A. Give oxygen", "B. Count the breaths", "what first?", "pH 7.4-7.2", "Na 100 Cl 140",
           "FiO2 900 %", "C. compensated normal", "1e999", "9999", "ranges: HCO3 26-22", "\x00",
           '"', "-",
           "A. pH 7.3, PaCO2 0 mmHg, HCO3 1 mmol/L", "What is the anion gap?", "A. 12", "B. 13")


@pytest.mark.slow
@settings(max_examples=300, deadline=None)
@given(st.lists(st.one_of(st.sampled_from(_PIECES), st.text(max_size=6)), max_size=40)
       .flatmap(lambda parts: st.sampled_from((" ", "\n", ", ")).map(lambda j: j.join(parts))))
def test_no_heap_of_scraps_raises(text: str) -> None:
    with suppress(UnreadableError):
        told = report(audit_text(text), explain=True)
        assert max(map(len, told.splitlines())) <= 90 or len(max(text.split(), key=len)) > 60
