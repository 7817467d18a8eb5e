"""The tank in three dimensions: the only part that knows VTK."""

from app.window.scene.mark_painter import NOTHING_DRAWN, Drawn
from app.window.scene.panel_painter import PaintedChange, PaintedSurface
from app.window.scene.proxy import PROXY_ABOVE, ProxyOf
from app.window.scene.skin_painter import SKIN_PAINTERS, PaintedSkin, SkinPainter
from app.window.scene.surface_pick import Hit
from app.window.scene.tank_view import Pick, TankPicture, TankView
from app.window.scene.trial import draws_here

__all__ = [
    "NOTHING_DRAWN",
    "PROXY_ABOVE",
    "SKIN_PAINTERS",
    "Drawn",
    "Hit",
    "PaintedChange",
    "PaintedSkin",
    "PaintedSurface",
    "Pick",
    "ProxyOf",
    "SkinPainter",
    "TankPicture",
    "TankView",
    "draws_here",
]
