"""A language made of the English one, to see what does not come from the catalogues.

``python -m tests.languages.pseudo saltcalc/words/locale`` lays it beside the others, so that the
service speaks it: every sentence in brackets, a third longer, its placeholders kept.
"""

from __future__ import annotations

import string
import sys
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po, write_po

import saltcalc

LOCALES = Path(saltcalc.__file__).parent / "words" / "locale"
OTHERS = tuple(
    sorted(each.name for each in LOCALES.iterdir() if each.is_dir() and each.name != "en")
)
PSEUDO = "eo"
"""The tag that it goes by: a language whose numbers are not written as the English ones are."""

OPEN, CLOSE = "⟦", "⟧"
_ACCENTS = str.maketrans("aeiouAEIOU", "áéíóúÁÉÍÓÚ")


def _longer(sentence: str) -> str:
    """Return a sentence in brackets, with accents, a third longer."""
    made = []
    for literal, name, form, _ in string.Formatter().parse(sentence):
        made.append(literal.translate(_ACCENTS).replace("{", "{{").replace("}", "}}"))
        if name is not None:
            made.append(f"{{{name}:{form}}}" if form else f"{{{name}}}")
    return f"{OPEN}{''.join(made)}{'~' * (len(sentence) // 3)}{CLOSE}"


def write_pseudo(folder: Path, *, but: str = "") -> None:
    """Write the catalogues of the pseudo-language.

    Parameters
    ----------
    folder : Path
        Of the languages; its own folder is made in it.
    but : str
        The id of a sentence to leave out.
    """
    into = folder / PSEUDO / "LC_MESSAGES"
    into.mkdir(parents=True)
    for file in sorted((LOCALES / "en" / "LC_MESSAGES").glob("*.po")):
        made = Catalog(locale=PSEUDO)
        with file.open("rb") as stream:
            for message in read_po(stream, locale="en"):
                single = isinstance(message.id, str)
                name = message.id if single else message.id[0]
                if not name or name == but:
                    continue
                made.add(
                    message.id,
                    _longer(message.string) if single else tuple(map(_longer, message.string)),
                )
        with (into / file.name).open("wb") as stream:
            write_po(stream, made)


if __name__ == "__main__":
    write_pseudo(Path(sys.argv[1]))
