"""The steps besides the panels, as the window shows them: a row each, its view and its picture."""

from app.window.rest.rest_step import RestPicture, RestStep, in_file
from app.window.rest.table import REST_STEPS, row_of

__all__ = ["REST_STEPS", "RestPicture", "RestStep", "in_file", "row_of"]
