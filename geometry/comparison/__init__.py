"""A tank held against what it stands beside: gaps to the frame, to forks and bars, to a scan."""

from geometry.comparison.bodies import BodySizeError, block, round_bar
from geometry.comparison.gap import Gap, GapFinder
from geometry.comparison.placing import (
    LEAST_PLACES,
    Placing,
    PlacingPlacesError,
    SecondScanSizeError,
    check_same_unit,
    placing_by,
)
from geometry.comparison.steering import MOST_LOCK_RAD, Steering, SteeringLockError
from geometry.comparison.turning import Turned, deepest_turn, nearest_turn

__all__ = [
    "LEAST_PLACES",
    "MOST_LOCK_RAD",
    "BodySizeError",
    "Gap",
    "GapFinder",
    "Placing",
    "PlacingPlacesError",
    "SecondScanSizeError",
    "Steering",
    "SteeringLockError",
    "Turned",
    "block",
    "check_same_unit",
    "deepest_turn",
    "nearest_turn",
    "placing_by",
    "round_bar",
]
