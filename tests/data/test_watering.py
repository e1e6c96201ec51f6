import pytest

from saltcalc.data.substrates import MEDIUM_CLASSES, substrates
from saltcalc.data.uptake import UPTAKE_IONS, uptake_concentrations
from saltcalc.data.washout import ion_retention
from saltcalc.data.watering import WETTING_STATES, intake_rates, wetting_reaches


def test_every_mineral_soil_has_an_intake_rate_of_its_own():
    soils = {each.id for each in substrates().values() if each.basis == "curve"}
    measured = {each for each in soils if substrates()[each].medium_class == "mineral"}
    assert measured <= set(intake_rates())
    assert set(intake_rates()) - {"soilless"} <= set(substrates())


def test_wetting_states_go_from_easy_to_hard():
    rows = wetting_reaches()
    assert set(rows) == set(WETTING_STATES)
    assert rows["wettable"].unswept == 0 < rows["repelling"].unswept


def test_what_is_not_swept_is_judged_alike_with_and_without_a_wetting_agent():
    """No source: a judgement. A third with the agent, and a fifth of the middle at the least."""
    rows = wetting_reaches()
    bare, helped = rows["repelling"], rows["repelling_with_wetting_agent"]
    assert helped.unswept == pytest.approx(bare.unswept / 3)
    for row in (bare, helped):
        assert row.unswept_low == pytest.approx(row.unswept / 5)
    assert bare.unswept < helped.unswept_high < bare.unswept_high < 0.5


def test_what_media_hold_is_of_known_media():
    assert {medium for medium, _ in ion_retention()} <= set(MEDIUM_CLASSES)


@pytest.mark.parametrize("crop", ["tomato", "lettuce", "cucumber", "gerbera", "rose"])
def test_a_crop_takes_up_far_more_nutrients_than_sodium(crop):
    rows = uptake_concentrations()
    assert {ion for name, ion in rows if name == crop} == set(UPTAKE_IONS)
    assert rows[crop, "potassium"].uptake.value > 2 * rows[crop, "sodium"].uptake.value


def test_uptake_of_tomato_balances_as_a_solution():
    """Solutions for closed systems are made to equal uptake: cations 15 mmol_c/L for tomato and
    cucumber (from memory), of which ammonium is some 1.2."""
    rows = uptake_concentrations()
    for crop in ("tomato", "cucumber"):
        cations = (
            rows[crop, "potassium"].uptake.value
            + 2 * rows[crop, "calcium"].uptake.value
            + 2 * rows[crop, "magnesium"].uptake.value
        )
        assert cations == pytest.approx(15.0 - 1.2, abs=0.5)
