"""How many equal passes a medium takes to a wanted EC, for many containers at once."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Codes, Floats
from saltcalc.science.cycles import Pots, moved_by, settled_after, settled_share, weighed


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
    cycle : ndarray, shape (cases, parts, parts)
        Of a pass and the rest after it.
    excess : ndarray, shape (cases, parts)
        At the start. [dS/m]
    excess_wanted : array_like, shape (cases,)
        Above the water. [dS/m]
    most : array_like of int, shape (cases,)
        Most cycles to do.

    Returns
    -------
    number : ndarray of int, shape (cases,)
        Cycles; ``most`` + 1 where that many do not do it.
    before : ndarray, shape (cases, parts)
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
    wanted, limit = np.asarray(excess_wanted), np.asarray(most)
    share = settled_share(pots)
    above = weighed(share, excess) > wanted
    # What 1, 2, 4, ... cycles do, and the share of each part in what settles after them.
    powers, after = [cycle], [settled_after(share, cycle)]
    top = int(limit.max(initial=0))
    while 2 ** len(powers) <= top and above.any():
        if not (weighed(after[-1], excess) > wanted).any():
            powers.pop()  # All are there by then.
            break
        powers.append(powers[-1] @ powers[-1])
        after.append(settled_after(share, powers[-1]))
    done = np.zeros(np.broadcast_shapes(above.shape, limit.shape), dtype=np.int64)
    state = np.broadcast_to(excess, (*done.shape, excess.shape[-1]))
    for power in reversed(range(len(powers))):
        goes_on = above & (done + 2**power <= limit) & (weighed(after[power], state) > wanted)
        if goes_on.any():
            done = np.where(goes_on, done + 2**power, done)
            further = moved_by(powers[power], state)
            state = np.where(goes_on[..., np.newaxis], further, state)
    return np.where(above, done + 1, 0), state
