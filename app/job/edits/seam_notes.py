"""Changes to notes on seams and to kept break-ups, from one `JobState` to the next."""

from dataclasses import replace

from app.job.choices import BreakUp, JobState, SeamNote


class NoSuchBreakUpError(Exception):
    """A break-up is asked for that is not kept, or none where the seams do not stand by themselves.

    Attributes
    ----------
    name : str
        "" where none was named.
    names : tuple of str
        Those there are.
    """

    def __init__(self, name: str, names: tuple[str, ...]) -> None:
        self.name, self.names = name, names
        super().__init__(f"no break-up {name!r} among {', '.join(names) or 'none'}")


def note_of(state: JobState, seam: str) -> SeamNote:
    """Return what is said of a seam; an empty note where nothing is."""
    return next((note for note in state.seam_notes if note.seam == seam), SeamNote(seam))


def with_seam_note(state: JobState, note: SeamNote) -> JobState:
    """Return the job with a seam's note, in place of the one it had; one saying nothing goes."""
    rest = [each for each in state.seam_notes if each.seam != note.seam]
    at = (
        [each.seam for each in state.seam_notes].index(note.seam)
        if len(rest) < len(state.seam_notes)
        else len(rest)
    )
    said = [note] if note.says_something else []
    return replace(state, seam_notes=(*rest[:at], *said, *rest[at:]))


def with_advice_hushed(state: JobState, seam: str, kind: str) -> JobState:
    """Return the job with one kind of advice on a seam not told again."""
    note = note_of(state, seam)
    if kind in note.hushed:
        return state
    return with_seam_note(state, replace(note, hushed=(*note.hushed, kind)))


def with_advice_told(state: JobState, seam: str, kind: str) -> JobState:
    """Return the job with one kind of advice on a seam told again."""
    note = note_of(state, seam)
    return with_seam_note(
        state, replace(note, hushed=tuple(each for each in note.hushed if each != kind))
    )


def breakup_now(state: JobState, name: str) -> BreakUp:
    """Return the seams as they are now as a break-up of that name."""
    return BreakUp(name, state.seams, state.panel_names, state.seam_notes)


def breakup_shown(state: JobState) -> str:
    """Return the name of the kept break-up that the seams now are; "" where they are none."""
    return next((each.name for each in state.breakups if breakup_now(state, each.name) == each), "")


def with_breakup_kept(state: JobState, name: str) -> JobState:
    """Return the job with its seams of now kept under a name, in place of what had it."""
    kept = breakup_now(state, name)
    names = [each.name for each in state.breakups]
    if name not in names:
        return replace(state, breakups=(*state.breakups, kept))
    at = names.index(name)
    return replace(state, breakups=(*state.breakups[:at], kept, *state.breakups[at + 1 :]))


def with_breakups_added(state: JobState, added: tuple[BreakUp, ...]) -> JobState:
    """Return the job with more break-ups to choose among; the same names are replaced."""
    fresh = {each.name: each for each in added}
    kept = tuple(fresh.pop(each.name, each) for each in state.breakups)
    return replace(state, breakups=(*kept, *fresh.values()))


def with_breakup_taken(state: JobState, name: str) -> JobState:
    """Return the job split as a kept break-up says; the same job where there is none."""
    found = next((each for each in state.breakups if each.name == name), None)
    if found is None:
        return state
    return replace(state, seams=found.seams, panel_names=found.panel_names, seam_notes=found.notes)


def with_breakup_named(state: JobState, name: str | None) -> JobState:
    """Return the job split as a kept break-up says; None leaves its seams, if it has any.

    Raises
    ------
    NoSuchBreakUpError
    """
    names = tuple(each.name for each in state.breakups)
    if name is None:
        if not state.seams:
            raise NoSuchBreakUpError("", names)
        return state
    if name not in names:
        raise NoSuchBreakUpError(name, names)
    return with_breakup_taken(state, name)


def with_breakup_renamed(state: JobState, old: str, new: str) -> JobState:
    """Return the job with a kept break-up renamed; the same job where the new name is taken."""
    if any(each.name == new for each in state.breakups):
        return state
    return replace(
        state,
        breakups=tuple(
            replace(each, name=new) if each.name == old else each for each in state.breakups
        ),
    )


def without_breakup(state: JobState, name: str) -> JobState:
    """Return the job without a kept break-up; the seams of now stay."""
    return replace(state, breakups=tuple(each for each in state.breakups if each.name != name))
