"""What many pages ask for at the same moment is made once, and what nobody asks for is let go."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor

import pytest

from lineproof.web.once import Once


def test_ten_that_ask_at_once_get_the_one_that_was_made() -> None:
    once = Once()
    asking = threading.Barrier(10)
    made: list[object] = []

    def make() -> object:
        # Whoever else came through by now would be making it too.
        event.wait(0.2)
        made.append(object())
        return made[-1]

    def ask() -> object:
        asking.wait()
        return once.made("book", make)

    event = threading.Event()
    with ThreadPoolExecutor(10) as pool:
        got = {id(each.result()) for each in [pool.submit(ask) for _ in range(10)]}
    assert len(made) == 1
    assert got == {id(made[0])}


def test_what_is_made_may_ask_for_other_things() -> None:
    once = Once()
    assert once.made("page", lambda: once.made("rows", lambda: 2) + 1) == 3


def test_one_that_takes_long_keeps_nobody_from_another() -> None:
    once = Once()
    go_on = threading.Event()
    with ThreadPoolExecutor(1) as pool:
        slow = pool.submit(once.made, "book", go_on.wait)
        assert once.made("page", lambda: "there") == "there"
        go_on.set()
        assert slow.result() is True


def test_what_could_not_be_made_is_tried_again() -> None:
    once = Once()

    def fail() -> str:
        raise ValueError("not now")

    with pytest.raises(ValueError, match="not now"):
        once.made("page", fail)
    assert once.made("page", lambda: "there") == "there"


def test_only_the_last_ones_asked_for_are_kept() -> None:
    once = Once()
    made: list[int] = []

    def ask(number: int) -> int:
        def make() -> int:
            made.append(number)
            return number

        return once.recent("broken", number, make, most=3)

    for number in (1, 2, 3, 1, 4):
        assert ask(number) == number
    # 2 was asked for the longest time ago.
    assert made == [1, 2, 3, 4]
    assert [ask(1), ask(3), ask(4), ask(2)] == [1, 3, 4, 2]
    assert made == [1, 2, 3, 4, 2]
    assert once.recent("books", 1, lambda: 9, most=3) == 9
