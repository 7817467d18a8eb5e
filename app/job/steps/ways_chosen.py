"""Ways and allowances chosen for panels, held against the panels that were cut."""

from app.job.choices import EdgeChoice, JobState
from app.job.steps.table import made, panel_names
from geometry.pattern import edge_key


class NoSuchPanelError(Exception):
    """A way to make a panel was given for a name no panel has.

    Attributes
    ----------
    panel : str
    names : tuple of str
        Those there are.
    """

    def __init__(self, panel: str, names: tuple[str, ...]) -> None:
        self.panel, self.names = panel, names
        super().__init__(f"no panel {panel!r} among {names}")


def check_choices(state: JobState) -> None:
    """Refuse a way to make a panel, or an allowance for one, that is not among those cut.

    Raises
    ------
    NoSuchPanelError
    """
    names = panel_names(state)
    for panel in (*(c.panel for c in state.blank_choices), *(e.panel for e in state.edges)):
        if panel not in names:
            raise NoSuchPanelError(panel, names)


def idle_edges(state: JobState) -> tuple[EdgeChoice, ...]:
    """Return allowances that count for nothing: no panel that is cut has such an edge.

    They stay in the job, as a seam may be moved back, and have to be told. Of panels without a
    pattern nothing is known.
    """
    names = panel_names(state)
    if not names:
        return ()
    patterns = {edge.panel: made(state, "Paper", edge.panel) for edge in state.edges}
    return tuple(
        edge
        for edge in state.edges
        if edge.panel not in names
        or (
            patterns[edge.panel] is not None
            and edge.edge not in {edge_key(each) for each in patterns[edge.panel].edges}
        )
    )
