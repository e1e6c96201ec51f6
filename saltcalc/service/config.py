"""Configuration of the service from environment variables prefixed ``SALTCALC_``."""

from __future__ import annotations

import csv
import os
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import marshmallow as ma

from saltcalc.data.crops import catalogue
from saltcalc.data.nutrients import own_ranges
from saltcalc.service.keys import read_keys
from saltcalc.service.names import nearest
from saltcalc.words.catalogue import sentence

PREFIX = "SALTCALC_"


@dataclass(frozen=True)
class Settings:
    """What an administrator can set.

    Attributes
    ----------
    max_body_bytes : int
        Greatest request body that is read [bytes].
    log_level : str
        Least severity that is logged.
    local_crops : Path or None
        A CSV with the grower's own crops, as an absolute path.
    local_ranges : Path or None
        A CSV with a laboratory's or region's own ranges of nutrients, as an absolute path.
    host : str
        Address to listen on.
    port : int
        Port to listen on.
    workers : int
        Worker processes.
    timeout_seconds : int
        Longest time for one answer [s].
    graceful_seconds : int
        Time to finish what is under way when stopped [s].
    keys : Path or None
        A file of hashed keys; who asks has to have one of them.
    rate_limit : str
        Requests of one client in a time, such as "60 per minute"; empty for no limit.
    cors_origins : tuple of str
        Origins whose pages may ask.
    pages : {"ready", "when_asked"}
        Whether what draws pages is loaded at the start, or with a worker's first page.
    """

    max_body_bytes: int
    log_level: str
    local_crops: Path | None
    local_ranges: Path | None
    host: str
    port: int
    workers: int
    timeout_seconds: int
    graceful_seconds: int
    keys: Path | None
    rate_limit: str
    cors_origins: tuple[str, ...]
    pages: str


class _OwnFile(ma.fields.Field[Path]):
    """The path of a file that its reader takes: a table of the grower's own, or hashed keys."""

    def __init__(self, read: Callable[[Path], object]) -> None:
        """Take what reads the file."""
        super().__init__(load_default=None)
        self._read = read

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> Path:
        path = Path(value).absolute()  # the workers of the service run in a directory of their own
        try:
            self._read(path)
        except OSError as error:
            raise ma.ValidationError(f"{path} cannot be read: {error.strerror}.") from error
        except (ValueError, csv.Error) as error:
            raise ma.ValidationError(str(error)) from error
        return path


class _Origins(ma.fields.Field[tuple[str, ...]]):
    """Origins, parted by commas."""

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> tuple[str, ...]:
        origins = tuple(filter(None, (each.strip() for each in str(value).split(","))))
        for origin in origins:
            if not re.fullmatch(r"https?://[A-Za-z0-9.-]+(:\d+)?", origin):
                raise ma.ValidationError(sentence("setting.no_origin", given=origin))
        return origins


def _is_rate(text: str) -> None:
    if text and not re.fullmatch(r"[1-9]\d* per (second|minute|hour|day)", text):
        raise ma.ValidationError(sentence("setting.no_rate", given=text))


def _is_address(text: str) -> None:
    if not re.fullmatch(r"[A-Za-z0-9.:_-]+", text):
        raise ma.ValidationError(f"'{text}' is not the name or number of an address.")


def _whole(default: int, low: int, high: int) -> ma.fields.Integer:
    accepted = f"'{{input}}' is not a whole number from {low} to {high}."
    return ma.fields.Integer(
        load_default=default,
        validate=ma.validate.Range(low, high, error=accepted),
        error_messages={"invalid": accepted},
    )


class _SettingsSchema(ma.Schema):
    max_body_bytes = _whole(100_000, 1_000, 100_000_000)
    log_level = ma.fields.String(
        load_default="INFO",
        validate=ma.validate.OneOf(
            ["DEBUG", "INFO", "WARNING", "ERROR", "CRITICAL"],
            error="'{input}' is not one of {choices}.",
        ),
    )
    local_crops = _OwnFile(catalogue)
    local_ranges = _OwnFile(own_ranges)
    host = ma.fields.String(load_default="127.0.0.1", validate=_is_address)
    port = _whole(8000, 1, 65_535)
    workers = _whole(2, 1, 64)
    timeout_seconds = _whole(30, 1, 3600)
    graceful_seconds = _whole(8, 1, 3600)
    keys = _OwnFile(read_keys)
    rate_limit = ma.fields.String(load_default="", validate=_is_rate)
    cors_origins = _Origins(load_default=())
    pages = ma.fields.String(
        load_default="ready",
        validate=ma.validate.OneOf(
            ["ready", "when_asked"], error="'{input}' is not one of {choices}."
        ),
    )

    @ma.post_load
    def _make(self, values: dict[str, object], **_: object) -> Settings:
        return Settings(**values)  # type: ignore[arg-type]


def read_settings(environment: Mapping[str, str] = os.environ) -> Settings:
    """Read the settings from the environment.

    Raises
    ------
    ValueError
        Naming each variable that is not acceptable.
    """
    given = {
        name.removeprefix(PREFIX).lower(): value
        for name, value in environment.items()
        if name.startswith(PREFIX)
    }
    try:
        settings: Settings = _SettingsSchema().load(given)
    except ma.ValidationError as error:
        known = list(_SettingsSchema().fields)
        faults = "; ".join(
            f"{PREFIX}{str(name).upper()}: "
            + (" ".join(messages) if name in known else _unknown(str(name), known))
            for name, messages in sorted(error.messages_dict.items())
        )
        raise ValueError(faults) from error
    return settings


def _unknown(name: str, known: list[str]) -> str:
    near = nearest(name, known)
    names = [PREFIX + each.upper() for each in ([near] if near else known)]
    return sentence("setting.unknown", names=names)
