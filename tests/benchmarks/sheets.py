"""How long the demo takes, and of it every sheet and file of its five panels and of the job.

Run it with `python -m tests.benchmarks.sheets` on a machine that does nothing else: seconds are by
the clock, with as many processes as the command line starts there, and in brackets of both
processors. Besides: the largest PDF of one panel, and a pattern of 1,200 x 800 mm on A4.
docs/performance.md keeps the last measured.
"""

import importlib
import os
import resource
import time
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from app.__main__ import THREAD_LIMITS, main


@dataclass
class Clock:
    """Seconds by the clock since it was made, and what the processors spent on this meanwhile."""

    began: float
    spent: float

    @classmethod
    def started(cls) -> "Clock":
        """Return a clock that starts now."""
        return cls(time.perf_counter(), _spent())

    def words(self) -> str:
        """Return both as told."""
        return f"{time.perf_counter() - self.began:.1f} s ({_spent() - self.spent:.1f})"


def _spent() -> float:
    """Return the processor's seconds of this process and of those that ended beside it."""
    both = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    return sum(used.ru_utime + used.ru_stime for used in map(resource.getrusage, both))


def time_demo(folder: Path) -> None:
    """Run the demo into a folder and print what it and its files take."""
    commands: Any = importlib.import_module("app.command_line.commands")
    deliver = commands.deliver

    def timed(*given: Any, **named: Any) -> Any:
        clock = time.perf_counter()
        try:
            return deliver(*given, **named)
        finally:
            print(f"every sheet and file: {time.perf_counter() - clock:.1f} s")

    commands.deliver = timed
    clock = Clock.started()
    try:
        code = main(["demo", "--out", str(folder)])
    finally:
        commands.deliver = deliver
    print(f"the whole demo: {clock.words()}, exit code {code}")
    own = ("overview", "printer check", "tape table", "job card")
    pdfs = [path for path in folder.glob("*.pdf") if path.stem not in own]
    largest = max(pdfs, key=lambda path: path.stat().st_size)
    print(f"largest PDF of one panel: {largest.name}, {largest.stat().st_size / 1e3:.0f} kB")


def time_tiles() -> None:
    """Tile a pattern of about 1,200 x 800 mm on A4 and print what that takes."""
    from app.exports import A4, page_count
    from app.exports.files import pdf_bytes
    from app.exports.pages import tiled
    from tests.app.exports.sample_sheets import large_sheet

    sheet = large_sheet()
    clock = Clock.started()
    content = pdf_bytes(tiled(sheet, A4), "tiles")
    print(f"1,200 x 800 mm on A4: {clock.words()}, {page_count(content)} pages, "
          f"{len(content) / 1e3:.0f} kB")  # fmt: skip


if __name__ == "__main__":
    for limit in THREAD_LIMITS:  # as the program does, before anything loads that counts
        os.environ.setdefault(limit, "1")
    with TemporaryDirectory() as made:
        time_demo(Path(made) / "demo")
    time_tiles()
