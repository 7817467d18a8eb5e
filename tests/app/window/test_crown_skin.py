"""Crown and light tubes in the window: chosen by key, worked out, drawn, read; nothing edited."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from app.job import JobState
from app.window.crown_skin import (
    CROWN,
    HIGHLIGHTS,
    UNTOLD,
    CrownMap,
    crown_map,
    crown_reading,
    lit_skin,
    painted_crown,
)
from app.window.scene import Hit
from geometry.surface import CrownKind, LightTubes, highlights, is_lit
from tests import bodies
from tests.app.window.test_window import opened, press, rest
from tests.geometry.surface.crown.skins import noisy

pytestmark = pytest.mark.window

_READY: list[JobState] = []


def _ball() -> CrownMap:
    return crown_map(bodies.dome(120.0, 0.6, 40), 25.4)


def test_a_ball_is_painted_high_in_the_files_own_unit() -> None:
    ball = _ball()
    painted = painted_crown(ball, (), "mm")
    inner = np.hypot(*ball.vertices[ball.faces].mean(axis=1)[:, :2].T) < 1.5
    assert set(painted.kind[inner].tolist()) == {int(CrownKind.HIGH)}
    assert not painted.striped[inner].any()
    np.testing.assert_allclose(np.linalg.norm(ball.vertices, axis=1), 120.0 / 25.4)


def test_the_sweep_is_read_under_the_pointer_in_mm_and_inch() -> None:
    ball = _ball()
    face = int(np.linalg.norm(ball.vertices[ball.faces].mean(axis=1)[:, :2], axis=1).argmin())
    hit = Hit("skin", face, ball.vertices[ball.faces[face, 0]], np.array([0.3, 0.3, 0.4]))
    said = crown_reading(ball, hit, "mm")
    assert said == "High crown: sweep R 120 mm (4 3/4 in), across it R 120 mm (4 3/4 in)"
    assert "R 4 3/4 in (120 mm)" in crown_reading(ball, hit, "in")


def test_a_saddle_is_striped_and_read_as_going_inward() -> None:
    saddle = crown_map(bodies.hyperbolic_saddle(150.0, 0.5, 40), 1.0)
    middle = saddle.vertices[saddle.faces].mean(axis=1)
    face = int(np.linalg.norm(middle - middle.mean(axis=0), axis=1).argmin())
    painted = painted_crown(saddle, (), "mm")
    assert painted.kind[face] == CrownKind.REVERSE
    assert painted.striped[face]
    hit = Hit("skin", face, middle[face], np.full(3, 1.0 / 3.0))
    said = crown_reading(saddle, hit, "mm")
    assert said.startswith("Reverse crown: sweep R ")
    assert said.count("inward") == 1


def test_what_cannot_be_told_is_said_so() -> None:
    rough = crown_map(noisy(bodies.dome(120.0, 0.2, 5), 3.0), 1.0)
    assert (painted_crown(rough, (), "mm").kind == UNTOLD).any()
    words = [swatch.words for swatch in CROWN.legend(rough, "mm")]
    assert words[-1] == "scan too rough or too thin to tell"


def test_a_big_scan_is_measured_whole_and_drawn_light(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("app.window.scene.proxy.PROXY_ABOVE", 15_000)
    monkeypatch.setattr("app.window.scene.proxy.PROXY_TRIANGLES", 6_000)
    x, y = np.meshgrid(*[np.linspace(-60.0, 60.0, 100)] * 2, indexing="ij")
    skin = bodies.graph_patch(-(x**2 + y**2) / 400.0, 60.0, 60.0)
    lights = lit_skin(skin, 1.0)
    assert len(lights.faces) < 0.6 * len(skin.faces)
    inner = (np.abs(lights.vertices[:, :2]) < 50.0).all(axis=1)
    slope = lights.vertices[inner, :2] / 200.0
    true = np.column_stack([slope, np.ones(len(slope))])
    true /= np.linalg.norm(true, axis=1, keepdims=True)
    assert np.abs(lights.normals[inner] - true).max() < 0.01


@pytest.fixture
def sized(window: Any, shell_file: Path) -> Any:
    """Return a window with the shell, its unit said; read once in a run."""
    if _READY:
        window.keeper.begin(_READY[0], None, unsaved=False)
    else:
        opened(window, shell_file)
        window.foreman.set_unit("mm")
        rest(window)
        _READY.append(window.document.state)
    rest(window)
    return window


def test_keys_show_the_crown_and_the_tubes_and_plain_again(sized: Any) -> None:
    before = sized.document.state
    for key, words, skin in (("F3", "high crown", CROWN), ("F4", "a light tube", HIGHLIGHTS)):
        press(sized, key)
        rest(sized)
        assert sized.skin_keeper.chosen == skin.key
        assert isinstance(sized.skin_keeper.value(sized.document.state), object)
        assert any(words in said for said in sized.tank_side.legend.words)
        assert sized.tank_side.box.currentText() == skin.words
    press(sized, "F2")
    rest(sized)
    assert not any("tube" in said for said in sized.tank_side.legend.words)
    assert sized.document.state.scan is before.scan
    assert sized.document.state.seams == before.seams


def test_the_bottom_bar_reads_the_sweep_where_the_pointer_is(sized: Any) -> None:
    press(sized, "F3")
    rest(sized)
    hit = sized.tank.hit_at(sized.tank.width() / 2.0, sized.tank.height() / 2.0)
    assert hit is not None
    assert hit.on == "skin"
    sized.tank.pointed.emit(hit)
    assert " crown: sweep R " in sized._middle.readout.text()


def test_picture_shows_the_tubes_where_reflection_says(sized: Any) -> None:
    """Every picture point well inside the skin and off a stripe's edge: lit where the rule says."""
    press(sized, "F4")
    rest(sized)
    tank = sized.tank
    picture = np.asarray(tank.plotter.screenshot(None, return_img=True), np.float64)
    ratio = picture.shape[1] / tank.plotter.width()
    value = sized.skin_keeper.value(sized.document.state)
    eye = np.array(tank.plotter.camera.position)
    up = np.array(tank.plotter.camera.up)
    ahead = -tank.eye_direction()
    up = up - (up @ ahead) * ahead
    tubes = LightTubes(np.cross(ahead, up), up)
    right, wrong = 0, 0
    for x in np.linspace(0.3, 0.7, 30) * tank.plotter.width():
        for y in np.linspace(0.3, 0.7, 30) * tank.plotter.height():
            hit = tank.hit_at(x, y)
            if hit is None:
                continue
            normal = hit.barycentric @ value.normals[value.faces[hit.face]]
            normal /= np.linalg.norm(normal)
            if abs(normal @ ahead) < 0.5:
                continue
            seen = highlights(hit.point[None], normal[None], eye, tubes)
            if abs(abs(seen[0] - np.round(seen[0])) - 0.25) < 0.12:
                continue
            bright = picture[int(y * ratio), int(x * ratio)].mean() > 120.0
            right += bool(is_lit(seen)[0]) == bright
            wrong += bool(is_lit(seen)[0]) != bright
    assert right > 60
    assert wrong < 0.05 * right


def test_without_a_size_the_window_says_what_to_do_first(window: Any, shell_file: Path) -> None:
    opened(window, shell_file)
    press(window, "F3")
    rest(window)
    assert window.skin_keeper.value(window.document.state) is None
    assert "how large" in window.bottom._words.text()
