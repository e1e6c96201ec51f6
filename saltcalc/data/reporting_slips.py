"""Ways in which a laboratory figure is commonly read in the wrong form or unit."""

from __future__ import annotations

from functools import cache
from itertools import permutations

import marshmallow as ma

from saltcalc.data.atomic_weights import molar_mass
from saltcalc.data.reported_ions import reported_ions
from saltcalc.data.sources import SourcedSchema
from saltcalc.data.tables import DATA_DIR, read_table


class _SlipSchema(SourcedSchema):
    slip = ma.fields.String(required=True)
    ion = ma.fields.String(required=True)
    given_as = ma.fields.String(required=True)
    amount = ma.fields.Integer(required=True)


@cache
def form_slips() -> dict[str, dict[str, float]]:
    """Return for each slip of form what brings each ion's figure from as read to as meant.

    A figure in mg/L of the form ``given_as`` was read as mg/L of the form that the ion is reported
    as, of which ``given_as`` holds ``amount``; the factor is the mass of these in a mass of that.
    """
    slips: dict[str, dict[str, float]] = {}
    for row in read_table(DATA_DIR / "reporting_slips.csv", _SlipSchema()):
        reported = row["amount"] * reported_ions()[row["ion"]].molar_mass
        slips.setdefault(row["slip"], {})[row["ion"]] = reported / molar_mass(row["given_as"])
    return slips


@cache
def unit_slips() -> dict[str, dict[str, float]]:
    """Return for each slip of unit what brings each ion's figure from as read to as meant.

    The slips are every unit of concentration read as another, named ``meant-as-read``.
    """
    charged = [ion for ion in reported_ions().values() if ion.charge]
    per_charge = {
        "milligrams": {ion.id: ion.mass_per_charge for ion in charged},
        "millimoles": {ion.id: 1 / abs(ion.charge) for ion in charged},
        "equivalents": {ion.id: 1.0 for ion in charged},
    }
    return {
        f"{meant}-as-{read}": {
            ion.id: factor
            for ion in charged
            if (factor := per_charge[read][ion.id] / per_charge[meant][ion.id]) != 1.0
        }
        for meant, read in permutations(per_charge, 2)
    }
