"""Pictures as SVG text, each with a sentence that says what it shows."""
from __future__ import annotations

from dataclasses import dataclass

from acidbase_lib.reading.lab_settings import DEFAULT_SETTINGS, LabSettings
from acidbase_lib.teaching.explanations.direction import direction_sentence, map_point

from .direction_map import draw_map


@dataclass(frozen=True, slots=True)
class Figure:
    """A picture and its text equivalent.

    Parameters
    ----------
    svg : str
        One ``<svg role="img">`` element with a title and a description.
    sentence : str
        What the picture shows, to be read or read aloud in its place.
    """

    svg: str
    sentence: str


def direction_figure(ph: float, paco2: float, settings: LabSettings = DEFAULT_SETTINGS, *,
                     uid: str = "direction") -> Figure:
    """Draw the direction rule as a map, with one patient on it.

    The map's axes are pH and bicarbonate. Its four corners are where the two-number rule
    names a disorder; the cross between them is where it is silent. Curves of equal PaCO2
    show what the third number adds.

    Parameters
    ----------
    ph : float
        Arterial pH.
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]
    settings : LabSettings
        The ranges in use.
    uid : str
        Keeps the picture's inner names apart from those of another picture on the page.

    Returns
    -------
    Figure
        The map, and the sentence that reads the patient on it.

    Raises
    ------
    QuantityError
        If ``ph`` or ``paco2`` is outside its credible limits.
    """
    here = map_point(ph, paco2, settings)
    sentence = direction_sentence(here)
    return Figure(draw_map(here, settings, uid, sentence), sentence)
