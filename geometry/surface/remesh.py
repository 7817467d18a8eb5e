"""Even triangles over a given surface: `remeshed`, and the loop of steps behind it."""

from collections.abc import Callable, Sequence

from geometry.arrays import FloatArray
from geometry.progress import Report, silent
from geometry.surface.collapse import with_short_edges_collapsed
from geometry.surface.flip import with_edges_flipped
from geometry.surface.net import Net
from geometry.surface.relax import relaxed
from geometry.surface.split import with_long_edges_split

Follow = Callable[[Net], Net]
"""Puts a net's free vertices back on its surface and renews normals and sizes there."""


def evened(
    net: Net,
    follow: Follow,
    lines: Sequence[FloatArray],
    *,
    rounds: int = 6,
    split_lines: bool = True,
    report: Report = silent,
) -> Net:
    """Return the net with triangles of the size wanted, evened out.

    Parameters
    ----------
    net : Net
    follow : callable
        Puts vertices back on the surface after they have moved.
    lines : sequence of (k, 3) float, mm
        The polylines that vertices on lines keep to.
    """
    for turn in range(rounds):
        report(turn / rounds, "even the triangles")
        net = with_long_edges_split(net, split_lines=split_lines)
        net = with_short_edges_collapsed(net)
        net = with_edges_flipped(net)
        net = follow(relaxed(net, lines))
    for _ in range(2):
        net = with_edges_flipped(net)
        net = follow(relaxed(net, lines))
    report(1.0, "even the triangles")
    return with_edges_flipped(net)
