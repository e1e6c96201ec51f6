"""What an answer owes its reader: warnings, assumptions, gaps and sources, gathered as it grows."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal

from saltcalc.answer.quantities import Json
from saltcalc.data.sources import Source, bibliography

Severity = Literal["note", "caution", "stop"]


class Ledger:
    """Collects the records of one answer; each record once, in the order of their coming."""

    def __init__(self, local_sources: Mapping[str, Source] | None = None) -> None:
        """Start an answer.

        Parameters
        ----------
        local_sources : mapping of str to Source, optional
            Sources beside the bibliography, by key.
        """
        self._known = {**bibliography(), **(local_sources or {})}
        self.warnings: list[Json] = []
        self.assumptions: list[Json] = []
        self.not_computed: list[Json] = []
        self._sources: dict[str, Json] = {}

    def warn(self, warning: str, severity: Severity, sentence: str, cause: str) -> None:
        """Add a warning.

        Parameters
        ----------
        warning : str
            Its stable kebab-case id.
        severity : {"note", "caution", "stop"}
            How much it matters.
        sentence : str
            What a grower must know.
        cause : str
            Pointer to the field, or path of the figure, that caused it.
        """
        record = {"id": warning, "severity": severity, "sentence": sentence, "cause": cause}
        self._once(self.warnings, record)

    def assume(self, assumption: str, value: Any, reason: str, field: str, *sources: str) -> None:
        """Add an assumption: the value used, why, and the field that overrides it."""
        record = {
            "id": assumption,
            "value": value,
            "reason": reason,
            "field": field,
            "sources": self.cite(*sources),
        }
        self._once(self.assumptions, record)

    def miss(self, part: str, missing: list[str], sentence: str) -> None:
        """Say that a part could not be computed, and which inputs would allow it."""
        record = {"part": part, "missing": missing, "sentence": sentence}
        self._once(self.not_computed, record)

    def adopt(self, other: Ledger, moved: Mapping[str, str]) -> None:
        """Take over the records of another answer that stands inside this one.

        Parameters
        ----------
        other : Ledger
            Of the inner answer.
        moved : mapping of str to str
            Where parts of the inner request stand in the outer one, by their pointers.
        """

        def pointer(inner: str) -> str:
            for part, place in moved.items():
                if inner == part or inner.startswith(f"{part}/"):
                    return place + inner.removeprefix(part)
            return inner

        for record in other.warnings:
            self._once(self.warnings, record | {"cause": pointer(record["cause"])})
        for record in other.assumptions:
            self._once(self.assumptions, record | {"field": pointer(record["field"])})
        for record in other.not_computed:
            missing = [pointer(each) for each in record["missing"]]
            self._once(self.not_computed, record | {"missing": missing})
        self._sources |= other._sources

    @staticmethod
    def _once(records: list[Json], record: Json) -> None:
        if record not in records:
            records.append(record)

    def cite(self, *keys: str) -> list[str]:
        """Note the sources used and return their keys, each once."""
        for key in keys:
            source = self._known[key]
            self._sources[key] = {
                "citation": source.citation,
                "kind": source.kind,
                "note": source.note,
            }
        return list(dict.fromkeys(keys))

    @property
    def sources(self) -> dict[str, Json]:
        """Every source cited, by key, in alphabetical order."""
        return dict(sorted(self._sources.items()))

    def closing(self) -> Json:
        """Return the parts that every answer ends with."""
        return {
            "warnings": self.warnings,
            "assumptions": self.assumptions,
            "not_computed": self.not_computed,
            "sources": self.sources,
        }
