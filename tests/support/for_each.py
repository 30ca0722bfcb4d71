"""One test of a check over many cases: all are tried, and each that fails is named."""
from __future__ import annotations

import inspect
from collections.abc import Callable, Iterable
from typing import Any

import pytest

SHOWN, LONGEST = 10, 400  # failing cases that are told, and in how many letters


def for_each(cases: Iterable[Any], named: Callable[[Any], str] = str) -> Callable[
        [Callable[..., None]], Callable[[], None]]:
    """Make one test of a check over many cases, where one for each costs more than it tells.

    Parameters
    ----------
    cases : iterable
        What the check is tried on; a tuple fills several arguments. None at all is a failure.
    named : callable
        From a case to its name in a failure.
    """
    tried = list(cases)

    def joined(check: Callable[..., None]) -> Callable[[], None]:
        several = len(inspect.signature(check).parameters) > 1

        def test() -> None:
            assert tried, "there is no case to try"
            failed = []
            for case in tried:
                try:
                    check(*case) if several else check(case)
                except (Exception, pytest.fail.Exception, pytest.skip.Exception) as error:
                    failed.append(f"{named(case)}: {type(error).__name__}: {error}"[:LONGEST])
            if failed:
                pytest.fail("\n".join((f"{len(failed)} of {len(tried)} cases fail",
                                       *failed[:SHOWN])), pytrace=False)

        test.__name__, test.__doc__, test.__module__ = (
            check.__name__, check.__doc__, check.__module__)
        test.__dict__.update(check.__dict__)  # the marks that stand below
        return test

    return joined
