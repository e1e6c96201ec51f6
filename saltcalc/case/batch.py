"""A batch of samples as flat column tables; one request is a batch of one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from saltcalc.science.substrate import RetentionCurve

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]
ObjectArray = Any
"""An array of texts, or of None."""

NOT_GIVEN = -1


@dataclass(frozen=True)
class Solutions:
    """Solutions as they were reported, one row a sample; NaN where nothing was reported.

    Attributes
    ----------
    ec : (n,) ndarray
        Electrical conductivity as read [dS/m].
    temperature : (n,) ndarray
        Temperature of that reading [°C].
    ph : (n,) ndarray
        pH.
    ions : dict of str to (n,) ndarray
        Concentrations by ion id [mmol_c/L]; boron [mg/L].
    written : dict of str to (n,) ndarray of bool
        Where the unit of an ion's figure was written beside it.
    alkalinity, hardness : (n,) ndarray
        As a laboratory or a test kit sums them up [mmol_c/L].
    """

    ec: FloatArray
    temperature: FloatArray
    ph: FloatArray
    ions: dict[str, FloatArray]
    written: dict[str, BoolArray]
    alkalinity: FloatArray
    hardness: FloatArray


@dataclass(frozen=True)
class Samples:
    """The media and the waters of a batch, one row a sample.

    Attributes
    ----------
    medium, water : Solutions
        The extract of the medium, and the irrigation water.
    extraction : (n,) ndarray of int
        Row in the table of extraction methods, or ``NOT_GIVEN``.
    substrate : (n,) ndarray of int
        Row in the table of substrates, or ``NOT_GIVEN``.
    container_capacity, total_porosity : (n,) ndarray
        Measured water held after drainage, and pore space [share of volume].
    water_content : (n,) ndarray
        Water held when a pore-water sensor was read [share of volume].
    target_ec : (n,) ndarray
        EC wanted after a flush, by the same extraction as the medium's reading [dS/m].
    leaching_efficiency : (n,) ndarray
        Share of the draining water that takes salt along.
    evapotranspiration : (n,) ndarray
        Water use [mm/day].
    micronutrients : dict of str to (n,) ndarray
        Micronutrients in an extract of their own [mg/L].
    micronutrient_extract : (n,) ndarray of int
        Index into :data:`saltcalc.case.vocabulary.MICRONUTRIENT_EXTRACTS`.
    observations : (n, signs) ndarray of bool
        Which signs were seen, in the order of the table of observations.
    not_seen : (n, signs) ndarray of bool
        Which signs were looked for and not seen, in the same order.
    plant_age : (n,) ndarray
        Time since sowing [days].
    root_zone_temperature : (n,) ndarray
        Mean temperature in the root zone [°C].
    retention : RetentionCurve of (n,) ndarray
        Measured retention curve; NaN where none was given.
    slow_release : (n,) ndarray of int
        Row in the table of slow releases of salt, or ``NOT_GIVEN``.
    rest : (n,) ndarray
        Rest between the passes of a flush [h].
    irrigation : (n,) ndarray
        Water given each day [mm/day].
    feed_ec : (n,) ndarray
        EC that the feed adds to the water [dS/m].
    """

    medium: Solutions
    water: Solutions
    extraction: IntArray
    substrate: IntArray
    container_capacity: FloatArray
    total_porosity: FloatArray
    water_content: FloatArray
    target_ec: FloatArray
    leaching_efficiency: FloatArray
    evapotranspiration: FloatArray
    micronutrients: dict[str, FloatArray]
    micronutrient_extract: IntArray
    observations: BoolArray
    not_seen: BoolArray
    plant_age: FloatArray
    root_zone_temperature: FloatArray
    retention: RetentionCurve
    slow_release: IntArray
    rest: FloatArray
    irrigation: FloatArray
    feed_ec: FloatArray

    @property
    def count(self) -> int:
        """Number of samples."""
        return self.extraction.size


@dataclass(frozen=True)
class Containers:
    """The containers of a batch, one row a kind of container.

    Attributes
    ----------
    sample : (m,) ndarray of int
        Which sample fills it.
    name : (m,) ndarray of object
        Any name for it, or None.
    volume : (m,) ndarray
        Volume of medium in one container [L].
    height : (m,) ndarray
        Height of the medium [cm]; NaN if not given.
    count : (m,) ndarray of int
        How many of them, or ``NOT_GIVEN``.
    drainage : (m,) ndarray of int
        Index into :data:`saltcalc.case.vocabulary.DRAINAGE`, or ``NOT_GIVEN``.
    top_diameter, bottom_diameter : (m,) ndarray
        Inner diameter at the top of the medium and at the base [cm]; NaN if not given.
    head_space : (m,) ndarray
        Room between the medium and the rim [cm].
    moisture : (m,) ndarray
        Water held now over water held after drainage [share].
    """

    sample: IntArray
    name: ObjectArray
    volume: FloatArray
    height: FloatArray
    count: IntArray
    drainage: IntArray
    top_diameter: FloatArray
    bottom_diameter: FloatArray
    head_space: FloatArray
    moisture: FloatArray


@dataclass(frozen=True)
class Plantings:
    """The crops of a batch, one row a crop at a stage.

    Attributes
    ----------
    sample : (k,) ndarray of int
        Which sample it grows in.
    crop : (k,) ndarray of int
        Row in the table of crops.
    stage : (k,) ndarray of int
        Index into :data:`saltcalc.case.vocabulary.STAGES`, or ``NOT_GIVEN``.
    """

    sample: IntArray
    crop: IntArray
    stage: IntArray


@dataclass(frozen=True)
class ThrivingCrops:
    """Crops that thrive in a medium of the batch, one row a crop.

    Attributes
    ----------
    sample : (t,) ndarray of int
        Which sample it thrives in.
    crop : (t,) ndarray of int
        Row in the table of crops.
    """

    sample: IntArray
    crop: IntArray


@dataclass(frozen=True)
class Batch:
    """Everything one assessment looks at."""

    samples: Samples
    containers: Containers
    plantings: Plantings
    thriving: ThrivingCrops
