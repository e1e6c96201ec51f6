"""Weigh every cause of stalled seedlings for a batch of media."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from saltcalc.parts.causes.evidence import figure_matrix, rule_arrays
from saltcalc.parts.causes.first_of_all import first_of_all
from saltcalc.parts.causes.next_measurement import (
    Choice,
    choose_next,
    figures_read,
    open_groups,
    outcome_codes,
    settling_measurements,
)
from saltcalc.science._arrays import Codes, Flags, Floats, in_shape
from saltcalc.science.diagnosis import Diagnosis, diagnose


@dataclass(frozen=True)
class CauseFindings:
    """The weighed causes of a batch of media; what to measure is worked out at the first look.

    Attributes
    ----------
    diagnosis : Diagnosis
        Samples by causes and by rules, in the order of their tables.
    lower, upper : ndarray of float, shape (n_samples, n_figures)
        The figures the rules looked at: measures, then signs, in the order of their tables.
    mineral : ndarray of bool, shape (n_samples,)
        Where the medium is mineral soil.
    without_pots : ndarray of bool, shape (n_samples,)
        Where it is soil in a field, of which nothing is tried in pots.
    """

    diagnosis: Diagnosis
    lower: Floats
    upper: Floats
    mineral: Flags
    without_pots: Flags

    @cached_property
    def order(self) -> Codes:
        """Causes of each sample, the best supported first; ties in the order of the table."""
        return np.argsort(self.diagnosis.rank, axis=1, kind="stable")

    @cached_property
    def open_groups(self) -> tuple[Flags, ...]:
        """For each measurement, which groups of its figures are not known yet, by sample."""
        return open_groups(figures_read(self.lower, self.upper))

    @cached_property
    def settling_measurement(self) -> Codes:
        """What would rule each cause in or out, samples by causes; see `settling_measurements`."""
        return settling_measurements(self.lower, self.upper, self._codes)

    @cached_property
    def before_water(self) -> Flags:
        """Which causes are dealt with before any water is poured; see `first_of_all`."""
        return first_of_all(self.diagnosis, self.lower)

    @property
    def next_measurement(self) -> Codes:
        """What to measure next in each sample; see `choose_next`."""
        return self._next.measurement

    @property
    def separated(self) -> Codes:
        """The two causes that it tells apart; see `choose_next`."""
        return self._next.separated

    @cached_property
    def _codes(self) -> Codes:
        return outcome_codes(self.lower, self.upper, self.mineral, self.without_pots)

    @cached_property
    def _next(self) -> Choice:
        return choose_next(
            self.diagnosis,
            self.order,
            self.before_water,
            self._codes,
            self.lower,
            self.upper,
            self.open_groups,
        )


def weigh_causes(
    figures: Mapping[str, tuple[ArrayLike, ArrayLike]],
    signs: Mapping[str, ArrayLike],
    count: int,
    *,
    not_seen: Mapping[str, ArrayLike] = MappingProxyType({}),
    mineral: ArrayLike = False,
    without_pots: ArrayLike = False,
) -> CauseFindings:
    """Weigh the causes of a batch of media.

    Parameters
    ----------
    figures, signs, count, not_seen
        As `figure_matrix` takes them.
    mineral : array_like of bool, shape (n_samples,)
        True for mineral soil, which is held to no limit of soilless media, and the other way round.
    without_pots : array_like of bool, shape (n_samples,)
        True where it is soil in a field, so that nothing is tried in pots.
    """
    lower, upper = figure_matrix(figures, signs, count, not_seen)
    is_mineral, no_pots = (
        in_shape(np.asarray(each, dtype=bool), (count,)) for each in (mineral, without_pots)
    )
    scope = np.where(is_mineral, 1.0, 0.0)[:, np.newaxis]
    diagnosis = diagnose(np.hstack([lower, scope]), np.hstack([upper, scope]), rule_arrays())
    return CauseFindings(diagnosis, lower, upper, is_mineral, no_pots)
