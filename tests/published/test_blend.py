"""Blends against arithmetic and measured mixes."""

import pytest

from saltcalc.science.blend import blend_share, blended


def test_volume_weighted_mean():
    """Arithmetic: 10 L at 6.0 and 20 L at 0.6 give 2.4; for 2.0 the salty share is 0.2593."""
    assert blended(6.0, 0.6, 10 / 30) == pytest.approx(2.4)
    assert blend_share(6.0, 0.6, 2.0) == pytest.approx(0.2593, abs=5e-5)


@pytest.mark.independent
@pytest.mark.parametrize(("salty_fraction", "measured"), [(0.75, 2.4), (0.5, 2.1), (0.25, 1.3)])
def test_measured_mixes(salty_fraction, measured):
    """Arboriculture & Urban Forestry, Table 1 of a study of compost in tree-seedling media: media
    of 3.6 and 0.7 dS/m (1:1 extract) blended. The mean errs high, by up to a fifth."""
    mixed = blended(3.6, 0.7, salty_fraction)
    assert measured <= mixed <= 1.21 * measured
