"""Ids that a disk, or a search, takes for one: those alike but for small and capital letters."""
from __future__ import annotations

import os
import unicodedata
from collections.abc import Iterable, Sequence
from pathlib import Path

Groups = tuple[tuple[str, ...], ...]


def as_one(name: str) -> str:
    """What of a name is the same where a disk does not tell letters apart.

    Examples
    --------
    >>> as_one("A1x") == as_one("a1X"), as_one("a1") == as_one("a2")
    (True, False)
    """
    return unicodedata.normalize("NFKC", unicodedata.normalize("NFC", name).casefold())


def alike(names: Iterable[str]) -> Groups:
    """Return the names that differ from each other in small and capital letters alone."""
    groups: dict[str, list[str]] = {}
    for name in names:
        groups.setdefault(as_one(name), []).append(name)
    return tuple(tuple(group) for group in groups.values() if len(group) > 1)


def takes_for_one(folder: Path) -> bool:
    """True where a folder's disk takes A and a for one name, as it does on many machines."""
    try:
        names = set(os.listdir(folder))
    except OSError:
        return False
    for name in names:
        other = name.swapcase()
        if other not in names and os.path.lexists(folder / other):
            return True
    return False


def told_apart(ids: Sequence[str], folders: Iterable[Path]) -> str:
    """Return why these ids cannot be kept in these folders; empty where they can."""
    if not (groups := alike(ids)):
        return ""
    folder = next(filter(takes_for_one, folders), None)
    return "" if folder is None else (
        f"The ids {' and '.join(map(repr, groups[0]))} differ in small and capital letters alone, "
        f"and the disk of {folder} takes them for one name: one learner's files would replace the "
        "other's. Give one of them another id in the roster. Nothing was changed.")


def stands_as(folder: Path, name: str) -> bool:
    """True where a folder holds this very name, letter for letter, whatever its disk says."""
    try:
        return name in os.listdir(folder)
    except OSError:
        return False
