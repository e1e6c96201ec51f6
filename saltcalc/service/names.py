"""Names of fields as people write them, beside those that the interface knows."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping
from functools import cache
from typing import NamedTuple

from rapidfuzz import fuzz, process

from saltcalc.data.name_forms import SUBSCRIPTS, SUPERSCRIPTS
from saltcalc.data.name_forms import plain as bare
from saltcalc.data.report_names import ASK_FORM, found_in, report_names
from saltcalc.data.reported_ions import reported_ions, symbols
from saltcalc.data.trade_names import trade_names
from saltcalc.message import Message, say

AT_THE_TOP = "/"
"""The place of a field that is in no other."""

_LIKE_ENOUGH = 65.0
_CHARGE = re.compile(r"\s?\d?[+-]{1,2}$")
_UNITS = frozenset(
    (
        *("ms", "us", "s", "ds", "mscm", "uscm", "dsm", "mmhos", "cm", "m", "mm", "in", "inch"),
        *("mg", "ug", "g", "l", "ml", "ppm", "ppb", "mmol", "umol", "meq", "mval", "me", "liter"),
        *("litre", "litres", "liters", "gal", "unit", "units", "value", "days", "weeks", "c", "f"),
        *("h2o", "water", "25", "25c", "dh", "fh", "caco3", "percent"),
    )
)
"""Words behind the name of a field that say its unit, or what goes without saying."""


class Meant(NamedTuple):
    """A field that a name may mean, and the chemical form that it says.

    ``field`` is empty for a name of no field, of which the message ``names.<form>`` says why.
    """

    field: str
    form: str


def plain(name: str) -> str:
    """Return a name in small letters, its words parted by one underscore."""
    return re.sub(r"[\W_]+", "_", name.casefold()).strip("_")


def nearest(name: str, known: Iterable[str]) -> str | None:
    """Return the known name that was most likely meant, or None if none is like it."""
    plainly = {plain(each): each for each in known}
    wanted = plain(name)
    here = {*plainly.values()}
    if meant := next((each for each in fields_meant(name) if each.field in here), None):
        return meant.field
    found = process.extractOne(wanted, list(plainly), scorer=fuzz.ratio, score_cutoff=_LIKE_ENOUGH)
    return plainly[found[0]] if found else None


@cache
def fields_meant(name: str) -> tuple[Meant, ...]:
    """Return the fields that a name means, in the six languages and with a unit or a charge behind.

    Parameters
    ----------
    name : str
        As a person or a laboratory writes it.

    Examples
    --------
    >>> fields_meant("SO₄²⁻")[0]
    Meant(field='sulfate_s', form='SO4')
    >>> fields_meant("EC (mS/cm)")[0].field
    'ec'
    """
    written = name.translate(SUBSCRIPTS | SUPERSCRIPTS).strip()
    ways = (written, written.rstrip("+-"), _CHARGE.sub("", written))
    for way in dict.fromkeys(ways):
        words = tuple(bare(way.replace("_", " ")).split())
        while words:
            if found := _named(" ".join(words)):
                return found
            if words[-1] not in _UNITS or len(words) == 1:
                break
            words = words[:-1]
    return ()


def _named(key: str) -> tuple[Meant, ...]:
    found = [
        Meant(each.means, each.told) for each in trade_names()["field"] if bare(each.name) == key
    ]
    for row in report_names()["figure"].get(key, ()):
        field = row.means.rpartition("/")[2]
        forms = [each.form for each in found if each.field == field]
        found.append(
            Meant(field, "" if row.form == ASK_FORM else row.form) if not forms else found[0]
        )
    if symbol := symbols().get(key.replace(" ", "_")):
        found.append(Meant(symbol, ""))
    found += [Meant(row.means, "") for row in report_names()["label"].get(key, ())]
    return tuple(dict.fromkeys(found))


def hint(
    name: str, known: Collection[str], within: Collection[str], places: Mapping[str, str]
) -> tuple[Message, ...]:
    """Say which field an unknown one was meant to be, and how to write what its name says.

    Parameters
    ----------
    name : str
        The unknown field.
    known : collection of str
        The fields that may stand beside it.
    within : collection of str
        The fields of the object ``ions`` beside it, if there is one.
    places : mapping of str to str
        Where each field of the whole request is.
    """
    words = tuple(bare(name.replace("_", " ")).split())
    if bare(name).startswith("ph ") and (salt := found_in(words, "extractant")[0]):
        return (say("names.ph_in_salt", name=salt[0].name),)
    meant = [*fields_meant(name)]
    if plain(name):
        meant.append(Meant(plain(name), ""))
    for group, place in ((known, ""), (within, "ions")):
        for each in meant:
            if each.field in group:
                return _told(each, place)
    for each in meant:
        if not each.field:
            return (say("problem.not_accepted", why=say(f"names.{each.form}")),)
        if elsewhere := places.get(each.field):
            return _told(each, elsewhere)
    near = nearest(name, known)
    return _told(Meant(near, ""), "") if near else ()


def _told(meant: Meant, place: str) -> tuple[Message, ...]:
    if place == AT_THE_TOP:
        return (say("problem.stands_at_the_top", field=meant.field),)
    beside = [say("problem.stands_elsewhere", place=place)] if place else []
    ion = reported_ions().get(meant.field)
    if ion and meant.form not in ("", ion.reported_as):
        told = {"field": meant.field, "own": ion.reported_as, "form": meant.form}
        return say("problem.write_in_form", **told), *beside
    return say("problem.did_you_mean", field=meant.field), *beside
