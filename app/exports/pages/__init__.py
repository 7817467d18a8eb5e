"""Whole pages: the full-size pattern and its tiles, the shape map, the overview, their titles."""

from app.exports.pages.bench_pages import bench_pages
from app.exports.pages.booklet import BoundPiece, booklet_pages
from app.exports.pages.breaks_page import (
    MOST_ON_A_PAGE,
    BreaksSheet,
    BreakUpShown,
    breaks_pages,
)
from app.exports.pages.capacity_page import CapacitySheet, capacity_pages
from app.exports.pages.cautions import ALL_CAUTIONS, DUST, FRAME, RECEIVING, WELDING, Caution
from app.exports.pages.check_page import check_pages
from app.exports.pages.cutting_sheet import NothingToCutError, cutting_sheet
from app.exports.pages.fittings_page import FittingsSheet, fittings_pages
from app.exports.pages.flange_page import FlangeSheet, flange_pages
from app.exports.pages.flange_plates import flange_plates
from app.exports.pages.frame_page import FrameSheet, frame_pages
from app.exports.pages.gauge_plates import gauge_plates
from app.exports.pages.gauge_sheet import GaugeSheet, gauge_pages
from app.exports.pages.job_card import CardSheet, job_card_pages
from app.exports.pages.laid_on_paper import Flat, on_paper
from app.exports.pages.one_piece import one_piece
from app.exports.pages.overview import overview_pages
from app.exports.pages.panel_drawing import pattern_drawing
from app.exports.pages.roll import one_piece_pages, roll_words
from app.exports.pages.seat_page import SeatSheet, seat_pages, seat_plates
from app.exports.pages.shape_map import shape_pages, shape_png
from app.exports.pages.tape_table import TapeSheet, tape_table_pages
from app.exports.pages.tiles import tiled
from app.exports.pages.tunnel_page import TunnelPageSheet, tunnel_pages

__all__ = [
    "ALL_CAUTIONS",
    "DUST",
    "FRAME",
    "MOST_ON_A_PAGE",
    "RECEIVING",
    "WELDING",
    "BoundPiece",
    "BreakUpShown",
    "BreaksSheet",
    "CapacitySheet",
    "CardSheet",
    "Caution",
    "FittingsSheet",
    "FlangeSheet",
    "Flat",
    "FrameSheet",
    "GaugeSheet",
    "NothingToCutError",
    "SeatSheet",
    "TapeSheet",
    "TunnelPageSheet",
    "bench_pages",
    "booklet_pages",
    "breaks_pages",
    "capacity_pages",
    "check_pages",
    "cutting_sheet",
    "fittings_pages",
    "flange_pages",
    "flange_plates",
    "frame_pages",
    "gauge_pages",
    "gauge_plates",
    "job_card_pages",
    "on_paper",
    "one_piece",
    "one_piece_pages",
    "overview_pages",
    "pattern_drawing",
    "roll_words",
    "seat_pages",
    "seat_plates",
    "shape_pages",
    "shape_png",
    "tape_table_pages",
    "tiled",
    "tunnel_pages",
]
