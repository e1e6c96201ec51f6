"""The signs that count: of two that exclude each other, neither."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from saltcalc.case.batch import Batch
from saltcalc.data.observations import exclusive_pairs, observations, opposites


def contradicting(batch: Batch, sample: int) -> Iterator[tuple[str, str, str]]:
    """Yield the field, and both signs, of each pair of a sample that cannot be as reported.

    Parameters
    ----------
    batch : Batch
        As it was given.
    sample : int
        Which sample.
    """
    place = {sign: at for at, sign in enumerate(observations())}
    for field, pairs in _PAIRS.items():
        told = getattr(batch.samples, field)[sample]
        if told.any():
            yield from (
                (field, one, other)
                for one, other in pairs()
                if told[place[one]] and told[place[other]]
            )


def without_contradicting(batch: Batch) -> Batch:
    """Return a batch in which no sign counts that another one reported excludes.

    Of two opposites that are both told as not seen, neither counts either.
    """
    place, changed = {sign: at for at, sign in enumerate(observations())}, {}
    for field, pairs in _PAIRS.items():
        told = getattr(batch.samples, field)
        counted = told.copy()
        for one, other in pairs():
            both = told[:, place[one]] & told[:, place[other]]
            counted[both, place[one]] = counted[both, place[other]] = False
        if (counted != told).any():
            changed[field] = counted
    return replace(batch, samples=replace(batch.samples, **changed)) if changed else batch


_PAIRS = {"observations": exclusive_pairs, "not_seen": opposites}
