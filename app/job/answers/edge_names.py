"""What the edges of a panel are called: by the letter on its pattern, and by their key."""

from app.job.choices import JobState
from app.job.making import Panels
from app.job.steps import made
from geometry.pattern import edge_letters


def seam_edge_keys(state: JobState, panel: str) -> dict[str, str]:
    """Return the key of every edge along a seam by its letter; nothing while panels are not cut.

    Free edges are not among them: their letters, F1, F2, are their keys.
    """
    cut: Panels | None = made(state, "Seams")
    if cut is None:
        return {}
    letters = edge_letters([(each, each.mesh.vertices) for each in cut.panels])
    halves = next((each.seam_halves for each in cut.panels if each.name == panel), ())
    return {
        letter: f"{half.seam}|{half.other}"
        for letter, half in zip(letters.get(panel, ()), halves, strict=True)
    }
