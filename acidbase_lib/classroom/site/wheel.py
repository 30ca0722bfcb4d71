"""Wheels for the browser: the kit, built or repacked as installed, and one left out on purpose."""
from __future__ import annotations

import base64
import hashlib
import subprocess
import sys
import zipfile
from collections.abc import Iterable, Iterator
from importlib.metadata import Distribution, distribution
from pathlib import Path

from acidbase_lib.classroom.errors import CommandError

NAME = "acidbase-lib"
_ROOT = Path(__file__).resolve().parents[3]
# what an installer adds, and what says how a wheel was installed here
_INSTALLERS_OWN = frozenset({"RECORD", "INSTALLER", "REQUESTED", "direct_url.json"})


def make_wheel(into: Path) -> Path:
    """Put the kit's wheel into a folder.

    Parameters
    ----------
    into : Path
        The folder; made if it is not there.

    Raises
    ------
    CommandError
        If it could not be built.
    """
    into.mkdir(parents=True, exist_ok=True)
    return _build(into) if (_ROOT / "pyproject.toml").exists() else _repack(into)


def _build(into: Path) -> Path:
    done = subprocess.run([sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d",
                           str(into.resolve())], cwd=_ROOT, capture_output=True, check=False,
                          encoding="utf-8", errors="replace")
    made = sorted(into.glob("*.whl"))
    if done.returncode or not made:
        last = (done.stderr.strip().splitlines() or ["no reason was given"])[-1]
        raise CommandError(f"the kit's own wheel could not be built: {last}; hatchling comes with: "
                           'pip install "acidbase-lib[site]"')
    return made[-1]


def _repack(into: Path) -> Path:
    """Write the installed files back into a wheel; its record is made anew."""
    kit = distribution(NAME)
    path = into / f"acidbase_lib-{kit.version}-py3-none-any.whl"
    _write_wheel(path, f"acidbase_lib-{kit.version}.dist-info", _installed_files(kit))
    return path


def leave_out_jedi(into: Path) -> Path:
    """Put an empty wheel in place of jedi, which completes what a programmer types.

    IPython does without it where it cannot be imported; the kernel insists that it is there. The
    real one is 5 MB and a quarter of the time that a page takes to get ready.
    """
    info = "jedi-0.99.0.dist-info"
    path = into / "jedi-0.99.0-py3-none-any.whl"
    _write_wheel(path, info, (
        ("jedi/__init__.py", b'raise ImportError("jedi is left out of this page")\n'),
        (f"{info}/METADATA", b"Metadata-Version: 2.1\nName: jedi\nVersion: 0.99.0\n"),
        (f"{info}/WHEEL", b"Wheel-Version: 1.0\nRoot-Is-Purelib: true\nTag: py3-none-any\n")))
    return path


def _write_wheel(path: Path, info: str, files: Iterable[tuple[str, bytes]]) -> None:
    rows = []
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as wheel:
        for name, data in files:
            wheel.writestr(name, data)
            digest = base64.urlsafe_b64encode(hashlib.sha256(data).digest()).rstrip(b"=").decode()
            rows.append(f"{name},sha256={digest},{len(data)}")
        wheel.writestr(f"{info}/RECORD", "\n".join([*rows, f"{info}/RECORD,,"]) + "\n")


def _installed_files(kit: Distribution) -> Iterator[tuple[str, bytes]]:
    for file in kit.files or ():
        home = file.parts[0]
        ours = home == "acidbase_lib" or (home.endswith(".dist-info")
                                          and file.name not in _INSTALLERS_OWN)
        if ours and file.suffix != ".pyc":
            yield file.as_posix(), Path(str(file.locate())).read_bytes()
