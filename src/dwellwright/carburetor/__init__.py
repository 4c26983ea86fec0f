"""Geometry and adjustable points to fuel and air at an operating point."""


def warm_up() -> None:
    """Compile this part's kernels, or load them."""
    from dwellwright.carburetor.steady import warm_up as steady_warm_up

    steady_warm_up()
