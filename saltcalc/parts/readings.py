"""Readings of EC beside the medium's own: of drainage and of what was poured on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from saltcalc.case.batch import READING_TEMPERATURE
from saltcalc.science._arrays import Flags, Floats
from saltcalc.science.temperature import ec25_handbook60


@dataclass(frozen=True)
class EcReadings:
    """Readings of EC.

    Attributes
    ----------
    ec : (n,) ndarray
        At 25 °C [dS/m]; NaN where not given.
    assumed : (n,) ndarray of bool
        Where a reading without a temperature was taken as one at 25 °C.
    """

    ec: Floats
    assumed: Flags


def ec_readings(ec: Floats, temperature: Floats) -> EcReadings:
    """Bring readings to 25 °C; those without a temperature are taken as read there.

    Parameters
    ----------
    ec : (n,) ndarray
        As read [dS/m]; NaN where not given.
    temperature : (n,) ndarray
        Of the reading [°C]; NaN where not given.
    """
    unknown = np.isnan(temperature)
    return EcReadings(
        ec=np.asarray(ec25_handbook60(ec, np.where(unknown, READING_TEMPERATURE, temperature))),
        assumed=unknown & ~np.isnan(ec),
    )
