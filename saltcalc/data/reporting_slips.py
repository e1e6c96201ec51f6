"""Ways in which a laboratory figure is commonly read in the wrong form or unit."""

from __future__ import annotations

from functools import cache
from typing import Any

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
        slips.setdefault(row["slip"], {})[row["ion"]] = _share_reported(row)
    return slips


@cache
def other_forms() -> dict[str, dict[str, float]]:
    """Return for each ion its other forms, each with the mass of the reported form in one of it."""
    forms: dict[str, dict[str, float]] = {}
    for row in read_table(DATA_DIR / "reporting_slips.csv", _SlipSchema()):
        forms.setdefault(row["ion"], {})[row["given_as"]] = _share_reported(row)
    return forms


def _share_reported(row: dict[str, Any]) -> float:
    reported: float = row["amount"] * reported_ions()[row["ion"]].molar_mass
    return reported / molar_mass(row["given_as"])


@cache
def unit_slips() -> dict[str, dict[str, float]]:
    """Return for each slip of unit what brings each ion's figure from as read to as meant.

    Figures without a unit are read as mg/L, and may have been meant as mmol/L or as meq/L.
    """
    charged = [ion for ion in reported_ions().values() if ion.charge]
    return {
        "millimoles-as-milligrams": {ion.id: ion.molar_mass for ion in charged},
        "equivalents-as-milligrams": {ion.id: ion.mass_per_charge for ion in charged},
    }
