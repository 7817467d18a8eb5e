"""Bodies a tank stands beside, each where it stands on its own hand, and the steering's axis."""

from dataclasses import dataclass, replace

from app.job.choices import FrameBody, FrameFitChoice, SteeringChoice, TankSpot
from app.job.rest.seat_step import spot_at
from geometry.comparison import BodySizeError, Steering, block, round_bar
from geometry.mesh import TriMesh


@dataclass(frozen=True, eq=False)
class PlacedBody:
    """A body of one hand where it stands with the bars straight ahead."""

    body: FrameBody
    hand: str
    mesh: TriMesh


def placed_bodies(choice: FrameFitChoice) -> list[PlacedBody]:
    """Return every body with its hand and mesh, those on both hands twice."""
    placed = []
    for body in choice.bodies:
        hands = ("left", "right") if body.both_hands else ("",)
        for hand in hands:
            here = _on_hand(body, hand)
            placed.append(PlacedBody(here, hand, body_mesh(here)))
    return placed


def _on_hand(body: FrameBody, hand: str) -> FrameBody:
    """Return a body as it stands on one hand: the hand its farther end lies on is its own."""
    if not hand:
        return body
    farther = max(body.start.left_mm, body.end.left_mm, key=abs)
    if (farther > 0.0) == (hand == "left") or farther == 0.0:
        return body
    return replace(body, start=_across(body.start), end=_across(body.end))


def _across(at: TankSpot) -> TankSpot:
    return replace(at, left_mm=-at.left_mm if at.left_mm else 0.0)


def body_mesh(body: FrameBody) -> TriMesh:
    """Return a body's mesh, in tank axes.

    Raises
    ------
    BodySizeError
    """
    start, end = spot_at(body.start), spot_at(body.end)
    try:
        if body.form == "round":
            return round_bar(start, end, body.across_mm)
        return block(start, end, body.across_mm, body.height_mm)
    except BodySizeError as error:
        raise BodySizeError(error.what, error.found_mm, body.name) from error


def steering_of(choice: SteeringChoice) -> Steering:
    """Return the steering axis.

    Raises
    ------
    BodySizeError, SteeringLockError
    """
    try:
        return Steering(spot_at(choice.foot), spot_at(choice.top), choice.lock_rad)
    except BodySizeError as error:
        raise BodySizeError(error.what, error.found_mm, "steering axis") from error
