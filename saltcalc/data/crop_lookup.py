"""Which crop a grower means: a name in six languages or Latin, as people write it."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from rapidfuzz import process
from rapidfuzz.distance import OSA

from saltcalc.data.crop_index import (
    crop_ids,
    own_names,
    parts_of_compounds,
    published_names,
    uses_of,
)
from saltcalc.data.crop_names import (
    LANGUAGES,
    REGIONS,
    CropName,
    OtherCrop,
    other_crops,
)
from saltcalc.data.crops import Crop, catalogue
from saltcalc.data.name_forms import plain
from saltcalc.message import Message, Title, say

MOST_NEAR = 3
SPOKEN = tuple(language for language in LANGUAGES if language != "la")
EATEN = ("vegetable", "herb", "fruit", "field")
_HEAD_FIRST = ("fr", "es", "it")
_COMPOUNDING = ("de", "nl")
_LONGEST_TEXT = 100
_MOST_WORDS = 8
_SURE_SLIP = 6  # letters from which a name with one wrong letter leaves no doubt
_SHORTEST_NEAR = 5
_SHORTEST_HEAD = 5  # letters of the name at the end of a compound word
_LIKE = 0.72
_MORE_LIKE = 0.79  # of a short name, or one with another first letter
_SHORT = 6
_CULTIVAR = re.compile(r"""(?<!\w)['"‘“«]([^'"’”»]+)['"’”»](?!\w)""")
_RANK = re.compile(r"\b(?:cv|var|Sorte|variété|variedad)\b\.?", re.IGNORECASE)
_SEVERAL = re.compile(r"\s*(?:[,;/&+]|\b(?:and|und|et|y|e|en|or|oder|ou|o|of)\b)\s*", re.IGNORECASE)


_NEGATIONS = frozenset(
    [
        "not",
        "no",
        "without",
        "kein",
        "keine",
        "keinen",
        "nicht",
        "ohne",
        "pas",
        "aucun",
        "aucune",
        "sans",
        "sin",
        "ningun",
        "ninguna",
        "senza",
        "nessun",
        "nessuna",
        "geen",
        "niet",
        "zonder",
    ]
)
"""Words before a name by which that crop is not meant."""


@dataclass(frozen=True, slots=True)
class Finding:
    """What a name may mean.

    ``crops`` holds the id of one crop, of several if the name fits several, or none. ``reason``
    says why there are several, or what was read into the text where it is not quite a name of
    the one. ``near`` holds up to `MOST_NEAR` ids that are near in spelling or meaning; it is
    empty unless there is no crop.
    """

    crops: tuple[str, ...] = ()
    reason: Message | None = None
    near: tuple[str, ...] = ()

    @property
    def crop(self) -> str | None:
        """The id of the one crop meant, or none."""
        return self.crops[0] if len(self.crops) == 1 else None


def known_crop(crop_id: str) -> Crop | OtherCrop:
    """Return a crop of the tables by id, be it one without a figure.

    Raises
    ------
    KeyError
        If no table has it.
    """
    return catalogue().crops.get(crop_id) or other_crops()[crop_id]


def without_figures(crop_id: str, written: str, near: Iterable[str] = ()) -> Crop:
    """Return a crop that the tolerance tables lack, or one that no table knows.

    Parameters
    ----------
    crop_id : str
        Its id.
    written : str
        What the grower calls it, which is its name where no table has it.
    near : iterable of str
        Ids of crops that may be meant instead.
    """
    known = other_crops().get(crop_id)
    return Crop(
        id=crop_id,
        name=known.name if known else written,
        botanical=known.botanical if known else "",
        group=known.group if known else "ornamental",
        woody=bool(known and known.woody),
        source=known.source if known else "judgement",
        provenance=known.provenance if known else "judgement",
        listed=False,
        near=tuple(known_crop(each).name for each in near),
    )


def _base(language: str | None) -> str | None:
    """Return the language of a tag such as ``de-AT``."""
    if language is None:
        return None
    base = language.replace("_", "-").split("-")[0].lower()
    if base not in LANGUAGES:
        raise ValueError(f"{language!r} is none of {', '.join(LANGUAGES)}")
    return base


def _is_published(crop_id: str) -> bool:
    return crop_id in catalogue().crops


class _Search:
    """One look-up: the language asked in, and a grower's own crops."""

    def __init__(self, language: str | None, own: tuple[Crop, ...]) -> None:
        self.base = _base(language)
        self.region = language if language in REGIONS else None
        self.own = own

    def find(self, text: str) -> Finding:
        name = text.strip()
        known = _is_published(name) or name in other_crops()
        if ("_" in name and known) or name in {crop.id for crop in self.own}:
            return Finding((name,))
        key = plain(_CULTIVAR.sub(" ", text[:_LONGEST_TEXT])) or plain(text[:_LONGEST_TEXT])
        words = key.split()[:_MOST_WORDS]
        if not words:
            return Finding()
        if names := self.named(" ".join(words)):
            return self._settled(text, names)
        if words[0] in _NEGATIONS and words[1:] and not words[1].isdecimal():
            return Finding(reason=say("names.negated", word=words[0]))
        if names := self._turned(text) or self._bracketed(text):
            return self._settled(text, names)
        if found := self._listed(text):
            return found
        within = self._within(words)
        compound = self._compound(words[0]) if len(words) == 1 else ()
        if compound:
            return self._settled(text, compound)
        if within and self._only_fillers(within):
            return self._settled(text, within.names)
        for guess in (self._botanical(words), self._slip(words), self._kind_of(within)):
            if guess:
                return guess
        return Finding(near=self._near(words, within))

    def named(self, key: str) -> Sequence[CropName]:
        """Return the names that are written so, in the language asked in before any other."""
        names = self._named_in_tables(key)
        if self.own and not any(_is_published(name.crop) for name in names):
            own = own_names(self.own)
            return own.exact.get(key) or own.by_stem(key, "en") or names
        return names

    def _named_in_tables(self, key: str) -> Sequence[CropName]:
        index = published_names()
        exact = index.exact.get(key, ())
        if self.base:
            mine: Sequence[CropName] = [
                name for name in exact if name.language[:2] == self.base
            ] or index.by_stem(key, self.base)
            if mine:
                return [name for name in mine if name.language == self.region] or mine
        if exact:
            return [name for name in exact if name.language != "la"] or exact
        for languages in (SPOKEN, ("la",)):
            names = [name for language in languages for name in index.by_stem(key, language)]
            if names:
                return names
        joined = key.replace(" ", "")
        return index.run_together.get(joined, []) if len(joined) >= _SURE_SLIP else []

    def _settled(self, text: str, names: Sequence[CropName]) -> Finding:
        """Return the one crop of these names, or say why there are several."""
        crops = crop_ids(names)
        if len(crops) == 1:
            return Finding(crops)
        return Finding(crops, self._why_several(text.strip(), names))

    def _why_several(self, text: str, names: Sequence[CropName]) -> Message:
        by_language: dict[str, list[str]] = defaultdict(list)
        for name in names:
            by_language[name.language[:2]].append(name.crop)
        by_sense: dict[tuple[str, ...], list[str]] = defaultdict(list)
        for language, crops in by_language.items():
            tongue = Title(LANGUAGES[language], f"tongue.{language}")
            by_sense[tuple(dict.fromkeys(crops))].append(tongue)
        notes = dict.fromkeys(name.note for name in names if name.kind == "ambiguous" and name.note)
        remark = say("names.remark", notes=list(notes)) if notes else ""
        if len(by_sense) == 1:
            (meant,) = by_sense
            return say("names.may_mean", text=text, crops=self._titles(meant, text), remark=remark)
        senses = [
            say("names.sense", crops=self._titles(crops, text), languages=languages)
            for crops, languages in by_sense.items()
        ]
        return say("names.senses", text=text, senses=senses, remark=remark)

    def _titles(self, crops: Iterable[str], asked: str = "") -> list[str]:
        """Return the names of crops; the botanical one where the name is what was asked."""
        titles = {crop: self._crop(crop).name for crop in crops}
        return [
            known_crop(crop).botanical if plain(title) == plain(asked) else title
            for crop, title in titles.items()
        ]

    def _crop(self, crop_id: str) -> Crop | OtherCrop:
        return next((crop for crop in self.own if crop.id == crop_id), None) or known_crop(crop_id)

    def _turned(self, text: str) -> Sequence[CropName]:
        """Read a name with its kind after a comma, as lists have it: ``onion, spring``."""
        crop, comma, kind = text[:_LONGEST_TEXT].partition(",")
        return self.named(plain(f"{kind} {crop}")) if comma else ()

    def _bracketed(self, text: str) -> Sequence[CropName]:
        """Read a name with another, or its kind, in brackets behind it, where both fit one crop."""
        first, _, second = text[:_LONGEST_TEXT].partition("(")
        if not plain(second):
            return ()
        names, others = self.named(plain(first)), self.named(plain(second))
        both = {*crop_ids(names)} & {*crop_ids(others)}
        return [name for name in names if name.crop in both] or self.named(
            plain(f"{_RANK.sub('', second)} {first}")
        )

    def _listed(self, text: str) -> Finding | None:
        """Refuse a list of crops, unless they count as one here."""
        parts = [plain(part) for part in _SEVERAL.split(text[:_LONGEST_TEXT])]
        crops = [crop_ids(self.named(part)) for part in parts if part]
        if len(crops) < 2 or not all(crops):
            return None
        if len({*crops}) == 1 and len(crops[0]) == 1:
            return Finding(crops[0])
        near = tuple(dict.fromkeys(each[0] for each in crops))[:MOST_NEAR]
        return Finding((), say("names.several_crops", text=text.strip()), near)

    def _within(self, words: Sequence[str]) -> _Within | None:
        """Return the longest part of the text that is a name."""
        for size in range(len(words) - 1, 0, -1):
            found = []
            for start in range(len(words) - size + 1):
                names = self.named(" ".join(words[start : start + size]))
                if names:
                    beside = (*words[:start], *words[start + size :])
                    a_filler = size == 1 and bool(uses_of(words[start]))
                    head_first = all(name.language in _HEAD_FIRST for name in names)
                    rank = (a_filler, start if head_first else -start)
                    found.append((rank, _Within(names, beside)))
            if found:
                return min(found, key=lambda ranked: ranked[0])[1]
        return None

    def _only_fillers(self, within: _Within) -> bool:
        """Whether the words beside a name leave the crop as it is."""
        woody = all(self._crop(crop).woody for crop in crop_ids(within.names))
        harmless = {"plant", "kind", "link", *(["tree"] if woody else [])}
        return not any(
            uses_of(word).isdisjoint(harmless) or "other" in uses_of(word) for word in within.beside
        )

    def _compound(self, word: str) -> Sequence[CropName]:
        """Take a German or Dutch word for a young plant, a tree or a kind apart."""
        for language in _COMPOUNDING:
            if self.base not in (None, language):
                continue
            for last in parts_of_compounds(language, "plant", "tree"):
                if word.endswith(last) and len(word) - len(last) > 2:
                    first = word.removesuffix(last)
                    for name in (first, first + "e", first.removesuffix("s")):
                        names = self._in_language(name, language)
                        if names and ("plant" in uses_of(last) or self._crop(names[0].crop).woody):
                            return names
            for first in parts_of_compounds(language, "kind"):
                if word.startswith(first) and len(word) - len(first) > 2:
                    rest = word.removeprefix(first)
                    if names := self._in_language(rest, language) or self._compound(rest):
                        return names
        return ()

    def _in_language(self, key: str, language: str) -> Sequence[CropName]:
        exact = [name for name in published_names().exact.get(key, ()) if name.language == language]
        return exact or published_names().by_stem(key, language)

    def _botanical(self, words: Sequence[str]) -> Finding | None:
        """Take a botanical name with an author or a rank more, or a genus alone."""
        genera = published_names().genera
        if words[0] not in genera:
            return None
        for size in range(len(words) - 1, 1, -1):
            if names := self._in_language(" ".join(words[:size]), "la"):
                return self._settled(" ".join(words), names)
        if len(words) > 1:
            return None
        crops = tuple(genera[words[0]])
        sense = "names.genus" if len(crops) == 1 else "names.genus_of_several"
        genus = words[0].capitalize()
        return Finding(crops, say(sense, genus=genus, crops=self._titles(crops)))

    def _slip(self, words: Sequence[str]) -> Finding | None:
        """Take a long name with one wrong, missing, doubled or swapped letter."""
        key = " ".join(word for word in words if uses_of(word).isdisjoint({"plant", "link"}))
        forms = [form for form in {key, key.removesuffix("s")} if len(form) >= _SURE_SLIP]
        index = published_names()
        found = [
            name
            for form in forms
            for length in range(len(form) - 1, len(form) + 2)
            for near, _, _ in process.extract_iter(
                form, index.keys_by_length.get(length, ()), scorer=OSA.distance, score_cutoff=1
            )
            if near[0] == form[0]
            for name in index.exact[near]
        ]
        spoken = [name for name in found if name.language != "la"] or found
        mine = [name for name in spoken if name.language[:2] == self.base] or spoken
        crops = crop_ids(mine)
        read = say("names.read_as", text=" ".join(words), name=mine[0].name) if mine else None
        return Finding(crops, read) if len(crops) == 1 else None

    def _kind_of(self, within: _Within | None) -> Finding | None:
        """Take an unknown kind of a food crop for that crop, and say so."""
        if within is None:
            return None
        crops = crop_ids(within.names)
        unknown = [word for word in within.beside if not uses_of(word)]
        if (
            len(crops) != 1
            or not unknown
            or self._crop(crops[0]).group not in EATEN
            or any("other" in uses_of(word) or "tree" in uses_of(word) for word in within.beside)
            or all("tree" in uses_of(plain(name.name)) for name in within.names)
            or any({*crop_ids(self.named(word))} - {*crops} for word in unknown)
        ):
            return None
        kind, title = " ".join(unknown), self._crop(crops[0]).name
        return Finding(crops, say("names.unknown_kind", crop=title, kind=kind))

    def _near(self, words: Sequence[str], within: _Within | None) -> tuple[str, ...]:
        near = [
            *(crop_ids(within.names) if within else ()),
            *(crop for word in words for crop in self._ends_of(word)),
            *(published_names().genera.get(words[0], ()) if len(words) > 1 else ()),
        ] or self._alike(" ".join(words))
        return tuple(dict.fromkeys(near))[:MOST_NEAR]

    def _ends_of(self, word: str) -> tuple[str, ...]:
        """Return the crop whose name ends this compound word."""
        for start in range(3, len(word) - _SHORTEST_HEAD + 1):
            for language in _COMPOUNDING:
                if self.base in (None, language):
                    names = self._in_language(word[start:], language)
                    if names:
                        return crop_ids(names)[:1]
        return ()

    def _alike(self, key: str) -> Iterator[str]:
        """Return the crops with a name spelled like this, best first."""
        if len(key) < _SHORTEST_NEAR:
            return
        least = _LIKE if len(key) > _SHORT else _MORE_LIKE
        span = int(len(key) * (1 / least - 1))
        indexes = [published_names(), *([own_names(self.own)] if self.own else [])]
        likeness = [
            (-score, near, index)
            for index in indexes
            for length in range(len(key) - span, len(key) + span + 1)
            for near, score, _ in process.extract_iter(
                key,
                index.keys_by_length.get(length, ()),
                scorer=OSA.normalized_similarity,
                score_cutoff=least,
            )
            if near[0] == key[0] or score >= _MORE_LIKE
        ]
        for _, near, index in sorted(likeness, key=lambda found: found[:2]):
            names = index.exact[near]
            yield from crop_ids([name for name in names if name.language[:2] == self.base] or names)


@dataclass(frozen=True, slots=True)
class _Within:
    """A name within a longer text, and the words beside it."""

    names: Sequence[CropName]
    beside: tuple[str, ...]


def find(text: str, language: str | None = None, own: Iterable[Crop] = ()) -> Finding:
    """Return which crop a grower means by this name.

    Case, accents, hyphens, plurals, words such as "seedlings" and the name of a cultivar in
    quotes do not matter. A name counts in the language asked in before any other; without a
    language, a name that means one crop in one language and another in another fits both. A
    grower's own crops are found by their names unless a crop with published figures has the name.

    Parameters
    ----------
    text : str
        What the grower calls it: a common name in English, German, French, Spanish, Italian or
        Dutch, a botanical name, or an id of the tables.
    language : str, optional
        A language tag whose first part is one of `LANGUAGES`.
    own : iterable of Crop, optional
        A grower's own crops.

    Raises
    ------
    ValueError
        If the names are in none of the languages.
    """
    return _Search(language, tuple(own)).find(text)
