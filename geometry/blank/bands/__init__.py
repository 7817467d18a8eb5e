"""How sure a blank's size is: how far its net line may move, by how it is worked and measured."""

from geometry.blank.bands.measuring_band import MeasuringBand, measuring_band
from geometry.blank.bands.measuring_errors import MeasuringErrors, scale_error_of_tapes
from geometry.blank.bands.model_band import ModelBand, model_band
from geometry.blank.bands.sureness import Sureness, sureness

__all__ = [
    "MeasuringBand",
    "MeasuringErrors",
    "ModelBand",
    "Sureness",
    "measuring_band",
    "model_band",
    "scale_error_of_tapes",
    "sureness",
]
