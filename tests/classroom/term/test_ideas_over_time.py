"""An idea comes, goes and returns by answers that tell; what is unclear changes nothing."""
from __future__ import annotations

import pytest
from small_term import entry, term_of

from acidbase_lib.classroom.diagnosis.diagnosis import HELD, NOT_HELD, UNCLEAR
from acidbase_lib.classroom.term.ideas_over_time import CAME, RETURNED, WENT, stories, turns
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS

IDEA, OTHER = list(MISCONCEPTIONS)[:2]
WORDS = {"h": HELD, "n": NOT_HELD, "u": UNCLEAR}


def row(letters: str, idea: str = IDEA):
    return [entry(15, stands={idea: WORDS[one]} if one != "-" else {}) for one in letters]


@pytest.mark.parametrize(("letters", "changes"), [
    ("hhh", []), ("nnn", []), ("hnh", [WENT, RETURNED]), ("nhn", [CAME, WENT]), ("h-n", [WENT]),
    ("huh", []), ("hun", [WENT]), ("hu-", []), ("-uh", []), ("hnuh", [WENT, RETURNED]),
    ("nhnhn", [CAME, WENT, RETURNED, WENT]),
])
def test_changes_are_between_answers_that_tell(letters: str, changes: list[str]) -> None:
    term = term_of({"a": row(letters)})
    assert [turn.what for turn in turns(term.people[0], term.sittings, IDEA)] == changes


def test_an_idea_that_became_unclear_has_not_gone() -> None:
    story, = stories(term_of({"a": row("hu"), "b": row("hn"), "c": row("hh"), "d": row("uu")}))
    assert story.holders == ("a", "c")
    assert story.who(WENT) == ("b",)
    assert (story.free, story.untold) == (1, 1)
    assert story.sentence == ("By the last answers that tell, 2 people hold it and 1 does not; of "
                              "1 nothing can be said. It went, shown by answers without it, in 1 "
                              "person.")


def test_a_sitting_that_did_not_ask_is_no_zero() -> None:
    story, = stories(term_of({"a": row("h-"), "b": row("n-")}))
    assert [count.in_words for count in story.counts] == [
        "1 held, 1 shown without it, 0 with too little to tell", "not asked"]


def test_ideas_that_nobody_ever_held_are_not_listed_and_the_widest_stands_first() -> None:
    rows = {"a": row("h"), "b": row("h", OTHER), "c": row("h", OTHER), "d": row("n")}
    assert [story.idea for story in stories(term_of(rows))] == [OTHER, IDEA]
    assert stories(term_of({"a": row("nn")})) == ()
