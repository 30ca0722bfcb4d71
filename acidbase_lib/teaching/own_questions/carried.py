"""A unit's own questions, carried by the notebooks that ask them.

This is the one way in which own questions travel. A school's folder is read once, by the command
that writes a notebook, a worksheet or a quiz. What it writes holds the text of the questions in its
setup cell, packed into one word with a fingerprint: ``open_unit("ward_round", questions="...")``.
So a notebook opens, checks, marks and is reported on any machine that has the kit: in a marking
process, on a cluster, in a browser, after the folder was moved, and a year later. Nothing is
looked up, and no module remembers a school. It is packed, not secret: as with the kit's own units,
who programs can read the key. A test that counts is sat under a person's eyes.
"""
from __future__ import annotations

import base64
import hashlib
import re
import zlib
from dataclasses import replace
from functools import lru_cache
from typing import Final

from acidbase_lib.teaching.questions.question_file import (
    LONGEST,
    UnitError,
    UnitPlan,
    read_plan,
    unit_ids,
)

from .faults import Fault, OwnUnitError

TEXT, TABLE, TOML = "text", "table", "toml"
KINDS: Final = (TEXT, TABLE, TOML)
NAME: Final = re.compile(r"[a-z][a-z0-9_]{0,39}")
_PACKED: Final = re.compile(r"(\w{4,5})\.([0-9a-f]{12})\.([A-Za-z0-9_=-]+)")
_MOST_PACKED: Final = 400_000  # characters of a setup cell


def own_plan(unit_id: str, text: str, kind: str = TEXT, where: str = "") -> UnitPlan:
    """Return the plan of a school's own questions; it carries their text.

    Parameters
    ----------
    unit_id : str
        The unit's name: that of the file, without its ending.
    text : str
        What the file holds.
    kind : str
        "text" or "table" as `acidbase audit --guide` prints, or "toml", as the kit's own units.
    where : str
        How a fault names the file.

    Raises
    ------
    UnitError
        The name or the text cannot be a unit.
    """
    from .written_plan import plan_of_text  # only a school that has its own pays for it

    where = where or unit_id
    if not NAME.fullmatch(unit_id):
        raise OwnUnitError(where, (Fault(
            1, f"the file's name is the unit's name, and {unit_id[:50]!r} cannot be one: use small "
            "letters, digits and _, a letter first, such as ward_round."),))
    if unit_id in unit_ids() or re.search(r"_form_\d+$", unit_id):
        raise OwnUnitError(where, (Fault(1, f"{unit_id} is a name that the kit uses itself: give "
                                            "the file another one."),))
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    if kind == TOML:
        plan = replace(read_plan(text, where), id=unit_id)
    else:
        plan = plan_of_text(unit_id, text, where)
    return replace(plan, carried=pack(text, kind))


def pack(text: str, kind: str = TEXT) -> str:
    """Return a text as one word of plain signs, with a fingerprint."""
    data = text.encode()
    packed = base64.urlsafe_b64encode(zlib.compress(data, 9)).decode("ascii")
    return f"{kind}.{hashlib.sha256(data).hexdigest()[:12]}.{packed}"


def unpack(word: str) -> tuple[str, str]:
    """Return the text and its kind.

    Raises
    ------
    UnitError
        The word was changed or cut off.
    """
    found = _PACKED.fullmatch(word) if len(word) <= _MOST_PACKED else None
    try:
        if found is None or found[1] not in KINDS:
            raise ValueError
        opener = zlib.decompressobj()
        data = opener.decompress(base64.b64decode(found[3], b"-_", validate=True), LONGEST)
        if opener.unconsumed_tail or not opener.eof \
                or hashlib.sha256(data).hexdigest()[:12] != found[2]:
            raise ValueError
        return data.decode(), found[1]
    except (ValueError, zlib.error):
        raise UnitError("The questions that this notebook carries in its setup cell were changed "
                        "or cut off. Open a fresh copy of it and copy your answers into "
                        "it.") from None


@lru_cache(maxsize=16)
def carried_plan(unit_id: str, word: str) -> UnitPlan:
    """Return the plan that a notebook carries.

    Raises
    ------
    UnitError
        It was changed, or holds no unit.
    """
    text, kind = unpack(word)
    return own_plan(unit_id, text, kind, f"the questions of {unit_id}")
