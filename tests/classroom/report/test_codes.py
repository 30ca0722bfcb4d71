"""A report in codes: no id, name, path or file's name, whatever a submission was."""
from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

from small_class import CLASS, EXERCISES, MISCONCEPTIONS

from acidbase_lib.classroom.report.report import class_report
from acidbase_lib.classroom.report.report_page import write_report
from acidbase_lib.classroom.report.results import NOT_MARKED, LearnerResult

# what marking tells of files that it could not take: ids, names, places and files' names in it
TOLD = (
    "There is no notebook called small.ipynb in /home/prof/My course/submitted/s9/small. Put it.",
    "There is 2 notebooks (Amina Okafor.ipynb, b.ipynb) but none called small.ipynb in C:\\kit\\9.",
    "The folder small of s9 is a link to another place. Links are not followed.",
    "The file was called 'Okafor Amina (2).ipynb'; it was read as small.ipynb.",
    "The file s9_final.ipynb of Nadia Hill is empty.",
)


def write(tmp_path: Path, *more: LearnerResult) -> dict[str, str]:
    report = class_report([*CLASS, *more], EXERCISES, MISCONCEPTIONS, title="Unit 2",
                          made_on="May 4, 2031")
    write_report(tmp_path, report, names=False)
    return {path.name: path.read_text("utf-8-sig") for path in tmp_path.iterdir()}


def test_no_name_id_or_place_is_in_any_file(tmp_path: Path) -> None:
    odd = [LearnerResult(f"s{9 + n}", "Nadia Hill", NOT_MARKED, None, 8.0, (), why)
           for n, why in enumerate(TOLD)]
    mended = replace(CLASS[0], learner="s99", name="Nadia Hill", repairs=TOLD)
    files = write(tmp_path, *odd, mended)
    assert len(files) > 3
    for name, text in files.items():
        for one in [*CLASS, *odd, mended]:
            for word in (one.learner, one.name, one.name.split()[-1], one.name.split()[0]):
                assert not re.search(rf"(?<!\w){word}(?!\w)", text), (name, word)
        assert "/home" not in text
        assert "C:\\kit" not in text
        assert ".ipynb" not in text


def test_the_order_of_the_lines_is_not_that_of_the_class_list(tmp_path: Path) -> None:
    codes = re.findall(r"^Learner \d+", write(tmp_path)["learners.csv"], re.M)
    assert len(codes) == len(CLASS)
    assert codes == sorted(codes)
