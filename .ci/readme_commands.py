"""Run the README's two set-up commands exactly as written, in a clean clone."""
from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

REPO = Path(__file__).parents[1]


def commands() -> list[str]:
    """The one-line commands of the README's first two shell blocks."""
    blocks = re.findall(r"```bash\n(.*?)\n```", (REPO / "README.md").read_text("utf-8"), re.DOTALL)
    lines = [block for block in blocks if "-m venv" in block]
    if len(lines) != 2 or any("\n" in line for line in lines):
        sys.exit(f"The README should hold two one-line set-up commands; it holds {lines}.")
    return lines


def main() -> None:
    """Clone, run both, and stop at the first that fails."""
    bare = {k: v for k, v in os.environ.items() if k not in {"VIRTUAL_ENV", "PYTHONPATH"}}
    bare["PATH"] = os.pathsep.join(p for p in bare["PATH"].split(os.pathsep) if "/venv/" not in p)
    with tempfile.TemporaryDirectory() as folder:
        # A space in every path, and for the demo a letter beyond English. The tests also start
        # Python without UTF-8, and from such a folder Python itself would not start so.
        for name, command in zip(("kit of Łódź", "kit of tests"), commands(), strict=True):
            clone = Path(folder) / name
            subprocess.run(["git", "clone", "-q", str(REPO), str(clone)], check=True)
            print(f"$ {command}", flush=True)
            done = subprocess.run(["bash", "-c", command], cwd=clone, env=bare, check=False,
                                  stdin=subprocess.DEVNULL)
            if done.returncode:
                sys.exit(f"This README command failed with {done.returncode}: {command}")


if __name__ == "__main__":
    main()
