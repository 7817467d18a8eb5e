"""Gauges: what is measured on the original to prove the scan, and boards cut to its outlines."""

from geometry.gauges.bottom_profile import ACROSS_AT, BottomProfile, seen
from geometry.gauges.checking_frame import FrameBoard, FrameCheck, FrameSizes, Slot
from geometry.gauges.faults import FAULTS, least_shown, shown_by
from geometry.gauges.gauge_faults import (
    GaugeSizeError,
    NoSectionError,
    StationOffTankError,
    StationSpacingError,
)
from geometry.gauges.gauge_set import LEVEL_STEP_MM, GaugeSet, StationGauge, gauge_set
from geometry.gauges.gauge_wishes import GaugeWishes
from geometry.gauges.gauged_skin import GaugedSkin, in_tank, on_board
from geometry.gauges.long_gauges import LongGauge
from geometry.gauges.pressure_load import pressure_load
from geometry.gauges.seat import (
    NoSeatFaceError,
    NoSeatLineError,
    SeatFace,
    SeatMoved,
    SeatPlane,
    seat_against,
    seat_face,
    seat_line,
    template_over,
)
from geometry.gauges.station_section import StationSection
from geometry.gauges.stations import GaugeStation, Girthing
from geometry.gauges.sweep_board import SweepBoard
from geometry.gauges.sweep_places import NoSweep, SweepPlace
from geometry.gauges.sweep_set import SweepSet, SweepUse, SweepWishes, sweep_set
from geometry.gauges.tank_axes import TankAxes, tank_axes
from geometry.gauges.tape_table import tape_table
from geometry.gauges.tape_value import SetOut, TapePlace, TapeTable, TapeValue, TapeWay
from geometry.gauges.template import Template
from geometry.gauges.tight_bends import TightBend
from geometry.gauges.torn_edge import TornPlace, off_course, torn_places
from geometry.gauges.turned_over import HandDifference

__all__ = [
    "ACROSS_AT",
    "FAULTS",
    "LEVEL_STEP_MM",
    "BottomProfile",
    "FrameBoard",
    "FrameCheck",
    "FrameSizes",
    "GaugeSet",
    "GaugeSizeError",
    "GaugeStation",
    "GaugeWishes",
    "GaugedSkin",
    "Girthing",
    "HandDifference",
    "LongGauge",
    "NoSeatFaceError",
    "NoSeatLineError",
    "NoSectionError",
    "NoSweep",
    "SeatFace",
    "SeatMoved",
    "SeatPlane",
    "SetOut",
    "Slot",
    "StationGauge",
    "StationOffTankError",
    "StationSection",
    "StationSpacingError",
    "SweepBoard",
    "SweepPlace",
    "SweepSet",
    "SweepUse",
    "SweepWishes",
    "TankAxes",
    "TapePlace",
    "TapeTable",
    "TapeValue",
    "TapeWay",
    "Template",
    "TightBend",
    "TornPlace",
    "gauge_set",
    "in_tank",
    "least_shown",
    "off_course",
    "on_board",
    "pressure_load",
    "seat_against",
    "seat_face",
    "seat_line",
    "seen",
    "shown_by",
    "sweep_set",
    "tank_axes",
    "tape_table",
    "template_over",
    "torn_places",
]
