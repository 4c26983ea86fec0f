"""The closed loop in time: controller, sensor, delay, film."""


def warm_up() -> None:
    """Compile the kernels, or fetch them from their on-disk cache."""
    from dwellwright.loop.batch import warm_up as compiled

    compiled()
