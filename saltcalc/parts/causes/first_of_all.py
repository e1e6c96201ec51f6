"""What is dealt with before any water is poured, too much salt beside it or not."""

from __future__ import annotations

import numpy as np

from saltcalc.data.causes import causes
from saltcalc.data.corrections import corrections
from saltcalc.parts.causes.evidence import figure_columns
from saltcalc.science._arrays import Flags, Floats
from saltcalc.science.diagnosis import POSSIBLE, SUPPORTED, Diagnosis

DISEASE = "damping_off"
"""Cause that wet spreads: its plants are not flushed, whatever else is found."""

WEEDKILLER = "herbicide_residue"
"""Cause that no water takes out and that spreads with the medium, so that a suspicion holds."""

UNFINISHED = "immature_compost"
"""Cause that air and time cure, and water puts off."""

AIRLESS = "lack_of_air"
"""Cause that more water makes worse until the medium drains."""

_SODIC = "sodic_structure"

AMMONIUM = "ammonium_toxicity"
"""Cause of which free ammonia is the worse part."""

_FIRST_OF_ALL = (DISEASE, WEEDKILLER, UNFINISHED, AIRLESS)
"""Causes that are dealt with before any water is poured, too much salt beside them or not.

What does not drain drowns the roots, and a medium that gives off ammonia needs air (judgement).
"""


def first_of_all(diagnosis: Diagnosis, lower: Floats) -> Flags:
    """Return which causes are dealt with before any water is poured, shape (n, causes).

    Those supported, and a weedkiller that leads; too little air not in a medium that sodium has
    sealed, which calcium and water open; ammonium where free ammonia does harm.

    Parameters
    ----------
    diagnosis : Diagnosis
        Samples by causes.
    lower : ndarray of float, shape (n_samples, n_figures)
        The least of each figure.
    """
    places, verdict, rank = list(causes()), diagnosis.verdict, diagnosis.rank
    supported: Flags = verdict >= SUPPORTED
    found = np.zeros_like(supported)
    for cause in _FIRST_OF_ALL:
        found[:, places.index(cause)] = supported[:, places.index(cause)]
    found[:, places.index(AIRLESS)] &= ~supported[:, places.index(_SODIC)]
    weedkiller, ammonium = places.index(WEEDKILLER), places.index(AMMONIUM)
    leads: Flags = (rank[:, weedkiller] == 1) & (verdict[:, weedkiller] >= POSSIBLE)
    found[:, weedkiller] |= leads
    (harm,) = corrections()["ammonia"].wanted
    gives_off: Flags = lower[:, figure_columns()[harm.measure]] >= harm.threshold
    found[:, ammonium] = supported[:, ammonium] & gives_off
    return np.asarray(found)
