"""Each sentence holds the key words of its id, and no other of its catalogue holds them all.

The key words are those of the id itself (``ammonium_very_high``) or, where they do not stand in
the sentence or do not tell it from its neighbours, those that ``key_words.csv`` gives: what the
sentence is about and, for some, what must not stand in it. Words are beginnings of words; ``=``
goes before all that a short one says. So no sentence can stand in the place of another unseen.
Where two ids say the same on purpose (a sign under two causes), either may have it.
"""

import csv
import re
from functools import cache
from pathlib import Path

import pytest
from babel.messages.pofile import read_po

from tests.sentences import CATALOGUES

FILES = sorted(CATALOGUES.glob("*.po"))
MARKS = re.compile(r"[^\w.%/°-]+")
SMALL = {"of", "the", "a", "an", "and", "is", "are", "to", "n"}
"""Words of ids that a sentence need not have."""


@cache
def key_words():
    """Return by id the words that must stand in its sentence, and those that must not."""
    with Path(__file__).with_name("key_words.csv").open(encoding="utf-8", newline="") as lines:
        return {
            row["id"]: (row["words"].split("; "), row["but_not"].split("; "))
            for row in csv.DictReader(lines)
        }


def own_words(name):
    """Return the words of an id, each by its first five letters."""
    words = re.split(r"[._]", name.rpartition(".")[2])
    return [word[:5] for word in words if word not in SMALL], []


@cache
def texts(file):
    """Return the sentences of a catalogue by id, in lower case without marks."""
    found = {}
    with file.open("rb") as stream:
        for message in read_po(stream):
            name, text = message.id, message.string
            if isinstance(name, tuple | list):
                name, text = name[0], " ".join(text)
            if name:
                found[name] = f" {MARKS.sub(' ', text.lower()).strip()} "
    return found


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_each_sentence_holds_the_words_of_its_id_and_no_other_does(file):
    said = texts(file)

    @cache
    def having(word):
        if word.startswith("="):
            return {name for name, text in said.items() if text.strip() == word[1:]}
        return {name for name, text in said.items() if f" {word}" in text}

    for name, text in said.items():
        words, but_not = key_words().get(name) or own_words(name)
        fit = set.intersection(*map(having, words)).difference(*map(having, filter(None, but_not)))
        assert name in fit, f"{name} wants {words} and not {but_not}: {text}"
        others = [each for each in fit if said[each] != text]
        assert not others, f"{words} tell {name} not from {others}"


def test_no_row_is_left_over():
    assert not key_words().keys() - {name for file in FILES for name in texts(file)}
