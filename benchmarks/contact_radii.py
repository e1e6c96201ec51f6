"""Fit the contact radii to handbook equivalent conductivities of single salts.

Run ``python -m benchmarks.contact_radii``. Only the rows marked ``fitted`` in
``tests/published/equivalent_conductivity.csv`` are used, and no mixture.
"""

from __future__ import annotations

import numpy as np
from scipy.optimize import least_squares

from benchmarks.conductivity import rows
from saltcalc.data.aqueous_species import contact_radii
from saltcalc.science.conductivity import _sides_of, _species_ec
from saltcalc.science.speciation import speciate

GROUPS = (("Na+", "K+", "NH4+", "Cl-", "HCO3-"), ("Ca+2",), ("Mg+2",), ("NO3-",), ("SO4-2",))


def main() -> None:
    table = [row for row in rows("equivalent_conductivity.csv") if row["fitted"] == "yes"]
    amounts = [1e3 * float(row["concentration"]) for row in table]
    solutions = [
        speciate({row["cation"]: amount, row["anion"]: amount})
        for row, amount in zip(table, amounts, strict=True)
    ]
    reference = np.array([float(row["equivalent_conductivity"]) for row in table])
    species = solutions[0].species
    sides = _sides_of(solutions[0])

    def off(radii: np.ndarray) -> np.ndarray:
        radius = np.full(len(species), radii[0])
        for group, value in zip(GROUPS, radii, strict=True):
            radius[[species.index(one) for one in group]] = value
        cations, anions = (side._replace(radius=radius[side.rows]) for side in sides)
        ec = [_species_ec(solution, (cations, anions)).sum() for solution in solutions]
        return 100 * (1e3 * np.array(ec) / np.array(amounts) / reference - 1)

    used = np.array([contact_radii()[group[0]].radius for group in GROUPS])
    best = least_squares(off, used)
    print(f"{'species':24}{'fitted Å':>9}{'in use Å':>9}")
    for group, fitted, value in zip(GROUPS, best.x, used, strict=True):
        print(f"{' '.join(group):24}{fitted:9.2f}{value:9.2f}")
    for name, radii in (("fitted", best.x), ("in use", used)):
        deviation = off(radii)
        print(
            f"{name}: rms {np.sqrt(np.mean(deviation**2)):.2f} %, most {abs(deviation).max():.2f} %"
        )


if __name__ == "__main__":
    main()
