"""What a trial of several media says: contradictions first, then what is alike and what is not."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

import numpy as np

from saltcalc.case.trial import GOOD, OUTCOMES
from saltcalc.message import Message, say
from saltcalc.parts.causes.show import CAUSES
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import Amount, Text, part, shown
from saltcalc.parts.trial.actions import (
    MENDED,
    Mending,
    TrialAction,
    in_every_medium,
    mended_by,
    mends_what,
)
from saltcalc.parts.trial.contradictions import Contradiction, contradictions, is_known
from saltcalc.parts.trial.explained import explanation
from saltcalc.parts.trial.next_check import next_check
from saltcalc.parts.trial.reading import TOLD_VERDICTS, Reading
from saltcalc.parts.trial.saving import Saving, saving_of
from saltcalc.parts.trial.told import (
    FIGURES,
    crop_name,
    figure_name,
    in_short,
    labels,
    media_names,
    once,
    told,
)
from saltcalc.science.trial import Tracking
from saltcalc.science.uncertainty import Interval

TRACKINGS = tuple(each.name.lower() for each in Tracking)
MOST_DIFFERENT = 5

TOLD_BY_ACTIONS = ("many_passes",)
"""Findings that the actions of a medium tell."""


@part
class TrackedCrop:
    """How a figure tracks the outcomes of one crop."""

    crop: str = shown()
    tracking: str = shown(
        "consistent where the figure fits how the crop fared in some medium, contradicted where it "
        "does in none.",
        choices=TRACKINGS,
    )
    consistent: int = shown("Pairs of a bad and a good medium that fit.")
    contradicted: int | None = shown("Pairs that contradict, where any does.", optional=True)
    pairs: int = shown("Pairs of media that were compared.")


@part
class TrackedFigure:
    """A figure in which media differ."""

    id: str = shown(choices=FIGURES)
    crops: list[TrackedCrop] = shown("Those of which it is not silent.")
    sentence: Text = shown()


@part
class ToldOutcome:
    """How one crop fared."""

    crop: str = shown()
    outcome: str = shown("How the crop fared in this medium.", choices=OUTCOMES)
    explained_by: list[str] = shown(
        "Figures that fit every pair and that no medium contradicts.",
        optional=True,
        choices=FIGURES,
    )


@part
class MediumInTrial:
    """What the trial says of one medium."""

    name: str = shown()
    outcomes: list[ToldOutcome] = shown("How each crop fared in it.")
    cause: str | None = shown(
        "First cause that no other medium refutes.", optional=True, choices=CAUSES
    )
    verdict: str | None = shown(
        "Likely is what is supported and yet not shown by itself: a shortage of nitrogen by a low "
        "EC alone, or too much salt where media were not kept equally moist.",
        optional=True,
        choices=TOLD_VERDICTS,
    )
    mineral_n: Amount = shown("Nitrate and ammonium together.", optional=True)
    nitrogen_lasts: Interval = shown(
        "From now, for the plants in a container by crop and age; nothing fed or leached. High "
        "counts the most that compost may set free.",
        "week",
        optional=True,
    )
    nitrogen_released: Interval = shown(
        "That compost in a container may set free; fresh compost may bind it instead.",
        "mg/week",
        optional=True,
    )
    explanation: Text = shown("Why crops fared so in it, in words.")
    actions: list[TrialAction] = shown("What to do to it, in this order.")
    saving: Saving | None = shown(optional=True)


@part
class RankedMedia:
    """Which medium for a crop."""

    crop: str = shown()
    name: str = shown()
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
    tried: list[MediumInTrial] = shown("What the trial says of each medium.")
    for_all: list[TrialAction] = shown(
        "To do to every medium alike, beside what is to be done to each."
    )
    ranking: list[RankedMedia] = shown("Which medium suits each crop best.")
    next_measurement: Text | None = shown(
        "What to measure next, and in which media, in words.", optional=True
    )


def show_trial(reading: Reading, notes: Notes) -> TrialAnswer | None:
    """Return what a trial says, or None where no outcome is told."""
    if not reading.crops:
        return None
    refuted = list(contradictions(reading))
    alike, in_short = _alike(reading)
    mendings = [Mending(reading, place, notes) for place in range(len(reading.media))]
    actions = [list(each.actions()) for each in mendings]
    notes.warnings = [each for each in notes.warnings if each.id not in TOLD_BY_ACTIONS]
    for_all = in_every_medium(actions)
    own = [
        [one for one in each if one.sentence not in [shared.sentence for shared in for_all]]
        for each in actions
    ]
    return TrialAnswer(
        contradictions=refuted,
        alike=[reading.figures[place].id for place in once(reading, alike)],
        alike_in_short=in_short,
        different=list(_different(reading, alike)),
        tried=[_medium(reading, each, own[place]) for place, each in enumerate(mendings)],
        for_all=for_all,
        ranking=[_ranking(reading, crop, own, for_all) for crop in reading.crops],
        next_measurement=next_check(reading, refuted, reading.assessment.notes()),
    )


def _alike(reading: Reading) -> tuple[list[int], Text | None]:
    """Return the figures in one class and within their error in all media, and tell them."""
    every = range(len(reading.media))
    apart = reading.apart(every)
    found = [
        at
        for at, each in enumerate(reading.figures)
        if each.takes != "sealed"
        and is_known(reading, every, at)
        and not apart[at]
        and all(
            len(set((reading.over[crop][0][:, at] > 1).tolist())) == 1 for crop in reading.crops
        )
    ]
    whole = {
        name
        for name in {each.reads for each in reading.figures}
        if all(at in found for at, each in enumerate(reading.figures) if each.reads == name)
    }
    found = [at for at in found if reading.figures[at].reads in whole]
    seen = [
        say(f"observations.name.{reading.figures[at].figure}")
        for at in found
        if reading.figures[at].takes == "sign" and (reading.values[0][:, at] > 0).all()
    ]
    beyond = {
        harm: [
            figure_name(reading.figures[at])
            for at in found
            if reading.figures[at].harm == harm
            and reading.figures[at].takes != "sign"
            and any(
                (reading.over[crop][0][:, at] > 1).all()
                for crop in reading.crops
                # A low EC is no want by itself, as one of a nutrient is.
                if (harm == "low" and reading.figures[at].takes != "low_ec")
                or not reading.throve(crop)
            )
        ]
        for harm in ("low", "high")
    }
    told_of: set[str] = {name for each in beyond.values() for name in (one.id for one in each)}
    sound = [
        figure_name(reading.figures[at])
        for at in once(reading, found)
        if figure_name(reading.figures[at]).id not in told_of
        and not (reading.figures[at].takes == "sign" and (reading.values[0][:, at] > 0).all())
        and not any(
            reading.figures[other].reads == reading.figures[at].reads
            and figure_name(reading.figures[other]).id in told_of
            for other in found
        )
    ]
    sentences = [say("trial.alike_sound", names=sound)] if sound else []
    sentences += [
        say(f"trial.alike_{harm}", names=names_of) for harm, names_of in beyond.items() if names_of
    ]
    if seen:
        sentences.append(say("trial.alike_seen", names=seen))
    if not sentences:
        return found, None
    return found, (*sentences, say("trial.alike_explains_nothing"))


def _different(reading: Reading, alike: Sequence[int]) -> Iterator[TrackedFigure]:
    """Yield what differs, what tracks the outcomes best first.

    What harms on either side of one reading, as a pH, is told together.
    """
    low = reading.values[0]
    of_reading: dict[str, list[int]] = {}
    for at, figure in enumerate(reading.figures):
        if at not in alike and np.isfinite(low[:, at]).sum() >= 2:
            of_reading.setdefault(figure.reads, []).append(at)
    apart = reading.apart(range(len(reading.media)))
    rows = []
    for places in of_reading.values():
        fits = [_fits(reading, crop, places) for crop in reading.crops]
        good = sum(len(each.media) for each in fits)
        against = sum(len(each.others) for each in fits)
        if apart[places].any() or good or against:
            rows.append(((-good, against, places[0]), places[0], fits))
    for _, at, fits in sorted(rows, key=lambda each: each[0])[:MOST_DIFFERENT]:
        crops = [each.crop for each in fits if each.crop.tracking != "silent"]
        yield TrackedFigure(reading.figures[at].id, crops, _tell(reading, at, fits))


class _Fits(NamedTuple):
    """How a figure tracks a crop: the media that it fits of those in which it failed, or not."""

    crop: TrackedCrop
    media: list[int]
    others: list[int]


def _fits(reading: Reading, crop: str, places: Sequence[int]) -> _Fits:
    codes = {
        pair: {int(found[at]) for at in places} for pair, found in reading.tracking[crop].items()
    }
    against = [pair for pair, found in codes.items() if Tracking.CONTRADICTED in found]
    bad = sorted({place for place, _ in codes})
    fits = [place for place in bad if {*places} & {*reading.explaining(place, crop)}]
    not_in = [
        place for place in bad if place not in fits and place in {each for each, _ in against}
    ]
    tracked = TrackedCrop(
        crop=crop,
        tracking="consistent" if fits else "contradicted" if not_in else "silent",
        consistent=sum(Tracking.CONSISTENT in found for found in codes.values()),
        contradicted=len(against) or None,
        pairs=len(codes),
    )
    return _Fits(tracked, fits, not_in)


def _tell(reading: Reading, at: int, fits: list[_Fits]) -> Message:
    low = reading.values[0][:, at]
    known = [int(each) for each in np.flatnonzero(~np.isnan(low))]
    least, most = min(known, key=lambda each: low[each]), max(known, key=lambda each: low[each])
    named = {
        "figure": figure_name(reading.figures[at]),
        "crops": list(_tell_crops(reading, fits)) or [say("trial.tracks_nothing")],
    }
    if low[least] == low[most]:
        value = told(reading, least, at)
        return say("trial.same_in", value=value, media=labels(reading, known), **named)
    return say(
        "trial.differs",
        low=told(reading, least, at),
        least=reading.media[least].called,
        high=told(reading, most, at),
        most=reading.media[most].called,
        **named,
    )


def _tell_crops(reading: Reading, fits: list[_Fits]) -> Iterator[Message]:
    """Tell in which media a figure fits how crops fared, crops alike in that together."""
    alike: dict[tuple[tuple[int, ...], tuple[int, ...]], list[str]] = {}
    for each in fits:
        if each.media or each.others:
            own = tuple(each.media), tuple(each.others)
            alike.setdefault(own, []).append(crop_name(reading, each.crop.crop))
    for (media, others), names in alike.items():
        which = "fits_in_some" if media and others else "fits_in" if media else "fits_not_in"
        yield say(
            f"trial.{which}",
            crops=names,
            media=in_short(labels(reading, media)),
            others=in_short(labels(reading, others)),
        )


def _medium(reading: Reading, mending: Mending, actions: list[TrialAction]) -> MediumInTrial:
    place, one = mending.place, mending.one
    causes = reading.open_causes(place)
    ids = [each.id for each in reading.figures]
    explained = {crop: reading.explaining(place, crop) for crop in one.failed}
    fitting = {at for each in explained.values() for at in each}
    first = causes[0] if causes else None
    nitrogen = told(reading, place, ids.index("nitrogen_short"))
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
        verdict=reading.told_verdict(place, *first) if first else None,
        mineral_n=_amount(nitrogen, "mg/L"),
        nitrogen_lasts=mending.lasts,
        nitrogen_released=mending.released,
        explanation=explanation(reading, mending, fitting),
        actions=actions,
        saving=saving_of(mending),
    )


def _amount(found: Any, unit: str) -> Amount:
    if not isinstance(found, Amount):
        return Amount(math.nan, unit)
    open_end = math.isnan(found.high) and not math.isnan(found.low)
    return found._replace(high=math.inf) if open_end else found


def _ranking(
    reading: Reading, crop: str, actions: list[list[TrialAction]], for_all: list[TrialAction]
) -> RankedMedia:
    """Return the media by how a crop fared, then by what else failed, then by what is to be done.

    Those alike in that stand in the order of how far their figures lie beyond the limits.
    """
    fared = [
        (place, OUTCOMES.index(outcome.grade))
        for place, one in enumerate(reading.media)
        if (outcome := one.of(crop))
    ]
    # A low EC is no fault of a medium that bore the crop.
    low = np.delete(reading.over[crop][0], reading.at("low_ec"), axis=1)

    def order(each: tuple[int, int]) -> tuple[float, ...]:
        place, grade = each
        worst = np.nanmax(np.append(low[place], 0.0))
        return -grade, len(reading.media[place].failed), len(actions[place]), worst

    places = [place for place, _ in sorted(fared, key=order)]
    grades = dict(fared)
    thrived = [each for each in places if OUTCOMES[grades[each]] == "thrived"]
    slow = [each for each in places if OUTCOMES[grades[each]] == "slow"]
    rest = [each for each in places if OUTCOMES[grades[each]] not in GOOD]
    parts = [
        say(f"trial.rank_{which}", media=media)
        for which, media in (
            ("now", labels(reading, thrived)),
            ("slow", labels(reading, slow)),
            ("mend", list(_to_mend(reading, rest, actions, for_all))),
        )
        if media
    ]
    said = say("trial.ranking", crop=crop_name(reading, crop), parts=parts)
    return RankedMedia(
        crop=crop,
        name=crop_name(reading, crop),
        sow_now=media_names(reading, thrived + slow),
        mend_first=media_names(reading, rest),
        sentence=said,
    )


def _to_mend(
    reading: Reading,
    places: Sequence[int],
    actions: list[list[TrialAction]],
    for_all: list[TrialAction],
) -> Iterator[Message]:
    """Tell media with what is to be done to them first, those alike in it together."""
    alike: dict[tuple[str, ...], list[int]] = {}
    for place in places:
        # Of what is done, also to all alike, that is told which mends why a crop failed in it.
        standing = {mended_by(cause) for cause, _ in reading.open_causes(place)}
        done = [
            each
            for each in (*actions[place], *for_all)
            if each.cause or mends_what(each) in standing
        ]
        mends = [f"trial.mend_{each}" for each in dict.fromkeys(map(mends_what, done)) if each]
        if mends == ["trial.mend_nitrogen"] and reading.hungry_by_ec(place):
            mends = ["trial.mend_nitrogen_by_ec"]
        helped = [f"causes.name.{e.cause}" for e in done if e.cause and e.cause not in MENDED]
        what = (*mends, *helped)
        alike.setdefault(what, []).append(place)
    for what, media in alike.items():
        yield say(
            "trial.mend_with" if what else "trial.mend_unknown",
            medium=labels(reading, media),
            what=[say(each) for each in what],
        )
