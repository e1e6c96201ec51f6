"""Every language says all that English says, with the same figures, in the terms of its trade."""

import csv
import re
import string

import pytest
from babel.messages.pofile import read_po

from saltcalc.data.crop_names import other_crops
from saltcalc.data.crops import catalogue as catalogue_of_crops
from saltcalc.message import say
from saltcalc.words import catalogue
from saltcalc.words.catalogue import languages, words
from tests.languages.pseudo import LOCALES, OTHERS, PSEUDO, write_pseudo


def _forms(language):
    """Return by id the forms of every sentence of a language, with the file that it stands in."""
    found = {}
    for file in sorted((LOCALES / language / "LC_MESSAGES").glob("*.po")):
        with file.open("rb") as stream:
            for message in read_po(stream, locale=language, abort_invalid=True):
                if message.id:
                    single = isinstance(message.id, str)
                    name = message.id if single else message.id[0]
                    assert name not in found, name
                    found[name] = (file.name, (message.string,) if single else message.string)
    return found


ENGLISH = _forms("en")


def told(sentence):
    """Return what a sentence tells: its placeholders, those of figures with their unit."""
    fields = [each for each in string.Formatter().parse(sentence) if each[1] is not None]
    return {name if not name.isdecimal() else f"{name}:{form}" for _, name, form, _ in fields}


def test_english_is_offered_first():
    assert languages()[0] == "en"


def test_every_language_that_was_begun_is_whole():
    assert languages() == ("en", *OTHERS)


def test_a_language_is_offered_when_it_has_every_sentence(folder):
    assert languages() == ("en",)
    write_pseudo(folder, but="short.today")
    languages.cache_clear()
    assert languages() == ("en",)
    _fill(folder, "short.today", "x")
    languages.cache_clear()
    assert languages() == ("en", PSEUDO)
    _fill(folder, "passes.unfilled", "")
    assert catalogue._filled(PSEUDO).isdisjoint({"passes.unfilled"})


def _fill(folder, message, sentence):
    with (folder / PSEUDO / "LC_MESSAGES" / "zz.po").open("a", encoding="utf-8") as file:
        file.write(f'msgid "{message}"\nmsgstr "{sentence}"\n\n')


@pytest.mark.parametrize("language", OTHERS)
def test_no_sentence_is_missing_unused_or_unfilled(language):
    own = _forms(language)
    titles = {f"crop.{each}" for each in (*catalogue_of_crops().crops, *other_crops())}
    assert {name: file for name, (file, _) in own.items()} == {
        **{name: file for name, (file, _) in ENGLISH.items()},
        **dict.fromkeys(titles, "crop_titles.po"),  # English has them in the tables
    }
    assert not [name for name, (_, forms) in own.items() if not all(forms)]


@pytest.mark.parametrize("language", OTHERS)
def test_every_sentence_tells_the_same(language):
    own = _forms(language)
    for name, (_, forms) in ENGLISH.items():
        theirs = own[name][1]
        assert (len(forms) > 1) == (len(theirs) > 1), name
        # The form of one may say "1" or "one" in the place of its count; the last tells all.
        assert told(theirs[-1]) == told(forms[-1]), name
        assert all(told(each) <= told(forms[-1]) for each in theirs), name


@pytest.mark.parametrize("language", ["en", *OTHERS])
@pytest.mark.parametrize(
    ("count", "written"), [(0, "0"), (0.5, "0.5"), (1.5, "1.5"), (2, "2"), (2.5, "2.5")]
)
def test_only_one_is_told_without_its_count(language, count, written):
    number = words(language).say(say("nutrients.weeks", count=count)).split()[0]
    assert number.replace(",", ".") == written
    assert words(language).say(say("days", count=int(count))).startswith(f"{int(count)}")
    two, one = (words(language).say(say("times", count=each)) for each in (2, 1))
    assert "2" in two or one != two


def glossary(language):
    with (LOCALES / language / "glossary.csv").open(encoding="utf-8", newline="") as lines:
        yield from csv.DictReader(lines)


def _pattern(term):
    """Return a pattern of a term: its words in any ending, since English has plurals."""
    return re.compile(rf"\b{re.escape(term)}(?:s|es)?\b", re.IGNORECASE)


@pytest.mark.parametrize("language", OTHERS)
def test_the_glossary_is_whole(language):
    rows = list(glossary(language))
    assert len(rows) >= 40
    assert all(row["english"] and row["term"] and row["source"] for row in rows)
    assert len({row["english"].casefold() for row in rows}) == len(rows)


@pytest.mark.parametrize("language", OTHERS)
def test_no_sentence_says_what_the_glossary_avoids(language):
    """One thing has one name: the other names of the trade for it stand in no sentence."""
    avoided = [
        (row["term"], each)
        for row in glossary(language)
        for each in filter(None, row["avoid"].split("|"))
    ]
    assert len(avoided) >= 25
    said = [
        (term, each, name)
        for name, (_, forms) in _forms(language).items()
        for form in forms
        for term, each in avoided
        if re.search(rf"(?<!\w){re.escape(each)}(?!\w)", form)
    ]
    assert said == []


ENDINGS = re.compile(r"(?:en|er|es|as|os|s|e|n|a|o)$")


@pytest.mark.parametrize("language", OTHERS)
def test_every_term_of_the_glossary_is_used(language):
    written = " ".join(form for _, forms in _forms(language).values() for form in forms).casefold()
    unused = []
    for row in glossary(language):
        ways = [each.casefold().split() for each in re.split(r"[(),;/]", row["term"])]
        if not any(way and all(ENDINGS.sub("", word) in written for word in way) for way in ways):
            unused.append(row["term"])
    assert not unused
