"""Proposing break-ups: choices none of which is beaten by another, each with its seams.

Leaves how pieces are parted to `search`, how seams are improved to `refine`, and how they are
drawn to `drawn`.
"""

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from itertools import zip_longest

import numpy as np

from geometry.arrays import FloatArray
from geometry.breakups.aims import Aim, aims_of, usual
from geometry.breakups.as_cut import Facts, Shown, cut_for_real
from geometry.breakups.choices import Choice, choices_of
from geometry.breakups.courses import Leaf, courses_of
from geometry.breakups.drawn import Board
from geometry.breakups.likeness import Spread, are_alike
from geometry.breakups.measured import Measured
from geometry.breakups.refine import (
    Refined,
    Trial,
    all_measured,
    refined,
    roughly_refined,
)
from geometry.breakups.search import Found, searched
from geometry.breakups.study_ground import StudyGround, study_ground
from geometry.errors import GeometryError
from geometry.gauges import TankAxes
from geometry.panels import Surface
from geometry.progress import Report, part_of, silent

PRICES = (0.02, 0.06, 0.2)
"""What a hidden millimetre of weld counts, mm2 of work: from one who welds gladly to one who
would rather hammer. Ours; on the sample, two more pieces save about as much work as their weld
costs at the middle one."""

MOST_PIECES = 6

TO_MOVE, TO_REFINE = 4, 4
"""Break-ups of each count of pieces whose seams are moved, first by estimates, then for real."""

SEAMS_TO_MOVE = 8
"""As many break-ups more are moved by estimates as have so many seams in all."""

TO_SHOW = 2
"""Choices of each count of pieces, at most, that a maker is shown."""

SHOWN_APART = 2.5
"""How many times what the search takes for alike two choices of one count must differ."""


NEAR_EQUAL = 0.05
"""Part of its cost by which one that lifts out may be dearer and still go before another."""

FREE = 1e-5
"""Of the tank's skin: by as much as this a form may seem to lock before a break-up is cut."""


class PieceCountError(GeometryError):
    """Counts of pieces that no study answers.

    Attributes
    ----------
    pieces : tuple of int
    most : int
    """

    def __init__(self, pieces: tuple[int, ...]) -> None:
        self.pieces, self.most = pieces, MOST_PIECES
        super().__init__(f"pieces {pieces}, where 1 to {MOST_PIECES} are studied")


@dataclass(frozen=True, eq=False)
class Study:
    """What a study brought.

    Attributes
    ----------
    choices : tuple of Choice
        Fewest pieces first; none is beaten by another in pieces, worst shrink and weld at once.
    none_found : tuple of int
        Counts of pieces asked for with no choice that is worth showing.
    tried : int
        Break-ups that were laid flat.
    edge_mm : float
        How long the edges of the triangles are that it was made on.
    """

    choices: tuple[Choice, ...]
    none_found: tuple[int, ...]
    tried: int
    edge_mm: float


def proposals(
    surface: Surface,
    axes: TankAxes,
    *,
    plane: bool,
    lines: Sequence[FloatArray] | None = None,
    pieces: Sequence[int] = (2, 3, 4, 5, 6),
    prices: Sequence[float] = PRICES,
    seen_weight: float = 2.0,
    stand_off_mm: float = 9.0,
    trim_mm: float = 12.7,
    executor: Executor | None = None,
    report: Report = silent,
) -> Study:
    """Return break-ups worth a look.

    Parameters
    ----------
    surface : WorkingSurface
        One piece. The study coarsens it to edges of some 12 mm; seams are drawn on it.
    axes : TankAxes
        Its origin on the centre plane.
    plane : bool
        Whether y = 0 of the axes is a plane of symmetry; then every choice is symmetric to it.
    lines : sequence of (k, 3) float, mm, optional
        Character lines that seams may run beside; those locked on the surface if not given.
    pieces : sequence of int
        How many pieces the tank may be in, 1 to `MOST_PIECES`.
    prices : sequence of float, mm2 per mm
        Of weld.
    seen_weight : float
        How many hidden millimetres of weld one that is seen counts.
    stand_off_mm : float
        From a line to the seam beside it.
    trim_mm : float
        Left round each net line, for the metal needed.
    executor : concurrent.futures.Executor, optional
        What does the work; the answer is the same with any and with none.
    report : Report

    Raises
    ------
    PieceCountError, StudySurfaceError
    """
    wanted = tuple(sorted(set(pieces)))
    if not wanted or wanted[0] < 1 or wanted[-1] > MOST_PIECES:
        raise PieceCountError(tuple(pieces))
    ground = study_ground(
        surface,
        axes,
        plane=plane,
        lines=lines,
        stand_off_mm=stand_off_mm,
        seen_weight=seen_weight,
        report=part_of(report, 0.0, 0.08),
    )
    aims = aims_of(prices)
    found = searched(ground, wanted[-1], aims, executor, report=part_of(report, 0.08, 0.35))
    first = _worth_moving([(one, aim) for one, aim in found if one.pieces in wanted])
    rough = roughly_refined(ground, first, executor, report=part_of(report, 0.35, 0.55))
    real = laid_flat(ground, rough, executor, part_of(report, 0.55, 0.65))
    ready = _worth_refining(ground, real, aims)
    better = refined(ground, ready, executor, report=part_of(report, 0.65, 0.85))
    board = Board(surface, axes)
    cut = cut_for_real(
        ground, board, surface, _unbeaten(better), executor, report=part_of(report, 0.85, 0.92)
    )
    shown = _short_list(ground, cut, prices)
    choices = choices_of(ground, board, shown, trim_mm, executor, report=part_of(report, 0.92, 1.0))
    report(1.0, "weigh the choices")
    told = {choice.pieces for choice in choices}
    return Study(
        choices, tuple(each for each in wanted if each not in told), len(real), ground.edge_mm
    )


def _worth_moving(found: Sequence[tuple[Found, Aim]]) -> list[tuple[tuple[Leaf, ...], Aim]]:
    """Return the leaves of the few of each count of pieces that cost least, aim by aim.

    The fewer seams they have the more of them.
    """
    kept: list[tuple[tuple[Leaf, ...], Aim]] = []
    aims = list(dict.fromkeys(aim for _, aim in found))
    for count in sorted({one.pieces for one, _ in found}):
        orders = [
            [one.leaves for one, at in found if one.pieces == count and at == aim] for aim in aims
        ]
        rows = zip_longest(*orders)
        taken = [
            (leaves, aim)
            for row in rows
            for leaves, aim in zip(row, aims, strict=True)
            if leaves is not None
        ]
        seams = np.cumsum([max(len(courses_of(leaves)), 1) for leaves, _ in taken])
        most = max(int(np.searchsorted(seams, SEAMS_TO_MOVE, side="right")), TO_MOVE)
        kept += taken[:most]
    return kept


def laid_flat(
    ground: StudyGround, several: Sequence[Refined], executor: Executor | None, report: Report
) -> list[Refined]:
    """Return break-ups laid flat for real: unmoved where moved they cannot be, or left out."""
    laid = _standing(
        ground,
        several,
        [each.found.leaves for each in several],
        executor,
        part_of(report, 0.0, 0.8),
    )
    again = [k for k, each in enumerate(laid) if each is None]
    last = part_of(report, 0.8, 1.0)
    those = [several[k] for k in again]
    unmoved = _standing(ground, those, [each.start for each in those], executor, last)
    for k, each in zip(again, unmoved, strict=True):
        laid[k] = each
    return [each for each in laid if each is not None]


def _standing(
    ground: StudyGround,
    several: Sequence[Refined],
    leaves: Sequence[tuple[Leaf, ...]],
    executor: Executor | None,
    report: Report,
) -> list[Refined | None]:
    """Return break-ups with other leaves, laid flat for real; None for those that cannot be."""
    trials = [Trial(each) for each in leaves]
    laid = all_measured(ground, trials, executor, report=report)
    return [
        replace(each, found=answer) if answer is not None and answer.stands else None
        for answer, each in zip(laid, several, strict=True)
    ]


def _worth_refining(
    ground: StudyGround, real: Sequence[Refined], aims: Sequence[Aim]
) -> list[Refined]:
    """Return the few of each count of pieces that cost least by some aim or shrink least."""
    kept: list[Refined] = []
    for count in sorted({each.found.pieces for each in real}):
        mine = [each for each in real if each.found.pieces == count]
        orders = [
            [replace(one, aim=aim) for one in sorted(mine, key=_cost_at(ground, aim))]
            for aim in aims
        ]
        orders.append(sorted(mine, key=lambda each: -round(each.found.shrink, 4)))
        taken: list[Refined] = []
        for one in [order[k] for k in range(len(mine)) for order in orders]:
            if len(taken) < TO_REFINE and not any(
                one.aim.lifts_out == other.aim.lifts_out and _alike(ground, one, other, 1.0)
                for other in taken
            ):
                taken.append(one)
        kept += taken
    return kept


def _cost_at(ground: StudyGround, aim: Aim) -> Callable[[Refined], float]:
    return lambda each: _cost(ground, each, aim)


def _cost(ground: StudyGround, one: Refined, aim: Aim) -> float:
    """Return what a break-up costs, rounded so that last digits decide nothing."""
    return float(f"{one.found.cost(aim, ground.seen_weight):.9g}")


def _alike(ground: StudyGround, one: Refined, other: Refined, times: float) -> bool:
    return are_alike(_spread(one.found), _spread(other.found), ground.area, times=times)


def _spread(found: Measured) -> Spread:
    return Spread(np.array([leaf.count for leaf in found.leaves]), found.areas, found.centres)


def _unbeaten(several: Sequence[Refined]) -> list[Refined]:
    """Return those that can be laid flat and that no other beats."""
    standing = [each.found for each in several if each.found.stands]
    return [
        one
        for one in several
        if one.found.stands and not any(beats(_facts(o), _facts(one.found)) for o in standing)
    ]


def _short_list(
    ground: StudyGround, several: Sequence[Shown], prices: Sequence[float]
) -> list[Shown]:
    """Return the best few of each count of pieces that none beats, different enough.

    Of near equals those that lift out go first; where they come in no other way the best that lifts
    out comes last.
    """
    aim = Aim(usual(prices))
    unbeaten = [each for each in several if not any(beats(o.facts, each.facts) for o in several)]
    kept: list[Shown] = []
    for count in sorted({each.refined.found.pieces for each in unbeaten}):
        mine = sorted(
            [each for each in unbeaten if each.refined.found.pieces == count],
            key=lambda each: (
                _cost(ground, each.refined, aim) * (1.0 if each.lifts_out else 1.0 + NEAR_EQUAL)
            ),
        )
        same: list[Shown] = []
        for one in mine:
            if len(same) < TO_SHOW and not any(
                _alike(ground, one.refined, other.refined, SHOWN_APART) for other in same
            ):
                same.append(one)
        if not any(each.lifts_out for each in same):
            same += [each for each in mine if each.lifts_out][:1]
        kept += same
    return kept


def _facts(found: Measured) -> Facts:
    """Return what is known before a break-up is cut."""
    area = sum(leaf.count * one for leaf, one in zip(found.leaves, found.areas, strict=True))
    return found.pieces, -found.shrink, found.weld, bool(found.locked > FREE * area)


def beats(one: Facts, other: Facts) -> bool:
    """Return whether one is no worse in any of its facts, and better in one.

    >>> locked, free = (2, -0.9, 800.0, True), (2, -0.9, 900.0, False)
    >>> beats(locked, (3, -0.9, 800.0, True)), beats(locked, free), beats(free, locked)
    (True, False, False)
    """
    return all(a <= b for a, b in zip(one, other, strict=True)) and one != other
