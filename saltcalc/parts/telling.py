"""Which assumptions move the answer most: by what it would be with what may as well be true."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import is_dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from saltcalc.case.batch import Batch
from saltcalc.case.vocabulary import DRAINAGE, STAGES
from saltcalc.data.extraction import method_codes
from saltcalc.data.substrates import substrates
from saltcalc.parts.crops.tolerance import highest_tolerated
from saltcalc.parts.flush.case import DEFAULT_TARGET
from saltcalc.parts.shown import Amount
from saltcalc.science._arrays import Codes, Floats
from saltcalc.science.flush import well_mixed_drainage

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

MOST_LITRES = 10.0
"""Volumes of the container at which the litres of a flush are cut off: more is not practical."""

LEAST_LITRES = 0.1
"""Share of the water held below which a difference of litres does not count (judgement)."""

LEAST_EFFECT = 1.05
"""Factor on the answer below which an assumption does not tell (judgement)."""


def _codes(known: Mapping[str, Any] | tuple[str, ...], *ids: str) -> tuple[int, ...]:
    return tuple(list(known).index(each) for each in ids)


def _may_be() -> Mapping[str, tuple[Any, ...] | Callable[[Any], tuple[Any, ...]]]:
    """Return what may as well be true in the place of each default (judgement)."""
    return {
        "extraction": _codes(
            method_codes(), "saturated_media_extract", "one_to_one_and_half", "one_to_two"
        ),
        "substrate": _codes(
            substrates(), "sphagnum_peat", "pine_bark", "coir_fibrous", "green_waste_compost"
        ),
        "stage": _codes(STAGES, "seedling", "established"),
        "container_drainage": _codes(DRAINAGE, "open", "sealed"),
        "container_height": lambda height: (0.6 * height, 1.6 * height),
        "medium_ec_lower_bound": lambda ec: (1.5 * ec,),
        "medium_temperature": (15.0, 30.0),
        "water_ec": (0.05, 1.2),
        "water_ec_lower_bound": lambda ec: (1.5 * ec,),
        "water_temperature": (15.0, 30.0),
        "relative_water_content": (0.6,),
    }


def effects(assessment: Assessment, sample: int, assumed: Mapping[str, Any]) -> dict[str, float]:
    """Return by which factor each assumption may move what the answer says of a sample.

    The answer is how far the EC is above its limit, and how many litres take it down in a container
    that mixes at once. It is computed again with each value that may as well be true; the largest
    change counts, upwards or downwards alike.

    Parameters
    ----------
    assessment : Assessment
        Of the batch.
    sample : int
        Which sample.
    assumed : mapping of str to object
        The assumptions of its answer, by id, with their values.

    Returns
    -------
    dict of str to float
        1 where nothing changes; an assumption that these figures do not rest on is absent.
    """
    trials = list(_trials(assessment, sample, assumed))
    if not trials or np.isnan(assessment.salinity.ec_25c[sample]):
        return {}
    efficiency = assumed.get("leaching_efficiency")
    above, litres = _figures(
        _tried(assessment, sample, [trial for _, trial in trials]),
        efficiency.value if isinstance(efficiency, Amount) else np.nan,
        _target(assessment, sample),
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        moved = [np.abs(np.log(each[1:] / each[0])) for each in (above, litres)]
    factors = np.exp(np.where(np.isnan(change := np.fmax(*moved)), 0.0, change))
    found: dict[str, float] = {}
    for (assumption, _), factor in zip(trials, factors, strict=True):
        found[assumption] = max(found.get(assumption, 1.0), float(factor))
    return found


def _target(assessment: Assessment, sample: int) -> float:
    """EC of the saturated extract that the request asks for [dS/m]; NaN where it does not."""
    rows = assessment.containers_of(sample)
    if np.isnan(assessment.batch.samples.target_ec[sample]) or not rows:
        return np.nan
    return float(assessment.flush_case.target_extract[rows[0]])


_Trial = tuple[str, str, Any]
"""Table, column with the solution before it where it is one of a solution, and value."""


def _trials(assessment: Assessment, sample: int, assumed: Mapping[str, Any]) -> Any:
    may_be = _may_be()
    efficiency = assumed.get("leaching_efficiency")
    if isinstance(efficiency, Amount):
        for end in (efficiency.low, efficiency.high):
            yield "leaching_efficiency", ("samples", "leaching_efficiency", end)
    rows_of = {"samples": [sample], "containers": assessment.containers_of(sample)}
    rows_of["plantings"] = assessment.plantings_of(sample)
    for default in assessment.defaults:
        other = may_be.get(default.assumption)
        rows = [row for row in rows_of[default.table] if default.rows[row]]
        if other is None or not rows or default.assumption not in assumed:
            continue
        taken = default.values[rows[0]]
        column = default.field.replace("/{position}", "").strip("/")
        for value in other(taken) if callable(other) else other:
            if value != taken:
                yield default.assumption, (default.table, column, value)


def _tried(assessment: Assessment, sample: int, trials: list[_Trial]) -> Assessment:
    """Return the assessment of a sample as it is and once for each trial, without its ions."""
    count = len(trials) + 1
    rows: dict[str, Codes] = {each: np.full(count, sample) for each in ("samples", "previous")}
    for table, own in (
        ("containers", assessment.containers_of(sample)),
        ("plantings", assessment.plantings_of(sample)),
        ("thriving", []),
    ):
        rows[table] = np.tile(np.asarray(own, dtype=np.intp), count)
    batch = Batch(**{name: _take(getattr(assessment.batch, name), rows[name]) for name in rows})
    for owned in (batch.containers, batch.plantings):
        owned.sample[:] = np.repeat(np.arange(count), owned.sample.size // count)
    for place, (table, path, value) in enumerate(trials, start=1):
        *within, column = path.split("/")
        owner = getattr(batch, table)
        of_trial = np.arange(count) == place if table == "samples" else owner.sample == place
        if within and within[0] in ("medium", "water") and hasattr(owner, within[0]):
            solution = getattr(owner, within[0])
            owner = solution if hasattr(solution, column) else owner
        values = getattr(owner, column)
        values[of_trial] = value
    defaults = tuple(
        replace(each, rows=each.rows[rows[each.table]], values=each.values[rows[each.table]])
        for each in assessment.defaults
        if each.assumption == "medium_ec_of_ions"
    )
    return replace(assessment, given=batch, batch=batch, defaults=defaults)


def _take(table: Any, rows: Codes) -> Any:
    """Return rows of a column table, of the tables in it alike; what was analysed is left out."""
    if isinstance(table, np.ndarray):
        return table[rows]
    if isinstance(table, dict):
        return dict.fromkeys(table, np.full(rows.shape, np.nan))
    if is_dataclass(table):
        kind: Any = type(table)
        return kind(*(_take(getattr(table, name), rows) for name in kind.__dataclass_fields__))
    return type(table)(*(_take(each, rows) for each in table))


def _figures(tried: Assessment, efficiency: float, target: float) -> tuple[Floats, Floats]:
    """Return how far each trial is above its limit, and its litres; NaN where there are none.

    Parameters
    ----------
    tried : Assessment
        Of the trials.
    efficiency : float
        Leaching efficiency where a trial has none of its own [-].
    target : float
        EC of the saturated extract that was asked for [dS/m]; NaN where none was.
    """
    batch, extract = tried.batch, tried.salinity.saturated_extract.value
    count, plantings = batch.samples.count, batch.plantings
    limit = np.full(count, np.inf)
    tolerated = highest_tolerated(tried, tried.crop_limits, plantings.sample, plantings.stage)
    np.fmin.at(limit, plantings.sample, tolerated)
    limit = np.where(np.isinf(limit), DEFAULT_TARGET, limit)
    limit = np.where(np.isnan(target), limit, target)
    containers = batch.containers
    if not containers.sample.size:
        return extract / limit, np.full(count, np.nan)
    owner, pores = containers.sample, tried.container_water
    stated = batch.samples.leaching_efficiency[owner]
    moving = np.where(np.isnan(stated), efficiency, stated)
    denser = pores.pore_over_extract
    start, goal = extract[owner] * denser, limit[owner] * denser
    water, held = tried.water_ec_25c[owner], containers.volume * pores.container_capacity
    deficit = held * (1.0 - containers.relative_water_content)
    drained = well_mixed_drainage(start + water * deficit / held, water, goal, moving)
    most = MOST_LITRES * containers.volume
    litres = np.where(np.isfinite(drained), np.minimum(deficit + held * drained, most), most)
    sealed = containers.drainage == DRAINAGE.index("sealed")
    litres = np.where(sealed | (start <= goal), 0.0, litres) + LEAST_LITRES * held
    return extract / limit, litres.reshape(count, -1).sum(axis=1)
