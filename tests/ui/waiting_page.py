"""A page whose work takes until a file is there: for the test of waiting and stopping."""

import sys
import time
from contextlib import suppress
from pathlib import Path

import streamlit as st

sys.path.insert(0, str(Path(__file__).parents[2] / "ui"))

from desk.hand.waiting import Stopped, wait_for


def _until_it_is_there(name: str) -> str:
    while not Path(name).exists():
        time.sleep(0.02)
    return Path(name).read_text(encoding="utf-8")


st.write("said:", st.text_input("Something else", key="else"))
with suppress(Stopped):
    st.write("answer:", wait_for("here", "Looking", _until_it_is_there, st.query_params["file"]))
