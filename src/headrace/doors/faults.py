"""How a command ends: what must be mended (2), what is our fault (3), and never a traceback on the screen.

Light on purpose: what is heavy comes with the command that needs it. Start at `guarded` and `Door`.
"""

import os
import sys
from collections.abc import Callable, Iterable, Sequence
from functools import wraps
from typing import Any

import click

from headrace import __version__
from headrace.errors import HeadraceError, InputError, NoAnswer, Problem

DONE, STANDS, MEND, OURS = 0, 1, 2, 3
INTERRUPTED = 130


class Door(click.Group):
    """The group of all commands; its end is ours, not click's."""

    def main(
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        complete_var: str | None = None,
        standalone_mode: bool = True,
        **extra: Any,
    ) -> Any:
        """Run a command line; exits with the command's code unless not standalone."""
        for stream in (sys.stdout, sys.stderr):
            if hasattr(stream, "reconfigure"):
                stream.reconfigure(errors="backslashreplace")  # a terminal without ± must not stop anybody
        code = self._ended(args, prog_name, complete_var, **extra)
        if not standalone_mode:
            return code
        sys.exit(code)

    def _ended(
        self, args: Sequence[str] | None, prog_name: str | None, complete_var: str | None, **extra: Any
    ) -> int:
        try:
            code = super().main(args, prog_name, complete_var, standalone_mode=False, **extra)
        except click.exceptions.NoArgsIsHelpError as fault:
            click.echo(fault.ctx.get_help() if fault.ctx else fault.message, err=True)
            return MEND
        except click.ClickException as fault:
            context = getattr(fault, "ctx", None)
            say(f"headrace: {fault.format_message()}")
            if context is not None:
                say(f"{context.get_usage()}\n{context.command_path} --help says more. Nothing was written.")
            return MEND
        except (click.Abort, KeyboardInterrupt):
            say("headrace: stopped.")
            return INTERRUPTED
        except BrokenPipeError:
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            return DONE
        except Exception as fault:  # the last line: anything else would end as a traceback
            return our_fault(fault)
        return int(code or DONE)


def guarded(job: str) -> Callable[[Callable[..., int]], Callable[..., int]]:
    """Wraps a command that takes `as_json`: faults of its input are told in words, and as JSON where that was asked."""

    def around(command: Callable[..., int]) -> Callable[..., int]:
        @wraps(command)
        def run(*args: Any, as_json: bool, **given: Any) -> int:
            try:
                return command(*args, as_json=as_json, **given)
            except InputError as fault:
                if as_json:
                    from headrace import serial

                    click.echo(serial.text(serial.problems(job, fault.problems)))
                tell(fault.problems)
                return MEND
            except NoAnswer as fault:
                if as_json:
                    from headrace import serial

                    click.echo(serial.text(serial.no_answer(job, str(fault))))
                say(f"headrace: no answer: {fault}. Nothing was written.")
                return STANDS
            except HeadraceError as fault:
                say(f"headrace: {fault} Nothing was written.")
                return MEND

        return run

    return around


def tell(problems: Iterable[Problem], *, last: str = "Nothing was written.") -> None:
    """Every problem on a line of its own, on stderr."""
    for problem in problems:
        say(f"headrace: {problem}")
    say(last)


def say(text: str) -> None:
    """A message beside the result."""
    click.echo(text, err=True)


def our_fault(fault: BaseException) -> int:
    """Saves what happened and says where; the traceback itself stays off the screen."""
    import tempfile  # both only here: they would cost every command a few milliseconds
    import traceback

    story = [
        f"headrace {__version__}, Python {sys.version}",
        f"arguments: {sys.argv[1:]!r}",
        "".join(traceback.format_exception(fault)),
    ]
    try:
        with tempfile.NamedTemporaryFile(
            "w",
            encoding="utf-8",
            errors="backslashreplace",
            prefix="headrace-fault-",
            suffix=".txt",
            delete=False,
        ) as file:
            file.write("\n".join(story))
        where = f"What happened is written down in {file.name}; it names files of yours: read it before you pass it on."
    except OSError as full:
        where = f"What happened could not be written down ({full.strerror})."
    say(f"headrace: this is a fault of ours, not of your files ({type(fault).__name__}). {where}")
    return OURS
