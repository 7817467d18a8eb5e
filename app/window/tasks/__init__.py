"""Work off the window's thread: the only place that knows threads and processes."""

from app.window.tasks.lanes import Tasks, WorkerLostError
from app.window.tasks.worker import Runnable

__all__ = ["Runnable", "Tasks", "WorkerLostError"]
