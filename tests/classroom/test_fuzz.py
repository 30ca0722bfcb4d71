"""Whatever is handed in: no reader crashes, and none takes 20 times an honest input of its size.

A short run stands in the quick loop, the same inputs each time. `pytest -m long` takes two minutes
and other inputs each time; `ACIDBASE_FUZZ_MINUTES=60 pytest -m long tests/classroom/test_fuzz.py`
is the hour at a desk; so is `python -m tests.benchmarks.coverage_fuzz`, which needs atheris and
makes up what reaches lines that no input has reached yet. What they find is kept in `corpus/` and
tried ever after.
"""
from __future__ import annotations

import hashlib
import os
import random
import sys
import time
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[2]))  # `tests` is found however pytest is started

from fuzzing import READERS, TALLIES, try_input
from hypothesis import HealthCheck, Phase, given, seed, settings

CORPUS = Path(__file__).parent / "corpus"
KEPT = sorted(path for path in CORPUS.rglob("*") if path.is_file())
SHORT = 20  # inputs of each reader in the quick loop
_QUIET = tuple(HealthCheck)


@pytest.mark.slow
@pytest.mark.parametrize("name", READERS)
def test_no_input_crashes_a_reader_or_costs_too_much(
        name: str, tmp_path_factory: pytest.TempPathFactory) -> None:
    folder = tmp_path_factory.mktemp("fuzz")

    @settings(max_examples=SHORT, derandomize=True, deadline=None, database=None,
              suppress_health_check=_QUIET)
    @given(READERS[name].made_up)
    def each(data: bytes) -> None:
        try_input(name, data, folder)

    each()


@pytest.mark.slow
@pytest.mark.parametrize("path", KEPT, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_an_input_that_was_found_once_is_found_no_more(path: Path, tmp_path: Path) -> None:
    try_input(path.parent.name, path.read_bytes(), tmp_path)


@pytest.mark.long
@pytest.mark.filterwarnings("ignore:Generating overly large repr")  # of what was found
@pytest.mark.parametrize("name", READERS)
def test_many_more_inputs(name: str, tmp_path_factory: pytest.TempPathFactory) -> None:
    """As long as ACIDBASE_FUZZ_MINUTES says, for all readers together."""
    minutes = float(os.environ.get("ACIDBASE_FUZZ_MINUTES", "2"))
    until = time.monotonic() + 60 * minutes / len(READERS)
    folder = tmp_path_factory.mktemp("fuzz")
    found: bytes | None = None
    while time.monotonic() < until:
        @seed(random.SystemRandom().getrandbits(64))
        @settings(max_examples=100, deadline=None, database=None, suppress_health_check=_QUIET,
                  phases=[Phase.generate, Phase.shrink])
        @given(READERS[name].made_up)
        def each(data: bytes) -> None:
            nonlocal found
            try:
                try_input(name, data, folder)
            except BaseException:
                found = data if found is None or len(data) <= len(found) else found
                raise

        try:
            each()
        except BaseException:
            if found is not None:  # the smallest that showed it
                kept = CORPUS / name / hashlib.sha256(found).hexdigest()[:12]
                kept.parent.mkdir(parents=True, exist_ok=True)
                kept.write_bytes(found)
            raise
    print(f"{name}: {TALLIES[name].inputs:,} inputs, the dearest {TALLIES[name].dearest:.1f} times "
          "an honest one")


@pytest.mark.long
def test_what_a_coverage_guided_fuzzer_makes_up() -> None:
    """By atheris, where it is installed (pip install atheris); as long again."""
    pytest.importorskip("atheris", reason="pip install atheris")
    from tests.benchmarks import coverage_fuzz

    minutes = float(os.environ.get("ACIDBASE_FUZZ_MINUTES", "2"))
    for name in READERS:
        inputs, dearest, found = coverage_fuzz.fuzzed(name, 60 * minutes / len(READERS))
        print(f"{name}: {inputs:,} inputs, the dearest {dearest:.1f} times an honest one")
        assert (inputs > 0, found) == (True, [])


def test_the_coverage_guided_fuzzer_knows_every_reader() -> None:
    from tests.benchmarks import coverage_fuzz

    assert set(coverage_fuzz.NAMES) == set(READERS)
