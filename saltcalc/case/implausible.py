"""Figures that no growing medium has: they do not count."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from saltcalc.case.batch import Batch
from saltcalc.science._arrays import Flags

PH_OF_MEDIA = (3.0, 10.0)
"""pH of growing media, the most acid and the most alkaline (judgement)."""


def impossible_ph(batch: Batch) -> Flags:
    """Tell where the pH of a medium is a slip of the meter or of the report.

    Parameters
    ----------
    batch : Batch
        As it was given.
    """
    low, high = PH_OF_MEDIA
    ph = batch.samples.medium.ph
    return np.asarray((ph < low) | (ph > high))


def without_impossible_ph(batch: Batch) -> Batch:
    """Return a batch in which no pH counts that no medium has.

    Parameters
    ----------
    batch : Batch
        As it was given.
    """
    slipped = impossible_ph(batch)
    if not slipped.any():
        return batch
    samples = batch.samples
    medium = replace(samples.medium, ph=np.where(slipped, np.nan, samples.medium.ph))
    return replace(batch, samples=replace(samples, medium=medium))
