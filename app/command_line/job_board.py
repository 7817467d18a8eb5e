"""`lowcrown board`: the job files of a folder, as the window's board shows them."""

from app.command_line.doing import Doing
from app.delivery import SCHEMA, Json
from app.job import BoardRow, board
from app.messages import sentence_for
from app.units import counted


def board_of(doing: Doing) -> Json:
    """Tell every job file of a folder: next step, latest revision, prints to throw away."""
    rows = board(doing.asked.folder)
    doing.tell(f"{counted(len(rows), 'job')} in {doing.asked.folder}")
    for row in rows:
        model = f" ({row.model})" if row.model else ""
        doing.tell(f"  {row.path.name}: {row.name}{model}")
        if row.trouble is not None:
            doing.tell(f"    cannot be read: {_trouble(row.trouble)}")
            continue
        doing.tell(f"    next: {row.next_step}")
        doing.tell(f"    prints: {row.print_words}")
    return {"schema": SCHEMA, "jobs": [_row_json(row) for row in rows]}


def _trouble(error: Exception) -> str:
    return sentence_for(error) or str(error)


def _row_json(row: BoardRow) -> Json:
    return {
        "file": row.path.name,
        "name": row.name,
        "model": row.model or None,
        "next_step": row.next_step or None,
        "latest": None if row.latest is None else vars(row.latest),
        "superseded": [vars(each) for each in row.superseded],
        "has_changed": row.has_changed,
        "trouble": None if row.trouble is None else _trouble(row.trouble),
    }
