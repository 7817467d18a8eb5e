"""Every change to a job, as a pure function from one `JobState` to the next."""

from dataclasses import replace
from types import MappingProxyType

from app.job.choices import (
    BlankChoice,
    Directions,
    JobState,
    MarkedFace,
    MetalChoice,
    PanelName,
    ScanFile,
    SeamLine,
    SizeChoice,
    on_renamed,
)
from geometry.blank import Work
from geometry.datum import Tape


def with_scan(state: JobState, scan: ScanFile, name: str | None = None) -> JobState:
    """Return the job with another scan: tapes, seams and names of the old one do not carry over.

    Its unit is the file's own word, where its kind of file says one.
    """
    return JobState(
        name=state.name if name is None else name,
        scan=scan,
        size=SizeChoice(scan.raw.unit),
        metal=state.metal,
        work=state.work,
        exact=state.exact,
        marked_face=state.marked_face,
        trim_mm=state.trim_mm,
        forming=state.forming,
        grain=state.grain,
        price=state.price,
        results=MappingProxyType({}),
    )


def with_name(state: JobState, name: str) -> JobState:
    """Return the job renamed."""
    return replace(state, name=name)


def with_size(state: JobState, size: SizeChoice) -> JobState:
    """Return the job with another unit, or other tapes."""
    return replace(state, size=size)


def with_tape(state: JobState, tape: Tape) -> JobState:
    """Return the job with one more tape."""
    return with_size(state, replace(state.size, tapes=(*state.size.tapes, tape)))


def without_tape(state: JobState, place: int) -> JobState:
    """Return the job without its tape number `place`, counted from 0."""
    tapes = state.size.tapes
    return with_size(state, replace(state.size, tapes=tapes[:place] + tapes[place + 1 :]))


def with_metal(state: JobState, metal: MetalChoice) -> JobState:
    """Return the job in another sheet, or with another face scanned."""
    return replace(state, metal=metal)


def with_directions(state: JobState, directions: Directions) -> JobState:
    """Return the job with FRONT and up said."""
    return replace(state, directions=directions)


def with_seams(state: JobState, seams: tuple[SeamLine, ...]) -> JobState:
    """Return the job with these seams and no others."""
    return replace(state, seams=seams)


def with_seam(state: JobState, seam: SeamLine) -> JobState:
    """Return the job with one more seam."""
    return replace(state, seams=(*state.seams, seam))


def with_seam_replaced(state: JobState, place: int, seam: SeamLine) -> JobState:
    """Return the job with seam number `place`, counted from 0, redrawn or renamed."""
    return replace(state, seams=(*state.seams[:place], seam, *state.seams[place + 1 :]))


def without_seam(state: JobState, place: int) -> JobState:
    """Return the job without seam number `place`, counted from 0.

    Its note goes with it; what was snapped to it, or was its mirror image, lies free from now on.
    """
    gone = state.seams[place].name
    left = state.seams[:place] + state.seams[place + 1 :]
    return replace(
        state,
        seams=tuple(_let_go(seam, gone) for seam in left),
        seam_notes=tuple(note for note in state.seam_notes if note.seam != gone),
    )


def _let_go(seam: SeamLine, gone: str) -> SeamLine:
    on = tuple(on_renamed(each, lambda name: "" if name == gone else name) for each in seam.on)
    twin = "" if seam.mirror_of == gone else seam.mirror_of
    return replace(seam, on=on if any(on) else (), mirror_of=twin)


def with_panel_names(state: JobState, names: tuple[PanelName, ...]) -> JobState:
    """Return the job with these panel names and no others."""
    return replace(state, panel_names=names)


def with_work(state: JobState, work: Work, *, exact: bool = False) -> JobState:
    """Return the job with every panel that has no choice of its own made another way."""
    return replace(state, work=work, exact=exact)


def with_blank_choice(state: JobState, panel: str, work: Work, *, exact: bool = False) -> JobState:
    """Return the job with a panel made another way; `exact` for numbers set by hand."""
    others = tuple(choice for choice in state.blank_choices if choice.panel != panel)
    return replace(state, blank_choices=(*others, BlankChoice(panel, work, exact)))


def with_marked_face(state: JobState, face: MarkedFace) -> JobState:
    """Return the job marked on another face."""
    return replace(state, marked_face=face)


def with_trim(state: JobState, trim_mm: float) -> JobState:
    """Return the job with the cut line farther out or closer in."""
    return replace(state, trim_mm=trim_mm)
