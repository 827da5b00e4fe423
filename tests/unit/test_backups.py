"""Copies of the notebook: when they are made, which stay, and that they bring everything back."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from datetime import date, timedelta

import pytest

from formulate.cli.commands import main
from formulate.data import example_bytes
from formulate.errors import InputError
from formulate.ingredients import Lot
from formulate.notebook import (
    BACKUPS_VARIABLE,
    Verdict,
    back_up,
    backups,
    backups_of,
    batches,
    delivered,
    everything,
    export_notebook,
    history,
    import_notebook,
    keep,
    lots,
    made,
    open_notebook,
    restore,
    search,
    second_folder,
    set_second_folder,
    verdict,
)
from formulate.notebook.backups import kept_days
from formulate.recipes import parse

SORBET = parse(example_bytes("damson_sorbet"), "damson_sorbet")


@pytest.fixture
def path(tmp_path):
    (tmp_path / "disk").mkdir()
    (tmp_path / "stick").mkdir()
    return tmp_path / "disk" / "notebook.sqlite3"


@pytest.fixture
def stick(tmp_path):
    return tmp_path / "stick"


def filled(path):
    with open_notebook(path) as notebook:
        keep(notebook, SORBET, cook="Ada")
        lot = delivered(notebook, Lot("damson", date=date(2026, 11, 24), grams=6000.0))
        made(notebook, SORBET.name, {"damson": 1000.0}, lots_used={"damson": lot.number})
        verdict(notebook, 1, Verdict(-12.0, 0))


def said(path):
    """Everything that can be read."""
    with open_notebook(path, create=False) as notebook:
        assert notebook.remarks == []
        names = [found.newest.name for found in search(notebook)]
        return [history(notebook, name) for name in names], batches(notebook), lots(notebook)


def on(monkeypatch, day):
    """Let the copies believe that it is another day."""

    class Day(date):
        @classmethod
        def today(cls):
            return day

    monkeypatch.setattr(backups, "Date", Day)


def test_which_days_stay_over_two_years_of_service():
    """A copy a day, thinned out each day: 7 days, 4 weeks' ends and 12 months' ends stay."""
    there = frozenset()
    first = date(2025, 1, 1)
    for count in range(730):
        today = first + timedelta(days=count)
        there = kept_days({*there, today}, today)
    assert today == date(2026, 12, 31)  # a Thursday
    days = {today - timedelta(days=back) for back in range(7)}
    sundays = {date(2026, 12, 27), date(2026, 12, 20), date(2026, 12, 13)}
    ends = {date(2026, month, 1) - timedelta(days=1) for month in range(2, 13)} | {today}
    assert there == days | sundays | ends


def test_a_kitchen_that_was_closed_loses_no_copy():
    days = {date(2024, 5, 1), date(2025, 6, 1), date(2026, 7, 1), date(2026, 11, 1)}
    assert kept_days(days, date(2026, 11, 28)) == days
    assert kept_days({date(2099, 1, 1)}, date(2026, 11, 28)) == {date(2099, 1, 1)}  # a wrong clock


def test_a_copy_is_made_before_the_first_change_of_a_day(path, monkeypatch):
    filled(path)
    one = said(path)
    assert [copy.why for copy in backups_of(path)] == [
        ""
    ]  # before the second change of the first day
    on(monkeypatch, date(2026, 11, 29))
    for _ in range(2):
        with open_notebook(path) as notebook:
            made(notebook, SORBET.name, {})
    (copy, _) = backups_of(path)
    assert (copy.day, copy.why) == (date(2026, 11, 29), "")
    assert len(said(path)[1]) == 3
    assert restore("2026-11-29", path).why == "replaced"
    assert said(path) == one
    assert not list(path.parent.rglob("*part*"))


def test_copies_of_days_are_thinned_out_in_both_folders(path, stick, monkeypatch):
    filled(path)
    set_second_folder(stick, path)
    assert second_folder(path) == stick
    for count in range(1, 15):
        on(monkeypatch, date(2026, 11, count))
        with open_notebook(path) as notebook:
            made(notebook, SORBET.name, {})
            assert notebook.remarks == []
    wanted = [date(2026, 11, day) for day in (14, 13, 12, 11, 10, 9, 8, 1)]
    assert [copy.day for copy in backups_of(folder=stick)] == wanted
    exports = sorted(folder.name[-10:] for folder in path.parent.glob("*-copies/*-export-*"))
    assert exports == [f"2026-11-{day:02}" for day in range(8, 15)]


def test_a_lost_disk_is_brought_back_from_a_stick(path, stick, monkeypatch):
    filled(path)
    monkeypatch.setenv(BACKUPS_VARIABLE, str(stick))
    on(monkeypatch, date(2026, 11, 29))
    before = said(path)
    with open_notebook(path) as notebook:
        keep(notebook, SORBET, onto=1)  # nothing new, and yet the first change of the day
    shutil.rmtree(path.parent)
    monkeypatch.delenv(BACKUPS_VARIABLE)
    path.parent.mkdir()
    assert restore(stick, path) is None
    assert said(path) == before
    assert second_folder(path) == stick  # copies go there again
    with open_notebook(path) as notebook:
        made(notebook, SORBET.name, {})
        assert len(batches(notebook)) == 2


def test_a_log_that_was_left_is_not_taken_into_a_copy(path, stick):
    """The log of the lost file lies there yet: its pages must not come into what is brought back."""
    filled(path)
    with open_notebook(path) as notebook:
        (copy,) = back_up(notebook, stick)
        made(notebook, SORBET.name, {})
        log = path.with_name(f"{path.name}-wal").read_bytes()
        assert log
    before = said(path)
    path.unlink()
    path.with_name(f"{path.name}-wal").write_bytes(log)
    restore(copy, path)
    assert len(said(path)[1]) == len(before[1]) - 1
    (aside,) = path.parent.glob("*damaged*-wal")
    assert aside.read_bytes() == log


def test_a_damaged_notebook_is_moved_aside_and_its_copy_comes_back(path, stick):
    filled(path)
    before = said(path)
    with open_notebook(path) as notebook:
        (copy,) = back_up(notebook, stick)
    spoilt = path.read_bytes().replace(b"grams = 300.0", b"grams = 301.0")
    path.write_bytes(spoilt)
    with pytest.raises(InputError, match="formulate notebook restore"):
        open_notebook(path)
    assert restore(copy, path) is None
    assert said(path) == before
    (aside,) = path.parent.glob("*damaged*")
    assert aside.read_bytes() == spoilt


def test_what_is_no_sound_copy_is_refused_and_nothing_is_changed(path, stick, tmp_path):
    filled(path)
    with open_notebook(path) as notebook:
        (copy,) = back_up(notebook, stick)
    before = path.read_bytes()
    damaged = stick / "damaged.sqlite3"
    damaged.write_bytes(copy.read_bytes().replace(b"grams = 300.0", b"grams = 301.0"))
    other = stick / "other.sqlite3"
    with closing(sqlite3.connect(other)) as db:
        db.execute("CREATE TABLE songs (title TEXT)")
    (tmp_path / "empty").mkdir()
    for source, words in (
        (damaged, "is damaged"),
        (other, "of another program"),
        (tmp_path / "empty", "no copy"),
        ("2020-01-01", "no copy"),
        (path, "is the notebook itself"),
        ("a\0b", "not a file name"),
    ):
        with pytest.raises(InputError, match=words) as error:
            restore(source, path)
        assert "\n" not in str(error.value)
        assert path.read_bytes() == before
    with pytest.raises(InputError, match="of another program"):
        restore(copy, other)  # never over another's work


def test_copies_of_two_kitchens_on_one_stick_are_not_mixed_up(path, stick, tmp_path):
    for place, name in ((path, "Damson"), (tmp_path / "disk" / "b" / "notebook.sqlite3", "Plum")):
        place.parent.mkdir(exist_ok=True)
        with open_notebook(place) as notebook:
            keep(
                notebook,
                parse(example_bytes("damson_sorbet").replace(b"Damson", name.encode()), ""),
            )
            back_up(notebook, stick)
    with pytest.raises(InputError, match="more than one notebook"):
        restore(stick, path)


def test_a_stick_that_is_not_there_is_said_and_does_not_stop_the_work(path, stick):
    filled(path)
    set_second_folder(stick, path)
    stick.rmdir()
    with open_notebook(path) as notebook:
        made(notebook, SORBET.name, {})
        (remark,) = notebook.remarks
        assert str(stick) in remark and "not there" in remark
        with pytest.raises(InputError, match="is no folder"):
            back_up(notebook, stick)
    with pytest.raises(InputError, match="is no folder"):
        set_second_folder(stick, path)
    set_second_folder(None, path)
    assert second_folder(path) is None


def test_the_bytes_of_everything_are_a_copy(path, tmp_path):
    filled(path)
    with open_notebook(path) as notebook:
        (tmp_path / "download").write_bytes(everything(notebook))
    before = said(path)
    new = tmp_path / "disk" / "new.sqlite3"
    restore(tmp_path / "download", new)
    assert said(new) == before


def test_the_plain_files_of_a_day_are_the_whole_notebook(path, tmp_path):
    filled(path)
    before = said(path)  # the first opening at which there is something
    (folder,) = path.parent.glob("*-copies/*-export-*")
    with open_notebook(tmp_path / "new.sqlite3") as notebook:
        import_notebook(notebook, folder)
        export_notebook(notebook, tmp_path / "out")
    assert said(tmp_path / "new.sqlite3") == before


def test_commands(path, stick, capsys):
    def run(*words):
        code = main([*map(str, words), "--notebook", str(path)])
        captured = capsys.readouterr()
        return code, captured.out, captured.err

    filled(path)
    assert run("notebook", "backup", stick, "--always")[:2] == (
        0,
        f"Copied to {backups_of(folder=stick)[0].path}.\n",
    )
    assert second_folder(path) == stick
    code, out, _ = run("notebook", "restore")
    assert code == 0 and "before that day's changes" in out and "asked for" in out
    shutil.rmtree(path.parent)
    path.parent.mkdir()
    code, out, _ = run("notebook", "restore", stick)
    assert (code, out) == (
        0,
        "Brought back: 1 version of recipes, 1 lot, 1 batch and 1 verdict.\n",
    )
    assert run("notebook", "backup", "--never")[0] == 0 and second_folder(path) is None
    assert run("notebook", "backup", "--always")[0] == 2
    assert run("notebook", "restore", "2020-01-01")[0] == 2
    assert "is a notebook" in run("notebook", "print", path)[2]
    assert len(said(path)[1]) == 1
