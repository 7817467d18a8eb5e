"""The setters: for each step that sets the tank up, what is asked for becomes edits."""

from app.window.setters.setter import Setter
from app.window.setters.setters import Setters

__all__ = ["Setter", "Setters"]
