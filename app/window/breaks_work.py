"""What the worker does for break-ups: judge one, propose others, lay out the page of all. No Qt."""

from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass

from app.delivery import tank_of
from app.exports import BreaksSheet, BreakUpShown, JobFacts, Sheaf, Show, sheaf_of_breaks
from app.job import (
    BreakUp,
    Proposed,
    ToPropose,
    breakup_row,
    judged_breakup,
    proposed,
)
from geometry.breakups import BreakUpFigures
from geometry.progress import Report

JUDGING = "Judging a break-up"
PROPOSING = "Proposing break-ups"
LAYING_OUT = "Laying out the page of break-ups"


@dataclass(frozen=True, eq=False)
class ToShow:
    """A break-up for the page, with what it costs."""

    breakup: BreakUp
    figures: BreakUpFigures


def judge(ground: ToPropose, breakup: BreakUp, *, report: Report) -> BreakUpFigures:
    """Return what a break-up costs, on the coarse surface."""
    return judged_breakup(ground, breakup, report=report)


def propose(
    ground: ToPropose,
    least: int,
    most: int,
    *,
    executor: Executor | None = None,
    report: Report,
) -> Proposed:
    """Return proposals of so many pieces, the same whoever works at them."""
    return proposed(ground, range(least, most + 1), executor, report=report)


def page_of(
    facts: JobFacts, ground: ToPropose, shown: Sequence[ToShow], show: Show, *, report: Report
) -> Sheaf:
    """Return the page of break-ups side by side."""
    found = []
    for done, each in enumerate(shown):
        report(0.9 * done / len(shown), "draw the tank in its panels")
        row = breakup_row(each.breakup.name, each.figures, show)
        found.append(BreakUpShown(row, tank_of(ground, each.breakup)))
    sheaf = sheaf_of_breaks(BreaksSheet(facts, found))
    report(1.0, "lay out the page")
    return sheaf
