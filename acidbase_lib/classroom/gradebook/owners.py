"""Whose a file is by its name alone; nothing is guessed."""
from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence

from .roster import LONGEST_NAME, RosterLine, words_of

MOST_WORDS = 30  # of a name that is looked for with its last name first, wherever that begins
# what people and programs call any file; an id of such words alone tells whose a file is to nobody
_COMMON = frozenset({
    "assignment", "attempt", "blood", "checkpoint", "copy", "course", "draft", "exam", "file",
    "final", "form", "gas", "homework", "ipynb", "jupyter", "late", "my", "new", "notebook",
    "paper", "part", "quiz", "resubmission", "revised", "sitting", "submission", "submitted",
    "test", "the", "unit", "untitled", "upload", "version", "week", "work"})


class Owners:
    """Whose a file is by its name alone; one look-up a file, however long the roster is.

    Parameters
    ----------
    roster : sequence of RosterLine
        The class list.
    assignment : str
        What is handed in, such as "02_primary_disorder": its words in a file's name tell of nobody.
    """

    def __init__(self, roster: Sequence[RosterLine], assignment: str = "") -> None:
        self._assignment = words_of(assignment)
        self._ids, self._other_ids, self._names = _Index(), _Index(), _Index()
        taken = Counter(words for line in roster for words in {*line.also, line.by_id})
        # two people may have one name: an address made of it tells neither from the other
        named = {name for line in roster for name in _names_of(line)}
        for line in roster:
            self._ids.add(line.by_id, line)
            for words in {*line.also} - {line.by_id} - named:
                if taken[words] == 1 and not self._is_weak(words):
                    self._other_ids.add(words, line)
            for name in _names_of(line):
                self._names.add(name, line)

    def of(self, name: str) -> tuple[str | None, str]:
        """Find whose file this is.

        Returns
        -------
        learner : str or None
            None unless exactly one learner fits: by id, or where no id fits by first and last name.
        why_not : str
            Why there is none.
        """
        learner, why, _ = self.found(name)
        return learner, why

    def found(self, name: str) -> tuple[str | None, str, tuple[str, ...]]:
        """Find whose file this is, see `of`; and where it may be several people's, whose."""
        written = name[:LONGEST_NAME].removesuffix(".ipynb")
        words, names_unit = _without(words_of(written), self._assignment)
        by_name = self._names.found(words)
        by_other = self._other_ids.found(words)
        by_id = _as_written(written, self._ids.found(words))
        by_id += [one for one in by_other if one not in by_id]
        by_id = [one for one in by_id if not any(
            len(other.by_id) > len(one.by_id) and _holds(other.by_id, one.by_id)
            for other in by_id)]
        strong = [one for one in by_id if one in by_name or one in by_other
                  or not self._why_weak(one, names_unit)]
        if strong or by_name:
            by_id = strong
        if len(by_id) == 1 and by_name and by_id[0] not in by_name:
            by_id = [*by_id, *by_name]  # the id says one person, the name another
        if len(by_id) == 1 and not by_name and by_id[0] not in by_other and (
                why := self._why_weak(by_id[0], names_unit)):
            return None, f"it may be {by_id[0].learner}, but {why}", (by_id[0].learner,)
        found = by_id or by_name
        if not found:
            return None, "no learner's id or name is in the file's name", ()
        if len(found) > 1:
            may_be = tuple(sorted({line.learner for line in found}))
            return None, f"it may be {' or '.join(may_be[:5])}", may_be
        return found[0].learner, "", ()

    def _why_weak(self, line: RosterLine, names_unit: bool) -> str:
        """Why an id is too common to tell whose a file is; nothing where it is not."""
        if line.learner.isdigit() and len(line.learner) < 4:
            return "a number that short can stand in a file's name for other reasons"
        if re.fullmatch(r"(?:19|20)[0-9]{2}", line.learner):
            return "a year can stand in a file's name for other reasons"
        common = _COMMON if names_unit else _COMMON | set(self._assignment)
        return ("that word can stand in a file's name for other reasons"
                if common.issuperset(line.by_id) else "")

    def _is_weak(self, words: tuple[str, ...]) -> bool:
        """True for what can stand in any file's name: a short number, a year, common words."""
        one = "".join(words)
        return ((one.isdigit() and len(one) < 5) or len(one) < 3
                or (_COMMON | set(self._assignment)).issuperset(words))


def owner_of(name: str, roster: Sequence[RosterLine]) -> tuple[str | None, str]:
    """Find whose one file is; see ``Owners.of``."""
    return Owners(roster).of(name)


def _names_of(line: RosterLine) -> set[tuple[str, ...]]:
    """The names by which a file may call somebody: first or last name first, also in one word.

    Which of several words are the last name is not known: "Dana O'Neil" is "oneildana" too.
    """
    found: set[tuple[str, ...]] = set()
    for words in {line.by_name, *line.spelled}:
        found |= {words, words[::-1], ("".join(words[::-1]),)} if words else set()
        for at in range(len(words) if len(words) <= MOST_WORDS else 0):
            first, last = words[:at], words[at:]
            found |= {last + first, ("".join(last + first),)}
            if first:
                found |= {("".join(first), "".join(last)), ("".join(last), "".join(first))}
    return found


class _Index:
    """Roster lines by the words that call them."""

    def __init__(self) -> None:
        self._lines: dict[tuple[str, ...], list[RosterLine]] = {}
        self._lengths: set[int] = set()

    def add(self, words: tuple[str, ...], line: RosterLine) -> None:
        """Let these words, unbroken and in order, call this line."""
        if words:
            self._lines.setdefault(words, []).append(line)
            self._lengths.add(len(words))

    def found(self, words: tuple[str, ...]) -> list[RosterLine]:
        """Return every line that some of the words call, once."""
        found: dict[str, RosterLine] = {}
        for start in range(len(words)):
            for length in self._lengths:
                for line in self._lines.get(words[start:start + length], ()):
                    found[line.learner] = line
        return list(found.values())


def _without(words: tuple[str, ...], part: tuple[str, ...]) -> tuple[tuple[str, ...], bool]:
    """The words less an unbroken part, an empty word in its place; and whether it was there."""
    if not part:
        return words, False
    kept: list[str] = []
    place, there = 0, False
    while place < len(words):
        if words[place:place + len(part)] == part:
            kept.append("")
            place, there = place + len(part), True
        else:
            kept.append(words[place])
            place += 1
    return tuple(kept), there


def _as_written(name: str, found: list[RosterLine]) -> list[RosterLine]:
    """Of ids that differ in case or accents alone, those that the name spells exactly."""
    alike: dict[tuple[str, ...], list[RosterLine]] = {}
    for line in found:
        alike.setdefault(line.by_id, []).append(line)
    exact = tuple(re.split(r"[\W_]+", name))
    chosen: list[RosterLine] = []
    for lines in alike.values():
        same = [line for line in lines
                if _holds(exact, tuple(filter(None, re.split(r"[\W_]+", line.learner))))]
        chosen += same if len(lines) > 1 and same else lines
    return chosen


def _holds(words: Iterable[str], part: Sequence[str]) -> bool:
    """True where ``part`` stands among ``words``, unbroken and in order."""
    words = tuple(words)
    return bool(part) and any(words[i:i + len(part)] == tuple(part)
                              for i in range(len(words) - len(part) + 1))
