"""The log file, and crash reports: local, with the job kept beside them. Nothing is sent."""

import contextlib
import logging
import platform
import sys
import traceback
from datetime import datetime
from logging.handlers import RotatingFileHandler
from pathlib import Path

from app.job import SUFFIX, JobState, save_job
from app.settings import log_folder
from app.version import __version__

LARGEST_LOG = 2**20
OLDER_LOGS = 3
AS_IT_IS = "backslashreplace"
"""A file's name need not be UTF-8; a report on it must still be written."""

logger = logging.getLogger("lowcrown")


def start_log() -> Path | None:
    """Begin writing the log file; return it, or None where it cannot be written."""
    path = log_folder() / "lowcrown.log"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handler = RotatingFileHandler(
            path, maxBytes=LARGEST_LOG, backupCount=OLDER_LOGS, encoding="utf-8", errors=AS_IT_IS
        )
    except OSError:
        return None
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(message)s"))
    logger.addHandler(handler)
    logger.setLevel(logging.INFO)
    logger.propagate = False
    return path


def stop_log() -> None:
    """Close the log file."""
    for handler in tuple(logger.handlers):
        logger.removeHandler(handler)
        handler.close()


def write_crash_report(error: BaseException, doing: str, state: JobState | None) -> Path | None:
    """Write what went wrong, and the job beside it; return the report, or None if it cannot be.

    Parameters
    ----------
    error : BaseException
    doing : str
        What was asked for: the command, or the action's name.
    state : JobState or None
        The job as it stood.
    """
    stamp = datetime.now().strftime("%Y%m%d-%H%M%S-%f")
    report = log_folder() / f"crash-{stamp}.txt"
    logger.error("%s: %r; crash report %s", doing, error, report)
    text = "\n".join(
        [
            f"Lowcrown {__version__}, Python {sys.version.split()[0]}, {platform.platform()}",
            f"While: {doing}",
            "",
            *traceback.format_exception(error),
        ]
    )
    try:
        report.parent.mkdir(parents=True, exist_ok=True)
        report.write_text(text, encoding="utf-8", errors=AS_IT_IS)
    except OSError:
        return None
    if state is not None and state.scan is not None:
        # The job may be what is broken: that must not hide the report.
        with contextlib.suppress(OSError, TypeError, ValueError, AttributeError):
            save_job(state, report.with_suffix(SUFFIX))
    return report
