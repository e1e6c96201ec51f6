"""The layered washout model against analytic convection-dispersion solutions and closed forms."""

from functools import cache

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import erfc, erfcx

from saltcalc.science.flush import (
    WashoutParameters,
    apply_water,
    settled_ec,
    uniform_state,
    well_mixed_drainage,
)
from saltcalc.science.reclamation import (
    HOFFMAN_BORON,
    water_hoffman,
)

PORE_VOLUMES = np.linspace(0.3, 2.0, 18)


@cache
def layered(layers):
    """Mobile concentrations (layer, pore volumes) while pure water displaces a salt solution."""
    p = WashoutParameters(1.0, 0.0, 0.0, 0.0, layers)
    start = uniform_state(np.ones_like(PORE_VOLUMES), p)
    return apply_water(start, p, PORE_VOLUMES, 0.0).state.mobile.T


def breakthrough_semi_infinite(pore_volumes, peclet):
    """Solution A1 of van Genuchten & Alves (1982), USDA Tech. Bull. 1661, at the outlet; it is the
    flux concentration of Lapidus & Amundson (1952), J. Phys. Chem. 56:984-988."""
    root = 2 * np.sqrt(pore_volumes / peclet)
    ahead, behind = (1 - pore_volumes) / root, (1 + pore_volumes) / root
    return 0.5 * erfc(ahead) + 0.5 * np.exp(peclet - behind**2) * erfcx(behind)


def resident_finite_column(depth, pore_volumes, peclet):
    """Solution A3 of van Genuchten & Alves (1982), USDA Tech. Bull. 1661 (after Brenner 1962).

    Flux condition at the inlet, no gradient at the outlet of a column of finite length; from
    memory, and checked here by its own initial condition.
    """

    def characteristic(b):
        return b * np.cos(b) + (peclet / 4 - b * b / peclet) * np.sin(b)

    grid = np.linspace(1e-6, 300 * np.pi, 18_000)
    values = characteristic(grid)
    brackets = np.flatnonzero(values[:-1] * values[1:] < 0)
    roots = [brentq(characteristic, grid[i], grid[i + 1], xtol=1e-13) for i in brackets]
    b = np.array(roots)[:, None, None]
    x, t = np.asarray(depth)[None, :, None], np.asarray(pore_volumes)[None, None, :]
    half = peclet / 2
    shape = 2 * peclet * b * (b * np.cos(b * x) + half * np.sin(b * x))
    scale = (b * b + half**2 + peclet) * (b * b + half**2)
    fading = np.exp(half * x - peclet * t / 4 - b * b * t / peclet)
    return 1 - (shape / scale * fading).sum(axis=0)


def peclet_of_layers(layers):
    """Peclet number of the finite column with the residence-time variance of the layers, 1/N
    (Levenspiel & Smith 1957, Chem. Eng. Sci. 6:227-233, closed vessel)."""
    return brentq(lambda p: 2 / p - 2 / p**2 * (1 - np.exp(-p)) - 1 / layers, 1.0, 1e3)


def test_the_finite_column_starts_empty():
    assert np.all(np.abs(resident_finite_column([0.3, 0.7], [0.01], 20.0)) < 1e-6)


@pytest.mark.independent
@pytest.mark.parametrize("layers", [10, 20])
def test_finite_column(layers):
    """Resident concentration over the whole column, and in the outlet (where the flux and the
    resident concentration of a finite column are one), against solution A3.

    Layers and dispersion share mean and variance, not the shape beyond: that leaves the gap.
    """
    peclet = peclet_of_layers(layers)
    model = layered(layers)
    middles = (np.arange(400) + 0.5) / 400
    resident = 1 - resident_finite_column(middles, PORE_VOLUMES, peclet)
    outlet = 1 - resident_finite_column([1.0], PORE_VOLUMES, peclet)[0]
    np.testing.assert_allclose(model.mean(axis=0), resident.mean(axis=0), atol=0.05 / layers)
    np.testing.assert_allclose(model[-1], outlet, atol=0.07 / np.sqrt(layers))


@pytest.mark.independent
@pytest.mark.parametrize("layers", [50, 200])
def test_many_layers_approach_convection_and_dispersion(layers):
    exact = 1 - breakthrough_semi_infinite(PORE_VOLUMES, 2.0 * layers)
    np.testing.assert_allclose(layered(layers)[-1], exact, atol=0.07 / np.sqrt(layers))


def test_the_gap_to_dispersion_closes_as_layers_are_added():
    gaps = [
        np.abs(layered(n)[-1] - 1 + breakthrough_semi_infinite(PORE_VOLUMES, 2.0 * n)).max()
        for n in (12, 50, 200)
    ]
    assert gaps[1] < 0.6 * gaps[0]
    assert gaps[2] < 0.6 * gaps[1]


@pytest.mark.parametrize(
    ("volumes", "left"), [(0.5, 0.6065), (1.0, 0.3679), (1.5, 0.2231), (2.0, 0.1353)]
)
def test_well_mixed_container(volumes, left):
    """Closed form C/C0 = exp(-V) for pure water (arithmetic); the one-layer model is the same."""
    assert well_mixed_drainage(1.0, 0.0, left) == pytest.approx(volumes, abs=3e-4)
    p = WashoutParameters(1.0, 0.0, 0.0, 0.0, 1)
    result = apply_water(uniform_state(1.0, p), p, volumes, 0.0)
    assert settled_ec(result.state, p) == pytest.approx(left, abs=5e-5)


@pytest.mark.parametrize(
    ("coefficient", "depth"),
    [
        pytest.param(0.3, 1.5, id="clay loam, ponded"),
        pytest.param(0.45, 2.25, id="peat, ponded"),
        pytest.param(HOFFMAN_BORON, 3.0, id="boron"),
    ],
)
def test_hoffman_depth_for_a_fifth(coefficient, depth):
    """Hoffman (1980), coefficients from memory: metres of water per metre of soil for C/C0 0.2."""
    assert water_hoffman(0.2, coefficient) == pytest.approx(depth, rel=0.01)
