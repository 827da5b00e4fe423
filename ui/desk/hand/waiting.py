"""Work that may take long: the page says so while it waits, and a press stops the waiting.

The work goes on in a thread while the page looks after it, so that any other entry is taken at once.
What was stopped ends by itself (the engine's searches are bounded) and is there if asked for again.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import dataclass
from functools import cache
from typing import Any, TypeVar

import streamlit as st

from desk.pictures.plain import draw, paragraphs

__all__ = ["Stopped", "wait_for"]

T = TypeVar("T")

_AT_ONCE_S = 0.3  # shorter than this, nothing is said
_LOOK_S = 0.2


class Stopped(Exception):
    """The cook does not want to wait; the page has said so."""


@dataclass(frozen=True, slots=True)
class _Job:
    asked: tuple[object, ...]
    future: Future[Any]


def wait_for(place: str, words: str, work: Callable[..., T], *asked: object) -> T:
    """Return ``work(*asked)``; say ``words`` and offer to stop while it takes its time.

    Parameters
    ----------
    place:
        Where on the page this is: another question at the same place takes the place of the first.

    Raises
    ------
    Stopped
        If the cook stopped it.
    """
    job = _job(place, work, asked)
    stopped = st.session_state.get(f"stopped_{place}") == asked
    wait([job.future], 0.0 if stopped else _AT_ONCE_S)
    if not job.future.done():
        room = st.empty()
        with room.container():
            if stopped:
                draw(paragraphs([f"{words}: stopped."], "under"))
                st.button("Look again", key=f"again_{place}", on_click=_want, args=(place, None))
                raise Stopped
            _look_after(place, words, job)
        room.empty()
    found: T = job.future.result()
    return found


def _job(place: str, work: Callable[..., T], asked: tuple[object, ...]) -> _Job:
    """The work that is going on there already, or a new one."""
    job: _Job | None = st.session_state.get(f"job_{place}")
    if job is None or job.asked != asked:
        if job is not None:
            job.future.cancel()
        job = _Job(asked, _threads().submit(work, *asked))
        st.session_state[f"job_{place}"] = job
    return job


def _look_after(place: str, words: str, job: _Job) -> None:
    line = st.empty()
    st.button("Stop waiting", key=f"stop_{place}", on_click=_want, args=(place, job.asked))
    start = time.monotonic()
    while not job.future.done():
        line.html(paragraphs([f"{words}: {time.monotonic() - start + _AT_ONCE_S:.0f} s so far."]))
        wait([job.future], _LOOK_S)


def _want(place: str, stopped: tuple[object, ...] | None) -> None:
    st.session_state[f"stopped_{place}"] = stopped


@cache
def _threads() -> ThreadPoolExecutor:
    return ThreadPoolExecutor(4, "waiting")
