"""No source without a use, no use without a source, and memory is called memory."""
import inspect
import re
from typing import get_args

from for_each import for_each
from formulas import MODULES

from acidbase_lib.physiology.references import FROM_MEMORY, REFERENCES, HowSeen

SOURCES = {module.__name__: inspect.getsource(module) for module in MODULES}
TEXT = "\n".join(text for name, text in SOURCES.items() if not name.endswith(".references"))


@for_each(REFERENCES)
def test_no_key_is_unused(key):
    assert re.search(rf"\[{key}\]_|REFERENCES\[\"{key}\"\]", TEXT)


def test_no_cited_key_is_unknown():
    assert set(re.findall(r"\[([A-Z]\w+)\]_", TEXT)) <= set(REFERENCES)


@for_each(REFERENCES)
def test_how_it_was_seen_is_one_of_five(key):
    assert REFERENCES[key].seen in get_args(HowSeen)


@for_each(REFERENCES)
def test_what_was_seen_says_where(key):
    """A claim of print or of hearsay names the place."""
    if REFERENCES[key].seen in ("in print", "second-hand"):
        assert REFERENCES[key].where


def test_memory_is_written_one_way():
    """So that one search finds every constant nobody has checked."""
    for found in re.findall(r"from memory[^.;)\]]*", " ".join(TEXT.split())):
        assert found.startswith(FROM_MEMORY)


def test_every_constant_says_where_it_comes_from_or_is_a_limit():
    """A number with a name carries a comment in its line."""
    for name, text in SOURCES.items():
        for line in re.findall(r"^[A-Z][A-Z0-9_]+ = -?\d.*$", text, flags=re.M):
            assert "#" in line, f"{name}: {line}"
