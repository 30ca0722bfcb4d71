"""What works on one machine only: a text's encoding, POSIX alone, a file's line ends."""
from __future__ import annotations

import ast
import re
import subprocess
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

REPOSITORY = Path(__file__).parents[2]
LIBRARY = REPOSITORY / "acidbase_lib"
FILES = sorted(LIBRARY.rglob("*.py"))
BESIDE = [*sorted((REPOSITORY / "tests" / "house").glob("*.py")),
          REPOSITORY / ".ci" / "readme_commands.py"]

RUNS = {"run", "Popen", "call", "check_call", "check_output"}
POSIX_ONLY = {"fcntl", "resource", "pwd", "grp", "termios", "tty", "pty", "syslog", "posix"}
#: Names that Windows lacks; `getattr(os, name, 0)` is the way to ask for one.
NOT_ON_WINDOWS = {"getuid", "geteuid", "getgid", "getegid", "fork", "setsid", "killpg", "chown",
                  "mkfifo", "sysconf", "O_NOFOLLOW", "O_NONBLOCK", "O_CLOEXEC", "O_DIRECTORY",
                  "fchmod", "fchown", "getpgid", "setpgid", "SIGKILL", "SIGALRM", "SIGHUP"}
#: The fence, and the marking process that is forked only where it can be.
LINUX_S_OWN = {"sandbox.py", "sandbox_kernel.py", "sandbox_watch.py", "marking_worker.py"}


@cache
def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def calls(path: Path) -> Iterator[tuple[ast.Call, str, dict[str, ast.expr]]]:
    """Every call in a file, the last word of what it calls, and what it is given by name."""
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Call):
            called = node.func
            name = called.attr if isinstance(called, ast.Attribute) else getattr(called, "id", "")
            yield node, name, {word.arg: word.value for word in node.keywords if word.arg}


def opens_bytes(call: ast.Call, named: dict[str, ast.expr]) -> bool:
    """Whether a file is opened as bytes; `os.open`, an archive and an address give bytes."""
    modes = [word.value for word in (*call.args, *named.values()) if isinstance(word, ast.Constant)]
    return (any(isinstance(mode, str) and "b" in mode for mode in modes)
            or ast.unparse(call.func) in {"os.open", "archive.open", "self._opener.open"})


def without_encoding(path: Path) -> Iterator[str]:
    """The places where a text is read or written as the machine happens to do it."""
    for call, name, named in calls(path):
        unsaid = "encoding" not in named and (
            (name == "read_text" and not call.args)
            or (name == "write_text" and len(call.args) < 2)
            or (name in {"open", "fdopen"} and not opens_bytes(call, named))
            or (name in RUNS and bool({"text", "universal_newlines"} & set(named))))
        if unsaid:
            yield f"{path.name}:{call.lineno} {name}"


def test_every_text_names_its_encoding() -> None:
    """A Windows or plain Linux default would garble a name, or stop at the first accent."""
    assert not [place for path in (*FILES, *BESIDE) for place in without_encoding(path)]


def test_every_text_is_written_with_its_line_ends() -> None:
    """Windows would write others, and a course would differ by its bytes from the same course."""
    assert not [f"{path.name}:{call.lineno}" for path in FILES for call, name, named in calls(path)
                if name == "write_text" and "newline" not in named]


def functions_around(path: Path, node: ast.AST) -> list[str]:
    """The functions that hold a place of a file, as text."""
    return [ast.unparse(function) for function in ast.walk(tree(path))
            if isinstance(function, ast.FunctionDef) and node in ast.walk(function)]


def posix_imports(path: Path) -> Iterator[str]:
    """Modules that Windows lacks, imported where nothing asks first whether they are there."""
    for node in ast.walk(tree(path)):
        names = ([alias.name for alias in node.names] if isinstance(node, ast.Import)
                 else [node.module or ""] if isinstance(node, ast.ImportFrom) and not node.level
                 else [])
        if {name.split(".")[0] for name in names} & POSIX_ONLY and not any(
                "sys.platform" in body or "except (ImportError" in body
                or "except ImportError" in body for body in functions_around(path, node)):
            yield f"{path.name}:{node.lineno} {', '.join(names)}"


def test_no_module_needs_what_windows_lacks() -> None:
    assert not [place for path in FILES for place in posix_imports(path)]
    assert not [f"{path.name}:{node.lineno} {ast.unparse(node)}" for path in FILES
                if path.name not in LINUX_S_OWN for node in ast.walk(tree(path))
                if isinstance(node, ast.Attribute) and node.attr in NOT_ON_WINDOWS
                and ast.unparse(node.value) in {"os", "signal"}
                and not any("sys.platform" in body or "os.name" in body or "hasattr(os" in body
                            for body in functions_around(path, node))]


GUARDS = ("os.name", "sys.platform", "suppress(", "except OSError", "except PermissionError")


def opened_as_windows_cannot(path: Path) -> Iterator[str]:
    """Files opened as text by the system, and folders opened to be synced where none can be."""
    for function in ast.walk(tree(path)):
        if not isinstance(function, ast.FunctionDef):
            continue
        body = ast.unparse(function)
        for call in ast.walk(function):
            if isinstance(call, ast.Call) and ast.unparse(call.func) == "os.open":
                said = ast.unparse(call)
                a_folder = "fsync" in body and any(guard in body for guard in GUARDS)
                if "O_BINARY" not in said and "devnull" not in said and not a_folder:
                    yield f"{path.name}:{call.lineno} {said}"


def test_a_file_opened_by_the_system_is_opened_as_bytes() -> None:
    """Without O_BINARY Windows changes line ends and ends a file at its first Ctrl-Z."""
    assert not [place for path in FILES for place in opened_as_windows_cannot(path)]


@pytest.mark.parametrize("body", [
    "h = os.open(p, os.O_RDONLY)", "h = os.open(folder, os.O_RDONLY); os.fsync(h)",
])
def test_what_windows_cannot_open_is_seen(body: str, tmp_path: Path) -> None:
    (tmp_path / "one.py").write_text(f"def one(p):\n    {body}\n", encoding="utf-8")
    assert list(opened_as_windows_cannot(tmp_path / "one.py"))


OF_THE_PLACE = {"strftime", "setlocale", "localeconv", "month_name", "month_abbr", "day_name",
                "day_abbr", "ctime", "asctime"}


def of_the_place(path: Path) -> Iterator[str]:
    """What comes out in the language of the computer: names of months and days, and the like."""
    for node in ast.walk(tree(path)):
        spec = node.format_spec if isinstance(node, ast.FormattedValue) else None
        if spec is not None and re.search("%[aAbBcxXpZ]", ast.unparse(spec)):
            yield f"{path.name}:{node.lineno} {ast.unparse(spec)}"
        if isinstance(node, ast.Attribute) and node.attr in OF_THE_PLACE:
            yield f"{path.name}:{node.lineno} {node.attr}"


def test_nothing_is_written_in_the_language_of_the_computer() -> None:
    assert not [place for path in FILES for place in of_the_place(path)]


# --- the finders find -----------------------------------------------------------------------------

@pytest.mark.parametrize("line", [
    "p.read_text()", "p.write_text(t)", "open(p)", "open(p, 'w')", "os.fdopen(h, 'w')",
    "subprocess.run(c, text=True)", "subprocess.Popen(c, universal_newlines=True)", "p.open()",
])
def test_a_text_without_its_encoding_is_seen(line: str, tmp_path: Path) -> None:
    (tmp_path / "one.py").write_text(line, encoding="utf-8")
    assert list(without_encoding(tmp_path / "one.py"))


@pytest.mark.parametrize("line", [
    "p.read_text('utf-8')", "p.write_text(t, 'utf-8')", "open(p, 'rb')", "p.open(mode='wb')",
    "open(p, encoding='utf-8')", "subprocess.run(c, encoding='utf-8')", "os.open(p, os.O_RDONLY)",
])
def test_a_text_with_its_encoding_passes(line: str, tmp_path: Path) -> None:
    (tmp_path / "one.py").write_text(line, encoding="utf-8")
    assert not list(without_encoding(tmp_path / "one.py"))


@pytest.mark.parametrize("line", ["f'{now:%B} 3'", "now.strftime('%d')", "calendar.month_name[3]"])
def test_a_word_of_the_computer_s_language_is_seen(line: str, tmp_path: Path) -> None:
    (tmp_path / "one.py").write_text(line, encoding="utf-8")
    assert list(of_the_place(tmp_path / "one.py"))


# --- line ends ------------------------------------------------------------------------------------

@pytest.mark.parametrize("name", [
    "course/*/02_primary_disorder.ipynb", "tests/**/golden_cases.csv",
    "acidbase_lib/**/02_primary_disorder.toml", ".ci/run", "acidbase_lib/**/chart_form.js",
])
def test_a_windows_checkout_keeps_the_line_ends(name: str) -> None:
    """They are compared by their bytes, or run by a shell that stumbles over others."""
    path = next(REPOSITORY.glob(name)).relative_to(REPOSITORY).as_posix()
    if not (REPOSITORY / ".git").exists():
        pytest.skip("this is no checkout")
    told = subprocess.run(["git", "check-attr", "eol", "--", path], cwd=REPOSITORY, check=True,
                          capture_output=True, encoding="utf-8").stdout
    assert told.strip() == f"{path}: eol: lf"


def test_no_file_of_the_repository_holds_another_line_end() -> None:
    kept = [path for kind in ("py", "toml", "ipynb", "js", "css", "md")
            for folder in ("acidbase_lib", "course", "solutions", "tests")
            for path in (REPOSITORY / folder).rglob(f"*.{kind}")
            if ".ipynb_checkpoints" not in path.parts]
    assert len(kept) > 300
    assert not [str(path) for path in kept if b"\r\n" in path.read_bytes()]
