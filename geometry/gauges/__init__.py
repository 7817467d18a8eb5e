"""Gauges: what is measured on the original to prove the scan and the patterns made from it."""

from geometry.gauges.faults import FAULTS, least_shown, shown_by
from geometry.gauges.pressure_load import pressure_load
from geometry.gauges.tank_axes import TankAxes, tank_axes
from geometry.gauges.tape_table import tape_table
from geometry.gauges.tape_value import SetOut, TapePlace, TapeTable, TapeValue, TapeWay

__all__ = [
    "FAULTS",
    "SetOut",
    "TankAxes",
    "TapePlace",
    "TapeTable",
    "TapeValue",
    "TapeWay",
    "least_shown",
    "pressure_load",
    "shown_by",
    "tank_axes",
    "tape_table",
]
