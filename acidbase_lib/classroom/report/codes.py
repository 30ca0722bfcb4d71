"""A report in codes: no name, no id, no path and no file's name in anything that it says."""
from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from .results import drawn_codes

if TYPE_CHECKING:
    from .report import Report

# where a file's name or a folder can stand in what is told of a submission
_FILES = (re.compile(r"\s*\([^()]*\.ipynb[^()]*\)"), re.compile(r"'[^']*'|\"[^\"]*\""),
          re.compile(r"\S*[/\\]\S*"), re.compile(r"\S+\.ipynb\b"))


def in_codes(report: Report) -> Report:
    """Return the report with codes in the place of learners, in the order of the codes.

    They are drawn by chance, so that nobody finds them again from the ids.
    In the order of the class list the first code would be the first name.

    Parameters
    ----------
    report : Report
        As it was drawn from the gradebook.
    """
    report = replace(report, codes=drawn_codes(one.learner for one in report.results))
    people = {one.learner: {one.learner, one.name} for one in report.results}
    results = sorted((replace(
        one, name=report.codes[one.learner], why=_scrubbed(one.why, people, report.codes),
        repairs=tuple(_scrubbed(text, people, report.codes) for text in one.repairs), receipt="")
        for one in report.results), key=lambda one: one.name)
    order = {one.learner: place for place, one in enumerate(results)}
    words = sorted((replace(word, why=_scrubbed(word.why, people, report.codes))
                    for word in report.words), key=lambda word: order.get(word.learner, 0))
    return replace(report, results=tuple(results), words=tuple(words))


def _scrubbed(text: str, people: Mapping[str, Iterable[str]], codes: Mapping[str, str]) -> str:
    for pattern in _FILES:
        text = pattern.sub("" if pattern is _FILES[0] else "(a file or folder)", text)
    # letter for letter first: two ids may differ in small and capital letters alone
    for how in (re.NOFLAG, re.IGNORECASE):
        for learner, called in people.items():
            for one in filter(None, called):
                text = re.sub(rf"(?<!\w){re.escape(one)}(?!\w)", codes[learner], text, flags=how)
    return text
