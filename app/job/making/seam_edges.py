"""What notes on seams leave outside the net line: the edges of the panels on both their sides."""

from collections.abc import Sequence

from app.job.choices import EdgeChoice, SeamEdge, SeamNote
from app.job.making.results import Panels
from geometry.panels import Panel, SeamHalf, SeamPath
from geometry.pattern import AllowanceKind

_KINDS: dict[SeamEdge, AllowanceKind] = {
    "butt": "trim",
    "lap": "lap",
    "flange": "flange",
    "joggle": "joggle",
}


def edges_from_notes(
    cut: Panels, panel: Panel, notes: Sequence[SeamNote], chosen: Sequence[EdgeChoice]
) -> tuple[EdgeChoice, ...]:
    """Return a panel's edges: those chosen by themselves, and what notes on seams say of others.

    A side a note leaves nothing on keeps the job's usual trim.

    Parameters
    ----------
    cut : Panels
    panel : Panel
        One of them.
    notes : sequence of SeamNote
    chosen : sequence of EdgeChoice
        Of this panel; they go before the notes.
    """
    taken = {edge.edge for edge in chosen}
    paths = {path.name: path for path in cut.cut.seam_paths}
    said = {note.seam: note for note in notes if note.edge and note.allowance_mm}
    found = list(chosen)
    for half in panel.seam_halves:
        note, key = said.get(half.seam), f"{half.seam}|{half.other}"
        if note is None or note.edge is None or note.allowance_mm is None or key in taken:
            continue
        width = note.allowance_mm[0 if lies_left(panel, half, paths[half.seam]) else 1]
        if width > 0.0:
            taken.add(key)
            found.append(EdgeChoice(panel.name, key, _KINDS[note.edge], width))
    return tuple(found)


def lies_left(panel: Panel, half: SeamHalf, path: SeamPath) -> bool:
    """Return whether a panel lies on the left of a seam as it is drawn, seen from outside.

    Its rim runs with the panel on its left, and a half runs with its rim.
    """
    place = {vertex: at for at, vertex in enumerate(path.vertices.tolist())}
    along = [place[vertex] for vertex in panel.vertex_of_panel_vertex[half.vertices[:2]].tolist()]
    step = along[1] - along[0]
    return step == 1 or step < -1  # a ring steps back where it closes
