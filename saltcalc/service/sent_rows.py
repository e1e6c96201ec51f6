"""The rows of a batch as they arrive: lines of a body of any length, and requests on lines of JSON.

Nothing is held but the piece that is being read, so that a body may be longer than the memory.
"""

from __future__ import annotations

import zlib
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from werkzeug.exceptions import BadRequest, HTTPException, RequestEntityTooLarge

from saltcalc.service.body import read_json
from saltcalc.words.catalogue import sentence

_PIECE = 65_536
"""Bytes that are taken from a body at once."""


class Cell(NamedTuple):
    """A cell of a table: the heading of its column, and what was given in it."""

    heading: str
    given: str


class Row(NamedTuple):
    """One request of a batch.

    Attributes
    ----------
    number : int
        Of its line, or of its row in the table; from 1.
    request : object
        As sent; None where it could not be read.
    fault : HTTPException or None
        Why it could not be read.
    cells : mapping of str to Cell
        The cell of a table that each member came from, by its pointer.
    """

    number: int
    request: Any
    fault: HTTPException | None = None
    cells: Mapping[str, Cell] = {}


class Lines:
    """The lines of a body, one after the other; None for one that is too long.

    Parameters
    ----------
    sent : object
        The body, with ``read``.
    is_gzip : bool
        Whether it is compressed.
    longest : int
        Bytes of the longest line.
    """

    def __init__(self, sent: Any, *, is_gzip: bool, longest: int) -> None:
        self._waiting: Callable[[], bool] = getattr(sent, "at_hand", lambda: True)
        pieces = iter(lambda: sent.read(_PIECE), b"")
        self._pieces = _unzipped(pieces) if is_gzip else pieces
        self._longest = longest
        self._lines: deque[bytes | None] = deque()

    def at_hand(self) -> bool:
        """Tell whether another line can be had, or sought, without a wait for the sender."""
        return bool(self._lines) or self._waiting()

    def __iter__(self) -> Iterator[bytes | None]:
        """Yield the lines, without their ends.

        Raises
        ------
        werkzeug.exceptions.HTTPException
            If the body cannot be read on.
        """
        rest, is_long = b"", False
        for piece in self._pieces:
            first, *others = piece.split(b"\n")
            rest += first
            for line in others:
                self._lines.append(None if is_long or len(rest) > self._longest else rest)
                rest, is_long = line, False
            if len(rest) > self._longest:
                rest, is_long = b"", True
            while self._lines:
                yield self._lines.popleft()
        if rest or is_long:
            yield None if is_long else rest


def json_rows(lines: Iterable[bytes | None]) -> Iterator[Row]:
    """Yield the requests on lines of JSON; a blank line is none."""
    for number, line in enumerate(lines, start=1):
        if line is None:
            yield Row(number, None, RequestEntityTooLarge())
            continue
        text = line.removeprefix(b"\xef\xbb\xbf") if number == 1 else line
        if not text.strip():
            continue
        try:
            yield Row(number, read_json(text))
        except HTTPException as error:
            yield Row(number, None, error)


def _unzipped(pieces: Iterable[bytes]) -> Iterator[bytes]:
    """Yield what compressed pieces hold, in pieces of no more than a few lines' length."""
    unzip = zlib.decompressobj(wbits=31)
    begun = False
    for piece in pieces:
        left = piece
        while left:
            if unzip.eof:
                unzip = zlib.decompressobj(wbits=31)
            try:
                held = unzip.decompress(left, _PIECE)
            except zlib.error as error:
                raise BadRequest(sentence("body.no_gzip")) from error
            begun = True
            left = unzip.unused_data if unzip.eof else unzip.unconsumed_tail
            if held:
                yield held
    while begun and not unzip.eof:
        held = unzip.decompress(unzip.unconsumed_tail, _PIECE)
        if not held:
            raise BadRequest(sentence("body.no_gzip"))
        yield held
