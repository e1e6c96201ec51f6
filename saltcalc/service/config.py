"""Configuration of the service from environment variables prefixed ``SALTCALC_``."""

from __future__ import annotations

import csv
import os
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import marshmallow as ma

from saltcalc.data.crops import catalogue

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
    host : str
        Address to listen on.
    port : int
        Port to listen on.
    workers, threads : int
        Worker processes, and threads in each.
    timeout_seconds : int
        Longest time for one answer [s].
    graceful_seconds : int
        Time to finish what is under way when stopped [s].
    """

    max_body_bytes: int
    log_level: str
    local_crops: Path | None
    host: str
    port: int
    workers: int
    threads: int
    timeout_seconds: int
    graceful_seconds: int


class _CropTable(ma.fields.Field[Path]):
    """The path of a crop table that passes every check of the built-in one."""

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> Path:
        path = Path(value).absolute()  # the workers of the service run in a directory of their own
        try:
            catalogue(path)
        except OSError as error:
            raise ma.ValidationError(f"{path} cannot be read: {error.strerror}.") from error
        except (ValueError, csv.Error) as error:
            raise ma.ValidationError(str(error)) from error
        return path


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
    class Meta:
        unknown = ma.EXCLUDE

    max_body_bytes = _whole(100_000, 1_000, 100_000_000)
    log_level = ma.fields.String(
        load_default="INFO",
        validate=ma.validate.OneOf(
            ["DEBUG", "INFO", "WARNING", "ERROR", "CRITICAL"],
            error="'{input}' is not one of {choices}.",
        ),
    )
    local_crops = _CropTable(load_default=None)
    host = ma.fields.String(load_default="127.0.0.1", validate=_is_address)
    port = _whole(8000, 1, 65_535)
    workers = _whole(2, 1, 64)
    threads = _whole(2, 1, 64)
    timeout_seconds = _whole(30, 1, 3600)
    graceful_seconds = _whole(20, 1, 3600)

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
        faults = "; ".join(
            f"{PREFIX}{str(name).upper()}: {' '.join(messages)}"
            for name, messages in sorted(error.messages_dict.items())
        )
        raise ValueError(faults) from error
    return settings
