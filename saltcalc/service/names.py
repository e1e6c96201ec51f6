"""Names of fields as people write them, beside those that the interface knows."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable

from rapidfuzz import fuzz, process

from saltcalc.data.name_forms import plain as bare
from saltcalc.data.reported_ions import reported_ions, symbols
from saltcalc.data.trade_names import trade_names
from saltcalc.message import Message, say

_LIKE_ENOUGH = 65.0


def plain(name: str) -> str:
    """Return a name in small letters, its words parted by one underscore."""
    return re.sub(r"[\W_]+", "_", name.casefold()).strip("_")


def nearest(name: str, known: Iterable[str]) -> str | None:
    """Return the known name that was most likely meant, or None if none is like it."""
    plainly = {plain(each): each for each in known}
    wanted = plain(name)
    if (symbol := symbols().get(wanted)) in plainly.values():
        return symbol
    for said in trade_names()["field"]:
        if said.means in plainly.values() and bare(said.name) == bare(name.replace("_", " ")):
            return said.means
    found = process.extractOne(wanted, list(plainly), scorer=fuzz.ratio, score_cutoff=_LIKE_ENOUGH)
    return plainly[found[0]] if found else None


def hint(name: str, known: Collection[str], within: Collection[str]) -> tuple[Message, ...]:
    """Say which field an unknown one was meant to be, and how to write what its name says.

    Parameters
    ----------
    name : str
        The unknown field.
    known : collection of str
        The fields that may stand beside it.
    within : collection of str
        The fields of the object ``ions`` beside it, if there is one.
    """
    field, place = nearest(name, known), ""
    exact = {each.means for each in trade_names()["field"] if bare(each.name) == bare(name)}
    exact.add(symbols().get(plain(name), ""))
    if (field is None or field not in exact) and (ion := nearest(name, within)) in exact:
        field, place = ion, "ions"
    if field is None:
        return ()
    told = [say("problem.stands_elsewhere", place=place)] if place else []
    if form := _form_of(name, field):
        own = reported_ions()[field].reported_as
        return say("problem.write_in_form", field=field, own=own, form=form), *told
    return say("problem.did_you_mean", field=field), *told


def _form_of(name: str, field: str) -> str:
    """Return the chemical form that the name of a field says, where the field takes another."""
    wanted = bare(name.replace("_", " "))
    said = (each for each in trade_names()["field"] if each.means == field)
    return next((each.told for each in said if bare(each.name) == wanted), "")
