"""The pages in the order in which a cook works, and what they share.  Computes nothing."""

from __future__ import annotations

from pathlib import Path

import streamlit as st
from desk.hand import state
from desk.pictures.palette import root_style

_DESK = Path(__file__).parent / "desk"
_LOOK = (_DESK / "look.css").read_text(encoding="utf-8")
_KEYPAD = (_DESK / "keypad.js").read_text(encoding="utf-8")

st.set_page_config(
    page_title="formulate", page_icon="🍧", layout="wide", initial_sidebar_state="collapsed"
)
_PAGES = [
    st.Page("screens/came_in.py", title="What came in", url_path="came-in", default=True),
    st.Page("screens/mix.py", title="The mix", url_path="mix"),
    st.Page("screens/cold.py", title="Will it scoop?", url_path="cold"),
    st.Page("screens/sheet.py", title="The sheet", url_path="sheet"),
    st.Page("screens/notebook.py", title="The notebook", url_path="notebook"),
    st.Page("screens/known.py", title="How we know", url_path="how-we-know"),
]
_page = st.navigation(_PAGES, position="top")
st.html(f"<style>:root{{{root_style()}}}\n{_LOOK}</style>")
state.begin(_page.title)
with st.container(horizontal=True, gap="small", key="pages"):  # on a phone, in place of the bar
    for _each in _PAGES:
        st.page_link(_each)
_page.run()
st.html(f"<script>{_KEYPAD}</script>", unsafe_allow_javascript=True)
