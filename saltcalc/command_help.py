"""The help of the command, from the catalogues, in the language of the terminal."""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from saltcalc.words.catalogue import Words

_Command = TypeVar("_Command", bound="Callable[..., Any] | click.Command")

_NAMED_BY = ("LC_ALL", "LC_MESSAGES", "LANG")
"""Variables that name the language of a terminal, the first that is set before the others."""


def terminal_words() -> Words:
    """Return the sentences of the terminal's language, in English where it has none."""
    from saltcalc.words.catalogue import spoken, words  # noqa: PLC0415 - reads the catalogues

    named = next(filter(None, (os.environ.get(name) for name in _NAMED_BY)), "")
    return words(spoken(named.partition(".")[0].replace("_", "-")))


def _tell(command: click.Command) -> None:
    """Put the sentences in the place of their ids."""
    told = terminal_words()
    told_of: list[click.Command | click.Option] = [command]
    told_of += [each for each in command.params if isinstance(each, click.Option)]
    for each in told_of:
        if each.help and each.help.startswith("command."):
            each.help = told.tell(each.help)


class ToldCommand(click.Command):
    """A command whose help, and that of its options, are ids of sentences."""

    def format_help(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the help in the language of the terminal."""
        _tell(self)
        super().format_help(ctx, formatter)

    def get_short_help_str(self, limit: int = 45) -> str:
        """Return the first words of the help in the language of the terminal."""
        _tell(self)
        return super().get_short_help_str(limit)


class ToldGroup(ToldCommand, click.Group):
    """A group of such commands."""

    command_class = ToldCommand


def told_option(*names: str, told: str = "", **options: Any) -> Callable[[_Command], _Command]:
    """Return an option whose help is a sentence ``command.option.<told>``.

    Parameters
    ----------
    *names : str
        As of :func:`click.option`.
    told : str, optional
        The end of the id; that of the option without.
    **options
        As of :func:`click.option`.
    """
    return click.option(*names, help=f"command.option.{told or names[-1].lstrip('-')}", **options)
