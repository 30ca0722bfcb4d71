"""What a gradebook says was released is read as words and values; it is never run as Python.

A gradebook is shared, copied and sent. Where a cell that is run to mark differs in it from the
instructor's own notebook, the gradebook's text is used only if it is a call of this kit with plain
values, such as ``unit.mark("q2-1", key="B")``: then its values are all that can differ.
"""
from __future__ import annotations

import ast

from acidbase_lib.classroom.notebooks.assignment import AssignmentSource, SourceError

_OF_THE_UNIT = frozenset({"check", "mark", "review", "practice"})
_LONGEST = 20_000  # characters: a longer one is no call with plain values, and slow to parse


def refuse_code(source: AssignmentSource, released: AssignmentSource) -> None:
    """Let no text of the gradebook be run that the instructor's own notebook does not hold.

    Parameters
    ----------
    source : AssignmentSource
        The instructor's notebook on disk.
    released : AssignmentSource
        The same with the texts that the gradebook holds.

    Raises
    ------
    SourceError
        If a cell that is run differs and is more than a call of this kit with plain values.
    """
    run = {cell.name for cell in released.code_to_run()}
    odd = [str(new.name) for new, old in zip(released.cells, source.cells, strict=True)
           if new.text != old.text and new.kind == "code"
           and (new.role == "check" or new.name in run or released.holds_code)
           and not is_plain(new.text)]
    if odd:
        raise SourceError(
            f"{source.name}: the gradebook holds another text than your notebook in "
            f"{', '.join(odd[:6])}, and it is more than a call of this kit with plain values. A "
            "text from a gradebook is never run. If you edited the notebook since you released "
            f"it, put it back as it was, or release it again: nbgrader generate_assignment "
            f"{source.name} --force. If you did not, somebody changed the gradebook: `acidbase "
            "check` and `acidbase restore` help. Nothing was marked.")


def is_plain(text: str) -> bool:
    """Tell whether a cell only imports from this kit, and calls it with plain values.

    Examples
    --------
    >>> is_plain('unit.check("q1")\\nunit.mark("q1", key="B")')
    True
    >>> is_plain('unit.mark("q1", key=open("secret").read())')
    False
    """
    if len(text) > _LONGEST:
        return False
    try:
        lines = ast.parse(text).body
    except (SyntaxError, ValueError, RecursionError, MemoryError):
        return False
    imported: set[str] = set()
    for line in lines:
        if isinstance(line, ast.ImportFrom):
            names = {alias.name for alias in line.names if alias.asname is None}
            if (line.module, line.level) != ("acidbase_lib", 0) or len(names) != len(line.names) \
                    or not all(n == "open_unit" or n.startswith("explore_") for n in names):
                return False
            imported |= names
        elif isinstance(line, ast.Assign):
            if [ast.dump(target) for target in line.targets] != [_UNIT] \
                    or not _is_plain_call(line.value, imported):
                return False
        elif not (isinstance(line, ast.Expr) and _is_plain_call(line.value, imported)):
            return False
    return True


_UNIT = ast.dump(ast.Name("unit", ast.Store()))


def _is_plain_call(call: ast.expr, imported: set[str]) -> bool:
    if not isinstance(call, ast.Call):
        return False
    named = (isinstance(call.func, ast.Name) and call.func.id in imported) or (
        isinstance(call.func, ast.Attribute) and isinstance(call.func.value, ast.Name)
        and call.func.value.id == "unit" and call.func.attr in _OF_THE_UNIT)
    values = [*call.args, *(word.value for word in call.keywords)]
    return named and all(word.arg for word in call.keywords) and all(map(_is_value, values))


def _is_value(value: ast.expr) -> bool:
    try:
        ast.literal_eval(value)
    except (ValueError, TypeError, SyntaxError, MemoryError, RecursionError):
        return False
    return True

