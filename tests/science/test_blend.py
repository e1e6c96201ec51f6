import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from saltcalc.science.blend import blend_share, blended

ec = st.floats(0.0, 15.0)


@given(ec, ec, ec)
def test_the_share_found_gives_the_target_back(salty, weak, target):
    share = blend_share(salty, weak, target)
    if np.isnan(share):
        assert weak > target
    elif salty <= target:
        assert share == 1
    else:
        assert 0 <= share <= 1
        assert blended(salty, weak, share) == pytest.approx(target, abs=1e-6)


@given(ec, ec, st.floats(0, 1))
def test_a_blend_lies_between_its_parts(salty, weak, share):
    mixed = blended(salty, weak, share)
    assert min(salty, weak) - 1e-9 <= mixed <= max(salty, weak) + 1e-9


def test_a_share_above_one_is_refused():
    with pytest.raises(ValueError, match="above 1"):
        blended(6.0, 0.5, 1.5)
