"""Our own face: whom we cite, and one name for one thing in all that a learner reads."""
from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any, get_args

import pytest
from for_each import for_each

from acidbase_lib import BloodGas, interpret
from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.exports.worksheet import worksheet_page
from acidbase_lib.physiology.references import REFERENCES, Kind, Reference
from acidbase_lib.reading.priority.sources import PRIORITY_SOURCES
from acidbase_lib.reading.sources import SOURCES, cite
from acidbase_lib.reading.telling.report import reading_text
from acidbase_lib.teaching.patients.cause_sources import CAUSE_SOURCES
from acidbase_lib.teaching.question_check.findings import CITED
from acidbase_lib.teaching.questions.exercise import RULES_IN_WORDS, SELECT_ALL
from acidbase_lib.teaching.unit import open_unit

ROOT = Path(__file__).parents[2]
TEXT = {".py", ".toml", ".md", ".csv", ".txt", ".ipynb", ".js", ".css", ".html", ".mjs", ".svg"}
CITABLE = get_args(Kind)
BIBLIOGRAPHIES = {"physiology": REFERENCES, "reading": SOURCES, "priority": PRIORITY_SOURCES,
                  "causes": CAUSE_SOURCES, "question check": CITED}
ROWS = [row for rows in BIBLIOGRAPHIES.values() for row in rows.values()]

# The first 16 digits of the SHA-256 of lower-cased words and pairs of words that no file here may
# hold: sites, examining bodies and packets that teach what this kit teaches, and their labels.
REFUSED = frozenset({
    "0a088fba907cda76", "0ac3945af95d175c", "0c8da3b575e46961", "10ee49d48a092bc1",
    "1d3bc4a06a50c0e2", "2ad7201d2fc79cb6", "2bb2b13475de1407",
    "3bcad3edcd45ca90", "3ee047e8c20900f4", "44846753c28371b6", "46362ebbfd17dae6",
    "47627011f6ddace0", "4f4489ab7dfa6a4a", "50b2722acac901a9", "5271ce1e2cebd836",
    "5537f3fcd3b7c705", "593de7ed0a9e4ece", "5c0891655e435038", "63da44d4bb7cd590",
    "65caf91c2ee13ec3", "7527b9836256ef4e", "76248a1c86b07b84", "789ce840bf5ca879",
    "95ba9bd8c39b48b9", "a86f5232dceffe48", "b128ced78f2517a1", "b4fe6c36e73d7f81",
    "bf11ba3f487c3841", "c3ebd7ed6d852dbe", "d2c757fe25db2bd2", "dec3ec307b4df537",
    "e68206408b64f5f0", "e9a1bccc373da3df", "f0cc636e9d2077cd",
    "fb3ebbef2c00e2ac",
})


# --- whom we cite ---------------------------------------------------------------------------------

@for_each(ROWS)
def test_every_source_is_of_a_kind_that_may_be_cited(row: Reference):
    assert row.kind in CITABLE
    assert (row.kind == "common practice") == (row.seen == "common practice")
    assert (row.kind == "arithmetic") == (row.seen == "arithmetic")


@for_each(ROWS)
def test_no_source_is_an_address(row: Reference):
    """A page's address is no citation: a journal, a guideline or a book has a name."""
    assert not re.search(r"https?:|www\.|\.(?:com|org|edu|net)\b", row.citation + row.where)


@pytest.mark.parametrize("path", sorted((ROOT / "tests" / "published").glob("*.csv")),
                         ids=lambda path: path.name)
def test_every_printed_table_says_where_it_comes_from(path: Path):
    """And no address stands in it but the terms and identifiers of the open data."""
    lines = path.read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("# source: ")
    told = "\n".join(line for line in lines if "opendatacommons.org" not in line)
    assert not re.search(r"https?:|www\.|\w\.(?:com|edu|net)\b", told)


def digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def files() -> Iterator[Path]:
    for folder in ("acidbase_lib", "tests", "solutions", "course", "binder", ".ci"):
        yield from (p for p in (ROOT / folder).rglob("*") if p.suffix in TEXT and p.is_file())
    yield from (ROOT / name for name in ("README.md", "DEVELOPERS.md", "pyproject.toml"))


@pytest.mark.slow
def test_no_file_names_what_teaches_the_same_or_examines_it():
    where: dict[str, str] = {}
    for path in files():
        words = re.findall(r"[a-z]+", path.read_text(encoding="utf-8", errors="replace").lower())
        for said in {*words, *map(" ".join, pairwise(words))}:
            where.setdefault(said, str(path.relative_to(ROOT)))
    assert {said: path for said, path in where.items() if digest(said) in REFUSED} == {}


def test_the_digests_do_refuse():
    assert digest("".join(("bran", "dis"))) in REFUSED


# --- one name for one thing -----------------------------------------------------------------------

def notebooks() -> list[Any]:
    found = sorted((ROOT / "course").glob("*/*.ipynb")) + sorted(
        (ROOT / "solutions").glob("*/*.ipynb"))
    return [pytest.param(path, id=str(path.relative_to(ROOT))) for path in found]


def told_in(path: Path) -> str:
    """All Markdown of a notebook, and the text of its answer cells."""
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    return "\n".join("".join(cell["source"]) for cell in cells
                     if cell["cell_type"] == "markdown" or "%%chart" in "".join(cell["source"]))


def question_files() -> list[Any]:
    folder = ROOT / "acidbase_lib"
    return [pytest.param(path, id=path.name) for path in sorted(
        p for p in folder.rglob("*.toml") if "[[question]]" in p.read_text(encoding="utf-8"))]


def strays(text: str) -> list[str]:
    """What says points, or several choices, by another name."""
    found = re.findall(r".*(?<!quotation )(?<!question )\bmarks?\b(?! as |\?).*", text)
    asks = re.compile(r"\b(?:tick|select|choose|check|mark) (?:all|every)\b[^.|`\"*:]*", re.I)
    for match in asks.finditer(text):
        if not match[0].lower().startswith(SELECT_ALL[:-1].lower()):
            found.append(match[0])
    return found


@pytest.mark.parametrize("path", notebooks())
def test_a_notebook_says_points_and_one_phrase_for_several_choices(path: Path):
    assert strays(told_in(path)) == []


@pytest.mark.parametrize("path", question_files())
def test_a_question_file_says_points_and_one_phrase_for_several_choices(path: Path):
    lines = path.read_text(encoding="utf-8").splitlines()
    assert strays("\n".join(line for line in lines if not line.startswith("#"))) == []


def test_the_rules_the_form_and_the_paper_say_it_the_same_way():
    assert strays("\n".join(RULES_IN_WORDS.values())) == []
    script = (ROOT / "acidbase_lib").rglob("chart_form.js")
    assert SELECT_ALL in next(script).read_text(encoding="utf-8")
    sheet = worksheet_page(open_unit("06_causes_and_electrolytes"))
    assert SELECT_ALL[1:-1] in sheet
    assert strays(re.sub("<[^>]+>", "\n", sheet.partition("</style>")[2])) == []


def test_strays_are_found():
    for wrong in ("(3 marks).", "One mark a line.", "Tick all that apply.", "select all that fit"):
        assert strays(wrong), wrong
    assert not strays("(3 points). Select all that apply. A question mark stands here.")


@pytest.mark.parametrize("path", notebooks() + question_files())
def test_no_learner_reads_how_far_a_constant_was_checked(path: Path):
    assert "not yet checked" not in path.read_text(encoding="utf-8")


@for_each(ROWS)
def test_no_printed_reading_says_that_something_is_not_yet_checked(row: Reference):
    from acidbase_lib.reading.sources import cite_row

    assert "not yet checked" not in cite_row(row)


def test_a_reading_cites_by_the_same_rule():
    for gas in (BloodGas(7.28, 66, 30), BloodGas(7.39, 24, 14, sodium=140, chloride=106)):
        assert "not yet checked" not in reading_text(interpret(gas))
    assert "not yet checked" not in "\n".join(map(cite, SOURCES))


# --- the command line speaks to a nurse -----------------------------------------------------------

@pytest.mark.parametrize("words", [
    "7.3 5.3 24", "7.3 60 24 --kpa", "7.3 600 24", "7.3 40 240", "40 40 24", "7.3 nan 24",
    "7.3 40 24 --pao2 12", "7.3 5 24 --kpa --pao2 98", "7.3 40 24 --fio2 21",
    "7.3 40 24 --hemoglobin 14", "7.3 40 24 --albumin 4", "7.3 40 24 --glucose 180",
    "7.3 40 24 --sodium 14", "7.3 40 24 --barometric-pressure 101", "7.3 40 24 --age 400",
    "7.3 40 24 --sao2 0.9", "7.3 40 24 --sao2 104", "7.3 40 24 --lactate 90"])
def test_bad_input_is_answered_in_words_and_never_in_python(
        words: str, capsys: pytest.CaptureFixture[str]):
    """No call, no dotted name, no name with an underscore: whoever types this reads no code."""
    assert main(["read", *words.split()]) == 2
    said = capsys.readouterr().err
    assert said.startswith("acidbase read: ")
    assert not re.search(r"\w\(|\w_\w|[a-z]\.[a-z]|BloodGas|Settings", said), said


def test_a_pressure_that_cannot_be_is_told_about_the_unit(capsys: pytest.CaptureFixture[str]):
    main(["read", "7.3", "5.3", "24"])
    assert "With --kpa, both pressures are read in kPa" in capsys.readouterr().err
    main(["read", "7.3", "60", "24", "--kpa"])
    assert "Without --kpa, pressures are read in mmHg" in capsys.readouterr().err
