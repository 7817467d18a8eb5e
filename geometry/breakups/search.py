"""Looking for break-ups: pieces parted again and again, the best few of every count kept.

Here works are estimates (`piece_figures`); what the search brings is laid flat for real after it.
"""

from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import partial

import numpy as np

from geometry.breakups.aims import Aim
from geometry.breakups.courses import Course, Cut, Leaf
from geometry.breakups.fields import LEAST_CROWN, area_levels, even_levels
from geometry.breakups.likeness import Spread, are_alike
from geometry.breakups.measured import LEAST_AREA, Cutter, centre_lines
from geometry.breakups.piece import Line, Piece, parted
from geometry.breakups.piece_figures import estimated_figures
from geometry.breakups.study_ground import StudyGround
from geometry.breakups.tasks import done_all
from geometry.mesh import vertex_areas
from geometry.progress import Report, part_of, silent

LEVELS = 7
"""Where a piece is tried to be parted along a field: at even shares of its area, or, for a field of
least crown, at even steps of it, which crowd where there is least shape."""

BEAM = 6
"""How many break-ups of each count of pieces go on, for every aim."""

MOST_TWINS = 3
"""Break-ups much alike, parted along other fields, that the search brings at most."""

CROSSING_MM, CROSSING_SHARE = 30.0, 0.15
"""How much of a seam may lie too near to character lines, at most: as much as crossing one or two
slantwise takes."""

PARTED = 2
"""How many of a break-up's pieces, those that cost most, are tried to be parted again."""


@dataclass(frozen=True)
class Part:
    """A leaf with what the search has to know of it.

    Attributes
    ----------
    leaf : Leaf
    work : float, mm2
        Estimated.
    locked : float, mm2
        Estimated.
    stands : bool
        Whether it is a disk.
    area : float, mm2
    centre : (3,) tuple of float, mm
    """

    leaf: Leaf
    work: float
    locked: float
    stands: bool
    area: float
    centre: tuple[float, float, float]


@dataclass(frozen=True)
class Split:
    """What parting a leaf gives.

    Attributes
    ----------
    parts : tuple of Part
    priced : float, mm
        Length of the new seam on the whole tank, what is seen counted more.
    """

    parts: tuple[Part, ...]
    priced: float


@dataclass(frozen=True)
class Found:
    """A break-up as the search has it.

    Attributes
    ----------
    parts : tuple of Part
    priced : float, mm
    """

    parts: tuple[Part, ...]
    priced: float

    @property
    def leaves(self) -> tuple[Leaf, ...]:
        """Return its leaves."""
        return tuple(part.leaf for part in self.parts)

    @property
    def fields(self) -> frozenset[int]:
        """Return the fields it is parted along."""
        return frozenset(cut.course.field for leaf in self.leaves for cut in leaf.cuts)

    @property
    def pieces(self) -> int:
        """Return how many pieces the whole tank is in."""
        return sum(part.leaf.count for part in self.parts)

    @property
    def stands(self) -> bool:
        """Return whether every piece is a disk."""
        return all(part.stands for part in self.parts)

    def cost(self, aim: Aim) -> float:
        """Return what it costs, mm2."""
        work = sum(part.leaf.count * part.work for part in self.parts)
        return aim.cost(
            work, self.priced, sum(part.leaf.count * part.locked for part in self.parts)
        )


def searched(
    ground: StudyGround,
    most_pieces: int,
    aims: Sequence[Aim],
    executor: Executor | None,
    *,
    report: Report = silent,
) -> tuple[tuple[Found, Aim], ...]:
    """Return the break-ups that cost least for their count of pieces, each with its aim.

    Parameters
    ----------
    ground : StudyGround
    most_pieces : int
    aims : sequence of Aim
        For each of them the best of every count go on.
    executor : concurrent.futures.Executor, optional
    report : Report
    """
    whole = _part(Leaf((), bool(ground.has_plane and ground.root.on_plane.any()), 1), ground.root)
    of_count: dict[int, dict[frozenset[Leaf], Found]] = {}
    _add(of_count, Found((whole,), 0.0))
    ways: dict[Leaf, list[Split]] = {}
    for pieces in range(1, most_pieces):
        share = part_of(report, (pieces - 1) / most_pieces, pieces / most_pieces)
        going_on = [one for one, _ in _best(ground, of_count.get(pieces, {}).values(), aims)]
        wanted = [leaf for each in going_on for leaf in _worth_parting(each) if leaf not in ways]
        wanted = list(dict.fromkeys(wanted))
        ways |= _splits_of(ground, wanted, executor, share)
        for each in going_on:
            for leaf in _worth_parting(each):
                for split in ways[leaf]:
                    made = _with_split(each, leaf, split)
                    if made.pieces <= most_pieces:
                        _add(of_count, made)
    report(1.0, "try partings")
    return tuple(
        best
        for pieces in sorted(of_count)
        for best in _best(
            ground,
            [each for each in of_count[pieces].values() if each.stands],
            aims,
            twins=True,
        )
    )


def _add(of_count: dict[int, dict[frozenset[Leaf], Found]], one: Found) -> None:
    of_count.setdefault(one.pieces, {}).setdefault(frozenset(one.leaves), one)


def _splits_of(
    ground: StudyGround, leaves: Sequence[Leaf], executor: Executor | None, report: Report
) -> dict[Leaf, list[Split]]:
    """Return every way to part each leaf."""
    fields = range(-1, len(ground.own_levels))
    items = [(leaf, field) for leaf in leaves for field in fields]
    if not items:
        return {}
    answers = done_all(partial(_ways_along, ground), items, executor, report, "try partings")
    ways: dict[Leaf, list[Split]] = {leaf: [] for leaf in leaves}
    for (leaf, _), found in zip(items, answers, strict=True):
        ways[leaf] += found
    return ways


def _ways_along(ground: StudyGround, item: tuple[Leaf, int]) -> list[Split]:
    """Return every way to part a leaf along one field; -1 stands for the centre plane."""
    leaf, field = item
    piece = Cutter(ground).piece(leaf.cuts)
    if piece is None:
        return []
    if field < 0:
        return [_at_centre(ground, leaf, piece)] if leaf.joined else []
    values, levels = piece.fields[:, field], ground.own_levels[field]
    if ground.field_names[field] == LEAST_CROWN:
        levels = even_levels(values, LEVELS)
    elif not len(levels):
        levels = area_levels(values, vertex_areas(piece.vertices, piece.faces), LEVELS)
    found = [_split(ground, leaf, piece, Course(field, float(level))) for level in levels]
    return [split for split in found if split is not None]


def _at_centre(ground: StudyGround, leaf: Leaf, piece: Piece) -> Split:
    part = _part(Leaf(leaf.cuts, joined=False, count=2), piece)
    return Split((part,), _priced(ground, centre_lines(piece)))


def _split(ground: StudyGround, leaf: Leaf, piece: Piece, course: Course) -> Split | None:
    both = parted(piece, course.heights(piece))
    if both is None or min(both.low.area, both.high.area) < LEAST_AREA * ground.area:
        return None
    if any(_runs_along_crisp(ground, line) for line in both.lines):
        return None
    apart = ground.has_plane and not leaf.joined
    parts = tuple(
        _part(_leaf(ground, (*leaf.cuts, Cut(course, above)), side, apart), side)
        for above, side in ((False, both.low), (True, both.high))
    )
    return Split(parts, ground.sides * _priced(ground, both.lines))


def _runs_along_crisp(ground: StudyGround, line: Line) -> bool:
    """Return whether a line runs along a character line, too near, for longer than to cross it."""
    near = ground.near_crisp(line)
    return near > CROSSING_MM and near > CROSSING_SHARE * ground.lengths(line)[0]


def _leaf(ground: StudyGround, cuts: tuple[Cut, ...], piece: Piece, apart: bool) -> Leaf:
    """Return a leaf with how many pieces it stands for."""
    if not ground.has_plane:
        return Leaf(cuts, joined=False, count=1)
    joined = not apart and len(piece.plane_edges) > 0
    return Leaf(cuts, joined, 1 if joined else 2)


def _part(leaf: Leaf, piece: Piece) -> Part:
    figures = estimated_figures(piece, joined=leaf.joined)
    centre = piece.outside[piece.faces].mean(axis=(0, 1)).tolist()
    return Part(
        leaf,
        figures.work,
        figures.locked,
        figures.stands,
        piece.area,
        (centre[0], centre[1], centre[2]),
    )


def _priced(ground: StudyGround, lines: Sequence[Line]) -> float:
    length, hidden = np.sum([ground.lengths(line) for line in lines], axis=0)
    return float(ground.seen_weight * (length - hidden) + hidden)


def _worth_parting(one: Found) -> list[Leaf]:
    cost = [part.leaf.count * part.work for part in one.parts]
    order = np.argsort(-np.array(cost), kind="stable")[:PARTED]
    return [one.parts[k].leaf for k in order.tolist()]


def _with_split(one: Found, leaf: Leaf, split: Split) -> Found:
    at = one.leaves.index(leaf)
    return Found((*one.parts[:at], *split.parts, *one.parts[at + 1 :]), one.priced + split.priced)


def _best(
    ground: StudyGround, found: Iterable[Found], aims: Sequence[Aim], *, twins: bool = False
) -> list[tuple[Found, Aim]]:
    """Return the best few for every aim, none like another that is better, unless
    the one is to lift out and the other is not.

    Twins: one like a better one is let stand where it is parted along other fields; moving its
    seams may lead elsewhere.
    """
    kept: list[tuple[Found, Aim]] = []
    several = list(found)
    for aim in aims:
        so_far = 0
        for one in sorted(several, key=_cost_at(aim)):
            if so_far == BEAM:
                break
            alike = [
                other
                for other, at in kept
                if at.lifts_out == aim.lifts_out
                and are_alike(_spread(one), _spread(other), ground.area)
            ]
            is_twin = (
                twins and len(alike) < MOST_TWINS and one.fields not in [o.fields for o in alike]
            )
            if not alike or is_twin:
                kept.append((one, aim))
            if not alike or one in alike:
                so_far += 1
    return kept


def _cost_at(aim: Aim) -> Callable[[Found], float]:
    """Return what gives a break-up's cost, rounded so that last digits decide nothing."""
    return lambda one: float(f"{one.cost(aim):.9g}")


def _spread(one: Found) -> Spread:
    return Spread(
        np.array([part.leaf.count for part in one.parts]),
        np.array([part.area for part in one.parts]),
        np.array([part.centre for part in one.parts]),
    )
