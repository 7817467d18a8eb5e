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
    roll_named,
)
from app.exports.pages import roll_words
from app.exports.sheaves import Sheaf, file_stem, sheaves_of_job, sheaves_of_panel
from app.exports.write import (
    FileInTheWayError,
    overview_files,
    panel_file_names,
    panel_files,
    sheaf_bytes,
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
    "Sheaf",
    "Show",
    "TankModel",
    "checked_lengths",
    "correction_from",
    "file_stem",
    "marked_out_as_shown",
    "overview_files",
    "panel_file_names",
    "panel_files",
    "paper_named",
    "reason_not_to_cut",
    "roll_named",
    "roll_words",
    "sheaf_bytes",
    "sheaves_of_job",
    "sheaves_of_panel",
    "thinnest_mm",
    "write_overview",
    "write_panel",
]
