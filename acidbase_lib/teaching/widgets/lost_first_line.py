"""An answer cell whose first line was deleted is read as what it is, and one sentence says so."""
from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from acidbase_lib.teaching.questions.answer_text import RESERVED, read_chart
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.spelling import fold

from .front_end import cell_of, request_of

MAGIC = "chart_whose_first_line_was_lost"
_WHOLE = re.compile(r"\s*%%chart(?:_whose_first_line_was_lost)?\b")
_ANSWER = "-answer"  # an answer cell's id is its question's with this behind it
UNKNOWN = ("This looks like an answer whose first line is gone. Write the line back above it: "
           "%%chart and the question's name, such as %%chart {example}. Nothing you wrote is lost.")

Exercises = Callable[[], Mapping[str, Exercise]]


def register_lost_line(shell: Any, run: Callable[[str, str], None], exercises: Exercises) -> None:
    """Have a running IPython know answer cells without their ``%%chart`` line.

    Parameters
    ----------
    shell : IPython.core.interactiveshell.InteractiveShell
        The notebook's shell.
    run : callable
        The ``%%chart`` magic: takes its line and the cell's body.
    exercises : callable
        Returns the questions of the unit that is open.
    """
    def mended(line: str, cell: str) -> None:
        question = line.strip()
        print(f"The first line of this answer was gone: %%chart {question}. It is put back, and "
              "your answer is read.")
        shell.set_next_input(f"%%chart {question}\n{cell}".rstrip("\n"), replace=True)
        run(question, cell)

    def put_back(lines: list[str]) -> list[str]:
        return with_first_line(lines, cell_of(request_of(shell)), exercises())

    shell.register_magic_function(mended, magic_kind="cell", magic_name=MAGIC)
    transforms = shell.input_transformers_cleanup
    transforms[:] = [one for one in transforms if getattr(one, "mends", "") != MAGIC]
    put_back.mends = MAGIC  # type: ignore[attr-defined]
    transforms.insert(0, put_back)


def with_first_line(lines: list[str], cell_id: str,
                    exercises: Mapping[str, Exercise]) -> list[str]:
    """Return a cell's lines, with a first line where they are an answer that has lost its own.

    Parameters
    ----------
    lines : list of str
        The cell as it is run, line ends included.
    cell_id : str
        The front end's name of the cell; "" where it gives none.
    exercises : mapping of str to Exercise
        The unit's questions.
    """
    written = [line for line in lines if line.strip()]
    if not written or _WHOLE.match(written[0]):
        return lines
    damaged = written[0] is lines[0] and lines[0].lstrip().startswith("%")
    body = lines[1:] if damaged else lines
    read = read_chart("".join(body))
    named = [name for line in read if (name := fold(line.field)) and name not in RESERVED]
    own = exercises.get(cell_id.removesuffix(_ANSWER)) if cell_id.endswith(_ANSWER) else None
    if own is not None:
        return _under(own.id, body) if _names(own) & set(named) else lines
    if damaged or not all(line.field for line in read):
        return lines  # a magic of somebody else's, or a line without a colon: this is no answer
    fits = [one for one in exercises.values()
            if named and set(named) <= _names(one) and len(named) == len(one.fields)]
    if len(fits) == 1:
        return _under(fits[0].id, body)
    return [f"print({UNKNOWN.format(example=fits[0].id)!r})\n"] if fits else lines


def _under(question: str, body: list[str]) -> list[str]:
    return [f"%%{MAGIC} {question}\n", *body]


def _names(exercise: Exercise) -> set[str]:
    return {fold(name) for field in exercise.fields for name in (field.name, *field.also)}
