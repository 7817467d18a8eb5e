"""What every painter shares: actors that are replaced as a set, and nothing drawn twice."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import pyvista as pv

from app.window.look import INK, PAPER
from geometry.arrays import FloatArray, IntArray

_FONT_SIZE = 15
_OPAQUE = 0.88
_ABOVE_PX = 9.0


class Painter:
    """Draws one kind of thing; drawing again replaces it, drawing the same again does nothing."""

    def __init__(self, plotter: Any) -> None:
        self.plotter = plotter
        self._actors: list[Any] = []
        self._of: tuple[Any, ...] | None = None

    def is_drawn(self, *what: Any) -> bool:
        """Return whether these very objects are drawn; if not, clear for drawing them."""
        same = (
            self._of is not None
            and len(self._of) == len(what)
            and all(a is b for a, b in zip(self._of, what, strict=True))
        )
        if not same:
            self.clear()
            self._of = what
        return same

    def clear(self) -> None:
        """Take everything off."""
        for actor in self._actors:
            self.plotter.remove_actor(actor, render=False)
        self._actors = []
        self._of = None

    def add(self, data: pv.DataSet, *, on_top: bool = False, **how: Any) -> Any:
        """Put a shape on; `on_top` shows it through the skin as well."""
        how = {"pickable": False, "reset_camera": False, "render": False} | how
        actor = self.plotter.add_mesh(data, **how)
        mapper = actor.GetMapper()
        mapper.SetResolveCoincidentTopologyToPolygonOffset()
        nearer = -50_000.0 if on_top else -8.0
        mapper.SetRelativeCoincidentTopologyLineOffsetParameters(0.0 if on_top else -4.0, nearer)
        mapper.SetRelativeCoincidentTopologyPointOffsetParameter(nearer)
        self._actors.append(actor)
        return actor

    def add_labels(self, points: FloatArray, words: Sequence[str], **how: Any) -> None:
        """Put words at points, over everything."""
        how = {
            "font_size": _FONT_SIZE,
            "shape_color": PAPER,
            "shape_opacity": _OPAQUE,
            "text_color": INK,
            "show_points": False,
            "always_visible": True,
            "margin": 4,
            "pickable": False,
            "reset_camera": False,
            "render": False,
        } | how
        self._actors.append(self.plotter.add_point_labels(points, list(words), **how))

    def add_words(
        self, place: FloatArray, words: str, *, above: bool = False, bold: bool = False
    ) -> None:
        """Put words with their middle at a place, or just above it however the tank is turned."""
        label: Any = pv.Text(f" {words} ")
        text = label.prop
        text.font_family = "arial"
        text.font_size, text.bold, text.color = _FONT_SIZE, bold, INK
        text.background_color, text.background_opacity = PAPER, _OPAQUE
        text.justification_horizontal, text.justification_vertical = (
            "center",
            "bottom" if above else "center",
        )
        world = pv._vtk.vtkCoordinate()
        world.SetCoordinateSystemToWorld()
        world.SetValue(*(float(value) for value in place))
        at = label.GetPositionCoordinate()
        at.SetCoordinateSystemToViewport()
        at.SetReferenceCoordinate(world)
        at.SetValue(0.0, _ABOVE_PX if above else 0.0, 0.0)
        self._actors.append(label)
        self.plotter.add_actor(label, pickable=False, reset_camera=False, render=False)


def lines(pieces: Sequence[FloatArray]) -> pv.PolyData:
    """Return polylines as one shape."""
    points = np.concatenate(pieces)
    cells: list[IntArray] = []
    start = 0
    for piece in pieces:
        cells.append(np.concatenate([[len(piece)], np.arange(start, start + len(piece))]))
        start += len(piece)
    return pv.PolyData(points, lines=np.concatenate(cells))


_ACROSS = np.array(
    [[[0, 1, 1], [0, 1, -1]], [[1, 0, 1], [1, 0, -1]], [[1, 1, 0], [1, -1, 0]]], np.float64
) / np.sqrt(2.0)
"""Two directions across each other, for faces that look mostly along x, y or z: however a face is
turned, stripes square to one of its own two lie at most 1.8 pitches apart on it."""


def facing_parts(vertices: FloatArray, faces: IntArray) -> list[tuple[pv.PolyData, FloatArray]]:
    """Return the faces parted by the axis they look along most, and two directions for each part.

    A hatch of one direction in space would vanish where the skin looks that way.
    """
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    axis = np.abs(np.cross(b - a, c - a)).argmax(axis=1)
    parts: list[tuple[pv.PolyData, FloatArray]] = []
    for way in np.unique(axis):
        whole: Any = pv.PolyData
        part = whole.from_regular_faces(np.ascontiguousarray(vertices), faces[axis == way]).clean()
        parts.append((part, _ACROSS[int(way)]))
    return parts


_ONE_WAY = np.array([0.62, 0.55, 0.56])


def striped(data: pv.PolyData, pitch: float, direction: FloatArray = _ONE_WAY) -> pv.PolyData:
    """Return a shape with stripe places for `stripe_texture`, `pitch` apart in space."""
    along = data.points @ direction / pitch
    data.active_texture_coordinates = np.stack([along, np.zeros(len(along))], axis=1)
    return data


def stripe_texture(colour: tuple[int, int, int], share: float) -> pv.Texture:
    """Return a texture with one stripe of a colour, the rest clear."""
    picture = np.zeros((4, 64, 4), np.uint8)
    picture[:, : int(64 * share)] = (*colour, 255)
    texture: pv.Texture = pv.Texture(picture)  # type: ignore[no-untyped-call]
    texture.repeat = True
    texture.interpolate = True
    return texture
