"""The pictures of containers: how they are flushed, and the weeks after; alike ones drawn once."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from typing import Any, TypeVar

from saltcalc.message import say
from saltcalc.service.pages.drawing import (
    BAND,
    INK,
    LEGEND_ROW,
    SOFT,
    STRONG,
    Picture,
    canvas,
    finished,
    in_whole_steps,
    legend_above,
    rounded_up,
)
from saltcalc.words.catalogue import Words
from saltcalc.words.figures import figure as number
from saltcalc.words.rendering import Json
from saltcalc.words.text import figure

STROKES = ("-", (0, (6, 2)), (0, (2, 2)), (0, (6, 2, 1, 2)))
_MOST_OF_A_KIND = 3
"""Containers of which each kind of picture is drawn; each takes time, and the rest is told."""

_OF_WASHOUT = (
    "pass_by_pass",
    "applied_each",
    "water_per_container",
    "target_pore_water",
    "rested_check",
)
"""What the picture of a plan shows of it."""

_Shown = TypeVar("_Shown")


class ContainerPictures:
    """The pictures of the containers of one answer, in the words of one language."""

    def __init__(self, answer: Json, words: Words) -> None:
        self.answer, self.words = answer, words

    def _say(self, message: str, /, **told: Any) -> str:
        return self.words.say(say(message, **told))

    def _axis(self, quantity: str, unit: str) -> str:
        return self._say(f"picture.axis.{quantity}", unit=unit)

    def _done(self, drawn: Any, name: str, told: str, of: str = "") -> Picture:
        title = self._say(f"picture.title.{name.rpartition('-')[0] or name}")
        title = f"{title} · {of}" if of else title
        return Picture(name, title, told) if drawn is None else finished(drawn, name, title, told)

    def washouts(self) -> Iterator[Picture]:
        """Draw the EC of the medium and of what drains, by the litres poured, for each plan."""
        rows = zip(self.answer["flush_plan"] or [], self.answer["upkeep"] or [], strict=False)
        shown = (
            (plan["container"], (plan, kept["limit"]), [plan.get(each) for each in _OF_WASHOUT])
            for plan, kept in rows
            if len((plan.get("pass_by_pass") or {}).get("pass_numbers", ())) >= 2
            if plan["drainage"] != "sealed" and not plan.get("held_back")
        )
        for place, ((plan, limit), names) in enumerate(_once_each(shown)):
            yield self._washout(plan, limit, place, self.words.semicolons(names))

    def _washout(self, plan: Json, limited: Json, place: int, called: str) -> Picture:
        passes = plan["pass_by_pass"]
        each = plan["applied_each"]["value"]
        poured = [each * count for count in passes["pass_numbers"]]
        medium, drains = passes["pore_water"]["values"], passes["drainage_ec"]["values"]
        now = self.answer["salinity"]["ec_pore_water"]
        water = plan["water_per_container"]
        target = plan["target_pore_water"]["value"]
        limit = limited["value"] if "goes_further" in plan else None
        check = plan.get("rested_check") or {}
        checked = check.get("pour_through")
        wait = figure(check["wait"]) if check else ""
        told = self._say(
            "picture.told.washout_checked" if checked else "picture.told.washout",
            check=figure(checked) if checked else "",
            wait=wait,
            container=called or self._say("report.container"),
            now=figure(now),
            after=number(medium[-1]),
            target=figure(plan["target_pore_water"]),
            limit=figure(plan["target_pore_water"] if limit is None else limited),
            litres=figure(water),
            passes=len(poured),
            drains=number(drains[-1]),
        )
        if place >= _MOST_OF_A_KIND:
            return self._done(None, f"washout-{place}", told, called)
        top = rounded_up(1.05 * max(now["value"], *(each for each in drains if each)))
        drawn, axes = canvas(236)
        axes.axhspan(0, target, color=BAND, linewidth=0)
        axes.plot([0, *poured], [now["value"], *medium], color=INK, linewidth=1.8,
                  label=self._say("picture.line.medium"))  # fmt: skip
        axes.plot(poured, drains, color=SOFT, linewidth=1.6, linestyle=STROKES[1],
                  label=self._say("picture.line.drainage"))  # fmt: skip
        if "low" in water and "high" in water:
            axes.plot([water["low"], water["high"]], [0.02 * top] * 2, color=STRONG,
                      linewidth=4, solid_capstyle="butt",
                      label=self._say("picture.line.litres"))  # fmt: skip
        axes.plot([water["value"]], [0.02 * top], "o", color=STRONG, clip_on=False)
        goal_above = "bottom" if limit is None else "top"
        axes.text(0.01 * poured[-1], target, f" {self._say('picture.goal')}", va=goal_above)
        if limit is not None:
            axes.axhline(limit, color=SOFT, linewidth=1.2, linestyle=STROKES[2])
            axes.text(0.01 * poured[-1], limit, f" {self._say('picture.line.limit')}", va="bottom")
        if checked:
            axes.plot([poured[-1]], [checked["value"]], "D", color=STRONG, markersize=7,
                      markerfacecolor="white", markeredgewidth=2, clip_on=False, zorder=5,
                      linestyle="",
                      label=self._say("picture.line.check", wait=wait))  # fmt: skip
        end = max(poured[-1], water.get("high", 0)) * 1.03
        axes.set(ylim=(0, top), xlim=(0, end))
        axes.set_xlabel(self._axis("litres", plan["applied_each"]["unit"]))
        axes.set_ylabel(self._axis("ec", now["unit"]))
        axes.legend(frameon=False, fontsize=11.5, loc="upper right")
        return self._done(drawn, f"washout-{place}", told, called)

    def weeks(self) -> Iterator[Picture]:
        """Draw the weeks after the flush, for each kind of container."""
        shown = (
            (row["container"], row, [row["limit"], row["build_up"]])
            for row in self.answer["upkeep"] or []
            if row.get("build_up") and row.get("limit")
        )
        for place, (row, names) in enumerate(_once_each(shown)):
            yield self._weeks(row, place, self.words.semicolons(names))

    def _weeks(self, row: Json, place: int, called: str) -> Picture:
        course, name = row["build_up"], f"weeks-{place}"
        days, ec = course["on_day"]["values"], course["pore_water"]["values"]
        limit = row["limit"]["value"]
        left = (course.get("pore_water_not_flushed") or {}).get("values")
        weeks = [day / 7 for day in days]
        told = self._say(
            f"picture.told.weeks_{'flushed' if left else 'as_watered'}",
            container=called or self._say("report.container"),
            limit=figure(row["limit"]),
            course=self._course(weeks, ec),
            left=self._course(weeks, left or []),
        )
        if place >= _MOST_OF_A_KIND:
            return self._done(None, name, told, called)
        top = rounded_up(1.1 * max(limit, *ec, *(left or ())))
        which = "after" if left else "as_watered"
        above = LEGEND_ROW * (3 if left else 2)
        drawn, axes = canvas(200 + above, top=8 + above)
        axes.axhspan(0, limit, color=BAND, linewidth=0)
        axes.axhline(limit, color=SOFT, linewidth=1.2, linestyle=STROKES[2],
                     label=self._say("picture.line.limit"))  # fmt: skip
        axes.plot(weeks, ec, color=STRONG, linewidth=2, marker="o", markersize=5,
                  label=self._say(f"picture.line.{which}"))  # fmt: skip
        if left:
            axes.plot(weeks, left, color=SOFT, linewidth=1.6, linestyle=STROKES[1],
                      marker="s", markersize=4,
                      label=self._say("picture.line.not_flushed"))  # fmt: skip
        axes.set(xlim=(0, weeks[-1]), ylim=(0, top))
        in_whole_steps(axes.xaxis)
        axes.set_xlabel(self._axis("weeks", ""))
        axes.set_ylabel(self._axis("ec_pore", row["limit"]["unit"]))
        legend_above(axes, handlelength=1.8)
        return self._done(drawn, name, told, called)

    def _course(self, weeks: list[float], ec: list[float]) -> str:
        return self.words.semicolons(
            self._say("picture.told.week", week=number(week), ec=number(each))
            for week, each in zip(weeks, ec, strict=False)
        )


def _once_each(
    shown: Iterable[tuple[str | None, _Shown, list[Json | None]]],
) -> list[tuple[_Shown, list[str]]]:
    """Return what is shown of containers, alike ones once, with the names of those that have one.

    Parameters
    ----------
    shown : iterable of tuple
        The name of a container, what is shown of it, and the figures by which it is like another.
    """
    found: dict[str, tuple[_Shown, list[str]]] = {}
    for name, each, figures in shown:
        _, names = found.setdefault(json.dumps(figures), (each, []))
        if name and name not in names:
            names.append(name)
    return list(found.values())
