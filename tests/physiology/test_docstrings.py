"""Docstrings are data: unit, error, source and a running example for every public formula."""
import doctest
import inspect
import re

import pytest
from for_each import for_each
from formulas import MODULES, formulas

from acidbase_lib.physiology.quantities import QUANTITIES
from acidbase_lib.physiology.references import FROM_MEMORY, REFERENCES

FORMULAS = formulas()
SECTIONS = ["Parameters", "Returns", "Raises", "Notes", "Examples"]
UNITS = {row.unit or "no unit" for row in QUANTITIES.values()} | {
    "nmol/L", "mL/L", "words", "name", "yes or no"}


def _doc(formula) -> str:
    return inspect.getdoc(formula) or ""


def _section(formula, title: str) -> str:
    parts = re.split(r"^(\w+)\n-+$", _doc(formula), flags=re.M)
    return dict(zip(parts[1::2], parts[2::2], strict=True)).get(title, "")


def _cited(formula) -> set[str]:
    return set(re.findall(r"\[([A-Z]\w+)\]_", _doc(formula)))


EACH = for_each(FORMULAS, named=lambda formula: formula.__name__)


def test_there_are_formulas_to_look_at():
    assert len(FORMULAS) > 50


@EACH
def test_sections_in_order(formula):
    assert re.findall(r"^(\w+)\n-+$", _doc(formula), flags=re.M) == SECTIONS
    assert re.match(r"[A-Z].*[.;:]", _doc(formula).splitlines()[0])


@EACH
def test_every_parameter_has_its_type_and_unit(formula):
    """The unit of the docstring is the unit of the table."""
    blocks = re.split(r"^(?=\w+ : )", _section(formula, "Parameters"), flags=re.M)[1:]
    names = [block.split(" : ")[0] for block in blocks]
    assert names == list(inspect.signature(formula).parameters)
    for name, block in zip(names, blocks, strict=True):
        unit = re.search(r"\[([^]]+)\]\s*$", block)
        assert unit, f"{name} has no unit"
        if name in QUANTITIES:
            assert unit[1] == (QUANTITIES[name].unit or "no unit")
        else:
            assert unit[1] in {"words", "name", "yes or no"}


@EACH
def test_what_comes_back_has_its_unit(formula):
    unit = re.search(r"\[([^]]+)\]\s*$", _section(formula, "Returns"))
    assert unit
    assert unit[1] in UNITS


@EACH
def test_the_library_error_is_announced(formula):
    assert _section(formula, "Raises").strip().startswith("QuantityError")


@EACH
def test_a_source_is_cited_and_known(formula):
    assert _cited(formula)
    assert _cited(formula) <= set(REFERENCES)


@EACH
def test_what_is_from_memory_says_so(formula):
    doc = " ".join(_doc(formula).split())
    if any(REFERENCES[key].seen == FROM_MEMORY for key in _cited(formula)):
        assert FROM_MEMORY in doc


@EACH
def test_every_argument_may_be_named(formula):
    for parameter in inspect.signature(formula).parameters.values():
        assert parameter.kind in (parameter.POSITIONAL_OR_KEYWORD, parameter.KEYWORD_ONLY)
        assert parameter.annotation is not parameter.empty


@EACH
def test_the_example_runs_and_is_there(formula):
    module = inspect.getmodule(formula)
    tests = doctest.DocTestFinder(recurse=False).find(
        formula, formula.__name__, module=module, globs=vars(module))
    runner = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS)
    assert sum(len(test.examples) for test in tests) >= 1
    for test in tests:
        assert runner.run(test).failed == 0


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__.split(".")[-1])
def test_the_other_examples_run_too(module):
    assert doctest.testmod(module, optionflags=doctest.ELLIPSIS).failed == 0


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__.split(".")[-1])
def test_a_module_is_short_and_says_what_it_is(module):
    assert module.__doc__
    assert module.__doc__.splitlines()[0].endswith((".", "?"))
    assert len(inspect.getsource(module).splitlines()) <= 300
