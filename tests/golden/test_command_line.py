"""The command line itself: help, guesses, completion, what is written over, streams and signals."""

from __future__ import annotations

import ast
import json
import os
import shlex
import shutil
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path
from urllib.request import urlopen

import pytest

from formulate.cli import COMMANDS, build_parser, main
from formulate.cli.command import Group, every_command
from formulate.data import example_bytes, made_with

ROOT = Path(__file__).parents[2]
GROUPS = [(command.name,) for command in COMMANDS if isinstance(command, Group)]
posix = pytest.mark.skipif(os.name != "posix", reason="signals and devices of POSIX")


def shell(words, folder, **more):
    """Run the program as a shell does, with what the shell puts behind it."""
    command = f"{shlex.quote(sys.executable)} -m formulate {words}"
    env = {"PYTHONPATH": str(ROOT), "PATH": os.environ["PATH"], **more}
    return subprocess.run(
        command, shell=True, cwd=folder, env=env, capture_output=True, check=False, timeout=120
    )


# Help -------------------------------------------------------------------------------------------------


def helped(words, capsys):
    with pytest.raises(SystemExit) as left:
        main([*words, "--help"])
    assert left.value.code == 0
    return capsys.readouterr().out


@pytest.mark.parametrize(
    "words", [(), *GROUPS, *every_command(COMMANDS)], ids=lambda words: " ".join(words) or "alone"
)
def test_every_command_explains_itself(words, capsys):
    shown = helped(words, capsys)
    assert shown.startswith(" ".join(["usage: formulate", *words])) and "%%" not in shown
    assert len(shown.splitlines()) > 4
    # Made for this command alone, or with all others: the same.
    parser = build_parser()
    with pytest.raises(SystemExit):
        parser.parse_args([*words, "--help"])
    assert capsys.readouterr().out == shown


@pytest.mark.parametrize("words", [(), *GROUPS])
def test_a_bare_call_shows_help(words, capsys):
    assert main(list(words)) == 0
    captured = capsys.readouterr()
    assert captured.err == "" and captured.out == helped(words, capsys)


def test_the_version_names_program_and_tables(capsys):
    assert main(["--version"]) == 0
    assert capsys.readouterr().out == f"{made_with()}\n"


def test_help_lists_every_command(capsys):
    shown = helped((), capsys)
    for command in COMMANDS:
        assert f"\n    {command.name}" in shown


@pytest.mark.parametrize(
    ("words", "guess"),
    [
        (["balanc", "damson_sorbet"], 'Did you mean "balance"?'),
        (["notebook", "exprt"], '"export"'),
        (["zzz"], "There are balance, check, "),
    ],
)
def test_a_word_that_is_no_command_is_guessed(words, guess, capsys):
    assert main(words) == 2
    captured = capsys.readouterr()
    assert captured.out == "" and guess in captured.err
    assert len(captured.err.splitlines()) == 1


def test_options_may_be_shortened(capsys):
    assert main(["ladder", "damson_sorbet", "--ingr", "damson", "--br", "11:12:1", "--js"]) == 0
    assert len(json.loads(capsys.readouterr().out)["rungs"]) == 2


# Completion -------------------------------------------------------------------------------------------


def completed(line, folder):
    """What a shell is offered at the end of a line; argcomplete's protocol."""
    offered = folder / "offered"
    more = {
        "_ARGCOMPLETE": "1",
        "_ARGCOMPLETE_SHELL": "fish",
        "_ARGCOMPLETE_STDOUT_FILENAME": str(offered),
        "_ARGCOMPLETE_SUPPRESS_SPACE": "1",
        "COMP_LINE": line,
        "COMP_POINT": str(len(line)),
    }
    done = shell("", folder, **more)
    assert done.returncode == 0, done.stderr
    return {row.split("\t")[0] for row in offered.read_text(encoding="utf-8").splitlines()}


@pytest.mark.parametrize(
    ("line", "offers"),
    [
        ("formulate ran", {"ranges"}),
        ("formulate notebook exp", {"export"}),
        ("formulate balance --conf", {"--confidence"}),
        ("formulate check damson_sorbet_", {"damson_sorbet_ripe"}),
        ("formulate check my_r", {"my_recipe.toml"}),
    ],
)
def test_a_shell_completes(line, offers, tmp_path):
    (tmp_path / "my_recipe.toml").write_bytes(example_bytes("damson_sorbet"))
    assert completed(line, tmp_path) == offers


@pytest.mark.parametrize("name", ["bash", "zsh", "fish"])
def test_a_script_for_each_shell(name, capsys):
    assert main(["completion", name]) == 0
    script = capsys.readouterr().out
    assert "_ARGCOMPLETE" in script and "formulate" in script
    if shutil.which(name):
        subprocess.run([name, "-n"], input=script.encode(), check=True)


@pytest.mark.skipif(shutil.which("bash") is None, reason="no bash here")
def test_bash_completes_what_the_script_says(tmp_path, capsys):
    assert main(["completion", "bash"]) == 0
    (tmp_path / "script").write_text(capsys.readouterr().out, encoding="utf-8")
    program = tmp_path / "formulate"
    program.write_text(f'#!/bin/sh\nexec {shlex.quote(sys.executable)} -m formulate "$@"\n')
    program.chmod(0o755)
    asks = (
        ". ./script; COMP_WORDS=(formulate trade); COMP_CWORD=1; COMP_LINE='formulate trade'; "
        "COMP_POINT=15; COMP_TYPE=9; _python_argcomplete formulate; echo ${COMPREPLY[@]}"
    )
    env = {"PYTHONPATH": str(ROOT), "PATH": f"{tmp_path}:{os.environ['PATH']}"}
    done = subprocess.run(
        ["bash", "-c", asks], cwd=tmp_path, env=env, capture_output=True, check=True, text=True
    )
    assert done.stdout.split() == ["tradeoff"], done.stderr


def test_a_shell_that_is_not_known(capsys):
    assert main(["completion", "tcsh"]) == 2
    assert "is not one of bash, zsh, fish" in capsys.readouterr().err


# What is written over ---------------------------------------------------------------------------------

WRITERS = {
    "sheet": ("sheet damson_sorbet -o", ("html", "pdf")),
    "week": ("week november_week -o", ("html", "csv")),
    "programme": ("balance damson_sorbet --export", ("lp", "json")),
    "notebook": ("notebook print --notebook notebook.sqlite3", ("html",)),
}


@pytest.fixture
def kitchen(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert main(["keep", "damson_sorbet", "--notebook", "notebook.sqlite3"]) == 0
    (tmp_path / "mine.toml").write_bytes(example_bytes("damson_sorbet"))
    capsys.readouterr()
    return tmp_path


@pytest.mark.parametrize(
    ("line", "form"), [(line, form) for line, forms in WRITERS.values() for form in forms]
)
def test_only_what_this_program_wrote_is_written_over(line, form, kitchen, capsys):
    words, name = line.split(), f"out.{form}"
    assert main([*words, name]) == 0
    first = (kitchen / name).read_bytes()
    assert main([*words, name]) == 0  # its own
    assert len((kitchen / name).read_bytes()) == pytest.approx(len(first), abs=64)  # time of day
    (kitchen / name).write_bytes(b"the cook's own words")
    capsys.readouterr()
    assert main([*words, name]) == 2
    captured = capsys.readouterr()
    assert captured.out == "" and "this program has not written it" in captured.err
    assert (kitchen / name).read_bytes() == b"the cook's own words"
    assert main([*words, name, "--force"]) == 0
    assert len((kitchen / name).read_bytes()) == pytest.approx(len(first), abs=64)
    assert not list(kitchen.glob("*.part"))


@pytest.mark.parametrize("line", [line for line, _ in WRITERS.values()])
@pytest.mark.parametrize("form", ["html", "csv", "lp", "pdf"])
def test_a_recipe_and_a_notebook_are_never_written_over(line, form, kitchen, capsys):
    if form not in next(forms for one, forms in WRITERS.values() if one == line):
        return
    for name, what in (("mine.toml", "a recipe"), ("notebook.sqlite3", "a notebook")):
        there = kitchen / f"{name}.{form}"
        shutil.copy(kitchen / name, there)
        kept = there.read_bytes()
        assert main([*line.split(), there.name, "--force"]) == 2
        assert f"is {what}, which is never written over" in capsys.readouterr().err
        assert there.read_bytes() == kept


def test_a_recipe_is_recalled_into_a_new_file_only(kitchen, capsys):
    words = ["recall", "damson", "--notebook", "notebook.sqlite3", "-o"]
    assert main([*words, "new.toml"]) == 0
    assert main(["check", "new.toml"]) == 0
    assert main([*words, "new.toml", "--force"]) == 2
    assert "is a recipe" in capsys.readouterr().err
    assert main([*words, "-"]) == 0
    assert capsys.readouterr().out == (kitchen / "new.toml").read_text(encoding="utf-8")


def test_a_sweep_is_written_over_with_force_alone(kitchen, capsys):
    words = ["explore", "damson_sorbet", "--vary", "damson.brix=12:13:1", "-o", "sweep.csv"]
    (kitchen / "sweep.csv").write_text("mine\n")
    assert main(words) == 2
    assert (kitchen / "sweep.csv").read_text() == "mine\n"
    assert main([*words, "--force"]) == 0
    assert "damson.grams" in (kitchen / "sweep.csv").read_text(encoding="utf-8-sig")


@pytest.mark.parametrize(
    ("line", "begins"),
    [
        ("sheet damson_sorbet -o -", "<!doctype html>"),
        ("week november_week -o -", "<!doctype html>"),
        ("balance damson_sorbet --export -", "\\"),
        ("notebook print - --notebook notebook.sqlite3", "<!doctype html>"),
        ("explore damson_sorbet --vary damson.brix=12:13:1 -o -", "point,damson.brix,"),
        ("explore damson_sorbet --mixes 20 -o -", "mix,chain,"),
    ],
)
def test_a_hyphen_prints_what_would_be_written_and_nothing_else(line, begins, kitchen, capsys):
    before = sorted(kitchen.iterdir())
    assert main(line.split()) == 0
    out = capsys.readouterr().out
    assert out.lower().startswith(begins) and " is written" not in out
    there = [path for path in sorted(kitchen.iterdir()) if not path.name.endswith("-copies")]
    assert there == before


# Errors as data ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "place"),
    [
        ("check no_such_recipe --json", "no_such_recipe"),
        ("balanc --json", "balanc"),
        ("check --json", "check"),
        ("heat --at 900 --seconds 5 --json", None),
    ],
)
def test_with_json_an_error_is_json(line, place, capsys):
    assert main(line.split()) == 2
    captured = capsys.readouterr()
    found = json.loads(captured.err)
    assert captured.out == "" and found["exit_code"] == 2 and found["status"] == "error"
    assert found["error"]["kind"] == "InputError" and found["error"]["text"]
    assert set(found["versions"]) >= {"formulate", "data"}
    if place is not None:
        assert found["error"]["place"] == place


# Streams and signals ----------------------------------------------------------------------------------


@pytest.mark.parametrize("line", ["check damson_sorbet", "verify", "", "completion bash"])
@posix
def test_what_cannot_be_written_is_one_sentence(line, tmp_path):
    for where in ("> /dev/full", ">&-"):
        done = shell(f"{line} {where}", tmp_path)
        assert done.returncode == 1 and b"Traceback" not in done.stderr
        assert done.stderr.startswith(b"formulate: The results cannot be written (")
        assert len(done.stderr.splitlines()) == 1


@posix
@pytest.mark.parametrize("where", ["2>&-", "2> /dev/full", "<&-", ">&- 2>&- <&-"])
@pytest.mark.parametrize(("line", "code"), [("check damson_sorbet", 0), ("check no_such", 2)])
def test_a_closed_stream_is_no_fault_of_the_recipe(line, code, where, tmp_path):
    done = shell(f"{line} {where}", tmp_path)
    assert done.returncode == (1 if ">&- 2" in where and code == 0 else code)
    assert b"Traceback" not in done.stderr
    assert list(tmp_path.iterdir()) == []


@posix
def test_nothing_is_written_into_a_notebook_for_a_closed_stream(tmp_path):
    """A file that took the number of a closed stdout would get the results."""
    done = shell("keep damson_sorbet --notebook kept.sqlite3 >&-", tmp_path)
    assert done.returncode == 1
    done = shell("notebook check --notebook kept.sqlite3", tmp_path)
    assert done.returncode == 0 and b"is whole: 1 version" in done.stdout


@posix
def test_a_reader_that_leaves_is_no_error(tmp_path):
    done = shell("ingredients --json | head -c 10", tmp_path)
    assert done.stdout == b"[\n  {\n    " and done.stderr == b""


@pytest.mark.parametrize("coding", ["latin-1", "ascii", "cp1252"])
def test_text_is_utf_8_whatever_the_console_says(coding, tmp_path):
    more = {"PYTHONIOENCODING": coding, "LC_ALL": "C", "PYTHONUTF8": "0"}
    done = shell("check damson_sorbet", tmp_path, **more)
    assert done.returncode == 0
    assert "± " in done.stdout.decode("utf-8") and "°C" in done.stdout.decode("utf-8")
    done = shell("check schön", tmp_path, **more)
    assert done.returncode == 2 and "sch" in done.stderr.decode("utf-8")


@posix
def test_a_newline_in_a_name_does_not_break_the_sentence(capsys):
    assert main(["check", "no\nsuch\x1b[31m"]) == 2
    err = capsys.readouterr().err
    assert len(err.splitlines()) == 1 and "\\n" in err and "\x1b" not in err


def descendants(pid):
    """Processes below one, by /proc."""
    found = []
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            words = path.read_text().rsplit(")", 1)[1].split()
        except OSError:
            continue
        if int(words[1]) == pid:
            child = int(path.parent.name)
            found += [child, *descendants(child)]
    return found


def alive(pid):
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0]
    except OSError:
        return False
    return state != "Z"


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="needs /proc")
@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGKILL, signal.SIGINT])
def test_no_process_is_left_behind(how, tmp_path):
    words = ["explore", "damson_sorbet", "--vary", "damson.brix=9:20", "--samples", "300000"]
    words += ["--vary", "target.sweetness.max=19:22", "--workers", "2", "-o", "sweep.parquet"]
    run = subprocess.Popen(
        [sys.executable, "-m", "formulate", *words],
        cwd=tmp_path,
        env={"PYTHONPATH": str(ROOT), "PATH": os.environ["PATH"]},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
    )
    until = time.monotonic() + 60.0
    while len(below := descendants(run.pid)) < 3 and time.monotonic() < until:
        time.sleep(0.1)
    assert len(below) >= 3, "two workers and what keeps account of them"
    run.send_signal(how)
    _, said = run.communicate(timeout=60)
    if how != signal.SIGKILL:
        assert run.returncode == 1 and b"Stopped. What is finished is kept" in said
        assert b"Traceback" not in said
    until = time.monotonic() + 20.0
    while any(alive(pid) for pid in below) and time.monotonic() < until:
        time.sleep(0.1)
    assert not any(alive(pid) for pid in below)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["--address", "wrong"], "is no address of this machine"),
        (["--address", "192.0.2.1"], "nothing can listen at 192.0.2.1"),  # RFC 5737: nobody's
        (["--port", "80"], "must be 1024 to 65535"),
    ],
)
def test_pages_that_cannot_be_served_are_one_sentence(words, sentence, capsys):
    assert main(["serve", *words]) == 2
    err = capsys.readouterr().err
    assert sentence in err and len(err.splitlines()) == 1


def test_a_port_that_is_taken_is_one_sentence(capsys):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        assert main(["serve", "--port", str(port)]) == 2
    assert f"port {port}" in capsys.readouterr().err


@posix
def test_pages_are_served_and_end_when_they_are_told_to(tmp_path):
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    run = subprocess.Popen(
        [sys.executable, "-m", "formulate", "serve", "--port", str(port)],
        cwd=tmp_path,
        env={"PYTHONPATH": str(ROOT), "PATH": os.environ["PATH"], "HOME": str(tmp_path)},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    until = time.monotonic() + 60.0
    answered = False
    while not answered and run.poll() is None and time.monotonic() < until:
        try:
            with urlopen(f"http://127.0.0.1:{port}/_stcore/health", timeout=5.0) as answer:
                answered = answer.status == 200
        except OSError:
            time.sleep(0.2)
    run.terminate()
    _, said = run.communicate(timeout=30)
    assert answered and b"Traceback" not in said, said
    assert b"for this machine alone" in said


# Everywhere -------------------------------------------------------------------------------------------

#: Modules and functions of POSIX alone (Python Library Reference, "Availability").
_POSIX_MODULES = {"fcntl", "grp", "pwd", "posix", "pty", "resource", "syslog", "termios", "tty"}
_POSIX_NAMES = set(
    "chown chroot execl execle execlp execv execve execvp fork forkpty getpgid getuid "
    "geteuid kill killpg mkfifo nice pread pwrite setpgid setsid setuid sync uname wait wait3 SIGKILL "
    "SIGHUP SIGALRM SIGPIPE SIGUSR1 SIGUSR2 alarm O_DIRECTORY O_NOFOLLOW O_NONBLOCK".split()
)


@pytest.mark.parametrize(
    "path",
    [*sorted((ROOT / "formulate").rglob("*.py")), *sorted((ROOT / "ui").rglob("*.py"))],
    ids=lambda path: str(path.relative_to(ROOT)),
)
def test_nothing_is_called_that_only_some_systems_have(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            assert not {alias.name for alias in node.names} & _POSIX_MODULES
        elif isinstance(node, ast.ImportFrom):
            assert node.module not in _POSIX_MODULES
        elif isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            assert node.value.id not in ("os", "signal") or node.attr not in _POSIX_NAMES


def test_an_unknown_option_is_named_once(capsys):
    assert main(["balance", "damson_sorbet", "--colour", "red"]) == 2
    said = capsys.readouterr().err
    assert said.count("formulate:") == 1 and "--colour red" in said
