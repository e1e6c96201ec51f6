"""How many equal passes a medium takes to a wanted EC, for many containers at once."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Codes, Floats
from saltcalc.science._cycle_matrices import by_map, in_rows, matrix, top_rows
from saltcalc.science.cycles import Pots, settled_share


def cycles_to_reach(
    pots: Pots,
    cycle: Floats,
    excess: Floats,
    excess_wanted: npt.ArrayLike,
    most: npt.ArrayLike,
) -> tuple[Codes, Floats]:
    """Fewest equal cycles after which each medium settles at or below a wanted excess.

    Parameters
    ----------
    pots : Pots
    cycle : ndarray, shape (layers, 2, 2, cases)
        Of a pass and the rest after it. Cases have one axis, or three; of these the second may be
        of length one here and in `pots`, where the same map stands for many rows.
    excess : ndarray, shape (most layers, 2, cases)
        At the start. [dS/m]
    excess_wanted : array_like, shape (cases,)
        Above the water. [dS/m]
    most : array_like of int, shape (cases,)
        Most cycles to do.

    Returns
    -------
    number : ndarray of int, shape (cases,)
        Cycles; ``most`` + 1 where that many do not do it.
    before : ndarray, shape (most layers, 2, cases)
        Excess just before the last of them. [dS/m]

    Notes
    -----
    What settles falls with every cycle, so that the number is found by doubling and halving.

    Examples
    --------
    >>> from saltcalc.science.cycles import even_excess, pass_map
    >>> pots = Pots.of(1.0, 0.0, 0.0, 0.0, 1)
    >>> half = pass_map(pots, np.log(2.0), 0.0)  # each pass leaves half
    >>> cycles_to_reach(pots, half, even_excess(pots, 8.0, 0.0), 1.5, 100)[0]
    array([3])
    """
    shape = np.broadcast_shapes(np.shape(excess_wanted), np.shape(most), pots.layers.shape)
    wanted, limit = by_map(excess_wanted, shape), by_map(most, shape)
    settled, on_top = _settling(pots, len(excess)), top_rows(cycle, len(excess))
    powers = [matrix(on_top)]
    start = state = in_rows(excess, shape)
    above = (state @ settled)[..., 0] > wanted
    done = np.zeros(above.shape, dtype=np.int64)
    top = int(limit.max(initial=0))
    while 2 ** len(powers) <= top and np.any(above):
        if not np.any((start @ (powers[-1] @ settled))[..., 0] > wanted):
            powers.pop()  # All are there by then.
            break
        on_top = on_top @ powers[-1]
        powers.append(matrix(on_top))
    for power in reversed(range(len(powers))):
        further = state @ powers[power]
        still_above = above & (done + 2**power <= limit) & ((further @ settled)[..., 0] > wanted)
        done = np.where(still_above, done + 2**power, done)
        state = np.where(still_above[..., np.newaxis], further, state)
    number = np.where(above, done + 1, 0).swapaxes(1, 2).reshape(shape)
    kinds, size, rows, _ = state.shape
    before = state.reshape(kinds, size, rows, len(excess), 2).transpose(3, 4, 0, 2, 1)
    return number, before.reshape(len(excess), 2, *shape)


def _settling(pots: Pots, layers: int) -> Floats:
    """Share of each part in what a case settles to, shape (kinds, size, parts, 1)."""
    return in_rows(settled_share(pots)[:layers], pots.layers.shape).swapaxes(2, 3)
