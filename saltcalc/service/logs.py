"""The one form of every log line: JSON on standard output, of the service and of what runs it."""

from __future__ import annotations

import logging
from typing import Any

import structlog
from structlog.typing import Processor

_MARKS: tuple[Processor, ...] = (
    structlog.processors.add_log_level,
    structlog.processors.TimeStamper(fmt="iso", utc=True),
    structlog.processors.format_exc_info,
)
_RENDERER = structlog.processors.JSONRenderer(ensure_ascii=False)


def configure(level: str) -> None:
    """Log the lines of the service itself, from ``level`` upwards.

    Each line and its end go out in one write, so that the lines of several processes do not mix.
    """
    structlog.configure(
        processors=[*_MARKS, _RENDERER],
        wrapper_class=structlog.make_filtering_bound_logger(logging.getLevelName(level)),
        logger_factory=structlog.WriteLoggerFactory(),
    )


def for_standard_library(level: str) -> dict[str, Any]:
    """Return the configuration by which all that logs the usual way, as gunicorn, does it alike.

    Parameters
    ----------
    level : str
        Least severity that is logged.

    Returns
    -------
    dict
        For `logging.config.dictConfig`. Gunicorn's own line a request is left out: the service
        writes one already.
    """
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {
            "json": {
                "()": structlog.stdlib.ProcessorFormatter,
                "foreign_pre_chain": [structlog.stdlib.add_logger_name, *_MARKS],
                "processors": [
                    structlog.stdlib.ProcessorFormatter.remove_processors_meta,
                    _RENDERER,
                ],
            }
        },
        "handlers": {
            "output": {
                "class": "logging.StreamHandler",
                "formatter": "json",
                "stream": "ext://sys.stdout",
            }
        },
        "root": {"level": level, "handlers": ["output"]},
        "loggers": {
            "gunicorn.error": {"level": level, "handlers": [], "propagate": True},
            "gunicorn.access": {"level": "CRITICAL", "handlers": [], "propagate": False},
        },
    }
