"""A question file's own ranges that are others than the school's settings are told."""
from __future__ import annotations

from pathlib import Path

import pytest
from own_school import WARD_ROUND, make_school

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.school.look_over import look_over

OTHER = "hco3 = [21, 28]\n"


def test_check_and_audit_tell_a_range_that_is_not_the_schools(tmp_path: Path, capsys) -> None:
    """The file says 22-26 on line 3; settings.toml says 21-28."""
    school = make_school(tmp_path / "school", settings='name = "Ours"\n' + OTHER)
    said = ("contradicts the settings of Ours, which say 21-28 mmol/L: learners would be told two "
            "ranges")
    told = [one for one in look_over(school).doubts if "contradicts" in one]
    assert len(told) == 1
    assert "line 3" in told[0]
    assert said in told[0]
    file = str(school / "questions" / "ward_round.txt")
    main(["audit", file, "--school", str(school)])
    assert said in " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize(("settings", "ranges"), [
    (OTHER, "ranges: pH 7.35-7.45, PaCO2 35-45 mmHg, HCO3 21-28 mmol/L"),
    ('pressure_unit = "kPa"\n', "ranges: pH 7.35-7.45, PaCO2 4.7-6.0 kPa, HCO3 22-26 mmol/L"),
    ("", "ranges: pH 7.35-7.45, PaCO2 35-45 mmHg, HCO3 21-28 mmol/L")])
def test_the_same_range_in_either_unit_is_no_contradiction(settings: str, ranges: str,
                                                           tmp_path: Path) -> None:
    """4.7-6.0 kPa is 35-45 mmHg; and who has no settings has nothing to contradict."""
    old = "ranges: pH 7.35-7.45, PaCO2 35-45 mmHg, HCO3 22-26 mmol/L"
    school = make_school(tmp_path / "school", WARD_ROUND.replace(old, ranges), settings)
    assert not [one for one in look_over(school).doubts if "contradicts" in one]


def test_a_key_is_judged_by_the_schools_range_where_the_file_states_none(tmp_path: Path,
                                                                         capsys) -> None:
    """A bicarbonate of 27 is high by 22-26 and in range by 21-28."""
    file = tmp_path / "q.txt"
    file.write_text("A gas: pH 7.40, PaCO2 44 mmHg, HCO3 27 mmol/L.\nHow is the bicarbonate?\n"
                    "A. low\nB. in range\nC. high\nright: B\n", encoding="utf-8")
    school = make_school(tmp_path / "school", settings=OTHER)
    main(["audit", str(file), "--school", str(school)])
    ours = capsys.readouterr().out
    assert main(["audit", str(file)]) == 1
    assert "The key is B" in capsys.readouterr().out
    assert ours.startswith("School: ")
    assert "The key is B" not in ours


def test_a_text_that_is_kept_as_a_file_has_no_line_before_it(tmp_path: Path, capsys,
                                                             monkeypatch) -> None:
    monkeypatch.chdir(make_school(tmp_path / "school"))
    assert main(["audit", "--example"]) == 0
    assert "School:" not in capsys.readouterr().out


@pytest.mark.slow
def test_a_demo_and_the_term_are_by_the_schools_ranges(tmp_path: Path, capsys) -> None:
    school = make_school(tmp_path / "school", settings=OTHER)
    demo = tmp_path / "demo"
    assert main(["demo", "--out", str(demo), "--learners", "12", "--school", str(school)]) == 0
    assert capsys.readouterr().out.startswith("School: Harbor Lane School (")
    roster = tmp_path / "roster.csv"
    roster.write_text("id\n" + "\n".join(one.name for one in (
        demo / "grading" / "submitted").iterdir()) + "\n", encoding="utf-8")
    assert main(["term", "--course", str(demo), "--roster", str(roster), "--out",
                 str(tmp_path / "term"), "--school", str(school)]) == 0
    assert "School: Harbor Lane School (" in capsys.readouterr().out
    for page in (demo / "report" / "class_report.html", tmp_path / "term" / "term.html"):
        assert "22–26" not in page.read_text(encoding="utf-8"), page
    (notebook,) = (demo / "course").glob("*/*.ipynb")
    assert "[21, 28]" in notebook.read_text(encoding="utf-8")
