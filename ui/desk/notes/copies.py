"""Keeping the notebook safe: all of it in one file, a second folder for copies, and bringing one back."""

from __future__ import annotations

import tempfile
from datetime import date as Date
from pathlib import Path

import streamlit as st

from desk.hand.notebook_file import change, say
from desk.pictures.plain import draw, heading, paragraphs, table, text
from formulate.notebook import (
    Backup,
    Notebook,
    back_up,
    backups_of,
    everything,
    examine,
    open_notebook,
    restore,
    second_folder,
    set_second_folder,
)
from formulate.report import copy_words, restored_text

__all__ = ["copies_view"]

_MOST_SHOWN = 30
_LARGEST_MB = 500


def copies_view(notebook: Notebook | None) -> None:
    """Save everything, name a folder for copies, list them, and bring one back."""
    left, right = st.columns(2, gap="large")
    with left:
        if notebook is not None:
            _save_view()
        _folder_view()
    with right:
        _restore_view()


def _save_view() -> None:
    draw(heading("Save everything", "The whole notebook in one file, to keep wherever you like."))
    st.download_button(
        "Save everything",
        _everything,
        file_name=f"notebook-{Date.today().isoformat()}.sqlite3",
        mime="application/vnd.sqlite3",
        key="book_save",
        type="primary",
        on_click="ignore",
    )


def _folder_view() -> None:
    known = second_folder()
    draw(
        heading(
            "Copies of every day",
            "One is made beside the notebook before the first change of a day, and everything is "
            "written there as plain files. Name a folder on a stick or a share for a second one: a "
            "disk that is lost takes all that lies on it along.",
        )
    )
    where = st.text_input(
        "Second folder for copies",
        "" if known is None else str(known),
        key="book_second",
        placeholder="none yet: a lost disk would be the end of it",
    )
    one, two = st.columns(2)
    one.button("Use this folder", key="book_second_set", on_click=_set_second, args=(where,))
    two.button("Copy now", key="book_copy_now", on_click=_copy_now)


def _restore_view() -> None:
    draw(heading("Bring a copy back", "What is there now is kept as a copy of its own."))
    found = backups_of()
    if found:
        rows = [[each.day.isoformat(), text(copy_words(each))] for each in found[:_MOST_SHOWN]]
        draw(table("Copies, the newest first", ["Day", "Made"], rows))
    chosen = st.selectbox(
        "Copy", found, index=None, format_func=_title, key="book_copy", placeholder="choose one"
    )
    file = st.file_uploader(
        "or a file that was saved", key="book_copy_file", max_upload_size=_LARGEST_MB
    )
    is_sure = st.checkbox("Put it in the place of the notebook as it is now", key="book_copy_sure")
    st.button(
        "Bring it back",
        key="book_restore",
        disabled=not is_sure or (chosen is None and file is None),
        on_click=_restore,
        args=(chosen.path if chosen is not None else None, file),
    )
    if not found and file is None:
        draw(paragraphs(["No copy is there yet."], "under"))


def _title(backup: Backup) -> str:
    return f"{backup.day.isoformat()}, {copy_words(backup)}"


def _everything() -> bytes:
    """All of it, read when it is asked for, which may be after this run."""
    with open_notebook(create=False) as notebook:
        return everything(notebook)


def _set_second(where: str) -> None:
    def work() -> str:
        set_second_folder(Path(where) if where.strip() else None)
        return "Copies go to that folder too." if where.strip() else "No second folder is used."

    say(work)


def _copy_now() -> None:
    def work(notebook: Notebook) -> str:
        return " ".join(f"Copied to {file}." for file in back_up(notebook))

    change(work)


def _restore(path: Path | None, file: object) -> None:
    def work() -> str:
        if path is not None:
            before = restore(path)
        else:
            with tempfile.NamedTemporaryFile(suffix=".sqlite3", delete=False) as saved:
                saved.write(file.getvalue())  # type: ignore[attr-defined]
            try:
                before = restore(Path(saved.name))
            finally:
                Path(saved.name).unlink()
        with open_notebook(create=False) as notebook:
            return restored_text(examine(notebook.path), before)

    say(work)
    st.session_state.book_copy_sure = False
