"""What is assumed where a request says nothing; the only place where anything is filled in."""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np

from saltcalc.case.batch import NOT_GIVEN, READING_TEMPERATURE, Batch, Solutions
from saltcalc.case.inputs import Choice, Input, Row, inputs_of
from saltcalc.case.intake import names_in
from saltcalc.science._arrays import Codes, Flags, Floats
from saltcalc.science.ec_bounds import ec_estimate_error, ec_lower_bound

CALCIUM_IN_HARDNESS = 0.75
"""Share of the hardness that is calcium, by charge, where only their sum is known (judgement)."""


@dataclass(frozen=True)
class Default:
    """A value that was filled in.

    Attributes
    ----------
    assumption : str
        Its id.
    use : str
        What it enters.
    table : {"samples", "containers", "plantings"}
        Whose rows ``rows`` are.
    field : str
        Pointer to the field that overrides it, with the place of the row left open.
    rows : ndarray of bool
        Where it was filled in.
    values : ndarray
        The numbers, or the codes, that were filled in; of the length of ``rows``.
    unit : str
        Of the numbers; empty for a count or a code.
    ids : tuple of str
        What the codes stand for; empty for numbers.
    """

    assumption: str
    use: str
    table: str
    field: str
    rows: Flags
    values: Floats | Codes
    unit: str
    ids: tuple[str, ...] = ()


def fill(batch: Batch) -> tuple[Batch, tuple[Default, ...]]:
    """Return the batch with every gap that a default can close filled, and the defaults used."""
    used: list[Default] = []
    solutions: dict[str, Any] = {
        owner: _complete(getattr(batch.samples, owner), owner, used)
        for owner in ("medium", "water")
    }
    for owner, solution in solutions.items():
        for inputs in _in_turn(solution.__class__):
            filled = _fill(solutions[owner], "samples", f"/{owner}/", batch, used, inputs)
            solutions[owner] = filled
    batch = replace(batch, samples=replace(batch.samples, **solutions))
    for table, rows, within in _TABLES:
        for inputs in _in_turn(getattr(batch, table).__class__):
            filled = _fill(getattr(batch, table), rows, within, batch, used, inputs)
            batch = replace(batch, **{table: filled})
    return batch, tuple(used)


_TABLES = (
    ("samples", "samples", "/"),
    ("containers", "containers", "/containers/{position}/"),
    ("plantings", "plantings", "/crops/{position}/"),
    ("previous", "samples", "/previous/"),
)
"""The tables of a batch, of what their rows are, and the pointer to what they hold."""


@cache
def _in_turn(table: Hashable) -> tuple[tuple[Input, ...], ...]:
    """Return the inputs of a table that have a default, those that are filled at once together.

    A default that is a function of the batch sees the gaps before it filled.
    """
    turns: list[tuple[Input, ...]] = []
    for each in inputs_of(table):
        if each.otherwise is None:
            continue
        if turns and not callable(each.otherwise):
            turns[-1] = (*turns[-1], each)
        else:
            turns.append((each,))
    return tuple(turns)


def _fill(
    columns: Any,
    table: str,
    within: str,
    batch: Batch,
    used: list[Default],
    inputs: Iterable[Input],
) -> Any:
    """Fill columns of one table that have a default."""
    filled = {}
    for each in inputs:
        given = getattr(columns, each.name)
        rows = given == NOT_GIVEN if given.dtype.kind == "i" else np.isnan(given)
        ids = tuple(names_in(each, ())) if isinstance(each.takes, Choice | Row) else ()
        value = each.otherwise(batch) if callable(each.otherwise) else each.otherwise
        code = bool(ids) and not callable(each.otherwise)
        values = np.full(given.shape, ids.index(value) if code else value)
        field = f"{within}{each.within}/{each.name}" if each.within else within + each.name
        used.append(Default(each.assumption, each.use, table, field, rows, values, each.unit, ids))
        filled[each.name] = np.where(rows, values, given)
    return replace(columns, **filled)


def rows_filled(defaults: Iterable[Default], assumption: str) -> Flags:
    """Return where a default was filled in."""
    return next(each.rows for each in defaults if each.assumption == assumption)


def _complete(solution: Solutions, owner: str, used: list[Default]) -> Solutions:
    """Take ions from the sums they were given in, and an EC, or a floor of it, from the ions."""
    ions = dict(solution.ions)

    def fill_ion(ion: str, source: str, value: Floats) -> None:
        rows = np.isnan(ions[ion]) & ~np.isnan(value)
        assumption, field = f"{owner}_{ion}_from_{source}", f"/{owner}/ions/{ion}"
        used.append(Default(assumption, "ions", "samples", field, rows, value, "mmol_c/L"))
        ions[ion] = np.where(rows, value, ions[ion])

    def rest_of_hardness(share: float, other: Floats) -> Floats:
        left = np.maximum(solution.hardness - other, 0.0)
        return np.where(np.isnan(other), share * solution.hardness, left)

    calcium, magnesium = ions["calcium"], ions["magnesium"]
    fill_ion("bicarbonate", "alkalinity", solution.alkalinity)
    fill_ion("calcium", "hardness", rest_of_hardness(CALCIUM_IN_HARDNESS, magnesium))
    fill_ion("magnesium", "hardness", rest_of_hardness(1 - CALCIUM_IN_HARDNESS, calcium))
    floor = np.full(solution.ec.shape, np.nan)
    reported = ~np.isnan(list(ions.values())).all(axis=0)
    unread = np.isnan(solution.ec) & reported
    if np.any(unread):
        floor[unread] = ec_lower_bound(
            {ion: value[unread] for ion, value in ions.items()}, solution.ph[unread]
        ).ec
    rows = ~np.isnan(floor)
    whole = rows
    if np.any(rows):
        whole = rows & ~np.isnan(ec_estimate_error(ions, solution.ph))
    for which, of_them in (("lower_bound", rows & ~whole), ("of_ions", whole)):
        assumption, field = f"{owner}_ec_{which}", f"/{owner}/ec"
        used.append(Default(assumption, "ions", "samples", field, of_them, floor, "dS/m"))
    return replace(
        solution,
        ec=np.where(rows, floor, solution.ec),
        temperature=np.where(rows, READING_TEMPERATURE, solution.temperature),
        ions=ions,
    )


def by_sample(defaults: Iterable[Default], batch: Batch) -> list[list[tuple[Default, int]]]:
    """Return the defaults that entered each sample, each with its row in its own table."""
    owners = {
        "samples": range(batch.samples.count),
        "containers": batch.containers.sample.tolist(),
        "plantings": batch.plantings.sample.tolist(),
    }
    found: list[list[tuple[Default, int]]] = [[] for _ in range(batch.samples.count)]
    for default in defaults:
        for row in default.rows.nonzero()[0].tolist():
            found[owners[default.table][row]].append((default, row))
    return found
