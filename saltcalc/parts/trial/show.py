"""What a trial of several media says: contradictions first, then what is alike and what is not."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from saltcalc.case.trial import MOISTURE, OUTCOMES
from saltcalc.message import Message, say
from saltcalc.parts.causes.show import CAUSES
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import Amount, Text, part, shown
from saltcalc.parts.trial.actions import Mending, Saving, TrialAction
from saltcalc.parts.trial.reading import MEASURED, Reading
from saltcalc.parts.trial.told import (
    FIGURES,
    crop_name,
    figure_name,
    how_it_fared,
    labels,
    media_names,
    once,
    told,
)
from saltcalc.science.diagnosis import VERDICTS
from saltcalc.science.trial import Tracking
from saltcalc.science.uncertainty import Interval

TRACKINGS = tuple(each.name.lower() for each in Tracking)
MOST_DIFFERENT = 5

_ASKED = ("salts", "ammonium", "chloride", "repels_water", "crust", "ph_low", "stays_wet")
"""What may still differ between two media, in the order in which it is asked for (judgement)."""

DECIDING = ("salts", "ammonium", "chloride", "repels_water", "ph_low", "sow_again")
"""What decides between two media; to sow both again where every figure is known."""


@part
class Contradiction:
    """An explanation that another medium refutes, or media that differ in the outcome alone."""

    cause: str | None = shown("Null where no figure differs at all.", choices=CAUSES)
    crop: str = shown()
    media: list[str] = shown("Where the crop failed.")
    refuted_by: list[str] = shown("Where it did well with as much or more.")
    still_differ: list[str] = shown("Figures that still differ between them.", choices=FIGURES)
    not_known: list[str] = shown("What is not known of both.", choices=FIGURES)
    decide_by: str = shown("The one measurement in these media that decides.", choices=DECIDING)
    sentence: Text = shown()


@part
class TrackedCrop:
    """How a figure tracks the outcomes of one crop."""

    crop: str = shown()
    tracking: str = shown(choices=TRACKINGS)
    consistent: int = shown("Pairs of a bad and a good medium that fit.")
    contradicted: int = shown("Pairs that contradict.")
    pairs: int = shown()


@part
class TrackedFigure:
    """A figure in which media differ."""

    id: str = shown(choices=FIGURES)
    crops: list[TrackedCrop] = shown()
    sentence: Text = shown()


@part
class ToldOutcome:
    """How one crop fared."""

    crop: str = shown()
    outcome: str = shown(choices=OUTCOMES)
    explained_by: list[str] = shown(
        "Figures that fit every pair and that no medium contradicts.",
        optional=True,
        choices=FIGURES,
    )


@part
class MediumInTrial:
    """What the trial says of one medium."""

    name: str = shown()
    outcomes: list[ToldOutcome] = shown()
    cause: str | None = shown(
        "First cause that no other medium refutes.", optional=True, choices=CAUSES
    )
    verdict: str | None = shown(optional=True, choices=VERDICTS)
    mineral_n: Amount = shown("Nitrate and ammonium together.", optional=True)
    ph: Amount = shown(optional=True)
    ec: Amount = shown("As saturated extract; at least, where it is a floor.", optional=True)
    nitrogen_lasts: Interval = shown(
        "From now, for the plants in a container; nothing fed, leached or set free.",
        "week",
        optional=True,
    )
    explanation: Text = shown()
    actions: list[TrialAction] = shown()
    saving: Saving | None = shown(optional=True)


@part
class RankedMedia:
    """Which medium for a crop."""

    crop: str = shown()
    sow_now: list[str] = shown("Media that bore it, the best first.")
    mend_first: list[str] = shown("Media to mend first.")
    sentence: Text = shown()


@part
class TrialAnswer:
    """What the outcomes say of the media."""

    contradictions: list[Contradiction] = shown("Explanations that another medium refutes.")
    alike: list[str] = shown("Figures alike in all media.", choices=FIGURES)
    alike_in_short: Text | None = shown("What that rules out.", optional=True)
    different: list[TrackedFigure] = shown("What differs, what tracks the outcomes best first.")
    tried: list[MediumInTrial] = shown()
    ranking: list[RankedMedia] = shown()
    next_measurement: Text | None = shown(optional=True)


def show_trial(reading: Reading, notes: Notes) -> TrialAnswer | None:
    """Return what a trial says, or None where no outcome is told."""
    if not reading.crops:
        return None
    contradictions = list(_contradictions(reading))
    places = range(len(reading.media))
    alike, in_short = _alike(reading)
    return TrialAnswer(
        contradictions=contradictions,
        alike=[reading.figures[place].id for place in once(reading, alike)],
        alike_in_short=in_short,
        different=list(_different(reading, alike)),
        tried=[_medium(reading, place, notes) for place in places],
        ranking=[_ranking(reading, crop) for crop in reading.crops],
        next_measurement=_next(reading, contradictions),
    )


def _contradictions(reading: Reading) -> Iterator[Contradiction]:
    """Yield what is refuted, media with the same first cause together, each cause and crop once."""
    found: dict[tuple[str, str], tuple[list[int], list[int]]] = {}
    for place, one in enumerate(reading.media):
        for crop in one.failed:
            for cause, _ in reading.standing_out(place)[:1]:
                refuting = reading.refuted_by(cause, crop, place)
                if refuting:
                    bad, good = found.setdefault((cause, crop), ([], []))
                    bad.append(place)
                    good.extend(each for each in refuting if each not in good)
    for (cause, crop), (bad, good) in found.items():
        yield _refuted(reading, cause, crop, bad, sorted(good))
    explained = {(crop, place) for (_, crop), (bad, _) in found.items() for place in bad}
    for crop in reading.crops:
        twins = [
            (bad, good)
            for bad, good in reading.tracking[crop]
            if (crop, bad) not in explained
            and not _apart(reading, crop, bad, good)
            and any(_is_known(reading, (bad, good), at) for at, _ in enumerate(reading.figures))
        ]
        if twins:
            bads, goods = (sorted(set(each)) for each in zip(*twins, strict=True))
            yield _refuted(reading, None, crop, bads, goods)


def _apart(reading: Reading, crop: str, bad: int, good: int) -> list[int]:
    """Return the figures that differ between two media by more than their error."""
    del crop
    return [int(each) for each in np.flatnonzero(reading.apart([bad, good]))]


def _is_known(reading: Reading, places: Sequence[int], figure: int) -> bool:
    """Whether a figure is known of media; a floor is not, nor nitrogen of either form."""
    low, high = (ends[list(places), figure] for ends in reading.values)
    known = not np.isnan(low).any() and bool((low == high).all() or not reading.one_method)
    return known and not (
        reading.figures[figure].takes == "ec" and bool(reading.floors[list(places)].any())
    )


def _refuted(
    reading: Reading, cause: str | None, crop: str, bad: list[int], good: list[int]
) -> Contradiction:
    first, other = bad[0], good[0]
    own = [at for at, each in enumerate(reading.figures) if cause in each.causes]
    low = reading.over[crop][0]
    known = [at for at in own if not np.isnan(low[[*bad, *good], at]).any()]
    decided_by = next((at for at in known if reading.figures[at].takes in MEASURED), None)
    decided_by = known[0] if decided_by is None and known else decided_by
    if decided_by is not None:
        first = max(bad, key=lambda each: low[each, decided_by])
        other = max(good, key=lambda each: low[each, decided_by])
    ids = [each.id for each in reading.figures]
    differ = [at for at in once(reading, _apart(reading, crop, first, other)) if at not in own]
    unknown = [at for at in map(ids.index, _ASKED) if not _is_known(reading, (first, other), at)]
    decide = _deciding(reading, unknown, cause)
    sentences = [
        say(
            "trial.refuted" if cause else "trial.nothing_differs",
            cause=say(f"causes.name.{cause}") if cause else "",
            crop=crop_name(reading, crop),
            failed=how_it_fared(reading, bad, crop),
            media=labels(reading, bad),
            bore=how_it_fared(reading, good, crop),
            others=labels(reading, good),
            **(
                {
                    "figure": figure_name(reading.figures[decided_by]),
                    "found": told(reading, other, decided_by),
                    "blamed": told(reading, first, decided_by),
                }
                if decided_by is not None and cause
                else {"figure": "", "found": "", "blamed": ""}
            ),
        )
    ]
    if cause and decided_by is not None and _is_least(reading, first, decided_by):
        sentences.append(say("trial.may_be_more", media=labels(reading, [first])))
    if differ:
        each = [
            say(
                "trial.against",
                figure=figure_name(reading.figures[at]),
                found=told(reading, first, at),
                other=told(reading, other, at),
            )
            for at in differ[:4]
        ]
        sentences.append(say("trial.still_differ", each=each))
    if unknown:
        names = [figure_name(reading.figures[at]) for at in unknown]
        sentences.append(say("trial.not_known_of_both", names=names))
    if reading.trial.moisture != MOISTURE[0]:
        told_of = "not_alike" if reading.trial.moisture else "not_told"
        sentences.append(say(f"trial.moisture_{told_of}"))
    pair = labels(reading, (first, other))
    sentences.append(say(f"trial.decide_{decide}", media=pair))
    return Contradiction(
        cause=cause,
        crop=crop,
        media=media_names(reading, bad),
        refuted_by=media_names(reading, good),
        still_differ=[ids[at] for at in differ],
        not_known=[ids[at] for at in unknown],
        decide_by=decide,
        sentence=tuple(sentences),
    )


def _is_least(reading: Reading, place: int, at: int) -> bool:
    """Tell whether a figure of a medium is an EC that is only the least that it can be."""
    samples = reading.media[place].samples
    floors = reading.assessment.ec_is_floor[list(samples)]
    return reading.figures[at].takes == "ec" and bool(floors.any())


def _deciding(reading: Reading, unknown: Sequence[int], cause: str | None) -> str:
    """Choose what to measure: the first that is not known, ammonium first where it is blamed."""
    ids = [reading.figures[at].id for at in unknown]
    if cause and "ammonium" in ids and "ammonium" in cause:
        return "ammonium"
    return next((each for each in DECIDING if each in ids), "sow_again")


def _alike(reading: Reading) -> tuple[list[int], Text | None]:
    """Return the figures in one class and within their error in all media, and tell them."""
    every = range(len(reading.media))
    apart = reading.apart(every)
    found = [
        at
        for at, each in enumerate(reading.figures)
        if each.takes != "sealed"
        and _is_known(reading, every, at)
        and not apart[at]
        and all(
            len(set((reading.over[crop][0][:, at] > 1).tolist())) == 1 for crop in reading.crops
        )
    ]
    names = {each.figure or each.id for each in reading.figures}
    whole = {
        name
        for name in names
        if all(
            at in found
            for at, each in enumerate(reading.figures)
            if (each.figure or each.id) == name
        )
    }
    found = [at for at in found if (reading.figures[at].figure or reading.figures[at].id) in whole]
    beyond = {
        harm: [
            figure_name(reading.figures[at])
            for at in found
            if reading.figures[at].harm == harm
            and any((reading.over[crop][0][:, at] > 1).all() for crop in reading.crops)
        ]
        for harm in ("low", "high")
    }
    told_of = {name for each in beyond.values() for name in (one.id for one in each)}
    sound = [
        figure_name(reading.figures[at])
        for at in once(reading, found)
        if figure_name(reading.figures[at]).id not in told_of
        and not any(
            reading.figures[other].figure == reading.figures[at].figure
            and figure_name(reading.figures[other]).id in told_of
            for other in found
            if reading.figures[at].figure
        )
    ]
    sentences = [say("trial.alike_sound", names=sound)] if sound else []
    sentences += [
        say(f"trial.alike_{harm}", names=names_of) for harm, names_of in beyond.items() if names_of
    ]
    if not sentences:
        return found, None
    return found, (*sentences, say("trial.alike_explains_nothing"))


def _different(reading: Reading, alike: Sequence[int]) -> Iterator[TrackedFigure]:
    """Yield what differs, what tracks the outcomes best first."""
    low = reading.values[0]
    rows = []
    for at in range(len(reading.figures)):
        if at in alike or np.isfinite(low[:, at]).sum() < 2:
            continue
        crops = [_tracked(reading, crop, at) for crop in reading.crops]
        fits = sum(each.consistent for each in crops if each.tracking == "consistent")
        against = sum(each.contradicted for each in crops)
        differs = bool(reading.apart(range(len(reading.media)))[at])
        if differs or fits or against:
            rows.append(((-fits, against, at), at, crops))
    told_names: set[str] = set()
    for _, at, crops in sorted(rows, key=lambda each: each[0]):
        name = reading.figures[at].figure or reading.figures[at].id
        if name in told_names or len(told_names) == MOST_DIFFERENT:
            continue
        told_names.add(name)
        yield TrackedFigure(reading.figures[at].id, crops, _tell(reading, at, crops))


def _tracked(reading: Reading, crop: str, at: int) -> TrackedCrop:
    codes = [int(found[at]) for found in reading.tracking[crop].values()]
    fits, against = codes.count(Tracking.CONSISTENT), codes.count(Tracking.CONTRADICTED)
    which = "contradicted" if against else "consistent" if fits else "silent"
    return TrackedCrop(crop, which, fits, against, len(codes))


def _tell(reading: Reading, at: int, crops: list[TrackedCrop]) -> Message:
    low = reading.values[0][:, at]
    known = [int(each) for each in np.flatnonzero(~np.isnan(low))]
    least, most = min(known, key=lambda each: low[each]), max(known, key=lambda each: low[each])
    return say(
        "trial.differs",
        figure=figure_name(reading.figures[at]),
        low=told(reading, least, at),
        least=reading.media[least].called,
        high=told(reading, most, at),
        most=reading.media[most].called,
        crops=[
            say(
                f"trial.tracks_{each.tracking}",
                crop=crop_name(reading, each.crop),
                consistent=each.consistent,
                contradicted=each.contradicted,
                pairs=each.pairs,
            )
            for each in crops
        ],
    )


def _medium(reading: Reading, place: int, notes: Notes) -> MediumInTrial:
    one, mending = reading.media[place], Mending(reading, place, notes)
    causes = reading.open_causes(place)
    ids = [each.id for each in reading.figures]
    explained = {crop: reading.explaining(place, crop) for crop in one.failed}
    fitting = {at for each in explained.values() for at in each}
    first = causes[0] if causes else None
    figures = (ids.index(each) for each in ("nitrogen_short", "ph_low", "salts"))
    nitrogen, ph, ec = (told(reading, place, at) for at in figures)
    return MediumInTrial(
        name=one.name,
        outcomes=[
            ToldOutcome(
                each.crop,
                each.grade,
                [ids[at] for at in once(reading, explained.get(each.crop, []))],
            )
            for each in one.outcomes
        ],
        cause=first[0] if first else None,
        verdict=VERDICTS[first[1]] if first else None,
        mineral_n=_amount(nitrogen, "mg/L"),
        ph=_amount(ph, "1"),
        ec=_amount(ec, "dS/m"),
        nitrogen_lasts=mending.lasts,
        explanation=_explanation(reading, place, first, fitting),
        actions=list(mending.actions()),
        saving=mending.saving(),
    )


def _amount(found: Any, unit: str) -> Amount:
    if not isinstance(found, Amount):
        return Amount(math.nan, unit)
    open_end = math.isnan(found.high) and not math.isnan(found.low)
    return found._replace(high=math.inf) if open_end else found


def _explanation(
    reading: Reading, place: int, first: tuple[str, int] | None, fitting: set[int]
) -> Text:
    one = reading.media[place]
    if not one.outcomes:
        return say("trial.no_outcome")
    if not one.failed:
        slow = any(each.grade == "slow" for each in one.outcomes)
        return say("trial.bore_slowly" if slow else "trial.bore_all")
    names = [figure_name(reading.figures[at]) for at in once(reading, sorted(fitting))]
    if first is None:
        return say("trial.figures_fit", names=names) if names else say("trial.not_explained")
    cause, verdict = first
    told_cause = say(
        "trial.cause_of_medium",
        cause=say(f"causes.name.{cause}"),
        verdict=say(f"cause_verdict.{VERDICTS[verdict]}"),
    )
    if not names:
        return told_cause
    return told_cause, say(
        "trial.borne_out"
        if any(cause in reading.figures[at].causes for at in fitting)
        else "trial.also_fit",
        names=names,
    )


def _ranking(reading: Reading, crop: str) -> RankedMedia:
    fared = [
        (OUTCOMES.index(outcome.grade), place)
        for place, one in enumerate(reading.media)
        if (outcome := one.of(crop))
    ]
    good = [place for grade, place in sorted(fared, key=lambda each: -each[0]) if _good(grade)]
    rest = [place for grade, place in sorted(fared, key=lambda each: -each[0]) if not _good(grade)]
    which = "all" if not rest else "none" if not good else "some"
    said = say(
        f"trial.ranking_{which}",
        crop=crop_name(reading, crop),
        now=labels(reading, good),
        mended=labels(reading, rest),
    )
    return RankedMedia(crop, media_names(reading, good), media_names(reading, rest), said)


def _good(grade: int) -> bool:
    return grade >= OUTCOMES.index("slow")


def _next(reading: Reading, contradictions: list[Contradiction]) -> Text | None:
    """Return what to measure next: what decides a contradiction, else what is not known."""
    if contradictions:
        first = contradictions[0]
        called = {one.name: one.called for one in reading.media}
        pair = [called[first.media[0]], called[first.refuted_by[0]]]
        return say(f"trial.decide_{first.decide_by}", media=pair)
    failed = [place for place, one in enumerate(reading.media) if one.failed]
    if not failed:
        return None
    ids = [each.id for each in reading.figures]
    unknown = [at for at in map(ids.index, _ASKED) if not _is_known(reading, failed, at)]
    decide = _deciding(reading, unknown, None)
    if decide == "sow_again":
        return None
    return say(f"trial.decide_{decide}", media=labels(reading, failed))
