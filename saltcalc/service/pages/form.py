"""The form: its entries by the JSON pointers of the request, and the request that it comes to."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache
from typing import Any, NamedTuple

from saltcalc.case.vocabulary import MEANS, SALT_PROFILES, STAGES, WETTING_AGENTS
from saltcalc.data.extraction import extraction_methods
from saltcalc.data.observations import PLACES, observations
from saltcalc.data.reported_ions import other_forms, reported_ions
from saltcalc.data.substrates import substrates
from saltcalc.service.body import DEEPEST
from saltcalc.words.catalogue import sentence, words
from saltcalc.words.figures import upper_first
from saltcalc.words.reader import Reader, reader
from saltcalc.words.unit_systems import unit_in

Typed = dict[str, list[str]]
"""What was typed or ticked, by the name of the entry."""

UNIT = "@unit"
"""Ends the name of the choice of a unit, which is beside its figure."""

EC_UNITS = ("mS/cm", "µS/cm", "dS/m", "ppm500", "ppm640", "ppm700")
TEMPERATURE_UNITS = ("°C", "°F")
VOLUME_UNITS = ("L", "mL", "gal")
LENGTH_UNITS = ("cm", "in", "mm")
_ALKALINITY = ("mg/L CaCO3", "mg/L HCO3", "mmol/L", "meq/L")
_CONCENTRATIONS = ("mg/L", "mmol/L", "meq/L")

MORE_CROPS, MORE_CONTAINERS = 3, 2

_SEVERAL = frozenset({"observations", "not_seen", "thriving_crops"})
_BARE = re.compile(r"[<>≤≥~≈±+\-–.,'\d½¼¾]+")
"""The last word of a figure that has no unit behind it."""

_RECOGNISED = {"drained": "pour_through", "pressed": "press", "sensor": "pore_water_sensor"}
_MIXED = {
    "glistens": "saturated_media_extract",
    "glistens_soil": "saturated_paste",
    "1.5": "one_to_one_and_half",
    "2": "one_to_two",
    "5": "one_to_five",
}
_CHOICES_BESIDES = {"salt_profile": SALT_PROFILES, "wetting_agent": WETTING_AGENTS}
_UNITS_BESIDES = {"sink_time": ("s", "min")}
"""Of what the form has no room for, by the last step of its pointer."""

HOW = (*_RECOGNISED, "mixed")
PARTS = tuple(_MIXED)
MEASURED_BY = ("volume", "weight")


_FIGURES = {
    "ec",
    "ph",
    "mineral_n",
    "temperature",
    "height",
    "count",
    "from_week",
    "weeks",
    "plants",
}


class Entry(NamedTuple):
    """One entry of the form.

    ``name`` is the pointer of what it fills in the request. ``choices`` are values with their
    words; ``units`` are those that a figure can take.
    """

    name: str
    label: str
    choices: tuple[tuple[str, str], ...] = ()
    units: tuple[str, ...] = ()
    several: bool = False
    hint: str = ""

    @property
    def id(self) -> str:
        """What the page knows it by."""
        return self.name.strip("/").replace("/", "-")

    @property
    def is_day(self) -> bool:
        """Whether the browser's own calendar fills it, in the way of its language."""
        return self.name == "/sampled_on"

    @property
    def is_figure(self) -> bool:
        """Whether a telephone shows its keys for figures; a volume may also be a size of trade."""
        return "/ions/" in self.name or self.name.rpartition("/")[2] in _FIGURES


def usual(units: tuple[str, ...]) -> tuple[str, ...]:
    """Return units with that of the reader before the others."""
    own = unit_in(units[0], reader().units)
    return (own, *(each for each in units if each != own))


def label_of(name: str) -> str:
    """Return the label of an entry."""
    return sentence(f"page.label.{name}")


def chosen_of(kind: str, ids: Iterable[str]) -> tuple[tuple[str, str], ...]:
    """Return the choices of an entry with their words."""
    return tuple((each, sentence(f"page.{kind}.{each}")) for each in ids)


def entries() -> dict[str, tuple[Entry, ...]]:
    """Return the entries of the form by the part of it that they stand in."""
    return _entries(reader())


@cache
def _entries(_reader: Reader) -> dict[str, tuple[Entry, ...]]:
    methods = [
        (each.id, sentence(f"extraction_methods.name.{each.id}")) for each in extraction_methods()
    ]
    return {
        "method": (
            Entry(
                "/medium/extraction", label_of("extraction"), (("", label_of("unknown")), *methods)
            ),
        ),
        "recognise": (
            Entry("how", label_of("how"), (("", "–"), *chosen_of("how", HOW))),
            Entry("parts", label_of("parts"), (("", "–"), *chosen_of("parts", PARTS))),
            Entry("by", label_of("by"), (("", "–"), *chosen_of("by", MEASURED_BY))),
        ),
        "reading": (
            Entry("/medium/ec", label_of("ec"), units=EC_UNITS, hint=sentence("page.hint.ec")),
        ),
        "crop": tuple(_crop(0)),
        "container": tuple(_container(0)),
        "laboratory": (
            Entry("/medium/ph", label_of("ph")),
            Entry("/medium/temperature", label_of("temperature"), units=usual(TEMPERATURE_UNITS)),
            _alkalinity("/medium"),
            *_ions("/medium"),
        ),
        "mix": (Entry("/medium/substrate", label_of("substrate"), _media()),),
        "water": (
            Entry("/water/ec", label_of("ec"), units=EC_UNITS),
            Entry("/water/ph", label_of("ph")),
            _alkalinity("/water"),
            *_ions("/water"),
        ),
        **{
            place: (Entry("/observations", label_of(place), _signs(place), several=True),)
            for place in PLACES
        },
        **{f"crop {place}": tuple(_crop(place)) for place in range(1, MORE_CROPS)},
        "thriving": (
            Entry("/thriving_crops", label_of("thriving"), hint=sentence("page.hint.thriving")),
        ),
        "container 0": tuple(_filled(0)),
        **{
            f"container {place}": (*_container(place), *_filled(place))
            for place in range(1, MORE_CONTAINERS)
        },
        "means": (
            Entry("/means/by", label_of("means"), (("", "–"), *chosen_of("means", MEANS))),
            Entry(
                "/root_zone_temperature",
                label_of("root_zone_temperature"),
                units=usual(TEMPERATURE_UNITS),
            ),
            Entry("/return_tank", label_of("return_tank"), units=usual(VOLUME_UNITS)),
            Entry("/sample_id", label_of("sample")),
            Entry("/sampled_on", label_of("sampled_on")),
        ),
    }


def entry_besides(name: str) -> Entry:
    """Return the entry of what the form has no room for: its label in words, and its choices."""
    step = next((each for each in reversed(name.split("/")) if not is_place(each)), "")
    label = step.replace("_", " ")
    for known in ("assumed", "reported_ions.name", "page.label"):
        label = words().named(f"{known}.{step}", label)
    choices = _CHOICES_BESIDES.get(step, ())
    told = tuple((each, upper_first(sentence(f"{step}.{each}"))) for each in choices)
    return Entry(name, upper_first(label), told, _UNITS_BESIDES.get(step, ()))


def crop_entry(place: int, label: str) -> Entry:
    """Return the entry of a crop; the first has the hint."""
    return Entry(f"/crops/{place}/crop", label, hint="" if place else sentence("page.hint.crop"))


def _crop(place: int) -> Iterator[Entry]:
    yield crop_entry(place, label_of("crop"))
    yield Entry(
        f"/crops/{place}/stage", label_of("stage"), (("", "–"), *chosen_of("stage", STAGES))
    )


def _container(place: int) -> Iterator[Entry]:
    at = f"/containers/{place}"
    hint = sentence("page.hint.volume") if place else ""
    yield Entry(f"{at}/volume", label_of("volume"), units=usual(VOLUME_UNITS), hint=hint)
    drains = (("", "–"), *chosen_of("drainage", ("open", "sealed")))
    yield Entry(f"{at}/drainage", label_of("drainage"), drains)


def _filled(place: int) -> Iterator[Entry]:
    at = f"/containers/{place}"
    yield Entry(f"{at}/height", label_of("height"), units=usual(LENGTH_UNITS))
    yield Entry(f"{at}/count", label_of("count"))
    yield Entry(f"{at}/name", label_of("name"))


def _alkalinity(owner: str) -> Entry:
    return Entry(f"{owner}/alkalinity", label_of("alkalinity"), units=_ALKALINITY)


def _ions(owner: str) -> Iterator[Entry]:
    for ion in reported_ions().values():
        own = "" if ion.reported_as == ion.id else f" {ion.reported_as}"
        forms = [f"mg/L {form}" for form in other_forms().get(ion.id, {})]
        name = upper_first(sentence(f"reported_ions.name.{ion.id}"))
        units = (f"mg/L{own}", *forms, *_CONCENTRATIONS[1:])
        yield Entry(f"{owner}/ions/{ion.id}", name, units=units)


def _media() -> tuple[tuple[str, str], ...]:
    return (
        ("", label_of("unknown")),
        *((each, sentence(f"substrates.name.{each}")) for each in substrates()),
    )


def _signs(place: str) -> tuple[tuple[str, str], ...]:
    return tuple(
        (sign.id, sentence(f"observations.name.{sign.id}"))
        for sign in observations().values()
        if sign.place == place
    )


def method_by_answers(typed: Typed) -> str:
    """Return the method that the three questions come to, or nothing."""
    how, parts, by = (first_of(typed, name) for name in ("how", "parts", "by"))
    if how != "mixed":
        return _RECOGNISED.get(how, "")
    if by == "weight" and parts in ("1.5", "2", "5"):
        return f"1:{parts} w/w"
    return _MIXED.get(parts, "")


def method_title(method: str) -> str:
    """Return what a method is called; one that no table has, as it is."""
    return words().named(f"extraction_methods.name.{method}", method)


def two_methods(typed: Typed) -> tuple[str, str] | None:
    """Return the method that was chosen and the one that the questions come to, if they differ."""
    chosen, meant = first_of(typed, "/medium/extraction"), method_by_answers(typed)
    return (chosen, meant) if chosen and meant and chosen != meant else None


def first_of(typed: Typed, name: str) -> str:
    """Return what was typed first into an entry, or nothing."""
    return next((each.strip() for each in typed.get(name, ()) if each.strip()), "")


def with_unit(text: str, unit: str) -> str:
    """Return a figure with the unit that is beside it, unless it has one."""
    bare = unit and _BARE.fullmatch(text.rsplit(maxsplit=1)[-1])
    return f"{text} {unit}" if bare else text


def request_of(typed: Typed) -> tuple[dict[str, Any], dict[str, str]]:
    """Return the request that was typed, and where its lists stand in the form.

    Parameters
    ----------
    typed : dict of str to list of str
        What was typed, by the names of the entries.

    Returns
    -------
    request : dict
        As it would be posted to the interface.
    places : dict of str to str
        Beginnings of pointers in the request that stand elsewhere in the form, each with where.

    Examples
    --------
    >>> request_of({"/medium/ec": ["1,8"], "/medium/ec@unit": ["mS/cm"]})[0]
    {'medium': {'ec': '1,8 mS/cm'}}
    """
    given = {
        name: texts
        for name, values in typed.items()
        if name.startswith("/")
        and not name.endswith(UNIT)
        and (texts := [each.strip() for each in values if each.strip()])
    }
    if "/medium/extraction" not in given and (method := method_by_answers(typed)):
        given["/medium/extraction"] = [method]
    request, places = nested(
        (name, several_of(texts) if _is_several(name) else with_unit(texts[-1], unit))
        for name, texts in given.items()
        for unit in (first_of(typed, name + UNIT),)
    )
    language = typed.get("language", [""])[-1]
    return {"medium": {}, **({"language": language} if language else {}), **request}, places


def _is_several(name: str) -> bool:
    return name.rpartition("/")[2] in _SEVERAL


def several_of(texts: Sequence[str]) -> list[str]:
    """Return what was ticked, or typed in one line with commas or semicolons between."""
    written = texts if len(texts) > 1 else re.split(r"\s*[;,]\s*", texts[0])
    return [each for each in written if each]


def is_place(step: str) -> bool:
    """Tell whether a step of a pointer, or what an entry holds, can be a place in a list."""
    return step.isascii() and step.isdecimal() and len(step) < 5


def nested(given: Iterable[tuple[str, Any]]) -> tuple[dict[str, Any], dict[str, str]]:
    """Return the object of values by their JSON pointers, and where members of its lists were.

    Parameters
    ----------
    given : iterable of (str, object)
        A list may lack members: those that are there move up.

    Returns
    -------
    made : dict
    places : dict of str to str
        Beginnings of pointers into it, each with how it began before; the longest first.

    Examples
    --------
    >>> nested([("/crops/2/crop", "bean")])
    ({'crops': [{'crop': 'bean'}]}, {'/crops/0': '/crops/2'})
    """
    tree: dict[str, Any] = {}
    for name, value in given:
        steps = name.strip("/").split("/")
        *above, last = steps if len(steps) <= DEEPEST else [name]
        node: Any = tree
        for step in above:
            node = node.setdefault(step, {})
            if not isinstance(node, dict):
                break
        else:
            node[last] = value
    places: dict[str, str] = {}

    def listed(node: Any, now: str, before: str) -> Any:
        if not isinstance(node, dict):
            return node
        if node and all(map(is_place, node)):
            steps = sorted(node, key=int)
            return [
                listed(node[step], f"{now}/{place}", f"{before}/{step}")
                for place, step in enumerate(steps)
                if places.setdefault(f"{now}/{place}", f"{before}/{step}")
            ]
        return {
            step: listed(each, f"{now}/{step}", f"{before}/{step}") for step, each in node.items()
        }

    made = listed(tree, "", "")
    return made, dict(sorted(places.items(), key=lambda each: -len(each[0])))


def typed_of(request: Mapping[str, Any]) -> Typed:
    """Return how the form reads that would make a request."""
    typed: Typed = {}
    units = {each.name: each.units for each in all_entries()}
    for name, text in by_pointer(request):
        figure, _, unit = text.partition(" ")
        offered = units.get(name, ())
        # A form that is not told is the one that the entry begins with: mg/L is mg/L of it.
        own = next((each for each in offered[:1] if each.partition(" ")[0] == unit), unit)
        apart = bool(unit) and own in offered
        if apart:
            typed[name + UNIT] = [own]
        typed.setdefault(name, []).append(figure if apart else text)
    return typed


def by_pointer(value: Any, name: str = "") -> Iterator[tuple[str, str]]:
    """Yield what a request holds as text, by its pointer; what may be several by one."""
    if isinstance(value, Mapping) and "value" in value:
        value = f"{value['value']} {value.get('unit', '')}".strip()
    if isinstance(value, Mapping):
        for key, each in value.items():
            yield from by_pointer(each, f"{name}/{key}")
    elif isinstance(value, list):
        for place, each in enumerate(value):
            yield from by_pointer(each, name if _is_several(name) else f"{name}/{place}")
    elif value is not None:
        yield name, str(value)


def all_entries() -> Iterator[Entry]:
    """Yield every entry of the form."""
    for part in entries().values():
        yield from part
