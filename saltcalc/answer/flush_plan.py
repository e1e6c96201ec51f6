"""The flush of each container in words and quantities, and what to do without a drain hole."""

from __future__ import annotations

import math

import numpy as np

from saltcalc.answer.ledger import Ledger
from saltcalc.answer.quantities import EC_UNIT, SHARE_UNIT, Json, quantity
from saltcalc.assessment.assess import Assessment
from saltcalc.assessment.flush_plan import (
    CLEAN_MEDIUM,
    DEFAULT_EFFICIENCY,
    DEFAULT_TARGET,
)
from saltcalc.data.substrates import substrates


def answer_flush_plan(
    assessment: Assessment, names: list[str | None], sample: int, ledger: Ledger
) -> list[Json] | None:
    """Return the plan of each container of a sample.

    Parameters
    ----------
    assessment : Assessment
        Of the batch.
    names : list of str or None
        Names of this sample's containers.
    sample : int
        Which sample.
    ledger : Ledger
        Where to list what the plans rest on.
    """
    rows = np.flatnonzero(assessment.batch.containers.sample == sample)
    if not rows.size:
        ledger.miss("flush_plan", ["/containers"], "Without a container there are no litres.")
        return None
    if math.isnan(assessment.salinity.ec_25c[sample]):
        ledger.miss(
            "flush_plan", ["/medium/ec"], "Without an EC there is nothing to come down from."
        )
        return None
    _assume(assessment, sample, ledger)
    _caution(assessment, rows, ledger)
    return [
        _answer_one(assessment, int(row), position, name, sample, ledger)
        for position, (row, name) in enumerate(zip(rows, names, strict=True))
    ]


def _assume(assessment: Assessment, sample: int, ledger: Ledger) -> None:
    given = assessment.given.samples
    mine = assessment.batch.plantings.sample == sample
    if math.isnan(given.target_ec[sample]) and np.all(
        np.isnan(assessment.crops.stands_up_to[mine])
    ):
        ledger.assume(
            "target",
            quantity(DEFAULT_TARGET, EC_UNIT),
            "No target and no crop with a published limit was given; this is the top of the class "
            "that suits seedlings, as saturated media extract.",
            "/target_ec",
            "umass-media",
        )
    if math.isnan(given.leaching_efficiency[sample]):
        ledger.assume(
            "leaching-efficiency",
            quantity(DEFAULT_EFFICIENCY, SHARE_UNIT),
            "Some of the water runs down the wall and through cracks without taking salt along.",
            "/leaching_efficiency",
            "judgement",
        )


def _caution(assessment: Assessment, rows: np.ndarray, ledger: Ledger) -> None:
    plan = assessment.flush_plan
    if np.any(plan.needed[rows] & ~plan.sealed[rows]):
        ledger.warn(
            "collect-drainage",
            "caution",
            "Drainage from a flush carries salt and nitrate. Collect it, keep it out of drains, "
            "wells and watercourses, and follow local rules.",
            "flush_plan",
        )


def _answer_one(
    assessment: Assessment,
    row: int,
    position: int,
    name: str | None,
    sample: int,
    ledger: Ledger,
) -> Json:
    plan, containers = assessment.flush_plan, assessment.batch.containers
    sealed = bool(plan.sealed[row])
    part = f"flush_plan/{position}"
    _warn(assessment, row, sample, part, ledger)
    litres = float(plan.water_per_container[row])
    substrate = list(substrates().values())[assessment.batch.samples.substrate[sample]]
    return {
        "container": name,
        "drainage": "sealed" if sealed else "open",
        "water_held": quantity(float(plan.water_held[row]), "L"),
        "water_per_container": quantity(litres, "L"),
        "water_total": quantity(litres * int(containers.count[row]), "L"),
        "target_ec": quantity(float(plan.target_reading[row]), EC_UNIT),
        "stop_reading": None if sealed else quantity(float(plan.target_pore_water[row]), EC_UNIT),
        "passes": [
            {
                "applied": quantity(float(plan.applied[row, column]), "L"),
                "drained": quantity(float(plan.applied[row, column]), "L"),
                "ec_medium": quantity(float(plan.ec_medium[row, column]), EC_UNIT),
                "ec_drainage": quantity(float(plan.ec_drainage[row, column]), EC_UNIT),
            }
            for column in np.flatnonzero(~np.isnan(plan.applied[row]))
        ],
        "options": _options(assessment, row, ledger) if _stuck(assessment, row) else [],
        "sources": ledger.cite("van-genuchten-1980", substrate.source),
    }


def _stuck(assessment: Assessment, row: int) -> bool:
    plan = assessment.flush_plan
    return bool(plan.needed[row] and (plan.sealed[row] or not plan.reachable[row]))


def _warn(assessment: Assessment, row: int, sample: int, part: str, ledger: Ledger) -> None:
    plan = assessment.flush_plan
    if not plan.needed[row]:
        ledger.warn(
            "no-flush-needed",
            "note",
            "The medium is at its target already; a flush would only wash out feed.",
            part,
        )
    elif plan.sealed[row]:
        ledger.warn(
            "sealed-container",
            "stop",
            "This container cannot drain: do not flush it. The salt would stay and the roots "
            "would drown. See the options.",
            f"/containers/{part.rsplit('/', maxsplit=1)[1]}/drainage",
        )
    elif not plan.reachable[row]:
        water = float(assessment.salinity.water_ec_25c[sample])
        ledger.warn(
            "target-below-water",
            "stop",
            f"No amount of this water (EC {water:.2g} dS/m) brings the pore water below its own "
            f"EC, and the target is {plan.target_pore_water[row]:.2g} dS/m. Use rain water or "
            "another option.",
            f"{part}/target_ec",
        )


def _options(assessment: Assessment, row: int, ledger: Ledger) -> list[Json]:
    plan = assessment.flush_plan
    share = float(plan.salty_share[row])
    options: list[Json] = []
    if not math.isnan(share):
        options.append(
            {
                "id": "blend",
                "sentence": f"Mix {share:.0%} of this medium, by volume, with a low-salt medium "
                f"of at most {CLEAN_MEDIUM:g} dS/m (saturated extract). Check EC and pH again "
                "after mixing.",
                "salty_share": quantity(share, SHARE_UNIT),
                "clean_parts": quantity((1 - share) / share, SHARE_UNIT),
                "ec_clean": quantity(CLEAN_MEDIUM, EC_UNIT),
                "sources": ledger.cite("judgement"),
            }
        )
    sentences = {
        "flush-elsewhere": "Move the medium to a vessel that drains, flush it, and return it.",
        "drill-holes": "Drill holes in the base, then flush; ask for the plan with open drainage.",
        "tolerant-crop": "Grow a crop that stands this medium.",
        "keep-moist": "Keep the medium moist, not wet: the pore water grows stronger as it dries.",
        "replace": "Replace the medium.",
    }
    options += [
        {"id": option, "sentence": sentence, "sources": ledger.cite("common-practice")}
        for option, sentence in sentences.items()
    ]
    return options
