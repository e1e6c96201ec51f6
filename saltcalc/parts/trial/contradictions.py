"""Explanations that another medium of a trial refutes, and the one measurement that decides."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from saltcalc.case.trial import MOISTURE
from saltcalc.message import Message, say
from saltcalc.parts.causes.show import CAUSES
from saltcalc.parts.shown import part, shown
from saltcalc.parts.trial.reading import MEASURED, SALTY, Reading, Refutation
from saltcalc.parts.trial.told import (
    FIGURES,
    crop_name,
    figure_name,
    how_it_fared,
    labels,
    media_names,
    once,
    reading_name,
    told,
)
from saltcalc.science.diagnosis import SUPPORTED

ASKED = ("salts", "ammonium", "chloride", "repels_water", "crust", "ph_low", "stays_wet")
"""What may still differ between two media, in the order in which it is asked for (judgement)."""

MOST_DIFFERENT = 3
"""Figures that still differ of which a sentence tells."""

DECIDING = ("salts", "ammonium", "chloride", "repels_water", "ph_low", "sow_again")
"""What decides between two media; to sow both again where every figure is known."""


@part
class Contradiction:
    """An explanation that another medium refutes, or media that differ in the outcome alone."""

    cause: str | None = shown("Null where no figure differs at all.", choices=CAUSES)
    certain: bool = shown(
        "False where the cause may yet hold, as a medium where the crop failed may have more of it "
        "than is known, or was kept drier."
    )
    crop: str = shown()
    media: list[str] = shown("Where the crop failed.")
    refuted_by: list[str] = shown("Where it did well with as much, within the error, or more.")
    still_differ: list[str] = shown("Figures that still differ between them.", choices=FIGURES)
    not_known: list[str] = shown("What is not known of both.", choices=FIGURES)
    decide_by: str = shown("The one measurement in these media that decides.", choices=DECIDING)
    sentence: tuple[Message, ...] = shown(
        "What is refuted, and by which medium; of the first also what still differs and is not "
        "known; and what decides, where nothing else explains the media."
    )


def contradictions(reading: Reading) -> Iterator[Contradiction]:
    """Yield what is refuted, media with the same first cause together, each cause and crop once.

    What leaves a medium without an explanation comes first.
    """
    found: dict[tuple[str, str], tuple[list[int], list[int]]] = {}
    for place, one in enumerate(reading.media):
        for crop in one.failed:
            for number, (cause, verdict) in enumerate(reading.standing_out(place)):
                # Of what is only possible the first is blamed, where the crop does not tolerate it
                # and one might think of it.
                idle = number or not reading.is_suspected(crop, cause, place)
                if verdict != SUPPORTED and (idle or reading.stands(crop, cause, place)):
                    break
                if refuting := _clearest(reading, cause, crop, place):
                    bad, good = found.setdefault((cause, crop), ([], []))
                    bad.append(place)
                    good.extend(each for each in refuting if each not in good)
                    break
    explained = [reading.is_explained(place) for place in range(len(reading.media))]
    ordered = sorted(found.items(), key=lambda each: all(explained[place] for place in each[1][0]))
    for number, ((cause, crop), (bad, good)) in enumerate(ordered):
        told = _refuted(reading, cause, crop, bad, sorted(good))
        if number:
            # Media that are explained otherwise need no more than what is refuted.
            short = all(explained[place] for place in bad)
            headline, *_, decides = told.sentence
            told = replace(told, sentence=(headline,) if short else (headline, decides))
        yield told
    refuted = {(crop, place) for (_, crop), (bad, _) in found.items() for place in bad}
    for crop in reading.crops:
        twins = [
            (bad, good)
            for bad, good in reading.tracking[crop]
            if (crop, bad) not in refuted
            and not reading.shown_by_signs(bad)
            and not reading.stood_elsewhere(bad, good)
            and not _apart(reading, bad, good)
            and any(is_known(reading, (bad, good), at) for at, _ in enumerate(reading.figures))
        ]
        if twins:
            bads, goods = (sorted(set(each)) for each in zip(*twins, strict=True))
            yield _refuted(reading, None, crop, bads, goods)


def _clearest(reading: Reading, cause: str, crop: str, bad: int) -> list[int]:
    """Return the media that refute a cause: those with as much before those within the error."""
    refuting = reading.refuted_by(cause, crop, bad)
    own = [at for at, each in enumerate(reading.figures) if cause in each.causes]
    blamed = _blamed(reading, own, crop, [bad, *refuting])
    if blamed is None:
        return refuting
    low = reading.over[crop][0][:, blamed]
    return [each for each in refuting if low[each] >= low[bad]] or refuting


def _apart(reading: Reading, bad: int, good: int) -> list[int]:
    """Return the figures that differ between two media by more than their error."""
    return [int(each) for each in np.flatnonzero(reading.apart([bad, good]))]


def is_known(reading: Reading, places: Sequence[int], figure: int) -> bool:
    """Whether a figure is known of media; a floor is not, nor nitrogen of either form."""
    low, high = (ends[list(places), figure] for ends in reading.values)
    known = not np.isnan(low).any() and bool((low == high).all() or not reading.one_method)
    return known and not (
        reading.figures[figure].takes == "ec" and bool(reading.floors[list(places)].any())
    )


def _refuted(
    reading: Reading, cause: str | None, crop: str, bad: list[int], good: list[int]
) -> Contradiction:
    own = [at for at, each in enumerate(reading.figures) if cause in each.causes]
    blamed = _blamed(reading, own, crop, [*bad, *good])
    low = np.nan_to_num(reading.over[crop][0], nan=-1.0)

    def clearest(place: int) -> tuple[float, ...]:
        # What is blamed counts first, then all else, so that the order of the media does not.
        return (0.0 if blamed is None else low[place, blamed], *low[place])

    first, other = max(bad, key=clearest), max(good, key=clearest)
    ids = [each.id for each in reading.figures]
    differ = [at for at in once(reading, _apart(reading, first, other)) if at not in own]
    unknown = [at for at in map(ids.index, ASKED) if not is_known(reading, (first, other), at)]
    decide = deciding(reading, unknown, cause, first)
    # Salt harms more in a medium that was kept drier than the one that bore as much.
    confounded = cause in SALTY and any(map(reading.unlike_in_moisture, bad))
    certain = cause is None or any(
        reading.refutes(cause, crop, one, each) == Refutation.CERTAIN
        for one, each in reading.tracking[crop]
        if one in bad and each in good and not confounded
    )
    sentences = [
        _headline(reading, cause, crop, bad, good, blamed, certain=certain),
        *_beside(reading, cause, blamed, first, other),
    ]
    if differ:
        each = [_against(reading, at, first, other) for at in differ[:MOST_DIFFERENT]]
        sentences.append(say("trial.still_differ", each=each))
    elif cause:
        sentences.append(say("trial.nothing_else_differs"))
    explaining = reading.explanation_of(first, crop)
    if explaining:
        sentences.append(say("trial.explained_by", cause=say(f"causes.name.{explaining}")))
    else:
        sentences += _still_open(reading, first, other, unknown, decide)
    return Contradiction(
        cause=cause,
        certain=certain,
        crop=crop,
        media=media_names(reading, bad),
        refuted_by=media_names(reading, good),
        still_differ=[ids[at] for at in differ],
        not_known=[ids[at] for at in unknown],
        decide_by=decide,
        sentence=tuple(sentences),
    )


def _still_open(
    reading: Reading, first: int, other: int, unknown: list[int], decide: str
) -> Iterator[Message]:
    """Yield what is not known of a bad and a good medium, and the measurement that decides."""
    signs = [at for at, each in enumerate(reading.figures) if each.takes == "sign"]
    for place, opposite in ((first, other), (other, first)):
        alone = [
            say(f"observations.name.{reading.figures[at].figure}")
            for at in signs
            if _seen(reading, place, at) and np.isnan(reading.values[0][opposite, at])
        ]
        if alone:
            pair_of_signs = labels(reading, (place, opposite))
            yield say(
                "trial.seen_in_one", one=pair_of_signs[0], other=pair_of_signs[1], names=alone
            )
    if names := [
        figure_name(reading.figures[at])
        for at in unknown
        if not (_seen(reading, first, at) or _seen(reading, other, at))
    ]:
        yield say("trial.not_known_of_both", names=names)
    if reading.trial.moisture != MOISTURE[0]:
        told_of = "not_alike" if reading.trial.moisture else "not_told"
        yield say(f"trial.moisture_{told_of}")
    pair = labels(reading, (first, other))
    open_form = [each for each in (first, other) if len(reading.media[each].samples) > 1]
    if open_form and decide != "ammonium":
        yield say("trial.ask_ammonium", media=labels(reading, open_form))
    if decide == "ammonium" and not open_form:
        yield say("trial.decide_ammonium_alone", media=pair)
    else:
        yield say(f"trial.decide_{decide}", media=pair)


def _blamed(reading: Reading, own: list[int], crop: str, places: list[int]) -> int | None:
    """Return the figure that the blame rests on, of those that all of these media have."""
    known = [at for at in own if not np.isnan(reading.over[crop][0][places, at]).any()]
    measured = (at for at in known if reading.figures[at].takes in MEASURED)
    return next(measured, known[0] if known else None)


def _headline(
    reading: Reading,
    cause: str | None,
    crop: str,
    bad: list[int],
    good: list[int],
    blamed: int | None,
    *,
    certain: bool,
) -> Message:
    which, wanting, about = "nothing_differs", False, False
    if blamed is not None:
        low = reading.over[crop][0][:, blamed]
        wanting = reading.figures[blamed].harm == "low"
        about = bool(max(low[good]) < max(low[bad]))
    if cause:
        certainly = "refuted_about" if about else "refuted"
        which = certainly if certain else "not_borne_out"
    return say(
        f"trial.{which}_low" if cause and wanting else f"trial.{which}",
        figure="" if blamed is None else reading_name(reading.figures[blamed]),
        cause=say(f"causes.name.{cause}") if cause else "",
        crop=crop_name(reading, crop),
        failed=how_it_fared(reading, bad, crop),
        media=labels(reading, bad),
        bore=how_it_fared(reading, good, crop),
        others=labels(reading, good),
    )


def _beside(
    reading: Reading, cause: str | None, blamed: int | None, first: int, other: int
) -> Iterator[Message]:
    """Yield the figures that the blame rests on, side by side."""
    if cause is None or blamed is None or reading.figures[blamed].takes not in MEASURED:
        return
    places = [blamed]
    nitrogen = [each.takes for each in reading.figures].index("mineral_n")
    ends = reading.values[0][[first, other], nitrogen]
    # Nitrogen is a salt too, and what a report has of it counts for more than a floor.
    if cause in SALTY and reading.is_floor(first, blamed) and ends[1] >= ends[0]:
        places.append(nitrogen)
    each = [_against(reading, at, first, other) for at in places]
    names = labels(reading, (first, other))
    yield say("trial.side_by_side", each=each, first=names[0], other=names[1])
    if reading.is_floor(first, blamed):
        yield say("trial.may_be_more", media=labels(reading, [first]))


def _against(reading: Reading, at: int, first: int, other: int) -> Message:
    return say(
        "trial.against",
        figure=figure_name(reading.figures[at]),
        found=told(reading, first, at),
        other=told(reading, other, at),
    )


def _seen(reading: Reading, place: int, at: int) -> bool:
    """Tell whether a figure is a sign that was seen in a medium."""
    is_sign = reading.figures[at].takes == "sign"
    return is_sign and bool(reading.values[0][place, at] > 0)


def deciding(reading: Reading, unknown: Sequence[int], cause: str | None, bad: int) -> str:
    """Choose what to measure: the first that is not known.

    Ammonium comes first where it is blamed; and with the EC known, what another supported cause of
    the bad medium rests on.
    """
    ids = [reading.figures[at].id for at in unknown]
    still = {other for other, verdict in reading.open_causes(bad) if verdict == SUPPORTED}
    for at in unknown:
        if "salts" not in ids and still & {*reading.figures[at].causes}:
            return reading.figures[at].id if reading.figures[at].id in DECIDING else "sow_again"
    if cause and "ammonium" in ids and "ammonium" in cause:
        return "ammonium"
    return next((each for each in DECIDING if each in ids), "sow_again")
