"""`REST_STEPS`: the steps besides the panels, as the window shows them; a row each."""

from app.window.rest.flanges_picture import flanges_picture
from app.window.rest.frame_picture import frame_picture
from app.window.rest.fuel_picture import capacity_picture, fittings_picture
from app.window.rest.gauges_picture import gauges_picture
from app.window.rest.rest_step import RestStep
from app.window.rest.seat_picture import seat_picture
from app.window.rest.tunnel_picture import tunnel_picture
from app.window.steps import (
    CapacityView,
    FittingsView,
    FlangesView,
    FrameView,
    GaugesView,
    SeatView,
    TunnelView,
)

REST_STEPS: tuple[RestStep, ...] = (
    RestStep("Tunnel", TunnelView, tunnel_picture, "Alt+1"),
    RestStep("Flanges", FlangesView, flanges_picture, "Alt+2"),
    RestStep("Gauges", GaugesView, gauges_picture, "Alt+3"),
    RestStep("Seat face", SeatView, seat_picture, "Alt+4"),
    RestStep("Fittings", FittingsView, fittings_picture, "Alt+5"),
    RestStep("Capacity", CapacityView, capacity_picture, "Alt+6"),
    RestStep("Frame fit", FrameView, frame_picture, "Alt+7"),
)


def row_of(name: str) -> RestStep | None:
    """Return a row by its step's name; None for steps that are not besides the panels."""
    return next((row for row in REST_STEPS if row.name == name), None)
