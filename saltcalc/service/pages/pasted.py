"""A laboratory's report pasted into the form: what it fills in, and what it leaves open."""

from __future__ import annotations

import zlib
from typing import Any

from saltcalc.service.lab_report import LONGEST, read_report
from saltcalc.service.pages.form import UNIT, Typed, all_entries, entry_besides, nested, typed_of
from saltcalc.words.catalogue import sentence

REPORT, READ = "report", "report@read"
"""The entry that a report is pasted into, and the one that says which text was read before."""


def pasted_anew(typed: Typed) -> bool:
    """Tell whether there is a report that was not read yet, or is to be read again."""
    text = _text(typed)
    return bool(text.strip()) and ("read" in typed or typed.get(READ, [""])[-1] != _mark(text))


def with_report(typed: Typed) -> tuple[Typed, dict[str, Any]]:
    """Return what was typed with the fields of the report, and what the page says of its lines.

    A field that was typed already stays as it is.
    """
    text = _text(typed)
    report = read_report(text)
    lines = text.splitlines()
    left = [each._asdict() for each in report.left]
    filled, taken = dict(typed), []
    entries = {each.name: each for each in all_entries()}
    for each in report.taken:
        name, shown = each.pointer, typed_of(nested([(each.pointer, each.value)])[0])
        typed_before = [typed[each][-1] for each in (name, name + UNIT) if typed.get(each)]
        before = " ".join(filter(None, typed_before))
        if before.strip() and typed.get(name, [""])[-1].strip():
            if typed[name] != shown.get(name):
                why = sentence("page.typed_before", value=before)
                left.append({"line": each.line, "text": lines[each.line - 1].strip(), "why": why})
            continue
        filled.update(shown)
        entry = entries.get(name) or entry_besides(name)
        value = dict(entry.choices).get(each.value, each.value)
        taken.append({"line": each.line, "label": entry.label, "value": value})
    if len(text) > LONGEST:
        left.append({"line": len(lines), "text": "", "why": sentence("page.cut", most=LONGEST)})
    filled[READ] = [_mark(text)]
    filled.pop("read", None)
    left.sort(key=lambda each: each["line"])
    return filled, {"taken": taken, "left": left, "asked": report.asked}


def _text(typed: Typed) -> str:
    return typed.get(REPORT, [""])[-1].replace("\r\n", "\n")


def _mark(text: str) -> str:
    return f"{zlib.crc32(text.encode()):08x}"
