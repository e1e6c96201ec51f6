"""What a report leaves out may explain why its charges do not balance."""

import numpy as np
import pytest

from saltcalc.science.balance import ANIONS, CATIONS
from saltcalc.science.reporting_slips import try_slips

NOTHING = dict.fromkeys(CATIONS + ANIONS, np.nan)


@pytest.mark.parametrize("nitrate", [5.0, 12.0, 16.4, 30.0])
def test_nitrate_and_sodium_alone_accuse_nobody(nitrate):
    """Calcium, magnesium and potassium were not reported: they balance any nitrate."""
    trials = try_slips(NOTHING | {"nitrate_n": nitrate, "sodium": 1.3})
    assert not trials.contradicts.any()
    assert not trials.closes.any()


def test_nitrate_beside_all_the_cations_is_doubted():
    """With every cation reported, four times their charge as nitrate is a slip of the form."""
    report = {
        "calcium": 2.0,
        "magnesium": 0.8,
        "potassium": 0.8,
        "sodium": 0.4,
        "nitrate_n": 4.43 * 3,
    }
    zeros = {"chloride": 0.5, "sulfate_s": 0.5, "bicarbonate": 0.1, "ammonium_n": 0.1}
    trials = try_slips(NOTHING | report | zeros)
    assert trials.contradicts.all()
