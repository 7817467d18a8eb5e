"""The blank: the flat outline and layout that needs the least work to become the panel."""

from geometry.blank.flat_panel import FlatPanel, laid_along
from geometry.blank.flatten import CollapsedBlankError, Flattener, flatten
from geometry.blank.kind import NoAreaError, NotADiskError, check_disk, is_opening, rim_turning
from geometry.blank.stretch import InvertedFacesError, principal_stretches
from geometry.blank.work import Measure, Weight, Work, WorkChoiceError

__all__ = [
    "CollapsedBlankError",
    "FlatPanel",
    "Flattener",
    "InvertedFacesError",
    "Measure",
    "NoAreaError",
    "NotADiskError",
    "Weight",
    "Work",
    "WorkChoiceError",
    "check_disk",
    "flatten",
    "is_opening",
    "laid_along",
    "principal_stretches",
    "rim_turning",
]
