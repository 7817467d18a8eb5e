"""Typed errors in the shaper's words: what was found, what was needed, what to do."""

import math
from collections.abc import Callable
from math import inf
from typing import Any

import numpy as np

from app.delivery import NoFolderError, NotReadyError, ResultExistsError
from app.exports import (
    BadPaperError,
    FileInTheWayError,
    NothingToCutError,
    NothingToPrintError,
    PageTooLargeError,
    PrinterFarOutError,
    TooLargeForPaperError,
)
from app.job import (
    BadCardEntryError,
    BadFileError,
    BrokenJobFileError,
    DirectionsUnknownError,
    FlangeOnHoleError,
    FlangePitchError,
    FlangeRefusedError,
    LipThereError,
    NewerJobFileError,
    NoFlangeLineError,
    NoLipThereError,
    NoSuchBreakUpError,
    NoSuchHoleError,
    NoSuchPanelError,
    NotAJobFileError,
    OpenEdgeFilledError,
    ReadingWordsError,
    place_words,
    spot_words,
)
from app.settings import NoSuchPrinterError
from app.units import (
    MM_PER_INCH,
    GaugeNumberError,
    NotALengthError,
    angle_text,
    counted,
    length_text,
    mm_text,
    size_text,
    thickness_text,
    volume_text,
)
from geometry.arrays import FloatArray
from geometry.blank import (
    CollapsedBlankError,
    InvertedFacesError,
    NoAreaError,
    NoFoldFreeStartError,
    NotADiskError,
    WorkChoiceError,
)
from geometry.breakups import PieceCountError, StudySurfaceError
from geometry.comparison import (
    MOST_LOCK_RAD,
    BodySizeError,
    PlacingPlacesError,
    SecondScanSizeError,
    SteeringLockError,
)
from geometry.datum import (
    AxisOff,
    DirectionAcrossError,
    LevelPicksError,
    NoLevelError,
    NoSymmetryError,
    NothingFacesError,
    NoUnitFitsTapesError,
    PickOffTankError,
    PicksDoNotFixPlaneError,
    PlaceNotJoinedError,
    PlaceOffTankError,
    SeveralUnitsFitTapesError,
    SideMissingError,
    SizeOutOfReasonError,
    SizeUnknownError,
    TapeCheck,
    TapeGirthError,
    TapeOffError,
    TapeOffSurfaceError,
    TapeTooShortError,
    ZonesClashError,
)
from geometry.fitting import TooFewPointsError
from geometry.gauges import (
    GaugeSizeError,
    NoSeatFaceError,
    NoSeatLineError,
    NoSectionError,
    StationOffTankError,
    StationSpacingError,
)
from geometry.mesh import BadMeshError, NonManifoldError, NoPathError, NotOrientableError
from geometry.metal import (
    BadFactError,
    FlangeTooWideError,
    FlangeWidthError,
    MissingFactError,
    UnknownMetalError,
)
from geometry.panels import (
    PanelPointError,
    SeamCrossesItselfError,
    SeamDoesNotPartError,
    SeamDoublesBackError,
    SeamLeavesSliverError,
    SeamNotScannedError,
    SeamOffSurfaceError,
    SeamTooShortError,
)
from geometry.pattern import (
    ALLOWANCE_CORNERS,
    ALLOWANCE_KINDS,
    LEAST_FLANGE_DEG,
    LEAST_FOLDED_MM,
    MOST_FLANGE_DEG,
    WIDEST_HEM_MM,
    AllowanceTooWideError,
    BadAllowanceError,
    BadReadingError,
    BlankTooSmallError,
    NoSuchEdgeError,
    NoSuchSquareError,
)
from geometry.scan import (
    BadIndexError,
    BadLineError,
    DecimalCommaError,
    DiskError,
    EmptyFileError,
    EmptyRegionError,
    MissingFileError,
    NoPermissionError,
    NoPieceNearError,
    NoSurfaceError,
    NotAFileError,
    NotFiniteScanError,
    NothingLeftError,
    OnlyScrapsError,
    OutsizeScanError,
    Piece,
    PointsOnlyError,
    SeveralTanksError,
    TruncatedScanError,
    UnknownKindError,
    WrongContentError,
    WrongSizeError,
)
from geometry.seams import LineHasNoLengthError, NothingStandsOffError, PointOffGroundError
from geometry.surface import LineOffSurfaceError, LineTooShortError, NoHoleNearError
from geometry.tank import (
    LEAST_TURN_RAD,
    MOST_TURN_RAD,
    AboveSkinError,
    BendTooTightError,
    BottomAboveLegsError,
    CapFoldsError,
    EdgeTooTightError,
    FillerOnSeamError,
    FlangeEdgeTooShortError,
    FlangeTurnError,
    LegsShortError,
    LineTooShortToBendError,
    MoreThanItHoldsError,
    NegativeClearanceError,
    NoSpaceError,
    NotATubeError,
    NoThreadError,
    OpenTankError,
    OutsideTankError,
    ScannedTubeSizeError,
    SeatOffTankError,
    StandpipeTooTallError,
    StepCrossesError,
    TapOutsideError,
    TooLowForRoundError,
    TooMuchTaperError,
    TooShallowError,
    TooSteepError,
    TopTooNarrowError,
    TubeMissesTankError,
    TunnelEndsCrossError,
    TunnelEndsMissingError,
    TunnelSizeError,
    TunnelTooLargeError,
    WiderThanTankError,
)

Sentence = Callable[[Any], str]


def sentence_for(error: BaseException) -> str | None:
    """Return what the shaper reads about an error, or None when it is a bug of ours.

    >>> sentence_for(ValueError("x")) is None
    True
    """
    for kind in type(error).__mro__:
        if kind in _SENTENCES:
            return _SENTENCES[kind](error)
    if isinstance(error, MemoryError):
        return "There is not enough memory for this. Close other programs, or use a coarser scan."
    if isinstance(error, OSError):
        name = f'"{error.filename}"' if error.filename else "A file"
        return f"{name} could not be used: {error.strerror or error}. Check the name and the disk."
    return None


def _place(point: FloatArray) -> str:
    """Return a place in the scan's axes, both ways.

    >>> _place(np.array([12.7, -6.0, 1000.0]))
    '(12.7, -6.0, 1000.0) mm (0.50, -0.24, 39.37 in)'
    """
    inches = ", ".join(f"{value / MM_PER_INCH:.2f}" for value in point)
    return "(" + ", ".join(f"{value:.1f}" for value in point) + f") mm ({inches} in)"


def _at(point: FloatArray) -> str:
    """Return a place in the file's own numbers: before the size is known."""
    return "(" + ", ".join(f"{value:.4g}" for value in point) + ") in the file"


def _tape_lines(checks: tuple[TapeCheck, ...]) -> str:
    """Return how every tape stands; of many, those that do not agree."""
    numbered = list(enumerate(checks, start=1))
    agree = sum(check.agrees for check in checks)
    few = len(checks) <= MOST_TAPES
    told = [_tape_line(number, check) for number, check in numbered if few or not check.agrees]
    rest = [f"and {len(told) - MOST_TAPES} more are off"] if len(told) > MOST_TAPES else []
    if agree and not few:
        rest.append(f"the other {agree} agree{'s' if agree == 1 else ''}")
    return "; ".join([*told[:MOST_TAPES], *rest])


def _tape_line(number: int, check: TapeCheck) -> str:
    stands = (
        "agrees"
        if check.agrees
        else f"off by {mm_text(check.off_mm)}, allowed {mm_text(check.allowed_mm)}"
    )
    return (
        f"tape {number} says {mm_text(check.tape.length_mm)}, the scan "
        f"{mm_text(check.scan_mm)}: {stands}"
    )


def _in_100(ratio: float) -> str:
    """Return how far the scan is off, as the shaper says it.

    >>> _in_100(0.012), _in_100(-0.004)
    ('1.2 mm in 100 too long', '0.4 mm in 100 too short')
    """
    return f"{abs(100.0 * ratio):.1f} mm in 100 too {'long' if ratio > 0.0 else 'short'}"


def _what_is_off(axis: AxisOff | None, scale: float | None) -> str:
    """Return what one stretch of the scan would explain, or ""."""
    if axis is not None:
        told = ", ".join(f"{value:.2f}" for value in axis.direction)
        way = f"along the file's {axis.file_axis}" if axis.file_axis else f"along ({told})"
        if axis.is_sure:
            numbers = " and ".join(str(number) for number in axis.tapes[:2])
            return f" The scan is {_in_100(axis.ratio)} {way}, the way tapes {numbers} lie."
        shown = f" or the scan is {_in_100(axis.ratio)} {way}: tape once more that way to tell."
        alone = f"tape {axis.tapes[0]}" if axis.tapes else "a tape"
        return f" Either {alone} was misread,{shown}"
    if scale is not None and -0.5 < scale < 1.0:
        return f" They agree with each other: the scan is {_in_100(scale)} every way."
    if scale is not None:
        return f" They agree with each other: the scan is {1.0 + scale:.3g} times too large."
    return ""


def _tape_off(error: TapeOffError) -> str:
    told = _tape_lines(error.checks)
    why = _what_is_off(error.axis, error.scale)
    if error.units_that_fit:
        units = " or ".join(error.units_that_fit)
        why = f" They would agree if one unit of the file were one {units}."
    what = "the scan" if error.unit else "each other"
    return f"The tapes do not agree with {what}: {told}.{why} Nothing was written: tape again."


def _no_unit_fits(error: NoUnitFitsTapesError) -> str:
    return (
        f"No unit makes the scan agree with the tapes; closest is 1 {error.closest_unit} in the "
        f"file: {_tape_lines(error.checks)}.{_what_is_off(error.axis, error.scale)} Tape again, "
        "or say that the scan has no scale (--rescale)."
    )


def _tape_off_surface(error: TapeOffSurfaceError) -> str:
    why = (
        f"Times {error.factor:.4g} all points would lie on it: they are in another unit than the "
        "file."
        if error.factor
        else "Give points in the file's own numbers, or pick them on the scan."
    )
    return (
        f"Tape {error.number} was not laid on this scan: its point {_at(error.point)} is "
        f"{error.distance:.3g} off the surface, allowed {error.allowed:.2g}. {why}"
    )


def _tape_girth(error: TapeGirthError) -> str:
    if error.reason == "in line":
        return (
            f"The points of tape {error.number} lie in one line, so they do not say how it went "
            "round the tank. Mark three well apart."
        )
    return (
        f"The points of tape {error.number} lie on parts of the scan that its plane cuts apart, "
        "so no one girth goes through them. Mark all three on one part."
    )


def _out_of_reason(error: SizeOutOfReasonError) -> str:
    return (
        f"With one {error.unit} to a unit of the file the scan is {mm_text(error.across_mm, 2)} "
        f"across: no tank is that size. In {error.likely_unit} it is "
        f"{mm_text(error.likely_mm, 2)}. Say the right unit, or tape a distance on the tank."
    )


def _several_tanks(error: SeveralTanksError) -> str:
    def told(piece: Piece) -> str:
        size = " x ".join(f"{value:.0f}" for value in piece.size)
        return f"{counted(piece.triangles, 'triangle')}, {size} mm about {_place(piece.centre)}"

    listed = "; ".join(told(piece) for piece in error.pieces)
    return f"The file holds {len(error.pieces)} large pieces apart: {listed}. Save one alone."


def _empty_region(error: EmptyRegionError) -> str:
    if error.what == "lasso" and error.points < 3:
        return (
            f"A lasso needs at least three points round what is meant; this one has {error.points}."
        )
    return {
        "lasso": "The lasso goes round nothing as seen from there. Draw it round what is meant.",
        "plane": "A cutting plane needs a direction that says which side stays. Give it one.",
        "ball": "A round place needs a radius above nought. Give it one.",
    }[error.what]


def _nothing_left(error: NothingLeftError) -> str:
    if error.by == "drop":
        return "Every piece of the scan was dropped. Keep the one that is the tank."
    did = "Crop" if error.by == "crop" else "Cut-out"
    return (
        f"{did} {error.number + 1} leaves nothing of the scan. Take it back, or turn it so that "
        "the other side stays."
    )


def _only_scraps(error: OnlyScrapsError) -> str:
    size = " x ".join(f"{value:.0f}" for value in error.largest.size)
    return (
        f"The scan is in {error.pieces} small pieces, the largest {size} mm: none of them is a "
        "tank. Join the scan in the scanner's own program, or point at the pieces to keep."
    )


def _wrong_size(error: WrongSizeError) -> str:
    way = "small" if error.length_mm < 1000.0 else "large"
    return (
        f"By the unit chosen the scan is {mm_text(error.length_mm)} across, too {way} for a tank. "
        "The unit is wrong: choose another, or tape the tank."
    )


def _no_hole_near(error: NoHoleNearError) -> str:
    if not np.isfinite(error.distance_mm):
        return (
            f"There is no hole anywhere, so none at {_place(error.point)}. Take that choice back."
        )
    return (
        f"There is no hole at {_place(error.point)}; the nearest open edge is "
        f"{mm_text(error.distance_mm)} away. Pick the hole again, or take that choice back."
    )


def _no_symmetry(error: NoSymmetryError) -> str:
    tenths = round(error.share * 10)
    matched = counted(tenths, "tenth") if tenths else "next to nothing"
    return (
        f"The centre plane cannot be told from this scan: at best {matched} of it has its like on "
        "the other hand. Pick points on the centre line, or the same place left and right."
    )


def _nothing_faces(error: NothingFacesError) -> str:
    if min(error.left_share, error.right_share) > 0.02:
        return (
            "Left and right cannot be laid over each other: no place has its like on the other "
            "side of the centre plane. Check the centre plane, or pick it again."
        )
    hand = "left" if error.left_share > error.right_share else "right"
    return (
        f"All that was scanned lies to the {hand} of the centre plane, so left and right cannot "
        "be laid over each other. Check the centre plane; if only half the tank was scanned, copy "
        "that side instead."
    )


def _side_missing(error: SideMissingError) -> str:
    other = "right" if error.side == "left" else "left"
    return (
        f"There is next to nothing of the {error.side} side to copy: nearly all that was scanned "
        f"lies to the {other} of the centre plane. Copy the {other} side, or pick the centre plane "
        "again."
    )


def _no_such_breakup(error: NoSuchBreakUpError) -> str:
    known = ", ".join(f'"{name}"' for name in error.names)
    if not error.name:
        return f"There are several break-ups to choose from: {known}. Say which: --breakup NAME."
    there = f"there are {known}" if known else "the seams file keeps none"
    return f'There is no break-up "{error.name}": {there}. Check the name.'


def _bad_file(error: BadFileError) -> str:
    advice = " Write it with lowcrown datum --json." if error.kind == "a datum file" else ""
    return (
        f'"{error.path.name}" is not {error.kind} that can be used: '
        f"{error.where or 'it'} {error.reason}.{advice}"
    )


def _seam_leaves_sliver(error: SeamLeavesSliverError) -> str:
    if error.hole_mm:
        return (
            f'Seam "{error.seam}" leaves a strip only {mm_text(error.width_mm)} wide beside '
            f"the open hole about {mm_text(error.hole_mm)} across at {_place(error.point)}: no "
            f"panel. Keep it {mm_text(error.needed_mm)} or more off the hole's edge all along, or "
            "draw it straight over the hole: it then ends at the edge and goes on from the other "
            "side."
        )
    beside = f'seam "{error.other}"' if error.other else "an edge of the skin, or by itself,"
    return (
        f'Seam "{error.seam}" runs so close by {beside} at {_place(error.point)} that the strip '
        f"between is only {mm_text(error.width_mm)} wide: no panel. Draw one of the two away, take "
        "it out, or end the seam where it first meets the other."
    )


def _seam_not_scanned(error: SeamNotScannedError) -> str:
    where = f'Seam "{error.seam}" runs over a place that is NOT SCANNED at {_place(error.point)}: '
    if error.is_filled:
        return (
            f"{where}{mm_text(error.distance_mm)} off what was filled there by guess. Draw it on "
            "the filled skin or clear of it, or scan that place."
        )
    return (
        f"{where}{mm_text(error.distance_mm)} beyond the edge where the skin breaks off. Draw it "
        "clear of that place, have the hole filled in step Tidy, or scan it."
    )


def _place_off_tank(error: PlaceOffTankError) -> str:
    return (
        f"The place at {_at(error.centre)} reaches no skin: the nearest that was scanned is "
        f"{mm_text(error.off_mm)} away, and the place is {mm_text(error.radius_mm)} in radius. Put "
        "it on the tank, or make it wider."
    )


def _zones_clash(error: ZonesClashError) -> str:
    return (
        f"The zones at {_at(error.one)} and {_at(error.other)} overlap, and one takes the left "
        "side for good where the other takes the right. Take one away, or make them smaller."
    )


def _place_not_joined(error: PlaceNotJoinedError) -> str:
    return (
        f"The place at {_at(error.centre)}, {mm_text(error.radius_mm)} in radius, cannot be joined "
        "to the skin around it: its border runs along an edge or through holes. Make it wider or "
        "smaller, or move it clear of the edge."
    )


def _picks_do_not_fix(error: PicksDoNotFixPlaneError) -> str:
    have = f"{counted(error.on_centre, 'centre point')} and {counted(error.pairs, 'pair')}"
    found = f"{have} do not fix the centre plane"
    if error.along_a_line:
        found = f"The {have} lie along one line or at one spot, so the centre plane can still turn"
    return (
        f"{found}. Pick three places on the centre line well apart and not in one line, such as "
        "nose, top and rear, or the same place on the left and on the right."
    )


def _level_picks(error: LevelPicksError) -> str:
    if error.picks < 2:
        return "Two picks at least are needed to level by, far apart along the tank."
    return (
        f"The {error.picks} picks to level by lie only {mm_text(error.apart_mm)} apart seen from "
        "the side, or not along one line. Pick places that should be level, far apart along it."
    )


def _direction_across(error: DirectionAcrossError) -> str:
    against = "the centre plane" if error.which == "up" else "the centre plane or level"
    return (
        f"The direction said for {error.which} points {np.degrees(error.off_rad):.0f} degrees out "
        f"of {against}. Say {error.which} again, or choose another centre plane."
    )


def _panel_point(error: PanelPointError) -> str:
    names = " and ".join(f'"{name}"' for name in error.names)
    if len(error.names) == 1:
        return (
            f"The point that names panel {names} lies {mm_text(error.distance_mm)} off the "
            f"surface, at {_place(error.point)}. Put it on the panel."
        )
    return (
        f"{names} name one and the same panel, at {_place(error.point)}. A seam between them is "
        "missing, or one name is enough."
    )


def _edge(key: str) -> str:
    """Return what an edge is called, by its key.

    >>> _edge("left rail|top"), _edge("F1")
    ('edge "left rail" to top', 'edge F1')
    """
    seam, _, other = key.partition("|")
    return f'edge "{seam}" to {other}' if other else f"edge {key}"


def _bad_allowance(error: BadAllowanceError) -> str:
    whose = f"The allowance of {_edge(error.edge)}" if error.edge else "The usual trim"
    wanted = {
        "kind": f"one of {', '.join(ALLOWANCE_KINDS)}",
        "corner": f"one of {', '.join(ALLOWANCE_CORNERS)}",
        "flange": "more than its bend takes up",
        "width": "a length above nought; choose none for no metal outside the net line",
        "narrow": f"at least {mm_text(LEAST_FOLDED_MM)}",
        "hem": f"at most {mm_text(WIDEST_HEM_MM)}; choose lap or trim for more",
        "angle": f"{LEAST_FLANGE_DEG:.0f} to {MOST_FLANGE_DEG:.0f} degrees either way; beyond that "
        "choose hem",
    }[error.field]
    found = error.value if isinstance(error.value, str) else f"{error.value:g}"
    if found in ("nan", "inf", "-inf"):
        found = "not a number"
    what = "width" if error.field in ("flange", "narrow", "hem") else error.field
    return f"{whose} cannot be: its {what} is {found}; it has to be {wanted}."


def _no_such_edge(error: NoSuchEdgeError) -> str:
    known = "; ".join(_edge(edge) for edge in error.edges)
    return f"The blank has no {_edge(error.edge)}. It has {known}."


def _flange_too_wide(error: FlangeTooWideError) -> str:
    where = f" at {spot_words(np.array(error.place))}" if error.place else ""
    return (
        f"A flange {length_text(error.width_mm)} wide does not fit the curve: its line bends on "
        f"{length_text(error.radius_mm)}{where}, and its edge would have no length left. Make it "
        "narrower than the radius, or end it before the corner; if the edge is only ragged there, "
        "calm it over a longer stretch."
    )


def _flange_width(error: FlangeWidthError) -> str:
    if not math.isfinite(error.width_mm) or error.width_mm <= 0.0:
        return "A flange has to be wider than nothing: give its width."
    return (
        f"A flange {length_text(error.width_mm)} wide is used up by its own bend, which takes "
        f"{length_text(error.least_mm)} of it. Make it wider, or its root radius smaller."
    )


def _flange_turn(error: FlangeTurnError) -> str:
    turn = angle_text(error.turn_rad, 0)
    least, most = angle_text(float(LEAST_TURN_RAD), 0), angle_text(float(MOST_TURN_RAD), 0)
    if not error.place:
        return f"A flange turned by {turn} cannot be: it has to be {least} to {most}."
    return (
        f"To lie level the flange would have to turn by {turn} at "
        f"{spot_words(np.array(error.place))}; it can be {least} to {most}. Turn it by an angle "
        "instead, or to the other side."
    )


MOST_TAPES = 3
"""Of more tapes than this only those that are off are told one by one."""

MOST_PLACES = 3
"""More places than this are not listed one by one."""


def _places(points: FloatArray) -> str:
    """Return the first known places of several, in a phrase; "" where none is known."""
    known = [_place(point) for point in points if np.isfinite(point).all()]
    told = known if len(known) <= MOST_PLACES else [*known[:MOST_PLACES], "elsewhere"]
    return " and ".join([", ".join(told[:-1]), told[-1]]) if len(told) > 1 else "".join(told)


def _not_a_disk(error: NotADiskError) -> str:
    told = (
        f"This cannot be laid flat as it stands ({counted(error.pieces, 'piece')}, "
        f"{counted(error.rims, 'open edge')}, {counted(error.handles, 'tunnel')} through it): "
        f"{error.missing_seam}."
    )
    if np.isfinite(error.place).all():
        told += f" Look about {_place(error.place)}."
    rims = _places(error.rim_places) if error.rims > 1 else ""
    return f"{told} Its open edges run through {rims}." if rims else told


def _no_area(error: NoAreaError) -> str:
    where = _places(error.places[:1])
    first = f", first at {where}" if where else ""
    return (
        f"The surface has {counted(len(error.faces), 'triangle')} without an area{first}. "
        "Export the scan again."
    )


def _does_not_part(error: SeamDoesNotPartError) -> str:
    if error.gap_mm == inf:
        return (
            f'Seam "{error.seam}" ends at {_place(error.point)}, and there is no edge and no other '
            "seam to end on. Close it, or draw the seam it should meet."
        )
    if error.gap_mm:
        return (
            f'Seam "{error.seam}" ends {mm_text(error.gap_mm)} short of any edge or seam, at '
            f"{_place(error.point)}. Carry it on to one."
        )
    return (
        f'Seam "{error.seam}" has the same panel on both its sides, at {_place(error.point)}: it '
        "does not part the surface. Take it from edge to edge, or add the seam it should meet."
    )


def _open_tank(error: OpenTankError) -> str:
    told = [
        f"rim {rim.number}, {length_text(rim.length_mm)} round, its middle "
        f"{spot_words(rim.centre)}, up to {thickness_text(rim.off_flat_mm)} off flat"
        for rim in error.rims[:2]
    ]
    more = len(error.rims) - len(told)
    rest = f"; and {counted(more, 'rim')} more" if more else ""
    return (
        f"The tank is open, so it holds nothing yet: {'; '.join(told)}{rest}. Say how each is "
        'closed: "flat" lays one sheet across, "ruled" runs straight from left to right.'
    )


_NO_SPACE = {
    "open": "What is taken off the tank is not closed, so its room cannot be counted. Close it, "
    "or give the tunnel by its measures.",
    "inside out": "The tank's skin faces inwards: nothing is inside it. Export the scan again with "
    "its outside out.",
    "nothing left": "The tunnel takes all the room in the tank. Check its measures and its place.",
}


_BODY_SIZES = {
    "length": "both its ends lie in one place",
    "across": "it has no size across",
    "height": "it has no height",
}


def _body_size(error: BodySizeError) -> str:
    who = f'"{error.name}"' if error.name else "A body"
    return (
        f"{who} of the frame cannot be: {_BODY_SIZES[error.what]} "
        f"({_plain_length(error.found_mm)}). Give both ends, in tank axes, and its sizes."
    )


def _plain_length(length_mm: float) -> str:
    return length_text(length_mm) if np.isfinite(length_mm) else "not a number"


def _no_seat_face(error: NoSeatFaceError) -> str:
    if error.reason == "none":
        return (
            "No flat face large enough for a seat was found on the tank: where it is crowned, or "
            "less than 15 mm (5/8 in) wide, there is none to hold. Lay the seat to a line instead."
        )
    if error.reason == "none behind":
        return (
            f"The tank has {counted(error.found, 'flat face')}, but none that faces the rear. "
            "Check which way is front, or name a place on the face meant."
        )
    return (
        f"There is no flat face there: the nearest of {error.found} is "
        f"{length_text(error.distance_mm)} off. Name a place on the face itself."
    )


def _second_scan_size(error: SecondScanSizeError) -> str:
    return (
        f"The second scan would be {length_text(error.length_mm)} long beside a tank of "
        f"{length_text(error.tank_mm)}: most likely it is in another unit. Say which."
    )


def _study_surface(error: StudySurfaceError) -> str:
    if error.reason == "pieces":
        return (
            f"Break-ups are sought on one skin that hangs together; this one is in {error.count:,} "
            "pieces. Tidy the scan to the tank alone first."
        )
    if error.reason == "faces":
        return (
            f"The surface has {counted(error.count, 'triangle')}: too few to seek break-ups on. "
            "Use a finer scan."
        )
    return (
        "The centre plane does not part the tank into a left and a right half, so no break-up can "
        "be the same on both hands. Set the centre plane anew, or seek break-ups without one."
    )


def _not_a_tube(error: NotATubeError) -> str:
    found = ""
    if math.isfinite(error.scatter_mm):
        found = (
            f" The nearest has a radius of {length_text(error.radius_mm)}, and its points lie "
            f"{length_text(error.scatter_mm)} off it."
        )
    return (
        f"What was scanned is not one round, straight tube.{found} Cut the scan down to the tube "
        "alone, or give its two ends and diameter."
    )


def _tunnel_size(error: TunnelSizeError) -> str:
    if error.what.startswith("flare"):
        return f"The flare of the legs is {error.value_mm:g} degrees: give 0 or more, less than 60."
    if error.what.startswith(("run-out", "travel")):
        return f"The {error.what} is {length_text(error.value_mm)}: it cannot be below nothing."
    return (
        f"The {error.what} is {length_text(error.value_mm)}: it has to be more than nothing. Check "
        "what was typed, and the unit it was typed in."
    )


def _tunnel_ends_cross(error: TunnelEndsCrossError) -> str:
    behind, ahead, apart = error.behind, error.ahead, error.apart_mm
    if not any(name.startswith("step") for name in (behind, ahead)):
        if apart > 0.0:
            return (
                f"The tunnel's length is {length_text(apart)}: that is less than two thicknesses "
                "of its sheet. Check what was typed, and the unit it was typed in."
            )
        return (
            f"The tunnel's length is {length_text(apart)}: it has to be more than nothing, from "
            "the rear end ahead to the front end. Check what was typed."
        )
    if apart > 0.0:
        return (
            f"From {behind} ahead to {ahead} there are only {length_text(apart)}: no room for a "
            "piece between them. Move the step, or leave it out."
        )
    check = "Check the places of the steps, measured from the rear end ahead, and the length."
    if ahead == "the front end":
        return (
            f"{behind.capitalize()} stands {_off(-apart, 'ahead of', ahead)}: a step lies between "
            f"the ends. {check}"
        )
    rule = "a step lies between the ends" if behind == "the rear end" else "steps run ahead"
    return f"{ahead.capitalize()} stands {_off(-apart, 'behind', behind)}: {rule}. {check}"


def _off(distance_mm: float, way: str, what: str) -> str:
    """Return where something stands to another, in a clause."""
    return f"{length_text(distance_mm)} {way} {what}" if distance_mm > 0.0 else f"just at {what}"


_SENTENCES: dict[type[BaseException], Sentence] = {
    PieceCountError: lambda e: (
        f"Break-ups into 1 to {e.most} pieces can be proposed; asked for: "
        f"{', '.join(map(str, e.pieces)) or 'none'}. Ask for counts within that."
    ),
    StudySurfaceError: _study_surface,
    MissingFileError: lambda e: f'There is no file "{e.path}". Check the name.',
    NotAFileError: lambda e: f'"{e.path}" is a folder, not a scan. Name the file in it.',
    NoPermissionError: lambda e: f'"{e.path}" may not be opened. Ask whoever owns it.',
    DiskError: lambda e: f'"{e.path}" could not be read: {e.reason}. Copy it again and retry.',
    EmptyFileError: lambda e: f'"{e.path.name}" is empty. Export the scan again.',
    UnknownKindError: lambda e: (
        f'"{e.path.name}" is not a kind of scan that can be read. '
        f"Export it as {', '.join(e.known)}."
    ),
    WrongContentError: lambda e: (
        f'"{e.path.name}" is named as {e.expected}, but {e.found}. Export it again.'
    ),
    TruncatedScanError: lambda e: (
        f'"{e.path.name}" says it holds {e.declared:,} {e.thing} but has {e.found:,}: it was cut '
        "short or damaged. Copy or export it again."
    ),
    DecimalCommaError: lambda e: (
        f'"{e.path.name}" writes numbers with a decimal comma, at line {e.line}: {e.text!r}. '
        "Export it with decimal points."
    ),
    BadLineError: lambda e: (
        f'"{e.path.name}" cannot be understood at line {e.line}: {e.text!r}. Export it again.'
    ),
    NotFiniteScanError: lambda e: (
        f'"{e.path.name}" has {counted(e.count, "point")} with a coordinate that is no number. '
        "Export the scan again."
    ),
    OutsizeScanError: lambda e: (
        f'"{e.path.name}" has coordinates as large as {e.largest:.3g}, at '
        f"{counted(e.count, 'point')}: no tank is that size in any unit. Export the scan again."
    ),
    BadIndexError: lambda e: (
        f'"{e.path.name}" has {counted(e.count, "face")} on points it does not hold '
        f"(it has {counted(e.vertices, 'point')}). It is damaged: export it again."
    ),
    PointsOnlyError: lambda e: (
        f'"{e.path.name}" holds {counted(e.points, "point")} and no surface. '
        "Have the scanner's program make a mesh of triangles, and open that."
    ),
    NoSurfaceError: lambda e: f'"{e.path.name}" holds no triangle with an area. Export it again.',
    BadMeshError: lambda e: f"The surface is damaged: {e.reason}. Export the scan again.",
    NonManifoldError: lambda e: (
        f"At {counted(len(e.edges) + len(e.vertices), 'place')} more than two sheets meet, first "
        f"at {_at(e.points[0])}. Cut the doubled surface out of the scan."
        if len(e.points)
        else "Sheets of the surface touch where they should not."
    ),
    NotOrientableError: lambda e: (
        f"The surface turns its inside out, like a twisted strip, near {_at(e.points[0])}. "
        "No panel can be made of it: cut the twisted part out of the scan."
    ),
    NoPathError: lambda e: (
        "Two points lie on pieces that do not hang together, so no line joins them over the "
        "surface. Put both on one piece."
    ),
    SizeUnknownError: lambda e: (
        "The size is not known: the file does not say its unit. Say it with --unit, or tape a "
        "distance on the tank and give it with --tape."
    ),
    TapeTooShortError: lambda e: (
        f"A tape of {mm_text(e.tape.length_mm)} joins a point to itself. Tape two points apart."
    ),
    TapeOffError: _tape_off,
    TapeOffSurfaceError: _tape_off_surface,
    TapeGirthError: _tape_girth,
    SizeOutOfReasonError: _out_of_reason,
    NoUnitFitsTapesError: _no_unit_fits,
    SeveralUnitsFitTapesError: lambda e: (
        f"The tapes are too short to tell {' from '.join(e.units)}. Tape a longer distance."
    ),
    SeveralTanksError: _several_tanks,
    SeamOffSurfaceError: lambda e: (
        f'Seam "{e.seam}" leaves the surface by {mm_text(e.distance_mm)} at {_place(e.point)} '
        f"(allowed {mm_text(e.tolerance_mm)}). Check the seams file's unit, or redraw it there."
    ),
    SeamNotScannedError: _seam_not_scanned,
    SeamLeavesSliverError: _seam_leaves_sliver,
    SeamCrossesItselfError: lambda e: (
        f'Seam "{e.seam}" crosses itself at {_place(e.point)}. Redraw it there.'
    ),
    SeamDoublesBackError: lambda e: (
        f'Seam "{e.seam}" doubles back over itself: it turns at {_place(e.point)} and runs back '
        "along its own way. Take out the points beyond the place where it should go on or end."
    ),
    SeamTooShortError: lambda e: (
        f'Seam "{e.seam}" has no length, at {_place(e.point)}. Draw it longer, or take it out.'
    ),
    LineOffSurfaceError: lambda e: (
        f"A locked line leaves the scanned surface by {mm_text(e.distance_mm)}, at "
        f"{_place(e.point)}. Move that point on to the surface, or unlock the line."
    ),
    PointOffGroundError: lambda e: (
        f"A point of the seam lies {mm_text(e.distance_mm)} off the tank, at {_place(e.point)}. "
        "Put it on the skin."
        if math.isfinite(e.distance_mm)
        else "A point of the seam is no place at all. Put it on the skin."
    ),
    LineHasNoLengthError: lambda e: (
        f"{counted(len(e.points), 'point').capitalize()} in one place make no seam. Put a second "
        "point down apart from the first."
    ),
    NothingStandsOffError: lambda e: (
        f"Nothing of the line can be stood off by {mm_text(e.distance_mm)} on that side: the skin "
        "ends, or the line is bent tighter than that. Stand off less, or on the other side."
    ),
    LineTooShortError: lambda e: (
        f"A locked line is only {mm_text(e.length_mm)} long, at {_place(e.point)}, and "
        f"{mm_text(e.least_mm)} is the least that can be held. Draw it longer, or unlock it."
    ),
    NoHoleNearError: _no_hole_near,
    EmptyRegionError: _empty_region,
    NothingLeftError: _nothing_left,
    OnlyScrapsError: _only_scraps,
    WrongSizeError: _wrong_size,
    NoPieceNearError: lambda e: (
        f"No piece of the scan is at {_place(e.point)}; the nearest is {mm_text(e.distance_mm)} "
        "away. Pick on the piece itself."
    ),
    NoSymmetryError: _no_symmetry,
    NothingFacesError: _nothing_faces,
    SideMissingError: _side_missing,
    PlaceOffTankError: _place_off_tank,
    ZonesClashError: _zones_clash,
    PlaceNotJoinedError: _place_not_joined,
    PicksDoNotFixPlaneError: _picks_do_not_fix,
    PickOffTankError: lambda e: (
        f"The place picked at {_place(e.point)} lies {e.distance_mm:.0f} mm off all that was "
        "scanned. Pick a place on the tank; a place given in numbers is in the file's own."
    ),
    DirectionAcrossError: _direction_across,
    LevelPicksError: _level_picks,
    NoLevelError: lambda e: (
        "There is no flat bottom edge and no flat underside to level the tank by. Pick two places "
        "that should be level, or say which way is up."
    ),
    SeamDoesNotPartError: _does_not_part,
    PanelPointError: _panel_point,
    NotADiskError: _not_a_disk,
    NoAreaError: _no_area,
    NoFoldFreeStartError: lambda e: (
        f"The panel could not be laid out without a fold at {counted(len(e.faces), 'triangle')}, "
        f"first near {_place(e.place)}. Add a seam there, or export the scan again."
    ),
    InvertedFacesError: lambda e: (
        f"The blank is folded over at {counted(len(e.faces), 'triangle')}. Add a seam there."
    ),
    CollapsedBlankError: lambda e: (
        f"The panel is too deep for one piece: its blank shrinks to {e.blank_area / 100:.0f} cm2 "
        f"for a skin of {e.formed_area / 100:.0f} cm2. Add a seam about {_place(e.place)}."
    ),
    TooFewPointsError: lambda e: (
        f"{counted(e.points, 'point')} on one line or spot cannot fix a shape: "
        f"{e.needed} apart from each other can. Choose more points, farther apart."
    ),
    MissingFactError: lambda e: (
        f"The metal cannot be taken on: {e.fact} is missing. Give it, with where it comes from."
    ),
    BadFactError: lambda e: (
        f"The metal cannot be taken on: {e.fact} is {e.found!r}; it has to be {e.wanted}."
    ),
    UnknownMetalError: lambda e: (
        f"No metal is called {e.name}. Known are: {', '.join(e.known)}. Give one of these, or add "
        "yours with its facts."
    ),
    WorkChoiceError: lambda e: f"{e.choice} cannot be {e.value!r}: it may be {e.allowed}.",
    BadAllowanceError: _bad_allowance,
    NoSuchEdgeError: _no_such_edge,
    NoSuchSquareError: lambda e: (
        f"There is no square {e.name!r} on this grid: squares run from A1 to {e.last}. Letters I "
        "and O are left out."
    ),
    ReadingWordsError: lambda e: (
        f'"{e.words}" is no reading of a square: {e.reason}. Write it as '
        '"C4 26 25.5 24.5 24 / 36 35".'
    ),
    BadReadingError: lambda e: (
        f"Square {e.square}: {length_text(e.reading_mm)} cannot be a reading of a square of "
        f"{length_text(e.side_mm)}. Read it again; sides first, then the two diagonals."
    ),
    FlangeTooWideError: _flange_too_wide,
    FlangeWidthError: _flange_width,
    FlangeTurnError: _flange_turn,
    FlangeEdgeTooShortError: lambda e: (
        f"The edge is {length_text(e.length_mm)} long: too short for a flange's stations. It has "
        f"to be {length_text(e.least_mm)} or longer: choose another edge, or turn this one by eye."
    ),
    LineTooShortToBendError: lambda e: (
        f"A line of {length_text(e.length_mm)} is too short, or of too few points, for its curve "
        f"to be told. It has to be {length_text(e.least_mm)} or longer."
    ),
    FlangeRefusedError: lambda e: (
        f"Flange {e.number}, along {e.words}: {sentence_for(e.error) or e.error}"
    ),
    FlangeOnHoleError: lambda e: (
        f'"{e.edge}" is the rim of a hole. A collar in a hole belongs to the fittings: the '
        "filler's recess and flange are laid out there. Here flanges run along the open edge, "
        "a seam or a locked line."
    ),
    FlangePitchError: lambda e: (
        f"Stations {length_text(e.pitch_mm)} apart are too many to print. Set them "
        f"{length_text(math.ceil(e.least_mm))} apart or more."
    ),
    LipThereError: lambda e: (
        f"A lip is there already: the scan shows {length_text(e.width_mm)} turned "
        f"{angle_text(e.turn_rad, 0)} along {length_text(e.length_mm, decimals=0)} of the edge. "
        "Either have it cut off at its root line and turned new from there, or keep it as part of "
        "the panel: the same metal is never counted twice."
    ),
    NoFlangeLineError: lambda e: (
        f'There is nothing called "{e.edge}" to turn a flange along. '
        + (f"There is: {', '.join(e.edges)}." if e.edges else "The tank has no open edge.")
    ),
    NoLipThereError: lambda e: (
        f"No lip shows along {e.edge}, so there is none to keep. Have a flange turned there, or "
        "choose another edge."
    ),
    AllowanceTooWideError: lambda e: (
        f"The {f'allowance of {_edge(e.edge)}' if e.edge else 'usual trim'} is "
        f"{length_text(e.width_mm)} wide, more than the blank it is left on can take: at most "
        f"{length_text(e.most_mm)}. Make it narrower."
    ),
    BlankTooSmallError: lambda e: (
        f"This panel is next to nothing: its blank is {e.across_mm:.2g} mm across. A seam has cut "
        "off a scrap, or the scan's unit is wrong: move the seam, or check the size."
    ),
    BadFileError: _bad_file,
    OpenEdgeFilledError: lambda e: (
        f"The open edge of the skin, {e.rim_length_mm:.0f} mm long, cannot be filled: the scan "
        "ends there, and what lies beyond nobody can guess. Leave its number out, or untick it."
    ),
    NoSuchHoleError: lambda e: (
        f"There is no hole {e.number}: the tank has {counted(e.holes, 'hole')}. Ask lowcrown scan "
        "for their numbers."
    ),
    BadCardEntryError: lambda e: (
        f"The job card cannot hold this: {e.entry} is {e.found!r}; it has to be {e.wanted}. "
        "Type it again."
    ),
    NoSuchBreakUpError: _no_such_breakup,
    NoSuchPanelError: lambda e: (
        f'There is no panel "{e.panel}": the panels are {", ".join(e.names)}. Check the name.'
    ),
    NoSuchPrinterError: lambda e: (
        f'No printer called "{e.name}" has been measured'
        + (f"; known are {', '.join(e.names)}." if e.names else ", nor any other.")
        + " Print the check page, and type what its bars measure."
    ),
    NotAJobFileError: lambda e: f'"{e.path}" is not a job file.',
    BrokenJobFileError: lambda e: f'"{e.path}" is damaged and cannot be opened: {e.reason}.',
    NewerJobFileError: lambda e: (
        f'"{e.path}" was saved by a newer version of this program. Update the program to open it.'
    ),
    ResultExistsError: lambda e: (
        f'"{e.folder}" already holds a result ({e.names[0]}). Name another folder, or say '
        "--replace to overwrite it."
    ),
    FileInTheWayError: lambda e: (
        f'"{e.paths[0]}" is there already. Name another folder, or say --replace.'
    ),
    NoFolderError: lambda e: f'Nothing can be written to "{e.folder}": {e.reason}.',
    NotReadyError: lambda e: (
        f"The pattern of {e.panel or 'the panels'} is not made, or is out of date. Make it first."
    ),
    NothingToCutError: lambda e: f"No cutting file can be made: {e}.",
    NothingToPrintError: lambda e: (
        f'The panel "{e.panel}" has no size, so there is nothing to print. Look at its seams, and '
        "at the size of the scan."
    ),
    TooLargeForPaperError: lambda e: (
        f'The pattern of "{e.panel}" would be {size_text(e.width_mm, e.height_mm)}; paper is made '
        f"up to {length_text(e.limit_mm, decimals=0)}. Look at the unit of the file first; if the "
        "size is right, cut the panel into more with seams."
    ),
    PageTooLargeError: lambda e: f"A page would be larger than paper can be: {e}. Add a seam.",
    BadPaperError: lambda e: f'"{e.text}" is not a paper that can be printed on: {e.reason}.',
    PrinterFarOutError: lambda e: (
        f"The {e.way} bar is {mm_text(e.drawn_mm)} long, but measured {mm_text(e.measured_mm)}: "
        "the printer was told to fit the page. Print the check page again at actual size, not "
        "fitted, and measure once more."
    ),
    TooSteepError: lambda e: (
        f"At {angle_text(e.angle_rad)} the machine lies down, and no tap says anything then. Give "
        f"at most {angle_text(e.most_rad)}."
        if math.isfinite(e.angle_rad)
        else "A lean has to be an angle in degrees."
    ),
    OpenTankError: _open_tank,
    CapFoldsError: lambda e: (
        f"A {e.kind} cap over rim {e.rim.number}, about {spot_words(e.rim.centre)}, would fold "
        f'over itself. Say "{"ruled" if e.kind == "flat" else "flat"}" instead, or tidy the edge '
        "there."
    ),
    NoSpaceError: lambda e: _NO_SPACE[e.reason],
    TunnelTooLargeError: lambda e: (
        f"The tunnel is {length_text(e.tunnel_mm)} {e.what} with its metal, the room inside the "
        f"tank {length_text(e.tank_mm)}: nothing is left beside it. Give it smaller."
    ),
    MoreThanItHoldsError: lambda e: (
        f"{volume_text(e.volume_mm3)} cannot stand in this tank: it holds "
        f"{volume_text(e.holds_mm3)} to the brim. Say less."
        if e.volume_mm3 > 0.0
        else "Say how much fuel is in the tank: more than nothing."
    ),
    TapOutsideError: lambda e: (
        f"Under the {e.name}, {place_words(e.place)}, there is no room for fuel: the nearest is "
        f"about {length_text(e.away_mm)} off. Move it."
    ),
    StandpipeTooTallError: lambda e: (
        f"A standpipe of {length_text(e.height_mm)} does not fit: there is "
        f"{length_text(e.room_mm)} of room over the floor there. Give it shorter."
    ),
    NoThreadError: lambda e: (
        f'"{e.name}" is not in the table of threads. Near it are {", ".join(e.near)}.'
    ),
    SeatOffTankError: lambda e: (
        f"The {e.name}, {length_text(e.across_mm)} across, does not lie wholly on the skin "
        f"{place_words(e.place)}. Move it in from the edge, or make it smaller."
    ),
    FillerOnSeamError: lambda e: (
        f'Seam "{e.seam}" passes {length_text(e.distance_mm)} from the middle of the filler, which '
        f"reaches out {length_text(e.needed_mm)}. Move the filler or the seam: a ring is not "
        "welded over one."
    ),
    TooShallowError: lambda e: (
        f"The recess is {length_text(e.given_mm)} {e.what}, and its bends alone take "
        f"{length_text(e.needed_mm)}. Give it more, or tighter bends."
    ),
    EdgeTooTightError: lambda e: (
        f"The beaten edge is round to {length_text(e.radius_mm)} as it is seen, and the metal is "
        f"{length_text(e.metal_mm)} thick: bent sharp beneath, it is rounder than that. Give it "
        "at least the thickness, or 0 to leave it out of the sum."
    ),
    StationOffTankError: lambda e: (
        f"A station {length_text(e.station_mm)} back from the front end is off the tank, which is "
        f"{length_text(e.length_mm)} long. Measure it from the front end back."
    ),
    StationSpacingError: lambda e: (
        f"Stations every {length_text(e.spacing_mm)} do not suit a tank {length_text(e.length_mm)} "
        f"long. Give a spacing from {length_text(e.least_mm)} up to its length."
    ),
    NoSectionError: lambda e: (
        "The tank's skin gives no outline to lay a gauge on there: it is too broken, or it does "
        "not reach over the centre line. Check the datum, and fill the scan's holes."
    ),
    GaugeSizeError: lambda e: (
        f"The {e.what} cannot be {length_text(e.given_mm)}: give {length_text(e.least_mm)} to "
        f"{length_text(e.most_mm)}."
    ),
    DirectionsUnknownError: lambda e: (
        f"Nobody said which way {' and '.join(e.missing)} {'are' if len(e.missing) > 1 else 'is'}, "
        "and what goes with the tank is measured from it. Stand the tank up at Datum, or say "
        "which way front and up are (--front, --up)."
    ),
    BodySizeError: _body_size,
    PlacingPlacesError: lambda e: (
        f"{counted(e.count, 'place')} cannot place the second scan. Give three or more, well apart "
        "and not on one line, each on the scan and where it belongs on the tank."
    ),
    SteeringLockError: lambda e: (
        f"A lock of {angle_text(e.lock_rad)} to either side is none that bars have. Measure it on "
        f"the machine: more than nothing, and up to {angle_text(float(MOST_LOCK_RAD))}."
    ),
    SecondScanSizeError: _second_scan_size,
    NoSeatFaceError: _no_seat_face,
    NoSeatLineError: lambda e: (
        f"The tank's skin has no line {length_text(e.ahead_mm)} ahead of the seat face. Give a "
        "smaller distance: 4 mm (5/32 in) is usual."
    ),
    ScannedTubeSizeError: lambda e: (
        f"The scanned tube would be {length_text(e.diameter_mm, decimals=2)} across under a tank "
        f"{length_text(e.tank_mm)} long: most likely its scan is in another unit than the tank's. "
        "Export it in the same unit, and fit it again."
    ),
    NotATubeError: _not_a_tube,
    TunnelSizeError: _tunnel_size,
    TunnelEndsMissingError: lambda e: (
        "A tunnel needs the height and width of both its ends, or the frame tube it goes over. "
        "Give one or the other."
    ),
    TunnelEndsCrossError: _tunnel_ends_cross,
    NegativeClearanceError: lambda e: (
        f"The clearance for {e.line} is {length_text(e.value_mm)}: it cannot be below nothing. "
        "Give 0 where none is needed."
    ),
    BendTooTightError: lambda e: (
        f"An inside radius of {length_text(e.radius_mm)} is tighter than {e.metal} of this "
        f"thickness takes cold: {length_text(e.least_mm)} by the table. Bend it to that, "
        "anneal first, or say that the tighter bend is meant."
    ),
    TopTooNarrowError: lambda e: (
        f"The {e.end} is {length_text(e.width_mm)} wide and its two corners alone take "
        f"{length_text(e.needed_mm)}. Make the tunnel wider or the corners tighter."
    ),
    TooLowForRoundError: lambda e: (
        f"The {e.end} is {length_text(e.height_mm)} high and its top alone takes "
        f"{length_text(e.needed_mm)}: no leg is left. Make it higher or narrower."
    ),
    TooMuchTaperError: lambda e: (
        f"From the {e.behind} to the {e.ahead} the tunnel changes too much for one piece. Make the "
        "ends more alike, or put a step between them."
    ),
    StepCrossesError: lambda e: (
        f"At the step {length_text(e.at_mm)} ahead of the rear end neither piece lies wholly "
        "inside the other, so no plate joins them. Make one of them larger all round."
    ),
    WiderThanTankError: lambda e: (
        f"The tunnel's {e.end} is {length_text(e.width_mm)} wide with its metal, the tank there "
        f"{length_text(e.tank_mm)}. Make the tunnel narrower."
    ),
    AboveSkinError: lambda e: (
        f"{length_text(e.at_mm)} ahead of its rear end the tunnel's crown stands "
        f"{length_text(e.crown_mm)} up, the tank's skin {length_text(e.skin_mm)}. Make the tunnel "
        "lower, or set it lower."
    ),
    OutsideTankError: lambda e: (
        f"The tunnel's middle lies {length_text(e.at_mm)} ahead of the tank's rear, the tank is "
        f"{length_text(e.tank_mm)} long. Check where the rear end is to lie."
    ),
    TubeMissesTankError: lambda e: (
        f"The frame tube runs {spot_words(np.array([e.at_mm, e.side_mm, e.height_mm]))}: not "
        "through the tank where the tunnel is. Check its two places, or the datum they are "
        "measured from."
    ),
    LegsShortError: lambda e: (
        f"The legs end {length_text(e.short_mm)} above the tank's bottom, {length_text(e.at_mm)} "
        "ahead of the rear end. Make the ends higher, or set the tunnel lower."
    ),
    BottomAboveLegsError: lambda e: (
        f"{length_text(e.at_mm)} ahead of its rear end the tunnel sits so low that the tank's "
        f"bottom meets its top, {length_text(e.above_mm)} above the legs. Set it higher, or make "
        "it higher."
    ),
    NotALengthError: lambda e: f'"{e.text}" is not a length: {e.reason}.',
    GaugeNumberError: lambda e: f'"{e.text}" is a gauge number, not a thickness: {e.reason}.',
}
