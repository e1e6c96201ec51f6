"""Classes of waters against the published tables and diagrams."""

import numpy as np
import pytest

from saltcalc.science import water_classes


@pytest.mark.parametrize(
    ("sar", "ec", "name"),
    [
        (2, 0.8, "none"),
        (2, 0.5, "slight_to_moderate"),
        (2, 0.1, "severe"),
        (5, 1.3, "none"),
        (5, 0.25, "severe"),
        (9, 2.0, "none"),
        (9, 1.0, "slight_to_moderate"),
        (15, 1.0, "severe"),
        (30, 2.5, "severe"),
        (30, 5.5, "none"),
    ],
)
def test_infiltration_hazard(sar, ec, name):
    """FAO 29 Table 1, potential irrigation problem: infiltration."""
    assert (
        water_classes.INFILTRATION_CLASSES[water_classes.infiltration_hazard(sar, ec).code] == name
    )


@pytest.mark.independent
@pytest.mark.parametrize(("boundary", "sar"), [(0, 10), (1, 18), (2, 26)])
def test_sodium_hazard_curves_meet_the_axis_of_the_diagram(boundary, sar):
    """Handbook 60 Fig. 25: at 100 µS/cm the curves start at SAR 10, 18 and 26."""
    codes = water_classes.sodium_hazard_hb60(np.array([sar - 0.05, sar + 0.05]), 0.1)
    assert codes.tolist() == [boundary, boundary + 1]
