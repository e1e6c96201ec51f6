"""What gypsum in a medium does to its reading, to its crops and to a flush."""

from __future__ import annotations

import math

import numpy as np

from saltcalc.parts.assessment import Assessment
from saltcalc.parts.notes import Notes


def warn_of_gypsum(assessment: Assessment, sample: int, notes: Notes) -> None:
    """Tell how crops and flush are to be read where the medium's extract is saturated with gypsum.

    Parameters
    ----------
    assessment : Assessment
        Of the batch.
    sample : int
        Which sample.
    notes : Notes
        Where to warn.
    """
    shift = float(assessment.salinity.tolerance_shift[sample])
    if shift == 0 or math.isnan(assessment.salinity.ec_25c[sample]):
        return
    notes.cite("fao29")
    notes.warn(
        "gypsum-tolerance-shift",
        "note",
        f"The extract is saturated with gypsum, which reads as salt but mostly stays solid around "
        f"the roots. Plants stand about {shift:g} dS/m more than their limits say (FAO 29), so "
        f"crops are judged at the EC less {shift:g} dS/m.",
        "ions/medium/saturation/gypsum",
    )
    containers = np.flatnonzero(assessment.batch.containers.sample == sample)
    if containers.size:
        plateau = float(assessment.flush_plan.case.gypsum_plateau[containers[0]])
        notes.warn(
            "gypsum-plateau",
            "caution",
            f"While gypsum lasts, the water in the pores levels off near {plateau:.2g} dS/m "
            "however much of this water is poured through. Plants stand that part better than "
            "other salt. Stop there: going on only washes gypsum and feed out.",
            "flush_plan",
        )
