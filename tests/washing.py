"""A wash pass by pass with the model of one pass, which many passes at once are held against."""

from typing import NamedTuple

import numpy as np

from saltcalc.science.flush import apply_water, rest, settled_ec, uniform_state


class Washed(NamedTuple):
    ec_medium: np.ndarray
    ec_drainage: np.ndarray


def wash(ec_medium, ec_water, parameters, drained_over_held, duration=0.0, rest_between=0.0):
    """What the medium settles to after each pass, and what drains of it; shape (..., passes)."""
    shape = np.broadcast_shapes(np.shape(ec_medium), np.shape(ec_water))
    state = uniform_state(np.broadcast_to(ec_medium, shape), parameters)
    medium, drainage = [], []
    for drained in drained_over_held:
        result = apply_water(state, parameters, drained, ec_water, duration)
        medium.append(settled_ec(result.state, parameters))
        drainage.append(result.ec_drainage)
        state = rest(result.state, parameters, rest_between)
    return Washed(np.stack(medium, axis=-1), np.stack(drainage, axis=-1))
