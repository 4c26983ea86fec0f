"""What was worked out once is remembered, only so much of it, and by one of several that ask at once."""

from threading import Barrier, Thread
from time import sleep

import pytest

from dwellwright.web.remembered import Remembered


def test_it_is_worked_out_once_and_the_oldest_goes_first() -> None:
    done: list[int] = []

    def work(number: int) -> str:
        done.append(number)
        return str(number)

    kept: Remembered[str] = Remembered(most=5)
    assert kept.get("a", lambda: work(1)) == kept.get("a", lambda: work(2)) == "1"
    assert done == [1]
    for number in range(5):
        kept.get(number, lambda number=number: work(number))
    assert kept.get("a", lambda: work(3)) == "3"


def test_several_at_once_wait_for_the_first() -> None:
    done, found = [], []
    kept: Remembered[int] = Remembered()
    start = Barrier(6)

    def work() -> int:
        sleep(0.05)
        done.append(1)
        return 7

    def ask() -> None:
        start.wait()
        found.append(kept.get("k", work))

    threads = [Thread(target=ask) for _ in range(6)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert found == [7] * 6
    assert done == [1]


def test_what_failed_is_tried_again() -> None:
    kept: Remembered[int] = Remembered()
    with pytest.raises(ZeroDivisionError, match="division"):
        kept.get("k", lambda: 1 // 0)
    assert kept.get("k", lambda: 2) == 2
