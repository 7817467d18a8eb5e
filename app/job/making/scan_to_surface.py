"""How the steps from scan to surface make their results: functions of inputs only.

A worker can run them, as it can those of `surface_to_paper`.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from app.job.choices import (
    BallCrop,
    Crop,
    DatumChoice,
    Directions,
    HalfSpaceCrop,
    ScanFile,
    SidesChoice,
    SizeChoice,
    TidyChoice,
    Zone,
)
from app.job.making.results import Halves, Lines, Scanned, Sides, Skin, Surface, Tidied
from geometry.arrays import FloatArray
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
    character_lines,
    flat_faces,
    hole_fates,
    working_surface,
)


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
        keep=places_in_mm(choice.kept, mm_per_unit),
        drop=places_in_mm(choice.dropped, mm_per_unit),
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


def places_in_mm(points: Sequence[Point3], mm_per_unit: float) -> FloatArray:
    """Return places of the file, (n, 3), in mm."""
    return np.array(points, np.float64).reshape(-1, 3) * mm_per_unit


def _region(crop: Crop, mm_per_unit: float) -> Region:
    if isinstance(crop, HalfSpaceCrop):
        return HalfSpace(np.array(crop.point) * mm_per_unit, np.array(crop.normal))
    if isinstance(crop, BallCrop):
        return Ball(np.array(crop.centre) * mm_per_unit, crop.radius_mm)
    outline = places_in_mm(crop.outline, mm_per_unit)
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
    fill, leave = places_in_mm(choice.filled, mm_per_unit), places_in_mm(choice.left, mm_per_unit)
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
            hole_fates(mesh, fill=places_in_mm([place], mm_per_unit))
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
        on_centre=places_in_mm(choice.on_centre, mm_per_unit),
        pairs=[tuple(places_in_mm(pair, mm_per_unit)) for pair in choice.pairs],
        plane=plane,
        level=choice.level,
        level_picks=places_in_mm(choice.level_picks, mm_per_unit),
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
        lines=[places_in_mm(line, mm_per_unit) for line in lines],
        report=report,
    )
    return Surface(tidied.tidy, working)


def difference_step(surface: Surface, *, report: Report = silent) -> Difference:
    """Return how far the scan's points lie off the working surface."""
    report(0.0, "compare with the scan")
    return surface.working.difference()
