"""The exchange with standing water against published solutions of the two-region model."""

import csv
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import ive
from scipy.stats import ncx2

from saltcalc.science import cycles
from saltcalc.science.flush import WashoutParameters, apply_water, uniform_state

TABULATED = Path(__file__).with_name("dual_domain.csv")


def goldstein_j(a, b):
    """J of Goldstein (1953), Proc. R. Soc. Lond. A 219:151-171, by the noncentral chi-square."""
    return ncx2.sf(2 * a, 2, 2 * b)


@pytest.mark.parametrize(("a", "b"), [(0.5, 0.5), (1, 3), (3, 1), (5, 5), (10, 10)])
def test_the_closed_form_is_its_own_integral(a, b):
    """Definition: J = 1 - exp(-b) times the integral over 0..a of exp(-u) I0(2 sqrt(bu))."""
    integral, _ = quad(
        lambda u: np.exp(2 * np.sqrt(b * u) - u - b) * ive(0, 2 * np.sqrt(b * u)), 0, a
    )
    assert goldstein_j(a, b) == pytest.approx(1 - integral, abs=1e-10)


@pytest.mark.independent
@pytest.mark.parametrize(
    ("immobile", "store", "rate", "drained", "hours"),
    [
        (0.3, 0.0, 0.2, 1.0, 2.0),
        (0.3, 0.0, 0.2, 1.5, 3.0),
        (0.3, 0.05, 0.2, 2.0, 10.0),
        (0.2, 0.05, 0.3, 1.5, 3.0),
        (0.2, 0.2, 0.05, 4.0, 12.0),
        (0.4, 0.0, 1.0, 1.5, 4.0),
        (0.4, 0.0, 1.0, 3.0, 8.0),
    ],
)
@pytest.mark.parametrize("folded", [False, True], ids=["pass", "folded"])
def test_the_last_drop_of_many_layers_is_the_solution_without_dispersion(
    immobile, store, rate, drained, hours, folded
):
    """van Genuchten & Wierenga (1976), Soil Sci. Soc. Am. J. 40:473-480, without dispersion (from
    memory): C/C0 = 1 - J(a, b) with a = k (phi + s) T/D, b = k T [1 - (1 - phi)/D]."""
    layers = 400
    if folded:
        pots = cycles.Pots.of(1.0, immobile, rate, store, layers)
        moved = cycles.pass_map(pots, drained, hours)
        excess = cycles.moved_by(moved, cycles.even_excess(pots, 1.0, 0.0))
        last = float(cycles.bottom_excess(pots, excess)[0])
    else:
        dials = WashoutParameters(1.0, immobile, rate, store, layers)
        result = apply_water(uniform_state(1.0, dials), dials, drained, 0.0, hours)
        last = float(result.state.mobile[-1])
    a = rate * (immobile + store) * hours / drained
    b = rate * hours * (1 - (1 - immobile) / drained)
    assert last == pytest.approx(1 - goldstein_j(a, b), abs=0.001)


@pytest.mark.independent
def test_a_tabulated_breakthrough_of_an_independent_simulation():
    """Fifty daily values of a dual-domain simulation, as tabulated in the test
    test_gwt_ist02 of the US Geological Survey's groundwater model (public domain): 20 days of
    salt, then clean water, through 149.5 m; capacities 0.2262 mobile and 0.1938 immobile,
    exchange 0.1 a day, dispersivity 0.5 m, flux 6.689 m a day. Their own tolerance is 0.05."""
    with TABULATED.open(encoding="utf-8", newline="") as lines:
        published = np.array(
            [float(row["relative_concentration"]) for row in csv.DictReader(lines)]
        )
    depth, flux, mobile, immobile = 149.5, 1000 / 149.5, 0.2262, 0.1938
    held = (mobile + immobile) * depth
    layers = round(depth / (2 * 0.5))  # the variance of N layers is that of a Peclet number of 2 N
    dials = WashoutParameters(1.0, immobile / (mobile + immobile), 0.1 / immobile, 0.0, layers)
    state, found = uniform_state(0.0, dials), []
    for day in range(len(published)):
        result = apply_water(state, dials, flux / held, 1.0 if day < 20 else 0.0, 1.0)
        state = result.state
        found.append(float(state.mobile[-1]))
    assert np.abs(np.array(found) - published).max() < 0.01
