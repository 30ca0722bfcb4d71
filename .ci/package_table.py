"""Install the built sdist and wheel in bare environments, run the demo elsewhere, print a table.

    python .ci/package_table.py python3.11 python3.12 python3.13   # newest versions
    python .ci/package_table.py --lowest python3.11                # lowest allowed ones (needs uv)
"""
from __future__ import annotations

import argparse
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]


def main() -> int:
    """Build once, try each, print a line for each; 1 if anything failed."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("pythons", nargs="+", help="interpreters to try")
    asked.add_argument("--lowest", action="store_true", help="lowest allowed versions")
    asked.add_argument("--only", choices=("sdist", "wheel"), help="one package alone")
    given = asked.parse_args()
    failed = 0
    with tempfile.TemporaryDirectory(prefix="acidbase-package-") as work:
        place = Path(work)
        done = run([sys.executable, "-m", "hatchling", "build", "-d", str(place / "dist")], ROOT)
        if done.returncode:
            print(done.stderr)
            return 1
        packages = [one for one in sorted((place / "dist").iterdir())
                    if given.only is None or (given.only == "wheel") == (one.suffix == ".whl")]
        print("| python | package | versions | install s | demo s | ended |")
        print("|---|---|---|---|---|---|")
        for python in given.pythons:
            for package in packages:
                line, well = tried(python, package, place / f"{python.replace('/', '_')}"
                                   f"-{package.suffix.strip('.')}", given.lowest)
                print(line, flush=True)
                failed += not well
    return 1 if failed else 0


def tried(python: str, package: Path, venv: Path, lowest: bool) -> tuple[str, bool]:
    """One line of the table, and whether all went well."""
    kind = "wheel" if package.suffix == ".whl" else "sdist"
    versions = "lowest" if lowest else "newest"
    started = time.monotonic()
    done = run([python, "-m", "venv", str(venv)], venv.parent)
    program = str(venv / "bin" / "python")
    wanted = f"acidbase-lib[class] @ {package.as_uri()}"
    if not done.returncode:
        install = [program, "-m", "pip", "install", "-q", wanted]
        if uv := shutil.which("uv"):
            install = [uv, "pip", "install", "-q", "-p", program, wanted]
            install += ["--resolution", "lowest-direct"] if lowest else []
        done = run(install, venv.parent)
    installed = time.monotonic() - started
    demo = time.monotonic()
    if not done.returncode:  # away from the repository, and with nothing of it on the path
        elsewhere = venv.parent / f"{venv.name}-elsewhere"
        elsewhere.mkdir()
        done = run([str(venv / "bin" / "acidbase"), "demo", "--learners", "6"], elsewhere)
    number = run([program, "-c", "import platform; print(platform.python_version())"],
                 venv.parent).stdout.strip() if Path(program).exists() else python
    ended = "well" if not done.returncode else " ".join(done.stderr.split())[-160:]
    return (f"| {number} | {kind} | {versions} | {installed:.0f} | {time.monotonic() - demo:.0f} "
            f"| {ended} |", not done.returncode)


def run(words: list[str], folder: Path) -> subprocess.CompletedProcess[str]:
    """Run a command; what it said."""
    return subprocess.run(words, cwd=folder, capture_output=True, text=True, timeout=1200,
                          check=False)


if __name__ == "__main__":
    sys.exit(main())
