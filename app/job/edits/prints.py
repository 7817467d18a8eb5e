"""What was printed and what would be now: a revision goes up only where paper would differ.

What reaches paper is told by a digest of the decisions, so that a job file alone says whether its
last print still holds; nothing has to be made for it.
"""

import json
from dataclasses import replace
from datetime import date
from hashlib import sha256
from typing import Any

from app.job.choices import JobState, Print
from app.job.files import decisions
from app.version import __version__

_NOT_ON_PATTERNS = ("schema", "card", "price", "revision", "revised", "prints", "breakups")
"""Decisions that change no pattern: a card is filled in while the patterns hang on the wall."""


def paper_digest(state: JobState) -> str:
    """Return a digest of everything decided that reaches a pattern.

    The program's version counts: another one may draw the same decisions otherwise.
    """
    return digest_of(decisions(state))


def digest_of(decided: dict[str, Any]) -> str:
    """Return the digest of a job's decisions as `decisions` gives them."""
    found = {name: value for name, value in decided.items() if name not in _NOT_ON_PATTERNS}
    if found.get("frame_scan") is None:  # what was printed before there was one still holds
        found.pop("frame_scan", None)
    notes = decided.get("seam_notes", [])
    found["seam_notes"] = [_edge_said(note) for note in notes if "allowance_mm" in note]
    found["version"] = __version__
    return sha256(json.dumps(found, sort_keys=True).encode()).hexdigest()[:16]


def _edge_said(note: dict[str, Any]) -> list[Any]:
    """Return of a note what reaches a pattern; advice and words do not."""
    return [note["seam"], note.get("edge"), note.get("allowance_mm")]


def with_print(state: JobState, dated: date) -> JobState:
    """Return the job as it goes to paper on a day; whatever lets pages out asks here first.

    Where nothing that reaches paper has changed since the last print it is the same job, revision
    and day. Otherwise its revision is one up, unless the maker put it up already, and the day is
    this one.
    """
    digest = paper_digest(state)
    last = state.prints[-1] if state.prints else None
    revision = state.revision
    if last is not None:
        if (last.digest, last.revision, last.dated) == (digest, revision, state.revised):
            return state
        revision = max(revision, last.revision + 1)
    printed = Print(revision, dated.isoformat(), digest)
    prints = (*state.prints, printed)
    return replace(state, revision=revision, revised=printed.dated, prints=prints)


def with_prints(state: JobState, prints: tuple[Print, ...]) -> JobState:
    """Return a job with prints on record, standing at the last of them; as it is without any."""
    if not prints:
        return state
    last = prints[-1]
    return replace(state, revision=last.revision, revised=last.dated, prints=prints)


def with_prints_of(state: JobState, other: JobState) -> JobState:
    """Return a job with what another, later one printed: no undo takes paper back.

    Its next print, where it differs from the last, gets a revision nobody has seen.
    """
    return replace(state, revision=other.revision, revised=other.revised, prints=other.prints)


def is_print_current(state: JobState, decided: dict[str, object] | None = None) -> bool:
    """Return whether the last print is what would be printed now.

    Parameters
    ----------
    state : JobState
    decided : dict or None
        Its decisions, as `read_decisions` gives them beside a job whose scan stays in its file.
    """
    if not state.prints:
        return False
    last = state.prints[-1]
    digest = paper_digest(state) if decided is None else digest_of(decided)
    return (last.digest, last.revision) == (digest, state.revision)


def superseded(state: JobState) -> tuple[Print, ...]:
    """Return the prints to be thrown away: all before the last."""
    return state.prints[:-1]
