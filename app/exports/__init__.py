"""What leaves the program: pages, cutting files, tables and pictures of panels."""

from app.exports.drawing import PageTooLargeError
from app.exports.facts import (
    JobFacts,
    OverviewSheet,
    PanelSheet,
    ProofTape,
    Show,
    TankModel,
    reason_not_to_cut,
    thinnest_mm,
)
from app.exports.files import NothingToCutError
from app.exports.marking_out import GRID_MM, TICK_MM, marked_out_as_shown
from app.exports.output import (
    A3,
    A4,
    LETTER,
    PAPERS,
    TABLOID,
    BadPaperError,
    Correction,
    Output,
    Paper,
    PrinterFarOutError,
    checked_lengths,
    correction_from,
    paper_named,
)
from app.exports.write import (
    FileInTheWayError,
    file_stem,
    panel_file_names,
    write_overview,
    write_panel,
)

__all__ = [
    "A3",
    "A4",
    "GRID_MM",
    "LETTER",
    "PAPERS",
    "TABLOID",
    "TICK_MM",
    "BadPaperError",
    "Correction",
    "FileInTheWayError",
    "JobFacts",
    "NothingToCutError",
    "Output",
    "OverviewSheet",
    "PageTooLargeError",
    "PanelSheet",
    "Paper",
    "PrinterFarOutError",
    "ProofTape",
    "Show",
    "TankModel",
    "checked_lengths",
    "correction_from",
    "file_stem",
    "marked_out_as_shown",
    "panel_file_names",
    "paper_named",
    "reason_not_to_cut",
    "thinnest_mm",
    "write_overview",
    "write_panel",
]
