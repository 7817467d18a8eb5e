"""What tank and sheet show, worked out from the job and what is chosen; kept until it changes."""

from dataclasses import replace
from typing import Any

import numpy as np

from app.exports import marked_out_as_shown
from app.job import (
    Blank,
    Comparison,
    JobState,
    Panels,
    Scanned,
    SeamLine,
    Surface,
    failure,
    latest,
    made,
    panel_names,
    why_no_cut,
)
from app.units import length_text
from app.window.bench import Bench
from app.window.kept import Kept
from app.window.marks import STRIPE_MM, mark_swatches, painted_marks
from app.window.rest import RestPicture, RestStep, row_of
from app.window.scene import PaintedChange, PaintedSeams, PaintedSurface, Pick, TankPicture
from app.window.seam_courses import SeamCourses
from app.window.seam_hand import SEAM_POINT, all_on
from app.window.seam_picture import with_seams_told
from app.window.seam_snaps import catch_words, twin_of
from app.window.setting_picture import SETTING_STEPS, SettingPictures
from app.window.sheet import Against, Sheet, top_hangs_down
from app.window.skin_keeper import Shown
from app.window.steps import Desk
from app.window.words import ways_of
from geometry.arrays import FloatArray
from geometry.datum import Tape
from geometry.mesh import face_normals
from geometry.pattern import Pattern, contour_levels, vertex_average

LIFTED_MM = 5.0
"""How far names float above the skin, so that the skin hides only those on its far side."""

LEAST_LIMIT = 0.005
"""The colour scale never ends below half of 1 per 100: noise is not shown as work."""


_NOWHERE = np.empty((0, 3))
_LOOK_HERE = ("look here: add a seam",)


class Pictures:
    """Makes pictures; what was made from the same objects is the same object."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench
        self._kept = Kept()
        self._setting = SettingPictures(bench, self._kept)
        self.courses: SeamCourses | None = None
        """Knows how seams run before they are cut."""

    def tank(
        self, state: JobState, step: str, desk: Desk, shown: Shown | None = None
    ) -> TankPicture:
        """Return what the tank view shows; its skin in colours of a way of looking, if `shown`."""
        picture = self._tank_of_step(state, step, desk)
        row = row_of(step)
        if row is not None:
            picture = self._with_rest(picture, row, state, desk)
        if step == "Seams":
            picture = with_seams_told(picture, state, desk, self._kept)
        if shown is None or step in ("Blanks", "Paper"):
            return picture
        painted = replace(
            picture,
            skin=(shown.key, shown.painted),
            legend=(*shown.legend, *picture.legend),
        )
        if step == "Seams":  # seams and panels are pointed at, whatever colours the skin has
            return painted
        pick: Pick = ("skin", shown.painted, shown.painted.vertices, shown.painted.faces)
        return replace(painted, pick=pick)

    def _with_rest(
        self, picture: TankPicture, row: RestStep, state: JobState, desk: Desk
    ) -> TankPicture:
        """Return a picture with what a step besides the panels shows; kept until it changes."""
        key = (row, latest(state, row.name), state.rest, desk.chosen, desk.show)
        shown: RestPicture = self._kept.of("rest", key, lambda *of: row.picture(state, desk))
        if shown.see_through and picture.surface is not None:
            picture = replace(
                picture, surface=None, veiled=picture.surface, what="The skin seen through"
            )
        return replace(
            picture,
            names=(),
            name_places=_NOWHERE,
            chosen_panel=-1,
            bodies=shown.bodies,
            curves=(*picture.curves, *shown.curves),
            legend=(*picture.legend, *shown.legend),
        )

    def _tank_of_step(self, state: JobState, step: str, desk: Desk) -> TankPicture:
        if step in SETTING_STEPS:
            picture = self._setting.tank(state, step, desk)
            if picture is not None:
                return picture
        scanned: Scanned | None = latest(state, "Scan")
        tapes = self._kept.of("tapes", state.size.tapes, _tape_lines)
        words = tuple(length_text(t.length_mm, desk.show) for t in state.size.tapes)
        surface = None if step in ("Scan", "Size", *SETTING_STEPS) else self.surface(state, desk)
        if surface is None:
            if scanned is None:
                return TankPicture()
            mesh = scanned.sound.mesh
            return TankPicture(
                scan=self._bench.picture_of(mesh),
                pick=("scan", mesh, mesh.vertices, mesh.faces),
                rims=self._rims(scanned) if step == "Scan" else (),
                tapes=tapes if step == "Size" else (),
                tape_words=words,
                chosen_tape=desk.tape,
            )
        names = panel_names(state)
        coloured = surface.panel_of_face is not None
        chosen = names.index(desk.panel) if desk.panel in names and coloured else -1
        at_blanks = step in ("Blanks", "Paper")
        change = self._change(state, desk.panel) if at_blanks else None
        warned = self._warned(state, desk.panel) if at_blanks else _NOWHERE
        return TankPicture(
            surface=surface,
            pick=("cut" if coloured else "surface", surface, surface.vertices, surface.faces),
            marks=surface.marks,
            legend=mark_swatches(surface.marks, state.sides.copy),
            chosen_panel=chosen if at_blanks or chosen >= 0 else -1,
            change=change if chosen >= 0 else None,
            names=names if coloured else (),
            name_places=self._name_places(state) if coloured else np.empty((0, 3)),
            seams=self._seams(state, step, desk),
            warned=warned,
            warnings=_LOOK_HERE if len(warned) else (),
        )

    def surface(self, state: JobState, desk: Desk) -> PaintedSurface | None:
        """Return the working surface: cut where it is cut and no seam is being drawn."""
        surface: Surface | None = latest(state, "Surface")
        panels: Panels | None = latest(state, "Seams")
        size = made(state, "Size")
        if surface is None or size is None:
            return None
        scale = size.mm_per_unit
        if panels is not None and state.seams and desk.tool != "seam":
            return self._kept.of("cut", (panels, scale), _cut_surface)  # type: ignore[no-any-return]
        return self._kept.of("surface", (surface, scale), _whole_surface)  # type: ignore[no-any-return]

    def _seams(self, state: JobState, step: str, desk: Desk) -> PaintedSeams:
        """Return the seams, at their own step the chosen one with its points."""
        lines = self.seam_lines(state)
        if step != "Seams" or not 0 <= desk.seam < len(state.seams):
            return self._kept.of("plain seams", (lines, state.seams), _plain_seams)  # type: ignore[no-any-return]
        kind, number = desk.chosen
        at = number if kind == SEAM_POINT else -1
        shown = desk.tool != SEAM_POINT  # a point that is carried is drawn by its tool
        key = (lines, state.seams, desk.seam, at, shown)
        return self._kept.of("chosen seam", key, _chosen_seam)  # type: ignore[no-any-return]

    def seam_lines(self, state: JobState) -> tuple[FloatArray, ...]:
        """Return every seam as it runs over the skin, as well as that is known."""
        found = None if self.courses is None else self.courses.lines(state)
        if found is not None:
            return found
        panels: Panels | None = made(state, "Seams")
        size = made(state, "Size")
        if panels is not None and size is not None:
            return self._kept.of(  # type: ignore[no-any-return]
                "seams", (panels, size.mm_per_unit), _cut_seams
            )
        return self._kept.of("drawn seams", (state.seams,), _drawn_seams)  # type: ignore[no-any-return]

    def sheet(self, state: JobState, desk: Desk, *, from_inside: bool) -> Sheet | None:
        """Return what the sheet shows: the chosen panel's blank."""
        if desk.comparison is not None:
            return self._compared_sheet(state, desk, desk.comparison, from_inside=from_inside)
        blank: Blank | None = latest(state, "Blanks", desk.panel) if desk.panel else None
        if blank is None:
            return None
        stale = made(state, "Blanks", desk.panel) is None
        pattern: Pattern | None = latest(state, "Paper", desk.panel)
        entry = state.results.get(("Paper", desk.panel))
        if entry is not None and blank not in entry.made_from:
            pattern = None
        stretched, shrunk = (), ()
        if pattern is not None:
            shown = (desk.show, state.metal.thickness_mm, desk.least_thickness_mm)
            pattern = self._kept.of(f"pattern of {desk.panel}", (pattern, blank, *shown), _as_shown)
            stretched, shrunk = self._kept.of(f"hatch of {desk.panel}", (pattern,), _hatched)
        return Sheet(
            blank=blank,
            pattern=pattern,
            limit=self._limit(state),
            may_cut=not stale and not why_no_cut(state, desk.panel),
            stale=stale,
            from_inside=from_inside,
            has_front=state.directions.front is not None,
            show=desk.show,
            sheet_mm=state.metal.thickness_mm,
            least_mm=desk.least_thickness_mm,
            stretched=stretched,
            shrunk=shrunk,
            is_turned=self._kept.of(
                f"top of {desk.panel}", (blank.flat, state.directions.top), top_hangs_down
            ),
        )

    def _compared_sheet(
        self, state: JobState, desk: Desk, found: Comparison, *, from_inside: bool
    ) -> Sheet:
        """Return both blanks of a comparison on one sheet, the first to be pointed at."""
        first, second = found.blanks
        return Sheet(
            blank=first,
            pattern=None,
            limit=self._limit(state),
            may_cut=False,
            stale=False,
            from_inside=from_inside,
            has_front=state.directions.front is not None,
            show=desk.show,
            sheet_mm=state.metal.thickness_mm,
            least_mm=desk.least_thickness_mm,
            against=Against(second.flat.flat_vertices[second.flat.rim], ways_of(found)),
            is_turned=top_hangs_down(first.flat, state.directions.top),
        )

    def _limit(self, state: JobState) -> float:
        """Return the end of the colour scale: one for all blanks, so that they compare."""
        blanks = tuple(latest(state, "Blanks", name) for name in panel_names(state))
        return float(self._kept.of("limit", tuple(b for b in blanks if b is not None), _limit_of))

    def _change(self, state: JobState, panel: str) -> PaintedChange | None:
        blank: Blank | None = latest(state, "Blanks", panel) if panel else None
        panels: Panels | None = latest(state, "Seams")
        size = made(state, "Size")
        if blank is None or panels is None or size is None:
            return None
        key = ("change", (blank, panels, size.mm_per_unit, self._limit(state)))
        return self._kept.of(*key, _painted_change)  # type: ignore[no-any-return]

    def _warned(self, state: JobState, panel: str) -> FloatArray:
        """Return where the chosen panel failed, or is too deep for one piece, if it is."""
        size = made(state, "Size")
        if not panel or size is None:
            return _NOWHERE
        what = failure(state, "Blanks", panel) or latest(state, "Blanks", panel)
        return self._kept.of("warned", (what, size.mm_per_unit), _place_to_look)  # type: ignore[no-any-return]

    def _name_places(self, state: JobState) -> FloatArray:
        panels, size = latest(state, "Seams"), made(state, "Size")
        return self._kept.of("names", (panels, size.mm_per_unit), _name_places)  # type: ignore[no-any-return]

    def _rims(self, scanned: Scanned) -> tuple[FloatArray, ...]:
        return self._kept.of("rims", (scanned,), _rims_of)  # type: ignore[no-any-return]


def _cut_surface(panels: Panels, mm_per_unit: float) -> PaintedSurface:
    cut = panels.cut
    order = np.full(len(cut.mesh.faces), -1, np.int64)
    for number, panel in enumerate(panels.panels):
        order[panel.face_of_panel_face] = number
    vertices = cut.outside / mm_per_unit
    marks = painted_marks(vertices, cut.mesh.faces, cut.filled, cut.copied, mm_per_unit)
    return PaintedSurface(vertices, cut.mesh.faces, order, marks)


def _tape_lines(*tapes: Tape) -> tuple[FloatArray, ...]:
    """Return the points each tape passes; a girth comes back to its first."""
    return tuple(
        np.array((*tape.picks, tape.picks[0]) if tape.kind == "girth" else tape.picks)
        for tape in tapes
    )


def _whole_surface(surface: Surface, mm_per_unit: float) -> PaintedSurface:
    working = surface.working
    vertices, faces = working.outside / mm_per_unit, working.mesh.faces
    marks = painted_marks(vertices, faces, working.filled, working.copied, mm_per_unit)
    return PaintedSurface(vertices, faces, None, marks)


def _cut_seams(panels: Panels, mm_per_unit: float) -> tuple[FloatArray, ...]:
    found = []
    for path in panels.cut.seam_paths:
        vertices = np.append(path.vertices, path.vertices[0]) if path.closed else path.vertices
        found.append(panels.cut.outside[vertices] / mm_per_unit)
    return tuple(found)


def _drawn_seams(seams: Any) -> tuple[FloatArray, ...]:
    return tuple(
        np.array((*seam.points, seam.points[0]) if seam.closed else seam.points) for seam in seams
    )


def _plain_seams(lines: tuple[FloatArray, ...], seams: tuple[SeamLine, ...]) -> PaintedSeams:
    return PaintedSeams(lines, tuple(seam.name for seam in seams))


def _chosen_seam(
    lines: tuple[FloatArray, ...], seams: tuple[SeamLine, ...], chosen: int, at: int, shown: bool
) -> PaintedSeams:
    seam, on = seams[chosen], all_on(seams[chosen])
    return PaintedSeams(
        lines,
        tuple(seam.name for seam in seams),
        chosen if shown else -1,
        twin_of(seams, chosen) if shown else -1,
        np.array(seam.points) if shown else _NOWHERE,
        tuple(bool(each) for each in on),
        at,
        catch_words(on[at]) if 0 <= at < len(on) else "",
    )


def _limit_of(*blanks: Blank) -> float:
    if not blanks:
        return LEAST_LIMIT
    changes = [float(np.quantile(np.abs(blank.flat.signed_change), 0.98)) for blank in blanks]
    return float(np.ceil(max(LEAST_LIMIT, *changes) * 200.0) / 200.0)


def _painted_change(
    blank: Blank, panels: Panels, mm_per_unit: float, limit: float
) -> PaintedChange:
    flat = blank.flat
    panel = next(panel for panel in panels.panels if panel.name == blank.panel)
    vertices = np.array(blank.mesh.vertices)
    if len(panel.outside) <= len(vertices):
        vertices[: len(panel.outside)] = panel.outside
    areas = flat.formed_areas * flat.thickness
    values = vertex_average(flat.signed_change, areas, flat.faces, len(vertices))
    return PaintedChange(
        vertices / mm_per_unit, flat.faces, values, limit, contour_levels(values),
        STRIPE_MM / mm_per_unit,
    )  # fmt: skip


def _hatched(pattern: Pattern) -> tuple[tuple[FloatArray, ...], tuple[FloatArray, ...]]:
    """Return the loops round what is stretched, and shrunk, by the least contour or more."""
    levels = pattern.levels
    least = levels[levels > 0.0][:1], levels[levels < 0.0][-1:]
    stretched, shrunk = (
        tuple(loop for level in found for loop in pattern.shape.loops_beyond(float(level)))
        for found in least
    )
    return stretched, shrunk


def _place_to_look(what: Blank | Exception | None, mm_per_unit: float) -> FloatArray:
    """Return the place an error carries, or where a blank is not sound: one row, or none."""
    place = what.flat.unsound_place if isinstance(what, Blank) else getattr(what, "place", None)
    if place is None or not np.isfinite(place).all():
        return _NOWHERE
    return np.asarray(place, np.float64)[None] / mm_per_unit


def _as_shown(
    pattern: Pattern, blank: Blank, show: str, sheet_mm: float, least_mm: float
) -> Pattern:
    """Return the pattern with ticks, grid and thin regions as the maker wants them shown."""
    return marked_out_as_shown(
        pattern, blank.flat, show="in" if show == "in" else "mm", sheet_mm=sheet_mm,
        least_mm=least_mm,
    )  # fmt: skip


def _name_places(panels: Panels, mm_per_unit: float) -> FloatArray:
    """Return for every panel a place on it, nearest its middle."""
    places = []
    for panel in panels.panels:
        centres = panel.outside[panel.mesh.faces].mean(axis=1)
        nearest = int(np.argmin(((centres - centres.mean(axis=0)) ** 2).sum(axis=1)))
        normals = face_normals(panel.outside, panel.mesh.faces)
        places.append(centres[nearest] + LIFTED_MM * normals[nearest])
    return np.array(places) / mm_per_unit


def _rims_of(scanned: Scanned) -> tuple[FloatArray, ...]:
    vertices = scanned.sound.mesh.vertices
    return tuple(vertices[hole.rim] for hole in scanned.report.holes)
