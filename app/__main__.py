"""`lowcrown`: with a command, the command line; otherwise the window, on a file or empty."""

import os
import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

THREAD_LIMITS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
STOPPED = 130


def main(argv: list[str] | None = None) -> int:
    """Run `lowcrown` and return its exit code."""
    words = sys.argv[1:] if argv is None else argv
    for name in THREAD_LIMITS:  # small dense blocks: more threads only wait for each other
        os.environ.setdefault(name, "1")
    try:
        with leaving_at_once():
            from app.command_line import load, run

            load(words)
        code = run(words)
    except KeyboardInterrupt:
        sys.stderr.write("lowcrown: stopped.\n")
        code = STOPPED
    if code == STOPPED:
        # A stop that fell into generated code (a dataclass being defined) is remembered by the
        # interpreter, which would end by signal instead of this code; running any clears that.
        exec("")
    return code


@contextmanager
def leaving_at_once() -> Iterator[None]:
    """Let Ctrl-C end the program then and there, while libraries load and no work has begun.

    An exception raised in the middle of a library's own loading may come out as another, or not at
    all. Where Ctrl-C is not ours to answer, or is ignored, it stays so.
    """
    if signal.getsignal(signal.SIGINT) is not signal.default_int_handler:
        yield
        return
    signal.signal(signal.SIGINT, _leave)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, signal.default_int_handler)


def _leave(number: int, frame: FrameType | None) -> None:
    os.write(2, b"lowcrown: stopped.\n")
    os._exit(STOPPED)


if __name__ == "__main__":
    sys.exit(main())
