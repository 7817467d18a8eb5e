"""The blank found in the form: ticks, middle line and deepest place against closed forms."""

import numpy as np
import pytest

from geometry.pattern import FormTick, deepest, dress, form_guide, form_ticks, own_middle
from tests.geometry.pattern.stand_ins import FlatByFormula, Half, disc, dome, grid


def rolled(radius: float = 120.0) -> FlatByFormula:
    """Return a sheet of 200 x 150 mm rolled about v, outside out."""
    places, faces = grid(40, 30, 200.0, 150.0)
    turn = (places[:, 0] - 100.0) / radius
    formed = np.stack([radius * np.sin(turn), places[:, 1], radius * np.cos(turn)], axis=1)
    return FlatByFormula(formed, faces, places)


def of_edge(ticks: tuple[FormTick, ...], letter: str) -> list[FormTick]:
    return [tick for tick in ticks if tick.letter == letter]


def test_ticks_stand_at_round_lengths_along_the_formed_edge() -> None:
    """A cap's rim forms to 2 pi R sin t, laid out 2 pi R t: flat = formed * t / sin t."""
    radius, angle = 150.0, 0.6
    flat = dome(24, radius, angle)
    ticks = form_ticks(flat, dress(flat), spacing_mm=50.0)
    around = 2.0 * np.pi * radius * np.sin(angle)
    assert len(ticks) == int((around - 20.0) // 50.0) + 1
    for tick in ticks:
        assert tick.formed_mm == 50.0 * (tick.number - 1)
        assert tick.flat_mm == pytest.approx(tick.formed_mm * angle / np.sin(angle), rel=1e-3)
        assert np.linalg.norm(tick.formed[:2]) == pytest.approx(radius * np.sin(angle), rel=1e-3)
        assert np.linalg.norm(tick.on_net) == pytest.approx(radius * angle, rel=1e-3)
        assert np.linalg.norm(tick.on_cut) == pytest.approx(radius * angle + 12.7, abs=0.2)


def test_a_tick_on_the_blank_is_the_same_metal_as_on_the_form() -> None:
    """On a rolled sheet nothing stretches: flat and formed lengths are alike, place for place."""
    flat = rolled()
    ticks = form_ticks(flat, dress(flat), spacing_mm=50.0)
    for tick in ticks:
        assert tick.flat_mm == pytest.approx(tick.formed_mm, abs=0.02)  # chords of the facets
        turn = (tick.on_net[0] - 100.0) / 120.0
        truth = [120.0 * np.sin(turn), tick.on_net[1], 120.0 * np.cos(turn)]
        np.testing.assert_allclose(tick.formed, truth, atol=0.03)


def test_numbers_run_round_the_rim_and_every_edge_starts_at_its_corner() -> None:
    flat = rolled()
    pattern = dress(flat)
    ticks = form_ticks(flat, pattern, spacing_mm=50.0)
    assert [tick.number for tick in ticks] == list(range(1, len(ticks) + 1))
    assert len(pattern.edges) == 4
    for edge in pattern.edges:
        mine = of_edge(ticks, edge.letter)
        assert [tick.is_corner for tick in mine] == [True] + [False] * (len(mine) - 1)
        np.testing.assert_allclose(mine[0].on_net, edge.points[0])
        assert len(mine) == round(edge.flat_mm / 50.0)


def test_ticks_stand_on_the_line_to_cut_square_outside_the_net() -> None:
    flat = rolled()
    pattern = dress(flat, trim_mm=20.0)
    for tick in form_ticks(flat, pattern, spacing_mm=50.0):
        if not tick.is_corner:
            assert np.linalg.norm(tick.on_cut - tick.on_net) == pytest.approx(20.0, abs=1e-6)
        outside = np.maximum(np.maximum(-tick.on_cut, tick.on_cut - [200.0, 150.0]), 0.0)
        assert np.linalg.norm(outside) == pytest.approx(20.0, abs=1e-6)


def test_the_deepest_place_of_a_cap_is_its_pole() -> None:
    """R (1 - cos t) below the rim's plane; the rim's chords lie inside by 1e-3 of that."""
    radius, angle = 150.0, 0.6
    found = deepest(dome(24, radius, angle))
    assert found is not None
    assert found.depth_mm == pytest.approx(radius * (1.0 - np.cos(angle)), rel=2e-3)
    np.testing.assert_allclose(found.place, 0.0, atol=0.05)
    assert found.rim_off_mm < 1e-6


def test_the_deepest_place_is_found_between_vertices() -> None:
    """A tilted bowl is as deep as a level one: z = r^2 / 400 about the middle, where none stands.

    The rim's plane tilts with it, so the deepest place is the rectangle's middle.
    """
    places, faces = grid(25, 21, 240.0, 200.0)
    top = np.array([120.0, 100.0])
    away = places - [93.7, 84.2]
    height = -(away**2).sum(axis=1) / 400.0
    flat = FlatByFormula(np.column_stack([places, height]), faces, places)
    found = deepest(flat)
    assert found is not None
    np.testing.assert_allclose(found.place, top, atol=0.5)


def test_a_rolled_panel_is_deepest_at_the_middle_of_its_ridge() -> None:
    """Rolled R 120 about v: deep all along u = 100, of which the middle is told."""
    found = deepest(rolled())
    assert found is not None
    np.testing.assert_allclose(found.place, [100.0, 75.0], atol=0.5)
    assert found.formed[2] == pytest.approx(120.0, abs=0.05)


@pytest.mark.parametrize("bend", [0.0, 1.0 / 300.0])
def test_a_flat_or_hollow_panel_has_no_deepest_place(bend: float) -> None:
    places, faces = disc(10, 100.0)
    height = bend * ((places**2).sum(axis=1) - 100.0**2)  # hollow seen from outside
    assert deepest(FlatByFormula(np.column_stack([places, height]), faces, places)) is None


def test_the_panels_own_middle_halves_it_along_its_longest_way() -> None:
    flat = rolled()
    (line,) = own_middle(flat)
    np.testing.assert_allclose(line[:, 1], 75.0, atol=0.5)
    assert np.ptp(line[:, 0]) == pytest.approx(200.0, abs=0.5)
    (across,) = own_middle(flat, np.array([0.0, 1.0, 0.0]))
    np.testing.assert_allclose(across[:, 0], 100.0, atol=0.5)


def test_the_middle_lines_ends_are_told_along_their_edges() -> None:
    """Halfway along either short edge, 75 mm from its first corner."""
    flat = rolled()
    pattern = dress(flat)
    guide = form_guide(flat, pattern)
    assert not guide.is_tank_centre
    assert len(guide.ends) == 2
    assert len({end.letter for end in guide.ends}) == 2
    for end in guide.ends:
        assert end.formed_mm == pytest.approx(75.0, abs=0.5)
        assert end.flat_mm == pytest.approx(75.0, abs=0.5)


def test_seams_keep_their_letters() -> None:
    flat = rolled()

    class Panel:
        name = "left side"
        filled = np.zeros(len(flat.faces), bool)
        copied = np.zeros(0, bool)
        lines = ()
        openings = ()
        seam_halves = (Half("rail", flat.rim[:41], "top"),)

    pattern = dress(flat, Panel())
    letters = {tick.letter for tick in form_ticks(flat, pattern)}
    assert letters == {edge.letter for edge in pattern.edges}
    assert "A" in letters
