"""What notes on seams leave outside the net line, by side."""

import numpy as np
import pytest

from app.job import (
    EdgeChoice,
    Panels,
    SeamNote,
    carried_through,
    made,
    paper_digest,
    with_advice_hushed,
    with_breakup_kept,
    with_edge,
    with_seam_note,
    with_seam_renamed,
)
from app.job.making.seam_edges import edges_from_notes, lies_left
from geometry.mesh import vertex_normals
from tests.app.job.small_tank import carried

CUT: Panels = made(carried(), "Seams")


@pytest.mark.parametrize("panel", CUT.panels, ids=lambda panel: panel.name)
def test_a_panel_lies_left_of_a_seam_where_its_faces_do(panel) -> None:  # type: ignore[no-untyped-def]
    mesh = CUT.cut.mesh
    normals = vertex_normals(mesh.vertices, mesh.faces)
    for half in panel.seam_halves:
        (path,) = (each for each in CUT.cut.seam_paths if each.name == half.seam)
        first, second = path.edges[len(path.edges) // 2]
        beside = panel.vertex_of_panel_vertex[panel.mesh.faces]
        face = beside[np.isin(beside, [first, second]).sum(axis=1) == 2][0]
        middle = mesh.vertices[face].mean(axis=0)
        left = np.cross(normals[first], mesh.vertices[second] - mesh.vertices[first])
        assert lies_left(panel, half, path) == ((middle - mesh.vertices[first]) @ left > 0.0)


def _edges(note: SeamNote, *chosen: EdgeChoice) -> dict[str, tuple[tuple[str, float], ...]]:
    return {
        panel.name: tuple(
            (edge.kind, edge.width_mm)
            for edge in edges_from_notes(
                CUT, panel, [note], [c for c in chosen if c.panel == panel.name]
            )
        )
        for panel in CUT.panels
    }


def test_each_side_gets_its_own_width_and_nothing_leaves_the_usual_trim() -> None:
    seam = CUT.cut.seam_paths[0].name
    sides = {
        lies_left(panel, half, CUT.cut.seam_paths[0]): panel.name
        for panel in CUT.panels
        for half in panel.seam_halves
        if half.seam == seam
    }
    told = _edges(SeamNote(seam, edge="lap", allowance_mm=(8.0, 0.0)))
    assert told[sides[True]] == (("lap", 8.0),)
    assert told[sides[False]] == ()
    told = _edges(SeamNote(seam, edge="butt", allowance_mm=(8.0, 15.0)))
    assert told[sides[True]] == (("trim", 8.0),)
    assert told[sides[False]] == (("trim", 15.0),)


def test_an_edge_with_a_choice_of_its_own_goes_before_the_note() -> None:
    half = CUT.panels[0].seam_halves[0]
    own = EdgeChoice(CUT.panels[0].name, f"{half.seam}|{half.other}", "hem", 5.0)
    told = _edges(SeamNote(half.seam, edge="flange", allowance_mm=(8.0, 8.0)), own)
    assert told[own.panel] == (("hem", 5.0),)
    assert told[half.other] == (("flange", 8.0),)


def test_a_note_reaches_the_pattern_and_words_and_advice_do_not_reach_paper() -> None:
    state = carried()
    seam = state.seams[0].name
    worded = with_breakup_kept(
        with_advice_hushed(with_seam_note(state, SeamNote(seam, "seen")), seam, "low crown"), "a"
    )
    assert paper_digest(worded) == paper_digest(state)
    noted = with_seam_note(state, SeamNote(seam, edge="lap", allowance_mm=(9.0, 9.0)))
    assert paper_digest(noted) != paper_digest(state)
    after = carried_through(noted, "Paper")
    cuts = [
        cut
        for panel in made(after, "Seams").panels
        for cut in made(after, "Paper", panel.name).allowance_of_edge
        if cut.key.startswith(f"{seam}|")
    ]
    assert {(cut.allowance.kind, cut.allowance.width_mm) for cut in cuts} == {("lap", 9.0)}
    assert len(cuts) == 2
    assert made(with_seam_renamed(after, 0, "ridge"), "Paper", CUT.panels[0].name) is not None


def test_a_chosen_edge_that_says_the_same_as_a_note_is_the_same_pattern() -> None:
    state = carried()
    half = CUT.panels[0].seam_halves[0]
    path = next(each for each in CUT.cut.seam_paths if each.name == half.seam)
    wide = (9.0, 0.0) if lies_left(CUT.panels[0], half, path) else (0.0, 9.0)
    noted = with_seam_note(state, SeamNote(half.seam, edge="flange", allowance_mm=wide))
    own = EdgeChoice(CUT.panels[0].name, f"{half.seam}|{half.other}", "flange", 9.0)
    chosen = with_edge(state, own)
    one, other = (
        made(carried_through(each, "Paper"), "Paper", own.panel) for each in (noted, chosen)
    )
    np.testing.assert_array_equal(one.trim, other.trim)
