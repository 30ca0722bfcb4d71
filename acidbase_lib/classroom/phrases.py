"""Names, cards and prompts put the way a page says them."""
from __future__ import annotations

import re
from functools import cache
from typing import NamedTuple

from acidbase_lib.classroom.headed_tables import piped
from acidbase_lib.classroom.plain_letters import printable as printable
from acidbase_lib.reading.wording import sentence_case
from acidbase_lib.teaching.markdown_table import TABLE
from acidbase_lib.teaching.questions.prompt import without_heading
from acidbase_lib.teaching.theme import Html

DECIDE = "A person must decide: "  # so begins why there is no mark where only a person can judge
# in why there is no mark where a file's questions are another person's, or were made for nobody
_ANOTHERS = ("numbers, not ", "no numbers were made for ")
_NOT_THEIRS = ("The questions in your file were not made for you. Your instructor decides what is "
               "done about it.")
_DECIDED = ("Some questions in your file are not those that your instructor released. Your "
            "instructor decides what is done about it.")


class CardSteps(NamedTuple):
    """A re-teaching card for one learner alone: think, then read, then try."""

    ask: str
    tell: str
    try_it: str


def number_of(question: str) -> str:
    """A question's number as its prompt prints it.

    Examples
    --------
    >>> number_of("q2-3")
    '2.3'
    """
    return question.removeprefix("q").replace("-", ".")


def counted(number: int, thing: str) -> str:
    """So many of a thing.

    Examples
    --------
    >>> counted(1, "file"), counted(2, "file")
    ('1 file', '2 files')
    """
    return f"{number:,} {thing}{'' if number == 1 else 's'}"


def unit_name(unit: str) -> str:
    """A unit as one says it.

    Examples
    --------
    >>> unit_name("02_primary_disorder")
    'Unit 02, primary disorder'
    """
    number, _, words = unit.partition("_")
    return f"Unit {number}, {words.replace('_', ' ')}" if words else f"Unit {unit}"


def in_sentence(name: str) -> str:
    """A name inside a sentence: its first letter small, unless the word has its own capitals.

    Examples
    --------
    >>> in_sentence("High PaCO2 taken as alkaline"), in_sentence("PaCO2 alone")
    ('high PaCO2 taken as alkaline', 'PaCO2 alone')
    """
    first = name.partition(" ")[0]
    return name[:1].lower() + name[1:] if first[1:].islower() or len(first) == 1 else name


def about_the_sitting(suggests: str) -> str:
    """What one answer suggests, said of several."""
    return suggests.replace("This answer fits", "Your answers fit", 1)


def to_the_learner(why: str) -> str:
    """Why a file was not marked, without what only the instructor can do about it.

    Examples
    --------
    >>> to_the_learner("The file is empty. Ask the learner to hand it in again.")
    'The file is empty.'
    """
    if why.startswith(DECIDE):
        return _NOT_THEIRS if not_made_for_them(why) else _DECIDED
    sentences = re.split(r"(?<=[.!?])\s+", why.strip())
    kept = [s for s in sentences if not re.search(r"learner|[Aa]sk for|Put the", s)]
    return " ".join(kept) or "The file could not be read as a notebook."


def not_made_for_them(why: str) -> bool:
    """Whether there is no mark since the questions in a file were made for somebody else."""
    return why.startswith(DECIDE) and any(one in why for one in _ANOTHERS)


def paragraphs(text: str) -> list[str]:
    """A text's paragraphs."""
    return [piece for piece in text.split("\n\n") if piece.strip()]


def card_steps(card: str) -> CardSteps:
    """A card written for a class, turned to a learner who reads it alone."""
    pieces = paragraphs(card)
    ask = next((p for p in pieces if p.startswith("Ask:")), "")
    try_it = next((p for p in pieces if p.startswith("Try")), "")
    tell = " ".join(p for p in pieces if p not in (ask, try_it))
    # "Wait for an answer. Then tell:" is said to whoever stands before a class
    tell = re.sub(r"^(?:[^.:]{1,60}\.\s*)?Then tell:\s*", "", tell)
    return CardSteps(sentence_case(ask.removeprefix("Ask:").strip()), sentence_case(tell), try_it)


@cache
def prose(markdown: str) -> Html:
    """Markdown of a prompt as HTML, raw HTML escaped; a prompt is set once for the whole class.

    Its heading is left out, for the page heads the question itself. Tables have a caption and the
    name of each row.
    """
    import mistune

    read = mistune.create_markdown(escape=True, plugins=["table"])
    html = str(read(piped(without_heading(markdown))))
    html = re.sub(r"<(/?)h[1-6]>", r"<\1p>", html)
    html = re.sub(rf"<p>{TABLE} (.+?)</p>\n<table>", r"<table>\n<caption>\1</caption>", html)
    html = re.sub(r"(<tr>\s*)<td([^>]*)>(.*?)</td>", r'\1<th scope="row"\2>\3</th>', html)
    return Html(re.sub(r"<th(?= style|>)", '<th scope="col"', html))
