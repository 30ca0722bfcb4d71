"""Show a picture by its name, with the same in words below it."""
from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from secrets import token_hex
from types import MappingProxyType

from acidbase_lib.caution import CAUTION
from acidbase_lib.teaching.explorers.svg import Figure
from acidbase_lib.teaching.theme import CSS, escape

from .bedside import gap_columns, how_a_sitting_goes, oxygen_devices, the_tired_patient
from .numbers import from_artery_to_numbers, measured_or_calculated
from .pushes import lungs_and_kidneys, two_pushes, who_responds_when

PICTURES: Mapping[str, Callable[[str], Figure]] = MappingProxyType({
    drawn.__name__: drawn for drawn in (
        from_artery_to_numbers, measured_or_calculated, lungs_and_kidneys, who_responds_when,
        two_pushes, oxygen_devices, gap_columns, the_tired_patient, how_a_sitting_goes)})


class PictureError(ValueError):
    """There is no picture of that name; says which there are."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture and its words; a notebook draws it, a terminal prints the words."""

    name: str

    def figure(self, uid: str) -> Figure:
        """The picture, its inner names kept apart from those of others on the page."""
        return PICTURES[self.name](uid)

    def __repr__(self) -> str:
        return f"{self.figure(self.name).sentence} {CAUTION}"

    def _repr_html_(self) -> str:
        figure = self.figure(f"ab-picture-{token_hex(4)}")
        return (f"<style>{CSS}{_STYLE}</style><figure class='ab ab-shown'>{figure.svg}"
                f"<figcaption>{escape(figure.sentence)} "
                f"<span class='ab-caution'>{CAUTION}</span></figcaption></figure>")


_STYLE = (".ab.ab-shown{margin:.25rem 0;padding:.75rem 1rem;max-width:42rem;"
          "border:1px solid var(--ab-rule);border-radius:var(--ab-round)}"
          ".ab.ab-shown figcaption{color:var(--ab-ink);margin-top:.75em}"
          ".ab.ab-shown .ab-caution{color:var(--ab-quiet)}"
          ".ab-shown svg{margin:0 auto}")


def show_picture(name: str) -> Picture:
    """Show one of the course's pictures.

    Raises
    ------
    PictureError
        There is no picture of that name.
    """
    if name not in PICTURES:
        raise PictureError(f"There is no picture {str(name)[:40]!r}. There are "
                           f"{', '.join(PICTURES)}.")
    return Picture(name)
