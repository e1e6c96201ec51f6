"""The sentences of the catalogues as translators see them, by message id."""

from functools import cache
from pathlib import Path

from babel.messages.pofile import read_po

import saltcalc

CATALOGUES = Path(saltcalc.__file__).parent / "words" / "locale" / "en" / "LC_MESSAGES"


@cache
def sentences():
    """Return every sentence by the id of its message; of a plural, all its forms in one text."""
    found = {}
    for file in sorted(CATALOGUES.glob("*.po")):
        with file.open("rb") as stream:
            for message in read_po(stream, abort_invalid=True):
                if not message.id:
                    continue
                single = isinstance(message.id, str)
                found[message.id if single else message.id[0]] = (
                    message.string if single else "\n".join(message.string)
                )
    return found
