"""What a school's people and words lay over the kit's, as one word that notebooks carry."""
from __future__ import annotations

from acidbase_lib.teaching.laid_over import pack

from .folder import School, SchoolError
from .patients import own_patients
from .words import own_words


def laid_over_of(school: School) -> str:
    """Return the word to be carried; "" where the folder lays nothing over.

    Raises
    ------
    SchoolError
        A file has a fault: then nothing of it is laid over, and nothing is to be written.
    """
    patients, words = own_patients(school.folder), own_words(school.folder)
    for fault in (*patients.faults, *words.faults):
        raise SchoolError(f"{fault} (`acidbase school check --school {school.folder}` lists every "
                          "fault)")
    return pack({**patients.files, **words.files})
