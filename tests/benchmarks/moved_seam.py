"""How soon a break-up is judged anew after one of its seams was moved, on the sample tank.

Run it with `python -m tests.benchmarks.moved_seam`. A row for each seam: seconds of a first answer
and of the answer after a dozen of its points moved by 4 mm, the best of five moves, on triangles
8 mm wide; and how many panels had to be laid flat again.
docs/performance.md keeps the last measured.
"""

import time

from geometry.breakups import BreakUpFigures, Draft
from tests.geometry.breakups.test_sample_break_up import moved
from tests.geometry.panels.scans import sample_seams, sample_surface

MOVES = (4.0, -4.0, 2.0, -2.0, 6.0)


def laid_again(before: BreakUpFigures, after: BreakUpFigures) -> int:
    """Return how many panels are not those there were."""
    return sum(all(one.lift is not old.lift for old in before.panels) for one in after.panels)


def main() -> None:
    """Print the rows."""
    surface, seams = sample_surface(), list(sample_seams())
    print(f"{len(surface.mesh.faces)} triangles")
    for k, seam in enumerate(seams):
        draft = Draft(surface)
        begun = time.perf_counter()
        before = draft.judged(seams)
        first, best, again = time.perf_counter() - begun, float("inf"), 0
        for by_mm in MOVES:
            after_move = [*seams[:k], moved(seam, by_mm, len(seam.points) // 2), *seams[k + 1 :]]
            begun = time.perf_counter()
            after = draft.judged(after_move)
            best = min(best, time.perf_counter() - begun)
            again, before = max(again, laid_again(before, after)), after
        print(
            f"{seam.name:20} first {first:5.2f} s, moved {best:5.2f} s, {again} panels laid again"
        )


if __name__ == "__main__":
    main()
