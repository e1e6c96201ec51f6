"""What containers are watered with from day to day: how much, how salty, and how much drains."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.batch import NOT_GIVEN, Batch
from saltcalc.case.vocabulary import FEEDINGS
from saltcalc.data.washout import slow_releases
from saltcalc.science._arrays import Flags, Floats

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment


@dataclass(frozen=True)
class Watering:
    """Watering from day to day, one row a container.

    Attributes
    ----------
    irrigation, rain, use : (m,) ndarray
        Water given, rain that falls in, and water used [L/day].
    fraction : (m,) ndarray
        Share of water and rain together that drains [L/L].
    release : (m,) ndarray
        What a slow release adds to the water given [dS/m].
    brought : (m,) ndarray
        Water, feed and release together, before rain thins them [dS/m].
    thinned : (m,) ndarray
        Water given over water and rain together [L/L].
    fed : (m,) ndarray
        The part of ``applied`` that is nutrients [dS/m].
    """

    irrigation: Floats
    rain: Floats
    use: Floats
    fraction: Floats
    release: Floats
    brought: Floats
    thinned: Floats
    fed: Floats

    @property
    def given(self) -> Floats:
        """Water and rain together [L/day]."""
        return np.asarray(self.irrigation + self.rain)

    @property
    def applied(self) -> Floats:
        """EC of all that enters the medium [dS/m]."""
        return np.asarray(self.brought * self.thinned)


FEED_LEADS = 0.5
"""Share of the EC of what is poured from which on it is the feed's (judgement). [-]"""


def feed_leads(watering: Watering) -> Flags:
    """Tell where most of what is poured is feed, so that a better water would do little."""
    return np.asarray(watering.fed > FEED_LEADS * watering.applied)


def is_fed_with_water(batch: Batch) -> Flags:
    """Tell for which samples feed is given in the water."""
    liquid = [FEEDINGS.index(each) for each in ("liquid_feed", "coated_and_liquid")]
    return np.asarray(np.isin(batch.samples.feeding, liquid) | (batch.samples.feed_ec > 0))


def assess_watering(assessment: Assessment) -> Watering:
    """Work out what every container gets, uses and drains in a day."""
    batch, case = assessment.batch, assessment.flush_case
    samples, owner = batch.samples, case.owner
    litres = case.area / 10_000.0
    use = samples.evapotranspiration[owner] * litres
    rain = samples.rain[owner] * litres
    irrigation = samples.irrigation[owner] * litres
    # Who waters what cannot drain gives no more than is used.
    irrigation = np.where(
        case.sealed, np.minimum(irrigation, np.maximum(use - rain, 0)), irrigation
    )
    given = irrigation + rain
    feed, release = samples.feed_ec[owner], _release(assessment, irrigation)
    # A flush with another water leaves open what is watered with.
    own = assessment.water_ec_25c[owner]
    ec_water = np.where(case.other_water, own, case.flush.ec_water)
    with np.errstate(divide="ignore", invalid="ignore"):
        fraction = np.where(given > 0, np.maximum(given - use, 0.0) / given, 0.0)
        thinned = np.where(given > 0, irrigation / given, 1.0)
    return Watering(
        irrigation=irrigation,
        rain=rain,
        use=use,
        fraction=np.where(case.sealed, 0.0, fraction),
        release=release,
        brought=np.asarray(ec_water) + feed + release,
        thinned=thinned,
        fed=(feed + release) * thinned,
    )


def _release(assessment: Assessment, irrigation: Floats) -> Floats:
    """Salt of a slow release, as EC of each day's water [dS/m]."""
    case = assessment.flush_case
    rates = np.array([each.rate for each in slow_releases().values()] + [0.0])
    code = assessment.batch.samples.slow_release[case.owner]
    daily = np.where(code == NOT_GIVEN, 0.0, rates[code]) * np.asarray(case.flush.water_held)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(irrigation > 0, daily / irrigation, 0.0)
