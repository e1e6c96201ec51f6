"""The pictures of an answer, each only where it says something of that answer."""

from __future__ import annotations

import gc
import math
import textwrap
from collections import Counter
from collections.abc import Set
from itertools import accumulate, pairwise

from saltcalc.data.extraction import class_schemes
from saltcalc.data.reported_ions import reported_ions
from saltcalc.data.water_classes import infiltration_bands
from saltcalc.message import say
from saltcalc.science.diagnosis import STRENGTHS
from saltcalc.service.pages.container_pictures import STROKES, ContainerPictures
from saltcalc.service.pages.drawing import (
    BAND,
    FAINT,
    INK,
    LEGEND_ROW,
    SOFT,
    STRONG,
    Picture,
    canvas,
    legend_above,
    rounded_up,
    without_lines,
)
from saltcalc.service.pages.nutrient_figures import (
    MAX_RATIO_DRAWN,
    as_found,
    on_scale,
    usual_of,
    usual_told,
)
from saltcalc.words.catalogue import Words
from saltcalc.words.figures import figure as number
from saltcalc.words.rendering import Json
from saltcalc.words.text import figure

_MOST_CROPS = 4
_MOST_CAUSES, _LONGEST_CAUSE = 6, 24
_NARROWEST = 0.075
"""Share of a bar in which the symbol of an ion has room."""

_CHARGE = "meq/L"
"""As people write mmol_c/L, with the same figures."""


class Pictures(ContainerPictures):
    """The pictures of one answer, in the words of one language."""

    def __init__(self, answer: Json, words: Words, below: Set[str] = frozenset()) -> None:
        super().__init__(answer, words)
        self.below = below

    def class_scale(self) -> Picture | None:
        """Draw the reading on the classes of its method."""
        part = self.answer["salinity"]
        if not part or not part.get("class_scheme"):
            return None
        scheme = next(
            each
            for each in class_schemes()
            if (each.id, each.method) == (part["class_scheme"], part["class_method"])
        )
        read = part["ec_25c" if part["class_method"] == part["method"] else "ec_saturated_extract"]
        limits = scheme.limits
        value = read["value"]
        ends = (0.0, *limits, max(limits[-1] * 1.3, read.get("high", value) * 1.1))
        drawn, axes = canvas(92, left=10)
        most, suits = self._suits(read)
        for low, high in pairwise(sorted({*ends, min(most, ends[-1])})):
            ranks = [
                each.rank for each, end in zip(scheme.classes, ends[1:], strict=True) if high <= end
            ]
            ground = BAND if (high <= most if suits else ranks[0] == 0) else FAINT
            axes.barh(0, high - low, 0.5, low, color=ground, edgecolor="white", linewidth=1.5)
        if "low" in read and "high" in read:
            axes.plot([read["low"], read["high"]], [0, 0], color=INK, linewidth=5, alpha=0.45)
        axes.plot([value], [0], "o", color=STRONG, markersize=9, markeredgecolor="white")
        near = 0.03 * ends[-1]
        side = "right" if value > 0.7 * ends[-1] else "left"
        axes.text(min(max(value, near), ends[-1]), 0.42, _alone(read), ha=side, fontweight="bold")
        axes.set(xlim=(0, ends[-1]), ylim=(-0.35, 0.85), yticks=[], xticks=[0.0, *limits])
        axes.set_xticklabels([number(each) for each in (0.0, *limits)])
        axes.set_xlabel(self._axis("ec", read["unit"]))
        axes.spines["left"].set_visible(False)
        names = [self._say(f"ec_class.{each.id}") for each in scheme.classes]
        classes = [
            f"{name} {number(low)}–{number(high)}"
            for name, low, high in zip(names, ends, limits, strict=False)
        ]
        classes.append(f"{names[-1]} {number(limits[-1])}+")
        told = self._say(
            "picture.told.class_scale",
            reading=figure(read),
            classes=self.words.semicolons(classes),
            shaded=suits or self._say("picture.shaded.class"),
        )
        return self._done(drawn, "class_scale", told)

    def _suits(self, read: Json) -> tuple[float, str]:
        """Return up to where a reading suits the crops, and of which the limit is; else nothing."""
        crops = [each for each in self.answer["crops"] or [] if each.get("max_tolerated_ec")]
        extract = self.answer["salinity"].get("ec_saturated_extract")
        if not crops or not extract or not read["value"]:
            return math.inf, ""
        worst = min(crops, key=lambda each: each["max_tolerated_ec"]["value"])
        most = worst["max_tolerated_ec"]["value"] * read["value"] / extract["value"]
        told = self._say(
            "picture.shaded.crop",
            limit=figure({"value": most, "unit": read["unit"]}),
            crop=worst["name"],
            stage=say(f"stage.{worst['stage']}"),
        )
        return most, told

    def yields(self) -> Picture | None:
        """Draw the EC on the yield lines of the crops."""
        part = self.answer["salinity"]
        crops = [
            each
            for each in self.answer["crops"] or []
            if each.get("threshold") and each.get("slope")
        ][:_MOST_CROPS]
        if not part or not part.get("ec_saturated_extract") or not crops:
            return None
        read = part["ec_saturated_extract"]
        falls = [
            (each["threshold"]["value"], each["slope"]["value"], each["name"]) for each in crops
        ]
        zeros = [a + 100 / b for a, b, _ in falls]
        end = rounded_up(max(read.get("high", read["value"]) * 1.15, min(max(zeros), 14.0)))
        above = LEGEND_ROW * len(crops)
        drawn, axes = canvas(208 + above, top=8 + above)
        if "low" in read and "high" in read:
            axes.axvspan(read["low"], min(read["high"], end), color=BAND, linewidth=0)
        axes.axvline(read["value"], color=STRONG, linewidth=1.6)
        for (a, _, name), zero, stroke in zip(falls, zeros, STROKES, strict=False):
            axes.plot([0, a, zero], [100, 100, 0], color=INK, linewidth=1.8, linestyle=stroke)
            axes.plot([], [], color=INK, linewidth=1.8, linestyle=stroke, label=name)
        beside = 4 if read["value"] < 0.6 * end else -4
        axes.annotate(_alone(read), (read["value"], 104), (beside, 0), textcoords="offset points",
                      color=STRONG, fontweight="bold",
                      ha="left" if beside > 0 else "right")  # fmt: skip
        axes.set(xlim=(0, end), ylim=(0, 117), yticks=[0, 25, 50, 75, 100])
        axes.set_xlabel(self._axis("ec_saturated", read["unit"]))
        axes.set_ylabel(self._axis("yield", "%"))
        legend_above(axes, handlelength=2.6)
        told = self._say(
            "picture.told.yields",
            reading=figure(read),
            crops=self.words.semicolons(
                self._say(
                    "picture.told.yield",
                    crop=each["name"],
                    threshold=figure(each["threshold"]),
                    slope=number(each["slope"]["value"]),
                    left=figure(each["relative_yield"]),
                )
                for each in crops
            ),
        )
        return self._done(drawn, "yields", told)

    def ions(self) -> Picture | None:
        """Draw the cations against the anions."""
        part = (self.answer["ions"] or {}).get("medium")
        if not part:
            return None
        shares = part["shares"]
        known = reported_ions()
        amounts = [
            (each, amount)
            for each, amount in zip(shares["of_ions"], shares["as_charge"]["values"], strict=True)
            if amount and known[each].charge
        ]
        sides = {
            sign: sorted(
                ((each, amount) for each, amount in amounts if known[each].charge * sign > 0),
                key=lambda pair: -pair[1],
            )
            for sign in (1, -1)
        }
        if len(amounts) < 3 or not all(sides.values()):
            return None
        total = max(sum(amount for _, amount in side) for side in sides.values())
        drawn, axes = canvas(138, left=74)
        for row, side in zip((1, 0), sides.values(), strict=True):
            starts = [0.0, *accumulate(amount for _, amount in side)]
            for place, ((ion, amount), start) in enumerate(zip(side, starts, strict=False)):
                dark = place % 2 == 0
                axes.barh(row, amount, 0.62, start, color=SOFT if dark else BAND,
                          edgecolor="white", linewidth=1)  # fmt: skip
                if amount > _NARROWEST * total:
                    axes.text(start + amount / 2, row, _symbol(ion), ha="center", va="center",
                              color="white" if dark else INK, fontsize=11.5)  # fmt: skip
        axes.set(xlim=(0, total * 1.02), ylim=(-0.5, 1.5), yticks=[1, 0])
        axes.set_yticklabels([self._say("picture.cations"), self._say("picture.anions")])
        axes.set_xlabel(self._axis("charge", _CHARGE))
        without_lines(axes, "left")
        told = self._say(
            "picture.told.ions",
            unit=_CHARGE,
            cations=_listed(sides[1]),
            anions=_listed(sides[-1]),
        )
        return self._done(drawn, "ions", told)

    def causes(self) -> Picture | None:
        """Draw what speaks for each cause and against it, by how strong it is."""
        rows = [
            (each, *(each.get(f"evidence_{side}", []) for side in ("for", "against")))
            for each in self.answer["causes"]["ranked"]
        ]
        rows = [each for each in rows if each[1] or each[2]][:_MOST_CAUSES]
        if len(rows) < 2:
            return None
        ends = [max(_weight(row[side]) for row in rows) for side in (1, 2)]
        names = [textwrap.wrap(row["name"], _LONGEST_CAUSE) for row, _, _ in rows]
        room = [max(1.0, len(each) / 2) for each in reversed(names)]
        tops = [*accumulate(room)]
        places = [top - each / 2 for top, each in zip(tops, room, strict=True)]
        drawn, axes = canvas(34 * tops[-1] + 34, left=158, bottom=26)
        for place, (_, speaks, against) in zip(places, reversed(rows), strict=True):
            for sign, evidence, colour in ((1, speaks, STRONG), (-1, against, SOFT)):
                start = 0
                for each in evidence:
                    step = sign * _weight([each])
                    axes.barh(place, step, 0.5, start, color=colour, edgecolor="white",
                              linewidth=1.2)  # fmt: skip
                    start += step
        axes.axvline(0, color=INK, linewidth=1)
        axes.set(xlim=(-max(ends[1], 2) * 1.05, max(ends[0], 2) * 1.05), xticks=[0],
                 ylim=(-0.1, tops[-1] + 0.1), yticks=places)  # fmt: skip
        axes.set_xticklabels([f"← {self._say('page.against')}  |  {self._say('page.for')} →"])
        axes.set_yticklabels(["\n".join(each) for each in reversed(names)])
        without_lines(axes, "left", "bottom")
        told = self._say(
            "picture.told.causes",
            causes=self.words.semicolons(
                self._say(
                    "picture.told.cause",
                    cause=row["name"],
                    verdict=say(f"cause_verdict.{row['verdict']}"),
                    speaks=self._evidence(speaks),
                    against=self._evidence(against),
                )
                for row, speaks, against in rows
            ),
        )
        return self._done(drawn, "causes", told)

    def _evidence(self, evidence: list[Json]) -> str:
        """Return how much evidence there is, the strongest first."""
        counted = Counter(each["strength"] for each in evidence)
        return ", ".join(
            self._say(f"picture.strength.{each}", count=counted[each])
            for each in reversed(STRENGTHS)
            if counted[each]
        ) or self._say("picture.strength.none")

    def sodium(self) -> Picture | None:
        """Draw the sodium of the water against its EC, where it may harm the structure."""
        part = (self.answer["sodicity"] or {}).get("water")
        water = self.answer["water"]
        if not part or not water or part.get("infiltration_hazard") in (None, "none"):
            return None
        sar, ec = part["sar"]["value"], water["ec_25c"]["value"]
        bands = infiltration_bands()
        top = rounded_up(max(1.2 * sar, 12))
        end = max(rounded_up(1.2 * ec), 3.0)
        edges = [each.sar_low for each in bands] + [bands[-1].sar_high]
        drawn, axes = canvas(220)
        for limits, ground in (
            ([each.none_above for each in bands], FAINT),
            ([each.severe_below for each in bands], "#cbbfae"),
        ):
            axes.fill_betweenx(edges, 0, [*limits, limits[-1]], step="post", color=ground,
                               linewidth=0)  # fmt: skip
        axes.plot([ec], [sar], "o", color=STRONG, markersize=9, clip_on=False)
        axes.text(ec, sar, f"  {self._say('picture.water')}", va="center", fontweight="bold")
        axes.text(0.97 * end, 0.05 * top, self._say("picture.hazard.none"), ha="right")
        axes.text(0.02 * end, 0.9 * top, self._say("picture.hazard.severe"))
        axes.set(xlim=(0, end), ylim=(0, top))
        axes.set_xlabel(self._axis("ec_water", water["ec_25c"]["unit"]))
        axes.set_ylabel(self._axis("sar", ""))
        told = self._say(
            "picture.told.sodium",
            sar=number(sar),
            ec=figure(water["ec_25c"]),
            hazard=say(f"sodicity_class.{part['infiltration_hazard']}"),
        )
        return self._done(drawn, "sodium", told)

    def nutrients(self) -> Picture | None:
        """Draw the nutrients against their ranges."""
        part = self.answer["nutrients"]
        rows = [
            each
            for each in (part or {}).get("elements", [])
            if (each.get("range") or {}).get("high") and each.get("figure")
            and each["nutrient"] != "ph"
        ]  # fmt: skip
        if len(rows) < 2:
            return None
        drawn, axes = canvas(36 + 22 * len(rows), left=156, bottom=26)
        axes.axvspan(1, 2, color=BAND, linewidth=0)
        for place, row in enumerate(reversed(rows)):
            at = on_scale(row["figure"]["value"], usual_of(row))
            outside = row["status"] in ("low", "high")
            axes.plot([0, MAX_RATIO_DRAWN], [place, place], color=FAINT, linewidth=1, zorder=0)
            axes.plot([at], [place], "D" if outside else "o", markersize=8,
                      color=STRONG if outside else INK, clip_on=False)  # fmt: skip
        axes.set(xlim=(0, MAX_RATIO_DRAWN), ylim=(-0.6, len(rows) - 0.4), xticks=[0.4, 1.5, 3])
        axes.set_xticklabels(
            [self._say(f"picture.{each}") for each in ("low", "usual", "high")], fontsize=10.5
        )
        axes.set_yticks(range(len(rows)))
        axes.set_yticklabels(
            [
                f"{row['name']} {as_found(row, self.below).partition(' ')[0]}"
                for row in reversed(rows)
            ]
        )
        without_lines(axes, "left", "bottom")
        told = self._say(
            "picture.told.nutrients",
            rows=self.words.semicolons(
                f"{row['name']} {as_found(row, self.below)} ({usual_told(row, self.words)})"
                for row in rows
            ),
        )
        return self._done(drawn, "nutrients", told)

    def all(self) -> dict[str, list[Picture]]:
        """Return the pictures that say something, by the part of the answer that they belong to."""
        found: dict[str, list[Picture | None]] = {
            "salinity": [self.class_scale()],
            "crops": [self.yields()],
            "ions": [self.ions()],
            "flush": [*self.washouts()],
            "upkeep": [*self.weeks()],
            "causes": [self.causes()],
            "sodium": [self.sodium()],
            "nutrients": [self.nutrients()],
        }
        gc.collect()  # figures hold each other, so that nothing else frees them soon
        return {name: [each for each in drawn if each] for name, drawn in found.items()}


def _alone(read: Json) -> str:
    """Return a figure without its interval, which is drawn, and told below the picture."""
    return f"{number(read['value'])} {read['unit']}"


def _weight(evidence: list[Json]) -> int:
    """Return how long the bar of some evidence is: 1 for what is weak, to 4 for what decides."""
    return sum(STRENGTHS.index(each["strength"]) + 1 for each in evidence)


def _listed(side: list[tuple[str, float]]) -> str:
    return ", ".join(f"{_symbol(ion)} {number(amount)}" for ion, amount in side)


def _symbol(ion: str) -> str:
    ion_facts = reported_ions()[ion]
    return {"nitrate_n": "NO₃", "ammonium_n": "NH₄", "sulfate_s": "SO₄", "bicarbonate": "HCO₃"}.get(
        ion, ion_facts.reported_as
    )
