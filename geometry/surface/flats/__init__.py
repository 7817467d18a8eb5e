"""Flat faces of a skin, as a seat face: where they lie, how flat they are, where they end."""

from geometry.surface.flats.find import flat_faces
from geometry.surface.flats.flat_face import FlatFace

__all__ = ["FlatFace", "flat_faces"]
