"""Text files a few megabytes of whole lines at a time, and the line at fault when one is."""

import re
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from geometry.arrays import FloatArray
from geometry.progress import Report
from geometry.scan.unreadable import BadLineError, DecimalCommaError

_BYTES_AT_ONCE = 1 << 22
_LONGEST_LINE = 1 << 24
_DECIMAL_COMMA = re.compile(rb"\d,\d")


def blocks_of_lines(path: Path, report: Report) -> Iterator[tuple[int, bytes]]:
    """Yield (number of the first line, from 1; whole lines) from start to end of a text file."""
    size = max(path.stat().st_size, 1)
    line, done, kept = 1, 0, b""
    with path.open("rb") as file:
        while block := file.read(_BYTES_AT_ONCE):
            done += len(block)
            report(min(done / size, 1.0), "Reading the scan")
            block = kept + block.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
            end = block.rfind(b"\n") + 1
            whole, kept = block[:end], block[end:]
            if len(kept) > _LONGEST_LINE:
                raise BadLineError(path, line, _beginning(kept))
            if whole:
                yield line, whole
                line += whole.count(b"\n")
    if kept:
        yield line, kept + b"\n"


def numbers(words: list[bytes]) -> FloatArray:
    """Return words as numbers; raise `ValueError` where one is not.

    >>> numbers([b"1", b"-2.5e1"]).tolist()
    [1.0, -25.0]
    """
    return np.array(words, dtype=np.bytes_).astype(np.float64) if words else np.empty(0)


def bad_line(path: Path, line: int, text: bytes) -> BadLineError:
    """Return the error for a line: about its decimal comma if it has one."""
    kind = DecimalCommaError if _DECIMAL_COMMA.search(text) else BadLineError
    return kind(path, line, _beginning(text))


def first_bad_line(
    path: Path, first: int, block: bytes, sound: re.Pattern[bytes], start: bytes
) -> BadLineError:
    """Return the error for the first line that begins with `start` and is not `sound`."""
    for number, text in enumerate(block.split(b"\n"), first):
        begins = text.lstrip().lower()
        if begins.startswith(start) and not (sound.match(text) and _numeric_tail(begins, start)):
            return bad_line(path, number, text)
    return BadLineError(path, first, _beginning(block))


def _numeric_tail(text: bytes, start: bytes) -> bool:
    try:
        numbers(text[len(start) :].split()[:3])
    except ValueError:
        return False
    return True


def _beginning(text: bytes) -> str:
    return text.strip()[:60].decode("utf-8", "replace")
