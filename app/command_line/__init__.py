"""The same job without a screen: `run` takes the words typed after `lowcrown`. No Qt, no VTK."""

import importlib
import os
import signal
import sys
from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from app.command_line.arguments import parsed, parser
from app.command_line.command_words import COMMANDS
from geometry.progress import Cancelled

if TYPE_CHECKING:
    from types import FrameType

    from app.command_line.doing import Doing

DONE, COULD_NOT, WRONG_USE, SIZE_UNKNOWN, STOPPED = 0, 1, 2, 3, 130


def load(argv: list[str]) -> None:
    """Load what a command needs before it runs, so that no stop falls into a library's loading."""
    if argv and argv[0] in COMMANDS:
        importlib.import_module("app.command_line.commands")


def run(argv: list[str]) -> int:
    """Run a command, or open the window, and return the exit code."""
    if not argv or (argv[0] not in COMMANDS and not argv[0].startswith("-")):
        return _window(argv)
    try:
        asked = parsed(argv)
    except SystemExit as end:
        return int(end.code or 0) if isinstance(end.code, int | None) else WRONG_USE
    if asked.command is None:
        parser().print_help()
        return DONE
    return main(asked.command, asked)


def _window(argv: list[str]) -> int:
    if len(argv) > 1:
        sys.stderr.write(
            f"lowcrown: {argv[0]!r} is not a command ({', '.join(COMMANDS)}); "
            "the window opens on one file at a time.\n"
        )
        return WRONG_USE
    path = Path(argv[0]) if argv else None
    if path is not None and not path.exists():
        sys.stderr.write(
            f'lowcrown: there is no file "{path}", and that is not a command '
            f"({', '.join(COMMANDS)}).\n"
        )
        return WRONG_USE
    from app.window import open_window

    return open_window(path)


def main(command: str, asked: Namespace) -> int:
    """Run one command; what goes wrong is a sentence on standard error, never a traceback."""
    from app.command_line.commands import COMMANDS as RUN
    from app.command_line.doing import Doing
    from app.delivery import SCHEMA, json_text
    from app.log import start_log, stop_log

    doing = Doing(asked)
    start_log()
    before = signal.signal(signal.SIGTERM, _stop)
    try:
        found = RUN[command](doing)
        if asked.json:
            sys.stdout.write(json_text({"schema": SCHEMA, **found}))
        else:
            sys.stdout.write("\n".join(doing.lines) + "\n")
        sys.stdout.flush()
    except (KeyboardInterrupt, Cancelled):
        sys.stderr.write("lowcrown: stopped. Nothing half done was left.\n")
        return STOPPED
    except BrokenPipeError:  # whoever read standard output has gone; nothing is left to say
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return COULD_NOT
    except Exception as error:
        return _told(error, command, doing)
    finally:
        doing.beside.close()
        signal.signal(signal.SIGTERM, before)
        stop_log()
    return DONE


def _stop(number: int, frame: "FrameType | None") -> None:
    """Stop as for Ctrl-C, so that nothing half written stays behind."""
    raise Cancelled


def _told(error: Exception, command: str, doing: "Doing") -> int:
    """Say an error in the shaper's words, or, for a bug of ours, where its report lies."""
    from app.log import logger, write_crash_report
    from app.messages import sentence_for

    logger.exception("lowcrown %s", command)
    sentence = sentence_for(error)
    if sentence is None:
        report = write_crash_report(error, f"lowcrown {command}", doing.state)
        where = ""
        if report is not None:
            where = f" What happened, and the job beside it, is written in {report}."
        sentence = f"Something went wrong that should not have ({type(error).__name__}).{where}"
    sys.stderr.write(f"lowcrown: {sentence}\n")
    return _exit_code(error)


def _exit_code(error: Exception) -> int:
    """Return the exit code an error ends in."""
    from app.command_line.endings import SIZE_ERRORS, WRONG_USE_ERRORS

    if isinstance(error, WRONG_USE_ERRORS):
        return WRONG_USE
    return SIZE_UNKNOWN if isinstance(error, SIZE_ERRORS) else COULD_NOT
