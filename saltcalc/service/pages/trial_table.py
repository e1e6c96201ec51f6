"""A table of media, as a spreadsheet saves it, as entries of the form of a trial."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from werkzeug.exceptions import HTTPException

from saltcalc.service.pages.form import Typed, by_pointer
from saltcalc.service.table_rows import records_in, table_in
from saltcalc.words.catalogue import sentence

_OUTCOME = re.compile(r"\s*outcome\s*:?\s*(?P<crop>\S.*?)\s*", re.IGNORECASE)
_SHARED = ("/containers/", "/water/", "/crops/")
_MARKS = (";", "\t", ",")


class Filled(NamedTuple):
    """Entries that a table fills, and what of it found no place."""

    typed: Typed
    left: list[str]


def filled_by(text: str, most_crops: int, most_media: int) -> Filled:
    """Return the entries that a table fills: a row a medium, a column ``outcome: <crop>`` a crop.

    Parameters
    ----------
    text : str
        Its other headings are those of a batch of samples.
    most_crops, most_media : int
        For which the form has room.
    """
    lines = [line for line in text.lstrip("\ufeff").splitlines() if line.strip()]
    if not lines:
        return Filled({}, [])
    mark = max(_MARKS, key=lines[0].count)
    try:
        heads, *rows = (cells for _, cells in records_in(map("{}\n".format, lines), mark))
    except HTTPException as error:
        return Filled({}, [str(error.description)])
    crops = {
        place: found["crop"]
        for place, head in enumerate(heads)
        if (found := _OUTCOME.fullmatch(head))
    }
    names = list(dict.fromkeys(crops.values()))
    typed: Typed = {f"/crops/{place}/crop": [name] for place, name in enumerate(names[:most_crops])}
    left = [sentence("page.trial.no_room", what=name) for name in names[most_crops:]]
    others = [
        [cell for place, cell in enumerate(row) if place not in crops] for row in (heads, *rows)
    ]
    written = io.StringIO()
    csv.writer(written, delimiter=mark).writerows(others)
    try:
        read = list(table_in(line.encode() for line in written.getvalue().splitlines()).rows)
    except HTTPException as error:
        return Filled({}, [str(error.description)])
    for place, row in enumerate(read):
        cells = rows[row.number - 2]
        if place >= most_media:
            left.append(sentence("page.trial.no_room", what=cells[0]))
            continue
        if row.fault is not None:
            left.append(str(row.fault.description))
        for name, value in _entries(row.request, f"/media/{place}"):
            before = typed.setdefault(name, [])
            if not (before and name.startswith(_SHARED)):
                before.append(value)
            elif value not in before:
                left.append(sentence("page.trial.no_room", what=f"{cells[0]}: {value}"))
        for at, crop in crops.items():
            if crop in names[:most_crops] and at < len(cells) and cells[at].strip():
                fared = f"/media/{place}/outcomes/{names.index(crop)}/outcome"
                typed[fared] = [cells[at].strip().lower()]
    typed["media"] = [str(min(max(len(read), 2), most_media))]
    return Filled(typed, left)


def _entries(request: Mapping[str, Any], at: str) -> Iterator[tuple[str, str]]:
    """Yield the entries of one medium; what all of them share is apart."""
    for name, text in by_pointer(request):
        if name == "/sample_id":
            yield f"{at}/name", text
        else:
            yield name if name.startswith(_SHARED) else at + name, text
