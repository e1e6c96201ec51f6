"""What to measure or look at next in the media of a trial."""

from __future__ import annotations

from collections.abc import Sequence

from saltcalc.data.causes import next_measurements
from saltcalc.data.observations import observations
from saltcalc.message import say
from saltcalc.parts.causes.show import show_next_measurement
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import Text
from saltcalc.parts.trial.contradictions import Contradiction, is_known
from saltcalc.parts.trial.reading import SALTY, Reading
from saltcalc.parts.trial.told import labels

_AGAIN = {
    **dict.fromkeys(SALTY, "ec"),
    "nitrogen_shortage": "green",
    "ph_too_low": "ph",
    "ph_too_high": "ph",
}
"""By the cause of a medium that is explained, what shows that it is mended."""

OF_A_COLD_PLACE = "cold_root_zone"
"""What is looked at where only a medium that failed was told to have stood cold."""


def next_check(reading: Reading, refuted: Sequence[Contradiction], notes: Notes) -> Text | None:
    """Return what to measure next.

    That is what decides a contradiction; else what is not known of media that nothing explains yet;
    else what would show the first cause of those that failed.
    """
    place_of = {one.name: place for place, one in enumerate(reading.media)}
    still = (
        each
        for each in refuted
        if any(reading.explanation_of(place_of[name], each.crop) is None for name in each.media)
    )
    if first := next(still, None):
        return first.sentence[-1]
    failed = [place for place, one in enumerate(reading.media) if one.failed]
    open_still = [place for place in failed if not reading.is_explained(place)]
    salts = reading.at("salts")
    if open_still and not is_known(reading, open_still, salts):
        return say("trial.decide_salts", media=labels(reading, open_still))
    for place in range(len(reading.media)):
        if swapped := [each for each in reading.may_be_swapped(place) if each in open_still]:
            return say("trial.decide_salts", media=labels(reading, sorted([place, *swapped])))
    by_form = [place for place in open_still if reading.would_by_ammonium(place)]
    if by_form:
        return say("trial.ask_ammonium", media=labels(reading, by_form))
    checks: dict[str, list[int]] = {}
    for place in open_still or failed:
        again = None if open_still else _AGAIN.get(reading.open_causes(place)[0][0])
        if again and (again != "green" or reading.media[place].plants_stand):
            again = f"trial.again_{again}"
            if again == "trial.again_ec" and reading.unlike_in_moisture(place):
                again = "trial.again_ec_equally_moist"
            return say(again, media=labels(reading, [place]))
        sample = reading.media[place].samples[0]
        check = _own_check(reading, place)
        if check is None and not (reading.shown_by_signs(place) and reading.is_explained(place)):
            found = show_next_measurement(reading.assessment, sample, notes)
            check = found.id if found else None
        if check:
            checks.setdefault(check, []).append(place)
    for check_id, places in checks.items():
        name = say(f"next_measurements.name.{check_id}")
        return say("trial.next_check", check=name, media=labels(reading, places))
    return None


def _own_check(reading: Reading, place: int) -> str | None:
    """Return the cheapest check of the cause that signs of a medium speak for, if not yet done."""
    apart = [
        reading.stood_elsewhere(bad, good)
        for crop in reading.media[place].failed
        for bad, good in reading.tracking[crop]
        if bad == place
    ]
    if reading.shown_by_signs(place):
        cause, _ = reading.open_causes(place)[0]
    elif apart and all(apart):
        cause = OF_A_COLD_PLACE
    else:
        return None
    batch, sample = reading.assessment.batch, reading.media[place].samples[0]
    signs = list(observations())
    told = batch.samples.observations[sample] | batch.samples.not_seen[sample]
    seen = {sign for sign, known in zip(signs, told, strict=True) if known}
    checks = [
        each
        for each in next_measurements().values()
        if cause in each.outcomes and not seen & {one for group in each.done_when for one in group}
    ]
    first = min(checks, key=lambda each: each.cost_rank, default=None)
    return first.id if first else None
