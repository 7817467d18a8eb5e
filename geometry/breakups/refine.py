"""Moving the seams of break-ups by a few smooth parameters, to lower work and priced weld.

Every seam may shift, tilt and bow within its field. A round tries each of these by a step either
way, goes to the least of the parabola through the three costs, for all at once, and keeps what is
best. Objective and background: docs/decisions/0012-proposed-break-ups.md.
"""

from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from functools import partial
from math import inf

import numpy as np

from geometry.arrays import FloatArray
from geometry.breakups.aims import Aim
from geometry.breakups.courses import (
    PARAMETERS,
    STEEPEST,
    Course,
    Cut,
    Leaf,
    courses_of,
    with_courses,
)
from geometry.breakups.measured import Measured, measured
from geometry.breakups.study_ground import StudyGround
from geometry.breakups.tasks import done_all
from geometry.progress import Report, part_of, silent

ROUGH_STEP, STEP = 1.0, 0.5
"""First steps while works are estimates, and once pieces are laid flat for real; in typical edges
of the ground."""

MORE_NEAR_MM = 2.0
"""By how much more of a seam may lie too near to a character line after a move."""

LEAST_STEP = 0.2
"""Steps are halved down to this, in edges, where they bring no more."""

ROUGH_ROUNDS, ROUNDS = 6, 6
"""Rounds, at most, of either kind."""

KICKS = np.concatenate(
    [sign * share * np.diag([0.0, *STEEPEST])[1:] for share in (0.5, 1.0) for sign in (-1.0, 1.0)]
)
"""Of a seam's half-length: how far it is tilted, bowed and swayed either way, to see whether that
is better than what steps lead to."""

WORTH_IT = 0.005
"""Part of its cost by which a round has to better a break-up to go on with the same step."""

FARTHEST_STEP = 1.5
"""How many steps a parameter goes at once, at most."""

SHARES = (1.0, 0.5)
"""Shares of the way to the parabolas' least that are tried."""


@dataclass(frozen=True, eq=False)
class Refined:
    """A break-up on its way.

    Attributes
    ----------
    found : Measured
    aim : Aim
    start : tuple of Leaf
        Before its seams were moved.
    """

    found: Measured
    aim: Aim
    start: tuple[Leaf, ...] = ()

    def cost(self, ground: StudyGround) -> float:
        """Return what it costs, infinite where a piece cannot be laid flat."""
        return self.found.cost(self.aim, ground.seen_weight) if self.found.stands else inf


@dataclass(frozen=True, eq=False)
class Trial:
    """A break-up to be measured.

    Attributes
    ----------
    leaves : tuple of Leaf
    before : Measured, optional
        Another, much alike, measured the same way.
    estimate : bool
    """

    leaves: tuple[Leaf, ...]
    before: Measured | None = None
    estimate: bool = False


def all_measured(
    ground: StudyGround,
    trials: Sequence[Trial],
    executor: Executor | None,
    *,
    report: Report = silent,
    stage: str = "lay pieces flat",
) -> list[Measured | None]:
    """Return every trial measured; see `measured`."""
    return done_all(partial(_tried, ground), trials, executor, report, stage)


def changed(
    found: Measured, courses: dict[tuple[Cut, ...], Course], *, estimate: bool = False
) -> Trial:
    """Return a trial of a break-up with some courses changed."""
    return Trial(with_courses(found.leaves, courses), found, estimate)


def roughly_refined(
    ground: StudyGround,
    several: Sequence[tuple[tuple[Leaf, ...], Aim]],
    executor: Executor | None,
    *,
    report: Report = silent,
) -> list[Refined]:
    """Return break-ups with their seams moved to where their estimated cost is least.

    Parameters
    ----------
    ground : StudyGround
    several : sequence of (tuple of Leaf, Aim)
        Break-ups, each with its aim.
    executor : concurrent.futures.Executor, optional
    report : Report
    """
    trials = [Trial(leaves, estimate=True) for leaves, _ in several]
    answers = all_measured(ground, trials, executor, report=part_of(report, 0.0, 0.1))
    rough = [
        Refined(_with_bends(ground, answer), aim)
        for (_, aim), answer in zip(several, answers, strict=True)
        if answer is not None
    ]
    rough = [replace(each, start=each.found.leaves) for each in rough]
    far = _kicked(ground, rough, executor, part_of(report, 0.1, 0.25))
    last = part_of(report, 0.25, 1.0)
    return _rounds(ground, far, ROUGH_STEP, ROUGH_ROUNDS, executor, estimate=True, report=last)


def _kicked(
    ground: StudyGround, several: Sequence[Refined], executor: Executor | None, report: Report
) -> list[Refined]:
    """Return break-ups with one seam each tilted or bowed by far, where that is better.

    What steps cannot reach without first growing worse: the other way to bow, above all.
    """
    kicks = [
        [
            changed(one.found, {cuts: course.moved(course.half_mm * by)}, estimate=True)
            for cuts, course in courses_of(one.found.leaves).items()
            for by in KICKS
        ]
        for one in several
    ]
    tried = _by_break_up(ground, several, kicks, executor, report)
    return [_least(ground, [one, *kicked]) for one, kicked in zip(several, tried, strict=True)]


def refined(
    ground: StudyGround,
    several: Sequence[Refined],
    executor: Executor | None,
    *,
    report: Report = silent,
) -> list[Refined]:
    """Return break-ups with their seams moved on to where they cost least; none comes out worse.

    Parameters
    ----------
    ground : StudyGround
    several : sequence of Refined
        Roughly refined, with real figures.
    executor : concurrent.futures.Executor, optional
    report : Report
    """
    return _rounds(ground, several, STEP, ROUNDS, executor, estimate=False, report=report)


def _rounds(
    ground: StudyGround,
    several: Sequence[Refined],
    step: float,
    rounds: int,
    executor: Executor | None,
    *,
    estimate: bool,
    report: Report,
) -> list[Refined]:
    """Return break-ups after rounds with steps of so many edges, halved where they bring little."""
    best = list(several)
    steps = np.full(len(best), step)
    for k in range(rounds):
        going_on = np.flatnonzero(steps >= LEAST_STEP).tolist()
        if not going_on:
            break
        share = part_of(report, k / rounds, (k + 1) / rounds)
        mm = (steps[going_on] * ground.edge_mm).tolist()
        mine = [best[each] for each in going_on]
        moved = (_round if estimate else _real_round)(ground, mine, mm, executor, share)
        for each, one in zip(going_on, moved, strict=True):
            if one.cost(ground) > (1.0 - WORTH_IT) * best[each].cost(ground):
                steps[each] /= 2.0
            best[each] = one
    return best


def _round(
    ground: StudyGround,
    several: Sequence[Refined],
    steps: Sequence[float],
    executor: Executor | None,
    report: Report,
) -> list[Refined]:
    """Return estimated break-ups after every parameter was tried by a step either way, in mm."""
    tried = _probed(ground, several, steps, executor, part_of(report, 0.0, 0.8))
    ways = _ways(ground, several, tried, steps)
    leaps = [
        [changed(one.found, _all_moved(one.found, way), estimate=True) for way in those]
        for one, those in zip(several, ways, strict=True)
    ]
    leapt = _by_break_up(ground, several, leaps, executor, part_of(report, 0.8, 1.0))
    return [
        _least(ground, [one, *leap, *probe])
        for one, leap, probe in zip(several, leapt, tried, strict=True)
    ]


def _real_round(
    ground: StudyGround,
    several: Sequence[Refined],
    steps: Sequence[float],
    executor: Executor | None,
    report: Report,
) -> list[Refined]:
    """Return break-ups laid flat for real where steps, tried by estimates, are to lead.

    Each piece's estimate is taken times what its real work was of its estimate before the step.
    """
    trials = [Trial(one.found.leaves, estimate=True) for one in several]
    guesses = all_measured(ground, trials, executor, report=part_of(report, 0.0, 0.1))
    bases = [
        one if guess is None else replace(one, found=guess)
        for one, guess in zip(several, guesses, strict=True)
    ]
    probed = _probed(ground, bases, steps, executor, part_of(report, 0.1, 0.5))
    tried = [
        [None if each is None else _in_ratio(each, base.found, one.found) for each in those]
        for one, base, those in zip(several, bases, probed, strict=True)
    ]
    leaps = []
    ways = _ways(ground, several, tried, steps)
    for one, those, probes in zip(several, ways, tried, strict=True):
        moved = [_all_moved(one.found, way) for way in those]
        best = _least(ground, [one, *probes]).found
        if best is not one.found:
            moved.append(_courses_led(one.found.leaves, best.leaves))
        leaps.append([changed(one.found, each) for each in moved])
    leapt = _by_break_up(ground, several, leaps, executor, part_of(report, 0.5, 1.0))
    return [_least(ground, [one, *leap]) for one, leap in zip(several, leapt, strict=True)]


def _probed(
    ground: StudyGround,
    several: Sequence[Refined],
    steps: Sequence[float],
    executor: Executor | None,
    report: Report,
) -> list[list[Measured | None]]:
    """Return estimates of break-ups with every parameter a step back, a step ahead, in mm."""
    probes = [
        [
            changed(one.found, {cuts: course.moved(sign * step * by)}, estimate=True)
            for cuts, course in courses_of(one.found.leaves).items()
            for by in np.eye(PARAMETERS)
            for sign in (-1.0, 1.0)
        ]
        for one, step in zip(several, steps, strict=True)
    ]
    return _by_break_up(ground, several, probes, executor, report)


def _in_ratio(found: Measured, guess: Measured, real: Measured) -> Measured:
    """Return estimates in the ratio that real works stand in to estimates of a break-up alike."""
    figures = tuple(
        replace(each, work=each.work * min(max(r.work / max(g.work, 1e-9), 0.2), 5.0))
        for each, g, r in zip(found.figures, guess.figures, real.figures, strict=True)
    )
    return replace(found, figures=figures)


def _ways(
    ground: StudyGround,
    several: Sequence[Refined],
    tried: Sequence[Sequence[Measured | None]],
    steps: Sequence[float],
) -> list[list[FloatArray]]:
    """Return, for each break-up, the ways that its courses are to be moved all at once, in mm."""
    ways = [
        _way_to_least(ground, one, answers) * step
        for one, answers, step in zip(several, tried, steps, strict=True)
    ]
    return [[share * way for share in (SHARES if way.any() else ())] for way in ways]


def _by_break_up(
    ground: StudyGround,
    several: Sequence[Refined],
    trials: Sequence[Sequence[Trial]],
    executor: Executor | None,
    report: Report,
) -> list[list[Measured | None]]:
    """Return trials of several break-ups measured, still by break-up.

    None stands where a seam is no longer one line from and to what it joined before, or runs
    farther along a character line, too near to it.
    """
    flat = [trial for those in trials for trial in those]
    answers = iter(all_measured(ground, flat, executor, report=report, stage="move the seams"))
    return [
        [_of_same_kind(one.found, next(answers)) for _ in those]
        for one, those in zip(several, trials, strict=True)
    ]


def _of_same_kind(before: Measured, after: Measured | None) -> Measured | None:
    if after is None or len(after.seams) != len(before.seams):
        return None
    for one, other in zip(before.seams, after.seams, strict=True):
        kinds = [[(line.is_ring, sorted(line.on_plane)) for line in s.lines] for s in (one, other)]
        if kinds[0] != kinds[1] or other.near > one.near + MORE_NEAR_MM:
            return None
    return after


def _way_to_least(
    ground: StudyGround, one: Refined, answers: Sequence[Measured | None]
) -> FloatArray:
    """Return (s, 3) how many steps each parameter of each course is to go."""
    costs = [inf if each is None else replace(one, found=each).cost(ground) for each in answers]
    here = one.cost(ground)
    back, ahead = np.array(costs).reshape(-1, PARAMETERS, 2).transpose(2, 0, 1)
    sound = np.isfinite(back) & np.isfinite(ahead) & np.isfinite(here)
    back, ahead = np.where(sound, back, 0.0), np.where(sound, ahead, 0.0)
    bend = ahead + back - 2.0 * (here if np.isfinite(here) else 0.0)
    rounded = sound & (bend > 0.0)
    to_least = (back - ahead) / (2.0 * np.where(rounded, bend, 1.0))
    downhill = np.sign(back - ahead) * FARTHEST_STEP
    steps = np.where(rounded, np.clip(to_least, -FARTHEST_STEP, FARTHEST_STEP), downhill)
    return np.asarray(np.where(sound, steps, 0.0))


def _all_moved(found: Measured, way: FloatArray) -> dict[tuple[Cut, ...], Course]:
    courses = courses_of(found.leaves).items()
    return {cuts: course.moved(by) for (cuts, course), by in zip(courses, way, strict=True)}


def _courses_led(
    before: tuple[Leaf, ...], after: tuple[Leaf, ...]
) -> dict[tuple[Cut, ...], Course]:
    """Return, by the pieces of one break-up, the courses of another that came of it."""
    return {
        leaf.cuts[:k]: led.cuts[k].course
        for leaf, led in zip(before, after, strict=True)
        for k in range(len(leaf.cuts))
    }


def _least(ground: StudyGround, several: Sequence[Refined | Measured | None]) -> Refined:
    """Return the one of several that costs least, the first of equals; the first has the aim."""
    best = several[0]
    if not isinstance(best, Refined):
        raise TypeError("the first carries the aim")
    for other in several[1:]:
        if isinstance(other, Measured):
            moved = replace(best, found=other)
            best = moved if moved.cost(ground) < best.cost(ground) else best
    return best


def _with_bends(ground: StudyGround, found: Measured) -> Measured:
    """Return the same break-up with courses that can be moved along themselves."""
    ready = {
        seam.cuts: seam.course.with_bend_along(seam.lines, ground.wide_mm)
        for seam in found.seams
        if seam.course is not None and seam.course.bend is None
    }
    leaves = with_courses(found.leaves, ready)
    of_leaf = dict(zip(found.leaves, leaves, strict=True))
    led = {
        before.cuts[:k]: after.cuts[:k]
        for before, after in of_leaf.items()
        for k in range(len(before.cuts) + 1)
    }
    seams = tuple(
        replace(seam, cuts=led[seam.cuts], course=ready.get(seam.cuts, seam.course))
        for seam in found.seams
    )
    return replace(found, leaves=leaves, seams=seams)


def _tried(ground: StudyGround, trial: Trial) -> Measured | None:
    return measured(ground, trial.leaves, trial.before, estimate=trial.estimate)
