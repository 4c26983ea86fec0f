"""The simulated instrument: the invented car's recording over this machine's own network."""

from __future__ import annotations

from contextlib import AbstractContextManager

from dwellwright.demo.instrument import DESCRIPTION, simulated_instrument, simulated_lines


def simulated_description() -> str:
    """What the simulated instrument's lines mean, as TOML."""
    return DESCRIPTION


def simulated(side: str, speed: float, port: int) -> AbstractContextManager[str]:
    """The simulated instrument, answering while the block lasts; gives its address.

    Args:
        side: `as_found` or `as_left`.
        speed: times as fast as the car.
        port: to listen on.

    Raises:
        OSError: the port cannot be used.
    """
    return simulated_instrument(simulated_lines(side), speed, port)
