"""A run as in a jam."""

from coach.arranging.arrangement import Arrangement


def jam_run(solo: Arrangement, turns: int = 1) -> Arrangement:
    """A solo as it goes in a jam."""
    raise NotImplementedError
