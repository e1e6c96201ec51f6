import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from saltcalc.data.aqueous_species import aqueous_species
from saltcalc.data.reported_ions import reported_ions
from saltcalc.science.speciation import speciate

amount = st.one_of(st.just(0.0), st.floats(1e-3, 400))
reports = st.fixed_dictionaries(dict.fromkeys(reported_ions(), amount))


@given(reports, st.floats(4, 9.5))
def test_every_ion_is_kept(report, ph):
    """Mass balance: what was put in is in the species again, carbonate counted twice."""
    found = speciate(report, ph)
    table = {one.species: one for one in aqueous_species()}
    for ion, given_amount in report.items():
        total = 0.0
        for row, name in enumerate(found.species[:-2]):
            one = table[name]
            if ion in {one.cation, one.anion}:
                weight = one.amount if ion == one.anion else 1
                total += weight * found.concentration[row, 0]
        free = next(one for one in table.values() if one.is_free_ion and one.ion == ion)
        per = abs(free.charge) or 10.81
        assert total == pytest.approx(given_amount / per / 1000, rel=1e-6, abs=1e-12)


@given(reports)
def test_concentrations_are_finite_and_not_negative(report):
    found = speciate(report)
    assert np.isfinite(found.concentration).all()
    assert (found.concentration >= 0).all()
    assert (found.concentration[-2:] == 0).all()


def test_nothing_reported_is_pure_water():
    found = speciate({}, 7.0)
    assert found.ionic_strength[0] == pytest.approx(1e-7, rel=1e-3)


def test_samples_do_not_touch_each_other():
    """A batch gives what each sample gives alone, whatever stands beside it."""
    calcium = np.array([0.0, 5.0, 300.0, np.nan])
    sulfate = np.array([10.0, 5.0, 300.0, 2.0])
    batch = speciate({"calcium": calcium, "sulfate_s": sulfate}, 6.5)
    for column in range(4):
        alone = speciate({"calcium": calcium[column], "sulfate_s": sulfate[column]}, 6.5)
        np.testing.assert_allclose(
            batch.concentration[:, column], alone.concentration[:, 0], rtol=1e-6, atol=1e-15
        )


def test_more_samples_than_a_block():
    found = speciate({"sodium": np.full(5000, 10.0), "chloride": 10.0})
    assert found.ionic_strength == pytest.approx(np.full(5000, 0.01))


def test_phosphate_turns_to_its_second_form_about_its_constant():
    found = speciate({"phosphorus": 0.01}, 7.2)
    first = found.concentration[found.species.index("H2PO4-"), 0]
    second = found.concentration[found.species.index("HPO4-2"), 0]
    assert first == pytest.approx(second, rel=0.05)


def test_activity_of_what_is_absent():
    assert speciate({"sodium": 1.0}).log_activity("Ca+2")[0] == -np.inf


@pytest.mark.parametrize(
    ("report", "reason"), [({"gold": 1.0}, "unknown"), ({"sodium": -1.0}, "negative")]
)
def test_what_has_no_meaning_is_refused(report, reason):
    with pytest.raises(ValueError, match=reason):
        speciate(report)
