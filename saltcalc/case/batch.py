"""A batch of samples as flat column tables; one request is a batch of one."""

from __future__ import annotations

from typing import Any

import numpy as np

from saltcalc.case.inputs import Choice, Group, Name, Number, Row, Whole, given, table
from saltcalc.case.vocabulary import (
    DRAINAGE,
    FEEDINGS,
    MEANS,
    SALT_PROFILES,
    STAGES,
    WETTING_AGENTS,
)
from saltcalc.data.extraction import method_codes
from saltcalc.data.washout import slow_releases
from saltcalc.science._arrays import Codes, Flags, Floats
from saltcalc.science.substrate import RetentionCurve
from saltcalc.units import (
    ALKALINITY,
    DISSOLVED_SOLIDS,
    EC,
    FLOW,
    HARDNESS,
    LENGTH,
    LENGTH_OF_WATER,
    PLANT_AGE,
    REST,
    TARGET_EC,
    TEMPERATURE,
    VOLUME,
    VOLUME_OR_NONE,
    WATER_DEPTH_PER_DAY,
    ion_kind,
)

ObjectArray = Any
"""An array of texts, or of None."""

NOT_GIVEN = -1

READING_TEMPERATURE = 25.0
"""Temperature of a reading [°C]: most meters correct to 25 °C by themselves (common practice)."""

LEACHING_FRACTION = 0.15
"""Share of the daily water that drains where none is given (judgement). [L/L]

The upper end of what is advised.
"""

SMALL_CELL = 0.3
"""Volume [L] of a container up to which nobody waters it by itself (judgement)."""

BED = 10_000.0
"""Surface [cm²] from which a container is a bed: a can or one dripper does not wet all of it
(judgement)."""


def _means(batch: Batch) -> Codes:
    """Take a boom where all containers of a sample are small, a sprinkler over beds, else a can."""
    containers, count = batch.containers, batch.samples.count
    largest, narrowest = np.zeros(count), np.full(count, np.inf)
    height = np.where(np.isnan(containers.height), _height(batch), containers.height)
    np.maximum.at(largest, containers.sample, containers.volume)
    np.minimum.at(narrowest, containers.sample, 1000.0 * containers.volume / height)
    small, beds = largest <= SMALL_CELL, narrowest >= BED
    by = np.select(
        [largest == 0, small, beds],
        [MEANS.index(each) for each in ("can", "boom", "sprinkler")],
        MEANS.index("can"),
    )
    return np.asarray(by)


EXTRACTION = Choice(tuple(method_codes()), ratios=True)
STAGE = Choice(STAGES, of_time="names.age_is_no_stage")


@table
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
    total_dissolved_solids : (n,) ndarray
        By evaporation or by a laboratory's reckoning [mg/L].
    """

    ec: Floats
    temperature: Floats
    ph: Floats = given(Number(0, 14), "pH.")
    ions: dict[str, Floats] = given(Group(), "The ions that a laboratory reports.")
    written: dict[str, Flags]
    alkalinity: Floats = given(
        ALKALINITY, "Alkalinity, where it is given instead of bicarbonate among the ions."
    )
    hardness: Floats = given(
        HARDNESS, "Total hardness, where calcium or magnesium is not among the ions."
    )
    total_dissolved_solids: Floats = given(
        DISSOLVED_SOLIDS,
        "Total dissolved solids as the laboratory reports them; held against the EC.",
    )


_OF_READING = "Temperature of the reading, if the meter does not correct to 25 °C by itself."


@table
class MediumSolutions(Solutions):
    """The extracts of the media."""

    ec: Floats = given(EC, "Electrical conductivity of the extract.")
    temperature: Floats = given(
        TEMPERATURE,
        _OF_READING,
        otherwise=READING_TEMPERATURE,
        assumption="medium_temperature",
        use="medium",
    )


@table
class WaterSolutions(Solutions):
    """The irrigation waters; the default EC is that of a mains water of moderate hardness."""

    ec: Floats = given(
        EC, "Electrical conductivity.", otherwise=0.5, assumption="water_ec", use="water"
    )
    temperature: Floats = given(
        TEMPERATURE,
        _OF_READING,
        otherwise=READING_TEMPERATURE,
        assumption="water_temperature",
        use="water_temperature",
    )


def _irrigation(batch: Batch) -> Floats:
    """Water [mm/day] for the water use with a share that drains, less the rain."""
    samples = batch.samples
    return np.maximum(samples.evapotranspiration / (1.0 - LEACHING_FRACTION) - samples.rain, 0.0)


@table
class Samples:
    """The media and the waters of a batch, one row a sample.

    Attributes
    ----------
    medium, water : Solutions
        The extract of the medium, and the irrigation water.
    micronutrients : dict of str to (n,) ndarray
        Micronutrients in an extract of their own [mg/L].
    cat : dict of str to (n,) ndarray
        Nutrients by CaCl2/DTPA (EN 13651) [mg/L of medium]; ``mineral_n`` is nitrate and ammonium
        together.
    ph_error : (n,) ndarray
        How far the pH may be off, where it was read in another liquid than water [-]; else 0.
    micronutrient_extract : (n,) ndarray of int
        Index into :data:`saltcalc.case.vocabulary.MICRONUTRIENT_EXTRACTS`.
    observations : (n, signs) ndarray of bool
        Which signs were seen, in the order of the table of observations.
    not_seen : (n, signs) ndarray of bool
        Which signs were looked for and not seen, in the same order.
    retention : RetentionCurve of (n,) ndarray
        Measured retention curve; NaN where none was given.

    The other columns are declared as inputs, in the internal unit of what they take.
    """

    medium: MediumSolutions
    water: WaterSolutions
    substrate: Codes = given(
        Row("substrates"),
        "What the medium is made of.",
        within="medium",
        otherwise="general_potting_mix",
        use="substrate",
    )
    container_capacity: Floats = given(
        Number(0.05, 0.98),
        "Water held after drainage, as a share of the volume; as measured.",
        within="medium",
    )
    total_porosity: Floats = given(
        Number(0.1, 0.99), "Pore space, as a share of the volume.", within="medium"
    )
    water_content: Floats = given(
        Number(0.02, 0.98),
        "Water in the medium when a pore-water sensor was read, as a share of the volume; "
        "container capacity if left out.",
        within="medium",
    )
    retention: RetentionCurve = given(Group(), "", within="medium")
    extraction: Codes = given(
        EXTRACTION,
        "How the water was taken out; see GET /v1/extraction-methods.",
        within="medium",
        otherwise="saturated_media_extract",
        use="medium",
    )
    mineral_n: Floats = given(
        ion_kind("nitrate_n"),
        "Nitrate and ammonium nitrogen together, as N, where the report gives one figure.",
        within="medium",
    )
    micronutrients: dict[str, Floats] = given(
        Group(), "Iron, manganese, zinc, copper and boron, by water or DTPA.", within="medium"
    )
    cat: dict[str, Floats] = given(Group(), "", within="medium")
    ph_in_cacl2: Floats = given(
        Number(0, 14), "pH in 0.01 mol/L CaCl2, where it was not read in water.", within="medium"
    )
    ph_error: Floats
    micronutrient_extract: Codes
    slow_release: Codes = given(
        Choice(tuple(slow_releases())),
        "What goes on giving off salt in the medium.",
        within="medium",
    )
    salt_profile: Codes = given(
        Choice(SALT_PROFILES),
        "How the salt lies before the flush: on_top in a medium that has been watered for weeks, "
        "even in one just mixed.",
        within="medium",
        otherwise="on_top",
        use="flush",
    )
    wetting_agent: Codes = given(
        Choice(WETTING_AGENTS),
        "Whether a wetting agent is used on a medium that repels water.",
        within="medium",
    )
    sink_time: Floats = given(
        REST, "Time in which 1 cm of water sinks into the wet medium, as timed.", within="medium"
    )
    observations: Flags
    not_seen: Flags
    target_ec: Floats = given(
        TARGET_EC, "EC wanted after the flush, by the extraction method of the medium's reading."
    )
    leaching_efficiency: Floats = given(
        Number(0.05, 1.0), "Share of the draining water that takes salt along; as measured."
    )
    rest: Floats = given(
        REST, "Rest between the passes of a flush; chosen for the medium if left out."
    )
    confidence: Floats = given(
        Number(0.5, 0.95),
        "Share of such containers that are to be at their target after the litres stated.",
        otherwise=0.8,
        use="flush",
    )
    pots_read: Codes = given(
        Whole(1, 100),
        "Containers that are read in a check; none of them may read more than its figure.",
        otherwise=3,
        use="flush",
    )
    return_tank: Floats = given(
        VOLUME,
        "Water in the tank that the flush is poured from, where the drainage runs back into it.",
    )
    by: Codes = given(
        Choice(MEANS),
        "What the water is poured with.",
        within="means",
        otherwise=_means,
        assumption="means",
        use="flush",
    )
    flow: Floats = given(FLOW, "Of the hose, or of one dripper.", within="means")
    drippers: Codes = given(Whole(1, 100), "Drippers in one container.", within="means")
    run_depth: Floats = given(
        LENGTH_OF_WATER, "Water that one run of the boom gives.", within="means"
    )
    cells_per_tray: Codes = given(Whole(1, 2000), "Cells of one tray.", within="means")
    tray_length: Floats = given(LENGTH, "Of one tray, ribs with it.", within="means")
    tray_width: Floats = given(LENGTH, "Of one tray, ribs with it.", within="means")
    evapotranspiration: Floats = given(
        WATER_DEPTH_PER_DAY, "Water use of the crop.", otherwise=4.0, use="water_use"
    )
    rain: Floats = given(
        WATER_DEPTH_PER_DAY,
        "Rain that falls into the container, on the average of all days.",
        otherwise=0.0,
        use="brought",
    )
    irrigation: Floats = given(
        WATER_DEPTH_PER_DAY,
        "Water given, over the area of the container.",
        otherwise=_irrigation,
        use="upkeep",
    )
    feed_ec: Floats = given(
        EC,
        "EC that feeding adds to the water, on the average of all waterings.",
        otherwise=0.0,
        use="brought",
    )
    feeding: Codes = given(
        Choice(FEEDINGS),
        "How the crop is fed; coated fertilizer alone wants other ranges than liquid feed.",
    )
    plant_age: Floats = given(PLANT_AGE, "Time since sowing.")
    root_zone_temperature: Floats = given(TEMPERATURE, "Mean temperature in the root zone.")

    @property
    def count(self) -> int:
        """Number of samples."""
        return self.extraction.size


def _height(batch: Batch) -> Floats:
    """Height [cm] from the diameters, or of a round container that is as wide as it is high."""
    containers = batch.containers
    top, base = containers.top_diameter, containers.bottom_diameter
    tapered = 12_000 * containers.volume / (np.pi * (top**2 + top * base + base**2))
    upright = np.cbrt(4_000 * containers.volume / np.pi)
    return np.where(np.isnan(tapered), upright, tapered)


@table
class Containers:
    """The containers of a batch, one row a kind of container.

    Attributes
    ----------
    sample : (m,) ndarray of int
        Which sample fills it.

    The other columns are declared as inputs, in the internal unit of what they take.
    """

    sample: Codes
    name: ObjectArray = given(Name(100), "Any name for it.")
    volume: Floats = given(
        VOLUME,
        "Volume of medium in one container; it may be left out where a diameter and the height "
        "are given.",
    )
    height: Floats = given(
        LENGTH,
        "Height of the medium in it.",
        otherwise=_height,
        assumption="container_height",
        use="container",
    )
    count: Codes = given(
        Whole(1, 1_000_000),
        "How many there are.",
        otherwise=1,
        assumption="container_count",
        use="container",
    )
    drainage: Codes = given(
        Choice(DRAINAGE, yes="open", no="sealed"),
        "Whether water can leave at the bottom: open, or sealed.",
        otherwise="open",
        assumption="container_drainage",
        use="container",
    )
    top_diameter: Floats = given(LENGTH, "Inner diameter at the top of the medium.")
    bottom_diameter: Floats = given(LENGTH, "Inner diameter at the base.")
    head_space: Floats = given(
        LENGTH,
        "Room between the medium and the rim; it bounds each pass.",
        otherwise=2.5,
        use="flush",
    )
    relative_water_content: Floats = given(
        Number(0.05, 1.0),
        "Water held now, over water held after drainage.",
        otherwise=1.0,
        use="flush",
    )


@table
class Plantings:
    """The crops of a batch, one row a crop at a stage.

    Attributes
    ----------
    sample : (k,) ndarray of int
        Which sample it grows in.

    The other columns are declared as inputs.
    """

    sample: Codes
    crop: Codes = given(Row("crops"), "Id, common or botanical name.", required=True)
    stage: Codes = given(STAGE, "Age of the crop.", otherwise="seedling", use="planting")
    plants: Codes = given(Whole(1, 10_000), "Plants of it in one container.")


@table
class ThrivingCrops:
    """Crops that thrive in a medium of the batch, one row a crop.

    Attributes
    ----------
    sample : (t,) ndarray of int
        Which sample it thrives in.
    crop : (t,) ndarray of int
        Row in the table of crops.
    """

    sample: Codes
    crop: Codes


@table
class Previous:
    """The earlier reports that re-tests are read against, one row a sample.

    Attributes
    ----------
    medium : MediumSolutions
        The earlier extract; NaN throughout where there is no earlier report.
    days : (n,) ndarray
        From that sample to this one; NaN where either day is not given.

    The other columns are declared as inputs, in the internal unit of what they take.
    """

    medium: MediumSolutions
    days: Floats
    extraction: Codes = given(
        EXTRACTION,
        "How the water was taken out then.",
        otherwise=lambda batch: batch.samples.extraction,
        assumption="previous_extraction",
        use="previous",
    )
    applied: Floats = given(
        VOLUME_OR_NONE, "Water poured on one container since then; 0 where none was."
    )

    @property
    def known(self) -> Flags:
        """Where there is an earlier report."""
        figures = (self.medium.ec, self.medium.ph, *self.medium.ions.values())
        sums = (self.medium.alkalinity, self.medium.hardness)
        return np.asarray(~np.isnan((*figures, *sums)).all(axis=0))


@table
class Batch:
    """Everything one assessment looks at."""

    samples: Samples
    containers: Containers
    plantings: Plantings
    thriving: ThrivingCrops
    previous: Previous
