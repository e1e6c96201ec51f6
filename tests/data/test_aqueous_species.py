from saltcalc.data.aqueous_species import aqueous_species

FREE = {
    "calcium": 2,
    "magnesium": 2,
    "sodium": 1,
    "potassium": 1,
    "ammonium_n": 1,
    "bicarbonate": -1,
    "phosphorus": -1,
    "sulfate_s": -2,
    "chloride": -1,
    "nitrate_n": -1,
    "boron": 0,
    None: 0,
}
"""Charges of Ca+2, Mg+2, Na+, K+, NH4+, HCO3-, H2PO4-, SO4-2, Cl-, NO3- and H3BO3."""


def test_the_charge_of_a_species_is_that_of_what_it_forms_from():
    every = aqueous_species()
    assert len(every) >= 30
    made_of = {each.species: FREE[each.cation] + FREE[each.anion] + each.hydrogen for each in every}
    assert {each.species: each.charge for each in every} == made_of
