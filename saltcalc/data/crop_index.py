"""The names of crops by the forms in which they are compared."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache, cached_property, lru_cache

from saltcalc.data.crop_names import LANGUAGES, CropName, crop_names, name_words
from saltcalc.data.crops import Crop, catalogue
from saltcalc.data.name_forms import plain, stem


class _Index:
    """The names by their compared forms."""

    def __init__(self, names: Iterable[CropName]) -> None:
        self.exact: dict[str, tuple[CropName, ...]] = {}
        for name in names:
            key = plain(name.name)
            self.exact[key] = (*self.exact.get(key, ()), name)
        self._by_stem: dict[str, dict[str, list[CropName]]] = {}

    def by_stem(self, key: str, language: str) -> Sequence[CropName]:
        """Return the names of a language that equal this one but for the plural.

        A language is indexed when it is first asked for; most names are found as written.
        """
        if language not in self._by_stem:
            names: dict[str, list[CropName]] = defaultdict(list)
            for written, its_names in self.exact.items():
                for name in its_names:
                    if name.language[:2] == language:
                        names[stem(written, language)].append(name)
            self._by_stem[language] = names
        return self._by_stem[language].get(stem(key, language), ())

    @cached_property
    def run_together(self) -> Mapping[str, list[CropName]]:
        """The names written as one word: ``sweetcorn`` for ``sweet corn``."""
        found: dict[str, list[CropName]] = defaultdict(list)
        for key, names in self.exact.items():
            found[key.replace(" ", "")].extend(names)
        return found

    @cached_property
    def keys_by_length(self) -> Mapping[int, list[str]]:
        found: dict[int, list[str]] = defaultdict(list)
        for key in self.exact:
            found[len(key)].append(key)
        return found

    @cached_property
    def genera(self) -> Mapping[str, list[str]]:
        """The crops of each genus."""
        found: dict[str, dict[str, None]] = defaultdict(dict)
        for key, names in self.exact.items():
            for name in names:
                if name.language == "la":
                    found[key.split()[0]][name.crop] = None
        return {genus: list(crops) for genus, crops in found.items()}


@cache
def published_names() -> _Index:
    """Return the names of all crops of the tables."""
    named = {name.crop for name in crop_names()}
    rest = (crop for crop in catalogue().crops.values() if crop.id not in named)
    return _Index((*crop_names(), *_names_in_row(rest)))


@lru_cache(maxsize=8)
def own_names(own: tuple[Crop, ...]) -> _Index:
    """Return the names of a grower's own crops."""
    return _Index(_names_in_row(own))


def _names_in_row(crops: Iterable[Crop]) -> Iterator[CropName]:
    """Yield the names that the rows of crops have themselves."""
    for crop in crops:
        for name in (crop.id, crop.name, *crop.synonyms, crop.botanical):
            if name:
                yield CropName(crop.id, name, "en", "common", crop.source, crop.provenance, "")


@cache
def _uses() -> Mapping[str, frozenset[str]]:
    """Return the uses of the words beside a name, by language and stem."""
    found: dict[str, set[str]] = defaultdict(set)
    for word in name_words():
        found[f"{word.language} {stem(plain(word.word), word.language)}"].add(word.use)
    return {key: frozenset(uses) for key, uses in found.items()}


@lru_cache(maxsize=1 << 12)
def uses_of(word: str) -> frozenset[str]:
    """Return the uses of a word beside a name, in any language."""
    uses = _uses()
    none: frozenset[str] = frozenset()
    return none.union(
        *(uses.get(f"{language} {stem(word, language)}", none) for language in LANGUAGES)
    )


@cache
def parts_of_compounds(language: str, *uses: str) -> tuple[str, ...]:
    """Return the words with these uses, the longest first."""
    words = {plain(word.word) for word in name_words() if word.language == language}
    used = {word for word in words if not uses_of(word).isdisjoint(uses)}
    return tuple(sorted(used, key=lambda word: (-len(word), word)))


def crop_ids(names: Iterable[CropName]) -> tuple[str, ...]:
    """Return the crops of these names, each once."""
    return tuple(dict.fromkeys(name.crop for name in names))
