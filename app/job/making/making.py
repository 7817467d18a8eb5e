"""How the steps make their results: functions of inputs only, so that a worker can run them."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from app.job.choices import (
    BallCrop,
    Crop,
    DatumChoice,
    Directions,
    HalfSpaceCrop,
    MetalChoice,
    PanelName,
    ScanFile,
    SeamLine,
    SidesChoice,
    SizeChoice,
    TidyChoice,
    Zone,
)
from app.job.files import metal_or_none
from app.job.making.cutters import cutter_of
from app.job.making.fitting_cuts import FittingCuts
from app.job.making.flatteners import KEPT
from app.job.making.judging import seams_in_mm
from app.job.making.leaving import Leaving
from app.job.making.lip_edges import edges_with_lip
from app.job.making.results import (
    Blank,
    Halves,
    Lines,
    Panels,
    Scanned,
    Sides,
    Skin,
    Surface,
    Tidied,
)
from app.job.making.sure import Sure, errors_of_panel, sure
from app.job.making.thickness import Thicknesses, thicknesses
from geometry.arrays import FloatArray
from geometry.blank import Work, laid_along
from geometry.datum import (
    Datum,
    NothingFacesError,
    Point3,
    SideZone,
    TrueSize,
    copied_side,
    datum_of,
    left_right,
    true_size,
)
from geometry.mesh import TriMesh
from geometry.metal import METALS
from geometry.panels import Panel, panels
from geometry.pattern import (
    BendStock,
    Pattern,
    bare_pattern,
    edge_key,
    edge_letters,
    rim_edges,
    with_fitting_lines,
)
from geometry.progress import Report, part_of, silent
from geometry.scan import (
    Ball,
    HalfSpace,
    Hole,
    Lasso,
    Region,
    holes_of,
    report_on,
    scaled,
    sound_mesh,
    tidy_for_panels,
)
from geometry.surface import (
    CharacterLine,
    Difference,
    FlatFace,
    NoHoleNearError,
    Opening,
    character_lines,
    filled_openings,
    flat_faces,
    hole_fates,
    working_surface,
)

SMALLEST_FITTING_MM = 20.0
"""A round hole at least this large is a fitting's own. Common practice, no source."""


def scan_step(scan: ScanFile, *, report: Report = silent) -> Scanned:
    """Return the sound mesh of a scan and the report on it."""
    sound = sound_mesh(scan.raw, report=part_of(report, 0.0, 0.5))
    return Scanned(sound, report_on(sound, report=part_of(report, 0.5, 1.0)))


def size_step(scanned: Scanned, size: SizeChoice, *, report: Report = silent) -> TrueSize:
    """Return the true size, every tape checked."""
    return true_size(
        scanned.sound.mesh,
        size.tapes,
        unit=size.unit,
        rescale=size.rescale,
        allowed=size.allowed,
        report=report,
    )


def tidy_step(
    scanned: Scanned, mm_per_unit: float, choice: TidyChoice, *, report: Report = silent
) -> Tidied:
    """Return the tank alone, in mm, and what will become of its holes."""
    mesh = scaled(scanned.sound.mesh, mm_per_unit)
    tidy = tidy_for_panels(
        mesh,
        keep=_in_mm(choice.kept, mm_per_unit),
        drop=_in_mm(choice.dropped, mm_per_unit),
        crops=[_region(crop, mm_per_unit) for crop in choice.crops],
        cuts=[_region(cut, mm_per_unit) for cut in choice.cuts],
        report=part_of(report, 0.0, 0.8),
    )
    report(0.9, "list the holes")
    fates = _checked(_fates(tidy.mesh, choice, mm_per_unit))
    report(1.0, "list the holes")
    return Tidied(
        tidy=tidy,
        pieces=tidy.pieces,
        kept=tidy.kept,
        holes=tuple(hole for hole, _ in fates),
        hole_fates=tuple("filled" if filled else "left" for _, filled in fates),
    )


def _in_mm(points: Sequence[Point3], mm_per_unit: float) -> FloatArray:
    return np.array(points, np.float64).reshape(-1, 3) * mm_per_unit


def _region(crop: Crop, mm_per_unit: float) -> Region:
    if isinstance(crop, HalfSpaceCrop):
        return HalfSpace(np.array(crop.point) * mm_per_unit, np.array(crop.normal))
    if isinstance(crop, BallCrop):
        return Ball(np.array(crop.centre) * mm_per_unit, crop.radius_mm)
    outline = _in_mm(crop.outline, mm_per_unit)
    return Lasso(outline, np.array(crop.along), crop.inside, crop.front_only)


class OpenEdgeFilledError(Exception):
    """The skin's own open edge was to be filled as if it were a hole.

    Attributes
    ----------
    rim_length_mm : float
    """

    def __init__(self, rim_length_mm: float) -> None:
        self.rim_length_mm = rim_length_mm
        super().__init__(f"an open edge of {rim_length_mm:.0f} mm is no hole")


def _checked(fates: tuple[tuple[Hole, bool], ...]) -> tuple[tuple[Hole, bool], ...]:
    """Refuse to fill the skin's own edge: what lies beyond it nobody can guess."""
    for hole, filled in fates:
        if filled and hole.is_edge:
            raise OpenEdgeFilledError(hole.rim_length)
    return fates


def _fates(mesh: TriMesh, choice: TidyChoice, mm_per_unit: float) -> tuple[tuple[Hole, bool], ...]:
    """Return the holes of a mesh and whether each is filled; a piece's own edge only if named."""
    fill, leave = _in_mm(choice.filled, mm_per_unit), _in_mm(choice.left, mm_per_unit)
    if choice.fill == "none":
        return hole_fates(mesh, fill=fill, leave=leave, fill_rim_below_mm=0.0)
    if choice.fill == "all":
        every = [mesh.vertices[hole.rim[:1]] for hole in holes_of(mesh) if not hole.is_edge]
        fill = np.concatenate([fill, *every])
    return hole_fates(mesh, fill=fill, leave=leave)


def _named_holes(
    mesh: TriMesh, fates: Sequence[tuple[Hole, bool]], choice: TidyChoice
) -> tuple[FloatArray, FloatArray]:
    """Return places at the holes to fill and to leave: none where the usual rule says it all."""
    if choice.fill == "usual" and not choice.filled and not choice.left:
        return np.empty((0, 3)), np.empty((0, 3))
    fill = [mesh.vertices[hole.rim[0]] for hole, filled in fates if filled]
    leave = [mesh.vertices[hole.rim[0]] for hole, filled in fates if not (filled or hole.is_edge)]
    return np.array(fill).reshape(-1, 3), np.array(leave).reshape(-1, 3)


def _with_holes_near(mesh: TriMesh, choice: TidyChoice, mm_per_unit: float) -> TidyChoice:
    """Return what was decided about holes a copied tank still has."""

    def has_hole(place: Point3) -> bool:
        try:
            hole_fates(mesh, fill=_in_mm([place], mm_per_unit))
        except NoHoleNearError:
            return False
        return True

    filled, left = (tuple(filter(has_hole, places)) for places in (choice.filled, choice.left))
    return replace(choice, filled=filled, left=left)


def datum_step(
    tidied: Tidied,
    mm_per_unit: float,
    choice: DatumChoice,
    directions: Directions,
    *,
    report: Report = silent,
) -> Datum:
    """Return where the tank stands, in mm in the file's axes."""
    plane = None
    if choice.plane is not None:
        point, normal = choice.plane
        plane = (np.array(point) * mm_per_unit, np.array(normal))
    how = "auto" if choice.how == "none" else choice.how
    return datum_of(
        tidied.tidy.mesh,
        how=how,
        on_centre=_in_mm(choice.on_centre, mm_per_unit),
        pairs=[tuple(_in_mm(pair, mm_per_unit)) for pair in choice.pairs],
        plane=plane,
        level=choice.level,
        level_picks=_in_mm(choice.level_picks, mm_per_unit),
        up=choice.up or directions.top,
        front=choice.front or directions.front,
        report=report,
    )


def halves_step(tidied: Tidied, datum: Datum, *, report: Report = silent) -> Halves:
    """Return how left and right differ, or that one hand was not scanned."""
    try:
        return Halves(left_right(tidied.tidy.mesh, datum, report=report))
    except NothingFacesError as error:
        return Halves(None, (error.left_share, error.right_share))


def sides_step(
    tidied: Tidied,
    datum: Datum,
    halves: Halves,
    mm_per_unit: float,
    choice: SidesChoice,
    *,
    report: Report = silent,
) -> Sides:
    """Return how left and right differ, and the tank with one side copied where one was chosen.

    Raises
    ------
    NothingFacesError
        Half a tank, unless its other half is made from it.
    """
    if not choice.copies:
        if halves.shares is not None:
            raise NothingFacesError(*halves.shares)
        return Sides(halves.left_right)
    zones, odd = (
        [SideZone(_zone_place(zone, mm_per_unit), zone.radius_mm, zone.side) for zone in places]
        for places in (choice.zones, choice.odd)
    )
    copied = copied_side(
        tidied.tidy.mesh,
        datum,
        choice.copy,
        zones=zones,
        odd=odd,
        guessed=tidied.tidy.bridged,
        report=report,
    )
    return Sides(halves.left_right, copied)


def _zone_place(zone: Zone, mm_per_unit: float) -> Point3:
    """Return the middle of a zone in mm."""
    x, y, z = (value * mm_per_unit for value in zone.centre)
    return x, y, z


def lines_step(skin: Skin, mm_per_unit: float, *, report: Report = silent) -> Lines:
    """Return the character lines of the tank, copied sides as they are."""
    found = character_lines(skin.mesh, report=report)
    return Lines(found, tuple(places_of(line, mm_per_unit) for line in found))


def flats_step(skin: Skin, *, report: Report = silent) -> tuple[FlatFace, ...]:
    """Return the flat faces of the tank, copied sides as they are, mm, the largest first."""
    return flat_faces(skin.mesh, report=report)


def places_of(line: CharacterLine, mm_per_unit: float) -> tuple[Point3, ...]:
    """Return a line's points in file coordinates, as a decision about it names it."""
    return tuple((float(x), float(y), float(z)) for x, y, z in line.points / mm_per_unit)


def surface_step(
    skin: Skin,
    mm_per_unit: float,
    inward_mm: float,
    choice: TidyChoice,
    lines: tuple[tuple[Point3, ...], ...],
    *,
    report: Report = silent,
) -> Surface:
    """Return the working surface through the middle of the tank's metal.

    Holes nobody decided about go by the usual rule on the surface itself, where rims are smooth.
    """
    tidied, copy = skin.tidied, skin.copy
    fates = list(zip(tidied.holes, [f == "filled" for f in tidied.hole_fates], strict=True))
    if copy is not None:
        choice = _with_holes_near(copy.mesh, choice, mm_per_unit)
        fates = list(_fates(copy.mesh, choice, mm_per_unit))
    fill, leave = _named_holes(skin.mesh, fates, choice)
    working = working_surface(
        skin.mesh,
        inward_mm=inward_mm,
        fill=fill,
        leave=leave,
        guessed=skin.guessed,
        copied=None if copy is None else copy.copied,
        lines=[_in_mm(line, mm_per_unit) for line in lines],
        report=report,
    )
    return Surface(tidied.tidy, working)


def seams_step(
    surface: Surface,
    mm_per_unit: float,
    seams: tuple[SeamLine, ...],
    names: tuple[PanelName, ...],
    *,
    report: Report = silent,
) -> Panels:
    """Return the working surface cut along the seams, and its panels."""
    drawn = seams_in_mm(seams, mm_per_unit)
    cut = cutter_of(surface.working).cut(drawn, report=part_of(report, 0.0, 0.9))
    named = [(name.name, _in_mm([name.inside], mm_per_unit)[0]) for name in names]
    return Panels(cut, panels(cut, named))


def blank_step(
    panel: Panel, work: Work, exact: bool, front: Point3 | None, *, report: Report = silent
) -> Blank:
    """Return one panel laid flat, openings solid, FRONT along the sheet.

    A bias set by hand (`exact`) is taken as it stands; else it goes as far as the panel lets.
    """
    mesh, added, openings = filled_openings(panel.mesh, None)
    filled = np.concatenate([panel.filled, added[len(panel.filled) :]])
    flat = KEPT.laid(mesh, work, exact=exact, report=report)
    flat = laid_along(flat, None if front is None else np.array(front))
    fittings = tuple(o for o in (*panel.openings, *openings) if is_fitting(o))
    return Blank(panel.name, mesh, filled, fittings, flat, work)


def is_fitting(opening: Opening) -> bool:
    """Return whether a hole of the scan is a fitting's own, to be cut after forming.

    Round and at least 20 mm across, as a filler is; a scanner's marker or a shadow is not: it is
    only marked as not scanned. See docs/decisions/0005-openings.md.
    """
    return opening.is_round and opening.diameter_mm >= SMALLEST_FITTING_MM


def sure_step(
    surface: Surface,
    panel: Panel,
    blank: Blank,
    spacing_mm: float,
    tapes_mm: tuple[float, ...],
    *,
    report: Report = silent,
) -> Sure:
    """Return how sure a blank's size is, by how it is worked and how it was measured."""
    errors = errors_of_panel(
        surface.working, panel, blank.flat, spacing_mm=spacing_mm, tapes_mm=tapes_mm
    )
    return sure(blank.flat, errors, report=report)


def stock_of(metal: MetalChoice) -> BendStock:
    """Return the sheet as it is bent: over the maker's own radius, else as its metal is known."""
    if metal.bend_radius_mm is not None:
        return BendStock(metal.thickness_mm, metal.bend_radius_mm)
    known = metal_or_none(metal.alloy, METALS)
    radius = None if known is None else known.bend_radius_at(metal.thickness_mm)
    return BendStock(metal.thickness_mm, None if radius is None else radius.value)


def paper_step(
    cut: Panels,
    panel: Panel,
    blank: Blank,
    found: Sure,
    leaving: Leaving,
    *,
    report: Report = silent,
) -> Pattern:
    """Return the blank dressed: net, trim, marks; both sides of a seam carry the same letter.

    Ticks, grid and contours come on top where it is shown, in the unit it is shown in.

    Allowances are the maker's, edge by edge, and as much more as makes the cut line cover what is
    not sure. Those of edges this panel does not have are passed over: see `idle_edges`.
    """
    letters = edge_letters([(each, each.mesh.vertices) for each in cut.panels])[panel.name]
    openings, lines = _fitted(leaving.fittings, cut, panel, blank)
    keys = {edge_key(edge) for edge in rim_edges(blank.flat, panel.seam_halves, letters)}
    pattern = bare_pattern(
        blank.flat,
        replace(panel, filled=blank.filled, openings=openings),
        letters=letters,
        trim_mm=leaving.trim_mm,
        allowances={edge.edge: edge.allowance for edge in leaving.edges if edge.edge in keys},
        growth=found.growth,
        stock=leaving.stock,
        report=report,
    )
    flanged = {edge.edge for edge in leaving.edges if edge.kind == "flange"}
    pattern = replace(pattern, lip_edges=edges_with_lip(panel, pattern.edges, flanged))
    return with_fitting_lines(pattern, blank.flat, lines) if lines else pattern


def _fitted(
    fittings: FittingCuts | None, cut: Panels, panel: Panel, blank: Blank
) -> tuple[tuple[Opening, ...], list[FloatArray]]:
    """Return the openings a blank is cut for after forming, and the lines round those set anew."""
    if fittings is None:
        return blank.openings, []
    new = fittings.on_panel(panel, cut.panels)
    openings = (*fittings.openings(blank.openings), *(each.opening for each in new))
    return openings, [line for each in new for line in each.lines]


def difference_step(surface: Surface, *, report: Report = silent) -> Difference:
    """Return how far the scan's points lie off the working surface."""
    report(0.0, "compare with the scan")
    return surface.working.difference()


def thickness_step(blank: Blank, *, report: Report = silent) -> Thicknesses:
    """Return how thick a panel ends on average, made three ways."""
    return thicknesses(blank.flat, report=report)
