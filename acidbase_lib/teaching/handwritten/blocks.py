"""Questions in a plain text file: a stem, a line for each option, and `right: B`."""
from __future__ import annotations

import re
from difflib import get_close_matches

from .draft import Draft
from .key import key_letters
from .line_marks import (
    BARE_KEY,
    FIELD,
    FIELD_OF,
    LETTERS,
    MARKED,
    OPTION,
    QUESTION,
    RANGES,
    RULE,
    SPANS,
)
from .other_kinds import FIELDS as OTHER
from .question_sheet import (
    LONGEST_LINE,
    Broken,
    SheetLine,
    WrittenFile,
    WrittenOption,
    WrittenQuestion,
    plain_line,
    shown,
)


class _Reader:
    """Takes lines one by one; what it cannot use it names and leaves."""

    def __init__(self, lines: list[str]) -> None:
        self.lines = lines
        self.broken: list[Broken] = []
        self.done: list[Draft] = []
        self.draft: Draft | None = None
        self.ranges, self.ranges_line, self.title = "", 0, ""

    def read(self) -> WrittenFile:
        for number, raw in enumerate(self.lines, 1):
            text = plain_line(raw)
            if len(text) > LONGEST_LINE:
                self._break(number, text[:60], f"this line has {len(text):,} characters; what "
                            f"comes after {LONGEST_LINE:,} was left out")
            self._take(number, text[:LONGEST_LINE])
        self._close()
        questions = tuple(self._finished(place, draft)
                          for place, draft in enumerate(self.done, 1))
        return WrittenFile(questions, tuple(sorted(self.broken, key=lambda b: b.line)), self.title)

    def _take(self, number: int, text: str) -> None:
        if not text.strip():
            if self.draft:
                self.draft.after_blank = True
            return
        if RULE.match(text):
            self._close()
            return
        if re.match(r"^\s*(#(?!\s?\d)|//)", text) and not re.match(r"^\s*#+\s*(question|q\b|item)",
                                                                   text, re.I):
            return  # the author's own note
        if self._field(number, text) or self._option(number, text) or self._head(number, text):
            return
        self._plain(number, text)

    # --- the kinds of line ------------------------------------------------------------------------

    def _field(self, number: int, text: str) -> bool:
        bare = BARE_KEY.match(text)
        if bare and self.draft and self.draft.options:
            self._right(number, bare[1])
            return True
        match = FIELD.match(text)
        if not match:
            return False
        word, letter, value = match[1].strip().lower(), match[2] or "", match[3].strip(" *_")
        name = FIELD_OF.get(word) or FIELD_OF.get(f"{word} {letter.lower()}".strip())
        if name == "title":
            self.title = self.title or (value if self.draft is None else "")
            return self.draft is None
        if name in OTHER:
            return self._other(number, name, value)
        if name is None and self._misspelled(number, text, word, letter, value):
            return True
        if name is None and self.draft and self.draft.options and LETTERS.fullmatch(value):
            name = "right"  # whatever it is called: "Solution: b"
        if name is None:
            return False
        if name == "ranges":
            # in the middle of a stem it is part of what the learner reads
            if self.draft and not self.draft.closed and self.draft.stem:
                self.draft.ranges, self.draft.ranges_line = value, number
                self.draft.stem.append(SheetLine(number, text.strip()))
            elif self.draft and not self.draft.after_blank:
                self.draft.ranges, self.draft.ranges_line = value, number
            else:
                self.ranges, self.ranges_line = value, number
        elif self.draft is None:
            self._break(number, text, f"'{word}:' belongs under a question, and none stands "
                        "above it")
        elif name == "right":
            self._right(number, value)
        elif name == "because":
            if not self.draft.closed:
                return False
            if letter:
                self.draft.whys[letter.upper()], self.draft.last = (value, number), "why"
                return True
            self.draft.because, self.draft.last = value, "because"
            self.draft.because_line = number
        elif name == "suggests":
            self._suggests(number, text, letter, value)
        else:
            self.draft.last = "note"
        return True

    def _other(self, number: int, name: str, value: str) -> bool:
        """A line that asks for a number, an order, several lines or own words."""
        draft = self.draft
        if draft is None or not draft.stem or not draft.other.belongs(name, value,
                                                                      bool(draft.options)):
            return False
        draft.other.add(name, value, number)
        draft.last = "other" if name in ("write", "looks") else "right"
        return True

    def _misspelled(self, number: int, text: str, word: str, letter: str, value: str) -> bool:
        """A field's name with a slip in it: said, never taken for the stem."""
        if not (self.draft and self.draft.options) or len(word) < 3:
            return False
        near = get_close_matches(word, ["right", "answer", "because", "suggests", "correct",
                                        "rationale"], 1, 0.7)
        if not near:
            return False
        wrote = f"{near[0]} {letter}".strip()
        self._break(number, text, f"'{word}' is not a word we know here; did you mean "
                    f"'{wrote}: {value[:40]}'?")
        return True

    def _right(self, number: int, value: str) -> None:
        draft = self.draft
        assert draft is not None
        if draft.right_line is not None:
            self._break(number, value, f"a second key: line {draft.right_line} has given one; "
                        "keep one of the two")
            return
        draft.right_line, draft.last = number, "right"
        draft.right = [value]  # read once all options are known

    def _suggests(self, number: int, text: str, letter: str, value: str) -> None:
        draft = self.draft
        assert draft is not None
        if not letter:
            self._break(number, text, "say which option: 'suggests C: directions swapped'")
        else:
            draft.suggests[letter.upper()] = (value, number)
            draft.last = "note"

    def _option(self, number: int, text: str) -> bool:
        match = OPTION.match(text)
        if not match or self.draft is None:
            return False
        letter = (match[2] or match[3] or match[4]).upper()
        if not self._is_option(number, letter):
            return False
        words = match[5].strip()
        mark = match[1] in ("**", "*", "✓", "✔", "√", "→", "=>", ">")
        tail = MARKED.search(words)
        if tail and not (tail[0].strip() in ("*", "**") and words.count("*") % 2 == 0 and not mark):
            mark, words = True, words[:tail.start()]
        words = words.replace("**", "").strip()
        if letter in self.draft.letters:
            self._break(number, text, f"option {letter} stands twice; only the first was kept")
            return True
        if not words:
            self._break(number, text, f"option {letter} has no words")
        self.draft.options.append((letter, words, number))
        self.draft.last = "option"
        if mark and self.draft.right_line is None:
            self.draft.right, self.draft.right_line = [letter], number
        return True

    def _is_option(self, number: int, letter: str) -> bool:
        """Whether a marked line is an option here, or a stem that only looks like one."""
        draft = self.draft
        assert draft is not None
        have = draft.letters
        first = "1" if letter.isdigit() else "A"
        if not draft.stem:
            return False
        if not have:
            follows = self._next_mark(number)
            return letter == first and follows == chr(ord(first) + 1)
        if have[0].isdigit() != letter.isdigit():
            return False
        if letter.isdigit():
            # "5." after four numbered options is the next question, not a fifth option
            return (not (draft.after_blank and draft.right_line is not None)
                    and int(letter) == len(have) + 1
                    and not (draft.after_blank and len(have) >= 3))
        if draft.after_blank and letter == "A" and len(have) >= 2:
            return False  # "A. Smith, 67, ..." begins the next question
        return letter in have or ord(letter) <= ord(max(have)) + 2

    def _next_mark(self, number: int) -> str:
        for text in self.lines[number:number + 4]:
            match = OPTION.match(plain_line(text)[:LONGEST_LINE])
            if match:
                return (match[2] or match[3] or match[4]).upper()
        return ""

    def _head(self, number: int, text: str) -> bool:
        match = QUESTION.match(text)
        if not match:
            return False
        if self.draft and not self.draft.closed and self.draft.stem and match[2] \
                and not self.draft.after_blank:
            return False  # a number at the head of a stem's second line
        self._close()
        self.draft = Draft(number, number=match[1] or match[2] or match[3])
        if match[4].strip(" *_"):
            self.draft.stem.append(SheetLine(number, match[4].strip()))
        return True

    def _plain(self, number: int, text: str) -> None:
        draft = self.draft
        asked = bool(draft and draft.after_blank and draft.stem and "?" in text
                     and draft.stem[-1].text.endswith("?"))  # two stems, and no options between
        if draft is None or asked or (draft.closed and (draft.after_blank
                                                        or draft.last == "right")):
            self._close()
            self.draft = draft = Draft(number)
        draft.after_blank = False
        if draft.last == "option":
            letter, words, line = draft.options[-1]
            draft.options[-1] = (letter, f"{words} {text.strip()}", line)
        elif draft.last == "because":
            draft.because += " " + text.strip()
        elif draft.last == "why":
            letter, (said, line) = list(draft.whys.items())[-1]
            draft.whys[letter] = f"{said} {text.strip()}", line
        elif draft.last == "other":
            draft.other.go_on(text.strip())
        elif draft.last == "stem":
            draft.stem.append(SheetLine(number, text.strip()))

    # --- closing a question -----------------------------------------------------------------------

    def _close(self) -> None:
        draft, self.draft = self.draft, None
        if draft is None:
            return
        if not draft.closed and not draft.number:
            first = draft.stem[0] if draft.stem else SheetLine(draft.line, "")
            said = " ".join(line.text for line in draft.stem)
            if (RANGES.search(said) or len(SPANS.findall(said)) > 1) and "?" not in said:
                self.ranges, self.ranges_line = said, first.number  # "Our ranges: pH 7.35-7.45; .."
            elif len(draft.stem) > 1 or "?" in first.text or len(first.text) > 60:
                self.broken.append(Broken(first.number, shown(first.text),
                                          "this text has no options under it: a question needs "
                                          "lines such as 'A. respiratory acidosis'"))
            return  # a title or a greeting
        if not draft.ranges:
            draft.ranges, draft.ranges_line = self.ranges, self.ranges_line
        self.done.append(draft)

    def _finished(self, place: int, draft: Draft) -> WrittenQuestion:
        right = self._letters(draft)
        for word, told in (("suggests", draft.suggests), ("because", draft.whys)):
            for letter, (said, line) in told.items():
                if letter not in draft.letters:
                    self._break(line, said, f"there is no option {letter} for this '{word}'")
        options = tuple(WrittenOption(letter, words, line, draft.suggests.get(letter, ("", 0))[0],
                                      draft.whys.get(letter, ("", 0))[0])
                        for letter, words, line in draft.options)
        return WrittenQuestion(draft.number or str(place), draft.line, tuple(draft.stem), options,
                               right, draft.right_line, draft.because, draft.ranges,
                               draft.because_line, draft.ranges_line, draft.other.read(
                                   draft.letters, self._break))

    def _letters(self, draft: Draft) -> tuple[str, ...]:
        if not draft.right:
            return ()
        return key_letters(draft.right[0], [(one, words) for one, words, _ in draft.options],
                           lambda why: self._break(draft.right_line or draft.line,
                                                   draft.right[0], why))

    def _break(self, line: int, given: str, sentence: str) -> None:
        self.broken.append(Broken(line, shown(given), sentence))


def read_blocks(text: str) -> WrittenFile:
    """Read the questions of a plain text file; broken lines are named and the rest is read."""
    return _Reader(text.replace("\r\n", "\n").replace("\r", "\n").split("\n")).read()
