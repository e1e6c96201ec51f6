"""The drainage of a flush used again: returned to its tank, or fed to a hardier crop."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.vocabulary import STAGES
from saltcalc.message import Message, say
from saltcalc.parts.notes import Notes
from saltcalc.parts.plantings import in_its_place
from saltcalc.parts.shown import Text, part, row_of, shown, source_keys
from saltcalc.parts.water import COMFORT
from saltcalc.science._arrays import Flags, Floats, filled
from saltcalc.science.flush import WashoutParameters
from saltcalc.science.returned_drainage import drainage_as_feed, ec_of_both, flush_with_returned
from saltcalc.science.salt_type import SALT_TYPES

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

WORTH_MIXING = 0.1
"""Least share of drainage in a mix that is worth the work (judgement). [L/L]"""

NO_FEED_IONS = ("sodium", "chloride")
NO_FEED = tuple(SALT_TYPES.index(each) for each in NO_FEED_IONS)
"""Salts that feed nothing."""

MUCH_BALLAST = 1 / 3
"""Share of the EC by sodium and chloride that is told to who feeds the drainage (judgement). [1]"""


@dataclass(frozen=True)
class ReusedDrainage:
    """What comes of the drainage, one row a container; NaN where nothing is flushed.

    Attributes
    ----------
    ec : (m,) ndarray
        EC of all the drainage, mixed [dS/m].
    least_reachable, ec_after, tank : (m,) ndarray
        If the drainage runs back to a tank that was given: EC that no number of passes gets
        below, that the pore water settles to after those of the plan, and of the tank then
        [dS/m]. The last two are NaN where the tank holds less than a pass.
    reaches_target : (m,) ndarray of bool
        Where the middle container then passes the check of the plan.
    """

    ec: Floats
    least_reachable: Floats
    ec_after: Floats
    tank: Floats
    reaches_target: Flags


@part
class ReturnedDrainage:
    """The same passes with the drainage running back to the tank that they are poured from."""

    least_reachable_ec: float = shown(
        "EC of the pore water that no number of passes then gets below.", "dS/m"
    )
    ec_after: float = shown(
        "EC of the pore water after the passes of the plan; left out where the tank holds less "
        "than a pass.",
        "dS/m",
        optional=True,
    )
    tank_ec: float = shown("EC of the tank then.", "dS/m", optional=True)
    reaches_target: bool = shown("Whether the middle one of such containers passes the check.")
    sentence: Message = shown()


@part
class DrainageAsFeed:
    """The drainage of the plan as a feed for a hardier crop."""

    crop: str = shown("Id of the crop.")
    stage: str = shown(choices=STAGES)
    mixed_drainage_ec: float = shown("EC of all the drainage, mixed.", "dS/m")
    mix_ec: float = shown("EC of the mix, at most.", "dS/m")
    greatest_share: float = shown("Most drainage in the mix with the water of the flush.", "1")
    mix_per_container: float = shown("Mix that the drainage of one container makes.", "L")
    nitrogen_in_mix: float = shown(
        "Nitrogen in that mix; left out where none was reported.", "mg/L", optional=True
    )
    nitrogen_per_container: float = shown(
        "Nitrogen of one container that is used again.", "mg", optional=True
    )
    sentence: Text = shown()
    sources: list[str] = source_keys()


def assess_reuse(assessment: Assessment) -> ReusedDrainage:
    """Follow the drainage of every plan, by the balance of the salt and by the washout."""
    result = assessment.flush_plan
    case, told = result.case, result.told
    flush, owner = case.flush, case.owner
    efficiency, immobile, rate, store = (each.value for each in case.known.washout)
    held, water = np.asarray(flush.water_held), np.asarray(flush.ec_water)
    capacity = held * (1.0 + filled(store, 0.0))
    with np.errstate(divide="ignore", invalid="ignore"):
        start = np.asarray(flush.ec_medium) + water * result.kept / capacity
        left = start - result.settled
        ec = np.where(result.flushed, water + capacity * left / result.drained, np.nan)
    least_reachable, ec_after, in_tank = np.full((3, held.size), np.nan)
    reaches_target = np.zeros(held.size, dtype=bool)
    found = ReusedDrainage(ec, least_reachable, ec_after, in_tank, reaches_target)
    given = assessment.batch.samples.return_tank[owner]
    rows = np.flatnonzero(result.flushed & ~np.isnan(given))
    if not rows.size:
        return found
    # The tank serves the containers that are flushed, each by the water that it holds.
    served = np.zeros(assessment.batch.samples.count)
    np.add.at(served, owner[rows], (held * assessment.batch.containers.count)[rows])
    tank = given[rows] * held[rows] / served[owner[rows]]
    each, hours, passes, in_all = (
        np.asarray(part)[rows]
        for part in (flush.pass_volume, flush.duration, told.passes, told.hours)
    )
    pause = (in_all - passes * hours) / np.maximum(passes - 1, 1)
    returned = flush_with_returned(
        start[rows],
        water[rows],
        WashoutParameters(efficiency[rows], immobile[rows], rate[rows], store[rows]),
        held[rows],
        np.maximum(tank, each),
        each,
        int(passes.max()),
        hours,
        np.maximum(pause, 0.0),
    )
    last = (passes - 1)[:, np.newaxis]
    after, strength = (
        np.where(tank < each, np.nan, np.take_along_axis(course, last, axis=-1)[:, 0])
        for course in (returned.ec_medium, returned.ec_tank)
    )
    # Gypsum in the medium holds it up as it does in the plan.
    plateau = filled(case.gypsum_plateau, 0.0)[rows]
    least = ec_of_both(start[rows], water[rows], capacity[rows], tank)
    least_reachable[rows] = np.maximum(least, plateau)
    ec_after[rows], in_tank[rows] = np.maximum(after, plateau), strength
    reaches_target[rows] = after <= np.asarray(told.check_ec)[rows]
    return found


def show_returned(assessment: Assessment, row: int, notes: Notes) -> ReturnedDrainage | None:
    """Return what the passes do whose drainage runs back.

    None without a tank, and where gypsum keeps the plan above its target with any water.
    """
    sample, flush = int(assessment.batch.containers.sample[row]), assessment.flush_of(row)
    if math.isnan(assessment.batch.samples.return_tank[sample]) or flush.gypsum_bound:
        return None
    reuse, check = row_of(assessment.reuse, row), float(flush.told.check_ec)
    if reuse.reaches_target:
        sentence = say("flush.returned_will_do", after=reuse.ec_after, tank=reuse.tank)
    elif math.isnan(reuse.ec_after):
        sentence = say("flush.returned_tank_too_small", each=float(flush.case.flush.pass_volume))
    elif reuse.least_reachable > check:
        sentence = say("flush.returned_never_does", least=reuse.least_reachable, wanted=check)
    else:
        sentence = say("flush.returned_falls_short", after=reuse.ec_after, wanted=check)
    if not reuse.reaches_target:
        notes.find("returned_drainage_too_salty", "stop", "/return_tank", why=sentence)
    return ReturnedDrainage(
        least_reachable_ec=reuse.least_reachable,
        ec_after=reuse.ec_after,
        tank_ec=reuse.tank,
        reaches_target=bool(reuse.reaches_target),
        sentence=sentence,
    )


def show_feed(assessment: Assessment, row: int, notes: Notes) -> DrainageAsFeed | None:
    """Return what the drainage is worth to the hardiest crop, or None where to no other one.

    The crop is one that tolerates saltier water than the one that is flushed for, and that no ion
    of the medium harms. Salts of sodium or chloride feed nothing.
    """
    sample = int(assessment.batch.containers.sample[row])
    planting = _hardiest(assessment, sample)
    if planting is None or assessment.medium_ions.salt_type.code[sample] in NO_FEED:
        return None
    limit = COMFORT * float(assessment.water.highest_ec[planting])
    flush, ec = assessment.flush_of(row), float(assessment.reuse.ec[row])
    losses = row_of(assessment.flush_costs, row).nutrients
    forms = [float(losses[each].in_drainage) for each in ("nitrate_n", "ammonium_n")]
    known = [each for each in forms if not math.isnan(each)]
    nitrogen = sum(known) if known else math.nan
    reused = drainage_as_feed(flush.drained, ec, nitrogen, flush.case.flush.ec_water, limit)
    share, litres, mixed, worth = map(float, reused)
    if not share >= WORTH_MIXING:
        return None
    crop = assessment.crop_of(planting)
    way = "drainage_as_feed" if share < 1 else "drainage_undiluted"
    sentence = [say(f"flush.{way}", crop=crop.name, share=share, litres=litres)]
    if known:
        sentence.append(say("flush.drainage_holds_nitrogen", nitrogen=mixed, worth=worth))
    shares = assessment.medium_ions.conductivity.shares
    ballast = float(np.nansum([shares[each][sample] for each in NO_FEED_IONS]))
    if ballast >= MUCH_BALLAST:
        sentence.append(say("flush.drainage_holds_sodium_chloride", share=ballast))
    return DrainageAsFeed(
        crop=crop.id,
        stage=STAGES[assessment.batch.plantings.stage[planting]],
        mixed_drainage_ec=ec,
        mix_ec=limit if share < 1 else ec,
        greatest_share=share,
        mix_per_container=litres,
        nitrogen_in_mix=mixed,
        nitrogen_per_container=worth,
        sentence=(*sentence, say("flush.drainage_carries_disease")),
        sources=notes.cite("pnw_water_molds_2023", "judgement"),
    )


def _hardiest(assessment: Assessment, sample: int) -> int | None:
    """Return the unharmed planting that tolerates the saltiest water, where another takes less."""
    highest, harmed = assessment.water.highest_ec, assessment.ions_excess.any
    rows = [row for row in assessment.plantings_of(sample) if not math.isnan(highest[row])]
    unharmed = [row for row in rows if not harmed[row]]
    first = sorted(unharmed, key=lambda row: in_its_place(assessment, row))
    hardiest = max(first, key=lambda row: float(highest[row]), default=None)
    if hardiest is None:
        return None
    return hardiest if highest[hardiest] > min(float(highest[row]) for row in rows) else None
