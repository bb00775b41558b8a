"""Runs a call in a forked child with a time limit, so that a crash or an endless loop ends that call alone."""

from __future__ import annotations

import os
import pickle
import resource
import select
import signal
import sys
import time
from typing import Any, Callable

SECONDS = 30
MEMORY = 3 << 30


class Failed(Exception):
    """The call gave no result; the text says how it ended."""


def call(function: Callable[..., Any], *arguments: Any, seconds: float = SECONDS) -> Any:
    """The result of the call, or Failed with the kind of error, the signal or the time limit."""
    reader, writer = os.pipe()
    sys.stdout.flush()
    child = os.fork()
    if child == 0:
        os.close(reader)
        _run(writer, function, arguments)
    os.close(writer)
    try:
        answer = _read(reader, seconds)
    except TimeoutError:
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        raise Failed(f"no answer within {seconds:g} s") from None
    finally:
        os.close(reader)
    _, status = os.waitpid(child, 0)
    if os.WIFSIGNALED(status):
        raise Failed(f"crash, signal {os.WTERMSIG(status)}")
    good, result = pickle.loads(answer)
    if not good:
        raise Failed(result)
    return result


def _run(writer: int, function: Callable[..., Any], arguments: tuple[Any, ...]) -> None:
    """In the child: what the libraries print is thrown away."""
    quiet = os.open(os.devnull, os.O_WRONLY)
    os.dup2(quiet, 1)
    os.dup2(quiet, 2)
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    try:
        answer = (True, function(*arguments))
    except BaseException as error:  # whatever it is, it is recorded
        answer = (False, f"{type(error).__name__}: {str(error).splitlines()[0] if str(error) else ''}"[:120])
    with os.fdopen(writer, "wb") as pipe:
        pickle.dump(answer, pipe)
    os._exit(0)


def _read(reader: int, seconds: float) -> bytes:
    until = time.monotonic() + seconds
    parts = []
    while True:
        left = until - time.monotonic()
        if left <= 0 or not select.select([reader], [], [], left)[0]:
            raise TimeoutError
        part = os.read(reader, 1 << 16)
        if not part:
            return b"".join(parts)
        parts.append(part)
