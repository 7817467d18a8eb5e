"""The job: what the shaper decided, what was made from it, and the file it is kept in. No Qt.

Its folders stand in the order their work flows: none imports one further down. What each lists
is offered here, and everybody else imports it from here.
"""

# ruff: noqa: F403
from app.job.answers import *
from app.job.breakups import *
from app.job.choices import *
from app.job.edits import *
from app.job.files import *
from app.job.making import *
from app.job.rest import *
from app.job.steps import *
