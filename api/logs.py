"""Logs: one JSON object a line on standard error."""

from __future__ import annotations

import logging
import sys
from typing import Any

import structlog


def of_server(level: str) -> dict[str, Any]:
    """Return the settings with which the web server's own lines are JSON too."""
    formatter = {"()": "structlog.stdlib.ProcessorFormatter", "processors": _told_of_server()}
    handler = {"class": "logging.StreamHandler", "formatter": "json"}
    logger = {"handlers": ["stderr"], "level": level.upper(), "propagate": False}
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {"json": formatter},
        "handlers": {"stderr": handler},
        "loggers": {"uvicorn": logger, "apscheduler": {**logger, "level": "WARNING"}},
    }


def _told_of_server() -> list[Any]:
    return [
        structlog.stdlib.ProcessorFormatter.remove_processors_meta,
        structlog.processors.add_log_level,
        structlog.processors.TimeStamper(fmt="iso", utc=True),
        structlog.processors.format_exc_info,
        structlog.processors.JSONRenderer(ensure_ascii=False),
    ]


def configure(level: str) -> None:
    """Set what is logged and how.

    Parameters
    ----------
    level
        Least severity that is logged, such as ``info``.
    """
    structlog.configure(
        processors=[
            structlog.contextvars.merge_contextvars,
            structlog.processors.add_log_level,
            structlog.processors.TimeStamper(fmt="iso", utc=True),
            # Without local variables: they hold whole plans, and what an address may hide.
            structlog.processors.format_exc_info,
            structlog.processors.JSONRenderer(ensure_ascii=False),
        ],
        wrapper_class=structlog.make_filtering_bound_logger(logging.getLevelName(level.upper())),
        logger_factory=lambda *_: structlog.WriteLogger(sys.stderr),
        cache_logger_on_first_use=False,
    )
