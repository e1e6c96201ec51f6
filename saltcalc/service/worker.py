"""The gunicorn worker: slow clients cost a connection, and one request at a time computes.

Each connection is a greenlet, so that one that is half open or dribbles holds nothing that
others need; it is closed when its time is over. What computes takes turns, in the order in which
the requests came. When too many wait, the next is told to come again. Whether the service lives is
answered out of turn, between the parts of an answer.
"""

from __future__ import annotations

import errno
import io
import os
import socket
import time
from collections.abc import Callable, Iterable, Iterator
from typing import Any

import flask
import gevent
from gevent.lock import BoundedSemaphore
from gevent.queue import Queue
from gunicorn.http.errors import ParseException
from gunicorn.workers.base_async import AsyncWorker
from gunicorn.workers.ggevent import GeventWorker
from werkzeug.exceptions import (
    BadRequest,
    HTTPException,
    RequestTimeout,
    ServiceUnavailable,
)

from saltcalc import deadline
from saltcalc.service.access import FAULT
from saltcalc.service.batch import TURN
from saltcalc.words.catalogue import sentence

READ_SECONDS = 10.0
"""For the body of a request to arrive, and for a client to take the next piece of an answer."""
MOST_WAITING = 32
"""Requests that wait for their turn in one worker."""
MOST_ROUNDS = 64
"""Of the event loop before a computation."""
READ_AWAY = 32_000_000
"""Bytes of a body that is too large, at most."""
OUT_OF_TURN = frozenset({"/healthz", "/readyz", "/metrics"})
BATCHES = "/v1/assessments/batch"
MOST_BATCHES = 4
"""That one worker answers at a time."""
SLICE_SECONDS = 0.1
"""That a batch computes before it lets others in."""
AHEAD, AHEAD_PIECES = 4096, 4096
"""Most bytes of a piece of a batch that is read ahead, and how many pieces there are at most."""


class Turns:
    """Lets one request of this worker compute at a time, in their order.

    Its body is read before its turn comes, so that no slow client holds the turn.

    Parameters
    ----------
    app : flask.Flask
        The application.
    patience : float
        Longest wait for a turn [s].

    Attributes
    ----------
    connections : int
        How many the worker has taken in.
    """

    def __init__(self, app: flask.Flask, patience: float) -> None:
        self._app = app
        self._patience = patience
        self._turn = BoundedSemaphore(1)
        self._waiting = 0
        self._batches = 0
        self.connections = 0

    def __call__(
        self, environ: dict[str, Any], start_response: Callable[..., Any]
    ) -> Iterable[bytes]:
        """Answer a request when its turn comes."""
        if environ["PATH_INFO"] in OUT_OF_TURN:
            return self._app(environ, start_response)
        if environ["PATH_INFO"] == BATCHES and environ["REQUEST_METHOD"] == "POST":
            return self._stream(environ, start_response)
        try:
            self._read_body(environ)
        except HTTPException as error:
            environ[FAULT] = error
        if self._waiting >= MOST_WAITING or not self._wait():
            environ[FAULT] = ServiceUnavailable(sentence("problem.too_busy"), retry_after=2)
            return self._app(environ, start_response)
        try:
            return self._app(environ, start_response)
        finally:
            self._turn.release()

    def _stream(
        self, environ: dict[str, Any], start_response: Callable[..., Any]
    ) -> Iterator[bytes]:
        """Answer a batch while it comes in; it takes a turn for each piece of its work."""
        ahead = _ReadAhead(environ["wsgi.input"])
        environ |= {"wsgi.input": ahead, TURN: _PieceByPiece(self)}
        if self._batches >= MOST_BATCHES:
            environ[FAULT] = ServiceUnavailable(sentence("problem.too_busy"), retry_after=10)
        self._batches += 1
        answered = self._app(environ, start_response)
        try:
            yield from answered
            left = READ_AWAY  # of a batch that was refused, so that its sender gets the answer
            while left > 0 and (piece := ahead.read()):
                left -= len(piece)
        except RequestTimeout:
            pass  # nobody waits for what was sent too late
        finally:
            if close := getattr(answered, "close", None):
                close()
            ahead.close()
            self._batches -= 1

    def take(self) -> None:
        """Wait for the turn of one piece of a batch."""
        self._turn.acquire()

    def give_back(self) -> None:
        """End the turn, and hear those who are at the door."""
        self._turn.release()
        self.hear_all()

    def _read_body(self, environ: dict[str, Any]) -> None:
        """Read the body up to just over what is taken, and the rest away.

        What is too large is read away as well, so that its sender gets the answer and no reset.
        """
        sent = environ["wsgi.input"]
        environ["wsgi.input"] = io.BytesIO()
        most = self._app.config["MAX_CONTENT_LENGTH"]
        environ["wsgi.input"] = io.BytesIO(sent.read(most + 1))
        left = READ_AWAY
        while left > 0 and (chunk := sent.read(65_536)):
            left -= len(chunk)

    def _wait(self) -> bool:
        """Wait for the turn, and let others of this worker be heard before it."""
        self._waiting += 1
        try:
            has_turn: bool = self._turn.acquire(timeout=self._patience)
        finally:
            self._waiting -= 1
        self.hear_all()
        return has_turn

    def hear_all(self) -> None:
        """Let the event loop take in all who are at the door, as it takes one in each round."""
        quiet = 0
        for _ in range(MOST_ROUNDS):
            heard = self.connections
            gevent.sleep(1e-4)
            quiet = quiet + 1 if heard == self.connections else 0
            if quiet == 2:
                return


class _PieceByPiece:
    """The turn of a batch, which it gives back and takes again between the pieces of its work."""

    def __init__(self, turns: Turns) -> None:
        self._turns = turns
        self._began = 0.0

    def __enter__(self) -> None:
        self._turns.take()
        self._began = time.monotonic()

    def __exit__(self, *_error: object) -> None:
        self._turns.give_back()

    def pass_on(self) -> None:
        """Let others in, where this piece has taken its time."""
        if time.monotonic() - self._began > SLICE_SECONDS:
            self.__exit__()
            self.__enter__()


class _ReadAhead:
    """The body of a batch, read on while it computes, so that a sender who reads last can end."""

    def __init__(self, body: Any) -> None:
        self._pieces = Queue(AHEAD_PIECES)
        self._ended = False
        self._broken: HTTPException | None = None
        self._reader = gevent.spawn(self._fill, body)

    def _fill(self, body: Any) -> None:
        end: bytes | HTTPException = b""
        try:
            while True:
                body.start_anew()
                if not (arrived := body.read_what_is_there()):
                    break
                for at in range(0, len(arrived), AHEAD):
                    self._pieces.put(arrived[at : at + AHEAD])
        except RequestTimeout as error:
            end = error
        except (HTTPException, OSError):
            # Nobody waits for the answers to what came.
            end = self._broken = BadRequest(sentence("problem.body_malformed"))
        self._pieces.put(end)

    def at_hand(self) -> bool:
        """Tell whether a piece can be had without a wait."""
        return not self._pieces.empty()

    def read(self, _size: int | None = None) -> bytes:
        """Return the next piece; nothing at the end."""
        if self._ended:
            return b""
        piece = self._broken or self._pieces.get()
        self._ended = not isinstance(piece, bytes) or not piece
        if isinstance(piece, HTTPException):
            raise piece
        return bytes(piece)

    def close(self) -> None:
        """Read no more."""
        self._reader.kill()


class _TimedBody:
    """A request's body, all of which has to arrive in time."""

    def __init__(self, body: Any) -> None:
        self._body = body
        self.start_anew()

    def start_anew(self) -> None:
        """Give what is read next its own time."""
        self._end = time.monotonic() + READ_SECONDS

    def _in_time(self, read: Callable[..., Any], *arguments: Any) -> Any:
        left = max(self._end - time.monotonic(), 0.001)
        try:
            with gevent.Timeout(left, RequestTimeout(sentence("problem.body_too_slow"))):
                return read(*arguments)
        except ParseException as error:
            raise BadRequest(sentence("problem.body_malformed")) from error

    def read(self, size: int | None = None) -> bytes:
        read: bytes = self._in_time(self._body.read, size)
        return read

    def read_what_is_there(self) -> bytes:
        """Wait for a byte, and return it with all that came with it; nothing at the end.

        Raises
        ------
        BadRequest
            If the sender ended before the end.
        """
        reader = self._body.reader
        left = getattr(reader, "length", 0)
        first: bytes = self._in_time(self._body._read_reader, 1)
        if left and not first:
            self._body.failed = True
            raise BadRequest(sentence("problem.body_malformed"))
        # A chunk is kept by the reader itself, a body of a known length by what it reads from.
        held = reader.buf if hasattr(reader, "buf") else reader.unreader.buf
        rest: bytes = reader.read(held.tell()) if first else b""
        return first + rest

    def readline(self, size: int | None = None) -> bytes:
        line: bytes = self._in_time(self._body.readline, size)
        return line

    def __getattr__(self, name: str) -> Any:
        return getattr(self._body, name)


class Worker(GeventWorker):
    """Gunicorn's gevent worker with bounds on time for every client."""

    def load_wsgi(self) -> None:
        """Load the application, and let its requests take turns."""
        super().load_wsgi()
        self.wsgi: Any = Turns(self.wsgi, self.cfg.timeout)
        # Whether the service lives is answered between the parts of a long answer.
        deadline.look_up(self.wsgi.hear_all)

    def handle(self, listener: Any, client: socket.socket, addr: Any) -> None:
        """Serve a connection; each wait for the client has an end."""
        self.wsgi.connections += 1
        client.settimeout(READ_SECONDS)
        AsyncWorker.handle(self, listener, client, addr)

    def handle_request(self, listener_name: Any, req: Any, sock: Any, addr: Any) -> None:
        """Serve a request whose body has to arrive in time."""
        req.body = _TimedBody(req.body)
        try:
            super().handle_request(listener_name, req, sock, addr)
        except TimeoutError as error:
            raise OSError(errno.ECONNRESET, os.strerror(errno.ECONNRESET)) from error
