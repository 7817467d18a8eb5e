"""Work off the window's thread: the only place that knows threads and processes."""

from app.window.tasks.lanes import LANES, LaneName, Tasks, WorkerLostError
from app.window.tasks.lent import Lent
from app.window.tasks.worker import Runnable

__all__ = ["LANES", "LaneName", "Lent", "Runnable", "Tasks", "WorkerLostError"]
