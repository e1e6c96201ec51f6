"""The one pint registry, with the units of the trade and the conversions that an ion decides."""

from __future__ import annotations

from typing import Any

import pint

from saltcalc.science.alkalinity import PER_MMOLC

registry: pint.UnitRegistry[Any] = pint.UnitRegistry(cache_folder=None)
registry.define("charge_equivalent = [charge_amount] = eq = molc = mol_c")

# Sums of charge by the forms that laboratories and test kits give them in: a milligram of calcium
# carbonate, of bicarbonate or of lime, and the degrees of hardness.
for _name, _form in (
    ("milligram_calcium_carbonate", "mg/L CaCO3"),
    ("milligram_bicarbonate", "mg/L HCO3"),
    ("milligram_calcium_oxide", "mg/L CaO"),
):
    registry.define(f"{_name} = {1e-3 / PER_MMOLC[_form]!r} * charge_equivalent")
for _name, _form in (("german_degree", "°dH"), ("french_degree", "°fH"), ("english_degree", "°e")):
    registry.define(f"{_name} = {1e-3 / PER_MMOLC[_form]!r} * charge_equivalent / liter")

registry.define(
    f"grain_per_gallon = {17.118e-3 / PER_MMOLC['mg/L CaCO3']!r} * charge_equivalent / liter"
)
registry.define("conductivity_factor = 0.1 * millisiemens / centimeter")

_ION = pint.Context("ion", defaults={"molar_mass": None, "charge": None})
_MASS, _AMOUNT, _CHARGE = (
    f"[{dimension}] / [length] ** 3" for dimension in ("mass", "substance", "charge_amount")
)
_ION.add_transformation(_MASS, _AMOUNT, lambda ureg, value, **ion: value / ion["molar_mass"])
_ION.add_transformation(_AMOUNT, _MASS, lambda ureg, value, **ion: value * ion["molar_mass"])
_ION.add_transformation(_CHARGE, _AMOUNT, lambda ureg, value, **ion: value / ion["charge"])
_ION.add_transformation(_AMOUNT, _CHARGE, lambda ureg, value, **ion: value * ion["charge"])
registry.add_context(_ION)
