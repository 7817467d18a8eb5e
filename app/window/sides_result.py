"""What the Sides step makes, as this window reads it."""

from typing import Any

Sides = Any
