"""What lies full size on paper: a panel's sheet or a plate, as the pages take it."""

from app.exports.facts import PanelSheet
from app.exports.pages.full_size import FullSize
from app.exports.pages.panel_on_paper import PanelOnPaper
from app.exports.pages.plate_on_paper import PlateOnPaper
from app.exports.plate import Plate

Flat = PanelSheet | Plate | FullSize
"""What full-size pages and cutting files are made from."""


def on_paper(flat: Flat) -> FullSize:
    """Return a panel's sheet or a plate as it lies on its pages; what lies so already, as it is."""
    if isinstance(flat, PanelSheet):
        return PanelOnPaper(flat)
    return PlateOnPaper(flat) if isinstance(flat, Plate) else flat
