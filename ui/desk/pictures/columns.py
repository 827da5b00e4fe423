"""Large columns that stand below each other where the page is narrow: a tablet held upright."""

from __future__ import annotations

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

__all__ = ["beside"]


def beside(name: str, *shares: float) -> list[DeltaGenerator]:
    """Return columns of these shares; ``name`` is their key, by which ``look.css`` stacks them."""
    with st.container(key=f"beside_{name}"):
        return list(st.columns(shares, gap="medium" if len(set(shares)) == 1 else "large"))
