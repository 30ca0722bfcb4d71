"""A model answer to a question that a person marks: kept, told of another name, or the scene's."""
from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from functools import cache

from acidbase_lib.classroom.headed_tables import piped
from acidbase_lib.teaching.patients.people_names import GROUPS, names
from acidbase_lib.teaching.questions.answer_text import write_chart
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.prompt import what_it_says, without_heading

FAMILY = "family"
_WORD = re.compile(r"\w+|[^\w\s]")
_FIRST_LINE = re.compile(r"\A%%chart[^\n]*")
_AGE = re.compile(r"(?P<before>\b(?P<family>\w+), )?\b(?P<age>\d+)\b(?P<after>[ -]years?\b)?")
_PRONOUN = re.compile(r"\b(?:he|him|his|himself|she|hers?|herself|they|them|theirs?|themselves)\b",
                      re.IGNORECASE)


def model_answer(exercise: Exercise, prompt: str = "", answer: str = "") -> str:
    """Return the answer cell of a question that a person marks, as an instructor's notebook has it.

    Parameters
    ----------
    exercise : Exercise
        The question as it is drawn now.
    prompt, answer : str
        What the notebook asked before, and what stood in its answer cell. An answer in an author's
        own words is kept where the prompt is the same, and also where only names and ages are
        others; it then tells of the new patient.

    Returns
    -------
    str
        Elsewhere the model call of the drawn scene; without one, an empty cell.
    """
    empty = write_chart(exercise.id, exercise.fields)
    title = empty.partition("\n")[0]
    body = _FIRST_LINE.sub("", answer).strip()
    if body and f"{title}\n{body}" != empty:
        renamed = other_words(prompt, exercise.prompt)
        if renamed is not None and (told := _retold(body, renamed)) is not None:
            return f"{title}\n{told}"
    if not exercise.model_call:
        return empty
    first, *rest = exercise.model_call
    return "\n".join([f"{empty} {first}", *(f"    {line}" for line in rest)])


def other_words(before: str, now: str) -> Mapping[str, str] | None:
    """Return which names and ages of a prompt became which; None where it changed in more.

    Examples
    --------
    >>> other_words("Marit Halvorsun, 36, is tired.", "Marit Halvorsun, 41, is tired.")
    {'36': '41'}
    """
    old, new = (_WORD.findall(" ".join(what_it_says(piped(without_heading(text)))))
                for text in (before, now))
    if len(old) != len(new):
        return None
    changed: dict[str, str] = {}
    for place, (one, other) in enumerate(zip(old, new, strict=True)):
        is_person = bool(_group(one)) or _is_age(old, place)
        if one == other and not is_person:
            continue
        alike = ((_group(one) == FAMILY) == (_group(other) == FAMILY) if _group(one)
                 and _group(other) else _is_age(old, place) and _is_age(new, place))
        if not alike or changed.setdefault(one, other) != other:
            return None
    if len(set(changed.values())) < len(changed):
        return None
    return {one: other for one, other in changed.items() if one != other}


def _retold(answer: str, renamed: Mapping[str, str]) -> str | None:
    """Return an answer of the new patient; None where its pronouns may be of the old one."""
    turned = any(_group(one) != _group(other) for one, other in renamed.items())
    if turned and _PRONOUN.search(answer):
        return None
    told = _AGE.sub(lambda found: _aged(found, renamed), answer)
    return re.sub(r"\w+", lambda found: (renamed.get(found[0], found[0]) if _group(found[0])
                                         else found[0]), told)


def _aged(found: re.Match[str], renamed: Mapping[str, str]) -> str:
    """A number that is an age, as the new patient has it: "Name, 62" or "62 years"."""
    is_age = found["after"] or (found["family"] and _group(found["family"]) == FAMILY)
    age = renamed.get(found["age"], found["age"]) if is_age else found["age"]
    return f"{found['before'] or ''}{age}{found['after'] or ''}"


def _is_age(words: Sequence[str], place: int) -> bool:
    return (words[place].isdigit() and place >= 2 and words[place - 1] == ","
            and _group(words[place - 2]) == FAMILY)


def _group(word: str) -> str:
    """Which list of names holds a word; empty where none does."""
    return _groups().get(word, "")


@cache
def _groups() -> Mapping[str, str]:
    def held(group: str, lists: Iterable[str]) -> dict[str, str]:
        return {name: group for one in lists for name in names()[one]}
    given = {name: group for group in GROUPS for name in names()[group]}
    return {**given, **held(FAMILY, (FAMILY, "more_family"))}
