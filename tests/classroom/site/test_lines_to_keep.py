"""Each topic of practice stands beside the lines of the unit that teaches it."""
from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from kpa_school import SCHOOL

from acidbase_lib.classroom.released_course import course_folder
from acidbase_lib.classroom.site.lines_to_keep import UNIT_OF, LinesToKeep, lines_to_keep
from acidbase_lib.reading.settings_in_force import by_settings
from acidbase_lib.teaching.practice.ahead import NAMES


def test_every_topic_has_a_unit_that_lets_learners_practice_it():
    assert set(UNIT_OF) == set(NAMES)
    for topic, unit in UNIT_OF.items():
        text = (course_folder() / unit / f"{unit}.ipynb").read_text(encoding="utf-8")
        assert f'unit.practice({json.dumps(json.dumps(topic))[1:-1]})' in text


@pytest.mark.parametrize("topic", NAMES)
def test_three_lines_that_need_nothing_else_of_the_notebook(topic: str):
    kept = lines_to_keep(course_folder(), topic)
    assert len(kept.lines) == 3
    for line in kept.lines:
        assert line.count("**") % 2 == 0
        assert "*" not in line.replace("**", "")
        assert not re.search(r"below(?! \d)|above this|Press|cell|[`\[]", line)
        assert "<" not in line  # the page shows a line as it is
    assert len(kept.sources) > 100
    assert "*" not in kept.sources


def test_the_direction_rule_stands_beside_the_primary_disorder():
    kept = lines_to_keep(course_folder(), "primary disorder")
    assert kept.lines[0] == "**pH first**: low is acid, high is alkaline. Half the names are " \
                            "crossed out."
    assert "OpenStax Anatomy and Physiology 2e" in kept.sources


def test_a_course_without_the_unit_or_the_cell_shows_none(tmp_path: Path):
    assert lines_to_keep(tmp_path, "oxygen") == LinesToKeep()
    (tmp_path / "05_oxygenation").mkdir()
    (tmp_path / "05_oxygenation" / "05_oxygenation.ipynb").write_text('{"cells": []}')
    assert lines_to_keep(tmp_path, "oxygen") == LinesToKeep()


def test_a_range_in_a_line_is_the_schools():
    with by_settings(SCHOOL):
        kept = "".join(lines_to_keep(course_folder(), "in range or not").lines)
    assert "4.7–6.0 kPa (35–45 mmHg)" in kept
    assert "21–28 mmol/L" in kept
