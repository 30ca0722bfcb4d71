"""What stands above an answer: the question's heading, how it is answered, what is asked."""
from __future__ import annotations

import re
from typing import Final

from acidbase_lib.teaching.markdown_table import TABLE
from acidbase_lib.teaching.worded import worded

from .exercise import RULES_IN_WORDS, ExerciseKind, points_in_words

#: A question's heading in today's words, and as it stood before it was one.
HEADING: Final = re.compile(r"\s*(?:#{1,6} |\*\*)Question (?P<number>[\w.]+)(?:\*\*)?"
                            r" \((?P<points>[^)\n]*)\)\.?\s*")
_CAPTION = re.compile(rf"^{TABLE} .+$", re.MULTILINE)
_RULED = re.compile(r"^\s*\|(?:\s*:?-+:?\s*\|)+\s*$", re.MULTILINE)


def prompt_text(question: str, points: float, kind: ExerciseKind, stem: str, how: str = "") -> str:
    """Return a prompt: a heading with the points, how to answer, and what is asked.

    Units are headed at the first level, their sections at the second, questions at the third.

    Examples
    --------
    >>> prompt_text("q2-3", 1, "choose one", "What is it?")
    '### Question 2.3 (1 point)\\n\\nChoose one.\\n\\nWhat is it?'
    """
    number = question.removeprefix("q").replace("-", ".")
    return (f"### Question {number} ({points_in_words(points)})\n\n"
            f"{worded(RULES_IN_WORDS[kind])}{how}\n\n{stem}")


def without_heading(prompt: str) -> str:
    """Return a prompt without its heading, for a page that has headed the question itself.

    Examples
    --------
    >>> without_heading("### Question 2.3 (1 point)\\n\\nChoose one.")
    'Choose one.'
    """
    return HEADING.sub("", prompt, count=1)


def what_it_says(prompt: str) -> list[str]:
    """Return a prompt's words, the same however its heading and its tables are written."""
    head = HEADING.match(prompt)
    named = [head["number"], head["points"]] if head else []
    words = _RULED.sub("", _CAPTION.sub("", without_heading(prompt)))
    return [*named, *words.replace("|", " ").split()]


def titled(question_id: str) -> str:
    """Name a question as its prompt does: "Question 2.3", or "Your guess"."""
    if not question_id.startswith("q"):
        return "Your guess" if question_id.startswith("guess") else "Your own words"
    return f"Question {question_id.removeprefix('q').replace('-', '.')}"
