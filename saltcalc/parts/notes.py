"""What an answer says beside its figures: findings, assumptions, gaps and sources."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import cache
from typing import Any, ClassVar, Literal, Protocol, TypeVar

from saltcalc.data.sources import Source, bibliography
from saltcalc.data.tables import weakest
from saltcalc.message import Message, say
from saltcalc.parts.shown import Joined, Text, note_of, part, shown

Severity = Literal["note", "caution", "stop"]

SEVERITIES = ("note", "caution", "stop")
JUDGEMENT = "judgement"
"""Key of the source that stands for our own judgement."""

SOURCE_KINDS = ("published", "common_practice", "judgement", "computed", "local")

FINDINGS = (
    "adjusted_sar_outside_table",
    "calcium_before_flush",
    "capacity_above_porosity",
    "charges_do_not_balance",
    "class_by_converted_reading",
    "coir_holds_sodium",
    "collect_drainage",
    "crop_fails",
    "crop_not_in_tables",
    "crop_verdict_uncertain",
    "drainage_weaker_than_water",
    "drained_more_than_applied",
    "ec_is_lower_bound",
    "ec_is_estimated",
    "ec_of_zero",
    "esp_is_indicative",
    "flush_does_not_cure",
    "flush_goes_by_ec",
    "flush_had_no_effect",
    "flush_with_weak_feed",
    "gypsum_plateau",
    "gypsum_tolerance_shift",
    "infiltration_hazard",
    "ions_beyond_range",
    "leaching_requirement_out_of_range",
    "many_passes",
    "method_decides",
    "method_not_given",
    "more_collected_than_applied",
    "nitrate_in_drainage",
    "nitrogen_form_decides",
    "no_flush_needed",
    "opposites_not_seen",
    "over_practical_ceiling",
    "range_decides",
    "reading_below_ions",
    "reading_too_cold_or_hot",
    "report_contradicts",
    "readings_above_medium",
    "readings_below_water",
    "readings_efficiency_at_edge",
    "readings_fed",
    "readings_first_drainage_low",
    "readings_outlier",
    "readings_slip_of_ten",
    "readings_too_soon",
    "readings_unlike_medium",
    "readings_unmoved",
    "reporting_slip",
    "salt_builds_up",
    "salt_builds_up_unless_taken_up",
    "retest_by_other_method",
    "retest_differs_much",
    "returned_drainage_too_salty",
    "salt_is_unlikely",
    "salt_refills",
    "sealed_container",
    "seedlings_in_the_flush",
    "signs_exclude_each_other",
    "sodic_medium",
    "solids_do_not_fit_ec",
    "substrate_trials_lower",
    "target_below_water",
    "too_many_passes",
    "unmeasured_salts",
    "unusual_ec",
    "unusual_height",
    "unusual_ph",
    "unusual_volume",
    "unusual_water_ec",
    "unusually_low_ec",
    "water_burns_leaves",
    "water_cannot_hold_limit",
    "water_exceeds_crop",
    "water_ion_exceeds_crop",
    "water_ion_too_much",
    "water_near_target",
    "water_too_saline",
    "wet_before_flushing",
)
"""Ids of what the reader must know."""


@part
class Range:
    """A range; null where it is open."""

    low: float | None = shown("Left out where it is open.", optional=True)
    high: float | None = shown("Left out where it is open.", optional=True)
    unit: str = shown("'1' for a pure number.")


@part
class Finding:
    """What the reader must know before acting."""

    shown_as: ClassVar[str] = "Warning"

    id: str = shown("Stable id.", choices=FINDINGS)
    severity: str = shown(choices=SEVERITIES)
    sentence: Text = shown()
    field: str = shown("Pointer to the field, or path of the figure, that caused it.")


@part
class Assumption:
    """A default that entered the answer."""

    id: str = shown()
    value: Any = shown("A quantity, a number or an id.")
    reason: Text = shown()
    field: str = shown(
        "Pointer to the field that overrides it; left out where none does.", optional=True
    )
    more_fields: list[str] = shown(
        "Pointers to further fields that have the same default.", optional=True
    )
    every_medium: bool | None = shown(
        "True where the pointer to the field of the first medium stands for that of each.",
        optional=True,
    )
    sources: list[str] = shown(
        "Keys into the answer's `sources`; left out where it is our judgement.", optional=True
    )


@part
class NotComputed:
    """A part that could not be computed."""

    part: str = shown("Path of the part in the answer.")
    missing: list[str] = shown("Pointers to the fields that would allow it.")
    sentence: Text = shown()
    every_medium: bool | None = shown(
        "True where the pointers to the fields of the first medium stand for those of each.",
        optional=True,
    )


@part
class CitedSource:
    """A source."""

    shown_as: ClassVar[str] = "Source"

    citation: str = shown()
    kind: str = shown("local is the grower's own.", choices=SOURCE_KINDS)
    note: Message | str = shown()


@part
class Closing:
    """What every answer ends with."""

    warnings: list[Finding] = shown()
    assumptions: list[Assumption] = shown()
    not_computed: list[NotComputed] = shown()
    sources: dict[str, CitedSource] = shown()


class Known(Protocol):
    """A row of a table, or what was made of some: its source, and how its figures are known."""

    @property
    def source(self) -> str:
        """Key of the source."""

    @property
    def provenance(self) -> str:
        """One of `saltcalc.data.tables.PROVENANCES`."""


Record = TypeVar("Record", Finding, Assumption, NotComputed)


class Notes:
    """Collects the records of one answer; each record once, in the order of their coming."""

    def __init__(self, local_sources: Mapping[str, Source] | None = None) -> None:
        """Start an answer.

        Parameters
        ----------
        local_sources : mapping of str to Source, optional
            Sources beside the bibliography, by key.
        """
        self._local = local_sources or {}
        self._known = {**bibliography(), **self._local} if self._local else bibliography()
        self.warnings: list[Finding] = []
        self.assumptions: list[Assumption] = []
        self.not_computed: list[NotComputed] = []
        self._cited: set[str] = set()

    def find(self, finding: str, severity: Severity, field: str, /, **told: Any) -> None:
        """Add a finding; its sentence is the message ``finding.<id>``.

        Parameters
        ----------
        finding : str
            Its stable id.
        severity : {"note", "caution", "stop"}
            How much it matters.
        field : str
            Pointer to the field, or path of the figure, that caused it.
        **told
            The figures, names and messages that its sentence tells.
        """
        self.warn(finding, severity, say(f"finding.{finding}", **told), field)

    def warn(self, finding: str, severity: Severity, sentence: Any, field: str) -> None:
        """Add a finding with a sentence of its own."""
        if finding not in FINDINGS:
            raise KeyError(f"no such finding: {finding}")
        _once(self.warnings, Finding(finding, severity, sentence, field))

    def assume(self, assumption: str, value: Any, reason: Any, field: str, *sources: str) -> None:
        """Add an assumption: the value used, why, and the field that overrides it."""
        cited = self.cite(*sources)
        told = [] if cited == [JUDGEMENT] else cited
        self._assume(Assumption(assumption, value, reason, field, [], None, told))

    def _assume(self, record: Assumption) -> None:
        """Add an assumption, or its fields to those of the same one."""
        named = [each.id for each in self.assumptions]
        alike = [place for place, name in enumerate(named) if name == record.id]
        for place in alike:
            known = self.assumptions[place]
            if replace(known, field=record.field, more_fields=record.more_fields) == record:
                fields = dict.fromkeys(
                    (known.field, *known.more_fields, record.field, *record.more_fields)
                )
                first, *more = fields
                self.assumptions[place] = replace(known, field=first, more_fields=more)
                return
        self.assumptions.append(record)

    def miss(self, path: str, missing: list[str], sentence: Any) -> None:
        """Say that a part could not be computed, and which inputs would allow it."""
        _once(self.not_computed, NotComputed(path, missing, sentence, None))

    def _miss(self, gap: NotComputed) -> None:
        """Add a gap, or what it misses to the same gap of another medium."""
        for place, known in enumerate(self.not_computed):
            if replace(known, missing=gap.missing) == gap:
                missing = list(dict.fromkeys((*known.missing, *gap.missing)))
                self.not_computed[place] = replace(known, missing=missing)
                return
        self.not_computed.append(gap)

    def missing(self, path: str, /, *fields: str, **told: Any) -> None:
        """Say that a part could not be computed; its sentence is ``missing.<path>``.

        Parameters
        ----------
        path : str
            Of the part in the answer.
        *fields : str
            Pointers to the inputs that would allow it.
        **told
            The figures and names that its sentence tells.
        """
        self.miss(path, list(fields), say(f"missing.{path}", **told))

    def merge(self, other: Notes, moved: Mapping[str, str], *, together: bool = False) -> None:
        """Take over the records of another answer that is inside this one.

        Parameters
        ----------
        other : Notes
            Of the inner answer.
        moved : mapping of str to str
            Where parts of the inner request stand in the outer one, by their pointers.
        together : bool, optional
            Whether what several such answers assume and miss alike is told once.
        """

        def pointer(inner: str) -> str:
            for known, place in moved.items():
                if inner == known or inner.startswith(f"{known}/"):
                    return place + inner.removeprefix(known)
            return inner

        for warning in other.warnings:
            _once(self.warnings, replace(warning, field=pointer(warning.field)))
        for assumption in other.assumptions:
            field, more = (
                pointer(assumption.field),
                [pointer(each) for each in assumption.more_fields],
            )
            record = replace(assumption, field=field, more_fields=more)
            if together:
                self._assume(record)
            else:
                _once(self.assumptions, record)
        for gap in other.not_computed:
            missed = replace(gap, missing=[pointer(each) for each in gap.missing])
            if together:
                self._miss(missed)
            else:
                _once(self.not_computed, missed)
        self._cited |= other._cited

    def tell_once(self, part: str, count: int) -> None:
        """Tell what is assumed or missed of every one of some inner requests by its first pointer.

        Parameters
        ----------
        part : str
            Of the request that holds them, as ``/media``.
        count : int
            How many there are.
        """
        for place, known in enumerate(self.assumptions):
            fields, together = _of_first((known.field, *known.more_fields), part, count)
            if together:
                self.assumptions[place] = replace(
                    known, field=fields[0], more_fields=fields[1:], every_medium=True
                )
        for place, gap in enumerate(self.not_computed):
            fields, together = _of_first(gap.missing, part, count)
            if together:
                self.not_computed[place] = replace(gap, missing=fields, every_medium=True)

    def cite(self, *keys: str) -> list[str]:
        """Note the sources used and return their keys, each once."""
        cited = dict.fromkeys(keys)
        if not cited.keys() <= self._known.keys():
            raise KeyError(f"no such source: {sorted(cited.keys() - self._known.keys())}")
        self._cited.update(cited)
        return list(cited)

    def rest_on(self, *rows: Known, also: Iterable[str] = ()) -> dict[str, Any]:
        """Note the sources of rows; return their keys, and how well the rows are known.

        Parameters
        ----------
        *rows : object
            That the figures of a part are taken from.
        also : iterable of str
            Keys of sources beside them, such as that of an equation.
        """
        return {
            "sources": self.cite(*(row.source for row in rows), *also),
            "provenance": weakest(row.provenance for row in rows),
        }

    @property
    def sources(self) -> dict[str, CitedSource]:
        """Every source cited, by key, in alphabetical order."""
        published, own = _published(), self._local
        return {
            key: _as_cited(own[key]) if key in own else published[key]
            for key in sorted(self._cited)
        }

    def closing(self) -> Closing:
        """Return what every answer ends with."""
        return Closing(self.warnings, self.assumptions, self.not_computed, self.sources)

    def close(self, answer: Any) -> Joined:
        """Return an answer of one part, with what every answer ends with."""
        return Joined((self.closing(), answer))


def _as_cited(source: Source) -> CitedSource:
    return CitedSource(source.citation, source.kind, note_of("sources", source))


@cache
def _published() -> dict[str, CitedSource]:
    """Return the sources of the bibliography as they are cited, by key."""
    return {key: _as_cited(each) for key, each in bibliography().items()}


def _once(records: list[Record], record: Record) -> None:
    if record not in records:
        records.append(record)


def _of_first(fields: Iterable[str], part: str, count: int) -> tuple[list[str], bool]:
    """Return the pointers to the first of some inner requests, and whether each has the same."""
    own = list(fields)
    first = [each for each in own if each.startswith(f"{part}/0/")]
    each_has = {
        each.replace(f"{part}/0/", f"{part}/{place}/", 1)
        for each in first
        for place in range(count)
    }
    others = [each for each in own if not each.startswith(f"{part}/")]
    return [*first, *others], count > 1 and bool(first) and {*own} == {*each_has, *others}
