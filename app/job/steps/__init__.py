"""The one table of steps, and how each stands in a job."""

from app.job.steps.standing import all_made, line_of, needed, part_state, parts_of, state_of
from app.job.steps.table import (
    STEPS,
    PaperKind,
    directions_of,
    failure,
    judged_by,
    latest,
    made,
    panel_names,
    paper_kind,
    step,
    why_no_cut,
)
from app.job.steps.tasks import (
    Task,
    carried_through,
    next_tasks,
    task_for,
    with_failure,
    with_result,
)
from app.job.steps.ways_chosen import NoSuchPanelError, check_choices, idle_edges

__all__ = [
    "STEPS",
    "NoSuchPanelError",
    "PaperKind",
    "Task",
    "all_made",
    "carried_through",
    "check_choices",
    "directions_of",
    "failure",
    "idle_edges",
    "judged_by",
    "latest",
    "line_of",
    "made",
    "needed",
    "next_tasks",
    "panel_names",
    "paper_kind",
    "part_state",
    "parts_of",
    "state_of",
    "step",
    "task_for",
    "why_no_cut",
    "with_failure",
    "with_result",
]
