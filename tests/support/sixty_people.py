"""A kit, a class list of sixty, and what a learning platform gives an instructor."""
from __future__ import annotations

import csv
import json
import re
import shutil
import zipfile
from pathlib import Path

from handing_in import REPOSITORY

from acidbase_lib.classroom.commands.invented_class import InventedLearner, submission
from acidbase_lib.classroom.commands.main import main
from acidbase_lib.teaching.unit import open_unit

UNIT = "02_primary_disorder"
FIRST = ("Ada", "Ben", "Cleo", "Dev", "Eve", "Fay", "Gus", "Hal", "Ida", "Jon")
LAST = ("Quill", "Moss", "Reed", "Pike", "Tarnow", "Velm")
PEOPLE = {f"n{n + 1:03d}": (FIRST[n % 10], LAST[n // 10]) for n in range(60)}
PEOPLE |= {"n046": ("Kim", "Zarell"), "n047": ("Kim", "Zarell")}

class School:
    """A kit, a class list, and what a platform gives."""

    def __init__(self, root: Path) -> None:
        self.root, self.kit = root, root / "kit"
        for part in ("course", "solutions"):
            shutil.copytree(REPOSITORY / part / UNIT, self.kit / part / UNIT)
        shutil.copy(REPOSITORY / "course" / "nbgrader_config.py", self.kit / "course")
        self.release = json.loads((self.kit / "course" / UNIT / f"{UNIT}.ipynb").read_text("utf-8"))
        self.exercises = open_unit(UNIT).exercises
        (root / "roster.csv").write_text("id,first name,last name\n" + "".join(
            f"{who},{first},{last}\n" for who, (first, last) in PEOPLE.items()), "utf-8")

    def work(self, learner: str, habit: str = "guesses", seed: int = 1) -> bytes:
        return submission(InventedLearner(learner, learner, habit),  # type: ignore[arg-type]
                          self.release, self.exercises, seed)

    def zip(self, name: str, files: dict[str, bytes]) -> Path:
        """A zip made again on a Mac: each file with its twin, and what systems leave."""
        with zipfile.ZipFile(self.root / name, "w") as archive:
            for file, data in files.items():
                archive.writestr(file, data)
                archive.writestr(f"__MACOSX/{file.rpartition('/')[0]}/._{Path(file).name}", b"\0\5")
            for debris in (".DS_Store", "Thumbs.db", "desktop.ini", "~$ada.docx"):
                archive.writestr(debris, b"x")
        return self.root / name

    def collect(self, *words: str) -> int:
        return main(["collect", *words, "--unit", UNIT, "--roster", str(self.root / "roster.csv"),
                     "--out", str(self.root / "back"), "--course", str(self.kit)])

    def states(self) -> dict[str, str]:
        return {row["id"]: row["state"] for row in table(self.root / "back" / "grades.csv")}

    def waiting(self, told: str) -> dict[str, int]:
        """The files that wait, and their numbers, as the command has told them."""
        return {file: int(number) for number, file in re.findall(
            r"^ +(\d+)  (.+?): ", "".join(
                re.split("waits? for your decision", told, maxsplit=1)[1:]), re.M)}


def table(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))
