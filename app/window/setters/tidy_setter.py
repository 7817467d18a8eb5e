"""`TidySetter`: which pieces stay, what is cut away, and what becomes of the holes."""

from collections.abc import Callable
from typing import Any

import numpy as np

from app.job import (
    BallCrop,
    HalfSpaceCrop,
    LassoCrop,
    made,
    with_crop,
    with_cut,
    with_fill,
    with_hole_as_usual,
    with_hole_filled,
    with_hole_left,
    with_piece_dropped,
    with_piece_kept,
    without_crop,
    without_cut,
)
from app.window.picture_tools import LassoTool, PlaneTool
from app.window.scene import Hit
from app.window.setters.setter import Setter
from app.window.skin_tools import ZoneTool
from app.window.tidy_rows import crop_rows, hole_rows, piece_rows
from geometry.datum import Point3, point3

HOLE_CATCH_PX = 14.0


class TidySetter(Setter):
    """Decides about pieces, cut-outs and holes."""

    step = "Tidy"

    def keep_piece(self, number: int, keep: bool) -> None:
        """Keep a piece, or drop it."""
        place = piece_rows(self.state)[number].place
        edit = with_piece_kept if keep else with_piece_dropped
        self._edit(edit(self.state, place), "keeping a piece" if keep else "dropping a piece")

    def set_hole(self, number: int, fate: str) -> None:
        """Fill a hole, leave it, or treat it as usual."""
        edits: dict[str, Callable[..., Any]] = {
            "filled": with_hole_filled,
            "left": with_hole_left,
            "usual": with_hole_as_usual,
        }
        place: Point3 = hole_rows(self.state)[number].place
        names = {"filled": "filling a hole", "left": "leaving a hole", "usual": "hole as usual"}
        self._edit(edits[fate](self.state, place), names[fate])

    def set_fill(self, fill: Any) -> None:
        """Treat holes nobody decided about another way."""
        self._edit(with_fill(self.state, fill), "what is filled")

    def look_at(self, kind: str, number: int) -> None:
        """Turn the tank to a hole."""
        rows = hole_rows(self.state) if kind == "hole" else ()
        if 0 <= number < len(rows):
            self._tank.look_at(rows[number].normal)

    def clicked(self, hit: Hit | None) -> None:
        """Choose the hole whose rim was clicked."""
        if hit is None:
            return
        reach = HOLE_CATCH_PX * self._tank.pixel_size(hit.point)
        far = [
            float(np.linalg.norm(row.rim - hit.point, axis=1).min()) if len(row.rim) else np.inf
            for row in hole_rows(self.state)
        ]
        if far and min(far) <= reach:
            self._foreman.choose_row("hole", int(np.argmin(far)))
        else:
            self._let_go()

    # ---- cutting away

    def draw_lasso(self) -> None:
        """Take the lasso into the hand."""
        if self._to_step():
            self._foreman.hand.take(LassoTool(self._tank.eye_direction), self._drawn)

    def draw_plane(self) -> None:
        """Take the cutting plane into the hand."""
        if self._to_step():
            self._foreman.hand.take(
                PlaneTool(self._tank.eye_direction, self._tank.middle), self._drawn
            )

    def draw_round(self) -> None:
        """Take the tool that cuts out a round place."""
        if self._to_step():
            tool = ZoneTool("What is cut out: a cap, a tap, a clamp.")
            self._foreman.hand.take(tool, self._take_round)

    def _take_round(self, how: str) -> None:
        tool, size = self._foreman.hand.tool, made(self.state, "Size")
        if isinstance(tool, ZoneTool) and tool.centre is not None and size is not None:
            ball = BallCrop(point3(tool.centre), tool.radius * size.mm_per_unit)
            self._foreman.hand.put_down()
            self._let_go()
            self._edit(with_cut(self.state, ball), "cutting out")

    def _drawn(self, how: str) -> None:
        """Wait for the word at the right."""

    def take_lasso(self, *, cut: bool, front_only: bool) -> None:
        """Cut away what the lasso holds, or keep only that."""
        tool = self._foreman.hand.tool
        if not isinstance(tool, LassoTool) or not tool.is_laid or tool.along is None:
            return
        outline = tuple(point3(corner) for corner in tool.corners)
        crop = LassoCrop(outline, point3(tool.along), inside=True, front_only=front_only)
        self._foreman.hand.put_down()
        self._let_go()
        if cut:
            self._edit(with_cut(self.state, crop), "cutting out")
        else:
            self._edit(with_crop(self.state, crop), "cropping")

    def cut_inside(self, front_only: bool) -> None:
        """Cut away what the lasso holds."""
        self.take_lasso(cut=True, front_only=front_only)

    def keep_inside(self, front_only: bool) -> None:
        """Keep only what the lasso holds."""
        self.take_lasso(cut=False, front_only=front_only)

    def take_plane(self) -> None:
        """Crop with the plane."""
        tool = self._foreman.hand.tool
        if isinstance(tool, PlaneTool) and tool.is_laid:
            crop = HalfSpaceCrop(point3(tool.ends[0]), point3(tool.normal))
            self._foreman.hand.put_down()
            self._let_go()
            self._edit(with_crop(self.state, crop), "cropping")

    def flip_plane(self) -> None:
        """Let the other side stay."""
        tool = self._foreman.hand.tool
        if isinstance(tool, PlaneTool):
            tool.flip()
            self._foreman.hand.show()

    def delete(self, kind: str, number: int) -> None:
        """Take a crop or a cut-out back."""
        rows = crop_rows(self.state)
        if kind == "crop" and 0 <= number < len(rows):
            row = rows[number]
            self._let_go()
            edit = without_cut if row.is_cut else without_crop
            self._edit(edit(self.state, row.number), "taking a cut back")

    def reactions(self) -> dict[str, Callable[[], Any]]:
        """Return what answers each action of the table that is this setter's."""
        return {
            "lasso": self.draw_lasso,
            "plane": self.draw_plane,
            "cut_round": self.draw_round,
            "flip_plane": self.flip_plane,
        }
