"""What the tank shows in Tidy, Datum, Sides and Lines: the tank kept, and what is decided on it."""

import numpy as np

from app.job import JobState, Scanned, Sides, Tidied, latest, made
from app.window.bench import Bench
from app.window.kept import Kept
from app.window.legend import Swatch
from app.window.line_rows import LineRow, confidence_words, line_rows
from app.window.look import ACCENT, ASK, INK, LIT, LOCKED, MIRRORED, OFFERED, REJECTED
from app.window.marks import mark_swatches, painted_marks
from app.window.scene import Curve, PaintedDatum, PaintedMarks, Style, TankPicture
from app.window.sides_result import copied_of
from app.window.skin_tools import ball_rings
from app.window.steps import Desk
from app.window.tidy_rows import HoleRow, hole_rows
from geometry.arrays import FloatArray, IntArray
from geometry.datum import Datum, Point3
from geometry.mesh import TriMesh, section
from geometry.surface import FlatFace

SETTING_STEPS = ("Tidy", "Datum", "Sides", "Lines")
DASH_MM = 1.6

_WHAT = {
    "Tidy": "The tank as it is kept",
    "Datum": "How it stands",
    "Sides": "Left against right",
    "Lines": "Its character lines",
}
_FILLED = Swatch("short", ACCENT, "rim: WILL BE FILLED BY GUESS")
_OPEN = Swatch("solid", ASK, "rim, left open")
_LEFT_OUT = Swatch("plain", "#e6c9a2", "left out")
_LINE_SWATCHES = {
    "locked": Swatch("solid", LOCKED, "locked"),
    "offered": Swatch("dash", OFFERED, "offered"),
    "doubtful": Swatch("dashdot", OFFERED, "offered, doubtful"),
    "rejected": Swatch("dot", REJECTED, "thrown out"),
}
_FLAT = Swatch("solid", INK, "edge of a flat face")
_ZONE_COLOURS = {"left": ACCENT, "right": ASK, "odd": INK}

Removed = tuple[FloatArray, IntArray]


class SettingPictures:
    """Makes the pictures of the steps that set the tank up."""

    def __init__(self, bench: Bench, kept: Kept) -> None:
        self._bench, self._kept = bench, kept

    def tank(self, state: JobState, step: str, desk: Desk) -> TankPicture | None:
        """Return what is shown; None while the scan is not tidied yet."""
        tidied: Tidied | None = latest(state, "Tidy")
        size, scanned = made(state, "Size"), latest(state, "Scan")
        if tidied is None or size is None or scanned is None:
            return None
        scale = float(size.mm_per_unit)
        sides: Sides | None = made(state, "Sides") if step != "Tidy" else None
        mesh, marks = self._kept.of("set tank", (tidied, sides, scale), _tank_in_file)
        curves, legend = self._told(state, step, desk, scale)
        removed: Removed | None = None
        if step == "Tidy":
            removed = self._kept.of("removed", (scanned, tidied), _left_out)
            legend += (_LEFT_OUT,) if removed is not None else ()
        return TankPicture(
            scan=self._bench.picture_of(mesh),
            pick=("scan", mesh, mesh.vertices, mesh.faces),
            removed=removed,
            marks=marks,
            curves=curves,
            datum=self._datum(state, tidied, scale) if step in ("Datum", "Sides") else None,
            legend=(*legend, *mark_swatches(marks, state.sides.copy)),
            what=_WHAT[step],
        )

    def _datum(self, state: JobState, tidied: Tidied, scale: float) -> PaintedDatum | None:
        datum: Datum | None = latest(state, "Datum")
        if datum is None:
            return None
        return self._kept.of("datum", (datum, tidied, scale), _painted_datum)  # type: ignore[no-any-return]

    def _told(
        self, state: JobState, step: str, desk: Desk, scale: float
    ) -> tuple[tuple[Curve, ...], tuple[Swatch, ...]]:
        kind, number = desk.chosen
        pitch = DASH_MM / scale
        key: tuple[object, ...]
        if step == "Tidy":
            key = (latest(state, "Tidy"), state.tidy, number if kind == "hole" else -1, pitch)
            return self._kept.of("rims", key, _Rims(state))  # type: ignore[no-any-return]
        curves: tuple[Curve, ...]
        if step == "Lines":
            flats = latest(state, "Flat faces")
            picked = number if kind == "line" else -1
            key = (flats, latest(state, "Lines"), state.lines, picked, pitch)
            curves, legend = self._kept.of("lines", key, _Lines(state))
        elif step == "Datum":
            key = (state.datum, number if kind == "pick" else -1, scale)
            curves, legend = self._kept.of("picks", key, _Picks(state)), ()
        else:
            key = (state.sides, latest(state, "Sides"), desk.chosen, scale)
            curves, legend = self._kept.of("zones", key, _Zones(state)), ()
        if copied_of(made(state, "Sides")) is not None:
            return curves, legend  # the holes of a copied tank are other ones
        key = (latest(state, "Tidy"), state.tidy, pitch)
        rims, told = self._kept.of("rims to fill", key, _RimsToFill(state))
        return self._kept.of("with rims", (rims, curves), _joined), (*legend, *told)


def _joined(rims: tuple[Curve, ...], curves: tuple[Curve, ...]) -> tuple[Curve, ...]:
    return (*rims, *curves)


class _Of:
    """Makes curves of a job; the key they are kept under is passed along."""

    def __init__(self, state: JobState) -> None:
        self._state = state


class _Rims(_Of):
    def __call__(
        self, tidied: Tidied, choice: object, chosen: int, pitch: float
    ) -> tuple[tuple[Curve, ...], tuple[Swatch, ...]]:
        rows = hole_rows(self._state)
        curves = tuple(_rim_curve(row, at == chosen, pitch) for at, row in enumerate(rows))
        legend = tuple(
            swatch for swatch, on in ((_FILLED, True), (_OPEN, False))
            if any(row.is_filled == on for row in rows)
        )  # fmt: skip
        return curves, legend


class _RimsToFill(_Of):
    """The rims of holes that become a guess, in the steps before anything is filled."""

    def __call__(
        self, tidied: Tidied, choice: object, pitch: float
    ) -> tuple[tuple[Curve, ...], tuple[Swatch, ...]]:
        filled = [row for row in hole_rows(self._state) if row.is_filled]
        curves = tuple(_rim_curve(row, False, pitch) for row in filled)
        return curves, (_FILLED,) if filled else ()


def _rim_curve(row: HoleRow, chosen: bool, pitch: float) -> Curve:
    style: Style = "short" if row.is_filled else "solid"
    colour = ACCENT if row.is_filled else ASK
    return Curve(
        row.rim, style, LIT if chosen else colour,
        6.0 if chosen else 3.0, pitch, on_top=chosen,
    )  # fmt: skip


class _Lines(_Of):
    def __call__(
        self,
        flats: tuple[FlatFace, ...] | None,
        found: object,
        choices: object,
        chosen: int,
        pitch: float,
    ) -> tuple[tuple[Curve, ...], tuple[Swatch, ...]]:
        rows = line_rows(self._state)
        curves = tuple(_line_curve(row, row.number == chosen, pitch) for row in rows)
        kinds = [_kind_of(row) for row in rows]
        told = tuple(swatch for kind, swatch in _LINE_SWATCHES.items() if kind in kinds)
        scale = DASH_MM / pitch
        edges = tuple(
            Curve(face.edge / scale, "solid", INK, 1.5, words=f"flat {at + 1}")
            for at, face in enumerate(flats or ())
        )
        return (*curves, *edges), (*told, _FLAT) if flats else told


def _kind_of(row: LineRow) -> str:
    doubtful = row.standing == "offered" and confidence_words(row.confidence) == "doubtful"
    return "doubtful" if doubtful else row.standing


def _line_curve(row: LineRow, chosen: bool, pitch: float) -> Curve:
    swatch = _LINE_SWATCHES[_kind_of(row)]
    style = swatch.sample if swatch.sample in ("dash", "dot", "dashdot") else "solid"
    width = 4.5 if row.standing == "locked" else 3.0
    return Curve(
        row.points, style, LIT if chosen else swatch.colour, width + (3.0 if chosen else 0.0),
        pitch, str(row.number + 1),
    )  # fmt: skip


class _Picks(_Of):
    def __call__(self, choice: object, chosen: int, scale: float) -> tuple[Curve, ...]:
        datum = self._state.datum
        groups: list[tuple[str, tuple[Point3, ...]]]
        groups = [(f"{at + 1}", (point,)) for at, point in enumerate(datum.on_centre)]
        groups += [(f"L{at + 1} R{at + 1}", pair) for at, pair in enumerate(datum.pairs)]
        curves = [
            Curve(np.array(points), colour=LIT if at == chosen else ACCENT, width=3.5,
                  words=words, dots=True, on_top=True)
            for at, (words, points) in enumerate(groups)
        ]  # fmt: skip
        if datum.level == "picks" and datum.level_picks:
            level = np.array(datum.level_picks)
            curves.append(
                Curve(level, colour=ASK, width=3.5, words="level", dots=True, on_top=True)
            )
        return tuple(curves)


class _Zones(_Of):
    def __call__(
        self, choice: object, sides: Sides | None, chosen: tuple[str, int], scale: float
    ) -> tuple[Curve, ...]:
        kind, number = chosen
        zones = [(zone.side, f"copy the {zone.side}", zone) for zone in self._state.sides.zones]
        zones += [("odd", "as scanned", zone) for zone in self._state.sides.odd]  # type: ignore[misc]
        curves = []
        for at, (key, words, zone) in enumerate(zones):
            lit = kind == "zone" and at == number
            ring = ball_rings(np.array(zone.centre), zone.radius_mm / scale)
            curves.append(Curve(ring, "solid", LIT if lit else _ZONE_COLOURS[key], 2.0,
                                1.0, words, on_top=lit))  # fmt: skip
        found = None if sides is None else sides.left_right
        if found is not None:
            words = f"differs most, {found.largest_on} side"
            places = [(words, found.largest_at, MIRRORED)]
            if kind == "station" and 0 <= number < len(found.stations):
                places.append(("most at this station", found.stations[number].largest_at, LIT))
            curves += [
                Curve(place[None] / scale, colour=colour, width=4.0, words=words, dots=True,
                      on_top=True)
                for words, place, colour in places
            ]  # fmt: skip
        return tuple(curves)


def _tank_in_file(
    tidied: Tidied, sides: Sides | None, scale: float
) -> tuple[TriMesh, PaintedMarks | None]:
    """Return the tank in file coordinates, as it goes on, and what of it is hatched."""
    other = copied_of(sides)
    if other is not None:
        mesh, guessed, copied = other.mesh, other.guessed, other.copied
    else:
        mesh, guessed = tidied.tidy.mesh, tidied.tidy.bridged
        copied = np.zeros(len(mesh.faces), bool)
    drawn = TriMesh(mesh.vertices / scale, mesh.faces)
    return drawn, painted_marks(drawn.vertices, drawn.faces, guessed, copied, scale)


def _left_out(scanned: Scanned, tidied: Tidied) -> Removed | None:
    """Return what of the scan is not kept."""
    mesh = scanned.sound.mesh
    kept = np.zeros(len(mesh.faces), bool)
    source = tidied.tidy.scan_face_of_face
    kept[source[source >= 0]] = True
    return None if kept.all() else (mesh.vertices, mesh.faces[~kept])


def _painted_datum(datum: Datum, tidied: Tidied, scale: float) -> PaintedDatum:
    mesh = tidied.tidy.mesh
    local = (mesh.vertices - datum.plane.point) @ datum.axes.T
    low, high = local.min(axis=0), local.max(axis=0)
    half = np.array([(low[0] + high[0]) / 2.0, 0.0, (low[2] + high[2]) / 2.0])
    middle = datum.plane.point + half @ datum.axes
    reach = (high - half) / scale
    trace = section(mesh, datum.plane.point, datum.plane.normal)
    return PaintedDatum(
        middle / scale, datum.front, datum.left, datum.up,
        float(reach[0]), float((half[0] - low[0]) / scale),
        float(reach[2]), float((half[2] - low[2]) / scale),
        float(max(high[1], -low[1]) / scale),
        tuple(piece / scale for piece in trace),
    )  # fmt: skip
