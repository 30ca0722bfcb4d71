"""The Hosting page names what `acidbase hub` writes, and each block has a name to run it by."""

from __future__ import annotations

import re

from school_hub import PAGE, block, blocks

from acidbase_lib.classroom.hub.hub_files import LOCAL, files_of
from acidbase_lib.classroom.hub.hub_plan import HubPlan

PLAN = HubPlan("/etc/acidbase", "/srv/acidbase", "/srv/exchange", ("teacher",))


def test_the_pages_first_command_writes_the_folders_that_the_page_goes_on_with() -> None:
    words = block("as the administrator, there").split("\n")[0].split()
    assert words[1:] == ["hub", PLAN.out, "--instructor", *PLAN.instructors, "--course",
                         PLAN.course, "--exchange", PLAN.exchange]


def test_a_file_below_etc_that_the_page_names_is_written_or_the_schools_own() -> None:
    section = PAGE.read_text(encoding="utf-8").split("## JupyterHub")[1]
    named = set(re.findall(r"/etc/acidbase/([\w./]+\w)", section))
    assert {"jupyterhub_config.py", "local.py"} <= named
    written = {*files_of(PLAN), LOCAL, "instructor", "learner"}
    assert named <= written


def test_the_term_is_told_from_release_to_feedback_in_blocks_that_can_be_run() -> None:
    told = [first for first in blocks() if first.startswith("as the instructor")]
    assert [first.split(":")[1].split(";")[0].strip() for first in told] == [
        "hand out", "take in and mark", "give feedback"]
    assert all("--force" not in body for body in blocks().values() if "nbgrader " in body), (
        "nothing that is handed out or marked needs to be forced")
