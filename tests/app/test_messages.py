"""Every error the shaper can meet has a sentence in plain words, never in the program's own."""

import importlib
import pkgutil
import re
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

import app.delivery
import app.exports
import app.job
import geometry
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
    JobFileError,
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
)
from app.job.files.strict_json import BadFieldError
from app.messages import _SENTENCES, sentence_for
from app.settings import NoSuchPrinterError
from app.units import GaugeNumberError, NotALengthError
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
    Tape,
    TapeCheck,
    TapeGirthError,
    TapeOffError,
    TapeOffSurfaceError,
    TapeTooShortError,
    ZonesClashError,
)
from geometry.datum.girth import GirthError
from geometry.errors import GeometryError
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
    MetalFactsError,
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
from geometry.panels.seam import SeamError
from geometry.panels.splitting import ChainsCrossError
from geometry.pattern import (
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
from geometry.scan.unreadable import UnreadableScanError
from geometry.seams import LineHasNoLengthError, NothingStandsOffError, PointOffGroundError
from geometry.surface import LineOffSurfaceError, LineTooShortError, NoHoleNearError
from geometry.surface.locked import LockedLineError
from geometry.tank import (
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
    OpenRim,
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

PATH = Path("jobs") / "tank.stl"
POINT = np.array([12.345, -6.0, 1000.0])

ONE, TWO = np.array([4]), np.array([4, 7])
TAPE = Tape((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), 560.0)
AGREES = TapeCheck(TAPE, 560.4, 560.4, 0.4, 1.12)
OFF = TapeCheck(TAPE, 22.0, 548.0, -12.0, 1.12)
EDGES = np.array([[1, 2]])
BOTTOM_RIM = OpenRim(1, TWO, 1279.0, POINT, 13.8)
TUBE = NotADiskError(1, (9.0, 5.0), 0, rim_places=np.diag([1.0, 2.0, 0])[:2], place=POINT)
NONE = np.zeros(0, np.int64)


def piece(triangles: int) -> Piece:
    return Piece(triangles, 5e5, POINT, np.array([400.0, 260.0, 210.0]), POINT)


ERRORS: tuple[Exception, ...] = (
    MissingFileError(PATH),
    NotAFileError(PATH),
    NoPermissionError(PATH),
    DiskError(PATH, "Input/output error"),
    EmptyFileError(PATH),
    UnknownKindError(PATH, ".step", (".stl", ".ply")),
    UnknownKindError(PATH, "", (".stl", ".ply")),
    WrongContentError(PATH, "STL", "it starts like a PLY"),
    TruncatedScanError(PATH, 120000, 1),
    BadLineError(PATH, 7, "vertex 1 2"),
    DecimalCommaError(PATH, 7, "vertex 1,5 2,0 3,0"),
    NotFiniteScanError(PATH, 1),
    NotFiniteScanError(PATH, 1200),
    OutsizeScanError(PATH, 3.4e38, 1),
    BadIndexError(PATH, 1, 1200),
    PointsOnlyError(PATH, 1),
    NoSurfaceError(PATH),
    BadMeshError("some vertices are not finite", TWO),
    NonManifoldError(EDGES, NONE, POINT[None]),
    NonManifoldError(EDGES, TWO, np.stack([POINT] * 3)),
    NonManifoldError(NONE, NONE, np.zeros((0, 3))),
    NotOrientableError(EDGES, POINT[None]),
    NoPathError(POINT, POINT),
    TooFewPointsError(2, 3),
    TooFewPointsError(1, 3),
    SizeUnknownError(),
    TapeTooShortError(TAPE),
    TapeOffError((AGREES, OFF), "mm", ("in",)),
    TapeOffError((AGREES, OFF), None, ()),
    TapeOffError((AGREES, OFF), "mm", (), AxisOff(np.eye(3)[1], 0.012, "y", (2, 4), True)),
    TapeOffError((AGREES, OFF), "mm", (), AxisOff(np.eye(3)[1], -0.012, "y", (2,), False)),
    TapeOffError((AGREES, OFF) * 4, "mm", (), AxisOff(POINT / 1000.0, 0.012, "", (2, 4), True)),
    TapeOffError((OFF, OFF), "mm", (), None, -0.02),
    NoUnitFitsTapesError("cm", (OFF,)),
    NoUnitFitsTapesError("cm", (OFF, OFF), None, 3.2),
    TapeOffSurfaceError(2, TAPE, POINT, distance=31.0, allowed=7.4, factor=25.4),
    TapeOffSurfaceError(1, TAPE, POINT, distance=31.0, allowed=7.4, factor=0.0),
    TapeGirthError(1, TAPE, "in line"),
    TapeGirthError(1, TAPE, "apart"),
    SizeOutOfReasonError("mm", 0.56, "m", 560.0),
    SeveralUnitsFitTapesError(("mm", "cm")),
    SeveralTanksError((piece(1), piece(1200))),
    SeamOffSurfaceError("left rail", POINT, 12.3, 6.0),
    SeamNotScannedError("left rail", POINT, 8.2, is_filled=True),
    SeamNotScannedError("left rail", POINT, 14.1, is_filled=False),
    SeamLeavesSliverError("left rail", POINT, 0.1, "right rail"),
    SeamLeavesSliverError("left rail", POINT, 0.4, ""),
    SeamLeavesSliverError("left rail", POINT, 1.4, "", hole_mm=32.0, needed_mm=3.0),
    SeamDoublesBackError("left rail", POINT),
    SeamCrossesItselfError("left rail", POINT),
    SeamTooShortError("left rail", POINT),
    PieceCountError(()),
    PieceCountError((0, 7)),
    StudySurfaceError("pieces", 3),
    StudySurfaceError("faces", 24),
    StudySurfaceError("plane"),
    LineOffSurfaceError(1, POINT, 8.5, 6.0),
    LineTooShortError(0, POINT, 4.0, 9.0),
    NoHoleNearError(POINT, 35.0),
    NoHoleNearError(POINT, float("inf")),
    EmptyRegionError("lasso", 2),
    EmptyRegionError("lasso", 9),
    EmptyRegionError("plane"),
    EmptyRegionError("ball"),
    NothingLeftError("crop", 1),
    NothingLeftError("cut"),
    NothingLeftError("drop"),
    OnlyScrapsError(40, piece(12)),
    NoPieceNearError(POINT, 45.0),
    WrongSizeError(0.6),
    WrongSizeError(22e3),
    NoSymmetryError(0.31),
    NoSymmetryError(0.0),
    NothingFacesError(0.4, 0.6),
    NothingFacesError(1.0, 0.0),
    SideMissingError("left", 0.01),
    PlaceOffTankError(POINT, 20.0, 55.0),
    ZonesClashError(POINT, POINT + 20.0),
    PlaceNotJoinedError(POINT, 20.0),
    PicksDoNotFixPlaneError(2, 0, False),
    PicksDoNotFixPlaneError(5, 0, True),
    DirectionAcrossError("up", 1.3),
    DirectionAcrossError("front", 1.3),
    LevelPicksError(1, 0.0),
    LevelPicksError(3, 2.5),
    NoLevelError(),
    SeamDoesNotPartError("left rail", POINT, float("inf")),
    SeamDoesNotPartError("left rail", POINT),
    SeamDoesNotPartError("left rail", POINT, 9.0),
    PanelPointError(("top",), POINT, 12.0),
    PanelPointError(("top", "left"), POINT, 0.0),
    NotADiskError(1, (), 0),
    NotADiskError(2, (100.0, 50.0), 0),
    NotADiskError(1, (100.0,), 1),
    NotADiskError(1, (100.0, 50.0), 0),
    TUBE,
    NotADiskError(1, (9.0,) * 5, 0, rim_places=np.ones((5, 3))),
    NoAreaError(ONE),
    NoAreaError(TWO, np.stack([POINT, POINT])),
    NoAreaError(TWO),
    InvertedFacesError(ONE),
    InvertedFacesError(TWO),
    CollapsedBlankError(50000.0, 12000.0, POINT),
    NoFoldFreeStartError(np.array([3, 4]), np.array([1.0, 2.0, 3.0])),
    WorkChoiceError("bias", 0.9, "-0.7 to 0.7"),
    MissingFactError("density"),
    BadFactError("density", -2.0, "a number above 0, g/cm3"),
    UnknownMetalError("3003-Q", ("3003-O", "3003-H14")),
    StationOffTankError(900.0, 556.0),
    StationSpacingError(0.0, 10.0, 556.0),
    NoSectionError(120.0),
    NoSeatFaceError("none", 0),
    NoSeatFaceError("none behind", 1),
    NoSeatFaceError("none near", 2, 140.0),
    NoSeatLineError(300.0),
    BodySizeError("length", 0.0, "top tube"),
    BodySizeError("across", float("nan")),
    PlacingPlacesError(2),
    SecondScanSizeError(560000.0, 556.0),
    SteeringLockError(5.2),
    GaugeSizeError("width of the board", 0.0, 15.0, 300.0),
    DirectionsUnknownError(("front", "up")),
    BadAllowanceError("left rail|top", "width", -3.0),
    BadAllowanceError("", "width", float("nan")),
    BadAllowanceError("F1", "angle", 170.0),
    BadAllowanceError("F1", "kind", "wing"),
    BadAllowanceError("F1", "flange", 1.2),
    BadAllowanceError("F1", "narrow", 0.01),
    BadAllowanceError("F1", "hem", 400.0),
    BadAllowanceError("F1", "corner", "square"),
    NoSuchEdgeError("F9", ("left rail|top", "F1")),
    AllowanceTooWideError("F1", 700.0, 312.5),
    BlankTooSmallError(0.012, 0.05),
    NoSuchSquareError("C40", "M8"),
    FlangeTooWideError(25.0, 20.0),
    FlangeTooWideError(25.0, 20.0, (120.0, 40.0, 5.0)),
    FlangeWidthError(0.0, 0.0),
    FlangeWidthError(1.0, 2.3),
    FlangeTurnError(0.02),
    FlangeTurnError(3.0, (120.0, 40.0, 5.0)),
    FlangeEdgeTooShortError(12.0, 20.0),
    LineTooShortToBendError(3.0, 8.0),
    FlangeRefusedError(2, "the open edge", FlangeWidthError(0.0, 0.0)),
    FlangeOnHoleError("hole 2"),
    FlangePitchError(1.0, 5.0),
    LipThereError(11.2, 1.08, 1120.0),
    NoFlangeLineError("tail", ("rim", "left rail")),
    NoFlangeLineError("rim", ()),
    NoLipThereError("the open edge"),
    BadReadingError("C4", 250.0, 25.4),
    ReadingWordsError("C4", "its sides are missing"),
    BadFileError("a seams file", PATH, "seams[0]", 'has the unknown field "a"'),
    BadFileError("a seams file", PATH, "", "is not text in UTF-8"),
    BadFileError("a datum file", PATH, "plane.normal", "is not square to up"),
    BadFileError("a datum file", PATH, "", "is not text in UTF-8"),
    NoSuchBreakUpError("five", ("three", "four")),
    PointOffGroundError(POINT, 12.3),
    PointOffGroundError(np.full(3, np.nan), np.inf),
    LineHasNoLengthError(np.zeros((1, 3))),
    NothingStandsOffError(9.0),
    NoSuchBreakUpError("five", ()),
    NoSuchBreakUpError("", ("three", "four")),
    NoSuchHoleError(9, 3),
    OpenEdgeFilledError(1317.0),
    PickOffTankError(np.array([0.0, 0.0, 1000.0]), 700.0),
    BadFileError("a file of metals", PATH, "metals[0]", 'lacks the fact "density"'),
    BadFileError("a file of metals", PATH, "", "is not text in UTF-8"),
    BadCardEntryError("hours", -1.0, "a number from 0"),
    NoSuchPanelError("lid", ("left side", "top")),
    NoSuchPrinterError("den", ()),
    NoSuchPrinterError("den", ("shop",)),
    NotAJobFileError(PATH),
    BrokenJobFileError(PATH, "part of it is damaged"),
    NewerJobFileError(PATH, 9),
    ResultExistsError(PATH, ("summary.json", "left.pdf")),
    FileInTheWayError((PATH,)),
    NoFolderError(PATH, "there is a file of that name"),
    NotReadyError("left"),
    NotReadyError(""),
    NothingToCutError("left", "the size is not taped"),
    NothingToPrintError("left"),
    TooLargeForPaperError("left", 40000.0, 28000.0),
    PageTooLargeError(6000.0, 300.0),
    BadPaperError("foolscap", "known are a4, letter"),
    PrinterFarOutError("level", 150.0, 190.0),
    NotALengthError("3 parsecs", "the unit is not known"),
    GaugeNumberError("16 gauge", 16),
    GaugeNumberError("swg 27", 27),
    TooSteepError(1.58, 1.05),
    TooSteepError(float("nan"), 1.05),
    OpenTankError((BOTTOM_RIM,)),
    OpenTankError((BOTTOM_RIM,) * 5),
    CapFoldsError(BOTTOM_RIM, "flat"),
    CapFoldsError(BOTTOM_RIM, "ruled"),
    *(NoSpaceError(reason) for reason in ("open", "inside out", "nothing left")),
    *(TunnelSizeError(what, -3.0) for what in ("length", "run-out", "travel up")),
    TunnelSizeError("flare of the legs", 70.0),
    NotATubeError(6.0, 20.0),
    ScannedTubeSizeError(1.5, 560.0),
    NotATubeError(float("inf"), 0.0),
    TunnelEndsMissingError(),
    TunnelEndsCrossError("the rear end", "step 1", -20.0),
    TunnelEndsCrossError("the rear end", "step 1", 1.0),
    TunnelEndsCrossError("the rear end", "the front end", 1.0),
    NegativeClearanceError("rubber squash", -2.0),
    BendTooTightError(1.0, 2.4, "5052-H32"),
    TopTooNarrowError("rear end", 40.0, 60.0),
    TooLowForRoundError("front end", 20.0, 25.0),
    TooMuchTaperError("rear end", "step 1"),
    StepCrossesError(120.0),
    WiderThanTankError("rear end", 210.0, 200.0),
    AboveSkinError(150.0, 190.0, 188.0),
    OutsideTankError(700.0, 556.0),
    TubeMissesTankError(90.0, 4.0, 260.0),
    LegsShortError(30.0, 0.0),
    BottomAboveLegsError(75.0, 6.0),
    TunnelTooLargeError("wide", 260.0, 250.0),
    MoreThanItHoldsError(2.5e7, 2.0e7),
    MoreThanItHoldsError(0.0, 2.0e7),
    TapOutsideError("dip stick", POINT, 31.0),
    StandpipeTooTallError(260.0, 200.0),
    NoThreadError("G 5/8", ("G 1/2", "G 3/8")),
    SeatOffTankError("filler", POINT[:2], 76.0),
    FillerOnSeamError("top", 12.0, 38.0),
    TooShallowError("deep", 6.0, 8.6),
    EdgeTooTightError(1.2, 1.6),
)

ROOTS = {
    GeometryError,
    UnreadableScanError,
    SeamError,
    LockedLineError,
    JobFileError,
    MetalFactsError,
}
"""Never raised themselves, only caught."""

INSIDE = {BadFieldError, ChainsCrossError, GirthError}
"""Caught in the folder that raises them, and told as another."""


def error_classes() -> Iterator[type[Exception]]:
    """Return every error class of geometry, and of the parts of app below the messages."""
    for package in (geometry, app.job, app.delivery, app.exports):
        for found in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            module = importlib.import_module(found.name)
            for thing in vars(module).values():
                if isinstance(thing, type) and issubclass(thing, Exception):
                    ours = thing.__module__.startswith(("geometry", "app"))
                    if ours and thing.__name__.endswith("Error"):
                        yield thing


def subclasses(kind: type[Exception]) -> Iterator[type[Exception]]:
    for below in kind.__subclasses__():
        yield below
        yield from subclasses(below)


def test_every_error_class_has_a_sentence_of_its_own() -> None:
    classes = set(error_classes()) | set(subclasses(GeometryError))
    ours = {kind for kind in classes if kind.__module__.startswith(("geometry", "app"))}
    assert len(ours) > 40
    lacking = {kind.__name__ for kind in ours - ROOTS - INSIDE if kind not in _SENTENCES}
    assert lacking == set()


def test_every_sentence_is_tried_here() -> None:
    assert {type(error) for error in ERRORS} == set(_SENTENCES)


SAID = [pytest.param(error, id=f"{type(error).__name__}-{k}") for k, error in enumerate(ERRORS)]

PROGRAM_WORDS = re.compile(
    r"array\(|float64|int64|dtype|PosixPath|WindowsPath|<.* object|Error\b|None\b|True|False|lambda"
    r"|nan\b|\{|\}|\\\\|\bmesh is\b|manifold|vertices|vertex index|topolog|%|^\s|\s$|  ",
)


@pytest.mark.parametrize("error", SAID)
def test_a_sentence_is_plain_and_whole(error: Exception) -> None:
    sentence = sentence_for(error)
    assert sentence is not None
    told = sentence.replace("some vertices are not finite", "").replace("vertex 1", "")
    assert not PROGRAM_WORDS.search(told), PROGRAM_WORDS.search(told)
    assert sentence.endswith((".", ")."))
    assert not sentence.endswith("..")
    assert len(sentence) < 500


@pytest.mark.parametrize("error", SAID)
def test_one_of_a_thing_is_not_said_as_many(error: Exception) -> None:
    sentence = sentence_for(error) or ""
    assert not re.search(
        r"(?<![\d.,])1 (pieces|open edges|tunnels|triangles|points|faces|places|tapes)\b", sentence
    )
    assert not re.search(r"(?<![\d.,])([02-9]|\d\d+) (piece|triangle|point|face|place)\b", sentence)


@pytest.mark.parametrize(
    ("error", "parts"),
    [
        (TruncatedScanError(PATH, 120000, 1), ('"tank.stl"', "120,000 triangles")),
        (NotADiskError(1, (9.0, 5.0), 0), ("1 piece", "2 open edges", "no tunnels", "tube")),
        (
            TUBE,
            (
                "Look about (12.3, -6.0, 1000.0) mm (0.49, -0.24, 39.37 in).",
                "through (1.0, 0.0, 0.0) mm (0.04, 0.00, 0.00 in) and (0.0, 2.",
            ),
        ),
        (
            NotADiskError(1, (9.0,) * 4, 0, rim_places=np.eye(4, 3)),
            ("(0.04, 0.00, 0.00 in), (0.0, 1.0, 0.0) mm (", "0.04 in) and elsewhere."),
        ),
        (NoAreaError(TWO, np.stack([POINT, POINT])), ("2 triangles", "first at (12.3, -6.0, 1")),
        (
            TapeOffError((AGREES, OFF), "mm", ("in",)),
            ("tape 1 says 560 mm", "agrees", "tape 2", "-12 mm", "1.1 mm", "one in."),
        ),
        (
            TapeOffError((AGREES, OFF), "mm", (), AxisOff(np.eye(3)[1], 0.012, "y", (2, 4), True)),
            ("1.2 mm in 100 too long along the file's y, the way tapes 2 and 4 lie.",),
        ),
        (
            TapeOffError((AGREES, OFF), "mm", (), AxisOff(np.eye(3)[1], -0.02, "y", (2,), False)),
            ("Either tape 2 was misread, or the scan is 2.0 mm in 100 too short along",),
        ),
        (TapeOffError((AGREES, OFF) * 4, "mm", ()), ("and 1 more are off; the other 4 agree",)),
        (
            TapeOffSurfaceError(2, TAPE, POINT, distance=31.0, allowed=7.4, factor=25.4),
            ("Tape 2", "31 off", "Times 25.4", "another unit"),
        ),
        (SizeOutOfReasonError("mm", 0.56, "m", 560.0), ("0.56 mm across", "In m it is 560 mm")),
        (SeamDoesNotPartError("left rail", POINT, 9.0), ("9 mm short", "(12.3, -6.0, 1000.0)")),
        (PanelPointError(("top", "left"), POINT, 0.0), ('"top" and "left"', "one and the same")),
        (
            CollapsedBlankError(50000.0, 12000.0, POINT),
            ("120 cm2", "500 cm2", "Add a seam about (12.3"),
        ),
        (SeveralTanksError((piece(1), piece(1200))), ("1 triangle,", "1,200 triangles", "400 x")),
        (BadFileError("a seams file", PATH, "seams[0]", "lacks it"), ("seams[0] lacks it",)),
        (PageTooLargeError(6000.0, 300.0), ("6000 x 300 mm",)),
        (
            FlangeTooWideError(25.0, 20.0, (120.0, 40.0, 5.0)),
            (
                "25 mm",
                "20 mm",
                "120 mm (4 3/4 in) ahead of the rear end, 40 mm (1 9/16 in) left",
            ),
        ),
        (FlangeWidthError(1.0, 2.3), ("A flange 1 mm", "2.3 mm", "root radius")),
        (LipThereError(11.2, 1.08, 1120.0), ("11.2 mm", "62", "1120 mm", "never counted twice")),
        (
            FlangeRefusedError(2, "the open edge", FlangeTurnError(0.02)),
            ("Flange 2, along the open edge: ", "150"),
        ),
        (NoFlangeLineError("tail", ("rim", "left rail")), ('"tail"', "rim, left rail")),
        (NoSuchEdgeError("F9", ("rail|top", "F1")), ("no edge F9", '"rail" to top; edge F1.')),
        (BadAllowanceError("", "width", float("nan")), ("The usual trim", "is not a number")),
        (BadAllowanceError("F1", "hem", 400.0), ("its width is 400", "at most 50 mm")),
        (
            AllowanceTooWideError("rail|top", 700.0, 312.5),
            ("700 mm (27 9/16 in) wide", "most 312.5 mm"),
        ),
        (
            AllowanceTooWideError("", 5000.0, 562.0),
            ("The usual trim is 5000 mm", "562 mm (22 1/8 in)"),
        ),
        (BlankTooSmallError(0.0124, 0.05), ("0.012 mm across", "cut off a scrap")),
        (
            TunnelEndsCrossError("step 1", "the front end", -120.0),
            ("Step 1 stands 120 mm (4 3/4 in) ahead of the front end", "lies between the ends"),
        ),
        (
            TunnelEndsCrossError("the rear end", "step 1", -20.0),
            ("Step 1 stands 20 mm (13/16 in) behind the rear end", "lies between the ends"),
        ),
        (
            TunnelEndsCrossError("the rear end", "step 1", 0.0),
            ("Step 1 stands just at the rear end", "lies between the ends"),
        ),
        (
            TunnelEndsCrossError("step 1", "step 2", -30.0),
            ("Step 2 stands 30 mm (1 3/16 in) behind step 1", "steps run ahead"),
        ),
        (TunnelEndsCrossError("step 1", "step 2", 1.0), ("ahead to step 2 there are only 1 mm",)),
        (TunnelEndsCrossError("the rear end", "the front end", 0.0), ("length is 0 mm (0 in)",)),
    ],
)
def test_a_sentence_says_what_was_found_and_where(error: Exception, parts: tuple[str, ...]) -> None:
    sentence = sentence_for(error) or ""
    assert [part for part in parts if part not in sentence] == []


def test_a_class_below_another_is_told_as_itself() -> None:
    assert "decimal comma" in (sentence_for(DecimalCommaError(PATH, 1, "1,5")) or "")

    class OwnKindError(SeamTooShortError):
        """A kind without a sentence of its own."""

    error = OwnKindError("rail", POINT)
    assert sentence_for(error) == sentence_for(SeamTooShortError("rail", POINT))


def test_what_the_system_says_is_passed_on_with_the_files_name() -> None:
    told = sentence_for(OSError(28, "No space left on device", "a.pdf")) or ""
    assert told.startswith('"a.pdf" could not be used: No space left on device.')
    assert sentence_for(OSError("odd")) == (
        "A file could not be used: odd. Check the name and the disk."
    )
    assert "memory" in (sentence_for(MemoryError()) or "")


@pytest.mark.parametrize("error", [ValueError("x"), KeyError(1), ZeroDivisionError(), Exception()])
def test_a_bug_of_ours_has_no_sentence(error: Exception) -> None:
    assert sentence_for(error) is None
