"""Diagnoses of published and invented cases by the service, against the cause that is known.

Run ``python -m benchmarks.diagnosis``. The cases stand in ``tests/published/media_cases.csv``
(published) and ``tests/published/invented_media_cases.csv`` (invented). Each goes through the
service; a case with figures and signs goes three times: whole, with its figures alone, and with
its signs alone. A healthy medium is to get no supported cause; a sick one is to get the expected
cause first, where at most two causes may share the first place and a second cause that the
source names counts too.

``request_of`` and ``causes_in_order`` are all that knows the form of a request and of an answer.
"""

from __future__ import annotations

import csv
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from saltcalc.service.app import create_app
from saltcalc.service.config import read_settings

ROOM = Path(__file__).parents[1] / "tests" / "published"
FILES = {"published": ROOM / "media_cases.csv", "invented": ROOM / "invented_media_cases.csv"}

WHOLE, FIGURES, SIGNS = "figures and signs", "figures alone", "signs alone"
MOST_THAT_SHARE_THE_FIRST_PLACE = 2
TOP = 3
FULL_REPORT = 4
"""Figures from which on a healthy medium is a fair test of judgement."""

IONS = (
    "nitrate_n",
    "ammonium_n",
    "phosphorus",
    "potassium",
    "calcium",
    "magnesium",
    "sodium",
    "chloride",
    "sulfate_s",
    "boron",
)
ELEMENTS = ("iron", "manganese", "zinc", "copper")
WATER_IONS = ("sodium", "calcium", "chloride", "boron")
MEDIUM_COLUMNS = ("ec_dS_m", "ph", *(f"{name}_mg_L" for name in IONS + ELEMENTS))
FIGURE_COLUMNS = (
    *MEDIUM_COLUMNS,
    "water_ec_dS_m",
    "water_alkalinity_mg_CaCO3_L",
    *(f"water_{name}_mg_L" for name in WATER_IONS),
    "root_temperature_C",
)


@dataclass(frozen=True)
class Case:
    """A case as its file has it, and which of the two files that is."""

    collection: str
    given: Mapping[str, str]

    @property
    def id(self) -> str:
        return self.given["id"]

    @property
    def kind(self) -> str:
        return self.given["kind"]

    @property
    def figures(self) -> tuple[str, ...]:
        """Columns of the figures that are given, without the container and the age."""
        return tuple(name for name in FIGURE_COLUMNS if self.given[name])

    @property
    def signs(self) -> tuple[str, ...]:
        return listed(self.given["signs"]) + listed(self.given["not_seen"])

    @property
    def ways(self) -> tuple[str, ...]:
        """The ways in which the case can be sent, the fullest first.

        Figures of the water or of the temperature alone are no figures of a medium, so they are
        not sent without signs.
        """
        of_the_medium = any(self.given[name] for name in MEDIUM_COLUMNS)
        if self.figures and self.signs:
            return (WHOLE, FIGURES, SIGNS) if of_the_medium else (WHOLE, SIGNS)
        return (FIGURES,) if of_the_medium else (SIGNS,)

    @property
    def causes(self) -> frozenset[str]:
        """Causes of which any counts as found."""
        return frozenset(listed(self.given["expected"]) + listed(self.given["cause_also"]))


@dataclass(frozen=True)
class Diagnosis:
    """What came back for a case sent in one way."""

    case: Case
    way: str
    supported: tuple[str, ...]
    ranked: tuple[tuple[str, ...], ...]

    @property
    def first(self) -> bool:
        return bool(self.ranked) and (
            len(self.ranked[0]) <= MOST_THAT_SHARE_THE_FIRST_PLACE
            and bool(self.case.causes & set(self.ranked[0]))
        )

    @property
    def in_top(self) -> bool:
        """Whether the cause is in the top places; a tie counts with all that share it."""
        places = 0
        for group in self.ranked:
            places += len(group)
            if places <= TOP and self.case.causes & set(group):
                return True
        return self.first

    @property
    def beside(self) -> tuple[str, ...]:
        """Supported causes that the case does not have."""
        return tuple(cause for cause in self.supported if cause not in self.case.causes)

    @property
    def right(self) -> bool:
        """A sick medium with its cause first, or another without a supported cause."""
        return self.first if self.case.kind == "sick" else not self.supported


def listed(text: str) -> tuple[str, ...]:
    return tuple(part for part in text.split(";") if part)


def cases() -> Iterator[Case]:
    """Read the cases of both files."""
    for collection, path in FILES.items():
        with path.open(encoding="utf-8", newline="") as file:
            for given in csv.DictReader(file):
                yield Case(collection, given)


def quantities(
    given: Mapping[str, str], form: str, names: Iterable[str], unit: str
) -> dict[str, Any]:
    """Return the figures that a case gives, by name; ``form`` makes a column of a name."""
    return {
        name: {"value": float(given[form.format(name)]), "unit": unit}
        for name in names
        if given[form.format(name)]
    }


def request_of(case: Case, way: str) -> dict[str, Any]:
    """Return the request for an assessment of a case, sent in one way.

    The crop, its stage and age, the container and what the medium is made of are known to anyone
    who stands before the plants, so they go along in every way.
    """
    given = case.given
    medium = {"substrate": given["substrate"]}
    request: dict[str, Any] = {
        "feeding": given["feeding"],
        "crops": [{"crop": given["crop_sent"], "stage": given["stage"]}][
            : bool(given["crop_sent"])
        ],
        "thriving_crops": list(listed(given["thriving_crop"])),
    }
    request |= quantities(given, "{}_days", ["plant_age"], "day")
    volume = quantities(given, "container_{}_L", ["volume"], "L")
    if volume:
        height = quantities(given, "container_{}_cm", ["height"], "cm")
        request["containers"] = [{**volume, **height, "drainage": given["drainage"]}]
    if way != FIGURES:
        request["observations"] = list(listed(given["signs"]))
        request["not_seen"] = list(listed(given["not_seen"]))
    if way != SIGNS:
        medium["extraction"] = given["extraction"]
        medium |= quantities(given, "{}_dS_m", ["ec"], "dS/m")
        medium["ph"] = float(given["ph"]) if given["ph"] else None
        medium["ions"] = quantities(given, "{}_mg_L", IONS, "mg/L")
        medium["micronutrients"] = quantities(given, "{}_mg_L", ELEMENTS, "mg/L")
        water = quantities(given, "water_{}_dS_m", ["ec"], "dS/m")
        water |= quantities(given, "water_{}_mg_CaCO3_L", ["alkalinity"], "mg/L CaCO3")
        water["ions"] = quantities(given, "water_{}_mg_L", WATER_IONS, "mg/L")
        request["water"] = {name: value for name, value in water.items() if value}
        temperature = quantities(given, "{}_temperature_C", ["root"], "degC")
        request["root_zone_temperature"] = temperature.get("root")
    request = {name: value for name, value in request.items() if value}
    return request | {"medium": {name: value for name, value in medium.items() if value}}


def causes_in_order(
    answer: Mapping[str, Any],
) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """Return the supported causes of an answer, and those supported or possible by place.

    A place holds every cause that shares it. A cause that is unlikely, or of which nothing can be
    told, has no place.
    """
    places = defaultdict(list)
    ranked = answer["causes"]["ranked"]
    for cause in ranked:
        if cause["verdict"] in {"supported", "possible"}:
            places[cause["rank"]].append(cause["cause"])
    supported = tuple(cause["cause"] for cause in ranked if cause["verdict"] == "supported")
    return supported, tuple(tuple(places[rank]) for rank in sorted(places))


def diagnose(all_cases: Iterable[Case]) -> list[Diagnosis]:
    """Send each case through the service in each of its ways."""
    client = create_app(read_settings({"SALTCALC_LOG_LEVEL": "WARNING"})).test_client()
    found = []
    for case in all_cases:
        for way in case.ways:
            response = client.post("/v1/assessments?parts=causes", json=request_of(case, way))
            if response.status_code != 200:
                raise ValueError(f"{case.id}, {way}: {response.get_data(as_text=True)}")
            found.append(Diagnosis(case, way, *causes_in_order(response.get_json())))
    return found


def group_of(case: Case) -> str:
    """Return the group of cases that a case is counted with."""
    if case.kind == "sick":
        return f"sick, {case.collection}, {'figures and signs' if len(case.ways) > 1 else 'one'}"
    if case.kind == "vague":
        return "figures explain nothing"
    if case.collection == "invented":
        return "healthy, invented"
    if case.given["tool_source"]:
        return "healthy, a source of the tool's own"
    few = "" if len(case.figures) >= FULL_REPORT else ", few figures"
    return f"healthy, published elsewhere{few}"


def scores(found: Iterable[Diagnosis]) -> list[dict[str, str | int]]:
    """Count, for each group and way of sending, what was right.

    ``right``: a sick medium with its cause first, any other without a supported cause.
    ``in_top``: the cause in the top places. ``beside``: supported causes that no case has.
    """
    groups: dict[tuple[str, str], list[Diagnosis]] = defaultdict(list)
    for one in found:
        groups[group_of(one.case), one.way].append(one)
    return [
        {
            "group": group,
            "way": way,
            "cases": len(ones),
            "right": sum(one.right for one in ones),
            "in_top": sum(one.in_top for one in ones),
            "beside": sum(len(one.beside) for one in ones),
        }
        for (group, way), ones in sorted(groups.items())
    ]


def missed(found: Iterable[Diagnosis]) -> list[Diagnosis]:
    """Return the diagnoses that are wrong although the case was sent in its fullest form."""
    return [one for one in found if not one.right and one.way == one.case.ways[0]]


def what_came_first(one: Diagnosis) -> str:
    if not one.ranked:
        return "nothing supported or possible"
    first = " = ".join(one.ranked[0][:4]) + (" ..." if len(one.ranked[0]) > 4 else "")
    return f"{first} ({'supported' if one.ranked[0][0] in one.supported else 'possible'})"


def main() -> None:
    found = diagnose(cases())
    print(f"{'cases':43}{'sent with':20}{'right':>8}{'top 3':>8}{'beside':>8}")
    for row in scores(found):
        right, top = (f"{row[count]}/{row['cases']}" for count in ("right", "in_top"))
        top = top if str(row["group"]).startswith("sick") else ""
        print(f"{row['group']:43}{row['way']:20}{right:>8}{top:>8}{row['beside']:>8}")
    print(
        "right: the cause first in a sick medium (two at most may share the place), no supported "
        "cause in any other;\nbeside: supported causes that the case does not have"
    )
    print("\nMedia without a fault in their figures that got a supported cause:")
    for one in missed(found):
        if one.case.kind != "sick":
            print(f"  {one.case.id}: {', '.join(one.supported)}")
    print("\nSick media without their cause in the first place:")
    for one in missed(found):
        if one.case.kind == "sick":
            print(f"  {one.case.id}: {one.case.given['expected']}; first {what_came_first(one)}")


if __name__ == "__main__":
    main()
