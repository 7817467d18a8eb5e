"""`LinesSetter`: which character lines are locked, thrown out, joined, made longer or drawn."""

from collections.abc import Callable
from typing import Any

import numpy as np

from app.job import (
    with_line_drawn,
    with_line_locked,
    with_line_rejected,
    with_lines_sought,
    with_sure_lines_locked,
    without_line_choice,
)
from app.window.bench import Bench, Errand
from app.window.document import Document
from app.window.foreman import Foreman
from app.window.hands import nearest_on_line
from app.window.line_rows import SURE, LineRow, line_rows, mm_mesh
from app.window.line_work import joined_points, longer_points, snapped_points
from app.window.scene import Hit, TankView
from app.window.setters.setter import Setter
from app.window.skin_tools import LineTool, PicksTool
from app.window.words import sentence
from geometry.datum import Point3, point3

LINE_CATCH_PX = 12.0


class LinesSetter(Setter):
    """Decides about character lines."""

    step = "Lines"

    def __init__(self, document: Document, foreman: Foreman, tank: TankView, bench: Bench) -> None:
        super().__init__(document, foreman, tank)
        self._bench = bench
        self._under_way: tuple[Errand, tuple[LineRow, ...]] | None = None
        self._joining = -1
        bench.errand_done.connect(self._take_points)
        bench.errand_failed.connect(self._refuse)
        bench.errand_stopped.connect(self._forget)

    def set_sought(self, on: bool) -> None:
        """Look for lines, or not."""
        self._edit(with_lines_sought(self.state, on), "looking for lines")

    def _chosen(self) -> LineRow | None:
        kind, number = self._foreman.desk.chosen
        rows = line_rows(self.state)
        return rows[number] if kind == "line" and 0 <= number < len(rows) else None

    # ---- lock and throw out

    def lock(self) -> None:
        """Lock the chosen line."""
        row = self._chosen()
        if row is not None and row.standing != "locked":
            self._edit(with_line_locked(self.state, row.places), "locking a line")

    def reject(self) -> None:
        """Throw the chosen line out."""
        row = self._chosen()
        if row is None or row.standing == "rejected":
            return
        if row.drawn:
            self._edit(without_line_choice(self.state, row.decision), "deleting a line")
        else:
            self._edit(with_line_rejected(self.state, row.places), "throwing a line out")

    def offer_again(self) -> None:
        """Forget what was decided about the chosen line."""
        row = self._chosen()
        if row is not None and row.decision >= 0 and not row.drawn:
            self._edit(without_line_choice(self.state, row.decision), "deciding anew")

    def lock_all_sure(self) -> None:
        """Lock every line that is offered and sure."""
        after = with_sure_lines_locked(self.state, SURE)
        if after is self.state:
            self.said.emit("No line that is offered is sure.")
        else:
            self._edit(after, "locking lines")

    def delete(self, kind: str, number: int) -> None:
        """Forget a decision; a drawn line goes."""
        row = self._chosen()
        if kind == "line" and row is not None and row.decision >= 0:
            self._let_go()
            self._edit(without_line_choice(self.state, row.decision), "deleting a line")

    # ---- draw, join, make longer

    def draw(self) -> None:
        """Draw a line by hand."""
        if self._to_step():
            lines = tuple(row.points for row in line_rows(self.state) if row.standing != "rejected")
            self._foreman.hand.take(LineTool(lines), self._take_drawn)

    def _take_drawn(self, how: str) -> None:
        tool = self._foreman.hand.tool
        if isinstance(tool, LineTool) and len(tool.picked) >= tool.least:
            points = [point3(point) for point in tool.picked]
            if how == "close":
                points.append(points[0])
            self._foreman.hand.put_down()
            self._run("Drawing a line", snapped_points, (), (tuple(points),))

    def join(self) -> None:
        """Join the chosen line with the one clicked next."""
        row = self._chosen()
        if row is not None:
            self._joining = row.number
            tool = PicksTool("Click the line to join it with.", least=1, most=1)
            self._foreman.hand.take(tool, self._take_join)

    def _take_join(self, how: str) -> None:
        tool, rows = self._foreman.hand.tool, line_rows(self.state)
        if not isinstance(tool, PicksTool) or not tool.picked:
            return
        place, one = tool.picked[0], self._joining
        self._foreman.hand.put_down()
        other = self._nearest(place, without=one)
        if other < 0 or not 0 <= one < len(rows):
            self.said.emit("There is no other line at that place.")
            return
        self._run("Joining two lines", joined_points, (rows[one], rows[other]), ())

    def extend(self) -> None:
        """Make the chosen line longer, towards the place clicked next."""
        if self._chosen() is not None:
            self._joining = self._foreman.desk.chosen[1]
            tool = PicksTool("Click where the line shall run to.", least=1, most=1)
            self._foreman.hand.take(tool, self._take_extend)

    def _take_extend(self, how: str) -> None:
        tool, rows = self._foreman.hand.tool, line_rows(self.state)
        if isinstance(tool, PicksTool) and tool.picked and 0 <= self._joining < len(rows):
            place = tool.picked[0]
            self._foreman.hand.put_down()
            row = rows[self._joining]
            self._run("Making a line longer", longer_points, (row,), (point3(place),))

    def _run(
        self,
        words: str,
        function: Callable[..., Any],
        rows: tuple[LineRow, ...],
        more: tuple[Any, ...],
    ) -> None:
        mesh = mm_mesh(self.state)
        if mesh is not None:
            lines = tuple(row.places for row in rows)
            errand = Errand(words, function, (mesh.mesh, mesh.mm_per_unit, *lines, *more))
            self._under_way = (errand, rows)
            self._bench.run_errand(errand)

    def _take_points(self, errand: Errand, points: tuple[Point3, ...]) -> None:
        if self._under_way is None or self._under_way[0] is not errand:
            return
        rows, self._under_way = self._under_way[1], None
        after = with_line_drawn(self.state, points, tuple(row.places for row in rows))
        self._let_go()
        self._edit(after, errand.words.lower())

    def _refuse(self, errand: Errand, error: Exception) -> None:
        if self._under_way is not None and self._under_way[0] is errand:
            self._under_way = None
            self.said.emit(sentence(error))

    def _forget(self, errand: Errand) -> None:
        if self._under_way is not None and self._under_way[0] is errand:
            self._under_way = None

    # ---- choosing

    def clicked(self, hit: Hit | None) -> None:
        """Choose the line that was clicked."""
        number = -1
        if hit is not None:
            number = self._nearest(hit.point, LINE_CATCH_PX * self._tank.pixel_size(hit.point))
        self._foreman.choose_row("line" if number >= 0 else "", number)

    def _nearest(self, place: Any, reach: float = np.inf, without: int = -1) -> int:
        far = [
            np.inf
            if row.number == without or len(row.points) < 2
            else float(np.linalg.norm(nearest_on_line(row.points, place) - place))
            for row in line_rows(self.state)
        ]
        return int(np.argmin(far)) if far and min(far) <= reach and min(far) < np.inf else -1

    def next_line(self) -> None:
        """Choose the next line."""
        rows = line_rows(self.state)
        if rows:
            kind, number = self._foreman.desk.chosen
            self._foreman.choose_row("line", (number + 1) % len(rows) if kind == "line" else 0)

    def reactions(self) -> dict[str, Callable[[], Any]]:
        """Return what answers each action of the table that is this setter's."""
        return {
            "draw_line": self.draw,
            "lock_line": self.lock,
            "reject_line": self.reject,
            "offer_line": self.offer_again,
            "join_line": self.join,
            "extend_line": self.extend,
            "lock_sure": self.lock_all_sure,
            "next_line": self.next_line,
        }
