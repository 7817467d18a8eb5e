"""Which errors end a command in which exit code."""

from app.exports import BadPaperError, PrinterFarOutError
from app.job import NoSuchBreakUpError, NoSuchHoleError, NoSuchPanelError, ReadingWordsError
from app.settings import NoSuchPrinterError
from geometry.datum import (
    NoUnitFitsTapesError,
    SeveralUnitsFitTapesError,
    SizeOutOfReasonError,
    SizeUnknownError,
    TapeGirthError,
    TapeOffError,
    TapeOffSurfaceError,
    TapeTooShortError,
)
from geometry.metal import UnknownMetalError
from geometry.pattern import (
    AllowanceTooWideError,
    BadAllowanceError,
    BadReadingError,
    NoSuchEdgeError,
    NoSuchSquareError,
)
from geometry.scan import WrongSizeError

WRONG_USE_ERRORS: tuple[type[Exception], ...] = (
    AllowanceTooWideError,
    BadAllowanceError,
    BadPaperError,
    BadReadingError,
    NoSuchEdgeError,
    NoSuchBreakUpError,
    NoSuchHoleError,
    NoSuchPanelError,
    NoSuchPrinterError,
    NoSuchSquareError,
    PrinterFarOutError,
    ReadingWordsError,
    UnknownMetalError,
)
"""The words typed do not make a command: exit code 2."""

SIZE_ERRORS: tuple[type[Exception], ...] = (
    NoUnitFitsTapesError,
    SeveralUnitsFitTapesError,
    SizeOutOfReasonError,
    SizeUnknownError,
    TapeGirthError,
    TapeOffError,
    TapeOffSurfaceError,
    TapeTooShortError,
    WrongSizeError,
)
"""The size is not known, or a tape does not agree: exit code 3."""
