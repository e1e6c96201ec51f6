"""A trial of several media: how each crop fared in each, and what that says of each medium."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from saltcalc.case.inputs import Choice, Number, Row, Whole, given, table
from saltcalc.case.intake import Request

OUTCOMES = ("died", "stunted", "pale", "slow", "thrived")
"""How a crop fared, the worst first; slow means slow but sound."""

GOOD = ("slow", "thrived")
DIED_AT = ("emergence", "cotyledons", "first_true_leaves", "later")
MOISTURE = ("alike", "not_alike")
WEEKS_WANTED = 6.0
"""Weeks that nitrogen is to last where nothing else is wanted (judgement)."""

OF_A_PLACE = frozenset({"cold_nights"})
"""Signs of where a medium stood, not of the medium."""

EARLY_WEEK = 3.0
"""Week up to which a plant that stops growing stalls at its first leaves (judgement)."""

AGE, DAYS_A_WEEK = "plant_age", 7.0

_DEATH_SIGNS = {
    "emergence": "poor_emergence",
    "cotyledons": "died_at_cotyledons",
    "first_true_leaves": "died_at_first_true_leaves",
}


@table
class Outcome:
    """How one crop fared in one medium."""

    crop: str = given(Row("crops"), "Id, common or botanical name.", required=True)
    outcome: str = given(
        Choice(OUTCOMES),
        "How it fared, the worst first; slow is slow but sound.",
        required=True,
    )
    from_week: float | None = given(
        Number(0, 520), "Week after sowing from which it was pale, stunted or dead."
    )
    died_at: str | None = given(Choice(DIED_AT), "The stage at which it died.")
    resown: int | None = given(Whole(0, 100), "How many times it was sown again.")

    @property
    def grade(self) -> str:
        """The outcome; a crop that throve only after it was sown again did no better than slow."""
        return "slow" if self.outcome == "thrived" and self.resown else self.outcome

    @property
    def good(self) -> bool:
        """Whether the medium bore the crop."""
        return self.outcome in GOOD

    @property
    def signs(self) -> Iterator[str]:
        """Signs that it is."""
        if self.outcome == "pale":
            yield "pale_whole_plant"
        if self.outcome == "stunted" and (self.from_week or EARLY_WEEK + 1) <= EARLY_WEEK:
            yield "stalled_at_first_leaves"
        if self.outcome == "died" and self.died_at in _DEATH_SIGNS:
            yield _DEATH_SIGNS[self.died_at]
        if self.resown:
            yield "poor_emergence"


@table
class Trial:
    """What was kept alike, and what is wanted."""

    moisture: str | None = given(Choice(MOISTURE), "Whether all media were kept equally moist.")
    weeks: float | None = given(
        Number(0, 520),
        "Weeks from sowing to the outcomes; taken for the age of the plants where that is not "
        "given.",
    )
    weeks_wanted: float | None = given(
        Number(0.5, 104), "Weeks that the nitrogen is to last; six if left out."
    )


def trial_of(request: Request) -> Trial:
    """Return the design of the trial of a loaded request.

    It has no weeks where the age of the plants is given as well.
    """
    given = dict(request.get("trial") or {})
    if AGE in request:
        given.pop("weeks", None)
    return Trial(**{name: given.get(name) for name in Trial.__dataclass_fields__})


def with_age(request: Request, trial: Trial) -> dict[str, Any]:
    """Return a request with the age of its plants, where the weeks of the trial tell it."""
    aged = {} if trial.weeks is None else {AGE: DAYS_A_WEEK * trial.weeks}
    return {**request, **aged}


def outcomes_of(medium: Request) -> tuple[Outcome, ...]:
    """Return the outcomes of a loaded medium."""
    names = Outcome.__dataclass_fields__
    return tuple(
        Outcome(**{name: each.get(name) for name in names}) for each in medium.get("outcomes", ())
    )


def as_evidence(media: Sequence[Request]) -> list[dict[str, Any]]:
    """Return media whose outcomes are told as signs, and as the crops that thrive in them.

    A sign that was reported either way stays as it was reported. Media of which a sign of a place
    was not told did not stand where one did of which it was told, and are not held against it.
    """
    fared = [outcomes_of(medium) for medium in media]
    places = [OF_A_PLACE & {*medium.get("observations", ())} for medium in media]
    return [
        _with_signs(
            medium,
            own,
            [
                each
                for other, signs in zip(fared, places, strict=True)
                if other is not own and signs >= place
                for each in other
            ],
        )
        for medium, own, place in zip(media, fared, places, strict=True)
    ]


def _with_signs(
    medium: Request, own: Sequence[Outcome], others: Sequence[Outcome]
) -> dict[str, Any]:
    if not own:
        return dict(medium)
    seen, not_seen = dict.fromkeys(medium.get("observations", ())), set(medium.get("not_seen", ()))
    told = [sign for each in own for sign in each.signs]
    failed = {each.crop for each in own if not each.good}
    thrives = [each.crop for each in own if each.grade == "thrived"]
    if len(own) > 1 and len(failed) == len(own):
        told.append("every_crop_stalls")
    elsewhere = [each for each in others if each.crop in failed]
    missed = []
    if any(each.good for each in elsewhere):
        told.append("thrives_in_other_medium")
    elif elsewhere:
        missed.append("thrives_in_other_medium")
    return {
        **medium,
        "observations": [*seen, *(each for each in dict.fromkeys(told) if each not in not_seen)],
        "not_seen": [*not_seen, *(each for each in missed if each not in seen)],
        "thriving_crops": [
            *medium.get("thriving_crops", ()),
            *(crop for crop in thrives if crop not in medium.get("thriving_crops", ())),
        ],
    }


def with_crops(crops: Sequence[Request], media: Sequence[Request]) -> list[Request]:
    """Return the crops of a request, and those that only its outcomes name, as seedlings."""
    known = {each["crop"] for each in crops}
    named = {each.crop: None for medium in media for each in outcomes_of(medium)}
    return [*crops, *({"crop": crop} for crop in named if crop not in known)]
