"""`SeamsSetter`: seams drawn and changed by points dragged, put in, taken out; and mirrored."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
from PySide6.QtCore import QTimer

from app.job import (
    JobState,
    SeamLine,
    Surface,
    made,
    seam_it_is_on,
    with_seam,
    with_seam_replaced,
)
from app.window.bench import Bench, Errand
from app.window.document import Document
from app.window.foreman import Foreman
from app.window.ground_keeper import GroundKeeper, datum_now
from app.window.hands import nearest_on_line
from app.window.picture import Pictures
from app.window.scene import Hit, TankView
from app.window.seam_courses import SeamCourses, course_of
from app.window.seam_ground import Ground, outside_of
from app.window.seam_hand import (
    SEAM_POINT,
    MovePointTool,
    SeamTool,
    all_on,
    with_point_inserted,
    without_point,
)
from app.window.seam_links import NoImageError, image_of, with_seam_changed
from app.window.seam_snaps import Snaps, moving_lines, twin_of
from app.window.seam_work import Reworked, faired_seam, runs_along, slid_seam, stood_off_seam
from app.window.setters.setter import NOTHING_CHOSEN, Setter
from app.window.words import sentence
from geometry.arrays import FloatArray
from geometry.seams import SnapLine

GRIP_PX = 10.0
"""How near a press must be to a point of the chosen seam to take it along."""

LINE_PX = 9.0
"""How near a click must be to a seam to choose it, or to put a point into the chosen one."""

TRIAL_MS = 150
"""How often it is told, while a point is dragged, what the seams would be."""

FAR_BESIDE_MM = 0.5
"""A line on the scan farther than this from the line that is cut is told."""

_NOT_READY = "The surface is being made ready to draw on. This takes a moment."


class SeamsSetter(Setter):
    """Decides about seams."""

    step = "Seams"

    def __init__(
        self, document: Document, foreman: Foreman, tank: TankView, bench: Bench,
        pictures: Pictures,
    ) -> None:  # fmt: skip
        super().__init__(document, foreman, tank)
        self._bench, self._pictures = bench, pictures
        self.keeper = GroundKeeper(document, bench, self)
        self.courses = SeamCourses(document, bench, self.keeper, self)
        pictures.courses = self.courses
        self._under_way: tuple[Errand, SeamLine, str] | None = None
        self._pencil_wanted = False
        self._trial: SeamLine | None = None
        self._trial_soon = QTimer(self)
        self._trial_soon.setSingleShot(True)
        self._trial_soon.setInterval(TRIAL_MS)
        self._trial_soon.timeout.connect(self._show_trial)
        self._connect(document, foreman, tank, bench)

    def _connect(self, document: Document, foreman: Foreman, tank: TankView, bench: Bench) -> None:
        document.changed.connect(self._want_ground)
        foreman.changed.connect(self._want_ground)
        foreman.clicks_first.append(self._take_click)
        foreman.hand.changed.connect(self._hand_changed)
        tank.grip = self._grip
        tank.hovered.connect(self._hover)
        self.keeper.ready.connect(self._ground_ready)
        self.keeper.said.connect(self.said)
        self.courses.changed.connect(foreman.changed)
        bench.errand_done.connect(self._take_reworked)
        bench.errand_failed.connect(self._refuse)
        bench.errand_stopped.connect(self._forget)

    # ---- the ground

    def _want_ground(self) -> None:
        if self._foreman.step == self.step or self._pencil_wanted:
            self.keeper.want(self._foreman.desk.show)
        self._tell_beside()

    def _tell_beside(self) -> None:
        """Say how far the chosen seam lies on the scan from the line that is cut, where it is far.

        It gives way to what came of a command.
        """
        seam, desk = self._seam(), self._foreman.desk
        if seam is None or desk.seam_words or desk.tool or self._foreman.step != self.step:
            return
        beside = self.courses.beside_mm(seam)
        if beside > FAR_BESIDE_MM:
            self._foreman.say_of_seam(
                f"On the scan itself {seam.name} lies up to {beside:.1f} mm beside the line that "
                "is cut on the smooth surface."
            )

    def _ground_ready(self) -> None:
        if self._pencil_wanted and self.keeper.is_ready(self._foreman.desk.show):
            self.draw()
        tool = self._foreman.hand.tool
        if isinstance(tool, SeamTool):
            tool.snaps = self._snaps(tool.ground)
        self._foreman.changed.emit()

    def _snaps(self, ground: Ground, without: tuple[str, ...] = ()) -> Snaps:
        """Return what points catch on now."""
        desk = self._foreman.desk
        lines = self._pictures.seam_lines(self.state)
        moving = moving_lines(self.state, lines, ground, datum_now(self.state), without=without)
        return Snaps((*self.keeper.lines(desk.show), *moving), ground.mm_per_unit, desk.snap)

    def set_snap(self, snap: Any) -> None:
        """Let points catch more strongly, more weakly, or on nothing."""
        self._foreman.set_snap(snap)
        tool = self._foreman.hand.tool
        if isinstance(tool, SeamTool | MovePointTool):
            tool.snaps.choice = snap
        self.said.emit(f"A point of a seam {snap.words()} now.")

    def switch_snap(self) -> None:
        """Catch on nothing, or on lines again."""
        snap = self._foreman.desk.snap
        self.set_snap(replace(snap, is_on=not snap.is_on))

    def next_strength(self) -> None:
        """Catch from farther, or from nearer by."""
        self.set_snap(self._foreman.desk.snap.next_strength())

    # ---- drawing

    def draw(self) -> None:
        """Take the pencil into the hand."""
        if not self._to_step() or made(self.state, "Surface") is None:
            return
        ground = self.keeper.ground()
        self._pencil_wanted = not self.keeper.is_ready(self._foreman.desk.show)
        if ground is None or self._pencil_wanted:
            self.keeper.want(self._foreman.desk.show, again=True)
            self.said.emit(_NOT_READY)
            return
        self._foreman.desk = replace(
            self._foreman.desk, seam=-1, panel="", chosen=NOTHING_CHOSEN, seam_words=""
        )
        self._foreman.hand.take(SeamTool(ground, self._snaps(ground)), self._take_drawn)

    def _take_drawn(self, how: str) -> None:
        tool, state = self._foreman.hand.tool, self.state
        if not isinstance(tool, SeamTool) or len(tool.placed) < (3 if how == "close" else 2):
            return
        seam = tool.seam(_new_name(state), closed=how == "close")
        self._foreman.hand.put_down()
        self._foreman.desk = replace(self._foreman.desk, seam=len(state.seams))
        self._edit(with_seam(state, seam), "seam")

    # ---- choosing

    def _seam(self) -> SeamLine | None:
        at = self._foreman.desk.seam
        return self.state.seams[at] if 0 <= at < len(self.state.seams) else None

    def _point(self) -> int:
        kind, number = self._foreman.desk.chosen
        return number if kind == SEAM_POINT else -1

    def next_seam(self) -> None:
        """Choose the next seam."""
        if self._to_step() and self.state.seams:
            self._foreman.choose_seam((self._foreman.desk.seam + 1) % len(self.state.seams))

    def next_point(self) -> None:
        """Choose the next point of the chosen seam."""
        self._step_point(1)

    def previous_point(self) -> None:
        """Choose the point before."""
        self._step_point(-1)

    def _step_point(self, by: int) -> None:
        seam = self._seam()
        if seam is not None:
            at, count = self._point(), len(seam.points)
            new = (at + by) % count if at >= 0 else 0 if by > 0 else count - 1
            self._foreman.choose_row(SEAM_POINT, new)

    def _take_click(self, hit: Hit | None) -> bool:
        """Choose a point or a seam that is clicked, or put a point into the chosen seam."""
        if self._foreman.step != self.step or hit is None:
            return False
        seam, at = self._seam(), self._grip_at(*self._tank.pointer)
        if seam is not None and at >= 0:
            self._foreman.choose_row(SEAM_POINT, at)
            return True
        number = self._seam_at(hit)
        if number < 0:
            return False
        if seam is not None and number == self._foreman.desk.seam:
            self._insert(seam, hit.point)
        else:
            self._foreman.choose_seam(number)
        return True

    def _seam_at(self, hit: Hit) -> int:
        """Return the number of the seam drawn under the pointer, the chosen one first; -1."""
        reach = LINE_PX * self._tank.pixel_size(hit.point)
        far = [
            float(np.linalg.norm(nearest_on_line(line, hit.point) - hit.point))
            if len(line) > 1 else np.inf
            for line in self._pictures.seam_lines(self.state)
        ]  # fmt: skip
        chosen = self._foreman.desk.seam
        if 0 <= chosen < len(far) and far[chosen] <= reach:
            return chosen
        return int(np.argmin(far)) if far and min(far) <= reach else -1

    def _grip_at(self, x: float, y: float) -> int:
        """Return the point of the chosen seam that is drawn at a place of the picture; -1."""
        seam = self._seam()
        if seam is None or self._foreman.step != self.step:
            return -1
        points = np.array(seam.points)
        drawn = np.array([self._tank.picture_point(point) for point in points])
        gaps = np.hypot(*(drawn - (x, y)).T)
        eye = points @ self._tank.eye_direction()
        near = np.flatnonzero(gaps <= GRIP_PX)
        hit = self._tank.hit_at(x, y) if len(near) else None
        if hit is None:
            return -1
        reach = 4.0 * GRIP_PX * self._tank.pixel_size(hit.point)
        seen = [at for at in near if eye[at] >= hit.point @ self._tank.eye_direction() - reach]
        return int(min(seen, key=lambda at: gaps[at])) if seen else -1

    def _hover(self, x: float, y: float) -> None:
        """Show by the pointer what a press would do."""
        kind, seam = "", self._seam()
        if seam is not None and self._foreman.step == self.step and not self._foreman.hand.held:
            hit = self._foreman.pointed_at
            if self._grip_at(x, y) >= 0:
                kind = "grip"
            elif hit is not None and self._seam_at(hit) == self._foreman.desk.seam:
                kind = "in"
        self._tank.show_gripping(kind)

    # ---- changing a point

    def _grip(self, x: float, y: float) -> bool:
        """Take the point pressed on along with the drag; say whether there is one."""
        if self._foreman.hand.tool is not None:
            return False
        at = self._grip_at(x, y)
        return at >= 0 and self._carry(at, is_dragged=True)

    def carry_point(self) -> None:
        """Let the chosen point follow the pointer until it is put down."""
        if self._point() >= 0 and not self._carry(self._point(), is_dragged=False):
            self.keeper.want(self._foreman.desk.show, again=True)
            self.said.emit(_NOT_READY)

    def _carry(self, at: int, *, is_dragged: bool) -> bool:
        seam, ground = self._seam(), self.keeper.ground()
        if seam is None or ground is None:
            return False
        twin = twin_of(self.state.seams, self._foreman.desk.seam)
        without = (seam.name, *((self.state.seams[twin].name,) if twin >= 0 else ()))
        tool = MovePointTool(
            seam, at, ground, self._snaps(ground, without), self._try, is_dragged=is_dragged
        )
        self._foreman.desk = replace(self._foreman.desk, chosen=(SEAM_POINT, at))
        self._foreman.hand.take(tool, self._take_moved)
        return True

    def _take_moved(self, how: str) -> None:
        tool = self._foreman.hand.tool
        if not isinstance(tool, MovePointTool):
            return
        moved, before = tool.moved(), tool.seam
        self.courses.draw_ahead(course_of(moved))  # begun before all else that follows
        self._foreman.hand.put_down()
        if moved != before and self._seam() == before:
            self._change(moved, "moving a point")

    def _try(self, seam: SeamLine) -> None:
        self._trial = seam
        if not self._trial_soon.isActive():
            self._trial_soon.start()

    def _show_trial(self) -> None:
        seam, ground = self._trial, self.keeper.ground()
        if seam is None or ground is None or self._seam() is None:
            return
        try:
            state = with_seam_changed(
                self.state, self._foreman.desk.seam, seam, ground, datum_now(self.state)
            )
        except NoImageError:
            return
        self._foreman.show_trial(state.seams)
        tool, twin = self._foreman.hand.tool, twin_of(state.seams, self._foreman.desk.seam)
        if isinstance(tool, MovePointTool) and twin >= 0:
            other = state.seams[twin]
            tool.beside = ground.quick(np.array(other.points), closed=other.closed)
            self._foreman.hand.show()

    def _hand_changed(self) -> None:
        """Let go of what was tried, draw ahead what is drawn, as the hand holds something else."""
        if not isinstance(self._foreman.hand.tool, MovePointTool):
            self._trial = None
            self._trial_soon.stop()
            self._foreman.show_trial(None)
        tool, ahead = self._foreman.hand.tool, None
        if isinstance(tool, SeamTool) and tool.can_end:
            ahead = course_of(tool.seam("", closed=False))
        self.courses.draw_ahead(ahead)

    def insert_point(self) -> None:
        """Put a point in, halfway from the chosen point to the next, or in the longest gap."""
        seam, at = self._seam(), self._point()
        if seam is None:
            return
        points = np.array((*seam.points, seam.points[0]) if seam.closed else seam.points)
        gaps = np.linalg.norm(np.diff(points, axis=0), axis=1)
        leg = at if 0 <= at < len(gaps) else int(gaps.argmax())
        self._insert(seam, (points[leg] + points[leg + 1]) / 2.0, leg)

    def _insert(self, seam: SeamLine, place: FloatArray, leg: int = -1) -> None:
        """Put a point into a leg of a seam: the place of its line nearest to a place."""
        ground = self.keeper.ground()
        if ground is None:
            return
        points = np.array((*seam.points, seam.points[0]) if seam.closed else seam.points)
        legs = [ground.quick(points[at : at + 2]) for at in range(len(points) - 1)]
        near = [
            nearest_on_line(line, place) if len(line) > 1 else np.full(3, np.inf) for line in legs
        ]
        if leg < 0:
            leg = int(np.argmin([np.linalg.norm(each - place) for each in near]))
        if not np.isfinite(near[leg]).all():
            return
        changed = with_point_inserted(seam, leg + 1, ground.nearest(near[leg]))
        self._foreman.desk = replace(self._foreman.desk, chosen=(SEAM_POINT, leg + 1))
        self._change(changed, "putting a point in")

    def delete(self, kind: str, number: int) -> None:
        """Take the chosen point out."""
        seam = self._seam()
        if kind != SEAM_POINT:  # something told of the seam is chosen: the seam itself is meant
            self._let_go()
            self._foreman.delete()
            return
        if seam is None:
            return
        changed = without_point(seam, number)
        if changed is None:
            least = "three points" if seam.closed else "two points"
            self._tell(f"{seam.name} needs {least}. To delete it whole, choose no point (Shift+N).")
            return
        self._let_go()
        self._change(changed, "taking a point out")

    def let_go_point(self) -> None:
        """Choose no point."""
        self._let_go()

    def _tell(self, words: str) -> None:
        """Say something of the chosen seam, below, and beside its commands until it is let go."""
        self._foreman.say_of_seam(words)
        self.said.emit(words)

    def _change(self, seam: SeamLine, name: str) -> None:
        """Change the chosen seam, and what hangs on it: one edit."""
        place, ground, datum = self._foreman.desk.seam, self.keeper.ground(), datum_now(self.state)
        if ground is None:
            return
        try:
            after = with_seam_changed(self.state, place, seam, ground, datum)
        except NoImageError as error:
            self._tell(f"{error.why} Unlink them first (Shift+U).")
            return
        self._foreman.desk = replace(self._foreman.desk, seam_words="")
        twin = twin_of(self.state.seams, place)
        self._edit(after, name)
        if twin >= 0 and datum is None:
            self._tell(
                f"{after.seams[twin].name} stayed where it was: there is no centre plane to mirror "
                "by. Find it in step 4."
            )

    # ---- the other hand

    def mirror(self) -> None:
        """Draw the chosen seam's mirror image on the other hand, linked to it."""
        seam, ground, datum = self._seam(), self.keeper.ground(), datum_now(self.state)
        if seam is None or ground is None:
            return
        if datum is None:
            self._tell("There is no centre plane to mirror by: find it in step 4.")
            return
        if twin_of(self.state.seams, self._foreman.desk.seam) >= 0:
            self._tell(f"{seam.name} has its mirror image already: both move together.")
            return
        try:
            image = image_of(self.state, seam, _image_name(self.state, seam.name), ground, datum)
        except NoImageError as error:
            self._tell(error.why)
            return
        image = replace(image, mirror_of=seam.name)
        self._edit(with_seam(self.state, image), "mirroring a seam")
        self._tell(f"{image.name} moves with {seam.name} until they are unlinked (Shift+U).")

    def unlink(self) -> None:
        """Let the chosen seam and its mirror image be changed each by itself."""
        place = self._foreman.desk.seam
        twin = twin_of(self.state.seams, place) if self._seam() is not None else -1
        if twin < 0:
            self._tell("This seam moves with no other.")
            return
        after = self.state
        for at in (place, twin):
            after = with_seam_replaced(after, at, replace(after.seams[at], mirror_of=""))
        self._edit(after, "unlinking seams")

    # ---- worked in the worker

    def fair(self) -> None:
        """Make the chosen seam fair."""
        amounts = self._foreman.desk.amounts
        self._run("Making the seam fair", "making a seam fair", faired_seam, amounts.fair_mm)

    def slide(self) -> None:
        """Slide the chosen seam to where there is least shape."""
        seam, ground = self._seam(), self.keeper.ground()
        if seam is None or ground is None:
            return
        rails = (self._rail(seam, 0, ground), self._rail(seam, -1, ground))
        mm = self._foreman.desk.amounts.slide_mm
        self._run("Sliding the seam to least shape", "sliding a seam", slid_seam, mm, rails)

    def _rail(self, seam: SeamLine, end: int, ground: Ground) -> FloatArray | None:
        """Return what an end slides along, mm: the rim or the seam it is on; None holds it."""
        on, scale = all_on(seam)[end], ground.mm_per_unit
        point = np.array(seam.points[end]) * scale
        found: list[FloatArray] = []
        if on == "rim":
            found = [line.points for line in self._standing() if line.kind == "rim"]
        elif on == "centre plane":
            found = [line.points for line in self._standing() if line.kind == "centre plane"]
        elif seam_it_is_on(on):
            lines = self._pictures.seam_lines(self.state)
            named = zip(self.state.seams, lines, strict=True)
            found = [line * scale for other, line in named if other.name == seam_it_is_on(on)]
        found = [line for line in found if len(line) > 1]
        gaps = [float(np.linalg.norm(nearest_on_line(line, point) - point)) for line in found]
        return found[int(np.argmin(gaps))] if gaps else None

    def _standing(self) -> tuple[SnapLine, ...]:
        return self.keeper.lines(self._foreman.desk.show)

    def stand_off(self) -> None:
        """Let the chosen seam stand off the locked line it runs along."""
        self._stand_off(other_side=False)

    def stand_off_other_side(self) -> None:
        """Let it stand off on the other side of the line."""
        self._stand_off(other_side=True)

    def _stand_off(self, *, other_side: bool) -> None:
        seam, ground = self._seam(), self.keeper.ground()
        if seam is None or ground is None:
            return
        line = self._line_beside(seam, ground)
        if line is None:
            self._tell(
                f"No locked line runs along {seam.name}: lock one in step 6, or draw the seam "
                "within 30 mm of it."
            )
            return
        mm = self._foreman.desk.amounts.off_mm
        self._run(
            "Standing the seam off", "standing a seam off", stood_off_seam, line, (mm, other_side)
        )

    def _line_beside(self, seam: SeamLine, ground: Ground) -> FloatArray | None:
        """Return the locked line a seam runs along, file coordinates; None where there is none."""
        scale, points = ground.mm_per_unit, np.array(seam.points)
        found = [np.array(line.points) for line in self.state.lines if line.state == "locked"]
        found = [line for line in found if runs_along(points * scale, line * scale)]
        far = [
            float(np.median([np.linalg.norm(nearest_on_line(line, p) - p) for p in points]))
            for line in found
        ]
        return found[int(np.argmin(far))] if far else None

    def _run(self, doing: str, name: str, function: Callable[..., Any], *more: Any) -> None:
        seam, ground = self._seam(), self.keeper.ground()
        surface: Surface | None = made(self.state, "Surface")
        if seam is None or ground is None or surface is None:
            return
        errand = Errand(doing, function, (outside_of(surface), ground.mm_per_unit, seam, *more))
        self._under_way = (errand, seam, name)
        self._bench.run_errand(errand)

    def _take_reworked(self, errand: Errand, found: Reworked) -> None:
        if self._under_way is None or self._under_way[0] is not errand:
            return
        (_, seam, name), self._under_way = self._under_way, None
        if seam not in self.state.seams:
            self._tell(f"{seam.name} was changed meanwhile: it stays as it is.")
            return
        if found.seam != seam:
            self._foreman.desk = replace(
                self._foreman.desk, seam=self.state.seams.index(seam), chosen=NOTHING_CHOSEN
            )
            self._change(found.seam, name)
        self._tell(found.words)

    def _refuse(self, errand: Errand, error: Exception) -> None:
        if self._under_way is not None and self._under_way[0] is errand:
            self._under_way = None
            self._tell(sentence(error))

    def _forget(self, errand: Errand) -> None:
        if self._under_way is not None and self._under_way[0] is errand:
            self._under_way = None

    def reactions(self) -> dict[str, Callable[[], Any]]:
        """Return what answers each action of the table that is this setter's."""
        return {
            "draw_seam": self.draw,
            "next_seam": self.next_seam,
            "next_point": self.next_point,
            "previous_point": self.previous_point,
            "insert_point": self.insert_point,
            "carry_point": self.carry_point,
            "let_go_point": self.let_go_point,
            "snap": self.switch_snap,
            "snap_strength": self.next_strength,
            "fair_seam": self.fair,
            "slide_seam": self.slide,
            "mirror_seam": self.mirror,
            "unlink_seam": self.unlink,
            "stand_off": self.stand_off,
            "stand_off_other": self.stand_off_other_side,
        }


def _new_name(state: JobState) -> str:
    taken = {seam.name for seam in state.seams}
    return next(f"seam {n}" for n in range(1, 1000) if f"seam {n}" not in taken)


def _image_name(state: JobState, name: str) -> str:
    taken = {seam.name for seam in state.seams}
    plain = f"{name} other hand"
    return next(
        each for each in (plain, *(f"{plain} {n}" for n in range(2, 1000))) if each not in taken
    )
