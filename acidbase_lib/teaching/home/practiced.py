"""What practice has come to, told plainly: what holds, what is fading, what mastery asks for."""
from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from datetime import timedelta
from statistics import median
from typing import Any, Final

from acidbase_lib.teaching.memory.record import Answer
from acidbase_lib.teaching.memory.remembered import Remembered
from acidbase_lib.teaching.practice.skills import TAUGHT_IN, kinds_of
from acidbase_lib.teaching.practice.whole_gas import WHOLE_GAS

RIGHT_OF, GASES = 11, 12  # whole gases in a row, wholly right at the first try
DAYS_APART: Final = 7  # between two such rows
LONG_AGO: Final = 21  # without practice [days]
LATELY, SURE_ENOUGH = 20, 0.9  # cases, and the share right, before time is spoken of
LATER: Final = (28, 56)  # weeks four and eight [days]
_WORD: Final = {1: "once", 2: "twice"}


def held_in_words(memory: Remembered) -> dict[str, Any]:
    """Everything that the page shows of practice, as plain data."""
    answers = memory.record.answers
    if not answers:
        return {"facts": "", "rows": [], "mastery": [], "warning": memory.record.said,
                "away": "", "lines": ""}
    now = memory.now()
    days = (now - max(answer.when for answer in answers)).days
    return {
        "facts": _facts(memory), "rows": list(_rows(memory)), "mastery": mastery(answers),
        "lines": _lines(answers), "warning": memory.record.said,
        "away": "" if days < LONG_AGO else
                f"You have not practiced for {days // 7} weeks. Start with “Practice what I need”: "
                "it brings what has faded most."}


def _facts(memory: Remembered) -> str:
    sittings = memory.sittings()
    minutes = round(sum(((end - begin) for begin, end in sittings), timedelta()).total_seconds()
                    / 60)
    count, cases = len(sittings), len(memory.record.answers)
    return (f"{cases} {'case' if cases == 1 else 'cases'} in {count} "
            f"{'sitting' if count == 1 else 'sittings'}, "
            f"{f'about {minutes} minutes' if minutes > 1 else 'a minute or less'} in all."
            f"{_fluency(memory.record.answers)}")


def _fluency(answers: list[Answer]) -> str:
    """How long a case takes lately, told only to whoever reads nearly all of them right."""
    lately = answers[-LATELY:]
    timed = [answer.seconds for answer in lately if answer.right and answer.seconds]
    if (len(lately) < LATELY or sum(answer.right for answer in lately) < SURE_ENOUGH * LATELY
            or len(timed) < LATELY / 2):
        return ""
    return f" Of the last {LATELY} you read one in about {median(timed):.0f} seconds."


def _rows(memory: Remembered) -> Iterable[dict[str, Any]]:
    """Each topic practiced: which kinds hold, are due, or were never met."""
    due = set(memory.due(memory.held))
    for topic in TAUGHT_IN:
        skills = {kind: f"{topic}: {kind}" for kind in kinds_of(topic)}
        met = [kind for kind, skill in skills.items() if skill in memory.held]
        if not met:
            continue
        fading = [kind for kind in met if skills[kind] in due]
        missed = [kind for kind in met if kind not in fading
                  and not memory.held[skills[kind]].right]
        holds = [kind for kind in met if kind not in fading and kind not in missed]
        new = [kind for kind in skills if kind not in met]
        yield {"topic": topic, "holds": "; ".join(holds) or "–",
               "fading": "; ".join([*fading, *(f"{kind} (missed last time)" for kind in missed)])
               or "–", "new": "; ".join(new) or "–"}


def _lines(answers: Iterable[Answer]) -> str:
    """The line of a whole gas that was missed most often lately."""
    lately = [answer for answer in answers if answer.skill.startswith(f"{WHOLE_GAS}: ")][-20:]
    missed = Counter(line for answer in lately for line in answer.missed)
    if not missed:
        return ""
    line, times = missed.most_common(1)[0]
    return (f"Of your last {len(lately)} whole gases, the line “{line}” was missed most often: "
            f"{times} {'time' if times == 1 else 'times'}.")


def mastery(answers: Iterable[Answer]) -> list[str]:
    """What mastery asks for, what of it is reached, and how to get there.

    Notes
    -----
    Reading is mastered where `RIGHT_OF` of `GASES` whole gases in a row were wholly right, twice,
    at least `DAYS_APART` days apart, and four in five still are four and eight weeks after the
    first time. Common practice, not a published standard; nothing depends on it.
    """
    gases = sorted((answer for answer in answers if answer.skill.startswith(f"{WHOLE_GAS}: ")),
                   key=lambda answer: answer.when)
    said = [f"The aim: {RIGHT_OF} of {GASES} whole gases wholly right, one after another; twice, "
            "a week apart; and 4 of 5 still right after four and after eight weeks. There is no "
            "hurry, and nothing depends on it."]
    if not gases:
        return [*said, "You have read no whole gas yet. Choose “the whole gas” above."]
    reached: list[Answer] = []
    start = 0
    for end in range(GASES, len(gases) + 1):
        row = gases[max(start, end - GASES):end]
        if len(row) == GASES and sum(answer.right for answer in row) >= RIGHT_OF and (
                not reached or row[0].when - reached[-1].when >= timedelta(days=DAYS_APART)):
            reached.append(row[-1])
            start = end
    if not reached:
        last = gases[-GASES:]
        return [*said, f"Of your last {len(last)} whole gases, {sum(one.right for one in last)} "
                       "were wholly right."]
    said.append(f"Reached {_WORD.get(len(reached), f'{len(reached)} times')}." if len(reached) < 2
                else "Reached twice, at least a week apart.")
    if len(reached) < 2:
        said.append(f"Next: the same again, from {DAYS_APART} days after the first time.")
    for days in LATER:
        then = [one for one in gases if timedelta(days=days - 7) <= one.when - reached[0].when
                <= timedelta(days=days + 7)]
        if len(then) >= 5:
            right = sum(one.right for one in then)
            said.append(f"Week {days // 7}: {right} of {len(then)} right"
                        f"{', which holds' if right >= 0.8 * len(then) else ''}.")
    return said
