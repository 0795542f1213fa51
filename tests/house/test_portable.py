"""Nothing works on one system only: no module, call, signal, path or default encoding that Windows or macOS does not have.

The lists are those that Python's library reference marks as Unix only (from memory, and held against the library where it runs).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import ast
import os
import re
import signal
from collections.abc import Iterator

import pytest

from tests.house.tree import PACKAGE, Module, imports, modules, nodes

ONE_SYSTEM = {"fcntl", "resource", "pwd", "grp", "termios", "tty", "pty", "posix", "syslog", "readline", "curses", "crypt",
              "spwd", "nis", "ossaudiodev", "select", "winreg", "msvcrt", "winsound", "nt", "_winapi"}
"""Modules of one system; `select` waits on sockets only where pipes are no files."""
OS_CALLS = {"fork", "forkpty", "wait", "wait3", "wait4", "waitid", "killpg", "getpgid", "setpgid", "setsid", "setpgrp",
            "getuid", "geteuid", "getgid", "getegid", "getgroups", "setuid", "setgid", "nice", "getpriority", "setpriority",
            "uname", "mkfifo", "mknod", "chown", "lchown", "fchown", "chroot", "openpty", "posix_spawn", "posix_fallocate",
            "posix_fadvise", "pread", "pwrite", "readv", "writev", "sendfile", "sysconf", "pathconf", "statvfs", "fstatvfs",
            "getloadavg", "lockf", "sync", "fdatasync", "sched_getaffinity", "sched_setaffinity", "O_DIRECTORY", "O_NOFOLLOW",
            "O_CLOEXEC", "O_SYNC", "O_NONBLOCK", "WNOHANG", "WIFEXITED", "WEXITSTATUS", "fwalk", "confstr", "ctermid",
            "eventfd", "memfd_create"}
SIGNALS = {"SIGABRT", "SIGFPE", "SIGILL", "SIGINT", "SIGSEGV", "SIGTERM", "Signals", "signal", "getsignal", "raise_signal",
           "strsignal", "default_int_handler", "SIG_DFL", "SIG_IGN"}
"""What Windows knows of `signal`; everything else is barred."""
OTHER_CALLS = {"select.poll", "select.epoll", "select.kqueue", "socket.AF_UNIX", "asyncio.start_unix_server",
               "asyncio.open_unix_connection", "time.tzset", "multiprocessing.get_context"}
ARGUMENTS = {"preexec_fn", "start_new_session", "process_group", "pass_fds", "dir_fd", "src_dir_fd", "dst_dir_fd", "extra_groups",
             "umask"}
METHODS = {"add_signal_handler", "lchmod", "is_mount"}
PLACES = re.compile(r"(^|[\s'\"])/(tmp|dev|proc|bin|etc|usr|var|home|sys)(/|$)|^[A-Za-z]:\\")


def faults(module: Module) -> Iterator[str]:
    """Everything in the file that one system alone has, with its line."""
    for found in imports(module):
        parts = found.name.split(".")
        barred = {"os": OS_CALLS & {*parts[1:]}, "signal": {*parts[1:]} - SIGNALS}.get(parts[0], set())
        if parts[0] in ONE_SYSTEM or barred:
            yield f"{module}:{found.line} imports {found.name}"
    knows_signals = any(found.name == "signal" for found in imports(module))
    for node in nodes(module.tree):
        if isinstance(node, ast.Attribute):
            name = ast.unparse(node)
            room, _, last = name.rpartition(".")
            barred = OS_CALLS if room == "os" else {last} - SIGNALS if room == "signal" and knows_signals else METHODS
            if last in barred or name in OTHER_CALLS:
                yield f"{module}:{node.lineno} {name}"
        if isinstance(node, ast.Call):
            yield from (f"{module}:{node.lineno} {given.arg}=" for given in node.keywords if given.arg in ARGUMENTS)
            if any(given.arg == "shell" for given in node.keywords):
                yield f"{module}:{node.lineno} a shell, and each system has its own"
    yield from (f"{module}:{node.lineno} the place {node.value!r}" for node in texts(module) if PLACES.search(str(node.value)))


def texts(module: Module) -> Iterator[ast.Constant]:
    """The file's texts, docstrings aside."""
    told = {id(node.value) for node in nodes(module.tree) if isinstance(node, ast.Expr)}
    for node in nodes(module.tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in told:
            yield node


def without_encoding(module: Module) -> Iterator[str]:
    """Texts read or written in whatever encoding the system prefers."""
    for node in nodes(module.tree):
        if not isinstance(node, ast.Call) or any(given.arg in ("encoding", None) for given in node.keywords):
            continue
        name = ast.unparse(node.func)
        last = name.rpartition(".")[2]
        modes = [given.value for given in (*node.args[1:2], *(k.value for k in node.keywords if k.arg == "mode"))
                 if isinstance(given, ast.Constant) and isinstance(given.value, str)]
        if last == "read_text" and not node.args or last == "write_text" and len(node.args) < 2:
            yield f"{module}:{node.lineno} {name}"
        if name in ("open", "os.fdopen", "io.open") and not any("b" in mode for mode in modes):
            yield f"{module}:{node.lineno} {name}"
        if last == "Popen" and any(given.arg in ("text", "universal_newlines") for given in node.keywords):
            yield f"{module}:{node.lineno} {name}"


def written(text: str) -> Module:
    return Module(PACKAGE / "written.py", "", text, ast.parse(text))


def test_nothing_of_one_system_is_used() -> None:
    wrong = [fault for module in modules() for fault in faults(module)]
    assert not wrong, "\n".join(wrong)


def test_every_text_names_its_encoding() -> None:
    wrong = [fault for module in modules() for fault in without_encoding(module)]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("text", [
    "import fcntl", "from os import fork", "import resource as r", "os.killpg(1, 2)", "import signal\nsignal.SIGKILL",
    "import signal\nsignal.alarm(3)",
    "from signal import SIGALRM", "select.poll()", "Popen(a, preexec_fn=f)", "Popen(a, shell=True)", "place = '/tmp/x'",
    "loop.add_signal_handler(1, f)", "os.open(p, os.O_DIRECTORY)"])
def test_it_would_notice(text: str) -> None:
    assert list(faults(written(text)))


@pytest.mark.parametrize("text", ["path.read_text()", "path.write_text(x)", "open(path)", "open(path, 'w')", "os.fdopen(1, 'w')",
                                  "Popen(a, text=True)"])
def test_it_would_notice_an_encoding_left_out(text: str) -> None:
    assert list(without_encoding(written(text)))


@pytest.mark.parametrize("text", ["os.replace(a, b)", "signal.SIGINT", "child.kill()", "open(p, 'rb')", "p.read_text('utf-8')",
                                  "p.write_text(x, encoding='utf-8')", "x = 'mm/s'", "y = '/api/tasks/x'"])
def test_it_lets_pass_what_every_system_has(text: str) -> None:
    assert not [*faults(written(text)), *without_encoding(written(text))]


@pytest.mark.skipif(os.name != "posix", reason="held against the library where all of these exist")
def test_the_lists_name_what_the_library_has() -> None:
    assert {name for name in SIGNALS if not hasattr(signal, name)} == set()
    of_another_unix = {"chflags", "lchflags"}
    assert len({name for name in OS_CALLS - of_another_unix if hasattr(os, name)}) > 0.9 * len(OS_CALLS)
