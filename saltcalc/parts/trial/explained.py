"""Why crops fared as they did in one medium of a trial, and how long its nitrogen lasts."""

from __future__ import annotations

import math
from collections.abc import Iterator

from saltcalc.case.vocabulary import STAGES
from saltcalc.message import Message, say
from saltcalc.parts.ions.show import show_ions
from saltcalc.parts.shown import Text
from saltcalc.parts.trial.actions import Mending
from saltcalc.parts.trial.reading import HUNGER, SALTY, Reading
from saltcalc.parts.trial.told import crop_name, figure_name, in_short, labels, once
from saltcalc.science.diagnosis import SUPPORTED

MOST_CAUSES = 3


def explanation(reading: Reading, mending: Mending, fitting: set[int]) -> Text:
    """Say why crops failed in a medium, or that they did not.

    Parameters
    ----------
    reading : Reading
        The trial.
    mending : Mending
        Of the medium.
    fitting : set of int
        Figures that fit what happened, and that no other medium contradicts.
    """
    one = mending.one
    if not one.outcomes:
        return say("trial.no_outcome")
    if one.failed:
        return (*_causes(reading, mending, fitting), *_nitrogen(mending))
    slow = any(each.grade == "slow" for each in one.outcomes)
    bore = say("trial.bore_slowly" if slow else "trial.bore_all")
    above = (*_above_limit(reading, mending.place), *_slow_by_salt(reading, mending.place))
    return (bore, *above, *_nitrogen(mending))


def _above_limit(reading: Reading, place: int) -> Iterator[Message]:
    """Say that a crop throve though the EC reads well above its limit."""
    if found := reading.grew_above_limit(place):
        crop, times = found
        at = reading.at("salts")
        yield say(
            "trial.bore_above_limit",
            crop=crop_name(reading, crop),
            ec=float(reading.values[0][place, at]),
            times=times,
        )


def _slow_by_salt(reading: Reading, place: int) -> Iterator[Message]:
    """Say that salt may be why a crop was slow: the EC is above its limit by more than the error.

    It is not where the crop thrived in another medium with as much.
    """
    at = reading.at("salts")
    for each in reading.media[place].outcomes:
        low, _ = reading.over[each.crop]
        over = float(low[place, at])
        bore = [
            float(low[other, at])
            for other, one in enumerate(reading.media)
            if (outcome := one.of(each.crop)) and outcome.grade == "thrived"
        ]
        if each.grade == "slow" and over >= reading.errors[at] and not max(bore, default=0) >= over:
            yield say(
                "trial.slow_by_salt",
                crop=crop_name(reading, each.crop),
                ec=float(reading.values[0][place, at]),
                times=over,
            )


def _causes(reading: Reading, mending: Mending, fitting: set[int]) -> Iterator[Message]:
    place, causes = mending.place, mending.causes
    figures = once(reading, sorted(fitting))
    names = [figure_name(reading.figures[at]) for at in figures]
    if not causes:
        if names:
            yield say("trial.figures_fit", names=names)
        else:
            yield _not_explained(reading, place)
        if reading.unlike_in_moisture(place):
            yield say("trial.moisture_part")
        return
    verdict = next(iter(causes.values()))
    told = [cause for cause, each in causes.items() if each == verdict][:MOST_CAUSES]
    as_sure: dict[str, list[str]] = {}
    for cause in told:
        as_sure.setdefault(reading.told_verdict(place, cause, verdict), []).append(cause)
    for how_sure, those in as_sure.items():
        yield say(
            "trial.cause_of_medium",
            causes=[say(f"causes.name.{each}") for each in those],
            verdict=say(f"cause_verdict.{how_sure}"),
        )
    if verdict == SUPPORTED and HUNGER in told and reading.hungry_by_ec(place):
        at = reading.at("low_ec")
        yield say("trial.low_ec_stands_for_nitrogen", ec=float(reading.values[0][place, at]))
    if verdict == SUPPORTED and {*told} & {*SALTY}:
        yield from _how_salty(reading, place)
    ammonium = reading.at("ammonium")
    if SALTY[0] in told and ammonium in fitting and reading.goes_with_salt(place, ammonium):
        yield say("trial.ammonium_goes_with_salt")
    own = [name for at, name in zip(figures, names, strict=True) if reading.explains(at, told)]
    also = [
        name
        for at, name in zip(figures, names, strict=True)
        if name not in own and not reading.is_contradicted(place, at)
    ]
    if own:
        agreeing = reading.bearing_out(place, [at for at in fitting if reading.explains(at, told)])
        media = in_short(labels(reading, agreeing))
        yield say("trial.borne_out", names=own, media=media)
    if also:
        yield say("trial.also_fit", names=also)
    if reading.unlike_in_moisture(place):
        yield say("trial.dryness" if {*told} & {*SALTY} else "trial.moisture_part")


def _how_salty(reading: Reading, place: int) -> Iterator[Message]:
    """Say how far the EC is above the limit of the crop that failed, and which salt it is."""
    one, assessment = reading.media[place], reading.assessment
    at = reading.at("salts")
    read = assessment.salinity.saturated_extract.value
    found = float(min(read[sample] for sample in one.samples))
    limits = {crop: reading.limit(reading.figures[at], one, crop) for crop in one.failed}
    crop = min(limits, key=lambda each: limits[each])
    if found > limits[crop]:
        stages = {
            assessment.crop_ids[row]: STAGES[assessment.batch.plantings.stage[row]]
            for row in assessment.plantings_of(one.samples[0])
        }
        least = bool(reading.floors[place])
        yield say(
            f"summary.above_limit{'_at_least' if least else ''}",
            times=found / limits[crop],
            crop=crop_name(reading, crop),
            stage=say(f"stage.{stages[crop]}"),
            found=found,
            limit=limits[crop],
        )
        yield from _seen_to_stand(reading, place, crop, limits[crop])
    media = [show_ions(assessment, each, assessment.notes()).medium for each in one.samples]
    names = [each.dominant_salts.name for each in media if each and each.dominant_salts]
    if names:
        # As nitrate comes first; which salt it is may rest on that.
        either_way = names == names[:1] * len(media)
        yield say(
            "summary.which_salt" if either_way else "trial.which_salt_as_nitrate", salt=names[0]
        )


def _seen_to_stand(reading: Reading, place: int, crop: str, limit: float) -> Iterator[Message]:
    """Say where the crop grew well above its published limit, by the same method."""
    at = reading.at("salts")
    low = reading.values[0][:, at]
    stood = [
        other
        for other, one in enumerate(reading.media)
        if (outcome := one.of(crop)) and outcome.grade == "thrived"
        if not reading.floors[other] and limit < low[other] < low[place] and reading.one_method
    ]
    if stood:
        best = max(stood, key=lambda other: float(low[other]))
        yield say(
            "trial.stood_more",
            crop=crop_name(reading, crop),
            medium=labels(reading, [best])[0],
            found=float(low[best]),
        )


def _nitrogen(mending: Mending) -> Iterator[Message]:
    """Say how long the nitrogen lasts, where plants stand and no dose of it is told."""
    value, low, high = (float(each) for each in mending.lasts)
    if math.isnan(value) or not mending.plants_stand or mending.doses_nitrogen:
        return
    weeks = [float(f"{each:.{1 if each < 10 else 2}g}") for each in (value, low, high)]
    yield say(
        "trial.nitrogen_lasts",
        weeks=say("nutrients.weeks", count=weeks[0]),
        low=weeks[1],
        high=weeks[2],
    )


def _not_explained(reading: Reading, place: int) -> Message:
    """Say that nothing explains a medium, or nothing but what may be more than is known."""
    one = reading.media[place]
    refuted = [
        (cause, reading.refuted_by(cause, crop, place))
        for cause, verdict in reading.standing_out(place)
        for crop in one.failed
        if verdict == SUPPORTED
    ]
    for cause, media in refuted:
        if media:
            name = say(f"causes.name.{cause}")
            return say("trial.not_explained_by", cause=name, media=labels(reading, media))
    return say("trial.not_explained")
