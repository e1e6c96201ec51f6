import pytest

from saltcalc.data.tables import TableError
from saltcalc.data.water_classes import (
    WaterClass,
    _scale,
    cax_table,
    class_scales,
    infiltration_bands,
)


def test_every_scale_runs_open_ended_through_rising_limits():
    scales = class_scales()
    assert {("fao29", "boron"), ("hb60", "rsc"), ("hb60", "ecw")} <= scales.keys()
    for scale in scales.values():
        assert len(scale.names) == len(scale.limits) + 1 == len(scale.limit_in_upper) + 1


def test_class_ranges_are_open_at_the_ends():
    scale = class_scales()["fao29", "boron"]
    assert [scale.range_of(code) for code in range(3)] == [(None, 0.7), (0.7, 3.0), (3.0, None)]


def test_a_gap_between_classes_is_refused():
    common = {"scheme": "s", "parameter": "p", "unit": "dS/m", "source": "fao29"}
    common["provenance"] = "seen"
    low = WaterClass(**common, name="low", high=1.0)
    high = WaterClass(**common, name="high", low=1.5, low_included=True)
    with pytest.raises(TableError, match="gap"):
        _scale([low, high])


def test_infiltration_bands_adjoin():
    bands = infiltration_bands()
    assert bands[0].sar_low == 0
    assert bands[-1].sar_high == 40


def test_cax_follows_the_two_thirds_power_law_of_calcite_equilibrium():
    """Ca in equilibrium with calcite at a fixed CO2 pressure goes as (HCO3/Ca)^(-2/3)."""
    table = cax_table()
    constant = table.cax * table.ratio[:, None] ** (2 / 3)
    spread = constant[table.ratio <= 1] / constant[table.ratio <= 1].mean(axis=0) - 1
    assert abs(spread).max() < 0.012
