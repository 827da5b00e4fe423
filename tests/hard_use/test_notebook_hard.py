"""The notebook in hard use, short; `long_run.py` beside is the same for longer.

NOTEBOOK_HARD=long in the environment runs the long amounts here as well.
"""

from __future__ import annotations

import importlib.util
import os
import resource
import subprocess
import sys
from pathlib import Path

import pytest

from formulate.cli.commands import main
from formulate.errors import InputError
from formulate.notebook.contents import examine
from formulate.notebook.files import rescue
from formulate.notebook.opening import open_notebook

HERE = Path(__file__).parent
LONG = os.environ.get("NOTEBOOK_HARD") == "long"


def module(path):
    """A file beside or near, as a module; what starts programs of its own has a file to start."""
    spec = importlib.util.spec_from_file_location(path.stem, path)
    found = importlib.util.module_from_spec(spec)
    sys.modules[path.stem] = found
    spec.loader.exec_module(found)
    return found


hard = module(HERE / "long_run.py")


def test_killed_while_writing_nothing_is_lost_or_half_written(tmp_path):
    kills = 200 if LONG else 20
    found = hard.kill_while_writing(tmp_path, kills)
    assert found.kills == kills
    assert found.while_writing >= kills // 2
    assert found.acknowledged > kills


def test_killed_while_it_brings_an_old_notebook_up_to_date(tmp_path):
    earlier = module(HERE.parent / "unit" / "test_notebook.py")
    hard.kill_while_migrating(tmp_path, 40 if LONG else 5, earlier.write_earlier)


@pytest.mark.parametrize("old", [False, True])
def test_several_begin_or_renew_one_notebook_at_once(old, tmp_path):
    path = tmp_path / "new.sqlite3"
    if old:
        module(HERE.parent / "unit" / "test_notebook.py").write_earlier(path, 1)
    works = [hard.start("open", path) for _ in range(5)]
    said = [work.communicate() for work in works]
    assert said == [("ready\n", "")] * 5
    assert examine(path).faults == ()
    assert not list(tmp_path.glob("*part*"))


def test_two_writers_lose_nothing(tmp_path):
    found = hard.two_writers(tmp_path, 300.0 if LONG else 5.0)
    assert found.kept > 20 and found.looks > 5


def test_damaged_files_end_in_words_and_what_is_left_is_saved(tmp_path):
    found = hard.damage(tmp_path, 400 if LONG else 96)
    assert found.noticed >= found.copies // 2  # most of the file is text, figures and room
    assert found.saved_percent > 70.0


def test_no_flipped_bit_changes_what_is_read_without_a_word(tmp_path):
    found = hard.flip(tmp_path, 4000 if LONG else 300)
    assert found.silent == ()
    assert found.told > found.flips // 8 and found.told + found.same == found.flips


@pytest.mark.parametrize("size", [0, 1, 50, 99, 100, 512, 8192, 60000])
def test_a_file_that_was_cut_off_is_told(size, tmp_path):
    path = tmp_path / "cut.sqlite3"
    with open_notebook(path) as notebook:
        hard.keep(notebook, hard.recipe(1.0))
    path.write_bytes(path.read_bytes()[:size])
    with pytest.raises(InputError) as error:
        open_notebook(path, create=False)
    assert "\n" not in str(error.value)
    if size == 60000:  # beyond the page of the recipe
        assert rescue(path, tmp_path / "out").versions[0].recipe == hard.recipe(1.0)
        return
    with pytest.raises(InputError) as error:
        rescue(path, tmp_path / "out")
    assert "\n" not in str(error.value)
    assert not (tmp_path / "out").exists()


def test_a_disk_that_takes_no_more_leaves_the_notebook_whole(tmp_path):
    """A file may not grow beyond 600 kB: every write fails from there on."""
    path = tmp_path / "full.sqlite3"
    code = (
        "import sys; sys.path[:0] = [sys.argv[2]]; import long_run as hard; from pathlib import Path\n"
        "from formulate.errors import InputError\n"
        "with hard.open_notebook(Path(sys.argv[1])) as notebook:\n"
        "    count = 1.0\n"
        "    try:\n"
        "        while count < 5000.0:\n"
        "            hard.keep(notebook, hard.recipe(count), onto=int(count) - 1 or None)\n"
        "            count += 1.0\n"
        "    except InputError as error:\n"
        "        print(int(count) - 1, error)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(path), str(HERE)],
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (600_000, 600_000)),
    )
    assert "Traceback" not in done.stderr, done.stderr
    count, _, words = done.stdout.strip().partition(" ")
    assert "nothing was changed" in words or "was not kept" in words, words
    assert "\n" not in words
    assert examine(path).faults == ()
    with open_notebook(path) as notebook:
        assert len(hard.history(notebook, hard.NAME)) == int(count)
        hard.keep(notebook, hard.recipe(9999.0), onto=int(count))


@pytest.fixture
def disk(tmp_path):
    """A disk of its own, of 3 MB, with a notebook on it."""
    folder = tmp_path / "disk"
    folder.mkdir()
    if subprocess.run(["mount", "-t", "tmpfs", "-o", "size=3m", "tmpfs", folder]).returncode:
        pytest.skip("only root can mount a disk")
    with open_notebook(folder / "notebook.sqlite3") as notebook:
        hard.keep(notebook, hard.recipe(1.0))
        hard.made(notebook, hard.NAME, {})
    try:
        yield folder
    finally:
        subprocess.run(["umount", folder], check=True)


def fill(disk):
    """Write until nothing more goes onto the disk."""
    with (disk / "filler").open("wb", buffering=0) as filler:
        try:
            while filler.write(bytes(4096)):
                pass
        except OSError:
            pass


def forbid(disk):
    """Let the disk only be read."""
    subprocess.run(["mount", "-o", "remount,ro", disk], check=True)


@pytest.mark.parametrize("spoil", [fill, forbid])
@pytest.mark.parametrize("version", [None, 1, 4])
def test_a_disk_that_takes_nothing_is_read_and_left_as_it_is(
    spoil, version, disk, tmp_path, capsys
):
    path = disk / "notebook.sqlite3"
    name = hard.NAME
    if version is not None:
        path, name = disk / "old.sqlite3", "Pear sorbet"
        module(HERE.parent / "unit" / "test_notebook.py").write_earlier(path, version)
    spoil(disk)
    there = sorted(disk.rglob("*"))

    def run(*words):
        code = main([*map(str, words), "--notebook", str(path)])
        captured = capsys.readouterr()
        assert "Traceback" not in captured.err
        return code, captured.out, captured.err

    code, out, err = run("history", name)
    assert code == 0 and "Version 1" in out and "Batch 1" in out
    assert "opened for reading" in err or "hardly any room" in err
    assert "is whole" in run("notebook", "check")[1]
    assert run("notebook", "export", tmp_path / "out")[0] == 0
    assert (tmp_path / "out" / "batches.csv").exists()
    assert run("notebook", "print", tmp_path / "page.html")[0] == 0
    for words in (
        ["made", name],
        ["notebook", "lot", "pear"],
        ["notebook", "backup"],
        ["notebook", "strike", 1, "--why", "x"],
    ):
        code, _, err = run(*words)
        assert code == 2 and len(err.splitlines()) <= 3, err
    log = path.with_name(f"{path.name}-wal")  # SQLite's own, and empty
    assert not log.exists() or log.stat().st_size == 0
    assert [
        file for file in sorted(disk.rglob("*")) if file.name[-4:] not in ("-wal", "-shm")
    ] == there
    if spoil is fill:  # with room again all is as before
        (disk / "filler").unlink()
        assert run("made", name)[0] == 0
        assert run("notebook", "check")[0] == 0


def test_what_a_crash_left_in_the_log_is_read_from_a_disk_that_takes_nothing(disk):
    """The log of a program that was killed, and no room for the memory that its readers share."""
    path = disk / "notebook.sqlite3"
    log = path.with_name(f"{path.name}-wal")
    with open_notebook(path) as notebook:
        hard.keep(notebook, hard.recipe(2.0), onto=1)
        left = path.read_bytes(), log.read_bytes()
    path.write_bytes(left[0])
    log.write_bytes(left[1])
    forbid(disk)
    with open_notebook(path) as notebook:
        assert [version.number for version in hard.history(notebook, hard.NAME)] == [1, 2]
