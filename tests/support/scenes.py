"""Every scene that a unit's questions can be asked about: the lesson's, and a form's."""
from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from acidbase_lib.teaching.questions.question_file import Question, load_plan


def every_scene(unit_id: str, *recipes: str) -> Iterator[tuple[Question, Mapping[str, Any]]]:
    """Each question of the recipes, or any where none is named, with each of its scenes."""
    for question in load_plan(unit_id).questions:
        for asked in (question, *question.variants):
            if not recipes or asked.recipe in recipes:
                own = asked is question or "scenes" not in question.more or (
                    asked.more["scenes"] is not question.more["scenes"])
                for scene in asked.more.get("scenes", ()) if own else ():
                    yield asked, scene
