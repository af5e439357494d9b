"""Logs: one JSON object a line on standard error."""

from __future__ import annotations

import logging
import sys

import structlog


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
