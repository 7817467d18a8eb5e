"""The root of every error the shaper can act on; its kinds live in the folders that raise them."""


class GeometryError(Exception):
    """Something in the input that the shaper can mend; subclasses carry where and how much."""
