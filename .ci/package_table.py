"""Install the built sdist and wheel in bare environments, run the demo elsewhere, print a table.

    python .ci/package_table.py python3.11 python3.12 python3.13   # newest versions
    python .ci/package_table.py --lowest python3.11                # lowest allowed ones (needs uv)
    python .ci/package_table.py --quick [--lowest] python3.11      # this checkout's quick tests
"""
from __future__ import annotations

import argparse
import os
import re
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
    asked.add_argument("--quick", action="store_true",
                       help="install the checkout with what its tests need; the quick tests")
    asked.add_argument("--only", choices=("sdist", "wheel"), help="one package alone")
    given = asked.parse_args()
    if given.lowest and not shutil.which("uv"):
        asked.error("--lowest needs uv: pip install uv")
    failed = 0
    with tempfile.TemporaryDirectory(prefix="acidbase-package-") as work:
        place = Path(work)
        if given.quick:
            print("| python | versions | install s | quick tests | s |")
            print("|---|---|---|---|---|")
            lines = [quick(python, place / f"{number}", given.lowest)
                     for number, python in enumerate(given.pythons)]
            return 0 if all(lines) else 1
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


def installed_in(venv: Path, python: str, wanted: list[str],
                 lowest: bool) -> subprocess.CompletedProcess[str]:
    """Make an environment with what is wanted in it; how that ended."""
    done = run([python, "-m", "venv", str(venv)], venv.parent)
    program = str(venv / "bin" / "python")
    if done.returncode:
        return done
    install = [program, "-m", "pip", "install", "-q", *wanted]
    if uv := shutil.which("uv"):
        install = [uv, "pip", "install", "-q", "-p", program, *wanted]
        install += ["--resolution", "lowest-direct"] if lowest else []
    return run(install, venv.parent)


def number_of(python: str, venv: Path) -> str:
    """The version of an environment's Python, or what it was asked for by."""
    program = venv / "bin" / "python"
    if not program.exists():
        return python
    asked = [str(program), "-c", "import platform; print(platform.python_version())"]
    return run(asked, venv.parent).stdout.strip()


def quick(python: str, venv: Path, lowest: bool) -> bool:
    """Print how the checkout's quick tests ended; whether all passed."""
    started = time.monotonic()
    done = installed_in(venv, python, ["-e", f"{ROOT}[test]"], lowest)
    tests = time.monotonic()
    if not done.returncode:
        done = run([str(venv / "bin" / "python"), "-m", "pytest", "-q", "--maxfail=20",
                    "-p", "no:cacheprovider"], ROOT, venv / "bin")
        print(done.stdout[-20_000:] if done.returncode else "", file=sys.stderr)
    said = re.findall(r"^(?=.*\b(?:passed|failed|error)).* in [\d.]+s.*$", done.stdout, re.M)
    ended = said[-1].split(" in ")[0] if said else " ".join(done.stderr.split())[-160:]
    print(f"| {number_of(python, venv)} | {'lowest' if lowest else 'newest'} "
          f"| {tests - started:.0f} | {ended} | {time.monotonic() - tests:.0f} |", flush=True)
    return not done.returncode


def tried(python: str, package: Path, venv: Path, lowest: bool) -> tuple[str, bool]:
    """One line of the table, and whether all went well."""
    kind = "wheel" if package.suffix == ".whl" else "sdist"
    versions = "lowest" if lowest else "newest"
    started = time.monotonic()
    done = installed_in(venv, python, [f"acidbase-lib[class] @ {package.as_uri()}"], lowest)
    installed = time.monotonic() - started
    demo = time.monotonic()
    if not done.returncode:  # away from the repository, and with nothing of it on the path
        elsewhere = venv.parent / f"{venv.name}-elsewhere"
        elsewhere.mkdir()
        done = run([str(venv / "bin" / "acidbase"), "demo", "--learners", "6"], elsewhere)
    ended = "well" if not done.returncode else " ".join(done.stderr.split())[-160:]
    return (f"| {number_of(python, venv)} | {kind} | {versions} | {installed:.0f} "
            f"| {time.monotonic() - demo:.0f} | {ended} |", not done.returncode)


def run(words: list[str], folder: Path,
        programs: Path | None = None) -> subprocess.CompletedProcess[str]:
    """Run a command, with an environment's programs first on the path; what it said."""
    path = os.pathsep.join(filter(None, (programs and str(programs), os.environ["PATH"])))
    return subprocess.run(words, cwd=folder, capture_output=True, text=True, timeout=2400,
                          check=False, env={**os.environ, "PATH": path})


if __name__ == "__main__":
    sys.exit(main())
