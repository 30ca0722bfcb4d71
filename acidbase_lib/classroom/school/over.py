"""What a school's people lay over the kit's, as one word that its notebooks carry."""
from __future__ import annotations

from acidbase_lib.teaching.laid_over import pack

from .folder import School, SchoolError
from .patients import own_patients


def laid_over_of(school: School) -> str:
    """Return the word to be carried; "" where the folder lays nothing over.

    Raises
    ------
    SchoolError
        A file has a fault: then nothing of it is laid over, and nothing is to be written.
    """
    patients = own_patients(school.folder)
    for fault in patients.faults:
        raise SchoolError(f"{fault} (`acidbase school check --school {school.folder}` lists every "
                          "fault)")
    return pack(patients.files)
