"""300 random broken school folders: a sentence for each fault, nothing written, no traceback."""
from __future__ import annotations

import random
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from own_school import WARD_ROUND, make_school

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.school.look_over import look_over

GROUP = 20
OWN = ('id = "own"\ntitle = "Own"\n[[question]]\nid = "q1"\nrecipe = "name the disorder"\n'
       'stem = "{patient} {gas}"\nwishes = [{disorder = "metabolic acidosis"}]\n')
Break = Callable[[Path, random.Random], None]


def _settings(text: str) -> Break:
    return lambda folder, _: _put(folder / "settings.toml", text)


def _school(text: str) -> Break:
    return lambda folder, _: _put(folder / "school.toml", text)


def _unit(old: str, new: str) -> Break:
    def broken(folder: Path, _: random.Random) -> None:
        path = folder / "questions" / "ward_round.txt"
        if path.is_file():
            text = path.read_text(encoding="utf-8", errors="replace")
            _put(path, text.replace(old, new, 1) if old in text else f"1. Which?\n{new}\n")
    return broken


def _own(old: str, new: str) -> Break:
    return lambda folder, _: _put(folder / "questions" / "own.toml", OWN.replace(old, new))


def _file(name: str, data: bytes) -> Break:
    def broken(folder: Path, _: random.Random) -> None:
        (folder / "questions").mkdir(exist_ok=True)
        (folder / "questions" / name).write_bytes(data)
    return broken


def _put(path: Path, text: str) -> None:
    if path.parent.is_file():  # another break has put a file in the folder's place
        return
    path.parent.mkdir(exist_ok=True)
    if not path.is_dir():
        path.write_text(text, encoding="utf-8")


def _noise(folder: Path, draw: random.Random) -> None:
    data = bytes(draw.randrange(256) for _ in range(draw.choice((3, 300, 3000))))
    name = draw.choice(("school.toml", "settings.toml", "questions/ward_round.txt"))
    (folder / name).parent.mkdir(exist_ok=True)
    (folder / name).write_bytes(b"\x00" + data)


def _cut(folder: Path, draw: random.Random) -> None:
    _put(folder / "settings.toml", "hco3 = [21, 28]"[:draw.randrange(1, 14)])


def _other(name: str, text: str) -> Break:
    return lambda folder, _: _put(folder / name, text)


_STORY = '[[normal.vignettes]]\nid = "own"\nward = "the clinic"\ntext = "{first} is fine."\n'
OVER: tuple[Break, ...] = (
    _other("lessons/01_ranges.md", "<b>bold</b>\n"), _other("lessons/unit_one.md", "Hello.\n"),
    _other("lessons/01_ranges.md", "![x](x.png)\n"), _other("lessons/01_ranges.txt", "Hello.\n"),
    _other("lessons/01_ranges.md", ""), _other("lessons", "a file"), _other("patients", "a file"),
    _other("patients/vignettes.toml", _STORY), _other("patients/vignettes.toml", "[normal]\n"),
    _other("patients/vignettes.toml", _STORY + 'cause = "none"\nrr = [9, 900]\n'),
    _other("patients/vignettes.toml", _STORY + "cause = 3\n"), _other("patients/x.toml", "x = 1"),
    _other("patients/vignettes.toml", _STORY.replace("first", "frist") + 'cause = "none"\n'),
    _other("patients/names.toml", "he = 3\n"), _other("patients/names.toml", 'him = ["Bo"]\n'),
    _other("patients/names.toml", 'he = ["Bo", ["Bo"]]\n'),
    _other("patients/bedside_people.toml", "[[person]]\nid = 'a'\n"),
    _other("patients/bedside_people.toml", "person = 4\n"),
    _other("words/own.po", 'msgid "Start here"\nmsgstr "{Here}"\n'), _other("words", "a file"),
    _other("words/own.po", 'msgid "No such"\nmsgstr "x"\n'), _other("words/es.po", ""),
    _other("words/own.po", 'msgctxt "x#y"\nmsgid "Start here"\nmsgstr "x"\n'),
    _other("words/own.po", 'msgid "Start here\nmsgstr "x"\n'), _other("words/own.txt", "hello"),
    _other("words/own.po", 'msgid "Start here"\nmsgid_plural "x"\nmsgstr[0] "x"\n'),
    _school('name = "a"\nlanguage = "es"\n'), _school('name = "a"\nlanguage = 7\n'),
)
BREAKS: tuple[Break, ...] = (
    *OVER,
    _settings("hco3 = [28, 21]\n"), _settings("hco3 = 22\n"), _settings('hco3 = "22-26"\n'),
    _settings("hco3 = [1, 90]\n"), _settings("hco2 = [22, 26]\n"), _settings("hco3 = [22, 26\n"),
    _settings("ph = [7.35, 7.45]\nmidline = 7.5\n"), _settings("[hco3]\nlow = 22\n"),
    _settings('metabolic_acidosis_rule = "mine"\n'), _settings("hco3 = [nan, 26]\n"), _cut,
    _school("name = 7\n"), _school("nme = 'x'\n"), _school("name"),
    _school('name = "' + "x" * 99 + '"'),
    _unit("right: A\n", "right: Q\n"), _unit("right: A\n", ""), _unit("right: A\n", "rihgt: A\n"),
    _unit("number: 26 mmol/L, within 1", "number: twenty"),
    _unit("number: 26 mmol/L, within 1", "number: 26 mmol/L, about 1"),
    _unit("number: 26 mmol/L", "number: 26 apples"),
    _unit("order: B, C, A", "order: B, C"), _unit("order: B, C, A", "order: 1, 2, 3"),
    _unit("low / normal / high (right)", "low / normal / high"),
    _unit("low / normal / high (right)", "high (right)"), _unit("looks for: names the pH\n"
          "looks for: says that nothing is wrong\n", ""),
    _unit("moderate}", "colossal}"), _unit("uncompensated respiratory alkalosis",
                                           "chronic uncompensated respiratory acidosis"),
    _unit("{gas: normal}", "{gas: }"), _unit("{gas: normal}", "{gas: normal, severe}"),
    _unit("{patient}", "{petient}"), _unit("directions swapped", "moon phase"),
    _unit("B. pH 7.21", "B. pH 7.52"), _unit("points: 3", "points: 3000"),
    _own("name the disorder", "no such recipe"), _own("metabolic acidosis", "purple"),
    _own("wishes", "wish"), _own('recipe = "name the disorder"', 'recipe = "read in parts"'),
    _own("[[question]]", "[question]"), _own('stem = "{patient} {gas}"', "stem = 3"),
    _own("{gas}", "{nothing}"), _own('title = "Own"\n', ""), _own('id = "own"', "id = "),
    _own('"name the disorder"', '"written by hand"'),
    _file("round.docx", b"PK\x03\x04zip"), _file("round.txt", b"PK\x03\x04zip"),
    _file("round.txt", b"%PDF-1.7"), _file("round.txt", b""), _file("Our Round.txt", b"x"),
    _file("ward_round.csv", WARD_ROUND.encode()), _file("01_ranges.txt", WARD_ROUND.encode()),
    _file("long.txt", b"1. Which?\n" + b"A. x\n" * 200_001), _noise,
    _file("many.txt", "".join(f"{n}. Is it {n}?\nA. yes\nB. no\nright: A\n\n"
                              for n in range(1, 50)).encode()),
)


@pytest.mark.slow
@pytest.mark.parametrize("group", range(300 // GROUP))
def test_a_broken_folder_is_told_in_sentences_and_nothing_is_written(group: int, tmp_path: Path,
                                                                     capsys) -> None:
    for seed in range(group * GROUP, (group + 1) * GROUP):
        draw = random.Random(seed)
        folder = make_school(tmp_path / f"s{seed}")
        for broken in [BREAKS[seed % len(BREAKS)], *draw.sample(BREAKS, draw.randrange(3))]:
            broken(folder, draw)
        out = tmp_path / f"out{seed}"
        before = sorted(tmp_path.rglob("*"))
        assert main(["school", "check", "--school", str(folder)]) == 1, seed
        assert "Faults" in capsys.readouterr().out
        for fault in look_over(folder).faults:
            assert fault.line >= 1
            assert fault.sentence.rstrip('".?)') != fault.sentence, (seed, fault.sentence)
            assert len(fault.sentence.split()) >= 3, (seed, fault.sentence)
            assert not re.search(r"Traceback|Error\b|<class|None\b", fault.sentence), (seed, fault)
        for words in (["study", "--no-open", "--to"], ["worksheet", "ward_round", "--out"]):
            code = main([*words, str(out), "--school", str(folder)])
            said = capsys.readouterr()
            assert code in (0, 2), seed
            if code == 2:
                assert "Traceback" not in said.err
                assert said.err.startswith(f"acidbase {words[0]}: ")
                assert not out.exists(), (seed, said.err)
                assert sorted(tmp_path.rglob("*")) == before, seed
            else:
                assert words[0] == "worksheet"  # this unit is whole: another file is not
