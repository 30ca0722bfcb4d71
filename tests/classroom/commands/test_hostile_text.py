"""Escape sequences and marks that turn the direction of writing: spelled wherever they come in."""
from __future__ import annotations

import json
import zipfile
from pathlib import Path

import pytest
from handing_in import RIGHT, answered, make_course, released, small_source

from acidbase_lib.classroom.commands import collect
from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource
from acidbase_lib.classroom.plain_letters import printable, seen

pytestmark = pytest.mark.slow

ODD = ("\x1b[2J", "\x1b]0;title\x07", "\x9b2J", "\u202egnp.", "\u2066", "\u200f", "\u200b",
       "\ufeff", "\x08\x08", "\r", "\u2028", "\U000e0041")
NAMES = tuple(f"Ada{odd}{number}" for number, odd in enumerate(ODD))


@pytest.fixture
def school(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Names, file names and answers that hold them, handed in."""
    import small_unit

    monkeypatch.setattr(collect, "_unit", lambda *_: small_unit.open_small_unit())
    root = make_course(tmp_path / "school", "small", small_source())
    release = released(AssignmentSource.from_notebook(small_source(), "small"))
    with zipfile.ZipFile(tmp_path / "in.zip", "w") as archive:
        for number, odd in enumerate(ODD):
            work = answered(release, RIGHT | {
                "q1-1": f"%%chart q1-1\npH: low{odd}\n{odd}disorder: x{odd}y",
                "q1-6": f"%%chart q1-6\nbecause: of {odd} this"})
            work["cells"].append({"cell_type": "code", "metadata": {}, "outputs": [],
                                  "source": f"%%chart q9-{odd}9\npH: low"})
            archive.writestr(f"n{100 + number} {odd}.ipynb", json.dumps(work))
            archive.writestr(f"whose {odd}.ipynb", b"{}")
    (tmp_path / "roster.csv").write_text("id,first name,last name\n" + "".join(
        f'n{100 + number},"{name}","Quill{ODD[number]}"\n' for number, name in enumerate(NAMES)),
        encoding="utf-8", newline="")
    return root


def hostile(text: str) -> str:
    return printable(text.replace("\r\n", "\n").removeprefix("\ufeff"))


def test_no_file_and_no_line_on_the_terminal_holds_them_raw(
        school: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out, place = tmp_path / "out", ["--course", str(school)]
    told = ["--unit", "small", "--roster", str(tmp_path / "roster.csv"), "--out", str(out)]
    assert main(["collect", str(tmp_path / "in.zip"), *told, *place]) == 0
    assert main(["collect", *told, *place, "--release-keys"]) == 0
    for command in (["check"], ["backup"], ["erase", "n103", "--roster", told[3]],
                    ["erase", "\x1b[2J"], ["collect", "no\x1b[2J.zip", *told]):
        main([*command, *place])
    assert main(["collect", *told, *place]) == 0
    shown = capsys.readouterr()
    for text in (shown.out, shown.err):
        assert text == hostile(text)
    texts = [path for path in out.rglob("*") if path.suffix in {".csv", ".html"}]
    assert {"learners.csv", "intake.csv", "grades.csv", "receipts.csv", "class_report.html",
            "n100.html"} <= {path.name for path in texts}
    for path in [*texts, school / "grading" / "history" / "log.jsonl"]:
        # the text of a page may hold them where the kit's own program does: none does
        text = path.read_bytes().decode("utf-8")
        assert text.replace("\r\n", "\n").removeprefix("\ufeff") == hostile(text), path
    for path in [*out.rglob("*"), *school.rglob("*")]:
        assert path.name == printable(path.name)


def test_learners_keep_their_names_and_their_marks(school: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert main(["collect", str(tmp_path / "in.zip"), "--unit", "small", "--roster",
                 str(tmp_path / "roster.csv"), "--out", str(out), "--course", str(school)]) == 0
    text = (out / "report" / "learners.csv").read_text("utf-8-sig")
    assert "Ada5 Quill" in text  # a mark that is not seen is left out
    assert r"Ada\x1b[2J0" in text  # what a terminal would obey is spelled
    assert len((out / "grades.csv").read_text().splitlines()) == 1 + len(ODD)


@pytest.mark.parametrize("name", ["Chloé", "Nguyễn Thị", "محمد", "می‌خواهم", "學生", "O’Neill"])
def test_a_name_of_any_script_stays_as_it_is(name: str) -> None:
    assert seen(name) == printable(name) == name
