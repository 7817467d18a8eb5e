"""What is told of a job and its results, gathered for a page, a list or a file."""

from app.job.answers.answer import (
    Answer,
    answer,
    answer_for,
    answer_words,
    eased_words,
    edge_words,
    equal_area_words,
    thin_words,
    thinnest_words,
)
from app.job.answers.board import BoardRow, board
from app.job.answers.compare import ComparedRow, Comparison, compared, compared_rows
from app.job.answers.edge_names import seam_edge_keys
from app.job.answers.edge_rows import EdgeRow, edge_rows
from app.job.answers.gauging import tape_table_of
from app.job.answers.level import level_sure_words
from app.job.answers.metal_guide import (
    PanelGuide,
    guide_facts,
    guide_words,
    no_guide_words,
    panel_guide,
)
from app.job.answers.sheet_sums import largest_face_of, pieces_besides, sheets_of_job

__all__ = [
    "Answer",
    "BoardRow",
    "ComparedRow",
    "Comparison",
    "EdgeRow",
    "PanelGuide",
    "answer",
    "answer_for",
    "answer_words",
    "board",
    "compared",
    "compared_rows",
    "eased_words",
    "edge_rows",
    "edge_words",
    "equal_area_words",
    "guide_facts",
    "guide_words",
    "largest_face_of",
    "level_sure_words",
    "no_guide_words",
    "panel_guide",
    "pieces_besides",
    "seam_edge_keys",
    "sheets_of_job",
    "tape_table_of",
    "thin_words",
    "thinnest_words",
]
