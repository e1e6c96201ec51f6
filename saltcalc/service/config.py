"""Configuration of the service from environment variables prefixed ``SALTCALC_``."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass

import marshmallow as ma

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
    """

    max_body_bytes: int
    log_level: str


class _SettingsSchema(ma.Schema):
    class Meta:
        unknown = ma.EXCLUDE

    max_body_bytes = ma.fields.Integer(
        load_default=1_000_000, validate=ma.validate.Range(1_000, 100_000_000)
    )
    log_level = ma.fields.String(
        load_default="INFO",
        validate=ma.validate.OneOf(["DEBUG", "INFO", "WARNING", "ERROR", "CRITICAL"]),
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
        faults = "; ".join(
            f"{PREFIX}{str(name).upper()}: {' '.join(messages)}"
            for name, messages in sorted(error.messages_dict.items())
        )
        raise ValueError(faults) from error
    return settings
