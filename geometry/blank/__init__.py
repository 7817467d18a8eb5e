"""The blank: the flat outline and layout that needs the least work to become the panel."""

from geometry.blank.bands import (
    MeasuringBand,
    MeasuringErrors,
    ModelBand,
    Sureness,
    measuring_band,
    model_band,
    scale_error_of_tapes,
    sureness,
)
from geometry.blank.earlier import in_common
from geometry.blank.flat_panel import FlatPanel, Standing, laid_along
from geometry.blank.flatten import CollapsedBlankError, Flattener, flatten
from geometry.blank.kind import NoAreaError, NotADiskError, check_disk, is_opening, rim_turning
from geometry.blank.start import NoFoldFreeStartError
from geometry.blank.stretch import InvertedFacesError, principal_stretches
from geometry.blank.thickness_cases import ThicknessCase, ThicknessCases, thickness_cases
from geometry.blank.work import Measure, Weight, Work, WorkChoiceError

__all__ = [
    "CollapsedBlankError",
    "FlatPanel",
    "Flattener",
    "InvertedFacesError",
    "Measure",
    "MeasuringBand",
    "MeasuringErrors",
    "ModelBand",
    "NoAreaError",
    "NoFoldFreeStartError",
    "NotADiskError",
    "Standing",
    "Sureness",
    "ThicknessCase",
    "ThicknessCases",
    "Weight",
    "Work",
    "WorkChoiceError",
    "check_disk",
    "flatten",
    "in_common",
    "is_opening",
    "laid_along",
    "measuring_band",
    "model_band",
    "principal_stretches",
    "rim_turning",
    "scale_error_of_tapes",
    "sureness",
    "thickness_cases",
]
