"""`lowcrown`: with a command, the command line; otherwise the window, on a file or empty."""

import os
import sys

THREAD_LIMITS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
STOPPED = 130


def main(argv: list[str] | None = None) -> int:
    """Run `lowcrown` and return its exit code."""
    for name in THREAD_LIMITS:  # small dense blocks: more threads only wait for each other
        os.environ.setdefault(name, "1")
    try:
        from app.command_line import run

        code = run(sys.argv[1:] if argv is None else argv)
    except KeyboardInterrupt:
        sys.stderr.write("lowcrown: stopped.\n")
        code = STOPPED
    if code == STOPPED:
        # A stop that fell into generated code (a dataclass being defined) is remembered by the
        # interpreter, which would end by signal instead of this code; running any clears that.
        exec("")
    return code


if __name__ == "__main__":
    sys.exit(main())
