"""Pictures are drawn once, and only so many are kept."""

from markupsafe import Markup

from dwellwright.web.remembered import MOST, Pictures


def test_a_picture_is_drawn_once_and_the_oldest_goes_first() -> None:
    drawn: list[int] = []

    def draw(number: int) -> Markup:
        drawn.append(number)
        return Markup(number)

    pictures = Pictures()
    assert pictures.get("a", lambda: draw(1)) == pictures.get("a", lambda: draw(2)) == "1"
    assert drawn == [1]
    for number in range(MOST):
        pictures.get(number, lambda number=number: draw(number))
    pictures.get("a", lambda: draw(3))
    assert drawn[-1] == 3
