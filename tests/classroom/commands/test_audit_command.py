"""`acidbase audit`: what it prints, how it ends, and what it refuses."""
from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from acidbase_lib.caution import CAUTION
from acidbase_lib.classroom.commands import main as command
from acidbase_lib.classroom.commands.audit import kept_text
from acidbase_lib.teaching.question_check.audit import audit_text

QUESTIONS = Path(__file__).parents[2] / "teaching" / "question_check" / "sheets"


@pytest.fixture
def audit(capsys):
    def run(*words: str) -> tuple[int, str, str]:
        code = command.main(["audit", *words])
        told = capsys.readouterr()
        return code, told.out, told.err
    return run


def test_a_faulty_file_ends_with_1_and_names_line_reason_and_mend(audit):
    code, out, err = audit(str(QUESTIONS / "faulty.txt"))
    assert (code, err) == (1, "")
    text = " ".join(out.split())
    assert ("pH 7.28 with PaCO2 66 mmHg allows a bicarbonate of 30.7 mmol/L, and 22 is printed"
            in text)
    assert "Mend: Write 'right: B' (metabolic alkalosis)." in text
    assert max(map(len, out.splitlines())) <= 100
    assert out.rstrip().endswith(CAUTION.split(". ")[1])
    assert "40 questions" in out


def test_a_sound_file_ends_with_0(audit):
    code, out, err = audit(str(QUESTIONS / "sound.txt"))
    assert (code, err) == (0, "")
    assert "20 questions, nothing to mend found in 20" in out


def test_explain_says_what_was_understood(audit):
    out = audit(str(QUESTIONS / "sound.txt"), "--explain")[1]
    assert "kind: what first" in out
    assert "rule 'dangerous, CO2 risk'" in out


def test_json_holds_everything(audit):
    code, out, _ = audit(str(QUESTIONS / "faulty.txt"), "--json")
    told = json.loads(out)
    assert code == 1
    assert len(told["questions"]) == 40
    finding = told["questions"][0]["findings"][0]
    assert set(finding) == {"weight", "kind", "line", "says", "mend", "source"}
    assert set(told["counts"]) == {"must be mended", "look again", "a thought"}
    assert "teaching" in told["caution"]


def test_the_guide_is_short_and_what_it_shows_is_sound(audit):
    code, out, _ = audit("--guide")
    assert code == 0
    assert max(map(len, out.splitlines())) <= 80
    assert CAUTION in out
    shown = "\n".join(line.strip() for line in out.splitlines()
                      if line[:4] == "    " and line[4:5] != " ")
    assert audit_text(shown.split("because:")[0]).sound


def test_the_example_holds_what_it_says(audit, tmp_path):
    code, out, _ = audit("--example")
    assert code == 0
    path = tmp_path / "questions.txt"
    path.write_text(out, "utf-8")
    code, out, _ = audit(str(path))
    assert code == 1
    assert "3 questions, nothing to mend found in 2; findings: 2 must be mended" in out


@pytest.mark.parametrize(("name", "data", "says"), [
    ("none.txt", None, "is not there"), ("empty.txt", b"", "is empty"),
    ("data.bin", b"\x00\x01" * 50, "is not text"), ("book.xlsx", b"PK\x03\x04", "CSV"),
    ("prose.txt", b"Dear colleague", "holds no question"),
])
def test_a_file_that_cannot_be_read_is_one_sentence_and_code_2(audit, tmp_path, name, data, says):
    path = tmp_path / name
    if data is not None:
        path.write_bytes(data)
    code, out, err = audit(str(path))
    assert (code, out) == (2, "")
    assert says in err
    assert len(err.splitlines()) == 1


def test_without_a_file_it_says_where_the_guide_is(audit):
    code, _, err = audit()
    assert code == 2
    assert "--guide" in err


@pytest.mark.slow
def test_the_check_loads_nothing_heavy():
    code = (f"import sys; from acidbase_lib.classroom.commands.main import main; "
            f"main(['audit', {str(QUESTIONS / 'sound.txt')!r}]); "
            "print(sorted({m.split('.')[0] for m in sys.modules} & {'numpy', 'pandas', 'nbgrader',"
            " 'matplotlib', 'ipywidgets', 'IPython', 'jinja2', 'rich', 'nbformat'}))")
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.splitlines()[-1] == "[]"


def test_guide_and_example_are_in_the_library():
    assert "right: A" in kept_text("guide")
    assert "right: A" in kept_text("example")
