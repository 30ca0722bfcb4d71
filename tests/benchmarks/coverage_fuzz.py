"""Every reader of what others write, tried with inputs that a coverage-guided fuzzer makes up.

python -m tests.benchmarks.coverage_fuzz [--minutes 60] [READER ...]

Needs atheris (pip install atheris). Each reader has its share of the time, in a process of its own.
What crashes one, or costs more than 20 times an honest input of its size, is kept in
tests/classroom/corpus, where `test_fuzz.py` tries it ever after. Exits with 1 where there is one.
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

HERE = Path(__file__).parent
CORPUS = HERE.parent / "classroom" / "corpus"
SUPPORT = str(HERE.parent / "support")
LARGEST = 40_000  # of an input [bytes]
MOST = 5  # findings of one reader, after which it is left
NAMES = ("chart", "first try", "roster", "file name", "question file", "questions by hand",
         "notebook", "older notebook", "zip", "intake", "time stamp")


def child(name: str, work: Path, seconds: int) -> None:
    """Fuzz one reader in this process until the time is up; it does not return."""
    import atheris

    sys.path.insert(0, SUPPORT)
    with atheris.instrument_imports(include=["acidbase_lib"]):
        import fuzzing

    folder, seeds = work / "folder", work / "seeds"
    told = work / "dearest"
    for place in (folder, seeds):
        place.mkdir(exist_ok=True)
    reader = fuzzing.READERS[name]
    for size in (64, 400, 3_000):
        (seeds / f"honest{size}").write_bytes(reader.honest(size)[:LARGEST])
    for path in sorted((CORPUS / name).glob("*")):
        shutil.copyfile(path, seeds / path.name)
    words = sorted(set(re.findall(rb"[\w%. ]{1,30}:? ?", reader.honest(2_000))))
    (work / "words").write_text("".join(
        '"' + "".join(f"\\x{byte:02x}" for byte in word) + '"\n' for word in words[:300]))
    dearest = 0.0

    def one(data: bytes) -> None:
        nonlocal dearest
        times = fuzzing.try_input(name, data, folder)
        if times > dearest:
            dearest = times
            told.write_text(f"{times:.2f}")

    atheris.Setup([sys.argv[0], str(seeds), f"-max_total_time={seconds}", f"-max_len={LARGEST}",
                   f"-dict={work / 'words'}", f"-artifact_prefix={work}/found-", "-timeout=600",
                   "-report_slow_units=600",  # by the clock, which a busy machine stops
                   "-rss_limit_mb=3000", "-print_final_stats=1", "-verbosity=1"], one)
    atheris.Fuzz()


def fuzzed(name: str, seconds: float) -> tuple[int, float, list[Path]]:
    """Fuzz one reader for some seconds: how many inputs, the dearest, and what was kept."""
    until = time.monotonic() + seconds
    inputs, dearest, kept = 0, 0.0, list[Path]()
    while (left := until - time.monotonic()) > 1 and len(kept) < MOST:
        with tempfile.TemporaryDirectory(prefix="acidbase-fuzz-") as place:
            work = Path(place)
            done = subprocess.run([sys.executable, "-m", "tests.benchmarks.coverage_fuzz",
                                   "--child", name, str(work), str(int(left))], check=False,
                                  capture_output=True, cwd=HERE.parents[1])
            said = done.stderr.decode("utf-8", "replace")
            counts = [int(n) for n in re.findall(r"^#(\d+)\s|executed_units:\s+(\d+)", said,
                                                 re.MULTILINE) for n in n if n]
            inputs += max(counts, default=0)
            if (work / "dearest").exists():
                dearest = max(dearest, float((work / "dearest").read_text()))
            found = sorted(work.glob("found-*"))
            for path in found:
                target = CORPUS / name / path.name.rpartition("-")[2][:12]
                target.parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(path, target)
                kept.append(target)
                print(f"  {name}: kept {target.relative_to(CORPUS)}\n{said[-2500:]}", flush=True)
            if not found and done.returncode:
                raise RuntimeError(f"{name}: the fuzzer stopped with {done.returncode}\n"
                                   f"{said[-2500:]}")
    return inputs, dearest, kept


def main() -> int:
    """Print a line a reader; 1 where something was found."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])  # type: ignore[union-attr]
    parser.add_argument("--minutes", type=float, default=60)
    parser.add_argument("--child", nargs=3, help=argparse.SUPPRESS)
    parser.add_argument("readers", nargs="*", metavar="READER", help=", ".join(NAMES))
    given = parser.parse_args()
    if given.child:
        child(given.child[0], Path(given.child[1]), int(given.child[2]))
    names = given.readers or NAMES
    found = total = 0
    began = time.monotonic()
    for name in names:
        inputs, dearest, kept = fuzzed(name, 60 * given.minutes / len(names))
        total, found = total + inputs, found + len(kept)
        print(f"{name:20s}{inputs:12,} inputs  the dearest {dearest:5.1f} times an honest one  "
              f"{len(kept)} found", flush=True)
    print(f"{total:,} inputs in {(time.monotonic() - began) / 60:.1f} minutes, {found} found")
    return int(found > 0)


if __name__ == "__main__":
    os.environ.setdefault("PYTHONHASHSEED", "0")
    sys.exit(main())
