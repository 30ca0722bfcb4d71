"""A school's own words stand in the place of the kit's, by key; their faults are told by line."""
from __future__ import annotations

import re
import shutil
import tomllib
from pathlib import Path

import nbformat
import pytest
from own_school import hand_in, make_school
from pseudo_words import pseudo, write_pseudo

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.school.catalogue import _files, sentences
from acidbase_lib.classroom.school.folder import find_school
from acidbase_lib.classroom.school.look_over import look_over
from acidbase_lib.classroom.school.over import laid_over_of
from acidbase_lib.classroom.school.said import _IN_A_SCRIPT, of_programs
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.settings_in_force import by_settings
from acidbase_lib.teaching.content import content_text
from acidbase_lib.teaching.laid_over import as_toml, each_text, for_unit
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.questions.answer_text import write_chart
from acidbase_lib.teaching.questions.question_file import unit_ids
from acidbase_lib.teaching.review import status
from acidbase_lib.teaching.unit import open_unit
from acidbase_lib.teaching.widgets import assets
from acidbase_lib.teaching.widgets.placed_widget import PlacedWidget
from acidbase_lib.teaching.worded import worded_many

KEY = "questions/01_ranges.toml#title"
TITLE = f'msgctxt "{KEY}"\nmsgid "What each number says"\nmsgstr "Our numbers"\n'
TOLD = ('msgctxt "facts.toml#why a pressure.because"\nmsgid "A gas moves from where its partial '
        'pressure is high to where it is low. Bicarbonate is dissolved like salt."\n'
        'msgstr "Gas moves downhill."\n')
BELLY = ('msgid "{first} lives with diabetes and ran out of insulin two days ago. {They} {has} been'
         ' thirsty and passed urine all night. {Their} breath smells of fruit."\n'
         'msgstr "{first} ran out of insulin."\n')
HEAD = ('msgid ""\nmsgstr ""\n"Content-Type: text/plain; charset=utf-8\\n"\n'
        '"Plural-Forms: nplurals=2; plural=(n != 1);\\n"\n\n')
MORE = ('msgid "{n} more option is right."\nmsgid_plural "{n} more options are right."\n'
        'msgstr[0] "Falta una."\nmsgstr[1] "Faltan {n}."\n')


@pytest.fixture
def school(tmp_path: Path) -> Path:
    folder = make_school(tmp_path / "school")
    (folder / "words").mkdir()
    return folder


def _own(folder: Path, text: str, name: str = "own.po") -> Path:
    (folder / "words" / name).write_text(text, encoding="utf-8")
    return folder


def _over(folder: Path) -> LabSettings:
    return LabSettings(laid_over=laid_over_of(find_school(folder)))


def test_one_sentence_is_replaced_by_its_key_and_nothing_else(school: Path) -> None:
    kits = open_unit("01_ranges")
    with by_settings(_over(_own(school, TITLE))):
        unit = open_unit("01_ranges")
        assert unit.title == "Our numbers"
        assert [one.prompt for one in unit] == [one.prompt for one in kits]
    assert open_unit("01_ranges").title == "What each number says"
    assert "words/own.po: 1 sentence of 3," in "\n".join(look_over(school).laid_over)


@pytest.mark.slow
def test_without_a_key_it_is_replaced_wherever_it_stands_and_slots_of_english_may_go(school: Path,
                                                                                     ) -> None:
    with by_settings(_over(_own(school, BELLY))):
        assert "{first} ran out of insulin." in content_text("patients", "vignettes_metabolic.toml")


@pytest.mark.slow
def test_a_translation_is_used_once_it_is_named_and_own_words_win(school: Path) -> None:
    _own(school, TITLE.replace("Our numbers", "Los números"), "es.po")
    assert [one.sentence for one in look_over(school).faults] == [
        'write language = "es" into school.toml to use this file.']
    (school / "school.toml").write_text('name = "A"\nlanguage = "es"\n', encoding="utf-8")
    with by_settings(_over(school)):
        assert open_unit("01_ranges").title == "Los números"
    with by_settings(_over(_own(school, TITLE))):
        assert open_unit("01_ranges").title == "Our numbers"


@pytest.mark.slow
@pytest.mark.parametrize(("text", "line", "says"), [
    (TITLE.replace("#title", "#titel"), 2, f"did you mean '{KEY}'"),
    (TITLE.replace(KEY, "moon"), 2, "school words"),
    (TITLE.replace("each number", "every number"), 2, "says something else here now"),
    (TITLE.replace(f'msgctxt "{KEY}"\n', "").replace("each", "any"), 1, "no such sentence"),
    ("\n" + BELLY.replace('"{first} ran', '"{Frist} ran'), 2, "{Frist} stands for nothing"),
    (BELLY.replace('"{first} ran', '"{first ran'), 1, "brace"),
    (BELLY.replace('"{first} ran', '"{first.upper} ran'), 1, "{first.upper} stands for nothing"),
    (TITLE.replace("Our", "<b>Our</b>"), 2, "'</b'"),
    (TITLE.replace("Our", "{gas} Our"), 2, "{gas} stands for nothing"),
    (TITLE.replace("Our", "O\\tu\\ar"), 2, "no page shows"),
    (TITLE.replace('numbers"', "numbers"), 3, "quotation marks"),
    ("rubbish\n", 1, "is no line of such a file"),
    (HEAD + TITLE.replace("msgstr", 'msgid_plural "x"\nmsgstr[0]'), 7, "it needs 2 forms"),
    (HEAD + TITLE.replace("msgstr", 'msgid_plural "x"\nmsgstr[0]') + 'msgstr[1] "z"\n', 7,
     "no plural forms in the kit"),
    (MORE.replace('msgid_plural "{n} more options are right."\n', "").replace("[0]", "").replace(
        'msgstr[1] "Faltan {n}."\n', ""), 1, "msgid_plural '{n} more options are right.'"),
    (MORE.replace("Faltan {n}", "Faltan {m}"), 1, "{m} stands for nothing"),
    (HEAD.replace("n != 1", "n isnt 1") + TITLE, 4, "Plural-Forms"),
    (HEAD.replace("=2", "=two") + TITLE, 4, "Plural-Forms"),
    (HEAD + 'msgid "a"\nmsgid_plural "b"\nmsgstr[0] "x"\nmsgstr[1] "y"\nmsgstr[2] "z"\n', 6,
     "num_plurals"),
])
def test_each_fault_is_told_by_its_line_and_nothing_is_laid_over(
        school: Path, tmp_path: Path, capsys, text: str, line: int, says: str) -> None:
    found = look_over(_own(school, text)).faults
    assert [(one.file, one.line) for one in found][:1] == [("words/own.po", line)], found
    assert says in found[0].sentence
    assert main(["worksheet", "01", "--out", str(tmp_path / "w"), "--school", str(school)]) == 2
    assert "school check" in capsys.readouterr().err
    assert not (tmp_path / "w").exists()


@pytest.mark.slow
def test_a_variable_that_is_lost_is_told(school: Path) -> None:
    kits = next(one for one in sentences() if "{gas}" in one.text
                and one.key.startswith("questions"))
    text = kits.text.replace('"', '\\"').replace("\n", "\\n")
    _own(school, f'msgctxt "{kits.key}"\nmsgid "{text}"\nmsgstr "Look."\n')
    assert "{gas}" in look_over(school).faults[0].sentence


@pytest.mark.slow
def test_a_number_that_is_lost_is_doubted_and_a_decimal_comma_is_not(school: Path) -> None:
    kits = 'msgid "60 is worse"\nmsgstr "{} es peor"\n'
    _own(school, kits.format("70"))
    doubt, again = look_over(school).doubts
    assert "words/own.po, line 1" in doubt
    assert "60, yours 70" in doubt
    assert again == ("words: lessons/01_ranges#01-patient says '60 is worse' too; change it there "
                     "as well.")  # the lesson lists the options of its guess
    assert look_over(_own(school, kits.format("60"))).doubts == (again,)


@pytest.mark.slow
def test_a_card_is_told_in_the_schools_words(school: Path) -> None:
    idea = MISCONCEPTIONS["directions swapped"]
    kits = idea.suggests_written.replace('"', '\\"')
    _own(school, 'msgctxt "misconceptions.toml#directions swapped.suggests"\n'
         f'msgid "{kits}"\nmsgstr "Look at both arrows."\n')
    with by_settings(_over(school)):
        assert idea.suggests == "Look at both arrows."
    assert idea.suggests != "Look at both arrows."


def test_the_forms_speak_in_the_schools_words_with_its_own_plurals(school: Path) -> None:
    polish = HEAD.replace("nplurals=2; plural=(n != 1)",
                          "nplurals=3; plural=(n==1 ? 0 : n<5 ? 1 : 2)")
    _own(school, polish + MORE + 'msgstr[2] "Muchas, {n}."\n\n'
         'msgid "Clear this answer"\nmsgstr "Borrar"\n\n'
         'msgid "Choose one."\nmsgstr "Elija una."\n\n'
         'msgid "Not answered yet."\nmsgstr "Sin respuesta."\n')
    with by_settings(_over(school)):
        told = [worded_many("{n} more option is right.", "{n} more options are right.", n)
                for n in (1, 2, 5)]
        assert told == ["Falta una.", "Faltan 2.", "Muchas, 5."]
        assert PlacedWidget().words == {"Clear this answer": "Borrar", "Choose one.": "Elija una."}
        unit = open_unit("01_ranges")
        assert "\n\nElija una.\n\n" in unit.exercise("q1-2").prompt
        assert list(status(unit.answer("q1-2"))) == ["Sin respuesta."]
    assert PlacedWidget().words == {}


@pytest.mark.slow
def test_every_sentence_of_a_program_has_a_key_of_its_own() -> None:
    keys = [one.key for one in sentences()]
    assert len(keys) == len(set(keys))
    said = [one for one in of_programs() if one.key.startswith("forms")]
    assert len(said) > 120
    assert {one.key for one in said if one.many} >= {"forms#{n} more option is right."}
    scripts = Path(assets.__file__).with_name("static")
    calls = sum(text.count("inWords(") for text in (
        path.read_text("utf-8") for path in scripts.glob("*.js"))) - 1  # the function itself
    literal = sum(len(_IN_A_SCRIPT.findall(path.read_text("utf-8")))
                  for path in scripts.glob("*.js"))
    assert calls == literal  # nothing is put together before it is looked up


#: Texts of several words that programs read, or that learners never see.
NAMES = re.compile(r"(?:^|\.)(?:id|cause|name|source|term|ideas|tells|slips|but|facts|like"
                   r"|practice|history|causes|recipe|device|hours)(?:\.|$)")


def test_every_text_that_reads_like_a_sentence_is_in_the_catalogue() -> None:
    known = {one.key for one in sentences()}
    assert len(known) == len(sentences()) > 3_400
    left: list[str] = []
    for name, file in _files():
        if name in ("goals.toml", "words_taught.toml", "patients/names.toml"):
            continue  # for instructors and tests; names are names
        each_text(tomllib.loads(file.read_text("utf-8")), lambda path, text, name=name: (
            left.append(f"{name}#{path}: {text[:40]}") if len(text.split()) > 3
            and f"{name}#{path}" not in known and not NAMES.search(path) else None) or text)
    assert left == []


@pytest.mark.slow
def test_content_survives_being_written_again() -> None:
    for _, file in _files():
        table = tomllib.loads(file.read_text("utf-8"))
        assert tomllib.loads(as_toml(table)) == table


@pytest.mark.slow
def test_a_whole_translation_has_no_fault_and_every_unit_marks_its_own_key_full(school: Path,
                                                                               ) -> None:
    write_pseudo(school)
    assert look_over(school).faults == ()
    settings = _over(school)
    every = {one.key: one.text for one in sentences()}
    for name in unit_ids():
        light = for_unit(settings.laid_over, name)
        assert len(light) < len(settings.laid_over)
        with by_settings(LabSettings(laid_over=light)):
            unit = open_unit(name)
            assert unit.title == pseudo(every[f"questions/{name}.toml#title"])
            for asked in unit:
                if asked.key is None or asked.kind == "rationale":
                    continue
                unit.record(asked.id, write_chart(asked.id, asked.fields, asked.key))
                assert unit.mark_of(asked.id).points == asked.points, asked.id


@pytest.mark.slow
def test_a_translated_lesson_stands_alone(school: Path, tmp_path: Path, monkeypatch) -> None:
    write_pseudo(school)
    monkeypatch.chdir(tmp_path)
    assert main(["form", "01", "--seed", "3", "--as-lesson", "--school", "school"]) == 0
    shutil.rmtree(school)
    given = tmp_path / "acidbase-forms/course/01_ranges_form_3/01_ranges_form_3.ipynb"
    told = {cell.metadata.get("nbgrader", {}).get("grade_id"): cell.source
            for cell in nbformat.read(given, as_version=4).cells}
    assert told["01-ph"].startswith("## pH: a scalë that runs backward")
    assert "ë" in told["q1-3-prompt"]
    hand_in(given, tmp_path / "in" / "n101.ipynb")
    (tmp_path / "roster.csv").write_text("id,name\nn101,Student\n", encoding="utf-8")
    assert main(["collect", "in", "--unit", given.stem, "--course", "acidbase-forms", "--roster",
                 "roster.csv", "--out", "back"]) == 0
    who, points, of, state = (tmp_path / "back" / "grades.csv").read_text("utf-8").splitlines()[
        1].split(",")
    assert (who, points, state) == ("n101", of, "marked")


@pytest.mark.slow
def test_the_catalogue_is_written_and_read_back(school: Path, capsys) -> None:
    assert main(["school", "words", "--school", str(school)]) == 0
    text = (school / "words" / "kit.pot").read_text("utf-8")
    assert text.count("\nmsgctxt ") == len(sentences())
    assert main(["school", "check", "--school", str(school)]) == 0
