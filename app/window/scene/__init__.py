"""The tank in three dimensions: the only part that knows VTK."""

from app.window.scene.panel_painter import PaintedChange, PaintedSurface
from app.window.scene.proxy import PROXY_ABOVE, ProxyOf
from app.window.scene.surface_pick import Hit
from app.window.scene.tank_view import TankPicture, TankView
from app.window.scene.trial import draws_here

__all__ = [
    "PROXY_ABOVE",
    "Hit",
    "PaintedChange",
    "PaintedSurface",
    "ProxyOf",
    "TankPicture",
    "TankView",
    "draws_here",
]
